//! Every format as a coach would check it: what is counted on the floor, and the board that comes of
//! it. Each line of a story begins with the class time of the window under way.

use core::fmt::Write as _;

use floorbell_core::class::command::{Call, Command, Counts, Reached};
use floorbell_core::ids::{MovementIndex, SegmentIndex};
use floorbell_core::score::{Scoring, Tally};
use floorbell_core::session::Unit;
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::HouseTime;

use crate::floor::{COACH, Floor, at, athlete, phone, secs};

const NAMES: [&str; 4] = ["Ann", "Bea", "Cal", "Dan"];

/// A class on the first piece of a sheet, with everybody in it.
struct Story {
    floor: Floor,
    /// The window under way, or the last one.
    window: SegmentIndex,
    began: HouseTime,
}

impl Story {
    fn of(piece: &str) -> Self {
        let mut floor =
            Floor::of(&format!("# Evening\n\n## {piece}\n\n## Rest 5 min, then wait\n"));
        for number in 1..=NAMES.len() {
            floor.join(number as u128);
        }
        floor.call(Call::Start).expect("starts");
        floor.pass(secs(10));
        let (window, began) = (floor.work(), floor.now);
        Self { floor, window, began }
    }

    /// Does one line of the story.
    fn tell(&mut self, line: &str) {
        let (when, what) = line.split_once(' ').unwrap_or((line, ""));
        match when {
            "bell" => self.until(|floor| floor.kind() != Some(SegmentKind::Work)),
            "next" => {
                let before = self.window;
                self.until(|floor| {
                    floor.kind() == Some(SegmentKind::Work)
                        && floor.class.clock().phase.segment() != Some(before)
                });
                self.window = self.floor.class.clock().phase.segment().expect("in work");
                self.began = self.floor.now;
            }
            "after" => self.done(what),
            time => {
                let until = self.began + at(time);
                self.floor.pass(until - self.floor.now);
                self.done(what);
            }
        }
    }

    fn until(&mut self, there: impl Fn(&Floor) -> bool) {
        while !there(&self.floor) {
            self.floor.pass(secs(1));
        }
    }

    /// `Ann round`, `Bea 10`, `Cal finish`, `Ann 82.5 kg good`, `Ann reached 4 of movement 3`.
    fn done(&mut self, what: &str) {
        let words: Vec<&str> = what.split(' ').collect();
        let place = NAMES.iter().position(|name| *name == words[0]).expect("somebody of the story");
        let number = place as u128 + 1;
        let counts = match words[1..] {
            ["round"] => Counts::Round,
            ["finish"] => Counts::Finish,
            [load, "kg", good] => Counts::Attempt { grams: grams(load), good: good == "good" },
            ["reached", reps, "of", "movement", movement] => {
                let movement = MovementIndex(movement.parse::<u32>().expect("a number") - 1);
                let reached = Reached { movement, reps: reps.parse().expect("a number") };
                let (athlete, segment) = (athlete(number), self.window);
                let enter = Command::EnterExtra { athlete, segment, reached };
                self.floor.ask(phone(number), enter).expect("can be entered");
                return;
            }
            [amount] => Counts::Amount { amount: amount.parse().expect("a number") },
            _ => panic!("nobody does this: {what}"),
        };
        let mut tap = self.floor.tap_made(number, self.window, self.floor.now);
        tap.counts = counts;
        self.floor.late(&tap);
    }

    /// Places and tallies, the best first, then who has none; equals in the order in which they
    /// came.
    fn board(&self) -> String {
        let mut rows = self.floor.class.rows();
        rows.sort_by_key(|row| row.scores[0].place.unwrap_or(u32::MAX));
        let mut board = String::new();
        for row in rows {
            let name = NAMES[row.athlete.0.as_u128() as usize - 0xa001];
            let score = &row.scores[0];
            match (score.place, score.tally) {
                (Some(place), Some(tally)) => {
                    let _ = writeln!(board, "{place} {name} {}", words(tally));
                }
                _ => {
                    let _ = writeln!(board, "– {name}");
                }
            }
        }
        board
    }
}

fn grams(kilograms: &str) -> i32 {
    (kilograms.parse::<f64>().expect("kilograms") * 1_000.0) as i32
}

