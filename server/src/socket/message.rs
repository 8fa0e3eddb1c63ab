//! From text to a message of a device.

use floorbell_core::wire::FromDevice;
use serde::Deserialize;

use crate::house::outlet::Goodbye;

/// Why a text is no message.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Unread {
    /// It is no message of any version: the device speaks something else.
    Malformed(Goodbye),
    /// It may be one of a later version, or a slip. The sentence goes back to the device.
    Unknown(String),
}

const MALFORMED: Goodbye =
    Goodbye { code: 1008, reason: "A message is a JSON object with a text field \"type\"." };

/// What every message has.
#[derive(Deserialize)]
struct Envelope {
    #[serde(rename = "type")]
    _type: String,
}

/// Reads a message.
pub(super) fn read(text: &str) -> Result<FromDevice, Unread> {
    serde_json::from_str(text).map_err(|error| match serde_json::from_str::<Envelope>(text) {
        Ok(_) => Unread::Unknown(format!("This message was not understood: {error}.")),
        Err(_) => Unread::Malformed(MALFORMED),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn malformed(text: &str) -> bool {
        matches!(read(text), Err(Unread::Malformed(_)))
    }

    fn unknown(text: &str) -> bool {
        matches!(read(text), Err(Unread::Unknown(_)))
    }

    #[test]
    fn what_is_no_object_with_a_type_is_malformed() {
        for text in
            ["", "hello", "[1]", "\"sync\"", "{\"t0\":1}", "{\"type\":7}", "{\"type\":\"sync\""]
        {
            assert!(malformed(text), "{text}");
        }
    }

    #[test]
    fn a_message_of_a_later_version_is_unknown() {
        for text in [
            r#"{"type":"dance"}"#,
            r#"{"type":"sync"}"#,
            r#"{"type":"call","id":"7b1f0c52-0f8e-4d0c-8d0c-0d6a4f0f2c11","call":"dance"}"#,
        ] {
            assert!(unknown(text), "{text}");
        }
    }

    #[test]
    fn unknown_fields_are_passed_over() {
        assert!(matches!(
            read(r#"{"type":"sync","t0":5,"colour":"red"}"#),
            Ok(FromDevice::Sync { t0 }) if t0.as_micros() == 5
        ));
    }
}
