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

/// Each problem as `line:column words: message`.
fn problems_of(text: &str) -> Vec<String> {
    let one = |p: Problem| {
        let mark = if p.severity == Severity::Warning { "? " } else { "" };
        format!("{mark}{}:{} {}: {}", p.line, p.column, p.words, p.message)
    };
    read(text).problems.into_iter().map(one).collect()
}

fn check_problem(block: &str, expected: &str) {
    let text = format!("# Title\n\n{block}");
    let found = problems_of(&text);
    assert!(found.iter().any(|one| one == expected), "{block}\nexpected {expected}\nin {found:#?}");
}

#[test]
fn a_heading_that_is_not_understood_says_what_works() {
    let kind = "a heading says what its block is: talk, set-up, warm-up, drill, rest, cool-down, \
                or the format of a piece";
    for (block, expected) in [
        ("## Tide", &*format!("3:4 Tide: {kind}")),
        ("## Tide: AMRP 9 min", &format!("3:4 Tide: AMRP 9 min: {kind}; was `amrap` meant?")),
        ("## Tide: AMRAP 9 minn", "3:16 9 minn: this was not understood"),
        ("## Tide: AMRAP 9 min tims 4", "3:22 tims 4: this was not understood; was `times` meant?"),
        ("## Tide: AMRAP", "3:4 Tide: AMRAP: how long it lasts is missing here"),
        ("## Rest", "3:4 Rest: the length of the rest is missing here"),
        (
            "## 3 rounds for time",
            "3:4 3 rounds for time: the time at which everybody stops is missing here",
        ),
        (
            "## every 4 min for 10 min",
            "3:4 every 4 min for 10 min: 10:00 is no whole number of 4:00",
        ),
        ("## EMOM 500", "3:9 500: expected 1 s to 4 hours"),
        (
            "## 8 × 20 s work",
            "3:4 8 × 20 s work: the rest after each stretch of work is missing here",
        ),
        ("## AMRAP 9 min, 4-8-9-…", "3:17 4-8-9-…: a ladder grows by the same number each round"),
        ("## AMRAP 10 h", "3:10 10 h: expected 1 s to 4 hours"),
        ("## AMRAP 0 min", "3:10 0 min: expected 1 s to 4 hours"),
        ("## AMRAP 9 min, 900 times", "3:17 900 times: expected 1 to 120"),
        ("## AMRAP 9 min, in teams of 1", "3:17 in teams of 1: expected 2 to 60 people"),
        (
            "## AMRAP 9 min, cap 5 min",
            "3:17 cap 5 min: this has no place in this format, or is said twice",
        ),
        (
            "## Talk, 3 min, lead-in 5 s",
            "3:17 lead-in 5 s: this has no place in a block without a score, or is said twice",
        ),
        (
            "## AMRAP 9 min\n\nLead-in: 5 elephants",
            "5:1 Lead-in: 5 elephants: this was not understood",
        ),
        ("## AMRAP 9 min\n\nAnnounce: sometimes", "5:10  sometimes: expected yes or no"),
        (
            "## AMRAP 9 min\n\nAims: none",
            "? 5:1 Aims: `aims:` is taken as a note; was `aim:` meant?",
        ),
        ("## AMRAP 9 min", "3:4 AMRAP 9 min: a piece has movements; list them under its heading"),
        ("## AMRAP 9 min", "? 3:4 AMRAP 9 min: this piece does not say how it should feel"),
    ] {
        check_problem(block, expected);
    }
}

#[test]
fn a_movement_that_is_not_understood_says_what_works() {
    let wrong_amount = "expected a whole number from 1 to 50000";
    for (line, expected) in [
        ("12/9 cal row", "5:3 12/9: one amount stands here; write the other as an option"),
        ("8-10 push-up", "5:3 8-10: one amount stands here, not a span of them"),
        ("0 push-up", &*format!("5:3 0: {wrong_amount}")),
        ("2.5 push-up", &format!("5:3 2.5: {wrong_amount}")),
        ("10 h burpee", "5:3 10 h: a movement by time lasts up to an hour"),
        (
            "12 press 9000 kg",
            "5:12 9000 kg: expected weights up to 1000 kg, and up to 10 of them at once",
        ),
        (
            "6 squat tempo 4-0",
            "5:11 tempo: a tempo is four numbers of seconds: down, still at the bottom, up, still at the top",
        ),
        ("10 kg", "5:3 10 kg: a movement has a name; here is none"),
        ("20 s hold", "5:3 20 s hold: say which position is held (to hold is what the clock does)"),
        (
            "10 press 8 kg 9 kg",
            "5:17 9 kg: this line says the same kind of thing twice; the first is further left",
        ),
        ("10 press 16", "? 5:12 16: `16` has no unit, so it is taken as part of the name"),
        (
            "10 press\n  - softer: 8 press",
            "6:5 softer: expected standard, cue, easier, sideways, harder or a reason; `softer` is none",
        ),
        ("10 press\n  - 8 press", "? 6:5 8 press: this option does not say which reason it serves"),
        ("10 press\n  - harder:", "6:5 harder:: nothing stands here after the colon"),
        (
            "10 press\n  - harder: 12 press\n    - lower",
            "7:5 - lower: lists are read two deep: movements, and what belongs to one",
        ),
        ("10 press", "? 5:3 10 press: `press` has no option for those who need another way"),
        ("9 goblet squat", "? 5:3 9 goblet squat: `goblet squat` says no load"),
        ("press\n- 10 squat", "? 5:3 press: how much of `press` one round has is not said"),
    ] {
        check_problem(&format!("## AMRAP 9 min\n\n- {line}"), expected);
    }
}

