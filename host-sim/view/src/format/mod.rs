//! The formats of the files that people write, told from the rows that their reader goes by.

pub mod page;
pub mod schema;
pub mod settings_page;

/// A whole scenario that shows every table of the format.
pub const SCENARIO_EXAMPLE: &str = include_str!("examples/scenario.toml");

/// A whole scenario that shows how settings are given.
pub const SETTINGS_EXAMPLE: &str = include_str!("examples/settings.toml");
