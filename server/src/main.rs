//! The floorbell program.

fn main() {}
