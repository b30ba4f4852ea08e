//! What a sample says, worked out once more: double precision, straight from the
//! published coefficients, and sharing nothing with the control's own way.

use std::sync::OnceLock;

use hysteron_logic::curve::Curve;
use hysteron_logic::divider::Counts;
use hysteron_logic::resistance::Resistance;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Draft;
use hysteron_logic::units::Temperature;

use crate::published_table::Table;

/// How far the control's integers may lie from the equation, in thousandths of a kelvin.
pub const ROUNDING_MC: f64 = 20.0;

/// Colder than this, or hotter, is no reading of a probe.
const BELIEVABLE_MC: [f64; 2] = [-50_000.0, 120_000.0];

/// The divider's output above which nothing is connected, and below which the
/// leads touch, as shares of the reference.
const CONNECTED: [f64; 2] = [0.002, 0.998];

/// A temperature, in thousandths of a degree, and how far off the control may read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// By the equation.
    pub exact_mc: f64,
    /// To either side.
    pub slack_mc: f64,
}

impl Span {
    /// Whether a reading of `point` is right.
    #[must_use]
    pub fn contains(self, point: Temperature) -> bool {
        (f64::from(point.millicelsius()) - self.exact_mc).abs() <= self.slack_mc
    }
}

/// What a sample says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Told {
    /// Nothing is connected.
    Open,
    /// The leads touch.
    Shorted,
    /// No temperature that a probe of this kind has.
    Beyond,
    /// This temperature.
    At(Span),
    /// So close to an end of what a probe can have that rounding decides which of the two.
    AtTheEnd(Span),
}

/// What `sample` says under the divider, the curve and the offset of `draft`.
#[must_use]
pub fn told(sample: Sample, draft: &Draft) -> Told {
    let (read_mc, slack_mc) = match sample {
        Sample::Temperature(point) => (f64::from(point.millicelsius()), 0.0),
        Sample::Resistance(resistance) => (reading_mc(ohms(resistance), draft.curve), ROUNDING_MC),
        Sample::Counts(counts) => {
            let sum = f64::from(counts.sum());
            if sum >= (CONNECTED[1] * 65_536.0).ceil() {
                return Told::Open;
            }
            if sum <= (CONNECTED[0] * 65_536.0).floor() {
                return Told::Shorted;
            }
            // Sixteen truncated readings stand half a code too low each.
            let share = (sum + 8.0) / 65_536.0;
            let ohms = f64::from(draft.fixed_resistor_ohms) * share / (1.0 - share);
            (reading_mc(ohms, draft.curve), ROUNDING_MC)
        }
    };
    let span = Span {
        exact_mc: read_mc + f64::from(draft.probe_offset.millikelvin()),
        slack_mc,
    };
    let [coldest, hottest] = BELIEVABLE_MC;
    let inside = (read_mc - coldest).min(hottest - read_mc);
    if inside < -slack_mc {
        Told::Beyond
    } else if inside < slack_mc {
        Told::AtTheEnd(span)
    } else {
        Told::At(span)
    }
}

/// What a converter reads from a thermistor of `draft` at `read_mc`.
#[must_use]
pub fn counts_at(read_mc: f64, draft: &Draft) -> Counts {
    let ohms = ohms_at(read_mc, draft.curve);
    let share = ohms / (ohms + f64::from(draft.fixed_resistor_ohms));
    let sum = (share * 65_536.0 - 8.0).round().clamp(0.0, 65_535.0);
    Counts::from_oversampled(sum as u16)
}

/// What an ohmmeter reads from a thermistor of `draft` at `read_mc`.
///
/// # Panics
/// Where a thermistor has less than half a thousandth of an ohm.
#[must_use]
pub fn resistance_at(read_mc: f64, draft: &Draft) -> Resistance {
    let milliohms = (ohms_at(read_mc, draft.curve) * 1_000.0).round();
    Resistance::from_milliohms(milliohms as u64)
        .unwrap_or_else(|| panic!("{milliohms} mΩ at {read_mc} m°C"))
}

