//! The air around the box: its temperature and humidity over time.
//!
//! An [`Ambient`] is a description; an [`AmbientClock`] walks along it and
//! renews its answer once a simulated minute, so that a loop may ask every
//! second for the price of a comparison.

use std::f64::consts::TAU;
use std::fmt;
use std::sync::Arc;

use super::moist_air::{MoistAir, RelativeHumidity, SEA_LEVEL_PA, saturation_pressure_pa};
use super::weather::WeatherYear;

const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 24.0 * HOUR_S;
/// How long an answer is held.
const RENEWAL_S: f64 = 60.0;
/// No place on Earth is colder or hotter; margins for a test chamber.
const COLDEST_C: f64 = -90.0;
const HOTTEST_C: f64 = 70.0;

/// Temperature and humidity of the surrounding air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AmbientAir {
    /// Dry-bulb temperature, degrees C.
    pub temp_c: f64,
    /// Relative humidity.
    pub humidity: RelativeHumidity,
}

/// How the surrounding air behaves over time.
///
/// Made by [`Ambient::constant`], [`Ambient::daily`] and [`Ambient::weather`],
/// so that no temperature outside −90 to +70 °C can occur.
#[derive(Debug, Clone)]
pub struct Ambient(Course);

#[derive(Debug, Clone)]
enum Course {
    Constant(AmbientAir),
    Daily(DailyProfile),
    Weather(Arc<WeatherYear>),
}

#[derive(Debug, Clone, Copy)]
struct DailyProfile {
    mean_c: f64,
    swing_k: f64,
    peak_hour: f64,
    /// Kept through the day, so that relative humidity falls as the air warms.
    vapour_pa: f64,
}

impl Ambient {
    /// The same air for ever.
    ///
    /// # Errors
    /// The temperature is outside −90 to +70 °C.
    pub fn constant(temp_c: f64, humidity: RelativeHumidity) -> Result<Self, AmbientError> {
        checked_temperature(temp_c)?;
        Ok(Self(Course::Constant(AmbientAir { temp_c, humidity })))
    }

    /// A cosine day: `swing_k` from the coolest to the warmest, which is at `peak_hour` (0 to 24).
    ///
    /// `humidity` is that of the mean; the moisture in the air stays the same
    /// through the day, so the relative humidity falls in the warm hours and
    /// rises, to saturation at most, in the cool ones.
    ///
    /// # Errors
    /// The swing is negative, a temperature of the day is outside −90 to
    /// +70 °C, or the hour outside 0 to 24.
    pub fn daily(
        mean_c: f64,
        swing_k: f64,
        peak_hour: f64,
        humidity: RelativeHumidity,
    ) -> Result<Self, AmbientError> {
        if swing_k.is_nan() || swing_k < 0.0 {
            return Err(AmbientError::Swing { swing_k });
        }
        checked_temperature(mean_c - 0.5 * swing_k)?;
        checked_temperature(mean_c + 0.5 * swing_k)?;
        if !(0.0..=24.0).contains(&peak_hour) {
            return Err(AmbientError::PeakHour { peak_hour });
        }
        Ok(Self(Course::Daily(DailyProfile {
            mean_c,
            swing_k,
            peak_hour,
            vapour_pa: humidity.fraction() * saturation_pressure_pa(mean_c),
        })))
    }

    /// A year of weather, straight from hour to hour, and again from its start when it ends.
    pub fn weather(year: Arc<WeatherYear>) -> Self {
        Self(Course::Weather(year))
    }

    /// The air at a time since midnight of the first day (with weather, of 1 January), s.
    ///
    /// A time before that, or one that is no number, counts as that midnight.
    pub fn air_at(&self, elapsed_s: f64) -> AmbientAir {
        let elapsed_s = elapsed_s.max(0.0);
        match &self.0 {
            Course::Constant(air) => *air,
            Course::Daily(profile) => profile.air_at(elapsed_s),
            Course::Weather(year) => weather_at(year, elapsed_s),
        }
    }

    /// Air pressure, Pa: the station's mean with weather, otherwise that at sea level.
    pub fn pressure_pa(&self) -> f64 {
        match &self.0 {
            Course::Constant(_) | Course::Daily(_) => SEA_LEVEL_PA,
            Course::Weather(year) => year.mean_pressure_pa(),
        }
    }
}

