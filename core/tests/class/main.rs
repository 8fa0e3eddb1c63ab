//! The rules of the floor as tests: the class clock (rule 1) and counting (rule 3).

mod calls;
mod counting;
mod floor;
mod formats;
mod placing;
mod properties;
mod recorded;
mod results;
mod settling;
mod take_back;
mod together;
mod trims;
