//! Ids of different things are different types. Random ids are 128 bits, made where the thing is
//! made (a tap's on the device, an athlete's on the server); core makes none.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! random_id {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                self.0.fmt(f)
            }
        }
    )*};
}

random_id! {
    /// One running of a session.
    ClassId;
    /// One person on the floor, or at home, in one class.
    AthleteId;
    /// One device: a browser's profile, a tablet, a simulated phone.
    DeviceId;
    /// One tap, made on the device before anything is sent.
    TapId;
    /// One request of a device that is answered once: a call, a correction, a question.
    RequestId;
    /// The life of one journal; another one after a backup has been restored.
    Generation;
}

macro_rules! small_id {
    ($($(#[$doc:meta])* $name:ident($inner:ty);)*) => {$(
        $(#[$doc])*
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
        #[serde(transparent)]
        pub struct $name(#[cfg_attr(feature = "typescript", ts(type = "number"))] pub $inner);

        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                self.0.fmt(f)
            }
        }
    )*};
}

small_id! {
    /// Which block of the session, from 0.
    BlockIndex(u32);
    /// Which segment of the class, from 0. Trimming drops segments without renumbering the others.
    SegmentIndex(u32);
    /// Which movement of a block, from 0.
    MovementIndex(u32);
    /// Which option of a movement, from 0.
    OptionIndex(u32);
    /// Counts the changes that calls made to the class clock; a bell makes none.
    Revision(u64);
    /// An event's number in its class's journal, from 1, without gaps.
    Seq(u64);
}
