//! Holds `docs/protocol.md` and the wire types together, both ways: every example on the page is
//! what the types say, and every word and field of the types stands on the page.

use std::collections::BTreeSet;

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Counts};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::score::Tally;
use floorbell_core::session::{BlockKind, Format};
use floorbell_core::wire::{FromDevice, MESSAGE_BYTES_MAX, SUBPROTOCOL, ToDevice};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};

const PAGE: &str = include_str!("../../docs/protocol.md");
/// The types as TypeScript, which `make lint` holds to be those of `core::wire`.
const TYPES: &str = include_str!("../../display-client/web/src/shared/wire.ts");

/// The examples on the page, each with what its fence says that it is.
fn examples() -> Vec<(&'static str, Value)> {
    let mut blocks = PAGE.split("```json ").skip(1);
    let example = |block: &'static str| {
        let (kind, rest) = block.split_once('\n').expect("a fence ends its line");
        let (text, _) = rest.split_once("\n```").expect("a fence is closed");
        let value = serde_json::from_str(text)
            .unwrap_or_else(|error| panic!("an example is no JSON ({error}):\n{text}"));
        (kind, value)
    };
    let examples: Vec<_> = blocks.by_ref().map(example).collect();
    assert!(examples.len() > 40, "the page has lost its examples");
    examples
}

/// Reads a value as a type and writes it again.
fn round_trip<T: Serialize + DeserializeOwned>(value: &Value) -> Value {
    let read: T = serde_json::from_value(value.clone())
        .unwrap_or_else(|error| panic!("not what the types say ({error}):\n{value:#}"));
    serde_json::to_value(read).unwrap()
}

fn round_trip_as(kind: &str, value: &Value) -> Value {
    let each = |read: fn(&Value) -> Value| {
        Value::from(
            value.as_array().expect("a list of examples").iter().map(read).collect::<Vec<_>>(),
        )
    };
    match kind {
        "device" => round_trip::<FromDevice>(value),
        "house" => round_trip::<ToDevice>(value),
        "phase" => each(round_trip::<Phase>),
        "tally" => each(round_trip::<Tally>),
        "counts" => each(round_trip::<Counts>),
        "calls" => each(round_trip::<Call>),
        "block-kind" => each(round_trip::<BlockKind>),
        "format" => each(round_trip::<Format>),
        other => panic!("a fence of an unknown kind: {other}"),
    }
}

#[test]
fn every_example_is_what_the_types_say() {
    for (kind, value) in examples() {
        assert_eq!(round_trip_as(kind, &value), value, "written again it is another");
    }
}

#[test]
fn unknown_fields_are_ignored() {
    for (kind, value) in
        examples().into_iter().filter(|(kind, _)| ["device", "house"].contains(kind))
    {
        let mut later = value.clone();
        add_everywhere(&mut later);
        assert_ne!(later, value);
        assert_eq!(round_trip_as(kind, &later), value);
    }
}

fn add_everywhere(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            fields.values_mut().for_each(add_everywhere);
            fields.insert("of_a_later_version".into(), json!({ "so": [1, "it", null] }));
        }
        Value::Array(items) => items.iter_mut().for_each(add_everywhere),
        _ => {}
    }
}

/// Text of `wire.ts` without its comments.
fn types() -> String {
    let mut text = String::new();
    let mut rest = TYPES;
    while let Some((before, comment)) = rest.split_once("/*") {
        text += before;
        rest = comment.split_once("*/").expect("a comment is closed").1;
    }
    text + rest
}

/// The declaration of one type.
fn declaration<'t>(types: &'t str, name: &str) -> &'t str {
    let start = format!("export type {name} = ");
    let (_, after) = types.split_once(&start).expect("the type is declared");
    after.split("export type").next().unwrap()
}

/// Values that a tag takes in a declaration, `"type": "hello"`.
fn tags(declaration: &str, tag: &str) -> BTreeSet<String> {
    let start = format!("\"{tag}\": \"");
    let values = declaration.split(&start).skip(1);
    values.map(|value| value.split('"').next().unwrap().to_owned()).collect()
}

