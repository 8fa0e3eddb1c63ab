//! The plan in words, the same as on the browser pages (`web/src/shared/words.ts`): what a movement
//! asks for, what a block is, what was counted.

use floorbell_core::ids::BlockIndex;
use floorbell_core::score::{Scoring, Tally};
use floorbell_core::session::layout::{Segment, SegmentKind};
use floorbell_core::session::{
    Amount, Block, BlockKind, Format, Movement, MovementOption, Piece, Sharing, Sides, Unit,
};
use floorbell_core::time::Span;
use floorbell_core::wire::State;

/// What a kind of segment is called.
pub const fn kind_words(kind: SegmentKind) -> &'static str {
    match kind {
        SegmentKind::Open => "Open",
        SegmentKind::LeadIn => "Lead-in",
        SegmentKind::Work => "Work",
        SegmentKind::Rest => "Rest",
    }
}

/// Parts that are not empty, with a dot between.
pub(crate) fn joined(parts: &[&str]) -> String {
    let parts: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
    parts.join(" · ")
}

/// A length in minutes and seconds, rounded to the second.
pub(crate) fn minutes(span: Span) -> String {
    (span + Span::from_millis(500)).to_string()
}

/// `12`, `120 m`, `15 cal`, `20 s`.
fn count_words(Amount { count, unit }: Amount) -> String {
    match unit {
        Unit::Reps => count.to_string(),
        Unit::Metres => format!("{count} m"),
        Unit::Calories => format!("{count} cal"),
        Unit::Seconds if count < 60 => format!("{count} s"),
        Unit::Seconds => Span::from_secs(count.into()).to_string(),
    }
}

/// One movement in parts, each of which may be empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct MovementWords {
    pub(crate) amount: String,
    pub(crate) name: String,
    /// For each side, or sides in turn.
    pub(crate) sides: &'static str,
    /// Load, height and tempo.
    pub(crate) detail: String,
}

/// The movements of a block as they stand now, with what the coach swapped for all.
pub(crate) fn movements_now(state: &State, block: BlockIndex) -> Vec<MovementWords> {
    let movements = state.session.blocks.get(block.0 as usize).map_or(&[][..], |it| &it.movements);
    let swapped = |index: u32, movement: &Movement| {
        let swap =
            state.now.swaps.iter().find(|swap| swap.block == block && swap.movement.0 == index)?;
        movement.options.get(swap.option.0 as usize).cloned()
    };
    (0..)
        .zip(movements)
        .map(|(index, movement)| movement_words(movement, swapped(index, movement).as_ref()))
        .collect()
}

/// A movement as everyone does it who does `option`. An amount that the option leaves open stays as
/// written. Another movement has a load of its own, or none, and its height and tempo stand in its
/// name.
fn movement_words(movement: &Movement, option: Option<&MovementOption>) -> MovementWords {
    let (amount, sides) = match option {
        Some(MovementOption { amount: Some(amount), sides, .. }) => (Some(*amount), *sides),
        _ => (movement.amount, movement.sides),
    };
    let another = option.filter(|option| option.name != movement.name);
    let load = match (option, another) {
        (_, Some(another)) => another.load.as_ref(),
        (Some(same), None) => same.load.as_ref().or(movement.load.as_ref()),
        (None, None) => movement.load.as_ref(),
    };
    let kept = if another.is_some() { None } else { Some(movement) };
    let height = kept.and_then(|movement| movement.height.as_deref());
    let tempo = kept.and_then(|movement| movement.tempo).map(|tempo| {
        let [down, bottom, up, top] = tempo.0;
        format!("tempo {down}-{bottom}-{up}-{top}")
    });
    MovementWords {
        amount: amount.map(count_words).unwrap_or_default(),
        name: another.map_or(&movement.name, |option| &option.name).clone(),
        sides: match sides {
            _ if amount.is_none() => "",
            Sides::Both => "",
            Sides::PerSide => "per side",
            Sides::Alternating => "alternating",
        },
        detail: joined(&[
            load.map_or("", |load| &load.text),
            height.unwrap_or_default(),
            tempo.as_deref().unwrap_or_default(),
        ]),
    }
}

