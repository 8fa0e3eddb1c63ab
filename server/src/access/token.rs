//! Tokens: what a device shows to be let in again.

use std::fmt;

use sha2::{Digest, Sha256};

use super::random_bytes;

/// A random 128-bit secret (ASVS 5.0, 7.2.3), written as 32 hexadecimal digits.
#[derive(Clone, PartialEq, Eq)]
pub struct Token([u8; 16]);

impl Token {
    /// A new token, which nobody else has.
    pub fn random() -> Self {
        Self(random_bytes())
    }

    /// Reads a token as it was shown; nothing if it cannot be one.
    pub fn parse(shown: &str) -> Option<Self> {
        let digits = shown.as_bytes();
        if digits.len() != 32 || !digits.iter().all(u8::is_ascii_hexdigit) {
            return None;
        }
        u128::from_str_radix(shown, 16).ok().map(|number| Self(number.to_be_bytes()))
    }

    /// What the server keeps of it.
    ///
    /// A plain hash is enough, as 128 random bits cannot be guessed from it. Looking a token up by
    /// its hash also takes no time that depends on how much of a guess was right: who guesses
    /// cannot choose the hash.
    pub fn hash(&self) -> TokenHash {
        TokenHash(Sha256::digest(self.0).into())
    }
}

/// The token in full, for the one it is given to.
impl fmt::Display for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", u128::from_be_bytes(self.0))
    }
}

/// Says nothing, so that no token gets into a log.
impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token")
    }
}

/// The SHA-256 hash of a token.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TokenHash(pub(crate) [u8; 32]);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_read_back_as_it_was_shown() {
        let token = Token::random();
        let shown = token.to_string();
        assert_eq!(shown.len(), 32);
        assert_eq!(Token::parse(&shown), Some(token.clone()));
        assert_eq!(Token::parse(&shown).unwrap().hash(), token.hash());
        assert_ne!(Token::random().hash(), token.hash());
    }

    #[test]
    fn what_is_no_token_is_not_read() {
        let zeros = "0".repeat(32);
        assert!(Token::parse(&zeros).is_some());
        for text in
            ["", "+0", "0x", &zeros[1..], &format!("{zeros}0"), &format!("+{}", &zeros[1..])]
        {
            assert_eq!(Token::parse(text), None, "{text}");
        }
    }

    #[test]
    fn the_hash_is_sha_256_and_a_log_shows_no_secret() {
        // Computed with Python's hashlib: sha256(bytes(16)).
        let expected = "374708fff7719dd5979ec875d56cd2286f6d3cf7ec317a3b25632aab28ec37bb";
        let token = Token::parse(&"0".repeat(32)).unwrap();
        for (index, byte) in token.hash().0.iter().enumerate() {
            assert_eq!(format!("{byte:02x}"), expected[2 * index..2 * index + 2]);
        }
        assert_eq!(format!("{token:?}"), "Token");
    }
}
