//! The board as a picture: each group in columns of its own. Where not all fit, they are shown in pages
//! by turns; while people work, the first few and whoever scored last.

use floorbell_core::time::{HouseTime, Span};

use super::board::{Group, Line};
use super::screen::{Area, Ink, Screen, Style};
use super::text::width;

/// How long a page stands before the next takes its turn.
pub(super) const TURN: Span = Span::from_secs(9);
/// How long a row is marked after a round.
pub(super) const MARKED: Span = Span::from_secs(6);
/// Who is always shown while people work and there is no room for all.
const LEADERS: usize = 8;

/// Between two columns.
const GAP: usize = 3;
/// A place with its blank, and the blanks before a tally.
const AROUND: usize = 4 + 2;
/// Room for the largest tally that is likely: `102.5 kg`, `12 + 23`, `10:00`.
const TALLY: usize = 8;
/// The least width of a column: a name of six characters.
const COLUMN_LEAST: usize = AROUND + 6 + TALLY;
/// A column is made no wider than the longest row by more than this, so that the eye keeps to its row.
const SPARE: usize = 4;
const AT_HOME: &str = " ⌂";

/// When the board is shown, and whether people work, so that whoever scored last is marked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moment {
    pub(super) at: HouseTime,
    pub(super) working: bool,
}

impl Moment {
    fn is_marked(self, line: &Line) -> bool {
        self.working && line.scored_at.is_some_and(|scored| scored + MARKED > self.at)
    }
}

/// Draws the groups under their headings. `title` is what the ranking is called, where it is not that
/// of the piece that runs.
pub(super) fn draw(screen: &mut Screen, area: Area, groups: &[Group], title: &str, now: Moment) {
    let Some(rows) = area.rows.checked_sub(1).filter(|&rows| rows > 0) else {
        return;
    };
    let longest = groups.iter().flat_map(|group| &group.lines).map(row_width).max().unwrap_or(0);
    let columns_of = share(groups, rows, (area.columns + GAP) / (longest.max(COLUMN_LEAST) + GAP));
    let columns = columns_of.iter().sum::<usize>().max(1);
    let across = ((area.columns + GAP) / columns).saturating_sub(GAP).min(longest + SPARE);
    let mut left = area;
    for (group, &columns) in groups.iter().zip(&columns_of) {
        let part = part(&group.lines, columns * rows, now);
        let count = if part.len() < group.lines.len() {
            format!("{} of {}", part.len(), group.lines.len())
        } else {
            String::new()
        };
        let heading = crate::words::joined(&[title, group.title, &count]);
        let (own, rest) = left.split_columns(columns * (across + GAP) - GAP, GAP);
        screen.write(own.row(0), &heading, Style::QUIET);
        let per_column = part.len().div_ceil(columns).max(1);
        for (index, line) in part.iter().enumerate() {
            let (column, row) = (index / per_column, index % per_column);
            let own = own.split_columns(column * (across + GAP), 0).1.split_columns(across, 0).0;
            draw_line(screen, own.row(1 + row), line, now.is_marked(line));
        }
        left = rest;
    }
}

fn row_width(line: &Line) -> usize {
    let at_home = if line.at_home { width(AT_HOME) } else { 0 };
    AROUND + width(&line.name) + at_home + width(&line.tally).max(TALLY)
}

/// How many columns each group takes: one, and then one more for the fullest as long as not all fit and
/// there is room for another.
fn share(groups: &[Group], rows: usize, columns_most: usize) -> Vec<usize> {
    let mut columns_of = vec![1; groups.len()];
    for _ in groups.len()..columns_most {
        let fullest = groups
            .iter()
            .zip(&mut columns_of)
            .map(|(group, columns)| (group.lines.len().div_ceil(*columns), columns))
            .filter(|(lines, _)| *lines > rows)
            .max_by_key(|(lines, _)| *lines);
        match fullest {
            Some((_, columns)) => *columns += 1,
            None => break,
        }
    }
    columns_of
}

/// Those who are shown now, in the order of their places.
fn part(lines: &[Line], room: usize, now: Moment) -> Vec<&Line> {
    if lines.len() <= room {
        return lines.iter().collect();
    }
    if !now.working {
        let pages = lines.len().div_ceil(room);
        let page = turn(now.at, TURN) % pages;
        let size = lines.len().div_ceil(pages);
        return lines.iter().skip(page * size).take(size).collect();
    }
    let leaders = LEADERS.min(room);
    let mut latest: Vec<usize> = (leaders..lines.len()).collect();
    latest.sort_by_key(|&index| core::cmp::Reverse(lines[index].scored_at));
    latest.truncate(room - leaders);
    latest.sort_unstable();
    (0..leaders).chain(latest).map(|index| &lines[index]).collect()
}

