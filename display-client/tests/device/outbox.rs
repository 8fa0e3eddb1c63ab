//! Taps that outlive their device: written before they are sent, restored, offered again.

use floorbell_client::device::Device;
use floorbell_client::device::outbox::{Entry, Outbox, Write};
use floorbell_core::class::command::Counts;
use floorbell_core::ids::{ClassId, DeviceId, Generation, TapId};
use floorbell_core::time::Span;
use floorbell_core::wire::{Role, ToDevice};

use crate::{athlete, counted, device, house, said, state, tap, taps, uuid, welcome, working};

/// What stands on a phone's disk, as text.
#[derive(Default)]
struct Disk(Vec<(TapId, String)>);

impl Disk {
    fn write(&mut self, write: &Write) {
        self.0.retain(|(known, _)| *known != write.tap());
        if let Write::Put(entry) = write {
            self.0.push((write.tap(), serde_json::to_string(entry).unwrap()));
        }
    }

    fn entries(&self) -> Vec<Entry> {
        self.0.iter().map(|(_, text)| serde_json::from_str(text).unwrap()).collect()
    }

    /// Does the writes that are due, and tells the phone so.
    fn write_all(&mut self, phone: &mut Device) {
        while let Some(write) = phone.next_write() {
            self.write(&write);
            phone.written(&write);
        }
    }

    /// The phone as it comes up with this disk, before it is connected.
    fn restored(&self) -> Device {
        let outbox = Outbox::restored(self.entries());
        Device::restored(DeviceId(uuid(7)), Span::from_micros(1), outbox)
    }
}

/// It connects and hears everything, in a house whose journal is of the given generation.
fn connects(phone: &mut Device, generation: u128, secs: i64) {
    phone.connected();
    let mut welcome = welcome(Role::Athlete { athlete: athlete() });
    if let ToDevice::Welcome { generation: own, .. } = &mut welcome {
        *own = Generation(uuid(generation));
    }
    phone.heard(&welcome, device(secs));
    let (t0, t1) = (device(secs), house(secs));
    phone.heard(&ToDevice::Sync { t0, t1, t2: t1 }, device(secs));
    phone.heard(&state(10, working()), device(secs));
}

fn sent(phone: &mut Device) -> Vec<TapId> {
    taps(said(phone)).into_iter().map(|tap| tap.id).collect()
}

#[test]
fn a_tap_is_on_the_disk_before_it_is_sent() {
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    connects(&mut phone, 9, 0);
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    assert_eq!(sent(&mut phone), []);
    connects(&mut phone, 9, 61);
    assert_eq!(sent(&mut phone), [], "nor on another connection");
    disk.write_all(&mut phone);
    assert_eq!(sent(&mut phone), [tap(1)]);
    assert_eq!(disk.entries().len(), 1);
}

#[test]
fn what_was_written_goes_out_after_the_phone_was_down() {
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    connects(&mut phone, 9, 0);
    for number in [1, 2] {
        phone.tap(tap(number), Counts::Round, device(60)).unwrap();
    }
    // It goes down when the first is written, and knows nothing of that yet.
    let first = phone.next_write().unwrap();
    disk.write(&first);
    let mut again = disk.restored();
    assert_eq!(again.taps_waiting(), 1);
    again.connected();
    assert_eq!(sent(&mut again), [], "not before the house has said which class it is");
    connects(&mut again, 9, 100);
    assert_eq!(sent(&mut again), [tap(1)]);
    again.heard(&counted(1), device(101));
    disk.write_all(&mut again);

    let mut third = disk.restored();
    connects(&mut third, 9, 200);
    assert_eq!((sent(&mut third), third.taps_waiting()), (Vec::new(), 0), "kept for good");
}

#[test]
fn what_another_journal_kept_is_offered_again() {
    for down_in_between in [false, true] {
        let mut disk = Disk::default();
        let mut phone = disk.restored();
        connects(&mut phone, 9, 0);
        phone.tap(tap(1), Counts::Round, device(60)).unwrap();
        disk.write_all(&mut phone);
        phone.heard(&counted(1), device(61));
        disk.write_all(&mut phone);
        said(&mut phone);
        if down_in_between {
            phone = disk.restored();
        }
        connects(&mut phone, 33, 300);
        assert_eq!((sent(&mut phone), phone.taps_waiting()), (vec![tap(1)], 1));
        phone.heard(&counted(1), device(301));
        connects(&mut phone, 33, 400);
        assert_eq!(sent(&mut phone), [], "once");
    }
}

#[test]
fn taps_of_another_class_stay_where_they_are() {
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    connects(&mut phone, 9, 0);
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    disk.write_all(&mut phone);
    let mut entries = disk.entries();
    entries[0].class = ClassId(uuid(77));
    let outbox = Outbox::restored(entries);
    let mut phone = Device::restored(DeviceId(uuid(7)), Span::from_micros(1), outbox);
    connects(&mut phone, 9, 100);
    assert_eq!((sent(&mut phone), phone.taps_waiting()), (Vec::new(), 1));
}

#[test]
fn many_taps_go_in_several_goes_in_the_order_in_which_they_were_made() {
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    connects(&mut phone, 9, 0);
    phone.lost();
    for number in 0..250 {
        let at = device(300 - i64::try_from(number).unwrap());
        phone.tap_in(crate::WORK, tap(number), Counts::Round, at).unwrap();
    }
    disk.write_all(&mut phone);
    connects(&mut phone, 9, 301);
    let mut goes = vec![sent(&mut phone)];
    for secs in [302, 303, 304] {
        phone.exchange(device(secs));
        goes.push(sent(&mut phone));
    }
    assert_eq!(goes.iter().map(Vec::len).collect::<Vec<_>>(), [100, 100, 50, 0]);
    assert_eq!(goes.concat(), (0..250).rev().map(tap).collect::<Vec<_>>());
}

#[test]
fn what_is_refused_for_good_leaves_the_disk() {
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    connects(&mut phone, 9, 0);
    phone.tap(tap(1), Counts::Round, device(60)).unwrap();
    disk.write_all(&mut phone);
    let (code, text) = ("not-yours".into(), "This phone counts for its own athlete alone.".into());
    phone.heard(&ToDevice::NotKept { tap: tap(1), code, text, again: false }, device(61));
    disk.write_all(&mut phone);
    assert_eq!((disk.entries(), phone.taps_waiting()), (Vec::new(), 0));
}

#[test]
fn kept_taps_stay_a_week() {
    const WEEK: i64 = 7 * 24 * 3600;
    let mut disk = Disk::default();
    let mut phone = disk.restored();
    let mut keep = |number, at| {
        connects(&mut phone, 9, at);
        phone.tap_in(crate::WORK, tap(number), Counts::Round, device(at)).unwrap();
        disk.write_all(&mut phone);
        phone.heard(&counted(number), device(at));
        disk.write_all(&mut phone);
        disk.entries().into_iter().map(|entry| entry.tap.id).collect::<Vec<_>>()
    };
    keep(1, 0);
    assert_eq!(keep(2, WEEK - 1), [tap(1), tap(2)]);
    assert_eq!(keep(3, WEEK + 1), [tap(2), tap(3)]);
}
