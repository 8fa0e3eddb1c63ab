//! Every code that the server can send stands on the protocol's page. The codes are read from the
//! server's sources, so that a new one cannot be forgotten.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

const PAGE: &str = include_str!("../../docs/protocol.md");

/// All of the server's sources, as one text.
fn sources(folder: &Path) -> String {
    let entries = fs::read_dir(folder).expect("the server's sources are there");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    let read = |path: &Path| match path.extension() {
        _ if path.is_dir() => sources(path),
        Some(kind) if kind == "rs" => fs::read_to_string(path).expect("a source"),
        _ => String::new(),
    };
    paths.iter().map(|path| read(path)).collect()
}

/// What follows each `start` up to `end`, space around it left out.
fn after<'t>(text: &'t str, start: &str, end: char) -> BTreeSet<&'t str> {
    let rest = text.split(start).skip(1);
    rest.filter_map(|rest| rest.trim_start().split(end).next()).map(str::trim).collect()
}

#[test]
fn every_code_stands_on_the_page() {
    let sources = sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/src"));
    let mut refusals = BTreeSet::new();
    for start in ["No::new(", ".error("] {
        let first_arguments = after(&sources, start, ',');
        refusals.extend(
            first_arguments
                .into_iter()
                .filter_map(|argument| argument.strip_prefix('"')?.strip_suffix('"')),
        );
    }
    assert!(refusals.len() > 8, "the codes were not found: {refusals:?}");
    for code in refusals {
        assert!(PAGE.contains(&format!("`{code}`")), "the page lacks {code}");
    }
    let closes: BTreeSet<u16> =
        after(&sources, "code: ", ',').into_iter().filter_map(|code| code.parse().ok()).collect();
    assert!(closes.len() > 5, "the close codes were not found: {closes:?}");
    for code in closes {
        assert!(PAGE.contains(&format!("| {code} |")), "the page lacks the close code {code}");
    }
}
