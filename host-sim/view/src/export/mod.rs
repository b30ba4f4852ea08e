//! Runs for other programs: tables, waveforms, structured data, test reports.
//!
//! Each writes to any [`std::io::Write`] and stands on a public format.

pub mod csv;
pub mod json;
pub mod junit;
pub mod vcd;

use hysteron_bench::scenario::expectation::Observable;

/// The name of an observable as other programs like it: `probe_reading`.
fn identifier(observable: Observable) -> String {
    observable.name().replace([' ', '-'], "_")
}

/// Its unit in the same way: `c`, `kpa`, `w`.
fn unit_identifier(observable: Observable) -> String {
    observable
        .unit()
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .collect::<String>()
        .to_ascii_lowercase()
}
