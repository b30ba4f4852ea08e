//! The probe as the board sees it: lag, self-heating, noise and the converter.
//!
//! ```text
//! place -> element (lag, self-heating) -> resistance -> ratio -> noise -> counts
//! ```
//!
//! The element follows its surroundings with one time constant, stepped exactly.
//! Resistance comes from the curve in double precision, tabulated finely enough
//! that the table's error is far below one count.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

use hysteron_logic::divider::Counts;
use hysteron_logic::sense::Sample;
use hysteron_logic::units::Temperature;

use crate::probe::thermistor::{SteinhartHart, ratio};

/// Codes of a 12-bit converter.
const CODES: f64 = 4_096.0;
/// Readings in one sample.
const READINGS: f64 = 16.0;
/// Noise from which on the quantisation error of the sum is plain added noise.
///
/// Widrow's condition: a Gaussian dither of half a code leaves the error of a
/// quantiser uniform and independent of its input to well under a thousandth.
const DITHERS: f64 = 0.5;

const COLDEST_C: f64 = -80.0;
const HOTTEST_C: f64 = 180.0;
const NODES_PER_K: f64 = 8.0;
/// Added to a number below 2^16, this leaves no place for a fraction: what is there is rounded
/// away, and the whole number stands in the lowest bits.
const TO_WHOLE: f64 = 1.5 * (1_u64 << 52) as f64;

/// What a probe is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbeParameters {
    /// The thermistor.
    pub curve: SteinhartHart,
    /// The resistor above it, in ohms.
    pub fixed_ohm: f64,
    /// Time constant of the element in its surroundings, in s; zero follows at once.
    pub time_constant_s: f64,
    /// Heat the element gives off per kelvin above its surroundings, in mW/K; infinite for none.
    pub dissipation_mw_k: f64,
    /// Voltage across the divider, in V.
    pub reference_v: f64,
    /// Standard deviation of one reading's noise, in codes of a 12-bit converter.
    pub noise_codes: f64,
}

impl ProbeParameters {
    /// An epoxy bead on a cable in moving air, read through `fixed_ohm`: 30 s, 2 mW/K, 3.3 V,
    /// a code of noise (common practice).
    #[must_use]
    pub const fn bead(curve: SteinhartHart, fixed_ohm: f64) -> Self {
        Self {
            curve,
            fixed_ohm,
            time_constant_s: 30.0,
            dissipation_mw_k: 2.0,
            reference_v: 3.3,
            noise_codes: 1.0,
        }
    }
}

/// What is wrong with the probe or its wires at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ProbeCondition {
    /// Nothing.
    #[default]
    Sound,
    /// A wire or the element is broken.
    Open,
    /// The wires touch.
    Shorted,
    /// The last sample stands still.
    Frozen,
    /// Off by this much, in K.
    Off(f64),
}

/// A probe in the course of time.
#[derive(Debug, Clone)]
pub struct ProbeModel {
    ratios: Vec<f64>,
    follows: f64,
    heating_k: f64,
    noise_codes: f64,
    /// Standard deviation of a sum: noise and quantisation noise of each reading, added in power.
    sum_noise: f64,
    element_c: f64,
    /// Where the input stood one step before.
    earlier_ratio: f64,
    /// Where the input stands with the element as it is now.
    element_ratio: f64,
    last: Counts,
    last_ideal: Sample,
    random: Xoshiro256PlusPlus,
}

impl ProbeModel {
    /// A probe that has long been at `start_c`, stepped every `step_s`.
    #[must_use]
    pub fn new(parameters: ProbeParameters, start_c: f64, step_s: f64, seed: u64) -> Self {
        let nodes = ((HOTTEST_C - COLDEST_C) * NODES_PER_K) as u32;
        let ratios: Vec<f64> = (0..=nodes)
            .map(|node| {
                let temperature_c = COLDEST_C + f64::from(node) / NODES_PER_K;
                ratio(
                    parameters.curve.resistance_ohm(temperature_c),
                    parameters.fixed_ohm,
                )
            })
            .collect();
        // Power in the element: V^2 r (1 - r) / R_fixed.
        let full_mw = 1e3 * parameters.reference_v.powi(2) / parameters.fixed_ohm;
        Self {
            follows: if parameters.time_constant_s > 0.0 {
                -(-step_s / parameters.time_constant_s).exp_m1()
            } else {
                1.0
            },
            heating_k: full_mw / parameters.dissipation_mw_k,
            noise_codes: parameters.noise_codes,
            sum_noise: (READINGS * (parameters.noise_codes.powi(2) + 1.0 / 12.0)).sqrt(),
            element_c: start_c,
            earlier_ratio: ratio_at(&ratios, start_c),
            element_ratio: ratio_at(&ratios, start_c),
            ratios,
            last: Counts::FULL,
            last_ideal: Sample::Counts(Counts::FULL),
            random: Xoshiro256PlusPlus::seed_from_u64(seed),
        }
    }

    /// Temperature of the element, in °C.
    #[must_use]
    pub const fn element_c(&self) -> f64 {
        self.element_c
    }

