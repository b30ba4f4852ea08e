//! The bench: a control in a simulated installation.

pub mod installation;
pub mod plant;
pub mod probe_model;
pub mod scenario;
pub mod source_item;
pub mod source_table;
pub mod source_text;
pub mod thermistor;
