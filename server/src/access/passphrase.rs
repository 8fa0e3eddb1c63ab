//! The house's passphrase, kept as an Argon2id hash.

use std::fmt;
use std::sync::Mutex;

use argon2::password_hash::{self, Output, ParamsString, Salt, SaltString};
use argon2::{Algorithm, Argon2, Block, Params, PasswordHash, Version};

use super::random_bytes;

/// Memory, passes and lanes: the least that the OWASP Password Storage Cheat Sheet advises for
/// Argon2id. The 64 MiB of RFC 9106's second recommended option are too much beside a running
/// class on a small computer.
const MEMORY_KIB: u32 = 19 * 1024;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// Room that is asked for in blocks of 1 KiB, more than is used; what is not touched costs nothing.
/// glibc gives what is larger than 32 MiB back to the system as soon as it is freed (mallopt(3),
/// `M_MMAP_THRESHOLD`); of the 19 MiB that are used it would keep some for each thread, for good.
const ROOM_BLOCKS: usize = 33 * 1024;

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
        let salt = SaltString::encode_b64(&random_bytes::<16>()).expect("16 bytes are a salt");
        let params = Params::new(MEMORY_KIB, PASSES, LANES, None).expect("parameters in range");
        let hash = hash(&passphrase.0, salt.as_salt(), params);
        Self(hash.expect("right parameters").to_string())
    }

    /// Whether this is the passphrase. As costly as making the hash.
    pub fn is_of(&self, typed: &str) -> bool {
        if typed.len() > Passphrase::BYTES_MAX {
            return false;
        }
        let again = |kept: &PasswordHash<'_>| {
            let salt = kept.salt?;
            let hash = hash(typed, salt, Params::try_from(kept).ok()?).ok()?;
            // Outputs are compared in constant time.
            Some(kept.algorithm == hash.algorithm && kept.hash == hash.hash)
        };
        PasswordHash::new(&self.0).ok().and_then(|kept| again(&kept)).unwrap_or(false)
    }
}

impl fmt::Debug for PassphraseHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PassphraseHash")
    }
}

/// Hashes in memory that goes back to the system afterwards.
fn hash<'a>(
    typed: &str,
    salt: Salt<'a>,
    params: Params,
) -> password_hash::Result<PasswordHash<'a>> {
    let _turn = ONE_AT_A_TIME.lock();
    let mut memory = Vec::with_capacity(ROOM_BLOCKS);
    memory.resize(params.block_count(), Block::default());
    let (algorithm, version) = (Algorithm::Argon2id, Version::V0x13);
    let mut salt_bytes = [0; Salt::MAX_LENGTH];
    let salt_bytes = salt.decode_b64(&mut salt_bytes)?;
    let output_bytes = params.output_len().unwrap_or(Params::DEFAULT_OUTPUT_LEN);
    let written = ParamsString::try_from(&params)?;
    let argon2 = Argon2::new(algorithm, version, params);
    let output = Output::init_with(output_bytes, |output| {
        let hashed =
            argon2.hash_password_into_with_memory(typed.as_bytes(), salt_bytes, output, memory);
        Ok(hashed?)
    })?;
    Ok(PasswordHash {
        algorithm: algorithm.ident(),
        version: Some(version.into()),
        params: written,
        salt: Some(salt),
        hash: Some(output),
    })
}

#[cfg(test)]
mod tests {
    use argon2::PasswordVerifier;

    use super::*;

    #[test]
    fn a_passphrase_is_known_again_and_no_other() {
        let passphrase = Passphrase::new("harbour wall at six").unwrap();
        let hash = PassphraseHash::of(&passphrase);
        assert!(hash.0.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{}", hash.0);
        assert!(hash.is_of("harbour wall at six"));
        // What is kept is what any other reader of the form takes it for.
        let kept = PasswordHash::new(&hash.0).unwrap();
        assert!(Argon2::default().verify_password(b"harbour wall at six", &kept).is_ok());
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
