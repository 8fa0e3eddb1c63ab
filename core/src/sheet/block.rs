//! A block: its heading, the lines under it, and its movements.

use super::clause::{Clauses, Found, clauses, keywords};
use super::heading::Parts;
use super::keys::{Entry, Key, OF_BLOCK, entries};
use super::movement::{movement, parts};
use super::outline::{Line, Section};
use super::problem::Problems;
use super::words::{Token, colon, meant, tokens};
use crate::session::{Aim, Block, Format, Movement};

/// Movements of one block: more than a class goes through in one.
const MOVEMENTS_MAX: usize = 50;
/// Words of a heading that are looked at for a misspelling.
const MEANT_MAX: usize = 20;
/// Words in a name that say that something with a weight is in the hands.
const LOADED: &[&str] =
    &["goblet", "dumbbell", "kettlebell", "barbell", "sandbag", "deadlift", "carry"];

/// Reads a block; none where its heading does not say what it is.
pub(super) fn block(section: &Section, problems: &mut Problems<'_>) -> Option<Block> {
    let entries = entries(&section.paragraphs, OF_BLOCK, problems);
    let movements = section.items.iter().filter_map(|item| movement(item, problems)).collect();
    let mut found = heading(&section.heading, problems);
    for entry in entries.iter().filter(|entry| entry.key == Key::Heading) {
        let read = clauses(entry.line, 0..entry.line.text.len());
        expect_known(&read, problems);
        found.extend(read.found);
    }
    let at = section.heading.whole();
    let kind =
        if found.is_empty() { None } else { Parts { found, heading: at.clone(), problems }.kind() };
    let mut block = Block {
        name: section.heading.text.trim().to_owned(),
        kind: kind?,
        movements,
        aim: None,
        cues: Vec::new(),
        coach_notes: Vec::new(),
        notes: Vec::new(),
        announce: true,
    };
    for entry in entries {
        put(entry, &mut block, problems);
    }
    check(&block, section, problems);
    Some(block)
}

/// What a heading says, without the block's own name; empty where it does not say what the block
/// is, which is then among the problems.
fn heading(line: &Line, problems: &mut Problems<'_>) -> Vec<Found> {
    let is_main = |read: &Clauses| read.found.iter().any(|found| found.clause.is_main());
    if let Some(at) = colon(&line.text) {
        let mut left = clauses(line, 0..at);
        let right = clauses(line, at + 1..line.text.len());
        // `Talk: what we do tonight, 3 min`
        if left.unknown.is_empty() && is_main(&left) {
            left.found.extend(right.found.into_iter().filter(|found| !found.clause.is_main()));
            return left.found;
        }
        // `First tide: AMRAP 9 min`
        if is_main(&right) {
            expect_known(&right, problems);
            return right.found;
        }
    }
    let mut read = clauses(line, 0..line.text.len());
    if !is_main(&read) {
        unknown_kind(line, &read, problems);
        return Vec::new();
    }
    // `Warm-up on the pier`, `First tide AMRAP 9 min`
    let scored = read.found.iter().any(|found| found.clause.is_scored());
    read.unknown.retain(|unknown| unknown.has_number || (unknown.inside && scored));
    expect_known(&read, problems);
    read.found
}

fn expect_known(read: &Clauses, problems: &mut Problems<'_>) {
    for unknown in &read.unknown {
        let mut words = unknown.words.iter().take(MEANT_MAX);
        let meant = words.find_map(|word| meant(word, &keywords()));
        let message = match meant {
            Some(word) => format!("this was not understood; was `{word}` meant?"),
            None => "this was not understood".to_owned(),
        };
        problems.error(
            unknown.at.clone(),
            message,
            "First tide: AMRAP 4 min, 4 times, rest 1:30 between",
        );
    }
}

