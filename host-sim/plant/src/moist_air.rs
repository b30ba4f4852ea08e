//! Moist air: what a cubic metre of it weighs, holds and carries.
//!
//! Ideal-gas psychrometrics after the ASHRAE Handbook, Fundamentals (2017),
//! chapter 1, SI form. Saturation follows Hyland and Wexler (1983), over ice
//! below the triple point and over liquid water above it. The slight
//! enhancement of saturation by dry air (below 0.5 % at room pressure) is left
//! out, as the handbook does.
//!
//! Enthalpy, volume and humidity ratio are per kilogram of **dry** air, as the
//! trade's charts have them; density is of the mixture.

use std::fmt;

/// Standard pressure at sea level, Pa (ISO 2533).
pub const SEA_LEVEL_PA: f64 = 101_325.0;

/// Coldest temperature the saturation formula holds for, degrees C.
pub const COLDEST_C: f64 = -100.0;
/// Hottest temperature the saturation formula holds for, degrees C.
pub const HOTTEST_C: f64 = 200.0;

const KELVIN_AT_ZERO_C: f64 = 273.15;
const TRIPLE_POINT_C: f64 = 0.01;
/// Gas constant of dry air, J/(kg K).
const DRY_AIR_GAS_CONSTANT: f64 = 287.042;
/// Molar mass of water over that of dry air.
const MOLAR_MASS_RATIO: f64 = 0.621_945;
/// A thousandth of a kelvin is finer than any hygrometer; iterations go well below it.
const ITERATION_TOLERANCE_K: f64 = 1e-9;

/// Relative humidity: the vapour pressure over that at saturation, 0 to 1.
///
/// Below freezing it is taken over ice.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct RelativeHumidity(f64);

impl RelativeHumidity {
    /// From a fraction, 0 to 1.
    pub fn from_fraction(fraction: f64) -> Result<Self, MoistAirError> {
        if (0.0..=1.0).contains(&fraction) {
            Ok(Self(fraction))
        } else {
            Err(MoistAirError::HumidityOutOfRange {
                percent: fraction * 100.0,
            })
        }
    }

    /// From percent, 0 to 100.
    pub fn from_percent(percent: f64) -> Result<Self, MoistAirError> {
        Self::from_fraction(percent / 100.0)
    }

    /// From percent as an instrument reads it: above 100 counts as 100, below 0 or no number as 0.
    pub fn capped_percent(percent: f64) -> Self {
        Self::capped(percent / 100.0)
    }

    fn capped(fraction: f64) -> Self {
        Self(if fraction > 0.0 {
            fraction.min(1.0)
        } else {
            0.0
        })
    }

    /// As a fraction, 0 to 1.
    pub fn fraction(self) -> f64 {
        self.0
    }

    /// In percent, 0 to 100.
    pub fn percent(self) -> f64 {
        self.0 * 100.0
    }

    /// The humidity of air at `dry_bulb_c` whose dew (or frost) point is `dew_point_c`.
    ///
    /// Saturated where the dew point is not below the dry bulb. Temperatures
    /// beyond [`COLDEST_C`] and [`HOTTEST_C`] count as those.
    pub fn from_dew_point(dry_bulb_c: f64, dew_point_c: f64) -> Self {
        Self::capped(saturation_pressure_pa(dew_point_c) / saturation_pressure_pa(dry_bulb_c))
    }
}

/// Pressure of water vapour at saturation, Pa.
///
/// Hyland and Wexler (1983) as in ASHRAE Fundamentals (2017), chapter 1,
/// equations 5 (ice) and 6 (liquid), joined at the triple point, where they
/// agree. Temperatures beyond [`COLDEST_C`] and [`HOTTEST_C`] count as those.
pub fn saturation_pressure_pa(temp_c: f64) -> f64 {
    log_saturation_pressure(temp_c).exp()
}

