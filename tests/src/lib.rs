//! Whole-system tests stand in `tests/`.
