//! A class from its first bell to the board, and what may happen in between, on the real program.

use floorbell_client::device::TapFate;
use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::{Call, Counts, Reached};
use floorbell_core::ids::{MovementIndex, SegmentIndex};
use floorbell_core::score::{Mark, Standing, Tally, WhyNot};
use floorbell_core::time::Span;
use floorbell_core::wire::{Ask, Outcome, Row};
use floorbell_tests::house::House;
use floorbell_tests::people::{Phone, let_pass, until};

/// Segments: 0 talk, 1 lead-in, 2 work of 4 min, 3 rest of 1 min, 4 work of 4 min.
const SHEET: &str = "\
# Two tides

Slot: 30 min

## Talk: what we do, 1 min

## First tide: AMRAP 4 min

- 11 squat
- 8 push-up
- 7 sit-up

## Rest 1 min

## Second tide: AMRAP 4 min

- 5 burpee
- 5 sit-up
";
const LEAD_IN: SegmentIndex = SegmentIndex(1);
const FIRST: SegmentIndex = SegmentIndex(2);
const REST: SegmentIndex = SegmentIndex(3);
const SECOND: SegmentIndex = SegmentIndex(4);

fn rounds(rounds: u32, extra: u32) -> Tally {
    Tally::Rounds { rounds, extra }
}

/// Waits until a phone shows a segment, and is sure by its own estimate that it has begun.
async fn sees_segment(phone: &mut Phone, segment: SegmentIndex) {
    let begun = until(&mut phone.follower, "the phone shows a segment", |device| {
        match device.phase(floorbell_client::now())? {
            Phase::Running { segment: now, anchor, .. } if now == segment => Some(anchor),
            _ => None,
        }
    })
    .await;
    let_pass(&mut phone.follower, begun).await;
}

fn first_piece(row: &Row) -> (Option<Tally>, Option<u32>) {
    (row.scores[0].tally, row.scores[0].place)
}

fn done() -> Outcome {
    Outcome::Done { link: None }
}

/// All that remains of the work is taken away: its bell goes now.
const BELL_NOW: Call = Call::AddTime { span: Span::from_mins(-10) };

#[tokio::test]
async fn from_the_first_bell_to_the_board() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let mut ansa = house.phone(&class, "Ansa").await;
    let mut birk = house.phone(&class, "Birk").await;
    let mut caro = house.phone(&class, "Caro").await;
    let mut dov = house.scaled_phone(&class, "Dov").await;

    assert_eq!(coach.segment(), None, "people gather until the coach starts");
    coach.go_to(FIRST).await;
    wall.sees_phase("the wall shows work", |phase| phase.segment() == Some(FIRST)).await;
    for (phone, count) in [(&mut ansa, 3), (&mut birk, 3), (&mut caro, 4), (&mut dov, 1)] {
        phone.sees_work(FIRST).await;
        phone.rounds(FIRST, count).await;
        phone.sees_tally(FIRST, rounds(count, 0)).await;
    }

    coach.must(BELL_NOW).await;
    wall.sees_phase("the wall shows the rest", |phase| phase.segment() == Some(REST)).await;
    // Rule 3.7: a round of 11 + 8 + 7; stopped at 4 of the third movement: 11 + 8 + 4 = 23.
    for (phone, movement, reps) in [(&mut ansa, 2, 4), (&mut birk, 2, 4), (&mut dov, 0, 3)] {
        let athlete = phone.athlete;
        let reached = Reached { movement: MovementIndex(movement), reps };
        assert_eq!(phone.ask(Ask::EnterExtra { athlete, segment: FIRST, reached }).await, done());
    }

    // Rules 4.1 to 4.3: more rounds first, equals share a place and the next is skipped, and who
    // scales is ranked among those who scale.
    for (phone, tally, place) in [
        (&caro, rounds(4, 0), 1),
        (&ansa, rounds(3, 23), 2),
        (&birk, rounds(3, 23), 2),
        (&dov, rounds(1, 3), 1),
    ] {
        let what = format!("the wall shows {tally:?} in place {place}");
        wall.sees_row(phone.athlete, &what, |row| first_piece(row) == (Some(tally), Some(place)))
            .await;
    }
    let names = |row: &Row| row.name.clone();
    let state = wall.follower.device().state().expect("the wall has the state");
    let shown: Vec<String> = state.now.rows.iter().map(names).collect();
    assert_eq!(shown, ["Ansa", "Birk", "Caro", "Dov"], "in the order in which they came");
    let block = &state.session.blocks[1];
    assert!(block.cues.is_empty() && block.coach_notes.is_empty(), "the coach's own");

    coach.must(Call::Finish).await;
    assert_eq!(coach.ask(Ask::Close).await, done());
    until(&mut wall.follower, "the wall is told that the class is over", |device| {
        let closed = device.state().is_some_and(|state| state.now.closed);
        (closed || device.no_class().is_some()).then_some(())
    })
    .await;
}

