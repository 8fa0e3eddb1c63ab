//! The writing half: what must be heard goes first, then the newest of everything else.
//!
//! It brings itself in line with the [`Lobby`] whenever that changes: a wall or tally tablet that is
//! let in gets a new welcome and the class, everyone the next class when it opens.

use std::sync::Arc;
use std::time::Duration;

use axum::extract::ws::{Message, Utf8Bytes};
use floorbell_core::wire::{Role, ToDevice};
use futures_util::SinkExt;
use tokio::sync::{broadcast, watch};
use tokio::time::{Instant, Interval, MissedTickBehavior, interval_at, timeout};

use super::{End, Sink, read};
use crate::access::PairedKind;
use crate::class_task::{Audience, ClassHandle, Numbered, Pace};
use crate::house::lobby::Lobby;
use crate::house::outlet::{Goodbye, Inlet, Must, encode};
use crate::house::{House, Identity};

/// How often a quiet device is asked for a sign of life.
const PING_EVERY: Duration = Duration::from_secs(15);

/// A device that takes nothing in for so long is let go.
const TAKEN_WITHIN: Duration = Duration::from_secs(20);

const TAKES_NOTHING: Goodbye =
    Goodbye { code: 1001, reason: "This device took nothing in for 20 s." };

const NO_CLASS: &str = "No class is open. As soon as the coach opens one, it shows here.";
const CLASS_OVER: &str = "Your class has ended. For the next one, scan the code on the wall.";
const TAKEN_OUT: &str =
    "You are not in this class any longer. To come back in, scan the code on the wall.";

/// What a device follows.
enum Following {
    /// Not decided yet.
    Undecided,
    /// Nothing. Whether the device was told why.
    Nothing(Option<&'static str>),
    /// A class, up to the frame of this number.
    Class { class: Arc<ClassHandle>, frames: broadcast::Receiver<Numbered>, number: u64 },
}

/// The writing half of a connection.
pub(super) struct Writer<'a> {
    house: &'a House,
    sink: &'a mut Sink,
    identity: Identity,
    inlet: Inlet,
    lobby: watch::Receiver<Lobby>,
    welcome: Option<ToDevice>,
    following: Following,
    /// The view of a coach, an athlete or a tally tablet: always the newest alone.
    view: Option<watch::Receiver<Utf8Bytes>>,
    ping: Interval,
}

/// Something to write.
enum Due {
    Goodbye(Goodbye),
    Must(Must),
    Lobby,
    View,
    /// The athlete was taken out of the class.
    ViewEnded,
    Frame(Result<Numbered, broadcast::error::RecvError>),
    Ping,
}

impl<'a> Writer<'a> {
    pub(super) fn new(
        house: &'a House,
        sink: &'a mut Sink,
        identity: Identity,
        inlet: Inlet,
    ) -> Self {
        let mut ping = interval_at(Instant::now() + PING_EVERY, PING_EVERY);
        ping.set_missed_tick_behavior(MissedTickBehavior::Delay);
        Self {
            house,
            sink,
            identity,
            inlet,
            lobby: house.lobby(),
            welcome: None,
            following: Following::Undecided,
            view: None,
            ping,
        }
    }

    /// Writes until the connection ends.
    pub(super) async fn run(&mut self) -> Result<(), End> {
        self.come_in_line().await?;
        loop {
            match self.due().await {
                Due::Goodbye(goodbye) => return Err(Some(goodbye)),
                Due::Must(must) => self.must(must).await?,
                Due::Lobby => self.come_in_line().await?,
                Due::View => self.view().await?,
                Due::ViewEnded => self.follow_nothing(Some(TAKEN_OUT)).await?,
                Due::Frame(frame) => self.frame(frame).await?,
                Due::Ping => self.send(Message::Ping(axum::body::Bytes::new())).await?,
            }
        }
    }

    /// Waits for something to write.
    async fn due(&mut self) -> Due {
        tokio::select! {
            biased;
            Ok(goodbye) = self.inlet.goodbye.wait_for(Option::is_some) => {
                goodbye.map_or(Due::Lobby, Due::Goodbye)
            }
            Some(must) = self.inlet.musts.recv() => Due::Must(must),
            Ok(()) = self.lobby.changed() => Due::Lobby,
            ended = ended(&mut self.view) => if ended { Due::ViewEnded } else { Due::View },
            frame = next(&mut self.following) => Due::Frame(frame),
            _ = self.ping.tick() => Due::Ping,
        }
    }

    async fn must(&mut self, must: Must) -> Result<(), End> {
        let text = match must {
            Must::Text(text) => text,
            Must::Sync { t0, t1 } => {
                encode(&ToDevice::Sync { t0, t1, t2: self.house.clock().now() })
            }
        };
        self.send_text(text).await
    }

    /// Welcomes the device if that has changed, and follows what it is to follow.
    async fn come_in_line(&mut self) -> Result<(), End> {
        let (settings, class) = {
            let lobby = self.lobby.borrow_and_update();
            (lobby.settings.clone(), lobby.class_of(&self.identity).cloned())
        };
        // After the lobby: what changes in between is told by the lobby once more.
        let role = self.house.role(&self.identity).ok_or(Some(read::NOT_LET_IN))?;
        let welcome = ToDevice::Welcome {
            role,
            generation: self.house.generation(),
            house: settings.house.to_string(),
            emergency: settings.emergency,
            places: settings.places,
        };
        if self.welcome.as_ref() != Some(&welcome) {
            // It may have been let in while it connected, when it had no seat yet.
            if let Identity::Paired { paired, .. } = self.identity {
                self.house.devices().set_role(paired, role);
            }
            self.send_text(encode(&welcome)).await?;
            self.welcome = Some(welcome);
        }
        match class {
            Some(class) if self.follows(&class) => Ok(()),
            Some(class) => self.follow(class).await,
            None => self.follow_nothing(why_nothing(role)).await,
        }
    }

