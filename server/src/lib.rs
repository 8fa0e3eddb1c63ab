//! The server: one class task per class around the pure core, with the disk, the machine's clocks
//! and the network kept each in a module of its own.

pub mod access;
mod class_task;
pub mod cli;
pub mod clock;
pub mod house;
pub mod http;
pub mod pages;
pub mod qr;
mod socket;
pub mod start;
pub mod store;

#[cfg(test)]
mod testing;
