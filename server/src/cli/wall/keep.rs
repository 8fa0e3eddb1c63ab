//! What a wall keeps between two starts: the token that the coach let in, and its device's id. So it
//! comes back by itself after a power cut, and the house knows it for the same device.
//!
//! One small file for each house, readable by its owner alone: whoever has the token sees what the wall
//! sees, the names on the board with it. It is state of this machine and nothing that a person made, so
//! its place is the state folder of the XDG base directory specification. What cannot be read is no
//! loss: the wall asks to be let in again.

use std::fs::{self, DirBuilder, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use floorbell_client::api::{self, Address};
use floorbell_client::random_id;
use floorbell_core::ids::DeviceId;
use serde::{Deserialize, Serialize};

use super::Trouble;
use crate::cli::serve::user_folder;

/// What a house knows a wall by.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Kept {
    pub(super) device: DeviceId,
    pub(super) token: String,
}

/// The file of one house.
#[derive(Debug)]
pub(super) struct Keep {
    file: PathBuf,
}

impl Keep {
    /// The file of a house in a folder; without one, in the user's own state folder.
    pub(super) fn new(folder: Option<PathBuf>, house: &Address) -> Result<Self, Trouble> {
        let own = || user_folder("XDG_STATE_HOME", ".local/state");
        let folder = folder.map_or_else(own, Ok)?;
        let house = house.authority().replace(':', "-").replace(['[', ']'], "");
        Ok(Self { file: folder.join(format!("wall-{house}.json")) })
    }

    /// What was kept; none where nothing was, or nothing that can be understood.
    pub(super) fn read(&self) -> Result<Option<Kept>, Trouble> {
        match fs::read(&self.file) {
            Ok(bytes) => Ok(serde_json::from_slice(&bytes).ok()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(self.trouble("read", &error)),
        }
    }

    /// Keeps the token of a wall, under the device's id that it had, or a new one.
    pub(super) fn keep(&self, wall: &api::Wall) -> Result<Kept, Trouble> {
        let device = self.read()?.map_or_else(|| DeviceId(random_id()), |kept| kept.device);
        let kept = Kept { device, token: wall.token.clone() };
        let bytes = serde_json::to_vec(&kept)?;
        self.write(&bytes).map_err(|error| self.trouble("written", &error))?;
        Ok(kept)
    }

    /// Writes the whole file or leaves it as it was.
    fn write(&self, bytes: &[u8]) -> io::Result<()> {
        let folder = self.file.parent().unwrap_or(Path::new("."));
        DirBuilder::new().recursive(true).mode(0o700).create(folder)?;
        let new = self.file.with_extension("new");
        match fs::remove_file(&new) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        let mut file = OpenOptions::new().write(true).create_new(true).mode(0o600).open(&new)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&new, &self.file)
    }

    fn trouble(&self, done: &str, error: &io::Error) -> Trouble {
        let file = self.file.display();
        format!("{file} cannot be {done} ({error}): name another folder with --data.").into()
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt;

    use super::*;

    fn wall(token: &str) -> api::Wall {
        serde_json::from_str(&format!("{{\"number\": 1, \"token\": \"{token}\"}}")).unwrap()
    }

    fn keep(folder: &Path, house: &str) -> Keep {
        Keep::new(Some(folder.to_owned()), &house.parse().unwrap()).unwrap()
    }

    #[test]
    fn a_token_is_kept_for_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let state = folder.path().join("state/floorbell");
        let keep = keep(&state, "[::1]:7600");
        assert_eq!(keep.read().unwrap(), None);
        let kept = keep.keep(&wall("one")).unwrap();
        assert_eq!(keep.read().unwrap(), Some(kept.clone()));
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&state.join("wall---1-7600.json")), mode(&state)), (0o600, 0o700));
        assert_eq!(fs::read_dir(&state).unwrap().count(), 1, "nothing else is left there");
    }

    #[test]
    fn the_device_stays_the_same_when_it_is_let_in_anew() {
        let folder = tempfile::tempdir().unwrap();
        let keep = keep(folder.path(), "quayside.local:7600");
        let first = keep.keep(&wall("one")).unwrap();
        let second = keep.keep(&wall("two")).unwrap();
        assert_eq!((second.device, &*second.token), (first.device, "two"));
    }

    #[test]
    fn houses_are_kept_apart_and_what_is_not_understood_is_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let [one, other] = ["a:7600", "a:7601"].map(|house| keep(folder.path(), house));
        one.keep(&wall("one")).unwrap();
        assert_eq!(other.read().unwrap(), None);
        fs::write(&one.file, "{").unwrap();
        assert_eq!(one.read().unwrap(), None);
    }

    #[test]
    fn a_folder_that_cannot_be_used_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        let Err(Trouble(text)) = keep(&file, "a:7600").keep(&wall("one")) else { panic!("a file") };
        assert!(text.contains("--data") && text.ends_with('.'), "{text}");
    }
}