/// A tally in two parts: `5` and `+ 12`, `62.5` and `kg`.
pub(crate) fn tally_words(tally: Option<Tally>, scoring: Option<Scoring>) -> (String, String) {
    let (main, rest) = match tally {
        None => return Default::default(),
        Some(Tally::Rounds { rounds, extra: 0 }) => (rounds.to_string(), String::new()),
        Some(Tally::Rounds { rounds, extra }) => (rounds.to_string(), format!("+ {extra}")),
        Some(Tally::Finished { time }) => (time.to_string(), String::new()),
        Some(Tally::AtCap { reps }) => (reps.to_string(), "reps".to_owned()),
        Some(Tally::Load { grams }) => ((f64::from(grams) / 1_000.0).to_string(), "kg".to_owned()),
        Some(Tally::Count { amount }) => {
            let unit = match scoring {
                Some(Scoring::Amount { unit: Unit::Metres, .. }) => "m",
                Some(Scoring::Amount { unit: Unit::Calories, .. }) => "cal",
                Some(Scoring::Amount { unit: Unit::Seconds, .. }) => "s",
                _ => "reps",
            };
            (amount.to_string(), unit.to_owned())
        }
        Some(Tally::Made { made, of }) => (made.to_string(), format!("of {of}")),
        Some(Tally::Done) => ("done".to_owned(), String::new()),
    };
    (main, rest)
}

/// How a piece is timed and scored, where the block is one.
pub(crate) fn format_of(block: Option<&Block>) -> Option<&Format> {
    Some(&block?.kind.piece()?.format)
}

/// How a piece is timed and scored, in a line.
fn format_words(format: &Format) -> String {
    match format {
        Format::Amrap { window, ladder } => {
            let reps = ladder.map_or(String::new(), |ladder| {
                let round =
                    |number| ladder.start.saturating_add(ladder.step.saturating_mul(number));
                format!(", reps {}-{}-{}-…", round(0), round(1), round(2))
            });
            format!("As many rounds as possible in {}{reps}", minutes(*window))
        }
        Format::ForTime { rounds, scheme, cap } => {
            let scheme: Vec<String> = scheme.iter().map(u32::to_string).collect();
            let what = if scheme.is_empty() { rounds_words(*rounds) } else { scheme.join("-") };
            format!("{what} for time, cap {}", minutes(*cap))
        }
        Format::EveryN { every, rounds, .. } => {
            format!("Every {}, {rounds} times", minutes(*every))
        }
        Format::Intervals { work, rest, rounds, .. } => {
            format!("{rounds} × {} work, {} rest", minutes(*work), minutes(*rest))
        }
        Format::MaxLoad { window, reps: 1 } => format!("Heaviest single in {}", minutes(*window)),
        Format::MaxLoad { window, reps } => {
            format!("Heaviest set of {reps} in {}", minutes(*window))
        }
        Format::MaxCount { window, unit } => {
            let unit = match unit {
                Unit::Reps => "reps",
                Unit::Metres => "metres",
                Unit::Calories => "calories",
                Unit::Seconds => "seconds",
            };
            format!("Most {unit} in {}", minutes(*window))
        }
        Format::Quality { window, rounds: None } => format!("For quality, {}", minutes(*window)),
        Format::Quality { window, rounds: Some(rounds) } => {
            format!("{} for quality, {}", rounds_words(*rounds), minutes(*window))
        }
    }
}

fn rounds_words(count: u32) -> String {
    if count == 1 { "1 round".to_owned() } else { format!("{count} rounds") }
}

/// All that a piece says of time and sharing, in a line.
pub(crate) fn piece_words(piece: &Piece) -> String {
    let times = match piece.repeats {
        0 | 1 => String::new(),
        repeats => format!("{repeats} times, {} rest between", minutes(piece.repeat_rest)),
    };
    let shared = match piece.sharing {
        Sharing::Alone => String::new(),
        Sharing::Team { size } => format!("in teams of {size}"),
    };
    joined(&[&format_words(&piece.format), &times, &shared])
}

