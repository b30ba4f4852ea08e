//! What a compressor moves and what it draws, against evaporating and condensing temperature.
//!
//! The map is the ten-coefficient polynomial of AHRI Standard 540, in the dew
//! points s (suction) and d (discharge) in °C:
//!
//! ```text
//! X = c₁ + c₂ s + c₃ d + c₄ s² + c₅ s d + c₆ d² + c₇ s³ + c₈ d s² + c₉ s d² + c₁₀ d³
//! ```
//!
//! The coefficients here are examples of our own, of no maker's compressor: a
//! vapour-compression cycle with a clearance volumetric efficiency and one overall
//! efficiency (common practice), worked with CoolProp 8.0.0 and fitted over the
//! range of each map by `tests/data/plant/compressor_map.py`. Values are per watt of
//! capacity at the map's rating point, so one rated capacity scales both.

/// Which example map a compressor follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CompressorKind {
    /// Medium temperature, R-134a; rated at −6 °C evaporating and 40 °C condensing.
    #[default]
    MediumTemperature,
    /// Low temperature, R-404A; rated at −25 °C evaporating and 40 °C condensing.
    LowTemperature,
}

impl CompressorKind {
    /// The map of this kind, for a compressor of one watt rated capacity.
    #[must_use]
    pub const fn map(self) -> &'static CompressorMap {
        match self {
            Self::MediumTemperature => &MEDIUM_TEMPERATURE,
            Self::LowTemperature => &LOW_TEMPERATURE,
        }
    }
}

/// Capacity and power of a compressor per watt of rated capacity.
#[derive(Debug, Clone, PartialEq)]
pub struct CompressorMap {
    /// Rating point: evaporating and condensing temperature, °C.
    pub rated_at_c: (f64, f64),
    /// Evaporating temperatures the polynomial was fitted over, °C.
    pub evaporating_c: (f64, f64),
    /// Condensing temperatures the polynomial was fitted over, °C.
    pub condensing_c: (f64, f64),
    capacity: Polynomial,
    power: Polynomial,
}

/// The ten coefficients, in the order of the standard.
#[derive(Debug, Clone, PartialEq)]
struct Polynomial([f64; 10]);

/// A cubic in the evaporating temperature, left when the condensing one is held.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cubic([f64; 4]);

impl Polynomial {
    #[inline]
    fn at_condensing(&self, d: f64) -> Cubic {
        let c = &self.0;
        Cubic([
            (c[0] + d * c[2]) + (d * d) * (c[5] + d * c[9]),
            c[1] + d * (c[4] + d * c[8]),
            c[3] + d * c[7],
            c[6],
        ])
    }
}

impl Cubic {
    fn value(self, s: f64) -> f64 {
        let [a, b, c, d] = self.0;
        (a + s * b) + (s * s) * (c + s * d)
    }

    fn slope(self, s: f64) -> f64 {
        let [_, b, c, d] = self.0;
        b + s * (2.0 * c + s * 3.0 * d)
    }
}

/// A compressor map with the condensing temperature held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldCondensing {
    lowest_c: f64,
    highest_c: f64,
    capacity: Cubic,
    power: Cubic,
}

impl CompressorMap {
    /// The map at this condensing temperature; held at the nearer end of its range beyond it.
    #[must_use]
    #[inline]
    pub fn at_condensing(&self, condensing_c: f64) -> HeldCondensing {
        let d = condensing_c.clamp(self.condensing_c.0, self.condensing_c.1);
        HeldCondensing {
            lowest_c: self.evaporating_c.0,
            highest_c: self.evaporating_c.1,
            capacity: self.capacity.at_condensing(d),
            power: self.power.at_condensing(d),
        }
    }
}

impl HeldCondensing {
    /// Capacity per rated watt, and its slope per kelvin, at this evaporating temperature.
    ///
    /// Above the range the capacity stays where it is, as behind a crankcase
    /// pressure regulator; below it falls on in a straight line and ends at nothing.
    #[must_use]
    #[inline]
    pub fn capacity(&self, evaporating_c: f64) -> (f64, f64) {
        if evaporating_c >= self.highest_c {
            return (self.capacity.value(self.highest_c), 0.0);
        }
        if evaporating_c >= self.lowest_c {
            return (
                self.capacity.value(evaporating_c),
                self.capacity.slope(evaporating_c),
            );
        }
        let slope = self.capacity.slope(self.lowest_c);
        let value = self.capacity.value(self.lowest_c) - slope * (self.lowest_c - evaporating_c);
        if value > 0.0 {
            (value, slope)
        } else {
            (0.0, 0.0)
        }
    }

    /// Evaporating temperature at which the capacity ends, °C.
    #[must_use]
    pub fn ends_at_c(&self) -> f64 {
        self.lowest_c - self.capacity.value(self.lowest_c) / self.capacity.slope(self.lowest_c)
    }

    /// Electrical power per rated watt of capacity; held at the ends of the range beyond it.
    #[must_use]
    #[inline]
    pub fn power(&self, evaporating_c: f64) -> f64 {
        self.power
            .value(evaporating_c.clamp(self.lowest_c, self.highest_c))
    }
}

/// A compressor near one evaporating temperature, its capacity a straight line there.
#[derive(Debug, Clone)]
pub struct Drawing {
    map: HeldCondensing,
    scale_w: f64,
    guess_c: f64,
    at_zero_w: f64,
    slope_w_k: f64,
}