fn words(tally: Tally) -> String {
    match tally {
        Tally::Rounds { rounds, extra } => format!("{rounds} + {extra}"),
        Tally::Finished { time } => time.to_string(),
        Tally::AtCap { reps } => format!("cap, {reps} reps"),
        Tally::Load { grams } => format!("{} kg", f64::from(grams) / 1_000.0),
        Tally::Count { amount } => amount.to_string(),
        Tally::Made { made, of } => format!("{made} of {of}"),
        Tally::Done => "done".to_owned(),
    }
}

/// Tells a story and compares the board that comes of it.
fn check(piece: &str, story: &str, board: &str) {
    let lines = |text: &str| -> Vec<String> {
        text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
    };
    let mut told = Story::of(piece);
    for line in lines(story) {
        told.tell(&line);
    }
    assert_eq!(lines(&told.board()), lines(board), "{piece}");
    told.floor.check_replay();
}

#[test]
fn amrap_by_rounds_then_extra_reps() {
    check(
        "Quay: AMRAP 3 min\n\n- 11 squat\n- 8 push-up\n- 7 sit-up",
        "0:50 Ann round
         0:52 Bea round
         1:45 Ann round
         1:50 Bea round
         2:10 Cal round
         bell
         after Ann reached 4 of movement 3
         after Bea reached 5 of movement 2
         after Cal reached 7 of movement 3",
        // 11 + 8 + 4 = 23; a whole round more is a round: 1 + 26 is 2 + 0.
        "1 Ann 2 + 23
         2 Bea 2 + 16
         3 Cal 2 + 0
         – Dan",
    );
}

#[test]
fn a_ladder_by_reps() {
    check(
        "Steps: AMRAP 7 min, ladder 4-8-12-…\n\n- thruster\n- burpee",
        "0:20 Ann round
         1:10 Ann round
         2:30 Ann round
         5:00 Ann round
         0:30 Bea round
         bell
         after Ann reached 7 of movement 1",
        "1 Ann 4 + 7
         2 Bea 1 + 0
         – Cal
         – Dan",
    );
}

#[test]
fn one_movement_by_its_own_unit() {
    check(
        "Pier: AMRAP 6 min\n\n- carry 120 m",
        "0:45 Ann round
         1:30 Ann round
         2:20 Ann round
         3:10 Ann round
         4:00 Ann round
         4:50 Ann round
         5:40 Ann round
         0:50 Bea 120
         bell
         after Ann reached 45 of movement 1",
        // Seven trips of 120 m and 45 m.
        "1 Ann 885
         2 Bea 120
         – Cal
         – Dan",
    );
}

#[test]
fn max_count_by_ones_fives_and_tens() {
    check(
        "Swell: max calories in 2 min\n\n- row",
        "0:10 Ann 1
         0:10 Ann 5
         0:30 Bea 10
         0:40 Ann 10
         1:00 Cal 10",
        "1 Ann 16
         2 Bea 10
         2 Cal 10
         – Dan",
    );
}

#[test]
fn for_time_finishers_first_then_reps_at_the_cap() {
    check(
        "Locks: 3 rounds for time, cap 6 min\n\n- 11 squat\n- 8 push-up",
        "1:50 Ann round
         3:40 Ann round
         5:30 Ann finish
         5:20 Bea finish
         1:55 Cal round
         3:55 Cal round
         2:00 Dan round
         bell
         after Cal reached 3 of movement 2",
        // Two rounds of 19, and 11 + 3.
        "1 Bea 5:20
         2 Ann 5:30
         3 Cal cap, 52 reps
         4 Dan cap, 19 reps",
    );
}

#[test]
fn a_cap_that_was_moved_is_the_cap() {
    let mut told = Story::of("Locks: 3 rounds for time, cap 6 min\n\n- 11 squat\n- 8 push-up");
    told.floor.call(Call::AddTime { span: secs(60) }).expect("adds a minute");
    told.tell("6:30 Ann finish");
    assert_eq!(told.floor.tally(1), Some(Tally::Finished { time: at("6:30") }));
    let (athlete, segment) = (athlete(2), told.window);
    let mut set = |time| {
        let tally = Tally::Finished { time };
        told.floor.ask(COACH, Command::SetTally { athlete, segment, tally })
    };
    assert!(set(at("6:59")).is_ok());
    assert!(set(at("7:01")).is_err());
}

