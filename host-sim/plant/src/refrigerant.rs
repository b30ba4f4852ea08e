//! Saturation of refrigerants: boiling and condensing pressure against temperature.
//!
//! A zeotropic blend boils over a range of temperature (its glide): at one
//! pressure the first bubble appears at the bubble point and the last drop
//! leaves at the dew point. Evaporators and the suction side are judged at the
//! dew point, condensers' liquid at the bubble point (common practice). For a
//! pure fluid the two are one.
//!
//! All pressures are absolute unless the name says gauge.

/// Coldest saturation temperature of the fits, degrees C.
pub const COLDEST_C: f64 = -60.0;
/// Hottest saturation temperature of the fits, degrees C.
pub const HOTTEST_C: f64 = 60.0;

const KELVIN_AT_ZERO_C: f64 = 273.15;
const STANDARD_ATMOSPHERE_KPA: f64 = 101.325;
const KPA_PER_PSI: f64 = 6.894_757;

/// A refrigerant, by its ASHRAE 34 designation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Refrigerant {
    /// R-134a, pure.
    R134a,
    /// R-290, propane, pure. Flammable (class A3).
    R290,
    /// R-404A: R-125, R-143a, R-134a, 44/52/4 % by mass.
    R404a,
    /// R-448A, R-1234yf, R-134a, R-1234ze(E), 26/26/20/21/7 % by mass.
    R448a,
    /// R-449A, R-1234yf, R-134a, 24.3/24.7/25.3/25.7 % by mass.
    R449a,
}

/// Which edge of the two-phase region is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SaturationLine {
    /// Liquid about to boil.
    Bubble,
    /// Vapour about to condense.
    Dew,
}

impl Refrigerant {
    /// Every refrigerant known here.
    pub const ALL: [Self; 5] = [
        Self::R134a,
        Self::R290,
        Self::R404a,
        Self::R448a,
        Self::R449a,
    ];

    /// The designation as people write it.
    pub const fn designation(self) -> &'static str {
        match self {
            Self::R134a => "R-134a",
            Self::R290 => "R-290",
            Self::R404a => "R-404A",
            Self::R448a => "R-448A",
            Self::R449a => "R-449A",
        }
    }

    /// Saturation pressure, kPa.
    ///
    /// Within 0.1 % of CoolProp's equations of state from [`COLDEST_C`] to
    /// [`HOTTEST_C`]; temperatures beyond count as those.
    pub fn pressure_kpa(self, line: SaturationLine, temp_c: f64) -> f64 {
        let temp_c = temp_c.clamp(COLDEST_C, HOTTEST_C);
        let x = KELVIN_AT_ZERO_C / (temp_c + KELVIN_AT_ZERO_C) - 1.0;
        polynomial(self.coefficients(line), x).exp()
    }

    /// Saturation temperature, degrees C: the inverse of [`Self::pressure_kpa`].
    ///
    /// Pressures beyond those of [`COLDEST_C`] and [`HOTTEST_C`] answer these.
    pub fn temp_c(self, line: SaturationLine, pressure_kpa: f64) -> f64 {
        if pressure_kpa <= self.pressure_kpa(line, COLDEST_C) {
            return COLDEST_C;
        }
        if pressure_kpa >= self.pressure_kpa(line, HOTTEST_C) {
            return HOTTEST_C;
        }
        let coefficients = self.coefficients(line);
        let wanted = pressure_kpa.ln();
        // Nearly a straight line, so Newton's method from there doubles its digits at each turn.
        let mut x = (wanted - coefficients[0]) / coefficients[1];
        for _ in 0..6 {
            x -= (polynomial(coefficients, x) - wanted) / slope(coefficients, x);
        }
        KELVIN_AT_ZERO_C / (1.0 + x) - KELVIN_AT_ZERO_C
    }

    /// Coefficients of ln(p/kPa) in rising powers of 273.15 K / T − 1.
    ///
    /// Fitted to CoolProp 8.0.0 (Helmholtz-energy equations of state, mass
    /// fractions of ASHRAE 34) from −60 to +60 °C.
    const fn coefficients(self, line: SaturationLine) -> &'static [f64; 5] {
        match (self, line) {
            (Self::R134a, SaturationLine::Bubble | SaturationLine::Dew) => &[
                5.679_431_11,
                -9.894_860_34,
                -1.383_451_90,
                -1.422_528_74,
                2.263_161_60,
            ],
            (Self::R290, SaturationLine::Bubble | SaturationLine::Dew) => &[
                6.162_107_76,
                -8.339_481_72,
                -0.522_604_40,
                -1.401_675_10,
                1.963_922_92,
            ],
            (Self::R404a, SaturationLine::Bubble) => &[
                6.413_632_27,
                -8.626_717_85,
                -0.584_926_16,
                -2.424_943_31,
                3.693_362_38,
            ],
            (Self::R404a, SaturationLine::Dew) => &[
                6.397_324_71,
                -8.699_524_55,
                -0.677_945_07,
                -2.622_402_91,
                3.844_223_60,
            ],
            (Self::R448a, SaturationLine::Bubble) => &[
                6.435_046_49,
                -8.730_144_63,
                -0.780_142_18,
                -1.342_058_91,
                1.851_088_36,
            ],
            (Self::R448a, SaturationLine::Dew) => &[
                6.235_465_69,
                -9.300_709_19,
                -0.944_802_61,
                -2.722_255_48,
                4.258_571_06,
            ],
            (Self::R449a, SaturationLine::Bubble) => &[
                6.421_397_30,
                -8.734_125_56,
                -0.787_609_80,
                -1.359_286_95,
                1.869_107_01,
            ],
            (Self::R449a, SaturationLine::Dew) => &[
                6.236_029_98,
                -9.259_666_87,
                -0.939_255_19,
                -2.690_284_96,
                4.155_963_49,
            ],
        }
    }
}

