//! What a cell of a weather file stands for: its unit, its range and the code for "missing".

use std::ops::RangeInclusive;

/// A number as a format writes it.
pub(super) struct Quantity {
    pub(super) name: &'static str,
    /// The unit as written.
    pub(super) unit: &'static str,
    /// The range as written.
    pub(super) range: RangeInclusive<f64>,
    /// What is written for one of our units: 10 where the file counts tenths.
    pub(super) written_per_unit: f64,
    pub(super) missing: Missing,
}

/// No station is so high that it has less, and in this much air cannot boil at 70 °C.
const LOWEST_PRESSURE_PA: f64 = 35_000.0;
const HIGHEST_PRESSURE_PA: f64 = 120_000.0;

/// Which numbers, as written, mean that nothing was observed.
pub(super) enum Missing {
    Never,
    AtLeast(f64),
    AtMost(f64),
}

impl Missing {
    pub(super) fn covers(&self, written: f64) -> bool {
        match self {
            Self::Never => false,
            Self::AtLeast(code) => written.is_finite() && written >= *code,
            Self::AtMost(code) => written.is_finite() && written <= *code,
        }
    }
}

impl Quantity {
    pub(super) const fn celsius(name: &'static str, missing: Missing) -> Self {
        Self {
            name,
            unit: "°C",
            range: -90.0..=70.0,
            written_per_unit: 1.0,
            missing,
        }
    }

    pub(super) const fn tenths_of_celsius(name: &'static str, missing: Missing) -> Self {
        Self {
            name,
            unit: "tenths of °C",
            range: -900.0..=700.0,
            written_per_unit: 10.0,
            missing,
        }
    }

    /// Up to 110 %, as instruments and the EPW dictionary have it.
    pub(super) const fn humidity_percent(missing: Missing) -> Self {
        Self {
            name: "relative humidity",
            unit: "%",
            range: 0.0..=110.0,
            written_per_unit: 1.0,
            missing,
        }
    }

    pub(super) const fn pascal(missing: Missing) -> Self {
        Self {
            name: "station pressure",
            unit: "Pa",
            range: LOWEST_PRESSURE_PA..=HIGHEST_PRESSURE_PA,
            written_per_unit: 1.0,
            missing,
        }
    }

    pub(super) const fn millibar(missing: Missing) -> Self {
        Self {
            name: "station pressure",
            unit: "mbar",
            range: LOWEST_PRESSURE_PA / 100.0..=HIGHEST_PRESSURE_PA / 100.0,
            written_per_unit: 0.01,
            missing,
        }
    }

    const fn place(name: &'static str, unit: &'static str, low: f64, high: f64) -> Self {
        Self {
            name,
            unit,
            range: low..=high,
            written_per_unit: 1.0,
            missing: Missing::Never,
        }
    }

    /// What a person should have written.
    pub(super) fn description(&self) -> String {
        let (low, high) = (self.range.start(), self.range.end());
        format!("{} in {}, {low} to {high}", self.name, self.unit)
    }
}

pub(super) const LATITUDE: Quantity = Quantity::place("latitude", "degrees", -90.0, 90.0);
pub(super) const LONGITUDE: Quantity = Quantity::place("longitude", "degrees", -180.0, 180.0);
pub(super) const TIME_ZONE: Quantity = Quantity::place("time zone", "hours from UTC", -14.0, 14.0);
pub(super) const ELEVATION: Quantity = Quantity::place("elevation", "m", -1000.0, 8000.0);