fn checked_temperature(temp_c: f64) -> Result<(), AmbientError> {
    if (COLDEST_C..=HOTTEST_C).contains(&temp_c) {
        Ok(())
    } else {
        Err(AmbientError::Temperature { temp_c })
    }
}

impl DailyProfile {
    fn air_at(&self, elapsed_s: f64) -> AmbientAir {
        let phase = (elapsed_s - self.peak_hour * HOUR_S) / DAY_S * TAU;
        let temp_c = self.mean_c + 0.5 * self.swing_k * phase.cos();
        let percent = 100.0 * self.vapour_pa / saturation_pressure_pa(temp_c);
        AmbientAir {
            temp_c,
            humidity: RelativeHumidity::capped_percent(percent),
        }
    }
}

/// Hour number n of a year (from 0) is observed n + 1 hours after its start.
fn weather_at(year: &WeatherYear, elapsed_s: f64) -> AmbientAir {
    let hours = year.hours();
    let position = (elapsed_s / HOUR_S) % hours.len() as f64;
    let next = (position as usize).min(hours.len() - 1);
    let part = position - next as f64;
    let (from, to) = (
        hours[next.checked_sub(1).unwrap_or(hours.len() - 1)],
        hours[next],
    );
    let between = |from: f64, to: f64| from + part * (to - from);
    AmbientAir {
        temp_c: between(from.dry_bulb_c, to.dry_bulb_c),
        humidity: RelativeHumidity::capped_percent(between(
            from.humidity.percent(),
            to.humidity.percent(),
        )),
    }
}

/// What an [`AmbientClock`] did when it was asked to move on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub enum Renewal {
    /// The air is as it was.
    Held,
    /// The air was worked out anew; whoever keeps something derived from it does so now.
    Renewed,
}

/// Walks along an [`Ambient`] with the simulation.
///
/// The air is that at the start of the current minute: at most 0.05 K stale on
/// a day with a swing of 10 K.
#[derive(Debug, Clone)]
pub struct AmbientClock {
    ambient: Ambient,
    /// What is added to the time of the simulation, s.
    start_s: f64,
    held_until_s: f64,
    air: AmbientAir,
}

impl AmbientClock {
    /// Starts `start_s` after midnight of the first day (with weather, of 1 January).
    pub fn new(ambient: Ambient, start_s: f64) -> Self {
        let air = ambient.air_at(start_s);
        Self {
            ambient,
            start_s,
            held_until_s: RENEWAL_S,
            air,
        }
    }

    /// Moves to a time of the simulation, s; time only moves forward.
    pub fn advance(&mut self, elapsed_s: f64) -> Renewal {
        if elapsed_s < self.held_until_s {
            return Renewal::Held;
        }
        let minute_s = (elapsed_s / RENEWAL_S).floor() * RENEWAL_S;
        self.held_until_s = minute_s + RENEWAL_S;
        self.air = self.ambient.air_at(self.start_s + minute_s);
        Renewal::Renewed
    }

    /// Temperature, degrees C.
    pub fn temp_c(&self) -> f64 {
        self.air.temp_c
    }

    /// The air now.
    pub fn air(&self) -> AmbientAir {
        self.air
    }

    /// The air now as a state of moist air, at the ambient's pressure.
    pub fn moist_air(&self) -> MoistAir {
        MoistAir::from_relative_humidity(
            self.air.temp_c,
            self.air.humidity,
            self.ambient.pressure_pa(),
        )
        .expect("at 70 °C or less and 35 kPa or more, air can't boil")
    }
}

/// Why an ambient can't be as described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AmbientError {
    /// A temperature is outside −90 to +70 °C.
    Temperature {
        /// That temperature, degrees C.
        temp_c: f64,
    },
    /// The swing of a day is negative or no number.
    Swing {
        /// What was given, K.
        swing_k: f64,
    },
    /// The hour of the peak is outside 0 to 24.
    PeakHour {
        /// What was given.
        peak_hour: f64,
    },
}

