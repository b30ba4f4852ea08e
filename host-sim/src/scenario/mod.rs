//! Scenario files, from text to a checked plan.
//!
//! ```text
//! text -> table (with places) -> plan
//! ```

pub mod quantity_text;
pub mod unit;
