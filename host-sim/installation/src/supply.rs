//! Where the electricity comes from: supplies, their legs and their limits.

use std::f64::consts::PI;

use nalgebra::Complex;

use super::terminal::{Ordinal, Role};

/// A nominal supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Service {
    /// Hot and neutral.
    Volts120,
    /// Two legs of a 120/208 V wye, 120 degrees apart.
    Volts208,
    /// Two legs of a 120/240 V split phase, 180 degrees apart.
    Volts240,
}

/// What a supply may deliver, lowest and highest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lowest, in volts.
    pub lowest_v: f64,
    /// Highest, in volts.
    pub highest_v: f64,
}

impl Service {
    /// Every service, with its name in an installation file.
    pub const ALL: [(&'static str, Self); 3] = [
        ("120 V", Self::Volts120),
        ("208 V", Self::Volts208),
        ("240 V", Self::Volts240),
    ];

    /// Each ungrounded leg stands at this voltage to ground.
    pub const LEG_TO_GROUND_V: f64 = 120.0;

    /// The name in an installation file.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Volts120 => "120 V",
            Self::Volts208 => "208 V",
            Self::Volts240 => "240 V",
        }
    }

    /// The nominal voltage between its legs (or hot and neutral), in volts.
    #[must_use]
    pub fn nominal_v(self) -> f64 {
        match self {
            Self::Volts120 => 120.0,
            Self::Volts208 => 208.0,
            Self::Volts240 => 240.0,
        }
    }

    /// The ungrounded legs and the voltage of each to neutral.
    #[must_use]
    pub fn legs(self) -> Vec<(Role, Complex<f64>)> {
        let leg = |degrees: f64| Complex::from_polar(Self::LEG_TO_GROUND_V, degrees * PI / 180.0);
        match self {
            Self::Volts120 => vec![(Role::Hot, leg(0.0))],
            Self::Volts208 => vec![
                (Role::Leg(Ordinal::FIRST), leg(0.0)),
                (Role::Leg(Ordinal::SECOND), leg(-120.0)),
            ],
            Self::Volts240 => vec![
                (Role::Leg(Ordinal::FIRST), leg(0.0)),
                (Role::Leg(Ordinal::SECOND), leg(180.0)),
            ],
        }
    }

    /// Utilization voltage that equipment must work well at.
    ///
    /// ANSI C84.1, Range A (values of the 2016 and 2020 editions, from memory).
    #[must_use]
    pub fn range_a(self) -> Band {
        match self {
            Self::Volts120 => Band {
                lowest_v: 108.0,
                highest_v: 126.0,
            },
            Self::Volts208 => Band {
                lowest_v: 187.0,
                highest_v: 218.0,
            },
            Self::Volts240 => Band {
                lowest_v: 216.0,
                highest_v: 252.0,
            },
        }
    }

    /// Utilization voltage that occurs for limited times, and equipment must get through.
    ///
    /// ANSI C84.1, Range B (values of the 2016 and 2020 editions, from memory).
    #[must_use]
    pub fn range_b(self) -> Band {
        match self {
            Self::Volts120 => Band {
                lowest_v: 104.0,
                highest_v: 127.0,
            },
            Self::Volts208 => Band {
                lowest_v: 180.0,
                highest_v: 220.0,
            },
            Self::Volts240 => Band {
                lowest_v: 208.0,
                highest_v: 254.0,
            },
        }
    }
}

/// A supply of an installation.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// What it is.
    pub service: Service,
    /// Current that a dead short between a leg and neutral draws, in amperes.
    pub available_fault_current_a: f64,
}

impl Supply {
    /// What stands behind each leg, in ohms, taken as resistive.
    #[must_use]
    pub fn source_ohm(&self) -> f64 {
        Service::LEG_TO_GROUND_V / self.available_fault_current_a
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice: 208 V is 120 V times the root of three, 240 V is twice 120 V.
    #[test]
    fn legs_stand_apart_by_the_nominal_voltage() {
        for (_, service) in Service::ALL {
            let legs = service.legs();
            let mut apart: Vec<f64> = Vec::new();
            for (at, (_, one)) in legs.iter().enumerate() {
                apart.extend(legs[at + 1..].iter().map(|(_, other)| (one - other).norm()));
            }
            if let [(_, only)] = legs.as_slice() {
                apart.push(only.norm());
            }
            assert!(!apart.is_empty());
            for apart in apart {
                assert!((apart - service.nominal_v()).abs() < 0.2, "{apart}");
            }
        }
    }

    #[test]
    fn range_b_encloses_range_a_and_both_enclose_the_nominal_voltage() {
        for (_, service) in Service::ALL {
            let (a, b) = (service.range_a(), service.range_b());
            assert!(b.lowest_v < a.lowest_v && a.lowest_v < service.nominal_v());
            assert!(b.highest_v > a.highest_v && a.highest_v > service.nominal_v());
        }
    }
}
