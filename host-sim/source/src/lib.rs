//! What a person wrote, read with a place for every complaint.
//!
//! [`text`] holds it, [`table`] and [`item`] hand out what is in it, and a problem names file,
//! line and column, what was expected there and what to do.

pub mod cells;
pub mod entry;
pub mod form;
pub mod item;
pub mod letters;
mod lines;
mod problem;
pub mod table;
pub mod text;
