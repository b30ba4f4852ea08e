//! The units that people write, and what they measure.
//!
//! Factors are exact by definition (NIST Special Publication 811, appendix B.8)
//! except where a comment says otherwise.

use hysteron_source::text::any_of;

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// A point on a temperature scale.
    Temperature,
    /// A distance between two temperatures.
    TemperatureDifference,
    /// A length of time.
    Time,
    /// Heat or electricity for each unit of time.
    Power,
    /// Voltage.
    Voltage,
    /// Electrical resistance.
    Resistance,
    /// Mass.
    Mass,
    /// Length.
    Length,
    /// Area.
    Area,
    /// Volume.
    Volume,
    /// Volume for each unit of time.
    AirFlow,
    /// Volume of a liquid for each unit of time.
    Flow,
    /// Speed.
    Speed,
    /// Pressure above vacuum.
    Pressure,
    /// Heat to warm a thing by a kelvin.
    HeatCapacity,
    /// Heat to warm a unit of mass by a kelvin.
    SpecificHeat,
    /// Heat flow for each kelvin.
    Conductance,
    /// Heat flow for each kelvin through a unit of area.
    Transmittance,
    /// Change of temperature for each unit of time.
    TemperatureRate,
    /// A part of a whole.
    Share,
}

impl Dimension {
    /// The dimension in words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Time => "a length of time",
            Self::Power => "a power",
            Self::Voltage => "a voltage",
            Self::Resistance => "a resistance",
            Self::Mass => "a mass",
            Self::Length => "a length",
            Self::Area => "an area",
            Self::Volume => "a volume",
            Self::AirFlow => "an air flow",
            Self::Flow => "a flow",
            Self::Speed => "a speed",
            Self::Pressure => "a pressure",
            Self::HeatCapacity => "a heat capacity",
            Self::SpecificHeat => "a specific heat",
            Self::Conductance => "a conductance of heat",
            Self::Transmittance => "a transmittance of heat",
            Self::TemperatureRate => "a rate of temperature",
            Self::Share => "a share",
        }
    }

    /// The units of this dimension, as a person lists them.
    #[must_use]
    pub fn units(self) -> String {
        let symbols: Vec<&str> = UNITS
            .iter()
            .filter(|unit| unit.dimension == self)
            .map(|unit| unit.symbol)
            .collect();
        any_of(&symbols)
    }

    /// Every way to write a unit of this dimension, as a regular expression.
    #[must_use]
    pub fn pattern(self) -> String {
        let units = UNITS.iter().filter(|unit| unit.dimension == self);
        let symbols =
            units.flat_map(|unit| [unit.symbol].into_iter().chain(unit.also.iter().copied()));
        let escaped: Vec<String> = symbols
            .map(|symbol| symbol.replace('(', "\\(").replace(')', "\\)"))
            .collect();
        format!("(?:{})", escaped.join("|"))
    }
}

/// One unit: `base = (value + offset) × factor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As it is printed.
    pub symbol: &'static str,
    /// Other ways to write it.
    also: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    factor: f64,
    offset: f64,
}

impl Unit {
    /// The unit of this symbol within a dimension.
    #[must_use]
    pub fn of(dimension: Dimension, symbol: &str) -> Option<&'static Self> {
        UNITS
            .iter()
            .find(|unit| unit.dimension == dimension && unit.is_written(symbol))
    }

    /// Every unit of this symbol; "K" and "°F" measure points or differences.
    pub fn all_written(symbol: &str) -> impl Iterator<Item = &'static Self> {
        UNITS.iter().filter(move |unit| unit.is_written(symbol))
    }

    fn is_written(&self, symbol: &str) -> bool {
        self.symbol == symbol || self.also.contains(&symbol)
    }

    /// A value in this unit, in the dimension's base unit.
    #[must_use]
    pub fn to_base(&self, value: f64) -> f64 {
        (value + self.offset) * self.factor
    }

    /// A value in the dimension's base unit, in this unit.
    #[must_use]
    pub fn from_base(&self, base: f64) -> f64 {
        base / self.factor - self.offset
    }
}

const fn unit(
    dimension: Dimension,
    symbol: &'static str,
    also: &'static [&'static str],
    factor: f64,
) -> Unit {
    Unit {
        symbol,
        also,
        dimension,
        factor,
        offset: 0.0,
    }
}

