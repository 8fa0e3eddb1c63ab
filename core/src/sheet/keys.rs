//! `Key: value` lines, under the title and under a block's heading. A line that begins with no
//! known key is a note, or goes on with the text of the key before it in the same paragraph.

use core::ops::Range;

use super::outline::{Line, Paragraph};
use super::problem::Problems;
use super::words::{colon, meant};

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Key {
    Date,
    Slot,
    People,
    WholeClass,
    Aim,
    Cues,
    CoachNotes,
    Notes,
    Standard,
    Announce,
    /// Read with the words of the heading: `Lead-in: 5 s` says the same as `…, lead-in 5 s`.
    Heading,
}

/// Keys under the title.
pub(super) const OF_SHEET: &[(&str, Key)] = &[
    ("date", Key::Date),
    ("slot", Key::Slot),
    ("people", Key::People),
    ("whole class", Key::WholeClass),
    ("note", Key::Notes),
    ("notes", Key::Notes),
];

/// Keys under a block's heading.
pub(super) const OF_BLOCK: &[(&str, Key)] = &[
    ("aim", Key::Aim),
    ("cue", Key::Cues),
    ("cues", Key::Cues),
    ("coach", Key::CoachNotes),
    ("notes for the coach", Key::CoachNotes),
    ("note for the coach", Key::CoachNotes),
    ("note", Key::Notes),
    ("notes", Key::Notes),
    ("standard", Key::Standard),
    ("announce", Key::Announce),
    ("cap", Key::Heading),
    ("lead-in", Key::Heading),
    ("length", Key::Heading),
    ("pace", Key::Heading),
    ("repeat", Key::Heading),
    ("rest", Key::Heading),
    ("score", Key::Heading),
    ("teams", Key::Heading),
    ("then", Key::Heading),
    ("ties", Key::Heading),
];

/// One key with what it says.
pub(super) struct Entry<'l> {
    pub(super) key: Key,
    /// The value, with the lines that go on with it.
    pub(super) text: String,
    /// The line that it begins on.
    pub(super) line: &'l Line,
    /// Where the value stands in that line.
    pub(super) value: Range<usize>,
}

/// Reads paragraphs as keys and notes.
pub(super) fn entries<'l>(
    paragraphs: &'l [Paragraph],
    known: &[(&str, Key)],
    problems: &mut Problems<'_>,
) -> Vec<Entry<'l>> {
    let mut entries: Vec<Entry<'l>> = Vec::new();
    for paragraph in paragraphs {
        // Whether the line before was text that this one may go on with.
        let mut goes_on = false;
        for line in paragraph {
            let (key, value) = split(line, known, problems);
            match (key, entries.last_mut()) {
                (None, Some(last)) if goes_on => {
                    last.text.push(' ');
                    last.text.push_str(line.text.trim());
                }
                _ => {
                    let text = line.text[value.clone()].trim().to_owned();
                    let key = key.unwrap_or(Key::Notes);
                    goes_on = matches!(
                        key,
                        Key::Aim | Key::Cues | Key::CoachNotes | Key::Notes | Key::Standard
                    );
                    if text.is_empty() && !goes_on {
                        let message = "nothing stands here after the colon";
                        problems.error(line.whole(), message, "Slot: 60 min");
                    }
                    entries.push(Entry { key, text, line, value });
                }
            }
        }
    }
    entries
}

/// The key that a line begins with, and where its value stands.
fn split(
    line: &Line,
    known: &[(&str, Key)],
    problems: &mut Problems<'_>,
) -> (Option<Key>, Range<usize>) {
    let whole = 0..line.text.len();
    let Some(at) = colon(&line.text) else { return (None, whole) };
    let words = line.text[..at].trim().to_lowercase();
    if let Some((_, key)) = known.iter().find(|(name, _)| *name == words) {
        return (Some(*key), at + 1..whole.end);
    }
    let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
    if let Some(name) = meant(&words, &names) {
        let message = format!("`{words}:` is taken as a note; was `{name}:` meant?");
        problems.warn(line.source(0..at), message, &format!("{name}: …"));
    }
    (None, whole)
}