impl fmt::Display for AmbientError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Temperature { temp_c } => write!(
                f,
                "the ambient reaches {temp_c} °C; expected {COLDEST_C} to {HOTTEST_C} °C"
            ),
            Self::Swing { swing_k } => write!(
                f,
                "the daily swing is {swing_k} K; expected 0 or more, from the coolest to the warmest of the day"
            ),
            Self::PeakHour { peak_hour } => {
                write!(f, "the warmest hour is {peak_hour}; expected 0 to 24")
            }
        }
    }
}

impl std::error::Error for AmbientError {}

#[cfg(test)]
mod tests {
    use super::*;

    fn humidity(percent: f64) -> RelativeHumidity {
        RelativeHumidity::from_percent(percent).unwrap()
    }

    #[test]
    fn a_day_peaks_at_its_hour_and_is_coolest_twelve_hours_later() {
        let day = Ambient::daily(25.0, 10.0, 15.0, humidity(50.0)).unwrap();
        let at_hour = |hour: f64| day.air_at(hour * HOUR_S);
        assert!((at_hour(15.0).temp_c - 30.0).abs() < 1e-12);
        assert!((at_hour(3.0).temp_c - 20.0).abs() < 1e-12);
        assert!((at_hour(9.0).temp_c - 25.0).abs() < 1e-9);
        assert!((at_hour(39.0).temp_c - 30.0).abs() < 1e-9);
        assert!((at_hour(9.0).humidity.percent() - 50.0).abs() < 1e-6);
        assert!(at_hour(15.0).humidity < at_hour(9.0).humidity);
        assert!(at_hour(9.0).humidity < at_hour(3.0).humidity);
    }

    #[test]
    fn a_humid_night_saturates_and_no_more() {
        let day = Ambient::daily(25.0, 20.0, 15.0, humidity(90.0)).unwrap();
        assert_eq!(day.air_at(3.0 * HOUR_S).humidity.percent(), 100.0);
    }

    #[test]
    fn the_clock_renews_once_a_minute_and_follows_the_course() {
        let day = Ambient::daily(25.0, 10.0, 15.0, humidity(50.0)).unwrap();
        let start_s = 6.0 * HOUR_S;
        let mut clock = AmbientClock::new(day.clone(), start_s);
        let mut renewals = 0;
        let mut stalest_k = 0.0_f64;
        for second in 0..86_400 {
            let elapsed_s = f64::from(second);
            if clock.advance(elapsed_s) == Renewal::Renewed {
                renewals += 1;
            }
            let true_c = day.air_at(start_s + elapsed_s).temp_c;
            stalest_k = stalest_k.max((clock.temp_c() - true_c).abs());
        }
        assert_eq!(renewals, 24 * 60 - 1);
        assert!(stalest_k < 0.05, "{stalest_k}");
    }

    #[test]
    fn a_leap_over_hours_lands_on_the_right_minute() {
        let day = Ambient::daily(25.0, 10.0, 15.0, humidity(50.0)).unwrap();
        let mut clock = AmbientClock::new(day.clone(), 0.0);
        assert_eq!(clock.advance(15.0 * HOUR_S + 30.0), Renewal::Renewed);
        assert_eq!(clock.air(), day.air_at(15.0 * HOUR_S));
        assert_eq!(clock.advance(15.0 * HOUR_S + 59.0), Renewal::Held);
    }

    #[test]
    fn what_no_place_has_is_refused() {
        let half = humidity(50.0);
        assert!(Ambient::constant(71.0, half).is_err());
        assert!(Ambient::constant(f64::NAN, half).is_err());
        assert!(Ambient::daily(65.0, 12.0, 15.0, half).is_err());
        assert!(Ambient::daily(20.0, -1.0, 15.0, half).is_err());
        assert!(Ambient::daily(20.0, f64::INFINITY, 15.0, half).is_err());
        assert!(Ambient::daily(20.0, 1.0, 24.5, half).is_err());
    }

    #[test]
    fn the_hottest_wettest_air_is_still_air() {
        let hot = Ambient::constant(HOTTEST_C, humidity(100.0)).unwrap();
        let air = AmbientClock::new(hot, 0.0).moist_air();
        assert!(air.enthalpy_j_per_kg().is_finite());
    }
}