#[tokio::test]
async fn a_tap_is_worth_what_the_clock_did_when_it_was_made() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut phone = house.phone(&class, "Ansa").await;
    coach.go_to(LEAD_IN).await;
    sees_segment(&mut phone, LEAD_IN).await;
    let early = phone.tap_kept(FIRST, Counts::Round).await;
    assert_eq!(early, Standing::NotCounted { why: WhyNot::LeadIn, marked: false });

    coach.must(Call::Next).await;
    phone.sees_work(FIRST).await;
    phone.rounds(FIRST, 2).await;

    coach.must(Call::Hold).await;
    until(&mut phone.follower, "the phone shows the hold", |device| {
        matches!(device.phase(floorbell_client::now())?, Phase::Held { .. }).then_some(())
    })
    .await;
    let at_once = phone.tap_kept(FIRST, Counts::RoundBefore).await;
    assert!(
        matches!(at_once, Standing::Counted { mark: Some(Mark::AfterHold), .. }),
        "made within 2 s after the hold: {at_once:?}"
    );
    phone.sees_tally(FIRST, rounds(3, 0)).await;

    coach.must(Call::Next).await;
    sees_segment(&mut phone, REST).await;
    let after = phone.tap_kept(SECOND, Counts::Round).await;
    assert_eq!(after, Standing::NotCounted { why: WhyNot::NotWork, marked: false });
    phone.sees_tally(FIRST, rounds(3, 0)).await;
}

#[tokio::test]
async fn a_tap_made_out_of_reach_counts_where_it_was_made() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let mut phone = house.phone(&class, "Ansa").await;
    coach.go_to(FIRST).await;
    phone.sees_work(FIRST).await;
    phone.follower.cut();
    let made = phone.tap(FIRST, Counts::Round);
    let taken_back = phone.tap(FIRST, Counts::RoundBefore);
    assert_eq!(phone.follower.device().taps_waiting(), 2);

    let device = phone.follower.device();
    let latest = device.sync().estimate(floorbell_client::now()).expect("the phone has the time");
    let_pass(&mut coach.follower, latest.time + latest.bound).await;
    coach.must(BELL_NOW).await;
    wall.sees_phase("the work is over", |phase| phase.segment() == Some(REST)).await;
    phone.follower.mend();
    for tap in [made, taken_back] {
        let fate = phone.fate(tap).await;
        let counted =
            matches!(fate, TapFate::Kept(Standing::Counted { mark: None | Some(Mark::Quick), .. }));
        assert!(counted, "as made in time: {fate:?}");
    }
    let athlete = phone.athlete;
    wall.sees_row(athlete, "the wall shows both rounds", |row| {
        first_piece(row).0 == Some(rounds(2, 0))
    })
    .await;

    phone.undo(taken_back).await;
    wall.sees_row(athlete, "the wall shows one round", |row| {
        first_piece(row).0 == Some(rounds(1, 0))
    })
    .await;
}

#[tokio::test]
async fn a_call_that_was_a_mistake_is_taken_back_with_its_consequences() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut phone = house.phone(&class, "Ansa").await;
    coach.go_to(FIRST).await;
    phone.sees_work(FIRST).await;
    let next = coach.send(Call::Next);
    assert_eq!(coach.outcome(next).await, done());
    until(&mut coach.follower, "the coach may take it back", |device| {
        device.coach()?.take_back.filter(|call| call.id == next).map(|_| ())
    })
    .await;
    // Made while the class was in the rest by mistake.
    let before = phone.tap_kept(FIRST, Counts::RoundBefore).await;
    assert!(
        matches!(before, Standing::Counted { mark: Some(Mark::AfterBell), .. }),
        "the bell seemed to have gone: {before:?}"
    );
    coach.take_back(next).await;
    assert_eq!(coach.segment(), Some(FIRST));
    phone.sees_tally(FIRST, rounds(1, 0)).await;
    let again = phone.tap_kept(FIRST, Counts::RoundBefore).await;
    assert!(
        matches!(again, Standing::Counted { mark: None, .. }),
        "the work goes on as if nothing had been called: {again:?}"
    );
}

#[tokio::test]
async fn the_coach_counts_for_somebody_without_a_phone() {
    let house = House::start().await;
    house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut wall = house.wall(&mut coach).await;
    let add = Ask::AddAthlete { name: "Edda".into(), at_home: false, here: true };
    assert_eq!(coach.ask(add).await, done());
    let athlete = until(&mut coach.follower, "Edda is in the class", |device| {
        device.coach()?.people.iter().find(|person| person.name == "Edda").map(|it| it.athlete)
    })
    .await;
    coach.go_to(FIRST).await;
    let tally = rounds(5, 2);
    assert_eq!(coach.ask(Ask::SetTally { athlete, segment: FIRST, tally }).await, done());
    wall.sees_row(athlete, "the wall shows Edda's tally", |row| {
        row.name == "Edda" && first_piece(row) == (Some(tally), Some(1))
    })
    .await;
}