fn log_saturation_pressure(temp_c: f64) -> f64 {
    let temp_c = temp_c.clamp(COLDEST_C, HOTTEST_C);
    let t = temp_c + KELVIN_AT_ZERO_C;
    if temp_c <= TRIPLE_POINT_C {
        let polynomial = 6.392_524_7
            + t * (-9.677_843e-3
                + t * (6.221_570_1e-7 + t * (2.074_782_5e-9 + t * -9.484_024e-13)));
        -5.674_535_9e3 / t + polynomial + 4.163_501_9 * t.ln()
    } else {
        let polynomial =
            1.391_499_3 + t * (-4.864_023_9e-2 + t * (4.176_476_8e-5 + t * -1.445_209_3e-8));
        -5.800_220_6e3 / t + polynomial + 6.545_967_3 * t.ln()
    }
}

/// Slope of the logarithm of the saturation pressure, 1/K.
fn log_saturation_slope(temp_c: f64) -> f64 {
    let t = temp_c + KELVIN_AT_ZERO_C;
    if temp_c <= TRIPLE_POINT_C {
        5.674_535_9e3 / (t * t) - 9.677_843e-3
            + t * (2.0 * 6.221_570_1e-7 + t * (3.0 * 2.074_782_5e-9 - t * 4.0 * 9.484_024e-13))
            + 4.163_501_9 / t
    } else {
        5.800_220_6e3 / (t * t) - 4.864_023_9e-2
            + t * (2.0 * 4.176_476_8e-5 - t * 3.0 * 1.445_209_3e-8)
            + 6.545_967_3 / t
    }
}

/// A state of moist air: dry bulb, humidity ratio and pressure.
///
/// Never supersaturated when made; all its quantities are finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistAir {
    dry_bulb_c: f64,
    /// Water per kilogram of dry air, kg/kg.
    humidity_ratio: f64,
    pressure_pa: f64,
}

impl MoistAir {
    /// Air of a dry bulb and a relative humidity.
    ///
    /// # Errors
    /// The dry bulb lies beyond [`COLDEST_C`] to [`HOTTEST_C`], the pressure
    /// isn't a positive number, or the vapour alone would reach the pressure
    /// (boiling).
    pub fn from_relative_humidity(
        dry_bulb_c: f64,
        humidity: RelativeHumidity,
        pressure_pa: f64,
    ) -> Result<Self, MoistAirError> {
        if !(COLDEST_C..=HOTTEST_C).contains(&dry_bulb_c) {
            return Err(MoistAirError::TemperatureOutOfRange { temp_c: dry_bulb_c });
        }
        let vapour_pa = humidity.fraction() * saturation_pressure_pa(dry_bulb_c);
        if !(pressure_pa.is_finite() && pressure_pa > vapour_pa) {
            return Err(MoistAirError::PressureTooLow {
                pressure_pa,
                vapour_pa,
            });
        }
        Ok(Self {
            dry_bulb_c,
            humidity_ratio: humidity_ratio(vapour_pa, pressure_pa),
            pressure_pa,
        })
    }

    /// Dry-bulb temperature, degrees C.
    pub fn dry_bulb_c(&self) -> f64 {
        self.dry_bulb_c
    }