    /// The next sample, one step after the last, with the probe's place at `place_c`.
    #[inline]
    pub fn sample(&mut self, place_c: f64, condition: ProbeCondition) -> Counts {
        self.follow(place_c);
        self.last = match condition {
            ProbeCondition::Sound => self.converted(self.element_ratio),
            ProbeCondition::Open
            | ProbeCondition::Shorted
            | ProbeCondition::Frozen
            | ProbeCondition::Off(_) => self.troubled(condition),
        };
        self.last
    }

    /// The next sample through a converter that loses nothing.
    pub fn ideal_sample(&mut self, place_c: f64, condition: ProbeCondition) -> Sample {
        self.follow(place_c);
        let sample = match condition {
            ProbeCondition::Sound => sample_of(self.element_c),
            ProbeCondition::Off(error_k) => sample_of(self.element_c + error_k),
            ProbeCondition::Open => Sample::Counts(self.converted(1.0)),
            ProbeCondition::Shorted => Sample::Counts(self.converted(0.0)),
            ProbeCondition::Frozen => self.last_ideal,
        };
        self.last_ideal = sample;
        sample
    }

    #[inline]
    fn follow(&mut self, place_c: f64) {
        // The heat of the sample before last: in a step it changes by nothing that shows.
        let towards_c = place_c + self.heating_k * self.earlier_ratio * (1.0 - self.earlier_ratio);
        self.earlier_ratio = self.element_ratio;
        self.element_c += self.follows * (towards_c - self.element_c);
        self.element_ratio = ratio_at(&self.ratios, self.element_c);
    }

    #[cold]
    fn troubled(&mut self, condition: ProbeCondition) -> Counts {
        let ratio = match condition {
            ProbeCondition::Sound => self.element_ratio,
            ProbeCondition::Off(error_k) => ratio_at(&self.ratios, self.element_c + error_k),
            ProbeCondition::Open => 1.0,
            ProbeCondition::Shorted => 0.0,
            ProbeCondition::Frozen => return self.last,
        };
        self.converted(ratio)
    }

    #[inline]
    fn converted(&mut self, ratio: f64) -> Counts {
        let code = ratio * CODES;
        let sum = if self.noise_codes < DITHERS {
            self.sum_of_readings(code)
        } else {
            // Sixteen truncated readings: half a code is lost in each.
            READINGS * (code - 0.5) + self.sum_noise * self.gauss()
        };
        // To the nearest: a conversion truncates, and saturates at the ends of its type.
        let nearest = (sum + 0.5) as u16;
        Counts::from_oversampled(nearest.min(Counts::FULL.sum()))
    }

    #[cold]
    fn sum_of_readings(&mut self, code: f64) -> f64 {
        (0..READINGS as u32).map(|_| self.reading(code)).sum()
    }

    fn reading(&mut self, code: f64) -> f64 {
        let noise = if self.noise_codes > 0.0 {
            self.noise_codes * self.gauss()
        } else {
            0.0
        };
        (code + noise).floor().clamp(0.0, CODES - 1.0)
    }

    /// Very nearly normal, with a standard deviation of one: the sum of four even
    /// variates (Irwin and Hall), which is cheap, and bounded as a converter's noise is.
    #[inline]
    fn gauss(&mut self) -> f64 {
        let bits = self.random.next_u64();
        let sum = (bits & 0xffff) + (bits >> 16 & 0xffff) + (bits >> 32 & 0xffff) + (bits >> 48);
        // Mean 4 * 65535 / 2; variance 4 * (65536^2 - 1) / 12.
        (f64::from(sum as i32) - 131_070.0) * (3.0_f64.sqrt() / 65_536.0)
    }
}

/// A temperature as the control holds it.
fn sample_of(temperature_c: f64) -> Sample {
    let millicelsius = (temperature_c * 1e3).round() as i32;
    Sample::Temperature(Temperature::from_millicelsius(millicelsius))
}

/// The ratio at `temperature_c` on a straight line between two nodes of the table.
#[inline]
fn ratio_at(ratios: &[f64], temperature_c: f64) -> f64 {
    let last = (ratios.len() - 2) as f64;
    let place = ((temperature_c - COLDEST_C) * NODES_PER_K).clamp(0.0, last + 1.0);
    // To the nearest whole number of what lies half below, which is the whole part, in one addition.
    let rounded = (place - 0.5) + TO_WHOLE;
    let node = (rounded.to_bits() & 0xffff) as usize;
    let (low, high) = match ratios.get(node..node + 2) {
        Some(&[low, high]) => (low, high),
        Some(_) | None => (ratios[ratios.len() - 1], ratios[ratios.len() - 1]),
    };
    low + (place - (rounded - TO_WHOLE)) * (high - low)
}

#[cfg(test)]
mod tests {
    use hysteron_logic::curve::Curve;
    use hysteron_logic::divider::{Divider, Element};

    use super::*;

    fn parameters() -> ProbeParameters {
        ProbeParameters {
            time_constant_s: 0.0,
            dissipation_mw_k: f64::INFINITY,
            ..ProbeParameters::bead(Curve::TypeII.coefficients().into(), 10_000.0)
        }
    }

