//! Places on the board.
