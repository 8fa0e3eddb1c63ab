//! The session sheet: from a coach's Markdown to a [`Session`], with problems at their place.
//!
//! In steps, each with its own file: `outline` takes the Markdown apart and remembers where each
//! piece of text stands; `words` makes tokens of a line; `clause` and `heading` read what a
//! heading says, `keys` the `Key: value` lines, `movement` and `measure` the list items; `block` puts them
//! together. Reading goes on after an error, so that one reading shows all that is wrong.
//!
//! The notation stands in `docs/session-sheet.md`, whose examples are read by the tests.

mod block;
mod clause;
mod heading;
mod keys;
mod measure;
mod movement;
mod outline;
mod problem;
mod words;

#[cfg(test)]
mod tests;

pub use problem::{PROBLEMS_MAX, Problem, Severity, render};

use keys::{Entry, Key, OF_SHEET, entries};
use outline::{Line, Outline, outline};
use problem::{Problems, is_invisible};

use crate::score::Scoring;
use crate::session::{Block, Session, WholeClass, layout};
use crate::time::Span;

/// A sheet is at most this long; a full evening is about 5 kB.
pub const BYTES_MAX: usize = 256 * 1024;
/// Blocks of one session: more than any class has.
const BLOCKS_MAX: usize = 60;
/// Characters of a title, a heading or a movement's line.
const NAME_MAX: usize = 200;
/// Segments of one class, so that a time line stays small enough to send whole.
const SEGMENTS_MAX: usize = 600;
/// People on one floor and at home.
const PEOPLE_MAX: u32 = 500;

/// What came of reading a sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The session; none where there was an error.
    pub session: Option<Session>,
    /// Errors and warnings in the order of the sheet, at most [`PROBLEMS_MAX`].
    pub problems: Vec<Problem>,
}

/// Reads a session sheet. Any text is answered; none makes it panic.
pub fn read(text: &str) -> Reading {
    let mut problems = Problems::new(text);
    if text.len() > BYTES_MAX {
        let message = format!("a sheet has up to {} kB", BYTES_MAX / 1024);
        problems.error(0..0, message, "one sheet for each class");
        return Reading { session: None, problems: problems.finish() };
    }
    check_characters(text, &mut problems);
    let outline = outline(text, &mut problems);
    let session = session(&outline, &mut problems);
    let usable = problems.errors() == 0;
    Reading { session: usable.then_some(session), problems: problems.finish() }
}

/// Invisible characters that make a line look other than it is.
fn check_characters(text: &str, problems: &mut Problems<'_>) {
    for (at, c) in text.char_indices().filter(|&(_, c)| is_invisible(c)) {
        let message =
            format!("an invisible character (U+{:04X}) stands here; take it out", u32::from(c));
        problems.error(at..at + c.len_utf8(), message, "");
    }
}

/// Says so where a name would not fit a screen.
fn check_name(line: &Line, problems: &mut Problems<'_>) {
    if line.text.chars().count() > NAME_MAX {
        let message = format!("up to {NAME_MAX} characters stand in one line here");
        problems.error(line.whole(), message, "what is longer is a note on a line of its own");
    }
}

fn session(outline: &Outline, problems: &mut Problems<'_>) -> Session {
    let title = outline.title.as_ref().filter(|title| !title.text.trim().is_empty());
    if title.is_none() {
        problems.error(0..0, "a sheet begins with its title", "# Harbour evening");
    }
    if outline.blocks.is_empty() {
        let message = "a sheet has blocks, each with a heading of two number signs";
        problems.error(0..0, message, "## Talk, 3 min");
    }
    if let Some(last) = outline.blocks.get(BLOCKS_MAX) {
        let message = format!("a session has up to {BLOCKS_MAX} blocks");
        problems.error(last.heading.whole(), message, "one sheet for each class");
    }
    let headings = outline.blocks.iter().map(|section| &section.heading);
    title.into_iter().chain(headings).for_each(|line| check_name(line, problems));
    let mut session = Session {
        title: title.map(|title| title.text.trim().to_owned()).unwrap_or_default(),
        date: None,
        slot: None,
        people: None,
        notes: Vec::new(),
        whole_class: WholeClass::default(),
        blocks: Vec::new(),
    };
    for entry in entries(&outline.intro, OF_SHEET, problems) {
        put(entry, &mut session, problems);
    }
    let blocks = outline.blocks.iter().take(BLOCKS_MAX);
    session.blocks = blocks.filter_map(|section| block::block(section, problems)).collect();
    check_whole_class(&session, outline, problems);
    let segments = if problems.errors() == 0 { layout::segments(&session).len() } else { 0 };
    if segments > SEGMENTS_MAX {
        let message = format!("{segments} segments come of this; a class has up to {SEGMENTS_MAX}");
        problems.error(0..0, message, "fewer rounds or repeats");
    }
    session
}

/// Puts what a line under the title says where it belongs.
fn put(entry: Entry<'_>, session: &mut Session, problems: &mut Problems<'_>) {
    let Entry { key, text, line, value } = entry;
    match key {
        Key::Date => session.date = Some(text),
        Key::Slot => match slot(line, value.start) {
            Some(slot) => session.slot = Some(slot),
            None => problems.error(line.source(value), "expected a length of time", "Slot: 60 min"),
        },
        Key::People => {
            session.people = text.parse().ok().filter(|people| (1..=PEOPLE_MAX).contains(people));
            if session.people.is_none() {
                let message = format!("expected a number of people from 1 to {PEOPLE_MAX}");
                problems.error(line.source(value), message, "People: 14");
            }
        }
        Key::WholeClass => match text.to_lowercase().as_str() {
            "places" | "sum of places" => session.whole_class = WholeClass::Places,
            "reps" | "sum of reps" => session.whole_class = WholeClass::Reps,
            _ => {
                let message = "the whole class is ranked by places or by reps";
                problems.error(line.source(value), message, "Whole class: reps");
            }
        },
        _ => session.notes.push(text),
    }
}

/// Unlike units are never summed (rule 4.4).
fn check_whole_class(session: &Session, outline: &Outline, problems: &mut Problems<'_>) {
    if session.whole_class != WholeClass::Reps {
        return;
    }
    let unlike = |block: &Block| !Scoring::of(block).is_none_or(Scoring::counts_reps);
    if let Some(block) = session.blocks.iter().find(|block| unlike(block)) {
        let message = format!("`{}` does not count reps, so they cannot be summed", block.name);
        let at = outline.title.as_ref().map_or(0..0, Line::whole);
        problems.error(at, message, "Whole class: places");
    }
}

fn slot(line: &Line, from: usize) -> Option<Span> {
    let tokens = words::tokens(&line.text, from..line.text.len());
    let (slot, count) = words::length(&tokens)?;
    (count == tokens.len() && slot > Span::ZERO && slot <= heading::LENGTH_MAX).then_some(slot)
}