fn unknown_kind(line: &Line, read: &Clauses, problems: &mut Problems<'_>) {
    let mut words = read.unknown.iter().flat_map(|unknown| &unknown.words).take(MEANT_MAX);
    let mut message = "a heading says what its block is: talk, set-up, warm-up, drill, rest, \
                       cool-down, or the format of a piece"
        .to_owned();
    if let Some(word) = words.find_map(|word| meant(word, &keywords())) {
        message = format!("{message}; was `{word}` meant?");
    }
    problems.error(line.whole(), message, "## First tide: AMRAP 9 min");
}

/// Puts what a key line says where it belongs.
fn put(entry: Entry<'_>, block: &mut Block, problems: &mut Problems<'_>) {
    let Entry { key, text, line, value } = entry;
    match key {
        Key::Aim => block.aim = Some(Aim { rounds: rounds_in(&text), text }),
        Key::Cues => block.cues.extend(parts(&text)),
        Key::CoachNotes => block.coach_notes.push(text),
        Key::Standard => {
            for movement in block.movements.iter_mut().filter(|m| m.standard.is_none()) {
                movement.standard = Some(text.clone());
            }
        }
        Key::Announce => match text.to_lowercase().as_str() {
            "no" => block.announce = false,
            "yes" => block.announce = true,
            _ => problems.error(line.source(value), "expected yes or no", "Announce: no"),
        },
        Key::Notes => block.notes.push(text),
        Key::Heading | Key::Date | Key::Slot | Key::People | Key::WholeClass => {}
    }
}

/// `5 to 7 rounds`, `five to seven rounds`, `5-7 rounds`, where the words say so.
fn rounds_in(text: &str) -> Option<(u32, u32)> {
    let tokens = tokens(text, 0..text.len());
    tokens.windows(4).find_map(|window| {
        let to = window[1].text == "to" || window[1].is_dash();
        let range = (counted(&window[0])?, counted(&window[2])?);
        (to && window[3].text == "rounds" && range.0 <= range.1).then_some(range)
    })
}

fn counted(token: &Token) -> Option<u32> {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let word = || WORDS.iter().position(|word| *word == token.text).map(|n| n as u32);
    token.whole().or_else(word)
}

/// What is understood but looks unfinished.
fn check(block: &Block, section: &Section, problems: &mut Problems<'_>) {
    let at = section.heading.whole();
    if block.movements.len() > MOVEMENTS_MAX {
        let message =
            format!("{} movements; a block has up to {MOVEMENTS_MAX}", block.movements.len());
        problems.error(at.clone(), message, "part this block into several");
    }
    let Some(piece) = block.kind.piece() else { return };
    if block.movements.is_empty() {
        let message = "a piece has movements; list them under its heading";
        problems.error(at.clone(), message, "- 11 goblet squat 16 kg");
    }
    if block.aim.is_none() {
        let message = "this piece does not say how it should feel";
        problems.warn(at, message, "Aim: steady, 5 to 7 rounds, no set broken before round three");
    }
    let by_round = match &piece.format {
        Format::Amrap { ladder, .. } => ladder.is_none(),
        Format::ForTime { scheme, .. } => scheme.is_empty(),
        _ => false,
    };
    // Where a movement was not understood, items and movements no longer pair up.
    if section.items.len() == block.movements.len() {
        for (movement, item) in block.movements.iter().zip(&section.items) {
            check_movement(movement, by_round && block.movements.len() > 1, &item.line, problems);
        }
    }
}

fn check_movement(movement: &Movement, counted: bool, line: &Line, problems: &mut Problems<'_>) {
    let Movement { name, amount, load, options, .. } = movement;
    if counted && amount.is_none() {
        let message = format!("how much of `{name}` one round has is not said");
        problems.warn(line.whole(), message, &format!("10 {name}"));
    }
    if options.is_empty() {
        let message = format!("`{name}` has no option for those who need another way");
        problems.warn(line.whole(), message, "easier (mechanics): 11 squat to box 45 cm");
    }
    let lower = name.to_lowercase();
    if load.is_none()
        && LOADED.iter().any(|word| lower.split(' ').any(|part| part.starts_with(word)))
    {
        let message = format!("`{name}` says no load");
        problems.warn(line.whole(), message, &format!("{name} 16 kg, or by feel"));
    }
}