#[test]
fn what_stands_around_the_blocks_is_checked_too() {
    for (text, expected) in [
        ("", "1:1 : a sheet begins with its title"),
        ("# Title", "1:1 : a sheet has blocks, each with a heading of two number signs"),
        ("# Title\n\n# Talk", "3:3 Talk: a sheet has one title; blocks have two number signs"),
        ("# T\nSlot: an hour\n\n## Talk", "2:6  an hour: expected a length of time"),
        ("# T\nSlot: 9 h\n\n## Talk", "2:6  9 h: expected a length of time"),
        ("# T\nPeople: 0\n\n## Talk", "2:8  0: expected a number of people from 1 to 500"),
        (
            "# T\n\n## Talk\u{202e}",
            "3:8 \u{202e}: an invisible character (U+202E) stands here; take it out",
        ),
    ] {
        let found = problems_of(text);
        assert!(
            found.iter().any(|one| one == expected),
            "{text:?}: expected {expected}\nin {found:#?}"
        );
    }
}

#[test]
fn several_problems_are_found_in_one_reading_in_their_order() {
    let found = problems_of("# T\n\n## Tide\n\n- 10 kg\n\n## Rest\n\n## AMRAP 9\n\n- 8-10 row\n");
    let places: Vec<_> = found.iter().filter_map(|one| one.split_once(' ')).map(|p| p.0).collect();
    assert_eq!(places, ["3:4", "5:3", "7:4", "?", "11:3", "?"]);
    assert!(read("# T\n\n## Rest\n").session.is_none());
}

#[test]
fn a_sheet_from_anywhere_is_read() {
    let sheet = "\u{feff}# Title\r\n\r\nSlot: 60 min\r\nBring water.\r\n\r\n## Talk\r\n\r\n-\t10\tsquat\r\n";
    let session = session_of(sheet);
    assert_eq!(session.title, "Title");
    assert_eq!(session.notes, ["Bring water."]);
    assert_eq!(session.blocks[0].movements[0].name, "squat");
    let bold =
        session_of("# T\n\n**Slot:** 60 min\n\n## Talk\n\nSee <b>me</b> & *stop* &lt;here&gt;\n");
    assert_eq!(bold.slot, Some(Span::from_mins(60)));
    assert_eq!(bold.blocks[0].notes, ["See <b>me</b> & stop <here>"]);
}

#[test]
fn bounds_are_said_before_anything_grows() {
    let long = format!("# T\n\n## Talk\n\n{}", "x".repeat(BYTES_MAX));
    assert_eq!(problems_of(&long), ["1:1 : a sheet has up to 256 kB"]);
    let deep = format!("# T\n\n## Talk\n\n{}x\n", "- ".repeat(100_000));
    assert!(problems_of(&deep).iter().any(|one| one.contains("lists are read two deep")));
    let many = format!("# T\n\n## Talk\n\n{}", "- 10 squat\n".repeat(10_000));
    assert_eq!(problems_of(&many), ["3:4 Talk: 10000 movements; a block has up to 50"]);
    let endless = format!("# T\n\n## Talk\n\n- 10 {}", "1/".repeat(100_000));
    let [name, ..] = &problems_of(&endless)[..] else { panic!("a name without end is refused") };
    assert!(name.ends_with("up to 200 characters stand in one line here") && name.len() < 300);
    let segments = "# T\n\n## EMOM 120\n\nRepeat: 6 times\n\n- 10 squat\n";
    assert!(problems_of(segments)[0].contains("721 segments come of this"));
}