/// A block by its name alone: its heading without what it says of time and format. `Quay run: AMRAP
/// 9 min` is `Quay run`, `Talk: what we do tonight, 5 min` is `Talk: what we do tonight`, and `Rest
/// 3 min` is `Rest`.
pub fn title_of(block: &Block) -> &str {
    let name = &*block.name;
    let ends = match block.kind {
        BlockKind::Piece(_) if name.contains(':') => name.find(':'),
        _ => name.match_indices(',').map(|(at, _)| at).find(|&at| outside_brackets(&name[at..])),
    };
    without_length(name[..ends.unwrap_or(name.len())].trim())
}

/// Whether no bracket is open where this is what follows.
fn outside_brackets(following: &str) -> bool {
    following.find(')').is_none_or(|closes| following[..closes].contains('('))
}

/// Takes a length off the end of a heading: `3 min`, `: 5 min`, `1:30`.
fn without_length(title: &str) -> &str {
    const UNITS: [&str; 12] = [
        "h", "hour", "hours", "min", "mins", "minute", "minutes", "s", "sec", "secs", "second",
        "seconds",
    ];
    let number_before = |text: &str| {
        let rest = text.trim_end_matches(|c: char| c.is_ascii_digit());
        (rest.len() < text.len()).then_some(rest.len())
    };
    let word = title.len() - title.trim_end_matches(|c: char| c.is_ascii_alphabetic()).len();
    let (before, word) = title.split_at(title.len() - word);
    let number = if UNITS.contains(&word) {
        number_before(before.trim_end())
    } else {
        // Minutes and seconds: the colon stands before the last two digits.
        let colon = title.len().checked_sub(3).filter(|&at| title.is_char_boundary(at));
        let clock = colon.map(|at| title.split_at(at));
        clock.and_then(|(minutes, seconds)| {
            let seconds = seconds.strip_prefix(':')?;
            let digits = seconds.bytes().all(|byte| byte.is_ascii_digit());
            digits.then(|| number_before(minutes))?
        })
    };
    let apart = |c: char| c.is_whitespace() || c == ':';
    match number.map(|at| &title[..at]) {
        Some(rest) if rest.ends_with(apart) => rest.trim_end_matches(apart),
        _ => title,
    }
}

/// What runs in a segment: `Work`, or for open ones the block's own name.
pub(crate) fn segment_words<'a>(segment: &Segment, block: Option<&'a Block>) -> &'a str {
    match (segment.kind, block) {
        (SegmentKind::Open, Some(block)) => title_of(block),
        (kind, _) => kind_words(kind),
    }
}

#[cfg(test)]
mod tests {
    use floorbell_core::sheet;

    use super::*;
    use crate::testing::{clock, rounds, state};
    use floorbell_core::class::clock::Phase;
    use floorbell_core::class::command::Chosen;
    use floorbell_core::ids::{MovementIndex, OptionIndex};

    fn block(heading: &str) -> Block {
        let text = format!("# Test\n\n## {heading}\n\n- 5 squat\n");
        let session = sheet::read(&text).session.unwrap_or_else(|| panic!("{heading}"));
        session.blocks.into_iter().next().expect("a block")
    }

