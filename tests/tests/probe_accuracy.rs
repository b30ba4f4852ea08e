//! Counts to temperature against the double-precision equation, over every count.
#![expect(
    clippy::print_stdout,
    reason = "the size of the errors is worth reading"
)]

use hysteron::thermistor::{self, SteinhartHart};
use hysteron_logic::curve::Curve;
use hysteron_logic::divider::{Counts, Divider, Element};

/// The promise, in kelvin.
const PROMISED_K: f64 = 0.02;

/// The largest error over every count between −40 and +100 °C, in kelvin, and
/// how many counts that were.
fn worst_error_k(curve: Curve, divider: Divider) -> (f64, u32) {
    let reference = SteinhartHart::from(curve.coefficients());
    let fixed_ohm = f64::from(divider.fixed_ohms());
    let (mut worst_k, mut judged) = (0.0_f64, 0);
    for sum in 0..=Counts::FULL.sum() {
        let counts = Counts::from_oversampled(sum);
        let ratio = thermistor::ratio_of_counts(counts);
        let exact_c =
            reference.temperature_c(thermistor::resistance_at_ratio_ohm(ratio, fixed_ohm));
        if !(-40.0..=100.0).contains(&exact_c) {
            continue;
        }
        let Element::Resistance(resistance) = divider.element(counts) else {
            panic!(
                "{} with {fixed_ohm} ohm: {sum} at {exact_c} °C is no resistance",
                curve.name()
            );
        };
        let read = curve.temperature(resistance).unwrap_or_else(|beyond| {
            panic!(
                "{} with {fixed_ohm} ohm: {sum} at {exact_c} °C: {beyond:?}",
                curve.name()
            )
        });
        worst_k = worst_k.max((f64::from(read.millicelsius()) / 1_000.0 - exact_c).abs());
        judged += 1;
    }
    (worst_k, judged)
}

#[test]
fn every_count_of_every_published_curve() {
    for curve in Curve::PUBLISHED {
        for fixed_ohms in [10_000, curve.nominal_ohms()] {
            let divider = Divider::new(fixed_ohms).unwrap();
            assert_eq!(curve.suits(divider), Ok(()));
            let (worst_k, judged) = worst_error_k(curve, divider);
            println!(
                "{:>12} with {fixed_ohms:>6} ohm: {:.2} mK at worst over {judged} counts",
                curve.name(),
                worst_k * 1_000.0
            );
            assert!(judged > 30_000, "only {judged} counts were judged");
            assert!(worst_k < PROMISED_K);
        }
    }
}