fn polynomial(coefficients: &[f64; 5], x: f64) -> f64 {
    let [c0, c1, c2, c3, c4] = coefficients;
    c0 + x * (c1 + x * (c2 + x * (c3 + x * c4)))
}

fn slope(coefficients: &[f64; 5], x: f64) -> f64 {
    let [_, c1, c2, c3, c4] = coefficients;
    c1 + x * (2.0 * c2 + x * (3.0 * c3 + x * 4.0 * c4))
}

/// One saturation line as a table, for a loop that asks every simulated second.
///
/// Piecewise linear in temperature, every half kelvin: within 0.02 % of
/// [`Refrigerant::pressure_kpa`] and 0.005 K of [`Refrigerant::temp_c`], with
/// neither exponential nor logarithm. Both directions read the same table, so
/// they are inverse to each other.
#[derive(Debug, Clone)]
pub struct SaturationTable {
    rows: Vec<TableRow>,
    /// For each step of [`PRESSURE_STEP_KPA`], the last table row not above it.
    row_at_pressure: Vec<u16>,
}

/// Where a piece of the table begins, and how steep it is; the last has no length.
#[derive(Debug, Clone, Copy)]
struct TableRow {
    pressure_kpa: f64,
    slope_k_kpa: f64,
}

const ROWS_PER_KELVIN: f64 = 2.0;
const ROWS: u16 = 241;
const PRESSURE_STEP_KPA: f64 = 4.0;

impl SaturationTable {
    /// Tabulates one line of one refrigerant from [`COLDEST_C`] to [`HOTTEST_C`].
    pub fn new(refrigerant: Refrigerant, line: SaturationLine) -> Self {
        let pressure_kpa =
            |row: u16| refrigerant.pressure_kpa(line, COLDEST_C + f64::from(row) / ROWS_PER_KELVIN);
        let rows: Vec<TableRow> = (0..ROWS)
            .map(|row| {
                let from_kpa = pressure_kpa(row);
                let rise_kpa = pressure_kpa((row + 1).min(ROWS - 1)) - from_kpa;
                TableRow {
                    pressure_kpa: from_kpa,
                    slope_k_kpa: if rise_kpa > 0.0 {
                        1.0 / (ROWS_PER_KELVIN * rise_kpa)
                    } else {
                        0.0
                    },
                }
            })
            .collect();
        let mut row_at_pressure = Vec::new();
        let mut row = 0;
        let mut mark_kpa = rows[0].pressure_kpa;
        while row + 1 < ROWS {
            if rows[usize::from(row) + 1].pressure_kpa <= mark_kpa {
                row += 1;
            } else {
                row_at_pressure.push(row);
                mark_kpa += PRESSURE_STEP_KPA;
            }
        }
        Self {
            rows,
            row_at_pressure,
        }
    }

    /// Saturation pressure, kPa; temperatures beyond the table count as its ends.
    #[inline]
    pub fn pressure_kpa(&self, temp_c: f64) -> f64 {
        let position = (temp_c.clamp(COLDEST_C, HOTTEST_C) - COLDEST_C) * ROWS_PER_KELVIN;
        let row = (position as usize).min(self.rows.len() - 2);
        let (low, high) = (self.rows[row].pressure_kpa, self.rows[row + 1].pressure_kpa);
        low + (position - row as f64) * (high - low)
    }

    /// Saturation temperature, degrees C; pressures beyond the table count as its ends.
    pub fn temp_c(&self, pressure_kpa: f64) -> f64 {
        self.temp_and_slope(pressure_kpa).0
    }

    /// Saturation temperature, degrees C, and by how many kelvin it rises with each kPa;
    /// pressures beyond the table count as its ends, where nothing rises.
    pub fn temp_and_slope(&self, pressure_kpa: f64) -> (f64, f64) {
        let first_kpa = self.rows[0].pressure_kpa;
        let mark = ((pressure_kpa - first_kpa) / PRESSURE_STEP_KPA) as usize;
        let mut row = self.row_at_pressure[mark.min(self.row_at_pressure.len() - 1)];
        self.temp_and_slope_near(pressure_kpa, &mut row)
    }