/// The values of a field in the examples of a kind, at any depth.
fn shown(kind: &str, field: &str) -> BTreeSet<String> {
    fn collect(value: &Value, field: &str, found: &mut BTreeSet<String>) {
        match value {
            Value::Object(fields) => {
                found.extend(fields.get(field).and_then(Value::as_str).map(str::to_owned));
                fields.values().for_each(|value| collect(value, field, found));
            }
            Value::Array(items) => items.iter().for_each(|item| collect(item, field, found)),
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    for (_, value) in examples().iter().filter(|(of, _)| *of == kind) {
        collect(value, field, &mut found);
    }
    found
}

#[test]
fn every_variant_has_an_example() {
    let types = types();
    for (kind, name, tag) in [
        ("device", "FromDevice", "type"),
        ("house", "ToDevice", "type"),
        ("device", "Ask", "ask"),
        ("device", "Trim", "trim"),
        ("house", "Role", "role"),
        ("house", "Outcome", "outcome"),
        ("house", "Standing", "standing"),
        ("phase", "Phase", "phase"),
        ("tally", "Tally", "kind"),
        ("counts", "Counts", "kind"),
        ("device", "Settlement", "settle"),
        ("house", "Marked", "on"),
        ("house", "Odd", "odd"),
        ("block-kind", "BlockKind", "kind"),
        ("format", "Format", "format"),
    ] {
        let of_types = tags(declaration(&types, name), tag);
        assert!(of_types.len() > 1, "{name} has lost its variants");
        assert_eq!(of_types, &of_types & &shown(kind, tag), "{name}: some have no example");
    }
    let calls = &shown("calls", "call") | &shown("device", "call");
    assert_eq!(tags(declaration(&types, "Call"), "call"), calls, "some calls have no example");
}

/// What sheets are checked with goes over HTTP and is not part of this protocol.
const NOT_HERE: [&str; 2] = ["Problem", "Severity"];

#[test]
fn every_word_and_field_stands_on_the_page() {
    let text = types();
    let mut missing = BTreeSet::new();
    for part in text.split("export type ").skip(1) {
        let name = part.split(' ').next().unwrap();
        if NOT_HERE.contains(&name) {
            continue;
        }
        let words = part.split('"').skip(1).step_by(2);
        let fields = part.split_inclusive(':').filter_map(|piece| {
            let piece = piece.strip_suffix(':')?.trim_end_matches('?');
            piece.rsplit(|c: char| !(c.is_alphanumeric() || c == '_')).next()
        });
        for word in words.chain(fields).filter(|word| !word.is_empty()) {
            if !PAGE.contains(&format!("`{word}`")) && !PAGE.contains(&format!("\"{word}\"")) {
                missing.insert(format!("{name}: {word}"));
            }
        }
    }
    assert!(missing.is_empty(), "not on the page: {missing:#?}");
}

#[test]
fn every_refusal_stands_on_the_page() {
    let refusals = [
        Refusal::Stale { last: None },
        Refusal::NotNow(""),
        Refusal::TooLateToTakeBack,
        Refusal::NoSuchCall,
        Refusal::NoSuchAthlete,
        Refusal::NotInSheet(""),
        Refusal::CoachOnly,
        Refusal::NotYours,
        Refusal::OutOfRange { what: "", least: 0, most: 0 },
        Refusal::Closed,
        Refusal::Full { most: 0 },
    ];
    for refusal in refusals {
        assert!(PAGE.contains(&format!("`{}`", refusal.code())), "{refusal:?}");
    }
}

#[test]
fn the_version_and_the_bound_stand_on_the_page() {
    assert!(PAGE.contains(&format!("`{SUBPROTOCOL}`")));
    assert!(PAGE.contains(&format!("{} KiB", MESSAGE_BYTES_MAX / 1024)));
}

#[test]
fn an_unknown_message_is_an_error_and_not_a_guess() {
    let unknown: Map<String, Value> = [("type".to_owned(), json!("dance"))].into_iter().collect();
    assert!(serde_json::from_value::<FromDevice>(Value::from(unknown)).is_err());
}