#[test]
fn for_time_with_a_row_of_rounds() {
    check(
        "Bollards: 20-16-12 for time, cap 6 min\n\n- swing\n- lunge",
        "1:50 Ann round
         3:40 Ann round
         bell
         after Ann reached 5 of movement 2",
        // 40 + 32, then 12 of the first and 5 of the second.
        "1 Ann cap, 89 reps
         – Bea
         – Cal
         – Dan",
    );
}

#[test]
fn every_minute_by_what_was_made() {
    check(
        "Bells: every minute on the minute for 3 min\n\n- 8 swing",
        "0:40 Ann round
         0:45 Ann round
         0:50 Bea round
         next
         0:35 Ann round
         next
         0:35 Bea round
         0:40 Ann round",
        // The second tap of Ann in one minute makes nothing more.
        "1 Ann 3 of 3
         2 Bea 2 of 3
         – Cal
         – Dan",
    );
}

#[test]
fn intervals_by_their_total() {
    check(
        "Mooring: 3 × (20 s work, 10 s rest)\n\n- row for calories",
        "0:15 Ann 6
         0:15 Bea 7
         next
         0:15 Ann 6
         0:15 Bea 4
         next
         0:15 Ann 5
         bell",
        "1 Ann 17
         2 Bea 11
         – Cal
         – Dan",
    );
}

#[test]
fn what_intervals_are_counted_in() {
    for (movement, expected) in [
        ("row for calories", Unit::Calories),
        ("ski machine for metres", Unit::Metres),
        ("12 cal row", Unit::Calories),
        ("squat", Unit::Reps),
        ("look for trouble", Unit::Reps),
    ] {
        let told = Story::of(&format!("Mooring: 3 × (20 s work, 10 s rest)\n\n- {movement}"));
        let scoring = told.floor.class.scoring_of(told.window);
        assert_eq!(scoring, Some(Scoring::Amount { unit: expected, step: 1 }), "{movement}");
    }
}

#[test]
fn intervals_by_the_lowest() {
    check(
        "Mooring: 3 × (20 s work, 10 s rest)\n\nScore: lowest\n\n- squat",
        "0:15 Ann 10
         0:15 Bea 14
         0:15 Cal 20
         next
         0:15 Ann 9
         0:15 Bea 8
         next
         0:15 Ann 9
         0:15 Bea 8
         0:15 Cal 20
         bell",
        // Cal missed one.
        "1 Ann 9
         2 Bea 8
         3 Cal 0
         – Dan",
    );
}

#[test]
fn the_heaviest_good_attempt() {
    check(
        "Anchor: build to a heavy set of 3 in 10 min\n\n- pull-up",
        "1:00 Ann 80 kg good
         3:00 Ann 85 kg good
         5:00 Ann 90 kg no-lift
         1:00 Bea 0 kg good
         2:00 Cal -15 kg good
         4:00 Dan 100 kg no-lift",
        // No weight is more than assistance; who has no good attempt has no place.
        "1 Ann 85 kg
         2 Bea 0 kg
         3 Cal -15 kg
         – Dan",
    );
}

#[test]
fn windows_together() {
    check(
        "Tides: AMRAP 1 min, 2 times, rest 30 s between\n\n- 5 squat\n- 5 lunge",
        "0:20 Ann round
         0:40 Ann round
         0:30 Bea round
         bell
         after Bea reached 4 of movement 1
         next
         0:30 Ann round
         0:20 Bea round
         0:50 Bea round",
        "1 Bea 3 + 4
         2 Ann 3 + 0
         – Cal
         – Dan",
    );
}

#[test]
fn windows_one_by_one() {
    let piece = "Tides: AMRAP 1 min, 2 times, rest 30 s between\n\nScore: one by one\n\n\
                 - 5 squat\n- 5 lunge";
    let mut told = Story::of(piece);
    for line in [
        "0:15 Ann round",
        "0:30 Ann round",
        "0:45 Ann round",
        "0:30 Bea round",
        "0:50 Bea round",
        "0:50 Cal round",
        "next",
        "0:30 Bea round",
        "0:50 Bea round",
        "0:30 Cal round",
    ] {
        told.tell(line);
    }
    let rows = told.floor.class.rows();
    let places = |number: usize| -> Vec<Option<u32>> {
        rows[number].scores[0].windows.iter().map(|window| window.place).collect()
    };
    assert_eq!(places(0), [Some(1), None]);
    assert_eq!(places(1), [Some(2), Some(1)]);
    assert_eq!(places(2), [Some(3), Some(2)]);
    // Bea 2 + 1 = 3; Ann 1 and a missed one of two, 3, are 4; Cal 3 + 2 = 5.
    let together: Vec<_> = rows.iter().map(|row| row.scores[0].place).collect();
    assert_eq!(together, [Some(2), Some(1), Some(3), None]);
    let overall: Vec<_> = rows.iter().map(|row| row.overall).collect();
    assert_eq!(overall, together, "each window counts for the whole class");
}

