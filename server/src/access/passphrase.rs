//! The house's passphrase, kept as an Argon2id hash.

use std::fmt;
use std::sync::Mutex;

use argon2::password_hash::SaltString;
use argon2::{Algorithm, Argon2, Params, PasswordHash, PasswordHasher, PasswordVerifier, Version};

use super::random_bytes;

/// Memory, passes and lanes: the least that the OWASP Password Storage Cheat Sheet advises for
/// Argon2id. The 64 MiB of RFC 9106's second recommended option are too much beside a running
/// class on a small computer.
const MEMORY_KIB: u32 = 19 * 1024;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// Hashing takes its memory one sign-in at a time, however many try at once.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// A passphrase that is long enough to be set.
#[derive(Clone)]
pub struct Passphrase(String);

impl Passphrase {
    /// The fewest characters of one that a person chooses (NIST SP 800-63B rev 3, 5.1.1.1).
    pub const CHARACTERS_MIN: usize = 8;

    /// The most bytes: room for a long sentence, little to hash.
    pub const BYTES_MAX: usize = 1024;

    /// Takes a passphrase as it was typed, spaces included.
    pub fn new(typed: &str) -> Result<Self, PassphraseProblem> {
        if typed.chars().count() < Self::CHARACTERS_MIN {
            Err(PassphraseProblem::TooShort)
        } else if typed.len() > Self::BYTES_MAX {
            Err(PassphraseProblem::TooLong)
        } else {
            Ok(Self(typed.to_owned()))
        }
    }
}

/// Says nothing, so that no passphrase gets into a log.
impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase")
    }
}

/// Why a passphrase cannot be set. Shown to who typed it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PassphraseProblem {
    /// Fewer than 8 characters.
    TooShort,
    /// More than 1024 bytes.
    TooLong,
}

impl fmt::Display for PassphraseProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooShort => write!(
                f,
                "The passphrase is too short: use at least {} characters. A few words are easy to \
                 remember.",
                Passphrase::CHARACTERS_MIN
            ),
            Self::TooLong => write!(f, "The passphrase is too long: use one sentence."),
        }
    }
}

impl std::error::Error for PassphraseProblem {}

/// What the server keeps of a passphrase: a hash in PHC string form, which names its parameters,
/// so that they can be raised later.
#[derive(Clone, PartialEq, Eq)]
pub struct PassphraseHash(pub(crate) String);

impl PassphraseHash {
    /// Hashes a passphrase with a new salt. Takes some 20 MiB and tens of milliseconds, so it
    /// belongs on a thread that may block.
    ///
    /// # Panics
    /// Never: the parameters are right and the passphrase is short.
    pub fn of(passphrase: &Passphrase) -> Self {
        let _turn = ONE_AT_A_TIME.lock();
        let salt = SaltString::encode_b64(&random_bytes::<16>()).expect("16 bytes are a salt");
        let hash = hasher().hash_password(passphrase.0.as_bytes(), &salt);
        Self(hash.expect("right parameters").to_string())
    }

    /// Whether this is the passphrase. As costly as making the hash.
    pub fn is_of(&self, typed: &str) -> bool {
        if typed.len() > Passphrase::BYTES_MAX {
            return false;
        }
        let _turn = ONE_AT_A_TIME.lock();
        PasswordHash::new(&self.0)
            .is_ok_and(|hash| hasher().verify_password(typed.as_bytes(), &hash).is_ok())
    }
}

impl fmt::Debug for PassphraseHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PassphraseHash")
    }
}

fn hasher() -> Argon2<'static> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None).expect("parameters in range");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passphrase_is_known_again_and_no_other() {
        let passphrase = Passphrase::new("harbour wall at six").unwrap();
        let hash = PassphraseHash::of(&passphrase);
        assert!(hash.0.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{}", hash.0);
        assert!(hash.is_of("harbour wall at six"));
        assert!(!hash.is_of("harbour wall at five"));
        assert!(!hash.is_of(""));
        assert_ne!(PassphraseHash::of(&passphrase), hash, "the salt is new each time");
        assert!(!PassphraseHash("not a hash".into()).is_of("not a hash"));
    }

    #[test]
    fn length_is_bounded_on_both_sides() {
        let checked = |length| Passphrase::new(&"é".repeat(length)).map(|_| ());
        assert_eq!(checked(7), Err(PassphraseProblem::TooShort));
        assert_eq!(checked(8), Ok(()));
        assert_eq!(checked(512), Ok(()));
        assert_eq!(checked(513), Err(PassphraseProblem::TooLong));
    }
}
