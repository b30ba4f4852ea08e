//! Fault finding: which fault explains what a meter showed, and what to measure next.
//!
//! ```text
//! Installation -> hypotheses -> Foreseen (each solved for each Occasion) --+
//!                                                                        v
//! MeterReading (typed, from a file, asked for) -----------------------> Search -> Answer
//! ```
//!
//! A [`hypothesis::Hypothesis`] is nothing wrong, one fault, or two. Every [`measurement::Occasion`]
//! that a mechanic can bring about is solved for each of them, so that a reading can be held
//! against what each would show. [`search::Search`] keeps those that still explain every
//! reading, weighs them, and names the measurement that is expected to tell most.

pub mod answer;
pub mod dialogue;
pub mod foreseen;
pub mod hypothesis;
pub mod information;
pub mod likelihood;
pub mod measurement;
pub mod passive;
pub mod reading_file;
pub mod reading_text;
pub mod search;
pub mod tolerance;
