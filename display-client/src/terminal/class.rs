//! The class as it runs. On the left the phase, the digits and what is next; the rest of the terminal is
//! shared out by what there is to show, as on the browser wall (`web/src/wall/class-view.ts`):
//!
//! - a board: movements on the right, the board below across the screen;
//! - few people in one group: the board under the digits, and the movements have all of the right;
//! - a block without a score: movements under the digits, the plan of the class on the right;
//! - the class is done: the board alone.

use floorbell_core::time::Span;
use floorbell_core::wire::Row;

use super::board::{Ranked, groups, ranked_words};
use super::board_view::{self, Moment};
use super::cover::agenda;
use super::digits;
use super::plan::{Told, next_line, phase_words, title, told, window_title};
use super::screen::{Area, Ink, Screen, Style};
use super::text::{width, wrap};
use super::wall::Class;
use crate::showing::{Hand, Standing};
use crate::words::MovementWords;

/// Between the left and the right.
const GAP: usize = 3;
/// A terminal of fewer columns has no room for anything beside the clock.
const COLUMNS_BESIDE: usize = 60;
/// The clock's least rows: phase, digits, what is next, and a blank.
const CLOCK_ROWS_LEAST: usize = 11;
/// The right side's least columns, for the plan of the class.
const AGENDA_COLUMNS: usize = 30;
/// Few enough, in one group, for a single column.
const FEW: usize = 6;

/// Draws the class in a segment.
pub(super) fn draw(screen: &mut Screen, area: Area, class: &Class<'_>, standing: &Standing<'_>) {
    let (line, body) = area.split_rows(1);
    draw_line(screen, line, standing);
    let clock_rows = (body.rows * 9 / 20).max(CLOCK_ROWS_LEAST);
    let scored = class.scored(standing);
    let few = is_few(&class.state.now.rows);
    let (left, right) = match scored {
        _ if body.columns < COLUMNS_BESIDE => (body, body.split_columns(body.columns, 0).1),
        Some(_) => {
            let of_hundred = if is_long(class, standing) { 53 } else { 44 };
            body.split_columns(body.columns * of_hundred / 100, GAP)
        }
        None => {
            let plan = AGENDA_COLUMNS.max(body.columns * 35 / 100);
            body.split_columns(body.columns - plan - GAP, GAP)
        }
    };
    let (clock, below) = left.split_rows(clock_rows);
    draw_clock(screen, clock, class, standing);
    let told = told(class.state, standing);
    let Some(scored) = scored else {
        draw_told(screen, below, &told);
        agenda(screen, right, class.state, Some(standing.segment.block.0));
        return;
    };
    let (beside, below) = if few {
        (right, below)
    } else {
        (right.split_rows(clock_rows).0, body.split_rows(clock_rows).1)
    };
    draw_told(screen, beside, &told);
    let own = scored == standing.segment.block;
    let name = if own { "" } else { title(class.state, scored) };
    let groups = groups(class.state, Ranked::Piece(scored));
    board_view::draw(screen, below, &groups, name, class.moment(standing));
}

/// Draws the class when it is done: the whole class and every piece by turns.
pub(super) fn draw_done(screen: &mut Screen, area: Area, class: &Class<'_>) {
    let (heading, board) = area.split_rows(2);
    screen.write(heading, "Done", Style::BOLD);
    let Some(ranked) = class.done_ranking() else {
        screen.write_right(heading, &class.state.session.title, Style::PLAIN);
        return;
    };
    let (_, right) = heading.split_columns(6, 0);
    screen.write_right(right, &ranked_words(class.state, ranked), Style::PLAIN);
    let groups = groups(class.state, ranked);
    let now = Moment { at: class.at, working: false };
    board_view::draw(screen, board, &groups, "", now);
}

/// Whether a single short column holds everyone.
fn is_few(rows: &[Row]) -> bool {
    rows.len() <= FEW && rows.iter().all(|row| row.scaled == rows[0].scaled)
}

/// Whether the digits are five. By all of the block's segments, so that nothing moves between its
/// windows and rests; one that counts up may be long.
fn is_long(class: &Class<'_>, standing: &Standing<'_>) -> bool {
    const FROM: Span = Span::from_mins(10);
    let segments = class.state.now.segments.iter();
    let of_block = segments.filter(|segment| segment.block == standing.segment.block);
    of_block
        .map(|segment| segment.length)
        .chain([standing.length])
        .any(|length| length.is_none_or(|length| length >= FROM))
}

fn ink(standing: &Standing<'_>) -> Ink {
    match standing.hand {
        Hand::Held => Ink::Held,
        _ => standing.kind_shown().into(),
    }
}

/// Along the top: how much of the segment has run.
fn draw_line(screen: &mut Screen, area: Area, standing: &Standing<'_>) {
    let columns = match standing.length.map(Span::as_micros) {
        Some(length) if length > 0 => {
            let run = standing.class_time.as_micros() as f64 / length as f64;
            (run * area.columns as f64).round() as usize
        }
        _ => 0,
    };
    screen.write(area, &"▀".repeat(columns), Style::of(ink(standing)));
}

