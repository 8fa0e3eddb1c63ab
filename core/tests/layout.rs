//! Segments of the class clock, from sheets as a coach writes them (rules 1.1, 1.2 and 1.9).

use floorbell_core::session::AfterBell;
use floorbell_core::session::layout::{Segment, SegmentKind, segments, total};
use floorbell_core::sheet::{read, render};
use floorbell_core::time::Span;

fn laid_out(blocks: &str) -> Vec<Segment> {
    let text = format!("# Title\n\n{blocks}");
    let reading = read(&text);
    let session = reading.session.unwrap_or_else(|| panic!("{}", render(&reading.problems, &text)));
    segments(&session)
}

/// One line for each segment: block, kind, length or what is planned, what follows the bell, the
/// lead-in that a rest holds, the window and the movement.
fn lines(blocks: &str) -> Vec<String> {
    let line = |s: Segment| {
        let kind = match s.kind {
            SegmentKind::Open => "open",
            SegmentKind::LeadIn => "lead-in",
            SegmentKind::Work => "work",
            SegmentKind::Rest => "rest",
        };
        let length = match s.length {
            Some(length) if length == s.planned => length.to_string(),
            Some(length) => format!("{length} of {}", s.planned),
            None => format!("about {}", s.planned),
        };
        let after = if s.after == AfterBell::Next { "next" } else { "wait" };
        let mut parts = vec![format!("{} {kind} {length} {after}", s.block)];
        if s.lead_in > Span::ZERO {
            parts.push(format!("lead-in {}", s.lead_in));
        }
        parts.extend(s.window.map(|window| format!("{} of {}", window.number, window.of)));
        parts.extend(s.movement.map(|movement| format!("movement {movement}")));
        parts.join(", ")
    };
    laid_out(blocks).into_iter().map(line).collect()
}

#[test]
fn windows_with_rests_between_last_what_the_rule_says() {
    for (heading, expected) in [
        ("AMRAP 4 min, 4 times, rest 1:30 between", "20:30"),
        ("AMRAP 6 min, 3 times, rest 1:30 between", "21:00"),
        ("8 × (20 s work, 10 s rest)", "3:50"),
        ("every 2 min for 10 min", "10:00"),
    ] {
        let all = laid_out(&format!("## {heading}\n\n- 10 push-up\n"));
        assert_eq!(all[0].kind, SegmentKind::LeadIn);
        assert_eq!(total(&all[1..]).to_string(), expected, "{heading}");
        assert_eq!(all.last().unwrap().kind, SegmentKind::Work, "no rest after the last");
    }
}

#[test]
fn rests_inside_a_piece_hold_the_lead_in() {
    assert_eq!(
        lines("## AMRAP 4 min, 3 times, rest 1:30 between\n\n- 10 push-up\n"),
        [
            "0 lead-in 0:10 next",
            "0 work 4:00 next, 1 of 3",
            "0 rest 1:30 next, lead-in 0:10, 1 of 3",
            "0 work 4:00 next, 2 of 3",
            "0 rest 1:30 next, lead-in 0:10, 2 of 3",
            "0 work 4:00 wait, 3 of 3",
        ]
    );
    assert_eq!(
        lines("## 2 × (20 s work, 5 s rest), lead-in 8 s\n\n- 10 push-up\n"),
        [
            "0 lead-in 0:08 next",
            "0 work 0:20 next, 1 of 2",
            "0 rest 0:05 next, lead-in 0:05, 1 of 2",
            "0 work 0:20 wait, 2 of 2",
        ]
    );
}

#[test]
fn a_repeat_of_intervals_has_its_own_rest_where_the_sheet_gives_one() {
    let sheet = "## 2 × (20 s work, 10 s rest)\n\nRepeat: 2 times, rest 1:00 between\n\n- 9 sit-up";
    let rests = |text: &str| {
        let kinds = laid_out(text).into_iter().filter(|s| s.kind == SegmentKind::Rest);
        kinds.map(|s| s.planned.to_string()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(rests(sheet), "0:10 1:00 0:10");
    assert_eq!(rests(&sheet.replace(", rest 1:00 between", "")), "0:10 0:10 0:10");
}

#[test]
fn a_rest_flows_into_a_piece_unless_it_waits() {
    let piece = "## AMRAP 9 min\n\n- 10 push-up\n\n";
    assert_eq!(
        lines(&format!("{piece}## Rest 2 min\n\n{piece}## Rest 1 min, then wait\n\n{piece}")),
        [
            "0 lead-in 0:10 next",
            "0 work 9:00 next",
            "1 rest 2:00 next, lead-in 0:10",
            "2 work 9:00 next",
            "3 rest 1:00 wait",
            "4 lead-in 0:10 next",
            "4 work 9:00 wait",
        ]
    );
}

#[test]
fn unscored_blocks_run_whole_unless_coach_led() {
    let steps = "- plank 20 s per side\n- 6 per side row, tempo 4-0-1-0\n";
    assert_eq!(
        lines("## Talk, 3 min\n\n## Talk\n"),
        ["0 open 3:00 wait", "1 open about 3:00 wait"]
    );
    assert_eq!(lines(&format!("## Drill\n\n{steps}")), ["0 open about 1:50 wait"]);
    assert_eq!(lines("## Warm-up, 2 rounds\n\n- plank 20 s per side"), ["0 open about 1:35 wait"]);
    assert_eq!(
        lines(&format!("## Drill, coach-led, 2 rounds\n\n{steps}")),
        [
            "0 open 0:45 of 0:50 wait, 1 of 2, movement 0",
            "0 open about 1:05 wait, 1 of 2, movement 1",
            "0 open 0:45 of 0:50 wait, 2 of 2, movement 0",
            "0 open about 1:00 wait, 2 of 2, movement 1",
        ]
    );
}

#[test]
fn a_coach_led_block_is_planned_as_long_as_the_sheet_says() {
    let all =
        laid_out("## Drill, 8 min, coach-led, 3 rounds\n\n- 5 squat\n- 7 press\n- row 100 m\n");
    assert_eq!(all.len(), 9);
    assert_eq!(total(&all), Span::from_mins(8));
}

#[test]
fn what_the_coach_took_out_is_not_in_the_total() {
    let mut all = laid_out("## Talk, 3 min\n\n## Cool-down, 5 min\n");
    all[0].dropped = true;
    assert_eq!(total(&all), Span::from_mins(5));
}

#[test]
fn calls_of_time_to_go_are_left_out_where_they_would_only_talk_over_work() {
    let announced = |blocks: &str| -> Vec<bool> {
        laid_out(blocks).into_iter().map(|segment| segment.announce).collect()
    };
    let piece = "## AMRAP 4 min, 2 times, rest 1 min between\n\n- 10 push-up\n";
    assert_eq!(announced(piece), [false, true, false, true]);
    assert_eq!(announced(&piece.replace("\n\n-", "\n\nAnnounce: no\n\n-")), [false; 4]);
}
