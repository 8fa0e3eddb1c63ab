//! Class codes: what the wall shows, as text and as QR, for the phones of one class.

use std::fmt;

use super::random_bytes;

/// Letters and digits that are told apart from afar: at most one of each group that looks alike
/// (0 O Q, 1 I L, 2 Z, 5 S, 6 G, 8 B, U V), and no vowels, so that no code spells a word.
const ALPHABET: &[u8; 20] = b"CDFGHJKMNPRTVWXY3479";

/// How many characters a code has.
const LENGTH: usize = 8;

/// Eight random characters out of twenty: 25,600,000,000 codes, too many to come upon one while
/// wrong guesses are limited.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct ClassCode([u8; LENGTH]);

impl ClassCode {
    /// A new code.
    pub fn random() -> Self {
        let mut code = [0; LENGTH];
        let mut filled = 0;
        while filled < LENGTH {
            // Bytes from 240 on would make some characters likelier than others; dropping them
            // keeps all equal, at 16 more bytes drawn every few hundred codes.
            for byte in random_bytes::<16>().into_iter().filter(|byte| *byte < 240) {
                if filled < LENGTH {
                    code[filled] = ALPHABET[usize::from(byte) % ALPHABET.len()];
                    filled += 1;
                }
            }
        }
        Self(code)
    }

    /// Reads a code as someone typed it: case, spaces and hyphens do not matter. Nothing if it
    /// cannot be a code.
    pub fn parse(typed: &str) -> Option<Self> {
        let mut code = [0; LENGTH];
        let mut filled = 0;
        for c in typed.bytes().filter(|c| !matches!(c, b' ' | b'-')) {
            let c = c.to_ascii_uppercase();
            if !ALPHABET.contains(&c) {
                return None;
            }
            *code.get_mut(filled)? = c;
            filled += 1;
        }
        (filled == LENGTH).then_some(Self(code))
    }
}

/// In two groups of four, `CDFG-3479`.
impl fmt::Display for ClassCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, c) in self.0.iter().enumerate() {
            if index == LENGTH / 2 {
                f.write_str("-")?;
            }
            write!(f, "{}", char::from(*c))?;
        }
        Ok(())
    }
}

/// Says nothing, so that no code gets into a log.
impl fmt::Debug for ClassCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("ClassCode")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_however_it_is_typed() {
        let code = ClassCode::random();
        let shown = code.to_string();
        assert_eq!(shown.len(), 9);
        for typed in [shown.clone(), shown.to_lowercase(), shown.replace('-', " ")] {
            assert_eq!(ClassCode::parse(&typed), Some(code), "{typed}");
        }
        assert_ne!(ClassCode::random(), code);
    }

    #[test]
    fn what_is_no_code_is_not_read() {
        for typed in ["", "CDFG-347", "CDFG-34799", "AEIO-UAEI", "CDFG-3478", "ÇDFG-3479"] {
            assert_eq!(ClassCode::parse(typed), None, "{typed}");
        }
    }

    #[test]
    fn every_character_turns_up() {
        // 200 codes lack one of twenty characters with probability 20 · 0.95^1600 < 10^-34.
        let all: String = (0..200).map(|_| ClassCode::random().to_string()).collect();
        assert!(ALPHABET.iter().all(|c| all.contains(char::from(*c))));
    }
}
