//! Scenario files, from text to a checked plan.
//!
//! ```text
//! text -> table (with places) -> plan
//! ```
//!
//! [`plan::Plan::read`] is the way in. Each `..._table` file reads one kind of
//! table; the other files hold what they are read into.

pub mod ambient_table;
pub mod bundled;
mod control_table;
pub mod edit;
pub mod expectation;
mod expectation_table;
pub mod happening;
mod happening_table;
pub mod plan;
pub mod plant_table;
pub mod probe_table;
pub mod quantity_text;
mod schedule;
mod timeline;
pub mod unit;
mod written_settings;
