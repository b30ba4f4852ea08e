//! What a weather file holds: where, and what was observed there.

use crate::moist_air::RelativeHumidity;

/// Where the weather was observed.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name with state and country as far as the file has them.
    pub name: String,
    /// Degrees north; negative in the south.
    pub latitude_deg: f64,
    /// Degrees east; negative in the west.
    pub longitude_deg: f64,
    /// Local standard time ahead of UTC, hours.
    pub time_zone_h: f64,
    /// Height above sea level, m.
    pub elevation_m: f64,
}

/// The weather at the end of one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherHour {
    /// Dry-bulb temperature, degrees C.
    pub dry_bulb_c: f64,
    /// Relative humidity.
    pub humidity: RelativeHumidity,
}

/// What one line of a file says; `None` where the format's code for a missing value stands.
pub(super) struct Observation {
    pub line: usize,
    pub dry_bulb_c: Option<f64>,
    pub dew_point_c: Option<f64>,
    pub humidity_percent: Option<f64>,
    pub pressure_pa: Option<f64>,
}
