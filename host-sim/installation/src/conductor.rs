//! Copper conductors.

use std::f64::consts::PI;

use super::terminal::TerminalId;

/// A wire size of the American Wire Gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Gauge(u8);

impl Gauge {
    /// The sizes an installation file may name.
    pub const SIZES: [u8; 8] = [4, 6, 8, 10, 12, 14, 16, 18];

    /// Where [`Self::ampacity_a`] has its figures.
    pub const AMPACITY_SOURCE: &str = "NEC table 310.16 and 240.4(D), from memory";

    /// The size with this number, if it is one of [`Self::SIZES`].
    #[must_use]
    pub fn new(number: u8) -> Option<Self> {
        Self::SIZES.contains(&number).then_some(Self(number))
    }

    /// The number of the size.
    #[must_use]
    pub fn number(self) -> u8 {
        self.0
    }

    /// Resistance of copper at 20 degrees C, in ohms for each metre.
    ///
    /// The diameter of a gauge is 0.127 mm * 92^((36 - n) / 39) (ASTM B258), and
    /// annealed copper has 1.7241e-8 ohm metre (International Annealed Copper Standard).
    #[must_use]
    pub fn ohm_per_m(self) -> f64 {
        let diameter_m = 0.127e-3 * 92f64.powf((36.0 - f64::from(self.0)) / 39.0);
        1.7241e-8 / (PI * diameter_m * diameter_m / 4.0)
    }

    /// The current it may carry for good, in amperes.
    ///
    /// Copper at 60 degrees C and, for 18 to 10 AWG, the largest overcurrent device for
    /// general circuits; see [`Self::AMPACITY_SOURCE`].
    #[must_use]
    pub fn ampacity_a(self) -> f64 {
        match self.0 {
            ..=4 => 70.0,
            5..=6 => 55.0,
            7..=8 => 40.0,
            9..=10 => 30.0,
            11..=12 => 20.0,
            13..=14 => 15.0,
            15..=16 => 10.0,
            17.. => 7.0,
        }
    }
}

/// Whether a conductor is a run of wire or a jumper on a terminal strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sort {
    /// A run of wire between two parts.
    Wire,
    /// A short link between two terminals.
    Jumper,
}

/// A conductor between two terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductor {
    /// Wire or jumper.
    pub sort: Sort,
    /// The two ends.
    pub ends: [TerminalId; 2],
    /// Its size.
    pub gauge: Gauge,
    /// Its length, in metres.
    pub length_m: f64,
}

impl Conductor {
    /// Capacitance of a wire to the grounded metal around it, in farads for each metre
    /// (from memory: building wire in metal conduit has 60 to 200 pF/m).
    pub const FARAD_PER_M: f64 = 100e-12;

    /// Resistance from end to end, in ohms, with two screw joints of half a milliohm each.
    #[must_use]
    pub fn ohm(&self) -> f64 {
        1e-3 + self.gauge.ohm_per_m() * self.length_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Solid copper wire at 20 degrees C in ohms a kilometre (wire tables, from memory).
    #[test]
    fn copper_has_the_resistance_of_the_wire_tables() {
        for (number, ohm_per_km) in [
            (18, 20.95),
            (14, 8.286),
            (12, 5.211),
            (10, 3.277),
            (8, 2.061),
        ] {
            let gauge = Gauge::new(number).expect("a size");
            let computed = gauge.ohm_per_m() * 1000.0;
            assert!((computed / ohm_per_km - 1.0).abs() < 2e-3, "{computed}");
        }
        assert_eq!(Gauge::new(13), None);
    }
}
