//! The wall in a terminal, as the program prints it where its output is none: plain lines.

use std::path::Path;
use std::process::Stdio;

use floorbell_core::class::command::{Call, Counts};
use floorbell_core::ids::SegmentIndex;
use floorbell_core::wire::{Ask, Outcome};
use floorbell_tests::house::{House, program};
use floorbell_tests::people::Coach;
use floorbell_tests::soon;
use tempfile::TempDir;
use tokio::io::{AsyncBufReadExt, BufReader, Lines};
use tokio::process::{Child, ChildStdout, Command};

/// Segments: 0 lead-in of 3 s, 1 work, 2 rest, 3 work.
const SHEET: &str = "# Terminal\n\n## First tide: AMRAP 4 min, 2 times, rest 1:30 between, lead-in 3 s\n\n- 5 squat\n- 4 push-up\n";
const WORK: SegmentIndex = SegmentIndex(1);

/// A wall that was started by hand.
struct Started {
    child: Child,
    lines: Lines<BufReader<ChildStdout>>,
}

impl Started {
    fn new(house: &House, data: &Path) -> Self {
        let mut command = Command::new(program());
        command.args(["wall", &format!("{}/wall", house.address())]).arg("--data").arg(data);
        command.stdin(Stdio::null()).stdout(Stdio::piped()).kill_on_drop(true);
        let mut child = command.spawn().expect("the wall starts");
        let out = child.stdout.take().expect("its output is piped");
        Self { child, lines: BufReader::new(out).lines() }
    }

    /// Waits for a line that holds these words, and gives what follows the time in it.
    async fn prints(&mut self, words: &str) -> String {
        soon(words, async {
            loop {
                let line = self.lines.next_line().await.expect("its output can be read");
                let line = line.unwrap_or_else(|| panic!("the wall has ended before: {words}"));
                if line.contains(words) {
                    return line.split_once("  ").map_or(line.clone(), |(_, told)| told.to_owned());
                }
            }
        })
        .await
    }

    /// Waits until it asks to be let in, and has the coach let it in.
    async fn let_in(&mut self, coach: &mut Coach) -> u32 {
        let asks = self.prints("let it in on the coach device").await;
        let number = asks.strip_prefix("Wall ").and_then(|rest| rest.split_once(':'));
        let number = number.and_then(|(number, _)| number.parse().ok()).expect("it says a number");
        let ask = Ask::Wall { number, accept: true };
        assert_eq!(coach.ask(ask).await, Outcome::Done { link: None });
        number
    }

    /// Has it end as a service manager does.
    async fn end(mut self) {
        let pid = self.child.id().expect("it runs").to_string();
        let told = Command::new("kill").args(["-TERM", &pid]).status().await;
        assert!(told.expect("kill can be run").success());
        let status = soon("the wall ends", self.child.wait()).await.expect("it can be waited for");
        assert_eq!(status.code(), Some(0));
    }
}

#[tokio::test]
async fn it_tells_of_the_class_from_the_lead_in_to_the_stop_notice() {
    let (house, data) = (House::start().await, TempDir::new().expect("a folder"));
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = Started::new(&house, data.path());
    wall.let_in(&mut coach).await;
    wall.prints("Gathering · Terminal · 0 in").await;
    let mut phone = house.phone(&class, "Ansa").await;
    wall.prints("Gathering · Terminal · 1 in").await;
    coach.must(Call::Start).await;
    assert_eq!(wall.prints("Lead-in").await, "Lead-in 3 · First tide · Next: Work 4:00 · 1 of 2");
    let work = "Work 4:00 · First tide · Window 1 of 2 · Next: Rest 1:30";
    assert_eq!(wall.prints("Work 4:00 · First").await, work, "the bell goes by itself");
    phone.sees_work(WORK).await;
    phone.tap_kept(WORK, Counts::Round).await;
    assert_eq!(wall.prints("Ansa").await, "First tide · As written · 1 Ansa · 1");
    coach.must(Call::Stop).await;
    wall.prints("Stop · ").await;
    wall.prints("Held ").await;
    wall.end().await;
}

#[tokio::test]
async fn it_goes_on_alone_and_comes_back_by_itself() {
    let (mut house, data) = (House::start().await, TempDir::new().expect("a folder"));
    house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = Started::new(&house, data.path());
    wall.let_in(&mut coach).await;
    coach.must(Call::Start).await;
    wall.prints("Lead-in").await;
    house.kill().await;
    wall.prints("On its own: no connection to the house").await;
    wall.prints("Work 4:00 · First tide").await;
    house.start_again().await;
    wall.prints("Connected again").await;
    wall.end().await;

    // Started anew it is known, though the house is not there yet.
    house.kill().await;
    let mut wall = Started::new(&house, data.path());
    wall.prints("Looking for the house").await;
    house.start_again().await;
    wall.prints("Work 3:").await;
    wall.end().await;
}

#[tokio::test]
async fn a_house_that_does_not_know_it_any_more_is_asked_again() {
    let (house, data) = (House::start().await, TempDir::new().expect("a folder"));
    house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = Started::new(&house, data.path());
    let number = wall.let_in(&mut coach).await;
    wall.prints("Gathering").await;
    coach.ask(Ask::Wall { number, accept: false }).await;
    wall.let_in(&mut coach).await;
    wall.prints("Gathering").await;
    wall.end().await;
    // What it was let in by the second time is what it kept.
    let mut wall = Started::new(&house, data.path());
    wall.prints("Gathering").await;
    wall.end().await;
}
