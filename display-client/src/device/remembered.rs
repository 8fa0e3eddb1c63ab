//! A memory of bounded size.

use std::collections::VecDeque;

/// What became of taps and requests is remembered for so many of the newest.
const REMEMBERED_MAX: usize = 2_000;

/// The newest [`REMEMBERED_MAX`] of something.
#[derive(Debug)]
pub(super) struct Remembered<Id, What> {
    newest: VecDeque<(Id, What)>,
}

impl<Id: PartialEq, What> Remembered<Id, What> {
    pub(super) fn new() -> Self {
        Self { newest: VecDeque::new() }
    }

    pub(super) fn keep(&mut self, id: Id, what: What) {
        if self.newest.len() >= REMEMBERED_MAX {
            self.newest.pop_front();
        }
        self.newest.push_back((id, what));
    }

    pub(super) fn get(&self, id: &Id) -> Option<&What> {
        self.newest.iter().rev().find(|(known, _)| known == id).map(|(_, what)| what)
    }
}
