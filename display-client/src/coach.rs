//! A simulated coach: puts people into teams where a piece is for teams, starts the class, calls next
//! wherever the clock waits for it, and lets in every wall that asks.

use core::time::Duration;

use floorbell_core::class::clock::Phase;
use floorbell_core::class::command::Call;
use floorbell_core::ids::{AthleteId, RequestId};
use floorbell_core::session::{Session, Sharing};
use floorbell_core::time::Span;
use floorbell_core::wire::{Ask, Row};
use tokio::sync::watch;
use tokio::time::{Instant, sleep_until};

use crate::api::Address;
use crate::chance;
use crate::clock;
use crate::follow::{As, Follower, News};

/// How often the coach looks at the clock.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// A call that was refused or not answered is thought over for so long before the next.
const BETWEEN_CALLS: Duration = Duration::from_secs(1);

/// How a simulated coach leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Led {
    /// How long people gather before the start.
    pub gather: Duration,
    /// How long a segment without a bell runs at most, before next is called; its planned length
    /// where that is shorter.
    pub open_most: Duration,
    /// How long the clock waits at a bell before next is called.
    pub wait: Duration,
}

/// Leads the open class from its start until it is over, or until `stop` says so. Leaves it open, so
/// that results can be entered and seen.
pub async fn run(address: &Address, token: String, led: Led, mut stop: watch::Receiver<bool>) {
    let mut coach = Coach {
        follower: Follower::new(address.clone(), token, As::Coach),
        led,
        began: Instant::now(),
        next_call: Instant::now(),
        walls: Vec::new(),
    };
    let mut look = Instant::now();
    loop {
        tokio::select! {
            _ = stop.wait_for(|&stop| stop) => return,
            news = coach.follower.next() => if let News::TurnedAway(status) = news {
                tracing::warn!(status, "the coach was turned away");
                return;
            },
            () = sleep_until(look) => {
                look = Instant::now() + LOOK_EVERY;
                if coach.look() {
                    return;
                }
            }
        }
    }
}

struct Coach {
    follower: Follower,
    led: Led,
    began: Instant,
    next_call: Instant,
    /// Numbers of the walls that were let in.
    walls: Vec<u32>,
}

impl Coach {
    /// Looks at the clock and calls what is to be called. Says whether the class is over.
    fn look(&mut self) -> bool {
        self.let_walls_in();
        let now = clock::now();
        let device = self.follower.device();
        let (Some(phase), Some(at)) = (device.phase(now), device.sync().estimate(now)) else {
            return false;
        };
        let call = match phase {
            Phase::Gathering => (self.began.elapsed() >= self.led.gather).then_some(Call::Start),
            Phase::Waiting { since, .. } => {
                (at.time - since >= span(self.led.wait)).then_some(Call::Next)
            }
            Phase::Running { segment, .. } => {
                let planned = device.state().and_then(|state| {
                    let segment = state.now.segments.get(segment.0 as usize)?;
                    segment.length.is_none().then_some(segment.planned)
                });
                let ran = device.class_time(now).unwrap_or_default();
                let most = planned.map(|planned| planned.min(span(self.led.open_most)));
                most.is_some_and(|most| ran >= most).then_some(Call::Next)
            }
            // Somebody else has held it, and will resume it.
            Phase::Held { .. } => None,
            Phase::Done => return true,
        };
        if let Some(call) = call
            && self.next_call <= Instant::now()
        {
            self.next_call = Instant::now() + BETWEEN_CALLS;
            if call == Call::Start {
                self.make_teams();
            }
            // With too many calls unanswered there is no use in another one.
            let _ = self.follower.device_mut().call(RequestId(chance::id()), call, now);
        }
        false
    }

    fn make_teams(&mut self) {
        let device = self.follower.device_mut();
        let teams = device.state().map(|state| teams(&state.session, &state.now.rows));
        if let Some(teams) = teams.filter(|teams| !teams.is_empty()) {
            // With too much unanswered, people count alone.
            let _ = device.ask(RequestId(chance::id()), Ask::Team { teams });
        }
    }

    fn let_walls_in(&mut self) {
        let device = self.follower.device_mut();
        let waiting = device.coach().map(|view| view.walls_waiting.clone()).unwrap_or_default();
        for number in waiting {
            let ask = Ask::Wall { number, accept: true };
            if !self.walls.contains(&number) && device.ask(RequestId(chance::id()), ask).is_ok() {
                self.walls.push(number);
            }
        }
    }
}

/// Teams of the size that the first piece for teams asks for, in the order in which people came; none
/// where there is no such piece, or somebody has made teams already. The last one may be smaller.
fn teams(session: &Session, rows: &[Row]) -> Vec<Vec<AthleteId>> {
    let size = session.blocks.iter().find_map(|block| match block.kind.piece()?.sharing {
        Sharing::Team { size } => Some(size),
        Sharing::Alone => None,
    });
    let Some(size) = size.filter(|_| rows.iter().all(|row| row.team.is_none())) else {
        return Vec::new();
    };
    let people: Vec<AthleteId> = rows.iter().map(|row| row.athlete).collect();
    people.chunks(size.max(1) as usize).map(<[AthleteId]>::to_vec).collect()
}

fn span(duration: Duration) -> Span {
    Span::from_micros(i64::try_from(duration.as_micros()).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{clock, row, state};

    #[test]
    fn people_share_in_the_order_in_which_they_came_unless_there_are_teams() {
        let session = |heading| {
            let sheet = format!("# Tide\n\n## Tide: AMRAP 5 min{heading}\n\n- 3 squat\n");
            state(&sheet, clock(Phase::Gathering)).session
        };
        let mut rows: Vec<Row> =
            ["Ansa", "Birk", "Caro"].map(|name| row(name, 0, None, None)).into();
        let ids: Vec<AthleteId> = rows.iter().map(|row| row.athlete).collect();
        assert_eq!(teams(&session(", in pairs"), &rows), [&ids[..2], &ids[2..]]);
        assert!(teams(&session(""), &rows).is_empty());
        rows[2].team = Some(1);
        assert!(teams(&session(", in pairs"), &rows).is_empty());
    }
}