/// How far from the guess the straight line will do: what it misses there is below a
/// ten-thousandth of the capacity.
const NEAR_K: f64 = 0.2;

impl Drawing {
    /// Follows `map`, a watt of which stands for `scale_w`, where the evaporating temperature is
    /// about `guess_c`.
    #[must_use]
    #[inline]
    pub fn near(map: HeldCondensing, scale_w: f64, guess_c: f64) -> Self {
        let (capacity, slope) = map.capacity(guess_c);
        let slope_w_k = scale_w * slope;
        Self {
            map,
            scale_w,
            guess_c,
            at_zero_w: scale_w * capacity - slope_w_k * guess_c,
            slope_w_k,
        }
    }

    /// Whether the straight line will do at this evaporating temperature.
    #[must_use]
    #[inline]
    pub fn is_near(&self, evaporating_c: f64) -> bool {
        (evaporating_c - self.guess_c).abs() < NEAR_K
    }

    /// Where the straight line of the capacity meets 0 °C, in W.
    #[must_use]
    pub const fn at_zero_w(&self) -> f64 {
        self.at_zero_w
    }

    /// Slope of that line, W/K.
    #[must_use]
    pub const fn slope_w_k(&self) -> f64 {
        self.slope_w_k
    }

    /// What the compressor draws at this evaporating temperature from the line, in W.
    #[must_use]
    #[inline]
    pub fn power_w(&self, evaporating_c: f64) -> f64 {
        self.scale_w * self.map.power(evaporating_c)
    }
}

static MEDIUM_TEMPERATURE: CompressorMap = CompressorMap {
    rated_at_c: (-6.0, 40.0),
    evaporating_c: (-30.0, 15.0),
    condensing_c: (20.0, 60.0),
    capacity: Polynomial([
        1.937082e+00,
        7.618018e-02,
        -1.433428e-02,
        1.139852e-03,
        -4.502844e-04,
        -4.181735e-05,
        6.431046e-06,
        -5.753827e-06,
        -7.889632e-07,
        1.979522e-07,
    ]),
    power: Polynomial([
        -4.809472e-03,
        -1.197880e-02,
        1.220098e-02,
        -3.428000e-04,
        4.212178e-04,
        -5.157904e-05,
        -2.591741e-06,
        3.683726e-06,
        -6.368585e-07,
        -1.786581e-07,
    ]),
};

static LOW_TEMPERATURE: CompressorMap = CompressorMap {
    rated_at_c: (-25.0, 40.0),
    evaporating_c: (-45.0, -5.0),
    condensing_c: (15.0, 55.0),
    capacity: Polynomial([
        4.663658e+00,
        1.607976e-01,
        -3.839902e-02,
        1.993508e-03,
        -1.074422e-03,
        -8.247292e-05,
        8.743850e-06,
        -9.920119e-06,
        -1.914112e-06,
        1.831705e-07,
    ]),
    power: Polynomial([
        3.448660e-02,
        -2.414844e-02,
        2.777564e-02,
        -5.787726e-04,
        7.665311e-04,
        -1.022813e-04,
        -3.469881e-06,
        5.123281e-06,
        -9.966395e-07,
        -1.981223e-07,
    ]),
};

#[cfg(test)]
mod tests {
    use super::*;

    const KINDS: [CompressorKind; 2] = [
        CompressorKind::MediumTemperature,
        CompressorKind::LowTemperature,
    ];

    #[test]
    fn a_rated_watt_is_a_watt_at_the_rating_point() {
        for kind in KINDS {
            let map = kind.map();
            let (evaporating, condensing) = map.rated_at_c;
            let (capacity, _) = map.at_condensing(condensing).capacity(evaporating);
            assert!((capacity - 1.0).abs() < 0.01, "{kind:?} {capacity}");
        }
    }

    #[test]
    fn capacity_never_falls_with_evaporating_nor_climbs_with_condensing_temperature() {
        for kind in KINDS {
            let map = kind.map();
            let mut last_row: Option<Vec<f64>> = None;
            for tenth in 0..=1_000 {
                let held = map.at_condensing(f64::from(tenth) * 0.1 - 20.0);
                let row: Vec<f64> = (-900..=400)
                    .map(|evaporating| held.capacity(f64::from(evaporating) * 0.1).0)
                    .collect();
                assert!(row.windows(2).all(|pair| pair[1] >= pair[0]), "{kind:?}");
                assert_eq!(row[0], 0.0, "{kind:?} ends at nothing");
                let (just_above, _) = held.capacity(held.ends_at_c() + 0.01);
                assert!((0.0..1e-3).contains(&just_above), "{kind:?} {just_above}");
                if let Some(last) = &last_row {
                    assert!(row.iter().zip(last).all(|(now, was)| *now <= was + 1e-12));
                }
                last_row = Some(row);
            }
        }
    }

    #[test]
    fn the_slope_is_the_slope() {
        for kind in KINDS {
            let held = kind.map().at_condensing(37.0);
            for evaporating in [-28.0, -15.0, -6.0, -5.5] {
                let (_, slope) = held.capacity(evaporating);
                let step = 1e-4;
                let across =
                    held.capacity(evaporating + step).0 - held.capacity(evaporating - step).0;
                assert!((across / (2.0 * step) - slope).abs() < 1e-8);
            }
        }
    }
}
