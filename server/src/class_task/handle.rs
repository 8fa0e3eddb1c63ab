//! The way to a class task.

use std::sync::Arc;

use floorbell_core::ids::ClassId;
use floorbell_core::session::Session;
use floorbell_core::wire::Join;
use tokio::sync::mpsc;

use super::errand::{Errand, No};
use super::feed::Feed;
use super::stream::{Audience, Sessions};
use super::turn::Working;
use super::urgent::Urgent;
use crate::access::ClassCode;

/// Errands that may wait for a turn: every phone of the largest class sends two taps in the time
/// that one slow sync takes. Who finds no room is told to try again.
const ERRANDS_MAX: usize = 512;

/// Stops and holds that may wait: a few coach devices, each touched several times.
const URGENTS_MAX: usize = 64;

/// The way to a class task, and where to look at what it shows.
#[derive(Debug)]
pub(crate) struct ClassHandle {
    pub(crate) id: ClassId,
    pub(crate) code: ClassCode,
    /// The address for phones, code included.
    pub(crate) address: String,
    pub(crate) feed: Arc<Feed>,
    sessions: Arc<Sessions>,
    errands: mpsc::Sender<Errand>,
    urgents: mpsc::Sender<Urgent>,
}

/// Opens the ways to a class whose task is about to start.
pub(super) fn open(
    working: &Working,
    address: &str,
) -> (Arc<ClassHandle>, mpsc::Receiver<Errand>, mpsc::Receiver<Urgent>) {
    let (errands, errands_end) = mpsc::channel(ERRANDS_MAX);
    let (urgents, urgents_end) = mpsc::channel(URGENTS_MAX);
    let sessions = Arc::new(Sessions::new(working.class.session()));
    let code = working.record.code;
    let address = format!("{address}/#c={code}");
    let now = working.shown();
    let join = (!now.closed).then(|| Join { code: code.to_string(), address: address.clone() });
    let id = working.record.id;
    let feed = Arc::new(Feed::new(id, Arc::clone(&sessions), join, now));
    let handle = ClassHandle { id, code, address, feed, sessions, errands, urgents };
    (Arc::new(handle), errands_end, urgents_end)
}

impl ClassHandle {
    /// Whether the class takes people in and calls.
    pub(crate) fn is_open(&self) -> bool {
        !self.feed.coach().borrow().closed
    }

    /// The session as an audience has it.
    pub(crate) fn session(&self, audience: Audience) -> &Session {
        self.sessions.of(audience)
    }

    /// Hands an errand over; if there is no room, it is answered with "not now".
    pub(crate) fn ask(&self, errand: Errand) {
        if let Err(
            mpsc::error::TrySendError::Full(Errand { reply, .. })
            | mpsc::error::TrySendError::Closed(Errand { reply, .. }),
        ) = self.errands.try_send(errand)
        {
            reply.no(No::busy(), true);
        }
    }

    /// Hands a stop or hold over, past all errands.
    pub(crate) fn ask_urgently(&self, urgent: Urgent) {
        if let Err(
            mpsc::error::TrySendError::Full(urgent) | mpsc::error::TrySendError::Closed(urgent),
        ) = self.urgents.try_send(urgent)
        {
            urgent.answer(No::busy().into());
        }
    }
}
