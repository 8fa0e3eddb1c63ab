//! What each way of writing comes to. One check per area; the tables grow with the notation.

use super::*;
use crate::session::{Block, BlockKind, Format, Movement, MovementOption};
use crate::time::Span;

/// The session of a sheet that must have no error.
fn session_of(text: &str) -> Session {
    let reading = read(text);
    reading.session.unwrap_or_else(|| panic!("{}", render(&reading.problems, text)))
}

fn block_of(heading: &str, below: &str) -> Block {
    session_of(&format!("# Title\n\n## {heading}\n\n{below}\n")).blocks.remove(0)
}

/// A piece in the words of its debug form, short enough for a table.
fn format_of(heading: &str) -> String {
    let block = block_of(heading, "- 10 push-up");
    let BlockKind::Piece(piece) = block.kind else { panic!("{heading} is no piece") };
    let span = |span: Span| span.to_string();
    let format = match piece.format {
        Format::Amrap { window, ladder } => format!(
            "amrap {}{}",
            span(window),
            ladder.map(|l| format!(" ladder {}+{}", l.start, l.step)).unwrap_or_default()
        ),
        Format::ForTime { rounds, scheme, cap } => {
            format!("for-time {rounds} {scheme:?} cap {}", span(cap))
        }
        Format::EveryN { every, rounds, score } => {
            format!("every {} x{rounds} {score:?}", span(every))
        }
        Format::Intervals { work, rest, rounds, score } => {
            format!("intervals {}/{} x{rounds} {score:?}", span(work), span(rest))
        }
        Format::MaxLoad { window, reps } => format!("max-load {reps} in {}", span(window)),
        Format::MaxCount { window, unit } => format!("max {unit:?} in {}", span(window)),
        Format::Quality { window, rounds } => format!("quality {} {rounds:?}", span(window)),
    };
    match piece.repeats {
        1 => format,
        repeats => format!("{format}, {repeats} times, rest {}", piece.repeat_rest),
    }
}

#[test]
fn every_format_in_the_ways_it_is_written() {
    for (heading, expected) in [
        ("as many rounds as possible in 9 min", "amrap 9:00"),
        ("AMRAP 9", "amrap 9:00"),
        ("Quay run: 9 min AMRAP", "amrap 9:00"),
        ("First tide AMRAP 9 min", "amrap 9:00"),
        ("Four tides: AMRAP 4 min, 4 times, rest 1:30 between", "amrap 4:00, 4 times, rest 1:30"),
        ("4 × AMRAP 4 min, rest 1:30 between", "amrap 4:00, 4 times, rest 1:30"),
        ("AMRAP 7 min, ladder 4-8-12-…", "amrap 7:00 ladder 4+4"),
        ("AMRAP 7 min, 3-5-7-...", "amrap 7:00 ladder 3+2"),
        ("3 rounds for time, cap 12 min", "for-time 3 [] cap 12:00"),
        ("20-16-12 for time, cap 12 min", "for-time 3 [20, 16, 12] cap 12:00"),
        ("For time, 10 min cap", "for-time 1 [] cap 10:00"),
        ("every 2 min for 10 min", "every 2:00 x5 RoundsMade"),
        ("EMOM 10", "every 1:00 x10 RoundsMade"),
        ("every minute on the minute for 12 min", "every 1:00 x12 RoundsMade"),
        ("every 1:30, 6 times", "every 1:30 x6 RoundsMade"),
        ("8 × (20 s work, 10 s rest)", "intervals 0:20/0:10 x8 Total"),
        ("8x20s on, 10s off", "intervals 0:20/0:10 x8 Total"),
        ("build to a heavy set of 3 in 15 min", "max-load 3 in 15:00"),
        ("build to a heavy single in 12 min", "max-load 1 in 12:00"),
        ("max metres in 4 min", "max Metres in 4:00"),
        ("Slack water: most calories in 90 s", "max Calories in 1:30"),
        ("quality for 10 min", "quality 10:00 None"),
        ("3 rounds for quality in 10 min", "quality 10:00 Some(3)"),
    ] {
        assert_eq!(format_of(heading), expected, "{heading}");
    }
}

fn movement_of(line: &str) -> Movement {
    block_of("Warm-up", &format!("- {line}")).movements.remove(0)
}

/// The parts of a movement that were found, in one line.
fn words_of(m: &Movement) -> String {
    let amount = m.amount.map(|a| format!("{} {:?} {:?}", a.count, a.unit, m.sides));
    let load = m.load.as_ref().map(|l| format!("{} = {} × {:?}", l.text, l.pieces, l.grams));
    let tempo = m.tempo.map(|tempo| format!("{:?}", tempo.0));
    let parts = [Some(m.name.clone()), amount, load, m.height.clone(), tempo];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" | ")
}

