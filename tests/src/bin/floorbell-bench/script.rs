//! A device that taps like a script: lot after lot, without a pause, for as long as it is let.

use floorbell_client::follow::News;
use floorbell_core::class::command::Counts;
use floorbell_core::ids::SegmentIndex;
use floorbell_core::wire::ToDevice;
use floorbell_tests::people::Phone;

/// Taps in one go, which is as many as a device sends again with one exchange.
const LOT: usize = 100;
/// From here on it sends again what was turned away: a device holds 2,000 taps.
const HELD: usize = 1_000;

/// What became of the taps.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Answers {
    /// On disk.
    pub(crate) kept: usize,
    /// Told that it is too much.
    pub(crate) told: usize,
    /// Times that the connection was ended; the script comes back at once.
    pub(crate) ended: usize,
}

impl Answers {
    fn all(&self) -> usize {
        self.kept + self.told
    }
}

/// Taps until so many were answered, each lot once as many were answered as it holds. What is sent
/// again with the device's own exchanges comes on top.
pub(crate) async fn flood(phone: &mut Phone, work: SegmentIndex, taps: usize) -> Answers {
    let mut answers = Answers::default();
    while answers.all() < taps {
        if phone.follower.device().taps_waiting() < HELD {
            for _ in 0..LOT {
                phone.tap(work, Counts::RoundBefore);
            }
        } else {
            phone.follower.device_mut().exchange(floorbell_client::now());
        }
        let answered = answers.all() + LOT;
        while answers.all() < answered {
            match phone.follower.next().await {
                News::Heard(ToDevice::Kept { .. }) => answers.kept += 1,
                News::Heard(ToDevice::NotKept { .. }) => answers.told += 1,
                // The next connection begins with a lot that waits.
                News::Lost(_) => answers.ended += 1,
                News::TurnedAway(status) => panic!("turned away with {status}"),
                News::Connected | News::Heard(_) => {}
            }
        }
    }
    answers
}
