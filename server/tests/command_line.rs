//! The program as it is started by hand: what it prints, and how it ends.

use std::io::{BufRead, BufReader, Read, Seek, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

const SHEET: &str = "# Short tide\n\n## Tide: AMRAP 1 min\n\n- 3 squat\n";

fn floorbell(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_floorbell"));
    command.args(arguments).env("FLOORBELL_LOG", "warn");
    command
}

/// The exit code, the output and the error output of a run to the end.
fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    let Output { status, stdout, stderr } = floorbell(arguments).output().unwrap();
    (status.code(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
}

/// A server that was started, and what it printed until it was ready.
struct Serving {
    child: Child,
    printed: String,
}

impl Serving {
    fn on(data: &Path) -> Self {
        let arguments = ["serve", "--listen", "127.0.0.1:0", "--data", data.to_str().unwrap()];
        Self::start(&mut floorbell(&arguments))
    }

    fn start(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let out = child.stdout.take().unwrap();
        let mut printed = String::new();
        for line in BufReader::new(out).lines() {
            let line = line.unwrap();
            printed += &(line.clone() + "\n");
            if line.starts_with("Ctrl-C") {
                break;
            }
        }
        Self { child, printed }
    }

    /// The token of the set-up link, if one was printed.
    fn set_up(&self) -> Option<&str> {
        let (_, rest) = self.printed.split_once("/coach#set-up=")?;
        rest.lines().next()
    }

    /// Sends a signal by name and returns the exit code.
    fn end(mut self, signal: &str) -> Option<i32> {
        let id = self.child.id().to_string();
        assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
        self.child.wait().unwrap().code()
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        // A test that failed leaves nothing behind; elsewhere it has ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One sentence on the error output and exit code 1.
fn refused(arguments: &[&str], sentence: &str) {
    let (code, out, error) = run(arguments);
    assert_eq!((code, &*out), (Some(1), ""), "{error}");
    assert!(error.starts_with("floorbell: ") && error.trim_end().lines().count() == 1, "{error}");
    assert!(error.contains(sentence), "{error}");
}

#[test]
fn help_reads_well_and_a_misspelt_command_is_a_usage_error() {
    let (code, help, _) = run(&["--help"]);
    assert_eq!(code, Some(0));
    for word in ["serve", "wall", "demo", "check", "Usage: floorbell <COMMAND>", "set-up link"] {
        assert!(help.contains(word), "{word}: {help}");
    }
    assert!(help.lines().all(|line| line.chars().count() <= 100), "{help}");
    let (code, version, _) = run(&["--version"]);
    let expected = format!("floorbell {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!((code, version), (Some(0), expected));
    for arguments in [
        &[][..],
        &["serf"],
        &["serve", "--listen", "here"],
        &["serve", "--name", "http://floor.example"],
        &["check"],
        &["wall"],
        &["wall", "quayside"],
        &["wall", "https://10.0.0.2:7600"],
        &["wall", "http://10.0.0.2:7600/coach"],
        &["wall", "10.0.0.2:7600", "--bells"],
        &["demo", "--session", "crew-of-two", "--quick"],
    ] {
        let (code, _, error) = run(arguments);
        assert_eq!(code, Some(2), "{arguments:?}");
        assert!(error.contains("--help") || error.contains("Usage"), "{error}");
    }
}

#[test]
fn a_sheet_is_checked() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let (code, out, error) = run(&["check", &write("good.md", SHEET.as_bytes())]);
    assert_eq!(code, Some(0), "{error}");
    assert!(out.contains("Short tide") && out.contains("work"), "{out}");

    let (code, out, error) = run(&["check", &write("bad.md", b"# Tide\n\n## Tide: AMRAP\n")]);
    assert_eq!((code, &*out), (Some(1), ""));
    assert!(error.contains("error at line 3, column"), "{error}");
    assert!(error.ends_with("mend the errors above.\n"), "{error}");

    refused(&["check", folder.path().join("none.md").to_str().unwrap()], "cannot be read");
    refused(&["check", &write("latin.md", b"# Caf\xe9\n")], "UTF-8");
}

#[test]
fn a_port_in_use_is_said_and_no_data_touched() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    refused(
        &["serve", "--listen", &address, "--data", data.to_str().unwrap()],
        &format!("Port {} is in use", taken.local_addr().unwrap().port()),
    );
    assert!(!data.exists());
    refused(&["serve", "--listen", "203.0.113.1:7600"], "has no address 203.0.113.1");
}

#[test]
fn a_second_server_on_the_folder_is_refused() {
    let data = tempfile::tempdir().unwrap();
    let first = Serving::on(data.path());
    let folder = data.path().to_str().unwrap();
    refused(&["serve", "--listen", "127.0.0.1:0", "--data", folder], "Another floorbell server");
    assert_eq!(first.end("TERM"), Some(0));
}

#[test]
fn a_folder_of_another_version_is_refused_and_left_alone() {
    let data = tempfile::tempdir().unwrap();
    assert_eq!(Serving::on(data.path()).end("INT"), Some(0));
    let database = data.path().join("floorbell.db");
    let connection = rusqlite::Connection::open(&database).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    connection.close().unwrap();
    let before = std::fs::read(&database).unwrap();
    let folder = data.path().to_str().unwrap();
    refused(&["serve", "--listen", "127.0.0.1:0", "--data", folder], "later version");
    assert!(std::fs::read(&database).unwrap() == before);
}

#[test]
fn each_start_shows_a_new_set_up_link_and_where_to_go() {
    let data = tempfile::tempdir().unwrap();
    let first = Serving::on(data.path());
    let token = first.set_up().unwrap().to_owned();
    assert_eq!(token.len(), 32);
    for line in [
        "  coach   http://localhost:",
        "  wall    http://localhost:",
        "  tally   http://localhost:",
        "\u{2580}",
    ] {
        assert!(first.printed.contains(line), "{line}: {}", first.printed);
    }
    assert_eq!(first.end("INT"), Some(0));
    let second = Serving::on(data.path());
    assert_ne!(second.set_up().unwrap(), token);
    assert_eq!(second.end("TERM"), Some(0));
}

#[test]
fn a_demonstration_of_no_known_session_names_those_that_there_are() {
    let (code, _, error) = run(&["demo", "--session", "crew-of-two-hundred"]);
    assert_eq!(code, Some(2), "{error}");
    for name in ["crew-of-two-hundred", "harbour-evening", "crew-of-two,", "four-tides"] {
        assert!(error.contains(name), "{name}: {error}");
    }
}

#[test]
fn a_demonstration_leaves_nothing_behind() {
    let passing = tempfile::tempdir().unwrap();
    let arguments = ["demo", "--quick", "--listen", "127.0.0.1:0"];
    let demo = Serving::start(floorbell(&arguments).env("TMPDIR", passing.path()));
    for part in ["Quayside Hall", "/coach   passphrase ", "/wall ", "/#c="] {
        assert!(demo.printed.contains(part), "{part}: {}", demo.printed);
    }
    assert_eq!(std::fs::read_dir(passing.path()).unwrap().count(), 1);
    assert_eq!(demo.end("INT"), Some(0));
    assert_eq!(std::fs::read_dir(passing.path()).unwrap().count(), 0);
}

#[test]
fn a_demonstration_wants_a_folder_of_its_own() {
    let data = tempfile::tempdir().unwrap();
    let folder = data.path().to_str().unwrap();
    let arguments = ["demo", "--quick", "--listen", "127.0.0.1:0", "--data", folder];
    assert_eq!(Serving::start(&mut floorbell(&arguments)).end("TERM"), Some(0));
    refused(&arguments, "set up already");
    // It was a house like any other.
    let served = Serving::on(data.path());
    assert_eq!(served.set_up(), None);
    assert_eq!(served.end("TERM"), Some(0));
}

#[test]
fn the_log_holds_no_secret() {
    let data = tempfile::tempdir().unwrap();
    let mut log = tempfile::tempfile().unwrap();
    let arguments = ["serve", "--listen", "127.0.0.1:0", "--data", data.path().to_str().unwrap()];
    let serving = Serving::start(
        floorbell(&arguments).env("FLOORBELL_LOG", "trace").stderr(log.try_clone().unwrap()),
    );
    let token = serving.set_up().unwrap().to_owned();
    let (_, rest) = serving.printed.split_once("http://").unwrap();
    let (address, _) = rest.split_once('/').unwrap();
    let body = format!(r#"{{"token":"{token}","passphrase":"harbour wall at six"}}"#);
    let request = format!(
        "POST /api/set-up HTTP/1.0\r\nhost: {address}\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    let mut stream = TcpStream::connect(address).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.0 200"), "{answer}");
    let session = answer.rsplit('"').nth(1).unwrap();
    assert_eq!(session.len(), 32);
    assert_eq!(serving.end("TERM"), Some(0));
    let mut text = String::new();
    log.rewind().unwrap();
    log.read_to_string(&mut text).unwrap();
    assert!(!text.is_empty());
    for secret in [&*token, session, "harbour wall at six"] {
        assert!(!text.contains(secret), "{text}");
    }
}

#[test]
fn a_wall_that_finds_no_house_says_so() {
    let data = tempfile::tempdir().unwrap();
    let folder = data.path().to_str().unwrap();
    // Free again before the wall asks there; nobody else takes it.
    let nobody = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let house = format!("http://{nobody}");
    refused(&["wall", &house, "--data", folder], "cannot be reached");
    assert_eq!(std::fs::read_dir(data.path()).unwrap().count(), 0);
    let file = data.path().join("wall-127.0.0.1-1.json");
    std::fs::create_dir(&file).unwrap();
    refused(&["wall", "127.0.0.1:1", "--data", folder], "--data");
}
