//! What the program says and does when it cannot do what was asked: one sentence, and an exit code
//! that scripts can rely on (0 done, 1 a problem in what was given, 2 a command not understood).

use std::process::{Output, Stdio};

use floorbell_tests::house::{House, program, serve};
use floorbell_tests::soon;
use tokio::process::Command;

async fn outcome(command: &mut Command) -> Output {
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let running = command.spawn().expect("the program starts");
    soon("the program ends", running.wait_with_output()).await.expect("its output can be read")
}

/// Ends with exit code 1 and one sentence that holds these words.
async fn fails(command: &mut Command, words: &[&str]) {
    let output = outcome(command).await;
    let said = String::from_utf8(output.stderr).expect("it speaks UTF-8");
    assert_eq!(output.status.code(), Some(1), "{said}");
    let lines: Vec<&str> = said.lines().collect();
    let [sentence] = lines.as_slice() else { panic!("one sentence, not:\n{said}") };
    assert!(sentence.starts_with("floorbell: ") && sentence.ends_with('.'), "{sentence}");
    for word in words {
        assert!(sentence.contains(word), "{word:?} is not in: {sentence}");
    }
}

#[tokio::test]
async fn a_second_server_on_the_same_folder_or_port_says_so_and_harms_nothing() {
    let mut house = House::start().await;
    fails(&mut serve(house.data(), "127.0.0.1:0"), &["Another floorbell", "--data"]).await;
    let elsewhere = house.data().join("elsewhere");
    fails(&mut serve(&elsewhere, house.address().authority()), &["in use", "--listen"]).await;
    assert!(!elsewhere.exists(), "nothing was made");
    // The first goes on, and its folder is whole.
    house.open("# One\n\n## Tide: AMRAP 4 min\n\n- 5 squat\n- 5 sit-up\n").await;
    house.kill_and_restart().await;
    house.coach().await;
}

#[tokio::test]
async fn check_tells_good_sheets_from_bad_ones() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let sheet = folder.path().join("sheet.md");
    let check = |path: &std::path::Path| {
        let mut command = Command::new(program());
        command.arg("check").arg(path);
        command
    };
    std::fs::write(&sheet, "# One\n\n## Tide: AMRAP 4 min\n\n- 5 squat\n- 5 sit-up\n")
        .expect("a sheet");
    let good = outcome(&mut check(&sheet)).await;
    assert_eq!(good.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&good.stdout).contains("4:00"), "prints the time line");

    std::fs::write(&sheet, "Just a paragraph.\n").expect("a sheet");
    let bad = outcome(&mut check(&sheet)).await;
    assert_eq!(bad.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&bad.stderr).contains("line 1"), "names the line");

    fails(&mut check(&folder.path().join("missing.md")), &["missing.md"]).await;
}

#[tokio::test]
async fn what_is_not_understood_ends_with_2() {
    for arguments in [&["dance"][..], &["serve", "--listen", "nowhere"], &[]] {
        let output = outcome(Command::new(program()).args(arguments)).await;
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(!output.stderr.is_empty(), "{arguments:?}");
    }
    let help = outcome(Command::new(program()).arg("--help")).await;
    assert_eq!(help.status.code(), Some(0));
}
