//! One running of a session: `decide` turns a command into events, `apply` turns events into state.

pub mod clock;
pub mod command;
pub mod event;
pub mod refusal;
