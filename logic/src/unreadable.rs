//! Why bytes could not be read.

use crate::refusal::Refused;

/// Why bytes could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Unreadable {
    /// Too few or too many bytes.
    Length,
    /// Another kind of record, or a version this code does not know.
    Kind,
    /// The checksum does not match: a torn write or a worn cell.
    Checksum,
    /// A choice that has no such number.
    Choice,
    /// Coefficients that describe no thermistor.
    Coefficients,
    /// Settings that do not make sense together.
    Refused(Refused),
}

impl From<Refused> for Unreadable {
    fn from(refused: Refused) -> Self {
        Self::Refused(refused)
    }
}
