//! The sheets that come with floorbell, and the examples of the page on the notation, are read
//! without an error; between them the sheets show all of the notation.

use std::collections::BTreeSet;
use std::path::Path;

use floorbell_core::session::fit::{TimeFit, time_fit};
use floorbell_core::session::layout::{segments, total};
use floorbell_core::session::{Format, Reason, Session, Sides, Unit};
use floorbell_core::sheet::{Severity, read, render};
use floorbell_core::time::Span;
use pulldown_cmark::{CodeBlockKind, Event, Parser, Tag, TagEnd};

#[expect(clippy::disallowed_methods, reason = "a test may look at the files it is about")]
fn demo_sessions() -> Vec<(String, Session)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-sessions");
    let files = folder.read_dir().expect("demo-sessions is there");
    let paths = files.map(|file| file.expect("a file of the folder").path());
    let sheets = paths.filter(|path| path.extension().is_some_and(|end| end == "md"));
    sheets
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("a sheet is text");
            let reading = read(&text);
            let name = path.display().to_string();
            assert_eq!(reading.problems, [], "{name}:\n{}", render(&reading.problems, &text));
            (name, reading.session.expect("without an error there is a session"))
        })
        .collect()
}

#[test]
fn the_demo_sessions_show_every_format() {
    let sessions = demo_sessions();
    assert!(sessions.len() >= 5, "five sheets or more");
    let pieces = sessions.iter().flat_map(|(_, session)| &session.blocks);
    let formats: BTreeSet<String> = pieces
        .filter_map(|block| block.kind.piece())
        .map(|piece| {
            let format = serde_json::to_value(&piece.format).expect("a format is data");
            format["format"].as_str().expect("a format has its name").to_owned()
        })
        .collect();
    let expected =
        ["amrap", "every-n", "for-time", "intervals", "max-count", "max-load", "quality"];
    assert_eq!(formats, expected.map(str::to_owned).into());
}

#[test]
fn the_demo_sessions_show_the_ways_to_write_a_movement() {
    let sessions = demo_sessions();
    let blocks: Vec<_> = sessions.iter().flat_map(|(_, session)| &session.blocks).collect();
    let windows = blocks.iter().filter_map(|block| block.kind.piece()).map(|piece| piece.repeats);
    assert!(windows.max() >= Some(2), "a piece of several windows");
    let formats = blocks.iter().filter_map(|block| block.kind.piece()).map(|piece| &piece.format);
    let ladder = |format: &&Format| matches!(format, Format::Amrap { ladder: Some(_), .. });
    assert!(formats.clone().any(|format| ladder(&format)), "a ladder");
    let scheme = |f: &Format| matches!(f, Format::ForTime { scheme, .. } if !scheme.is_empty());
    assert!(formats.clone().any(scheme), "reps that change from round to round");

    let movements: Vec<_> = blocks.iter().flat_map(|block| &block.movements).collect();
    for unit in [Unit::Reps, Unit::Metres, Unit::Calories, Unit::Seconds] {
        let mut units = movements.iter().filter_map(|movement| movement.amount).map(|a| a.unit);
        assert!(units.any(|found| found == unit), "{unit:?}");
    }
    for sides in [Sides::PerSide, Sides::Alternating] {
        assert!(movements.iter().any(|movement| movement.sides == sides), "{sides:?}");
    }
    assert!(movements.iter().any(|movement| movement.tempo.is_some()), "a tempo");
    assert!(movements.iter().any(|movement| movement.height.is_some()), "a height");
    let loads: Vec<_> = movements.iter().filter_map(|movement| movement.load.as_ref()).collect();
    assert!(loads.iter().any(|load| load.by_feel), "a load by feel");
    assert!(loads.iter().any(|load| load.pieces == 2), "a pair");
    assert!(loads.iter().any(|load| load.grams.len() == 2), "two weights to choose from");

    let options = movements.iter().flat_map(|movement| &movement.options);
    let reasons: BTreeSet<Reason> = options.flat_map(|option| option.reasons.clone()).collect();
    assert_eq!(reasons.len(), 7, "every reason: {reasons:?}");
}

#[test]
fn the_demo_sessions_fit_and_say_what_to_be_careful_about() {
    for (name, session) in demo_sessions() {
        let fit = time_fit(&session, &segments(&session));
        assert!(matches!(fit, TimeFit::Fits { .. }), "{name}: {fit:?}");
        let notes = session.notes.join(" ").to_lowercase();
        for word in ["stop", "coach", "water"] {
            assert!(notes.contains(word), "{name} does not speak of {word}");
        }
        if name.ends_with("harbour-short.md") {
            assert!(total(&segments(&session)) < Span::from_secs(150), "a class to watch whole");
        }
    }
}

/// The fenced examples of the page, with the word after the fence.
fn examples() -> Vec<(String, String)> {
    let page = include_str!("../../docs/session-sheet.md");
    let mut examples: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for event in Parser::new(page) {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(kind))) => {
                examples.push((kind.to_string(), String::new()));
                inside = true;
            }
            Event::End(TagEnd::CodeBlock) => inside = false,
            Event::Text(text) if inside => {
                examples.last_mut().expect("a fence before its text").1.push_str(&text);
            }
            _ => {}
        }
    }
    examples
}

/// Reads part of a sheet, which may have warnings.
fn expect_read(text: &str) -> Session {
    let reading = read(text);
    reading.session.unwrap_or_else(|| panic!("{text}\n{}", render(&reading.problems, text)))
}

#[test]
fn every_example_of_the_page_works_as_it_stands() {
    let mut kinds = BTreeSet::new();
    let mut wrong = None;
    for (kind, text) in examples() {
        match kind.as_str() {
            "sheet" => assert_eq!(read(&text).problems, []),
            "block" => {
                expect_read(&format!("# Title\n\n{text}"));
            }
            "headings" => text.lines().for_each(|line| {
                let reading = read(&format!("# Title\n\n## {line}\n\n- 10 squat\n"));
                let errors = reading.problems.iter().filter(|p| p.severity == Severity::Error);
                assert_eq!(errors.count(), 0, "{line}: {:?}", reading.problems);
            }),
            "movements" => {
                let session = expect_read(&format!("# Title\n\n## Warm-up\n\n{text}"));
                assert_eq!(session.blocks[0].movements.len(), text.lines().count());
            }
            "options" => {
                let nested = text.replace("- ", "  - ");
                expect_read(&format!("# Title\n\n## AMRAP 9\n\n- 11 goblet squat 16 kg\n{nested}"));
            }
            "wrong" => wrong = Some(text),
            "says" => {
                let sheet = wrong.take().expect("a wrong sheet before what is said about it");
                let problems = read(&sheet).problems;
                let errors = problems.into_iter().filter(|p| p.severity == Severity::Error);
                let errors: Vec<_> = errors.collect();
                assert_eq!(render(&errors, &sheet).trim_end(), text.trim_end());
            }
            other => panic!("no test reads examples of kind {other:?}"),
        }
        kinds.insert(kind);
    }
    let all = ["block", "headings", "movements", "options", "says", "sheet", "wrong"];
    assert_eq!(kinds, all.map(str::to_owned).into());
}