    /// Total pressure, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.pressure_pa
    }

    /// Water per kilogram of dry air, kg/kg.
    pub fn humidity_ratio(&self) -> f64 {
        self.humidity_ratio
    }

    /// Partial pressure of the water vapour, Pa.
    pub fn vapour_pressure_pa(&self) -> f64 {
        self.pressure_pa * self.humidity_ratio / (MOLAR_MASS_RATIO + self.humidity_ratio)
    }

    /// Relative humidity; over ice below freezing.
    pub fn relative_humidity(&self) -> RelativeHumidity {
        RelativeHumidity::capped(
            self.vapour_pressure_pa() / saturation_pressure_pa(self.dry_bulb_c),
        )
    }

    /// Enthalpy per kilogram of dry air, J/kg; zero for dry air and liquid water at 0 °C.
    ///
    /// ASHRAE Fundamentals (2017), chapter 1, equation 30.
    pub fn enthalpy_j_per_kg(&self) -> f64 {
        let t = self.dry_bulb_c;
        1000.0 * (1.006 * t + self.humidity_ratio * (2501.0 + 1.86 * t))
    }

    /// Volume per kilogram of dry air, m³/kg.
    ///
    /// ASHRAE Fundamentals (2017), chapter 1, equation 26.
    pub fn volume_m3_per_kg(&self) -> f64 {
        let t = self.dry_bulb_c + KELVIN_AT_ZERO_C;
        DRY_AIR_GAS_CONSTANT * t * (1.0 + 1.607_858 * self.humidity_ratio) / self.pressure_pa
    }

    /// Density of the mixture of dry air and vapour, kg/m³.
    pub fn density_kg_per_m3(&self) -> f64 {
        (1.0 + self.humidity_ratio) / self.volume_m3_per_kg()
    }

    /// Temperature at which a surface starts to collect dew, or frost below freezing, degrees C.
    ///
    /// The saturation formula inverted by Newton's method on its logarithm,
    /// never above the dry bulb. Air too dry to condense above [`COLDEST_C`]
    /// answers that.
    pub fn dew_point_c(&self) -> f64 {
        let wanted = self.vapour_pressure_pa().ln();
        if wanted <= log_saturation_pressure(COLDEST_C) {
            return COLDEST_C;
        }
        let mut dew_c = self.dry_bulb_c;
        for _ in 0..50 {
            let excess = log_saturation_pressure(dew_c) - wanted;
            let next_c = (dew_c - excess / log_saturation_slope(dew_c)).clamp(COLDEST_C, HOTTEST_C);
            let moved_k = (next_c - dew_c).abs();
            dew_c = next_c;
            if moved_k < ITERATION_TOLERANCE_K {
                break;
            }
        }
        dew_c.min(self.dry_bulb_c)
    }

    /// Thermodynamic wet-bulb temperature, degrees C; of an ice bulb below freezing.
    ///
    /// ASHRAE Fundamentals (2017), chapter 1, equations 33 (liquid) and 35
    /// (ice), solved by bisection between dew point and dry bulb.
    pub fn wet_bulb_c(&self) -> f64 {
        let (mut low_c, mut high_c) = (self.dew_point_c(), self.dry_bulb_c);
        while high_c - low_c > ITERATION_TOLERANCE_K {
            let middle_c = 0.5 * (low_c + high_c);
            if middle_c <= low_c || middle_c >= high_c {
                break;
            }
            if self.humidity_ratio_at_wet_bulb(middle_c) > self.humidity_ratio {
                high_c = middle_c;
            } else {
                low_c = middle_c;
            }
        }
        0.5 * (low_c + high_c)
    }

    /// The humidity ratio this air would have, were its wet bulb `wet_c`.
    fn humidity_ratio_at_wet_bulb(&self, wet_c: f64) -> f64 {
        let dry_c = self.dry_bulb_c;
        let saturation_pa = saturation_pressure_pa(wet_c);
        if saturation_pa >= self.pressure_pa {
            return f64::INFINITY;
        }
        let saturated = humidity_ratio(saturation_pa, self.pressure_pa);
        let dry_side = 1.006 * (dry_c - wet_c);
        if wet_c >= 0.0 {
            ((2501.0 - 2.326 * wet_c) * saturated - dry_side)
                / (2501.0 + 1.86 * dry_c - 4.186 * wet_c)
        } else {
            ((2830.0 - 0.24 * wet_c) * saturated - dry_side) / (2830.0 + 1.86 * dry_c - 2.1 * wet_c)
        }
    }
}

fn humidity_ratio(vapour_pa: f64, pressure_pa: f64) -> f64 {
    MOLAR_MASS_RATIO * vapour_pa / (pressure_pa - vapour_pa)
}

/// Why a state of moist air cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MoistAirError {
    /// The relative humidity is not between 0 and 100 %.
    HumidityOutOfRange {
        /// What was given, percent.
        percent: f64,
    },
    /// The dry bulb lies outside the range of the saturation formula.
    TemperatureOutOfRange {
        /// What was given, degrees C.
        temp_c: f64,
    },
    /// The vapour alone would exceed the pressure, or the pressure is not a positive number.
    PressureTooLow {
        /// What was given, Pa.
        pressure_pa: f64,
        /// Partial pressure of the vapour, Pa.
        vapour_pa: f64,
    },
}