#[test]
fn quality_is_done_and_has_no_places() {
    let mut told = Story::of("Knots: quality for 5 min\n\n- 5 get-up");
    told.tell("2:00 Ann finish");
    assert_eq!(told.floor.tally(1), Some(Tally::Done));
    assert!(told.floor.class.rows().iter().all(|row| row.scores.is_empty()));
}

#[test]
fn first_there_splits_equals_where_the_sheet_asks_for_it() {
    let story = "0:40 Bea round
                 0:50 Ann round
                 bell";
    let sheet = |ties| format!("Quay: AMRAP 1 min\n\n{ties}\n\n- 5 squat\n- 5 lunge");
    check(&sheet("Aim: steady"), story, "1 Ann 1 + 0\n1 Bea 1 + 0\n– Cal\n– Dan");
    check(&sheet("Ties: first there"), story, "1 Bea 1 + 0\n2 Ann 1 + 0\n– Cal\n– Dan");
}

#[test]
fn the_whole_class_by_reps() {
    let mut floor = Floor::of(
        "# Evening\n\nWhole class: reps\n\n## Quay: AMRAP 1 min\n\n- 5 squat\n- 5 lunge\n\n\
         ## Rest 1 min\n\n## Swell: max reps in 1 min\n\n- burpee\n",
    );
    (1..=2).for_each(|number| floor.join(number));
    floor.call(Call::Start).expect("starts");
    floor.pass(secs(40));
    floor.tap(1);
    floor.pass(at("2:00"));
    for (number, amount) in [(1, 9), (2, 20)] {
        let mut tap = floor.tap_now(number);
        tap.counts = Counts::Amount { amount };
        floor.late(&tap);
    }
    let reps: Vec<_> = floor.class.rows().iter().map(|row| row.total_reps).collect();
    assert_eq!(reps, [Some(19), Some(20)]);
    let overall: Vec<_> = floor.class.rows().iter().map(|row| row.overall).collect();
    assert_eq!(overall, [Some(2), Some(1)]);
}

#[test]
fn what_lies_outside_its_unit_is_refused_with_the_range() {
    let refused = |piece: &str, tally: Tally| {
        let mut told = Story::of(piece);
        told.tell("bell");
        let (athlete, segment) = (athlete(1), told.window);
        let set = Command::SetTally { athlete, segment, tally };
        told.floor.ask(COACH, set).map_err(|refusal| refusal.to_string())
    };
    let load = "Anchor: build to a heavy single in 1 min\n\n- deadlift";
    let time = "Locks: 3 rounds for time, cap 6 min\n\n- 11 squat\n- 8 push-up";
    let count = "Swell: max metres in 2 min, in teams of 4\n\n- row";
    for (piece, tally, expected) in [
        (load, Tally::Load { grams: 1_000_001 }, "Grams: a whole number from -1000000 to 1000000."),
        (
            time,
            Tally::Finished { time: secs(-1) },
            "Seconds up to the cap: a whole number from 0 to 360.",
        ),
        (
            time,
            Tally::Finished { time: secs(361) },
            "Seconds up to the cap: a whole number from 0 to 360.",
        ),
        (count, Tally::Count { amount: 100_001 }, "Amount: a whole number from 0 to 100000."),
        (count, Tally::Done, "This piece is scored in another way."),
    ] {
        assert_eq!(refused(piece, tally), Err(expected.to_owned()));
    }
    assert!(refused(load, Tally::Load { grams: 0 }).is_ok(), "unweighted");
    assert!(refused(load, Tally::Load { grams: -20_000 }).is_ok(), "assistance");
    assert!(refused(count, Tally::Count { amount: 12_400 }).is_ok(), "a team's metres");
}
