//! What stands in place of a running class: pairing, a message, people gathering, and the stop notice
//! over all.

use floorbell_core::time::Span;
use floorbell_core::wire::State;

use super::board::short_names;
use super::digits;
use super::screen::{Area, Ink, Screen, Style};
use super::text::{width, wrap};
use super::{class, code};
use crate::words::minutes;

/// The most that a paragraph of a cover has in width: a longer line is hard to follow.
const PARAGRAPH: usize = 76;
/// Rows of large characters on a cover, at most.
const LARGE_ROWS: usize = 14;
/// More people than this are named shortly, so that more fit.
const WHOLE_NAMES_MAX: usize = 24;

/// The wall says a short number until the coach has let it in.
pub(super) fn pairing(screen: &mut Screen, area: Area, house: &str, number: u32) {
    let number = number.to_string();
    let rows = (area.rows / 2).min(LARGE_ROWS);
    let top = area.split_rows((area.rows.saturating_sub(rows + 5)) / 2).1;
    screen.write_centred(top.row(0), house, Style::QUIET);
    screen.write_centred(top.row(1), "This wall waits for the coach", Style::BOLD);
    let (large, below) = top.split_rows(2).1.split_rows(rows);
    large_centred(screen, large, &number, Style::PLAIN);
    let text = format!("Wall {number}: let it in on the coach device.");
    screen.write_centred(below.row(1), &text, Style::PLAIN);
}

/// One sentence: no class, or no house to be found.
pub(super) fn message(screen: &mut Screen, area: Area, house: &str, heading: &str, text: &str) {
    let lines = wrap(text, area.columns.min(PARAGRAPH));
    let top = area.split_rows(area.rows.saturating_sub(lines.len() + 4) / 2).1;
    screen.write_centred(top.row(0), house, Style::QUIET);
    screen.write_centred(top.row(2), heading, Style::BOLD);
    for (row, line) in lines.iter().enumerate() {
        screen.write_centred(top.row(4 + row), line, Style::PLAIN);
    }
}

/// The stop notice; its text is the house's.
pub(super) fn stop(screen: &mut Screen, area: Area, emergency: &str) {
    let style = Style::of(Ink::Stop);
    screen.fill(area, style);
    let lines = wrap(emergency, area.columns.min(PARAGRAPH));
    let rows = area.rows.saturating_sub(lines.len() + 4).min(LARGE_ROWS);
    let top = area.split_rows(area.rows.saturating_sub(rows + 3 + lines.len()) / 2).1;
    let (large, below) = top.split_rows(rows);
    large_centred(screen, large, "STOP", style);
    let call = "Put the gear down and look to the coach.";
    screen.write_centred(below.row(1), call, style.bold());
    for (row, line) in lines.iter().enumerate() {
        screen.write_centred(below.row(3 + row), line, style);
    }
}

/// Large characters in the middle of an area.
fn large_centred(screen: &mut Screen, area: Area, text: &str, style: Style) {
    let across = (digits::columns(area, text)).unwrap_or(width(text));
    let left = area.columns.saturating_sub(across) / 2;
    let middle = area.split_columns(left, 0).1.split_columns(across, 0).0;
    digits::write(screen, middle, text, text, style);
}

/// While people gather: how to come in, who is in, and what there is today.
pub(super) fn gathering(screen: &mut Screen, area: Area, house: &str, state: &State) {
    let join = state.join.as_ref();
    let picture = join.map(|join| code(&join.address)).unwrap_or_default();
    let across = picture.lines().next().map_or(0, |line| line.chars().count());
    let fits = area.columns >= across + 30 && area.rows >= picture.lines().count() + 3;
    let (left, right) = match join {
        Some(_) if fits => area.split_columns(area.columns - across - 3, 3),
        _ => (area, area.split_columns(area.columns, 0).1),
    };
    let mut left = left;
    screen.write(left.row(0), house, Style::QUIET);
    screen.write(left.row(1), &state.session.title, Style::BOLD);
    left = left.split_rows(3).1;
    if let Some(join) = join {
        let address = join.address.trim_start_matches("http://").trim_start_matches("https://");
        let address = address.split('#').next().unwrap_or_default().trim_end_matches('/');
        let how = if fits {
            for (row, line) in picture.lines().enumerate() {
                screen.write(right.row(1 + row), line, Style::of(Ink::Code));
            }
            screen.write_centred(right.row(0), "Scan to come in", Style::PLAIN);
            right.split_rows(1 + picture.lines().count()).1
        } else {
            let (how, rest) = left.split_rows(3);
            left = rest;
            how
        };
        let together = format!("{}   {address}", join.code);
        if !fits || width(&together) <= how.columns {
            screen.write(how.row(0), &together, Style::BOLD);
        } else {
            screen.write_centred(how.row(0), &join.code, Style::BOLD);
            screen.write_centred(how.row(1), address, Style::QUIET);
        }
    }
    let names_rows = (left.rows / 3).max(3).min(left.rows);
    let wanted = state.session.blocks.len() + 2;
    let (agenda_area, names_area) =
        left.split_rows(wanted.min(left.rows.saturating_sub(names_rows)));
    agenda(screen, agenda_area, state, None);
    names(screen, names_area, state);
}

/// How many are in, and who.
fn names(screen: &mut Screen, area: Area, state: &State) {
    let rows = &state.now.rows;
    let count = match rows.len() {
        0 => "Nobody is in yet".to_owned(),
        people => format!("{people} in"),
    };
    screen.write(area.row(0), &count, Style::BOLD);
    let names: Vec<String> = if rows.len() > WHOLE_NAMES_MAX {
        short_names(rows)
    } else {
        rows.iter().map(|row| row.name.clone()).collect()
    };
    let names: Vec<&str> = names.iter().map(|name| &**name).filter(|it| !it.is_empty()).collect();
    let lines = wrap(&names.join(" · "), area.columns);
    class::write_lines(screen, area.split_rows(1).1, &lines, Style::PLAIN);
}

/// The plan of the class: every block with its planned length, where it is now, and what is behind.
/// `current` is the block that runs; none while people gather.
pub(super) fn agenda(screen: &mut Screen, area: Area, state: &State, current: Option<u32>) {
    screen.write(area.row(0), "Today", Style::QUIET);
    let list = area.split_rows(1).1;
    let blocks = (0..).zip(&state.session.blocks);
    // Where not all fit, the list begins so that the current one stands in it.
    let skipped = current.map_or(0, |current| (current as usize + 2).saturating_sub(list.rows));
    for (row, (index, block)) in blocks.skip(skipped).take(list.rows).enumerate() {
        let planned: Span = state
            .now
            .segments
            .iter()
            .filter(|segment| segment.block.0 == index && !segment.dropped)
            .map(|segment| segment.planned)
            .sum();
        let style = match current {
            Some(current) if index == current => Style::BOLD,
            Some(current) if index < current => Style::QUIET,
            _ => Style::PLAIN,
        };
        let length = minutes(planned);
        let area = list.row(row);
        if current == Some(index) {
            screen.write(area, ">", style);
        }
        let (_, text) = area.split_columns(2, 0);
        let (name, _) = text.split_columns(text.columns.saturating_sub(width(&length) + 1), 0);
        screen.write(name, crate::words::title_of(block), style);
        screen.write_right(text, &length, style);
    }
}
