//! The coach's view: what the class knows of its people, and what the house knows of its
//! devices, put together at most four times a second, encoded once for all coach devices.

use std::sync::{Arc, MutexGuard, PoisonError};
use std::time::Duration;

use floorbell_core::wire::{CoachView, Person, ToDevice};
use tokio::sync::watch;
use tokio::time::timeout;

use super::House;
use super::lobby::Lobby;
use super::outlet::encode;
use crate::access::PairedKind;
use crate::class_task::{ClassHandle, CoachPart};

/// Least time between two views: as fast as a person reads.
const APART: Duration = Duration::from_millis(250);

pub(super) async fn run(house: House) {
    let mut stopping = house.inner.stopping.subscribe();
    let mut lobby = house.lobby();
    let mut part = part_of(&mut lobby);
    loop {
        tokio::select! {
            _ = stopping.wait_for(|stopping| *stopping) => return,
            _ = lobby.changed() => {
                part = part_of(&mut lobby);
            }
            true = changed(&mut part) => {}
            () = house.devices().changed() => {}
        }
        renew(&house);
        if timeout(APART, stopping.wait_for(|stopping| *stopping)).await.is_ok() {
            return;
        }
    }
}

/// The part of the class that is open; to be looked at, whether or not it changes again.
fn part_of(lobby: &mut watch::Receiver<Lobby>) -> Option<watch::Receiver<Arc<CoachPart>>> {
    let mut part = lobby.borrow_and_update().open()?.feed.coach();
    part.mark_changed();
    Some(part)
}

/// Resolves when the class's part has changed. False: it never changes again.
async fn changed(part: &mut Option<watch::Receiver<Arc<CoachPart>>>) -> bool {
    match part {
        Some(part) => part.changed().await.is_ok(),
        None => false,
    }
}

/// Shows coaches how things stand now, if it differs from what they see.
pub(super) fn renew(house: &House) {
    let class = house.inner.lobby.borrow().open().cloned();
    let view = encode(&ToDevice::Coach(Box::new(view(house, class.as_deref()))));
    house.inner.coach.send_if_modified(|shown| std::mem::replace(shown, view.clone()) != view);
}

fn view(house: &House, class: Option<&ClassHandle>) -> CoachView {
    let part = class.map(|class| class.feed.coach().borrow().clone()).unwrap_or_default();
    let heard = class.map(|class| house.devices().heard(class.id)).unwrap_or_default();
    let people = part.people.iter().map(|person| Person {
        heard: heard.get(&person.athlete).copied(),
        ..Person::clone(person)
    });
    CoachView {
        take_back: part.take_back,
        people: people.collect(),
        readings: part.readings.clone(),
        questions: part.questions.clone(),
        walls_waiting: house.inner.waiting.numbers(PairedKind::Wall),
        tablets_waiting: house.inner.waiting.numbers(PairedKind::Tablet),
        devices: house.devices().lines(class.map(|class| class.id), &part.tablets, part.stop),
        warnings: house.came_back().clone().into_iter().chain(part.warning.clone()).collect(),
    }
}

impl House {
    pub(super) fn came_back(&self) -> MutexGuard<'_, Option<String>> {
        self.inner.came_back.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
