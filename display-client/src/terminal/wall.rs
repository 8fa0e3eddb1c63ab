//! What a wall has to show at one instant, and when that changes.

use floorbell_core::class::clock::Plan;
use floorbell_core::ids::BlockIndex;
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::{HouseTime, Span};
use floorbell_core::wire::{Role, State};

use super::board::{Ranked, rankings};
use super::board_view::{MARKED, Moment, TURN, turn};
use super::plan;
use crate::cues::{Cue, CueKind, cues};
use crate::device::Device;
use crate::showing::{Hand, Showing, Standing, showing};

/// How long an announcement stands in words.
const WORDS_STAND: Span = Span::from_secs(6);
/// How long each board stands when the class is done and there are several; a multiple of a page's
/// turn.
const BOARD_TURN: Span = Span::from_secs(18);
/// How far ahead announcements are looked for.
const AHEAD: Span = Span::from_mins(60);

/// What a wall has to show.
#[derive(Clone, Copy, Debug)]
pub struct Wall<'a> {
    /// The house's name; empty before the house was heard.
    pub(super) house: &'a str,
    /// The text of the stop notice, while it stands over everything.
    pub(super) stop: Option<&'a str>,
    /// Whether the class goes on without a connection to the house.
    pub(super) alone: bool,
    pub(super) page: Page<'a>,
}

/// What stands under the stop notice.
#[derive(Clone, Copy, Debug)]
pub(super) enum Page<'a> {
    /// The wall waits to be let in, by this number.
    Pairing(u32),
    /// There is no class, or no house to be found.
    Message { heading: &'static str, text: &'a str },
    /// The class.
    Class(Class<'a>),
}

/// The class at one instant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Class<'a> {
    pub(super) state: &'a State,
    pub(super) plan: &'a Plan,
    pub(super) at: HouseTime,
    pub(super) showing: Showing<'a>,
}

impl<'a> Wall<'a> {
    /// What the wall has to show by what its device knows, at an instant of house time as *shown*; none
    /// until house time is known. `problem` is why the wall was not taken in, as the house said it.
    pub fn of(device: &'a Device, problem: Option<&'a str>, at: Option<HouseTime>) -> Self {
        let (welcome, state) = (device.welcome(), device.state());
        let page = match (welcome.map(|welcome| welcome.role), state, at) {
            (_, Some(state), Some(at)) => {
                let plan = device.plan();
                let showing = showing(&state.now.clock, plan, at);
                Page::Class(Class { state, plan, at, showing })
            }
            (Some(Role::Wall { accepted: false, number }), None, _) => Page::Pairing(number),
            _ => match (problem, device.no_class()) {
                (Some(text), _) => Page::Message { heading: "This wall was not taken in", text },
                (None, Some(text)) => Page::Message { heading: "No class now", text },
                (None, None) => Page::Message {
                    heading: "Looking for the house",
                    text: "This wall comes in by itself as soon as it is found.",
                },
            },
        };
        Self {
            house: welcome.map_or("", |welcome| &welcome.house),
            stop: state
                .filter(|state| state.now.clock.stopped)
                .and(welcome.map(|welcome| &*welcome.emergency)),
            alone: state.is_some() && !device.is_connected(),
            page,
        }
    }

    /// The next instant at which something shown changes although no news comes; none where all stands
    /// still. May be too early, never too late.
    pub fn next_change(&self) -> Option<HouseTime> {
        let Page::Class(class) = &self.page else {
            return None;
        };
        let at = class.at;
        let next_turn = HouseTime::from_micros((turn(at, TURN) as i64 + 1) * TURN.as_micros());
        let standing = match class.showing {
            Showing::Gathering => return None,
            Showing::Done => return Some(next_turn),
            Showing::Standing(standing) => standing,
        };
        let words = class
            .announcements(at - WORDS_STAND, at + AHEAD)
            .flat_map(|cue| [cue.at, cue.at + WORDS_STAND]);
        let scores = class.state.now.rows.iter().flat_map(|row| &row.scores);
        let marks = scores.filter_map(|score| Some(score.last_at? + MARKED));
        let changes = words.chain(marks).chain(standing.next_change(at)).chain([next_turn]);
        changes.filter(|&change| change > at).min()
    }

    /// Whether a bell went after one instant and up to another.
    pub fn rang(&self, after: HouseTime, until: HouseTime) -> bool {
        let (after, until) = (after + Span::from_micros(1), until + Span::from_micros(1));
        match &self.page {
            Page::Class(class) => cues(&class.state.now.clock, class.plan, after, until)
                .iter()
                .any(|cue| cue.kind == CueKind::Bell),
            Page::Pairing(_) | Page::Message { .. } => false,
        }
    }
}

impl Class<'_> {
    /// The announcement that stands in words.
    pub(super) fn said(&self) -> Option<&'static str> {
        let until = self.at + Span::from_micros(1);
        let since = until - WORDS_STAND;
        self.announcements(since, until).last().and_then(|cue| cue.kind.words())
    }

    fn announcements(&self, from: HouseTime, to: HouseTime) -> impl Iterator<Item = Cue> + use<> {
        let cues = cues(&self.state.now.clock, self.plan, from, to);
        cues.into_iter().filter(|cue| cue.kind.words().is_some())
    }

    /// What is ranked when the class is done.
    pub(super) fn done_ranking(&self) -> Option<Ranked> {
        let rankings = rankings(self.state);
        let turn = turn(self.at, BOARD_TURN);
        rankings.get(turn % rankings.len().max(1)).copied()
    }

    /// The piece whose board is shown beside a segment.
    pub(super) fn scored(&self, standing: &Standing<'_>) -> Option<BlockIndex> {
        plan::scored_block(self.state, standing.segment.block)
    }

    /// When the board is shown beside a segment.
    pub(super) fn moment(&self, standing: &Standing<'_>) -> Moment {
        let waits = matches!(standing.hand, Hand::Waiting { .. });
        let working = standing.segment.kind == SegmentKind::Work && !waits;
        Moment { at: self.at, working }
    }
}