    /// The same, looked for from a row on that an earlier search has left: for a pressure that
    /// hardly moves from one search to the next. Any row will do to begin with.
    #[inline]
    pub fn temp_and_slope_near(&self, pressure_kpa: f64, row: &mut u16) -> (f64, f64) {
        let mut at = usize::from(*row).min(self.rows.len() - 2);
        while at + 2 < self.rows.len() && self.rows[at + 1].pressure_kpa <= pressure_kpa {
            at += 1;
        }
        while at > 0 && self.rows[at].pressure_kpa > pressure_kpa {
            at -= 1;
        }
        *row = at as u16;
        let (from, to) = (self.rows[at], self.rows[at + 1]);
        if pressure_kpa < from.pressure_kpa {
            return (COLDEST_C, 0.0);
        }
        if pressure_kpa > to.pressure_kpa {
            return (HOTTEST_C, 0.0);
        }
        let risen_k = (pressure_kpa - from.pressure_kpa) * from.slope_k_kpa;
        let row_c = COLDEST_C + at as f64 * (1.0 / ROWS_PER_KELVIN);
        (row_c + risen_k, from.slope_k_kpa)
    }
}

/// Gauge pressure at sea level, psi, of an absolute pressure in kPa; negative in a vacuum.
pub fn gauge_psi(pressure_kpa: f64) -> f64 {
    (pressure_kpa - STANDARD_ATMOSPHERE_KPA) / KPA_PER_PSI
}

/// Absolute pressure, kPa, of a gauge pressure at sea level in psi.
pub fn absolute_kpa(gauge_psi: f64) -> f64 {
    gauge_psi * KPA_PER_PSI + STANDARD_ATMOSPHERE_KPA
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINES: [SaturationLine; 2] = [SaturationLine::Bubble, SaturationLine::Dew];

    fn temperatures_c() -> impl Iterator<Item = f64> {
        (0..=1200).map(|i| COLDEST_C + 0.1 * f64::from(i))
    }

    #[test]
    fn temperature_and_pressure_are_inverse() {
        for refrigerant in Refrigerant::ALL {
            for line in LINES {
                for temp_c in temperatures_c() {
                    let back_c = refrigerant.temp_c(line, refrigerant.pressure_kpa(line, temp_c));
                    assert!((back_c - temp_c).abs() < 1e-9, "{refrigerant:?} {temp_c}");
                }
            }
        }
    }

    #[test]
    fn the_table_follows_the_fit() {
        let (mut worst_ratio, mut worst_k) = (0.0_f64, 0.0_f64);
        for refrigerant in Refrigerant::ALL {
            for line in LINES {
                let table = SaturationTable::new(refrigerant, line);
                for temp_c in temperatures_c() {
                    let exact_kpa = refrigerant.pressure_kpa(line, temp_c);
                    let ratio = (table.pressure_kpa(temp_c) / exact_kpa - 1.0).abs();
                    worst_ratio = worst_ratio.max(ratio);
                    worst_k = worst_k.max((table.temp_c(exact_kpa) - temp_c).abs());
                    let back_c = table.temp_c(table.pressure_kpa(temp_c));
                    assert!((back_c - temp_c).abs() < 1e-9);
                }
            }
        }
        assert!(worst_ratio < 2e-4, "{worst_ratio}");
        assert!(worst_k < 0.005, "{worst_k}");
    }

    #[test]
    fn pressure_beyond_the_range_counts_as_its_end() {
        for refrigerant in Refrigerant::ALL {
            for line in LINES {
                let table = SaturationTable::new(refrigerant, line);
                for low_kpa in [f64::NEG_INFINITY, -1.0, 0.0, 1.0] {
                    assert_eq!(refrigerant.temp_c(line, low_kpa), COLDEST_C);
                    assert_eq!(table.temp_c(low_kpa), COLDEST_C);
                }
                for high_kpa in [5000.0, f64::INFINITY] {
                    assert_eq!(refrigerant.temp_c(line, high_kpa), HOTTEST_C);
                    assert_eq!(table.temp_c(high_kpa), HOTTEST_C);
                }
                assert!(table.temp_c(f64::NAN).is_nan());
            }
        }
    }

    #[test]
    fn only_blends_glide() {
        for refrigerant in Refrigerant::ALL {
            let [bubble_kpa, dew_kpa] = LINES.map(|line| refrigerant.pressure_kpa(line, -10.0));
            match refrigerant {
                Refrigerant::R134a | Refrigerant::R290 => assert_eq!(bubble_kpa, dew_kpa),
                Refrigerant::R404a | Refrigerant::R448a | Refrigerant::R449a => {
                    assert!(bubble_kpa > dew_kpa);
                }
            }
        }
    }

    #[test]
    fn gauge_and_absolute_pressure_are_inverse() {
        assert_eq!(gauge_psi(STANDARD_ATMOSPHERE_KPA), 0.0);
        assert!((gauge_psi(absolute_kpa(20.0)) - 20.0).abs() < 1e-12);
        assert!(gauge_psi(50.0) < 0.0);
    }
}