/// A pressure above that of the standard atmosphere, as gauges read it at sea level.
const fn gauge(symbol: &'static str, factor: f64) -> Unit {
    Unit {
        offset: 101.325 / factor,
        ..unit(Dimension::Pressure, symbol, &[], factor)
    }
}

const FOOT_M: f64 = 0.3048;
const INCH_M: f64 = 0.0254;
const POUND_KG: f64 = 0.453_592_37;
/// International table British thermal unit.
const BTU_J: f64 = 1_055.055_852_62;
const US_GALLON_M3: f64 = 231.0 * INCH_M * INCH_M * INCH_M;
/// The pound-force on a square inch.
const PSI_PA: f64 = POUND_KG * 9.806_65 / (INCH_M * INCH_M);
const FAHRENHEIT_K: f64 = 5.0 / 9.0;

/// Base units: °C, K, s, W, V, Ω, kg, m, m², m³, m³/s, L/min, m/s, kPa, J/K, J/(kg·K), W/K, W/(m²·K), K/h, 1.
static UNITS: &[Unit] = &[
    unit(Dimension::Temperature, "°C", &["C", "℃"], 1.0),
    Unit {
        symbol: "°F",
        also: &["F", "℉"],
        dimension: Dimension::Temperature,
        factor: FAHRENHEIT_K,
        offset: -32.0,
    },
    unit(
        Dimension::TemperatureDifference,
        "K",
        &["°C", "C", "℃"],
        1.0,
    ),
    unit(Dimension::TemperatureDifference, "mK", &[], 1e-3),
    unit(
        Dimension::TemperatureDifference,
        "°F",
        &["F", "℉"],
        FAHRENHEIT_K,
    ),
    unit(Dimension::Time, "s", &["sec", "second", "seconds"], 1.0),
    unit(Dimension::Time, "min", &["minute", "minutes"], 60.0),
    unit(Dimension::Time, "h", &["hour", "hours"], 3_600.0),
    unit(Dimension::Time, "d", &["day", "days"], 86_400.0),
    unit(Dimension::Time, "ms", &[], 1e-3),
    unit(Dimension::Power, "W", &[], 1.0),
    unit(Dimension::Power, "kW", &[], 1_000.0),
    unit(Dimension::Power, "Btu/h", &["BTU/h"], BTU_J / 3_600.0),
    // 12,000 Btu/h by definition.
    unit(
        Dimension::Power,
        "tons",
        &["ton"],
        12_000.0 * BTU_J / 3_600.0,
    ),
    unit(Dimension::Voltage, "V", &[], 1.0),
    unit(Dimension::Resistance, "Ω", &["ohm", "ohms", "Ω"], 1.0),
    unit(Dimension::Resistance, "kΩ", &["kohm", "kΩ"], 1_000.0),
    unit(Dimension::Mass, "kg", &[], 1.0),
    unit(Dimension::Mass, "g", &[], 1e-3),
    unit(Dimension::Mass, "lb", &[], POUND_KG),
    unit(Dimension::Length, "m", &[], 1.0),
    unit(Dimension::Length, "cm", &[], 1e-2),
    unit(Dimension::Length, "mm", &[], 1e-3),
    unit(Dimension::Length, "ft", &[], FOOT_M),
    unit(Dimension::Length, "in", &[], INCH_M),
    unit(Dimension::Area, "m²", &["m2"], 1.0),
    unit(Dimension::Area, "ft²", &["ft2"], FOOT_M * FOOT_M),
    unit(Dimension::Volume, "m³", &["m3"], 1.0),
    unit(Dimension::Volume, "L", &["l"], 1e-3),
    unit(Dimension::Volume, "ft³", &["ft3"], FOOT_M * FOOT_M * FOOT_M),
    unit(Dimension::Volume, "US gal", &["gal"], US_GALLON_M3),
    unit(Dimension::AirFlow, "m³/s", &["m3/s"], 1.0),
    unit(Dimension::AirFlow, "m³/h", &["m3/h"], 1.0 / 3_600.0),
    unit(
        Dimension::AirFlow,
        "ft³/min",
        &["ft3/min", "cfm"],
        FOOT_M * FOOT_M * FOOT_M / 60.0,
    ),
    unit(Dimension::Flow, "L/min", &["l/min"], 1.0),
    unit(Dimension::Flow, "L/s", &["l/s"], 60.0),
    unit(
        Dimension::Flow,
        "US gal/min",
        &["gal/min"],
        US_GALLON_M3 * 1_000.0,
    ),
    unit(Dimension::Speed, "m/s", &[], 1.0),
    unit(Dimension::Speed, "ft/min", &[], FOOT_M / 60.0),
    unit(Dimension::Pressure, "kPa", &[], 1.0),
    unit(Dimension::Pressure, "Pa", &[], 1e-3),
    unit(Dimension::Pressure, "bar", &[], 100.0),
    unit(Dimension::Pressure, "psia", &[], PSI_PA / 1_000.0),
    gauge("psig", PSI_PA / 1_000.0),
    gauge("barg", 100.0),
    unit(Dimension::HeatCapacity, "J/K", &[], 1.0),
    unit(Dimension::HeatCapacity, "kJ/K", &[], 1_000.0),
    unit(Dimension::HeatCapacity, "MJ/K", &[], 1e6),
    unit(
        Dimension::SpecificHeat,
        "J/(kg·K)",
        &["J/kgK", "J/(kg K)", "J/kg·K"],
        1.0,
    ),
    unit(
        Dimension::SpecificHeat,
        "kJ/(kg·K)",
        &["kJ/kgK", "kJ/(kg K)", "kJ/kg·K"],
        1_000.0,
    ),
    unit(Dimension::Conductance, "W/K", &[], 1.0),
    unit(Dimension::Conductance, "kW/K", &[], 1_000.0),
    unit(Dimension::Conductance, "mW/K", &[], 1e-3),
    unit(
        Dimension::Transmittance,
        "W/(m²·K)",
        &["W/m2K", "W/(m2 K)", "W/m²K"],
        1.0,
    ),
    unit(Dimension::TemperatureRate, "K/h", &[], 1.0),
    unit(Dimension::TemperatureRate, "K/min", &[], 60.0),
    unit(Dimension::TemperatureRate, "K/d", &[], 1.0 / 24.0),
    unit(Dimension::TemperatureRate, "°F/h", &["F/h"], FAHRENHEIT_K),
    unit(Dimension::Share, "%", &[], 1e-2),
    unit(Dimension::Share, "", &[], 1.0),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn same(dimension: Dimension, one: (f64, &str), other: (f64, &str), within: f64) {
        let base = |(value, symbol): (f64, &str)| {
            Unit::of(dimension, symbol).expect("a unit").to_base(value)
        };
        let (one, other) = (base(one), base(other));
        assert!((one - other).abs() <= within, "{one} {other}");
    }

    /// NIST Special Publication 811 (2008), appendix B.8, to the digits printed there.
    #[test]
    fn factors_are_the_published_ones() {
        same(Dimension::Power, (1.0, "Btu/h"), (0.293_071_1, "W"), 5e-8);
        same(Dimension::Power, (1.0, "ton"), (3_516.853, "W"), 5e-4);
        same(Dimension::Mass, (1.0, "lb"), (0.453_592_4, "kg"), 5e-8);
        same(Dimension::Volume, (1.0, "US gal"), (3.785_412, "L"), 5e-10);
        same(Dimension::Pressure, (1.0, "psia"), (6.894_757, "kPa"), 5e-7);
        same(Dimension::Pressure, (0.0, "psig"), (101.325, "kPa"), 1e-12);
        same(
            Dimension::Pressure,
            (15.0, "psig"),
            (29.695_95, "psia"),
            5e-5,
        );
        same(Dimension::Pressure, (1.0, "barg"), (201.325, "kPa"), 1e-12);
        same(
            Dimension::AirFlow,
            (1.0, "cfm"),
            (4.719_474e-4, "m3/s"),
            5e-11,
        );
        same(Dimension::Area, (1.0, "ft2"), (0.092_903_04, "m2"), 1e-12);
    }

    #[test]
    fn a_point_in_fahrenheit_is_shifted_and_a_difference_is_not() {
        same(Dimension::Temperature, (41.0, "°F"), (5.0, "°C"), 1e-12);
        same(Dimension::Temperature, (-40.0, "°F"), (-40.0, "°C"), 1e-12);
        same(
            Dimension::TemperatureDifference,
            (4.5, "°F"),
            (2.5, "K"),
            1e-12,
        );
        assert_eq!(Unit::of(Dimension::Temperature, "K"), None);
    }

    #[test]
    fn every_unit_leads_to_its_base_and_back() {
        for unit in UNITS {
            let back = unit.from_base(unit.to_base(12.5));
            assert!((back - 12.5).abs() < 1e-12, "{}", unit.symbol);
            assert_eq!(Unit::of(unit.dimension, unit.symbol), Some(unit));
        }
    }
}