    #[test]
    fn a_blocks_title_is_its_name_alone() {
        for (heading, title) in [
            ("Talk: what we do tonight, 5 min", "Talk: what we do tonight"),
            ("Talk: two short tides, 10 s", "Talk: two short tides"),
            ("Drill: the goblet squat, 10 min, coach-led, 2 rounds", "Drill: the goblet squat"),
            ("Cool-down: 5 min", "Cool-down"),
            ("Rest 3 min", "Rest"),
            ("Rest 1:30", "Rest"),
            ("Rest and clear the bars, 5 min, then wait", "Rest and clear the bars"),
            ("Quay run: as many rounds as possible in 9 min", "Quay run"),
            ("Mooring line: 8 × (20 s work, 10 s rest)", "Mooring line"),
            ("AMRAP 7 min, ladder 4-8-12-…", "AMRAP"),
        ] {
            let mut block = block("Talk, 5 min");
            if title == "Quay run" || title == "Mooring line" || title == "AMRAP" {
                block.kind = self::block("Tide: AMRAP 4 min").kind;
            }
            heading.clone_into(&mut block.name);
            assert_eq!(title_of(&block), title, "{heading}");
        }
        for (title, without) in [
            ("8 × (20 s work, 10 s rest)", "8 × (20 s work, 10 s rest)"),
            ("Tide4 min", "Tide4 min"),
            ("4 min", "4 min"),
            ("…30", "…30"),
            ("Ré:30", "Ré:30"),
            ("", ""),
        ] {
            assert_eq!(without_length(title), without);
        }
    }

    #[test]
    fn a_piece_says_how_it_is_timed_and_shared() {
        for (heading, words) in [
            ("Tide: AMRAP 9 min", "As many rounds as possible in 9:00"),
            (
                "Tide: AMRAP 7 min, ladder 4-8-12-…",
                "As many rounds as possible in 7:00, reps 4-8-12-…",
            ),
            ("Tide: 20-16-12 for time, cap 10 min", "20-16-12 for time, cap 10:00"),
            ("Tide: 3 rounds for time, cap 10 min", "3 rounds for time, cap 10:00"),
            (
                "Tide: AMRAP 4 min, 4 times, rest 1:30 between, in teams of 2",
                "As many rounds as possible in 4:00 · 4 times, 1:30 rest between · in teams of 2",
            ),
        ] {
            let block = block(heading);
            let piece = block.kind.piece().expect("a piece");
            assert_eq!(piece_words(piece), words, "{heading}");
        }
    }

    #[test]
    fn a_tally_in_two_parts() {
        let metres = Scoring::Amount { unit: Unit::Metres, step: 120 };
        for (tally, scoring, expected) in [
            (None, None, ("", "")),
            (Some(rounds(5, 12)), None, ("5", "+ 12")),
            (Some(rounds(5, 0)), None, ("5", "")),
            (Some(Tally::Finished { time: Span::from_millis(425_900) }), None, ("7:05", "")),
            (Some(Tally::AtCap { reps: 87 }), None, ("87", "reps")),
            (Some(Tally::Load { grams: 62_500 }), None, ("62.5", "kg")),
            (Some(Tally::Count { amount: 885 }), Some(metres), ("885", "m")),
            (Some(Tally::Count { amount: 885 }), None, ("885", "reps")),
            (Some(Tally::Made { made: 7, of: 10 }), None, ("7", "of 10")),
            (Some(Tally::Done), None, ("done", "")),
        ] {
            let (main, rest) = tally_words(tally, scoring);
            assert_eq!((&*main, &*rest), expected);
        }
    }

    #[test]
    fn movements_as_they_stand_now() {
        let sheet = "# Test\n\n## Tide: AMRAP 4 min\n\n\
                     - 8 per side lunge 2 × 15 kg, tempo 3-1-1-0\n  - low impact: 12 step-up 20 cm\n\
                     - 120 m run\n- 1:30 plank\n";
        let mut state = state(sheet, clock(Phase::Gathering));
        let told = |state: &State| -> Vec<String> {
            let words = movements_now(state, BlockIndex(0)).into_iter();
            words.map(|it| joined(&[&it.amount, &it.name, it.sides, &it.detail])).collect()
        };
        assert_eq!(
            told(&state),
            ["8 · lunge · per side · 2 × 15 kg · tempo 3-1-1-0", "120 m · run", "1:30 · plank"]
        );
        let [block, movement, option] = [0; 3];
        state.now.swaps.push(Chosen {
            block: BlockIndex(block),
            movement: MovementIndex(movement),
            option: OptionIndex(option),
        });
        assert_eq!(told(&state)[0], "12 · step-up 20 cm");
    }
}