#[test]
fn movements_in_the_ways_they_are_written() {
    for (line, expected) in [
        ("11 goblet squat 16 kg", "goblet squat | 11 Reps Both | 16 kg = 1 × [16000]"),
        ("7 swing, 24/16 kg", "swing | 7 Reps Both | 24/16 kg = 1 × [24000, 16000]"),
        ("9 press 2 × 15 kg", "press | 9 Reps Both | 2 × 15 kg = 2 × [15000]"),
        (
            "2 × 24 kg suitcase walk 40 m",
            "suitcase walk | 40 Metres Both | 2 × 24 kg = 2 × [24000]",
        ),
        ("5 press @ 44 lb", "press | 5 Reps Both | 44 lb = 1 × [19958]"),
        ("5 clean by feel", "clean | 5 Reps Both | by feel = 1 × []"),
        ("200 m row", "row | 200 Metres Both"),
        ("row 1.5 km", "row | 1500 Metres Both"),
        ("12 cal ski machine", "ski machine | 12 Calories Both"),
        ("plank 20 s", "plank | 20 Seconds Both"),
        ("1:30 easy row", "easy row | 90 Seconds Both"),
        (
            "6 per side one-arm row 16 kg, tempo 4-0-1-0",
            "one-arm row | 6 Reps PerSide | 16 kg = 1 × [16000] | [4, 0, 1, 0]",
        ),
        ("12 alternating lunge", "lunge | 12 Reps Alternating"),
        ("8 box step-over, 50 cm", "box step-over | 8 Reps Both | 50 cm"),
        ("10 × push-up (hands raised)", "push-up (hands raised) | 10 Reps Both"),
        ("easy skipping", "easy skipping"),
        ("8 \\*star\\* jump", "*star* jump | 8 Reps Both"),
    ] {
        assert_eq!(words_of(&movement_of(line)), expected, "{line}");
    }
}

/// The options under a movement, one line each.
fn options_of(lines: &str) -> Vec<String> {
    let block = block_of("Tide: AMRAP 9", &format!("- 10 run-up 16 kg\n{lines}"));
    let one = |o: &MovementOption| {
        let serves = format!("{:?} {:?}: {}", o.side, o.reasons, o.name);
        let amount = o.amount.map(|a| format!("{} {:?} {:?}", a.count, a.unit, o.sides));
        let load = o.load.as_ref().map(|load| load.text.clone());
        let parts = [Some(serves), amount, load, o.counts_as.clone()];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" | ")
    };
    block.movements[0].options.iter().map(one).collect()
}

#[test]
fn options_in_the_ways_they_are_written() {
    let options = options_of(
        "  - easier (mechanics, gear): 8 step-up 30 cm
  - no running, low impact: 12 cal row; a trip is 12 calories
  - harder: 24 kg
  - lighter: 8 kg
  - at home, sideways: 5 per side split squat
",
    );
    assert_eq!(
        options,
        [
            "Easier [Mechanics, Gear]: step-up 30 cm | 8 Reps Both",
            "Sideways [NoRunning, LowImpact]: row | 12 Calories Both | a trip is 12 calories",
            "Harder []: run-up | 24 kg",
            "Easier [Lighter]: run-up | 8 kg",
            "Sideways [AtHome]: split squat | 5 Reps PerSide",
        ]
    );
}

#[test]
fn lines_under_title_and_heading_go_where_they_belong() {
    let session = session_of(
        "# Title
Date: 2026-03-12
Slot: 1 h
People: 14
Water within reach.

Second note,
over two lines.

## Tide: AMRAP 9 min
Aim: steady,
five to seven rounds.
Cues: breathe; long arms
Notes for the coach: watch the lane.
Announce: no
Lead-in: 5 s
Standard: stand tall
Doors stay open.

- 10 push-up
  - standard: chest down
- 10 squat
",
    );
    assert_eq!(session.date.as_deref(), Some("2026-03-12"));
    assert_eq!((session.slot, session.people), (Some(Span::from_mins(60)), Some(14)));
    assert_eq!(session.notes, ["Water within reach.", "Second note, over two lines."]);
    let block = &session.blocks[0];
    let aim = block.aim.as_ref().unwrap();
    assert_eq!((&*aim.text, aim.rounds), ("steady, five to seven rounds.", Some((5, 7))));
    assert_eq!(block.cues, ["breathe", "long arms"]);
    assert_eq!(block.coach_notes, ["watch the lane."]);
    assert_eq!(block.kind.piece().unwrap().lead_in, Span::from_secs(5));
    assert!(!block.announce);
    assert_eq!(block.movements[0].standard.as_deref(), Some("chest down"));
    assert_eq!(block.movements[1].standard.as_deref(), Some("stand tall Doors stay open."));
}
