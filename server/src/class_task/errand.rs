//! What a class task is asked to do, by whom, and where the answer goes.

use std::fmt;

use floorbell_core::class::command::{Actor, Choice, Command};
use floorbell_core::class::refusal::Refusal;
use floorbell_core::ids::{AthleteId, ClassId, RequestId, TapId};
use floorbell_core::name::Name;
use floorbell_core::score::Standing;
use floorbell_core::wire::{NameShown, Outcome, ToDevice};
use tokio::sync::oneshot;

use crate::house::outlet::Outlet;
use crate::house::{HouseProblem, Joined, Newcomer};

/// One thing to do.
#[derive(Debug)]
pub(crate) struct Errand {
    /// Who asks.
    pub(crate) by: Actor,
    /// What for.
    pub(crate) deed: Deed,
    /// Where the answer goes.
    pub(crate) reply: Reply,
}

/// What can be asked of a class task: commands to the class, and changes to who its people are.
#[derive(Clone, Debug)]
pub(crate) enum Deed {
    /// A command that the class decides. Stop and hold go by [`super::urgent::Urgent`].
    Command(Command),
    /// Somebody comes in by the class code.
    ComeIn { who: Newcomer, choice: Option<Choice>, at_home: bool },
    /// Somebody comes in by their personal link, perhaps again.
    ComeByLink(AthleteId),
    /// The coach adds somebody.
    Add { name: Name, at_home: bool, here: bool },
    /// The coach takes somebody out.
    Remove(AthleteId),
    /// What the wall shows of a name.
    ShowName { athlete: AthleteId, shown: NameShown },
    /// The coach's marks on a person.
    Note { athlete: AthleteId, first_class: bool, told_me: bool },
    /// A question to the coach.
    Question(String),
    /// A question was dealt with.
    Answered(u32),
}

/// Where an answer goes.
#[derive(Debug)]
pub(crate) enum Reply {
    /// To a device that asked under this id.
    Device(Outlet, RequestId),
    /// To a device that sent this tap for this athlete.
    Tap(Outlet, AthleteId, TapId),
    /// To a web route by which somebody comes in.
    Came(oneshot::Sender<Result<Joined, HouseProblem>>),
}

/// What a deed brought, for the one who asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Yes {
    /// It is done.
    Done,
    /// It is done, and this is the personal link.
    Link(String),
    /// This is who came in.
    Came(AthleteId),
}

/// Why a deed was not done. Nothing has changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct No {
    /// A short word that never changes.
    pub(crate) code: &'static str,
    /// A sentence that says what to do.
    pub(crate) text: String,
}

impl No {
    pub(crate) fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, text: text.into() }
    }

    /// The athlete is not on record.
    pub(crate) fn nobody() -> Self {
        Refusal::NoSuchAthlete.into()
    }

    /// The disk refuses. `why` is a sentence.
    pub(crate) fn disk(why: impl fmt::Display) -> Self {
        Self::new("disk", format!("Nothing was changed. {why}"))
    }

    /// More is asked than the class can take at once.
    pub(crate) fn busy() -> Self {
        Self::new("busy", "The server is busy: try again in a moment.")
    }
}

impl From<Refusal> for No {
    fn from(refusal: Refusal) -> Self {
        Self::new(refusal.code(), refusal.to_string())
    }
}

impl From<No> for Outcome {
    fn from(no: No) -> Self {
        Self::Refused { code: no.code.to_owned(), text: no.text }
    }
}

impl From<Yes> for Outcome {
    fn from(yes: Yes) -> Self {
        match yes {
            Yes::Done | Yes::Came(_) => Self::Done { link: None },
            Yes::Link(link) => Self::Done { link: Some(link) },
        }
    }
}

impl Reply {
    /// Answers that it was not done. `again` says whether asking again may help: a tap then stays
    /// on its device.
    pub(crate) fn no(self, no: No, again: bool) {
        let No { code, text } = no;
        match self {
            Self::Device(outlet, to) => {
                let outcome = Outcome::Refused { code: code.to_owned(), text };
                outlet.send(&ToDevice::Answer { to, outcome });
            }
            Self::Tap(outlet, _, tap) => {
                outlet.send(&ToDevice::NotKept { tap, code: code.to_owned(), text, again });
            }
            // Who asked may have gone.
            Self::Came(answer) => drop(answer.send(Err(if again {
                HouseProblem::Disk(text)
            } else {
                HouseProblem::Refused { code, text }
            }))),
        }
    }
}

/// An answer that waits for the turn to be on disk.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) reply: Reply,
    pub(crate) result: Result<Yes, No>,
}

impl Answer {
    /// Sends it. `standing` says what a tap is worth, now that all taps of the turn are in.
    pub(crate) fn send(
        self,
        class: ClassId,
        standing: impl FnOnce(AthleteId, TapId) -> Option<Standing>,
    ) {
        match (self.reply, self.result) {
            (reply, Err(no)) => reply.no(no, false),
            (Reply::Device(outlet, to), Ok(yes)) => {
                outlet.send(&ToDevice::Answer { to, outcome: yes.into() });
            }
            (Reply::Tap(outlet, athlete, tap), Ok(_)) => match standing(athlete, tap) {
                Some(standing) => outlet.send(&ToDevice::Kept { tap, standing }),
                // Its athlete was taken out of the class in the same turn.
                None => Reply::Tap(outlet, athlete, tap).no(No::nobody(), false),
            },
            (Reply::Came(answer), Ok(yes)) => {
                // They are in, whether or not who asked is still there.
                drop(answer.send(match yes {
                    Yes::Came(athlete) => Ok(Joined { class, athlete }),
                    Yes::Done | Yes::Link(_) => Err(HouseProblem::NoSuchClass),
                }));
            }
        }
    }
}
