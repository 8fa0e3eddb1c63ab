//! The class itself: from the session sheet to segments, the class clock, counting and the board.
//!
//! Pure on purpose: nothing here reads a clock, a random source, a file or a socket. `now` is an
//! argument, ids come in with the commands, and the same journal gives the same state on every
//! machine. The shell around it lives in the server and in the display client.

pub mod class;
pub mod ids;
pub mod name;
pub mod review;
pub mod score;
pub mod session;
pub mod sheet;
pub mod sync;
pub mod time;
pub mod wire;