/// Whose turn it is, counted on the house's clock so that all walls turn together.
pub(super) fn turn(at: HouseTime, length: Span) -> usize {
    usize::try_from(at.as_micros().div_euclid(length.as_micros())).unwrap_or(0)
}

fn draw_line(screen: &mut Screen, area: Area, line: &Line, marked: bool) {
    let style = if marked { Style::of(Ink::Work).reversed() } else { Style::PLAIN };
    if marked {
        screen.fill(area, style);
    }
    if let Some(place) = line.place {
        screen.write_right(area.split_columns(3, 0).0, &place.to_string(), style);
    }
    let tally = width(&line.tally);
    let (_, area) = area.split_columns(4, 0);
    let (name, _) = area.split_columns(area.columns.saturating_sub(tally + 1), 0);
    let at_home = if line.at_home { AT_HOME } else { "" };
    screen.write(name, &format!("{}{at_home}", line.name), style);
    screen.write_right(area, &line.tally, style.bold());
}

#[cfg(test)]
mod tests {
    use super::super::screen::Size;
    use super::*;
    use crate::testing::house;

    fn line(place: u32, name: &str, tally: &str) -> Line {
        Line {
            name: name.into(),
            at_home: false,
            place: Some(place),
            tally: tally.into(),
            scored_at: None,
        }
    }

    fn drawn(columns: usize, rows: usize, groups: &[Group], now: Moment) -> String {
        let mut screen = Screen::new(Size { columns, rows });
        let area = screen.area();
        draw(&mut screen, area, groups, "", now);
        screen.text()
    }

    const RESTING: Moment = Moment { at: HouseTime::from_micros(0), working: false };

    #[test]
    fn groups_stand_side_by_side_as_equals() {
        let written = Group {
            title: "As written",
            lines: vec![line(1, "Ansa", "5 + 12"), line(2, "Bo", "5"), line(2, "李雷", "5")],
        };
        let home = Line { at_home: true, ..line(1, "Cy", "7") };
        let scaled = Group { title: "Scaled", lines: vec![home] };
        assert_eq!(
            drawn(60, 6, &[written, scaled], RESTING),
            "\
As written               Scaled
  1 Ansa        5 + 12     1 Cy ⌂             7
  2 Bo               5
  2 李雷             5"
        );
    }

    fn crowd(people: u32) -> [Group; 1] {
        let lines = (1..=people).map(|place| line(place, &format!("N{place}"), "3"));
        [Group { title: "As written", lines: lines.collect() }]
    }

    #[test]
    fn a_group_takes_as_many_columns_as_it_needs() {
        assert_eq!(
            drawn(70, 4, &crowd(8), RESTING),
            "\
As written
  1 N1             3     4 N4             3     7 N7             3
  2 N2             3     5 N5             3     8 N8             3
  3 N3             3     6 N6             3"
        );
    }

    #[test]
    fn who_does_not_fit_comes_by_turns() {
        let later = Moment { at: house(9.0), working: false };
        let first = drawn(24, 3, &crowd(3), RESTING);
        assert_eq!(first, "As written · 2 of 3\n  1 N1             3\n  2 N2             3");
        assert_eq!(drawn(24, 3, &crowd(3), later), "As written · 1 of 3\n  3 N3             3");
    }

    #[test]
    fn while_people_work_the_first_and_the_latest_are_shown() {
        let mut groups = crowd(12);
        groups[0].lines[10].scored_at = Some(house(99.0));
        groups[0].lines[9].scored_at = Some(house(98.0));
        let now = Moment { at: house(100.0), working: true };
        let names: Vec<&str> =
            part(&groups[0].lines, 10, now).iter().map(|line| &*line.name).collect();
        assert_eq!(names, ["N1", "N2", "N3", "N4", "N5", "N6", "N7", "N8", "N10", "N11"]);
        let [first, .., eleventh, _] = groups[0].lines.as_slice() else { panic!("twelve") };
        assert!(now.is_marked(eleventh) && !now.is_marked(first));
        assert!(!Moment { at: house(105.0), ..now }.is_marked(eleventh));
        assert!(!Moment { working: false, ..now }.is_marked(eleventh));
    }
}
