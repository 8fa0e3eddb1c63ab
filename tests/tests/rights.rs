//! Who may do what, on the real program: a phone counts for its own athlete and does nothing else.

use floorbell_client::api::{self, ApiError};
use floorbell_client::device::TapFate;
use floorbell_client::follow::{As, Follower, News};
use floorbell_client::random_id;
use floorbell_core::class::command::{Call, Choice, Counts, Seen, Tap};
use floorbell_core::ids::{
    AthleteId, BlockIndex, MovementIndex, RequestId, Revision, SegmentIndex, TapId,
};
use floorbell_core::score::{Standing, Tally};
use floorbell_core::wire::{Ask, FromDevice, NameShown, Outcome};
use floorbell_tests::house::{House, PASSPHRASE};
use floorbell_tests::people::{Phone, until};
use floorbell_tests::soon;

/// Segments: 0 lead-in, 1 work.
const SHEET: &str = "# Rights\n\n## Tide: AMRAP 4 min\n\n- 5 squat\n- 4 push-up\n";
const WORK: SegmentIndex = SegmentIndex(1);

/// Sends a request as it is and says with which code it was refused.
async fn refusal(phone: &mut Phone, message: impl FnOnce(RequestId) -> FromDevice) -> String {
    let id = RequestId(random_id());
    phone.follower.device_mut().request(id, message(id)).expect("the device can ask");
    let outcome =
        until(&mut phone.follower, "the request is answered", |device| device.outcome(id).cloned())
            .await;
    match outcome {
        Outcome::Refused { code, .. } => code,
        done => panic!("a phone may not: {done:?}"),
    }
}

#[tokio::test]
async fn a_phone_makes_no_call_and_asks_for_nothing_of_the_coachs() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut phone = house.phone(&class, "Ansa").await;
    let revision = |coach: &floorbell_tests::people::Coach| {
        coach.follower.device().clock().map(|clock| clock.revision)
    };
    let before = revision(&coach);
    let seen = Seen { segment: None, revision: Revision(0) };
    let calls = [
        Call::Start,
        Call::Hold,
        Call::Resume,
        Call::Next,
        Call::Back,
        Call::Restart,
        Call::AddTime { span: floorbell_core::time::Span::from_secs(30) },
        Call::Jump { to: WORK },
        Call::Finish,
        Call::Stop,
    ];
    for call in calls {
        let code = refusal(&mut phone, |id| FromDevice::Call { id, call, seen }).await;
        assert_eq!(code, "coach-only", "{call:?}");
    }
    let of = RequestId(random_id());
    let code = refusal(&mut phone, |id| FromDevice::TakeBack { id, of }).await;
    assert_eq!(code, "coach-only");
    let athlete = phone.athlete;
    let asks = [
        Ask::AddAthlete { name: "Birk".into(), at_home: true, here: true },
        Ask::RemoveAthlete { athlete },
        Ask::Note { athlete, first_class: true, told_me: true },
        Ask::Trim { segment: WORK, trim: floorbell_core::class::command::Trim::Drop },
        Ask::Swap { block: BlockIndex(0), movement: MovementIndex(0), option: None },
        Ask::Wall { number: 1, accept: true },
        Ask::Answered { question: 1 },
        Ask::Close,
    ];
    for ask in asks {
        let code = refusal(&mut phone, |id| FromDevice::Ask { id, ask: ask.clone() }).await;
        assert_eq!(code, "coach-only", "{ask:?}");
    }
    assert_eq!(revision(&coach), before);
    coach.must(Call::Start).await;
}

#[tokio::test]
async fn a_phone_counts_for_its_own_athlete_alone() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let mut coach = house.coach().await;
    let mut ansa = house.phone(&class, "Ansa").await;
    let mut birk = house.phone(&class, "Birk").await;
    coach.go_to(WORK).await;
    ansa.sees_work(WORK).await;
    ansa.rounds(WORK, 1).await;
    birk.sees_work(WORK).await;

    let nobody = AthleteId(random_id());
    for (whose, why) in [(ansa.athlete, "not-yours"), (nobody, "not-yours")] {
        let device = birk.follower.device_mut();
        let now = device.sync().estimate(floorbell_client::now()).expect("the time");
        let tap = Tap {
            id: TapId(random_id()),
            athlete: whose,
            segment: WORK,
            counts: Counts::Round,
            made_at: now.time,
            bound: now.bound,
            heard: device.clock().expect("the clock").revision,
        };
        let id = tap.id;
        device.send_tap(tap).expect("the device can tap");
        let fate = birk.fate(id).await;
        assert!(matches!(&fate, TapFate::Refused { code, .. } if code == why), "{fate:?}");
    }
    let athlete = ansa.athlete;
    let tally = Tally::Rounds { rounds: 9, extra: 0 };
    for ask in [
        Ask::SetTally { athlete, segment: WORK, tally },
        Ask::ShowName { athlete, shown: NameShown::Nothing },
        Ask::Choose { athlete, choice: Choice { scaled: true, options: Vec::new() } },
    ] {
        let code = refusal(&mut birk, |id| FromDevice::Ask { id, ask: ask.clone() }).await;
        assert_eq!(code, "not-yours", "{ask:?}");
    }
    let standing = birk.tap_kept(WORK, Counts::Round).await;
    assert!(matches!(standing, Standing::Counted { .. }), "their own still counts");
    ansa.sees_tally(WORK, Tally::Rounds { rounds: 1, extra: 0 }).await;
}

#[tokio::test]
async fn a_token_opens_only_the_doors_of_its_role() {
    let house = House::start().await;
    let class = house.open(SHEET).await;
    let phone = house.phone(&class, "Ansa").await;
    let turned_away = async |token: &str, role| {
        let mut follower = Follower::new(house.address().clone(), token.to_owned(), role);
        soon("the house answers", async {
            loop {
                match follower.next().await {
                    News::TurnedAway(status) => return status,
                    News::Connected => panic!("{role:?} let in with {token}"),
                    News::Lost(_) | News::Heard(_) => {}
                }
            }
        })
        .await
    };
    assert_eq!(turned_away(&phone.token, As::Coach).await, 403);
    assert_eq!(turned_away(&phone.token, As::Wall).await, 403);
    assert_eq!(turned_away("no token", As::Athlete).await, 401);
    assert_eq!(turned_away(house.coach_token(), As::Athlete).await, 403);

    let open = api::open_class(house.address(), &phone.token, "tonight").await;
    assert!(matches!(open, Err(ApiError::Refused { status: 403, .. })), "{open:?}");
    let sheet = api::put_sheet(house.address(), &phone.token, "mine", SHEET).await;
    assert!(matches!(sheet, Err(ApiError::Refused { status: 403, .. })), "{sheet:?}");
}

#[tokio::test]
async fn the_way_in_is_shut_to_wrong_codes_and_passphrases() {
    let house = House::start().await;
    house.open(SHEET).await;
    let look = api::look(house.address(), "CCCC-CCCC").await;
    match look {
        Err(ApiError::Refused { status: 404, detail }) => {
            assert!(detail.contains("scan"), "says what to do: {detail}");
        }
        other => panic!("{other:?}"),
    }
    let wrong = api::sign_in(house.address(), "the tide waits for everybody").await;
    assert!(matches!(wrong, Err(ApiError::Refused { status: 401, .. })), "{wrong:?}");
    let again = api::set_up(house.address(), "no token", PASSPHRASE).await;
    assert!(matches!(again, Err(ApiError::Refused { status: 409, .. })), "{again:?}");
    let right = api::sign_in(house.address(), PASSPHRASE).await;
    assert!(right.is_ok(), "{right:?}");
}
