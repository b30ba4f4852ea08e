//! Seeds: what all chance of a run is drawn from.

/// The highest seed; the lowest is 0.
pub const HIGHEST: u32 = u32::MAX;

/// Reads a seed as a person writes it.
///
/// # Errors
/// With what was expected.
pub fn read(text: &str) -> Result<u64, String> {
    let seed = text.trim().parse::<u32>().map(u64::from);
    seed.map_err(|_| format!("a seed is a whole number from 0 to {HIGHEST}"))
}
