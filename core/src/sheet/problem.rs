//! What is wrong with a sheet, said at the place and with something that works.

use core::ops::Range;

use serde::{Deserialize, Serialize};

/// Problems that one reading reports: more than a coach mends before reading again.
pub const PROBLEMS_MAX: usize = 100;
/// Bytes of a problem's words that are kept: a line that never ends is not copied whole.
const WORDS_MAX: usize = 200;
/// Characters of a line that are shown around a problem, so that it fits a terminal.
const SHOWN_CHARS: usize = 72;

/// One thing that the reader did not understand, or would not leave as it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Problem {
    /// Whether it keeps the sheet from being used.
    pub severity: Severity,
    /// Which line of the sheet, from 1.
    pub line: u32,
    /// Which character of that line, from 1.
    pub column: u32,
    /// First byte of the words concerned, counted from the start of the text.
    pub start: u32,
    /// The byte after the words concerned.
    pub end: u32,
    /// The words concerned, as they stand in the sheet, or as many of them as are kept.
    pub words: String,
    /// What was understood, or what was expected there.
    pub message: String,
    /// Something that works in that place.
    pub example: String,
}

/// Whether a problem keeps a sheet from being used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// No session comes of it.
    Error,
    /// The session can be run; the coach may want to look.
    Warning,
}

/// Collects problems of one text, by byte range.
pub(super) struct Problems<'a> {
    text: &'a str,
    line_starts: Vec<usize>,
    found: Vec<Problem>,
    errors: usize,
}

impl<'a> Problems<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        let line_starts =
            core::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { text, line_starts, found: Vec::new(), errors: 0 }
    }

    pub(super) fn error(&mut self, at: Range<usize>, message: impl Into<String>, example: &str) {
        self.errors += 1;
        self.add(Severity::Error, at, &message.into(), example);
    }

    pub(super) fn warn(&mut self, at: Range<usize>, message: impl Into<String>, example: &str) {
        self.add(Severity::Warning, at, &message.into(), example);
    }

    /// How many errors there were so far, those beyond the bound included.
    pub(super) fn errors(&self) -> usize {
        self.errors
    }

    /// Everything found, in the order of the sheet.
    pub(super) fn finish(mut self) -> Vec<Problem> {
        self.found.sort_by_key(|problem| (problem.start, problem.severity == Severity::Warning));
        self.found
    }

    fn add(&mut self, severity: Severity, at: Range<usize>, message: &str, example: &str) {
        // Warnings make room, so that what stops the sheet is always among what is shown.
        if self.found.len() >= PROBLEMS_MAX {
            let warning = self.found.iter().rposition(|old| old.severity == Severity::Warning);
            match (severity, warning) {
                (Severity::Error, Some(index)) => drop(self.found.remove(index)),
                _ => return,
            }
        }
        let start = floor_boundary(self.text, at.start);
        let end = floor_boundary(self.text, at.end.min(start + WORDS_MAX)).max(start);
        let line = self.line_starts.partition_point(|&first| first <= start) - 1;
        let column = self.text[self.line_starts[line]..start].chars().count() + 1;
        self.found.push(Problem {
            severity,
            line: line as u32 + 1,
            column: column as u32,
            start: start as u32,
            end: end as u32,
            words: self.text[start..end].to_owned(),
            message: message.chars().map(visible).collect(),
            example: example.chars().map(visible).collect(),
        });
    }
}

/// Whether a character shows nothing by itself, but changes how others are shown: control
/// characters, and those that override the direction of writing.
pub(super) fn is_invisible(c: char) -> bool {
    let direction = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    direction || (c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}

/// The character, or a blank for one that could steer the terminal it is shown on.
fn visible(c: char) -> char {
    if is_invisible(c) || c == '\r' { ' ' } else { c }
}

/// The last character boundary at or before `at`.
fn floor_boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0)
}

/// Writes problems for a terminal: where, what, the line with a caret under the words, and
/// something that works.
pub fn render(problems: &[Problem], text: &str) -> String {
    problems.iter().map(|problem| render_one(problem, text)).collect()
}

fn render_one(problem: &Problem, text: &str) -> String {
    let Problem { line: number, column, message, example, .. } = problem;
    let severity = match problem.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    let line = text.lines().nth(*number as usize - 1).unwrap_or_default();
    let (shown, pad) = around(line, *column as usize - 1);
    let words = problem.words.lines().next().unwrap_or_default().chars().count();
    let carets = "^".repeat(words.clamp(1, (shown.chars().count() - pad.chars().count()).max(1)));
    let margin = " ".repeat(number.to_string().len());
    let tip = if example.is_empty() { String::new() } else { format!(" works: {example}\n") };
    format!(
        "{severity} at line {number}, column {column}: {message}\n \
         {number} | {shown}\n {margin} | {pad}{carets}\n{tip}\n"
    )
}

/// The part of `line` around its character `column`, and the blanks that lead up to it. Tabs
/// stay in both.
fn around(line: &str, column: usize) -> (String, String) {
    let first = column.saturating_sub(SHOWN_CHARS / 2);
    let shown: String = line.chars().skip(first).take(SHOWN_CHARS).map(visible).collect();
    let before = shown.chars().take(column - first);
    let pad = before.map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
    (shown, pad)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_stands_under_its_words() {
        let text = "# Café\n\n## Tide, 9 minn\n";
        let mut problems = Problems::new(text);
        let at = text.find("minn").unwrap();
        problems.error(at..at + 4, "`minn` is no unit of time", "9 min");
        let found = problems.finish();
        assert_eq!((found[0].line, found[0].column, found[0].words.as_str()), (3, 12, "minn"));
        let shown = render(&found, text);
        let expected = "error at line 3, column 12: `minn` is no unit of time\n \
                        3 | ## Tide, 9 minn\n   |            ^^^^\n works: 9 min\n\n";
        assert_eq!(shown, expected);
    }

    #[test]
    fn columns_count_characters_and_errors_push_warnings_out() {
        let text = "é é";
        let mut problems = Problems::new(text);
        for _ in 0..PROBLEMS_MAX {
            problems.warn(0..2, "first", "");
        }
        problems.error(3..5, "second", "");
        problems.warn(0..2, "too many", "");
        let found = problems.finish();
        assert_eq!(found.len(), PROBLEMS_MAX);
        assert_eq!((found.last().unwrap().column, &*found.last().unwrap().message), (3, "second"));
    }
}