    fn read_c(counts: Counts) -> f64 {
        let divider = Divider::new(10_000).unwrap();
        let Element::Resistance(resistance) = divider.element(counts) else {
            panic!("{counts:?} is no resistance");
        };
        let temperature = Curve::TypeII.temperature(resistance).unwrap();
        f64::from(temperature.millicelsius()) / 1e3
    }

    #[test]
    fn the_control_reads_what_the_probe_has() {
        for noise_codes in [0.3, 1.0] {
            let noisy = ProbeParameters {
                noise_codes,
                ..parameters()
            };
            let mut probe = ProbeModel::new(noisy, 0.0, 1.0, 7);
            for place_c in [-40.0, -18.03, 0.0, 4.4, 25.0, 60.01, 99.0] {
                let samples = 4_000;
                let mean = (0..samples)
                    .map(|_| read_c(probe.sample(place_c, ProbeCondition::Sound)))
                    .sum::<f64>()
                    / f64::from(samples);
                assert!((mean - place_c).abs() < 0.02, "{mean} at {place_c}");
            }
        }
    }

    #[test]
    fn plain_noise_is_like_sixteen_readings_where_it_dithers() {
        let moments = |noise_codes: f64, one_by_one: bool| {
            let noisy = ProbeParameters {
                noise_codes,
                ..parameters()
            };
            let mut probe = ProbeModel::new(noisy, 0.0, 1.0, 11);
            let sums: Vec<f64> = (0..20_000)
                .map(|_| {
                    if one_by_one {
                        (0..16).map(|_| probe.reading(1_234.3)).sum()
                    } else {
                        f64::from(probe.converted(1_234.3 / CODES).sum())
                    }
                })
                .collect();
            let mean = sums.iter().sum::<f64>() / 20_000.0;
            let variance = sums.iter().map(|sum| (sum - mean).powi(2)).sum::<f64>() / 20_000.0;
            (mean, variance.sqrt())
        };
        for noise_codes in [0.5, 1.0, 2.0] {
            let (mean, spread) = moments(noise_codes, false);
            let (exact_mean, exact_spread) = moments(noise_codes, true);
            assert!((mean - exact_mean).abs() < 0.2, "{mean} {exact_mean}");
            assert!(
                (spread / exact_spread - 1.0).abs() < 0.03,
                "{spread} {exact_spread}"
            );
        }
    }

    #[test]
    fn lag_follows_the_exponential_and_self_heating_adds_up() {
        let mut probe = ProbeModel::new(
            ProbeParameters {
                time_constant_s: 30.0,
                ..parameters()
            },
            0.0,
            1.0,
            1,
        );
        for _ in 0..30 {
            probe.sample(10.0, ProbeCondition::Sound);
        }
        assert!((probe.element_c() - 10.0 * (1.0 - (-1.0_f64).exp())).abs() < 1e-9);
        let mut probe = ProbeModel::new(
            ProbeParameters {
                dissipation_mw_k: 2.0,
                ..parameters()
            },
            25.0,
            1.0,
            1,
        );
        for _ in 0..5 {
            probe.sample(25.0, ProbeCondition::Sound);
        }
        // 10 k below 10 k at 3.3 V: 0.272 mW.
        assert!((probe.element_c() - 25.136).abs() < 0.001);
    }

    #[test]
    fn an_ideal_converter_tells_the_element_itself() {
        let mut probe = ProbeModel::new(parameters(), 5.0, 1.0, 3);
        let at = |millicelsius| Sample::Temperature(Temperature::from_millicelsius(millicelsius));
        assert_eq!(
            probe.ideal_sample(5.000_4, ProbeCondition::Sound),
            at(5_000)
        );
        assert_eq!(
            probe.ideal_sample(-3.000_6, ProbeCondition::Sound),
            at(-3_001)
        );
        assert_eq!(probe.ideal_sample(7.0, ProbeCondition::Frozen), at(-3_001));
        assert_eq!(
            probe.ideal_sample(7.0, ProbeCondition::Off(-0.5)),
            at(6_500)
        );
        let open = probe.ideal_sample(7.0, ProbeCondition::Open);
        assert_eq!(open, Sample::Counts(Counts::FULL));
    }

    #[test]
    fn broken_probes_read_as_they_do_on_a_board() {
        let mut probe = ProbeModel::new(parameters(), 5.0, 1.0, 3);
        let divider = Divider::new(10_000).unwrap();
        let before = probe.sample(5.0, ProbeCondition::Sound);
        assert_eq!(probe.sample(50.0, ProbeCondition::Frozen), before);
        let open = probe.sample(5.0, ProbeCondition::Open);
        assert_eq!(divider.element(open), Element::Open);
        let shorted = probe.sample(5.0, ProbeCondition::Shorted);
        assert_eq!(divider.element(shorted), Element::Shorted);
        let off: f64 = (0..500)
            .map(|_| read_c(probe.sample(5.0, ProbeCondition::Off(2.0))))
            .sum();
        assert!((off / 500.0 - 7.0).abs() < 0.02);
    }
}
