//! The sheets that come with floorbell are read without a problem, and between them show every
//! format.

use std::collections::BTreeSet;
use std::path::Path;

use floorbell_core::session::Session;
use floorbell_core::sheet::{read, render};

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
