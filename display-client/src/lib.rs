//! What follows a class.