    fn follows(&self, class: &ClassHandle) -> bool {
        match &self.following {
            Following::Class { class: followed, .. } => followed.id == class.id,
            // An athlete who was taken out of it does not come back on this connection.
            Following::Nothing(why) => *why == Some(TAKEN_OUT),
            Following::Undecided => false,
        }
    }

    async fn follow(&mut self, class: Arc<ClassHandle>) -> Result<(), End> {
        let view = match self.identity {
            Identity::Coach { .. } => Some(self.house.coach_view()),
            Identity::Paired { paired, .. } => match paired.kind {
                PairedKind::Wall => None,
                PairedKind::Tablet => Some(class.feed.tablet(paired.device)),
            },
            Identity::Athlete { athlete, .. } => match class.feed.own(athlete) {
                Some(own) => Some(own),
                None => return self.follow_nothing(Some(TAKEN_OUT)).await,
            },
        };
        let frames = class.feed.frames(self.pace());
        self.following = Following::Class { class, frames, number: 0 };
        self.state().await?;
        self.watch_view(view);
        Ok(())
    }

    async fn follow_nothing(&mut self, why: Option<&'static str>) -> Result<(), End> {
        if let Following::Nothing(told) = self.following
            && told == why
        {
            return Ok(());
        }
        self.following = Following::Nothing(why);
        // Coaches see walls and devices without a class, too.
        let coach = matches!(self.identity, Identity::Coach { .. });
        self.watch_view(coach.then(|| self.house.coach_view()));
        match why {
            Some(text) => {
                self.send_text(encode(&ToDevice::NoClass { text: text.to_owned() })).await
            }
            None => Ok(()),
        }
    }

    fn watch_view(&mut self, mut view: Option<watch::Receiver<Utf8Bytes>>) {
        if let Some(view) = &mut view {
            view.mark_changed();
        }
        self.view = view;
    }

    async fn view(&mut self) -> Result<(), End> {
        let Some(view) = &mut self.view else { return Ok(()) };
        let text = view.borrow_and_update().clone();
        self.send_text(text).await
    }

    async fn frame(
        &mut self,
        frame: Result<Numbered, broadcast::error::RecvError>,
    ) -> Result<(), End> {
        let Following::Class { number, .. } = &mut self.following else { return Ok(()) };
        match frame {
            // In the state that was sent last.
            Ok(frame) if frame.number <= *number => Ok(()),
            Ok(frame) if frame.number == *number + 1 => {
                *number = frame.number;
                self.send_text(frame.text).await
            }
            // Some were missed: the newest state instead.
            Ok(_) | Err(_) => self.state().await,
        }
    }

    /// At which pace the device follows.
    fn pace(&self) -> Pace {
        match self.identity {
            Identity::Coach { .. } | Identity::Paired { .. } => Pace::Quick,
            Identity::Athlete { .. } => Pace::Calm,
        }
    }

    /// Sends the newest full state.
    async fn state(&mut self) -> Result<(), End> {
        let pace = self.pace();
        let Following::Class { class, number, .. } = &mut self.following else { return Ok(()) };
        let snapshot = class.feed.snapshot_at(pace);
        *number = snapshot.number;
        let audience = match self.identity {
            Identity::Coach { .. } => Audience::Coach,
            Identity::Paired { .. } | Identity::Athlete { .. } => Audience::Everyone,
        };
        self.send_text(snapshot.encoded(audience)).await
    }

    async fn send_text(&mut self, text: Utf8Bytes) -> Result<(), End> {
        self.send(Message::Text(text)).await
    }

    async fn send(&mut self, message: Message) -> Result<(), End> {
        match timeout(TAKEN_WITHIN, self.sink.send(message)).await {
            Ok(Ok(())) => Ok(()),
            // The device is gone.
            Ok(Err(_)) => Err(None),
            Err(_) => Err(Some(TAKES_NOTHING)),
        }
    }
}

/// What a device is told that follows nothing. One that waits to be let in is told nothing.
fn why_nothing(role: Role) -> Option<&'static str> {
    match role {
        Role::Wall { accepted: false, .. } | Role::Tablet { accepted: false, .. } => None,
        Role::Coach | Role::Wall { .. } | Role::Tablet { .. } => Some(NO_CLASS),
        Role::Athlete { .. } => Some(CLASS_OVER),
    }
}

/// Resolves when a view has changed, or, with true, ended.
async fn ended(view: &mut Option<watch::Receiver<Utf8Bytes>>) -> bool {
    match view {
        Some(view) => view.changed().await.is_err(),
        None => std::future::pending().await,
    }
}

/// The next frame of the class that is followed.
async fn next(following: &mut Following) -> Result<Numbered, broadcast::error::RecvError> {
    match following {
        Following::Class { frames, .. } => frames.recv().await,
        Following::Nothing(_) | Following::Undecided => std::future::pending().await,
    }
}
