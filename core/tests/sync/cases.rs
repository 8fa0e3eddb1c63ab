//! The recorded cases that the web client shares.

use floorbell_core::sync::{Exchange, Reading, Sync, Taken};
use floorbell_core::time::{DeviceTime, HouseTime, Span};
use serde::Deserialize;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    steps: Vec<Step>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Step {
    Take { exchange: [i64; 4], taken: String },
    Woke { woke: [i64; 2] },
    Read { now: i64, estimate: i64, bound: i64, shown: i64, shown_bound: i64, round_trip: i64 },
}

fn exchange([t0, t1, t2, t3]: [i64; 4]) -> Exchange {
    Exchange {
        t0: DeviceTime::from_micros(t0),
        t1: HouseTime::from_micros(t1),
        t2: HouseTime::from_micros(t2),
        t3: DeviceTime::from_micros(t3),
    }
}

#[test]
fn recorded_cases() {
    let cases: Cases =
        serde_json::from_str(include_str!("../../../display-client/cases/sync.json")).unwrap();
    assert!(!cases.cases.is_empty());
    for case in cases.cases {
        let mut sync = Sync::new(Span::from_micros(1));
        let mut refused = 0;
        for (number, step) in case.steps.into_iter().enumerate() {
            let place = format!("{}: step {number}", case.name);
            match step {
                Step::Take { exchange: times, taken } => {
                    refused += u32::from(taken == "refused");
                    let word = match sync.take(exchange(times)) {
                        Taken::Refused => "refused",
                        Taken::Slewed => "slewed",
                        Taken::Stepped => "stepped",
                    };
                    assert_eq!(word, taken, "{place}");
                    assert_eq!(sync.refused(), refused, "{place}");
                }
                Step::Woke { woke } => {
                    let [passed, doubt] = woke.map(Span::from_micros);
                    sync.woke(passed, doubt);
                }
                Step::Read { now, estimate, bound, shown, shown_bound, round_trip } => {
                    let now = DeviceTime::from_micros(now);
                    near(sync.estimate(now).unwrap(), estimate, bound, &place);
                    near(sync.shown(now).unwrap(), shown, shown_bound, &place);
                    assert_eq!(sync.round_trip(), Some(Span::from_micros(round_trip)), "{place}");
                }
            }
        }
    }
}

fn near(reading: Reading, time: i64, bound: i64, place: &str) {
    let got = (reading.time.as_micros(), reading.bound.as_micros());
    let apart = (got.0 - time).abs().max((got.1 - bound).abs());
    assert!(apart <= 2, "{place}: got {got:?}, expected {:?}", (time, bound));
}

#[test]
fn before_the_first_exchange_nothing_is_known() {
    let mut sync = Sync::new(Span::from_micros(1));
    sync.woke(Span::from_secs(1), Span::from_secs(1));
    let now = DeviceTime::from_micros(0);
    assert_eq!((sync.estimate(now), sync.shown(now), sync.round_trip()), (None, None, None));
}
