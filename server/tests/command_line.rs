//! The program as it is started by hand: what it prints, and how it ends.

use std::net::TcpListener;
use std::process::{Command, Output};

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
    for word in ["serve", "check", "Usage: floorbell <COMMAND>", "set-up link"] {
        assert!(help.contains(word), "{word}: {help}");
    }
    assert!(help.lines().all(|line| line.chars().count() <= 100), "{help}");
    let (code, version, _) = run(&["--version"]);
    let expected = format!("floorbell {}\n", env!("CARGO_PKG_VERSION"));
    assert_eq!((code, version), (Some(0), expected));
    for arguments in [&[][..], &["serf"], &["serve", "--listen", "here"], &["check"]] {
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