fn draw_clock(screen: &mut Screen, area: Area, class: &Class<'_>, standing: &Standing<'_>) {
    let style = Style::of(ink(standing));
    let window = window_title(class.state, standing);
    let phase = area.row(0);
    let beside = phase.columns.saturating_sub(width(&window) + 1);
    let words = phase_words(class.state, standing);
    screen.write(phase.split_columns(beside, 0).0, &words, style.bold());
    screen.write_right(phase, &window, Style::PLAIN);

    let large = area.split_rows(1).1.split_rows(area.rows.saturating_sub(3)).0;
    let widest = if is_long(class, standing) { "00:00" } else { "0:00" };
    digits::write(screen, large, &standing.digits(class.at), widest, style);

    let next = area.row(area.rows.saturating_sub(2));
    if let Some(said) = class.said() {
        screen.fill(next, style.reversed());
        screen.write(next.split_columns(1, 0).1, said, style.bold().reversed());
    } else {
        screen.write(next, &next_line(class.state, standing), Style::QUIET);
    }
}

/// Writes lines into the rows of an area, as many as fit; the last that fits says that there are more.
pub(super) fn write_lines(screen: &mut Screen, area: Area, lines: &[String], style: Style) {
    for (row, line) in lines.iter().take(area.rows).enumerate() {
        let more = row + 1 == area.rows && lines.len() > area.rows;
        screen.write(area.row(row), if more { "…" } else { line }, style);
    }
}

/// A line of what is told beside the clock: the movement's amount, and what stands beside it.
struct TextLine {
    amount: String,
    text: String,
    /// Quieter, after the text.
    detail: String,
    style: Style,
}

impl TextLine {
    fn of(text: String, style: Style) -> Self {
        Self { amount: String::new(), text, detail: String::new(), style }
    }
}

fn draw_told(screen: &mut Screen, area: Area, told: &Told) {
    let amounts = told.movements.iter().map(|it| width(&it.amount)).max().unwrap_or(0);
    let indent = if amounts > 0 { amounts + 2 } else { 0 };
    let lines = lines(told, area, indent);
    let skipped = match told.current {
        // Where not all fit, the list begins so that the current movement stands in it.
        Some(_) => {
            let current = lines.iter().position(|line| line.style == Style::BOLD).unwrap_or(0);
            (current + 2).saturating_sub(area.rows)
        }
        None => 0,
    };
    for (row, line) in lines.iter().skip(skipped).take(area.rows).enumerate() {
        let own = area.row(row);
        let (amount, text) = own.split_columns(indent, 0);
        if line.amount.is_empty() && line.detail.is_empty() {
            screen.write(own, &line.text, line.style);
            continue;
        }
        screen.write_right(amount.split_columns(amounts, 0).0, &line.amount, line.style.bold());
        screen.write(text, &line.text, line.style);
        let beside = text.split_columns(width(&line.text), 2).1;
        screen.write(beside, &line.detail, Style::QUIET);
    }
}

/// What is told, in lines. Blanks between the parts, and the aim, only where they take no room from
/// the rest.
fn lines(told: &Told, area: Area, indent: usize) -> Vec<TextLine> {
    let wrapped = |text: &str, style| {
        wrap(text, area.columns).into_iter().map(move |line| TextLine::of(line, style))
    };
    let text = told.text.iter().flat_map(|text| wrapped(text, Style::PLAIN)).collect();
    let head = wrapped(&told.title, Style::BOLD).chain(wrapped(&told.how, Style::QUIET)).collect();
    let movements = (0..)
        .zip(&told.movements)
        .flat_map(|(index, movement)| {
            let style = match told.current {
                Some(current) if current == index => Style::BOLD,
                Some(_) => Style::QUIET,
                None => Style::PLAIN,
            };
            movement_lines(movement, area.columns.saturating_sub(indent), indent, style)
        })
        .collect();
    let aim: Vec<TextLine> = wrapped(&told.aim, Style::QUIET).collect();
    let parts: [Vec<TextLine>; 3] = [text, head, movements];
    let (count, filled) = (
        parts.iter().map(Vec::len).sum::<usize>(),
        parts.iter().filter(|it| !it.is_empty()).count(),
    );
    let blanks = count + filled.saturating_sub(1) <= area.rows;
    let with_aim = count + filled + aim.len() <= area.rows;
    let mut lines = Vec::new();
    for part in parts.into_iter().chain(with_aim.then_some(aim)) {
        if blanks && !lines.is_empty() && !part.is_empty() {
            lines.push(TextLine::of(String::new(), Style::PLAIN));
        }
        lines.extend(part);
    }
    lines
}

/// A movement in one line, or with its load and tempo in a second one where they do not fit.
fn movement_lines(
    movement: &MovementWords,
    columns: usize,
    indent: usize,
    style: Style,
) -> Vec<TextLine> {
    let MovementWords { amount, name, sides, detail } = movement;
    let text = format!("{name} {sides}").trim_end().to_owned();
    let beside = detail.is_empty() || width(&text) + 2 + width(detail) <= columns;
    let detail_beside = if beside { detail.clone() } else { String::new() };
    let first = TextLine { amount: amount.clone(), text, detail: detail_beside, style };
    let below =
        (!beside).then(|| TextLine::of(format!("{}{detail}", " ".repeat(indent)), Style::QUIET));
    core::iter::once(first).chain(below).collect()
}