impl fmt::Display for MoistAirError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HumidityOutOfRange { percent } => {
                write!(f, "relative humidity is {percent} %; expected 0 to 100 %")
            }
            Self::TemperatureOutOfRange { temp_c } => write!(
                f,
                "air temperature is {temp_c} °C; expected {COLDEST_C} to {HOTTEST_C} °C"
            ),
            Self::PressureTooLow {
                pressure_pa,
                vapour_pa,
            } => write!(
                f,
                "air pressure is {pressure_pa} Pa; expected more than the {vapour_pa:.0} Pa of its water vapour"
            ),
        }
    }
}

impl std::error::Error for MoistAirError {}

#[cfg(test)]
mod tests {
    use super::*;

    fn air(dry_bulb_c: f64, percent: f64) -> MoistAir {
        let humidity = RelativeHumidity::from_percent(percent).unwrap();
        MoistAir::from_relative_humidity(dry_bulb_c, humidity, SEA_LEVEL_PA).unwrap()
    }

    #[test]
    fn ice_and_liquid_meet_at_the_triple_point() {
        // IAPWS: the triple-point pressure of water is 611.657 Pa.
        assert!((saturation_pressure_pa(TRIPLE_POINT_C) - 611.657).abs() < 0.05);
        let step =
            saturation_pressure_pa(TRIPLE_POINT_C + 1e-9) / saturation_pressure_pa(TRIPLE_POINT_C);
        assert!((step - 1.0).abs() < 1e-5, "{step}");
    }

    #[test]
    fn the_slope_is_the_derivative() {
        for temp_c in [-60.0, -20.0, -0.5, 0.5, 20.0, 80.0] {
            let h = 1e-4;
            let measured = (log_saturation_pressure(temp_c + h)
                - log_saturation_pressure(temp_c - h))
                / (2.0 * h);
            assert!((measured - log_saturation_slope(temp_c)).abs() < 1e-8);
        }
    }

    #[test]
    fn saturated_air_has_one_temperature() {
        for temp_c in [-40.0, -10.0, 0.0, 5.0, 25.0, 60.0] {
            let saturated = air(temp_c, 100.0);
            assert!((saturated.dew_point_c() - temp_c).abs() < 1e-6);
            assert!((saturated.wet_bulb_c() - temp_c).abs() < 1e-6);
        }
    }

    #[test]
    fn dew_point_and_relative_humidity_are_inverse() {
        for (dry_bulb_c, percent) in [(-30.0, 80.0), (0.5, 60.0), (24.0, 50.0), (45.0, 10.0)] {
            let dew_c = air(dry_bulb_c, percent).dew_point_c();
            let back = RelativeHumidity::from_dew_point(dry_bulb_c, dew_c);
            assert!((back.percent() - percent).abs() < 1e-6);
            assert!(
                (air(dry_bulb_c, percent).relative_humidity().percent() - percent).abs() < 1e-9
            );
        }
    }

    #[test]
    fn bone_dry_air_has_no_dew_point_in_range() {
        let dry = air(20.0, 0.0);
        assert_eq!(dry.dew_point_c(), COLDEST_C);
        assert!(dry.wet_bulb_c() > 0.0 && dry.wet_bulb_c() < 20.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(RelativeHumidity::from_percent(100.1).is_err());
        assert!(RelativeHumidity::from_percent(f64::NAN).is_err());
        let half = RelativeHumidity::from_percent(50.0).unwrap();
        for (temp_c, pressure_pa) in [
            (-101.0, SEA_LEVEL_PA),
            (201.0, SEA_LEVEL_PA),
            (f64::NAN, SEA_LEVEL_PA),
            (20.0, 0.0),
            (20.0, f64::NAN),
            (20.0, f64::INFINITY),
            (150.0, SEA_LEVEL_PA),
        ] {
            let refused = MoistAir::from_relative_humidity(temp_c, half, pressure_pa);
            assert!(refused.is_err(), "{temp_c} °C at {pressure_pa} Pa");
        }
    }
}
