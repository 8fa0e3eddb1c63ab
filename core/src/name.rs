//! The name of a person or a wall: short text that is shown as text.
//!
//! A name is what a reader sees as up to 40 characters, so it is measured in grapheme clusters
//! (Unicode UAX #29), not in bytes. Characters that break a line or turn the direction of the text
//! around them are refused, for on the wall they would disarrange the rows of others.

use core::fmt;

use serde::{Deserialize, Serialize};
use unicode_segmentation::UnicodeSegmentation;

/// A name that fits: trimmed, not empty, up to 40 grapheme clusters, no control characters.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[cfg_attr(feature = "typescript", ts(type = "string"))]
#[serde(try_from = "String", into = "String")]
pub struct Name(String);

impl Name {
    /// How many grapheme clusters a name may have: what fits a row of the wall.
    pub const CLUSTERS_MAX: usize = 40;

    /// How many code points a name may have, since one cluster can hold any number of combining
    /// marks. The longest emoji sequences in use have ten.
    pub const CODE_POINTS_MAX: usize = 10 * Self::CLUSTERS_MAX;

    /// Reads a name as someone typed it; space around it is dropped.
    pub fn new(typed: &str) -> Result<Self, NameProblem> {
        let name = typed.trim();
        if name.is_empty() {
            return Err(NameProblem::Empty);
        }
        if let Some(found) = name.chars().find(|c| disarranges(*c)) {
            return Err(NameProblem::Disarranges(found));
        }
        // Counting ends at the bound, so that a huge text costs no more than a long name.
        if name.chars().nth(Self::CODE_POINTS_MAX).is_some()
            || name.graphemes(true).nth(Self::CLUSTERS_MAX).is_some()
        {
            return Err(NameProblem::TooLong);
        }
        Ok(Self(name.to_owned()))
    }

    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The name with a number that tells it from others that read alike; shortened where both would
    /// be too long.
    #[must_use]
    pub fn numbered(&self, number: usize) -> Self {
        let number = format!(" {number}");
        let room = Self::CLUSTERS_MAX.saturating_sub(number.len());
        let kept: String = self.0.graphemes(true).take(room).collect();
        Self(kept.trim_end().to_owned() + &number)
    }

    /// Whether a reader would take both for one: case and spaces do not tell them apart.
    pub fn reads_like(&self, other: &Self) -> bool {
        let plain = |name: &Self| {
            let words: Vec<String> = name.0.split_whitespace().map(str::to_lowercase).collect();
            words.join(" ")
        };
        plain(self) == plain(other)
    }

    /// Its first character, as a reader sees one.
    pub fn initial(&self) -> &str {
        self.0.graphemes(true).next().unwrap_or(&self.0)
    }
}

/// What breaks a line or turns the direction of the text around it: control characters, line and
/// paragraph separators, and the bidirectional marks, embeddings,
/// overrides and isolates (Unicode UAX #9; from memory).
pub fn disarranges(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{61c}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'
                | '\u{2029}'
                | '\u{202a}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}'
        )
}

/// Why a text is no name. Shown to who typed it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NameProblem {
    /// Nothing was typed, or only space.
    Empty,
    /// More than 40 characters as a reader counts them.
    TooLong,
    /// This character would break the line or turn the direction of the text around it.
    Disarranges(char),
}

impl fmt::Display for NameProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "The name is empty: type at least one character."),
            Self::TooLong => {
                write!(f, "The name is too long: type at most {} characters.", Name::CLUSTERS_MAX)
            }
            Self::Disarranges(c) => write!(
                f,
                "The name holds an invisible control character (U+{:04X}): type the name anew \
                 instead of pasting it.",
                u32::from(*c)
            ),
        }
    }
}

impl core::error::Error for NameProblem {}

impl TryFrom<String> for Name {
    type Error = NameProblem;
    fn try_from(typed: String) -> Result<Self, NameProblem> {
        Self::new(&typed)
    }
}

impl From<Name> for String {
    fn from(name: Name) -> Self {
        name.0
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn length_is_counted_as_a_reader_counts() {
        // Cluster counts computed with Python's `regex` library.
        let family = "\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}\u{200d}\u{1f466}";
        let cases = [
            ("a", 1),
            ("e\u{301}", 1),
            (family, 1),
            ("\u{1f1eb}\u{1f1ee}\u{1f1f8}\u{1f1ea}", 2),
            ("\u{915}\u{94d}\u{937}\u{93f}", 1),
        ];
        for (text, clusters) in cases {
            let fits = text.repeat(Name::CLUSTERS_MAX / clusters);
            let name = Name::new(&fits).unwrap();
            assert_eq!(name.as_str(), fits, "{text}");
            assert!(text.starts_with(name.initial()), "{text}");
            assert_eq!(name.initial() == text, clusters == 1, "{text}");
            assert_eq!(Name::new(&format!("{fits}{text}")), Err(NameProblem::TooLong), "{text}");
        }
    }

    #[test]
    fn marks_piled_on_one_letter_are_bounded() {
        let piled = |marks| format!("a{}", "\u{301}".repeat(marks));
        assert!(Name::new(&piled(Name::CODE_POINTS_MAX - 1)).is_ok());
        assert_eq!(Name::new(&piled(Name::CODE_POINTS_MAX)), Err(NameProblem::TooLong));
    }

    #[test]
    fn what_disarranges_a_row_is_refused() {
        let bidi = "\u{61c}\u{200e}\u{200f}\u{202a}\u{202e}\u{2066}\u{2069}";
        for c in bidi.chars().chain("\0\n\t\u{7f}\u{85}\u{2028}".chars()) {
            assert_eq!(Name::new(&format!("a{c}b")), Err(NameProblem::Disarranges(c)));
        }
        assert_eq!(Name::new(" \u{3000} "), Err(NameProblem::Empty));
    }

    #[test]
    fn what_people_are_called_is_kept() {
        for name in ["Åse-Marie O'Neil", "<b>Bo</b>", "نور", "李", "Ann 2"] {
            assert_eq!(Name::new(&format!(" {name} ")).unwrap().as_str(), name);
        }
    }

    #[test]
    fn a_name_on_the_wire_is_read_as_strictly() {
        assert_eq!(serde_json::from_str::<Name>("\" Ann \"").unwrap().as_str(), "Ann");
        assert!(serde_json::from_str::<Name>("\"\"").is_err());
    }
}
