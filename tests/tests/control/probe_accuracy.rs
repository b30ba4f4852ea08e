//! Counts to temperature against the double-precision equation, over every count.
#![expect(
    clippy::print_stdout,
    reason = "the size of the errors is worth reading"
)]

use std::cell::Cell;

use hysteron_bench::probe::thermistor::{self, SteinhartHart};
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::divider::{Counts, Divider, Element};
use proptest::prelude::*;
use proptest::test_runner::{Config, FileFailurePersistence, TestRunner};

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

/// A thermistor by its resistance at 25 °C, its steepness there and the bend
/// that `C` gives it.
fn thermistor() -> impl Strategy<Value = SteinhartHart> {
    (2.0_f64..5.5, 1_800.0_f64..6_000.0, -1e-7_f64..4e-7).prop_map(|(decades, beta_k, c)| {
        let x = decades * std::f64::consts::LN_10;
        let b = beta_k.recip() - 3.0 * c * x * x;
        SteinhartHart::new(298.15_f64.recip() - b * x - c * x.powi(3), b, c)
    })
}

/// Whatever coefficients are taken, the promise holds; what is refused had a reason.
#[test]
fn any_custom_curve_that_is_taken() {
    let (taken, refused, misfits) = (Cell::new(0), Cell::new(0), Cell::new(0));
    let worst_k = Cell::new(0.0_f64);
    let mut runner = TestRunner::new(Config {
        cases: 1_000,
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource("regressions"))),
        ..Config::with_source_file(file!())
    });
    let (strategy, resistors) = (thermistor(), 500_u32..=1_000_000);
    runner
        .run(&(strategy, resistors), |(thermistor, fixed_ohms)| {
            let Ok(custom) = CustomCurve::new(thermistor.coefficients()) else {
                refused.set(refused.get() + 1);
                return Ok(());
            };
            let curve = Curve::Custom(custom);
            let divider = Divider::new(fixed_ohms).expect("a fixed resistor");
            if curve.suits(divider).is_err() {
                misfits.set(misfits.get() + 1);
                return Ok(());
            }
            let (error_k, judged) = worst_error_k(curve, divider);
            prop_assert!(judged > 1_000, "only {judged} counts were judged");
            prop_assert!(error_k < PROMISED_K, "{error_k} K");
            worst_k.set(worst_k.get().max(error_k));
            taken.set(taken.get() + 1);
            Ok(())
        })
        .unwrap_or_else(|failure| panic!("{failure}"));
    let (taken, refused, misfits) = (taken.get(), refused.get(), misfits.get());
    println!(
        "{taken} custom curves: {:.2} mK at worst; {refused} refused, \
         {misfits} did not suit their fixed resistor",
        worst_k.get() * 1_000.0
    );
    assert!(taken > 200 && refused > 50 && misfits > 50);
}
