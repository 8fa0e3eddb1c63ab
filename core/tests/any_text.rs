//! Any text at all is answered, and the answer holds together.

use floorbell_core::session::layout::{segments, total};
use floorbell_core::session::report::report;
use floorbell_core::sheet::{PROBLEMS_MAX, Severity, read, render};
use floorbell_core::time::Span;
use proptest::prelude::*;

/// Pieces of sheets, whole and broken, that random text would seldom hit upon.
const PIECES: &[&str] = &[
    "# Title\n",
    "## ",
    "- ",
    "  - ",
    "\n",
    "\n\n",
    "    ",
    "\t",
    "1. ",
    "> ",
    "```\n",
    "*",
    "**",
    "\\",
    "&lt;",
    "<b>",
    "[a](b)",
    "AMRAP ",
    "EMOM ",
    "for time",
    "every ",
    "8 × (",
    "20 s work",
    "10 s rest",
    ")",
    "rest ",
    "between",
    "ladder ",
    "4-8-12-…",
    "20-16-12",
    "3 rounds",
    "4 times",
    "cap ",
    "9 min",
    "1:30",
    "0:00",
    "99999999999",
    "0",
    "1.5",
    ".",
    ",",
    ";",
    ":",
    "/",
    "@",
    "x",
    "tempo ",
    "4-0-1-0",
    "-",
    "per side",
    "alternating ",
    "by feel (",
    "16 kg",
    "44 lb",
    "50 cm",
    "200 m",
    "12 cal",
    "goblet squat",
    "hold",
    "standard: ",
    "easier (",
    "no running",
    "lighter: ",
    "Aim: ",
    "Slot: ",
    "People: ",
    "Announce: ",
    "Lead-in: ",
    "Repeat: ",
    "Score: ",
    "Then: wait",
    "warm-up",
    "drill",
    "coach-led",
    "talk",
    "in teams of ",
    "max metres in ",
    "é",
    "שלום",
    "\r\n",
    "\u{202e}",
    "\u{0}",
    "build to a heavy set of ",
    "İ",
    "½",
    "٣",
];

fn check(text: &str) {
    let reading = read(text);
    let errors = reading.problems.iter().any(|problem| problem.severity == Severity::Error);
    assert_eq!(reading.session.is_none(), errors, "a session, or at least one error");
    assert!(reading.problems.len() <= PROBLEMS_MAX);
    for problem in &reading.problems {
        let place = problem.start as usize..problem.end as usize;
        assert_eq!(text.get(place), Some(&*problem.words));
        let before = &text[..problem.start as usize];
        assert_eq!(before.matches('\n').count() + 1, problem.line as usize);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        assert_eq!(before[line_start..].chars().count() + 1, problem.column as usize);
    }
    let shown = render(&reading.problems, text);
    assert!(!shown.chars().any(|c| c.is_control() && c != '\n' && c != '\t'), "{shown:?}");
    if let Some(session) = reading.session {
        let segments = segments(&session);
        assert!(segments.iter().all(|segment| segment.planned > Span::ZERO));
        assert!(report(&session).contains(&total(&segments).to_string()));
    }
}

proptest! {
    #[test]
    fn any_characters(text in any::<String>()) {
        check(&text);
    }

    #[test]
    fn anything_made_of_pieces(pieces in prop::collection::vec(prop::sample::select(PIECES), 0..60)) {
        check(&pieces.concat());
    }

    #[test]
    fn a_block_made_of_pieces(
        heading in prop::collection::vec(prop::sample::select(PIECES), 0..8),
        below in prop::collection::vec(prop::sample::select(PIECES), 0..30),
    ) {
        check(&format!("# Title\n\n## {}\n\n- 10 {}", heading.join(" "), below.join(" ")));
    }
}