fn ohms(resistance: Resistance) -> f64 {
    (f64::from(resistance.log2_steps()) / 65_536.0).exp2()
}

/// The equation of Steinhart and Hart: `1/T = A + B ln R + C (ln R)^3`.
fn reading_mc(ohms: f64, curve: Curve) -> f64 {
    let [a, b, c] = coefficients(curve);
    let ln = ohms.ln();
    ((a + b * ln + c * ln.powi(3)).recip() - 273.15) * 1_000.0
}

/// The equation backwards, by Newton's method from 10 kΩ.
fn ohms_at(read_mc: f64, curve: Curve) -> f64 {
    let [a, b, c] = coefficients(curve);
    let wanted = (read_mc / 1_000.0 + 273.15).recip();
    let mut ln = 10_000_f64.ln();
    for _ in 0..24 {
        ln -= (a + b * ln + c * ln.powi(3) - wanted) / (b + 3.0 * c * ln.powi(2));
    }
    ln.exp()
}

/// `A`, `B` and `C` by the published table, or as a person gave them.
fn coefficients(curve: Curve) -> [f64; 3] {
    static PUBLISHED: OnceLock<[[f64; 3]; 6]> = OnceLock::new();
    let published = PUBLISHED.get_or_init(|| {
        ["10K3A", "10K4A", "2.2K3A", "3K3A", "5K3A", "100K6A"].map(published_coefficients)
    });
    let [type_2, type_3, r2k2, r3k, r5k, r100k] = *published;
    match curve {
        Curve::TypeII => type_2,
        Curve::TypeIII => type_3,
        Curve::R2k2 => r2k2,
        Curve::R3k => r3k,
        Curve::R5k => r5k,
        Curve::R100k => r100k,
        Curve::Custom(custom) => {
            let given = custom.coefficients();
            [given.a_femto(), given.b_femto(), given.c_femto()].map(|femto| femto as f64 * 1e-15)
        }
    }
}

fn published_coefficients(part: &str) -> [f64; 3] {
    let table = Table::parse(include_str!("../../data/thermistor_coefficients.csv"));
    let row = table
        .rows()
        .find(|row| row.text("part").split(' ').next() == Some(part));
    let row = row.unwrap_or_else(|| panic!("{part} is in the published table"));
    ["A", "B", "C"].map(|column| row.number(column))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_converter_or_an_ohmmeter_reads_comes_back() {
        for curve in Curve::PUBLISHED {
            let draft = Draft {
                curve,
                fixed_resistor_ohms: curve.nominal_ohms(),
                ..Draft::COOLING
            };
            for read_mc in (-40_000..=100_000).step_by(1_234) {
                let samples = [
                    (
                        1.0,
                        Sample::Resistance(resistance_at(read_mc.into(), &draft)),
                    ),
                    (30.0, Sample::Counts(counts_at(read_mc.into(), &draft))),
                ];
                for (close_mc, sample) in samples {
                    let Told::At(span) = told(sample, &draft) else {
                        panic!("{sample:?} at {read_mc}");
                    };
                    let off_mc = span.exact_mc - f64::from(read_mc);
                    assert!(off_mc.abs() < close_mc, "{curve:?} at {read_mc}: {off_mc}");
                }
            }
        }
    }

    #[test]
    fn the_published_resistance_at_25_degrees_is_25_degrees() {
        let named = [
            (Curve::TypeII, 10_000),
            (Curve::TypeIII, 10_000),
            (Curve::R2k2, 2_252),
            (Curve::R3k, 3_000),
            (Curve::R5k, 5_000),
            (Curve::R100k, 100_000),
        ];
        for (curve, ohms) in named {
            let read_mc = reading_mc(f64::from(ohms), curve);
            assert!((read_mc - 25_000.0).abs() < 5.0, "{curve:?}: {read_mc}");
        }
    }
}
