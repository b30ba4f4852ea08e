//! The formats of weather files.

/// Largest file that is read, bytes: ten times the largest of the formats' own.
pub const LARGEST_FILE_BYTES: u64 = 20_000_000;

/// Which of the formats a file was in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeatherFormat {
    /// EnergyPlus weather.
    Epw,
    /// Typical meteorological year, third collection.
    Tmy3,
    /// Typical meteorological year, second collection.
    Tmy2,
}

impl WeatherFormat {
    /// The format's name as people write it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Epw => "EPW",
            Self::Tmy3 => "TMY3",
            Self::Tmy2 => "TMY2",
        }
    }
}
