//! Tables against the equation, and the coefficients that are refused.

use super::*;

/// A table whose nodes fall by `falls` from `warmest`, in halves of a millikelvin, with
/// `spans` of them to be read.
fn falling(warmest: i32, falls: &[i32], spans: u8) -> Table {
    let mut nodes = [0; ROOM];
    let mut node = warmest;
    for (place, to) in nodes.iter_mut().enumerate() {
        *to = node;
        node -= falls.get(place).or(falls.last()).copied().unwrap_or(0);
    }
    Table {
        nodes,
        first: 4 * OCTAVE,
        spans,
    }
}

/// What is said of one span between nodes that fall so, and that lies `error` off the
/// equation in its middle.
fn judged(falls: [i32; 3], error: i32) -> Result<(), CoefficientsRefused> {
    let mut table = falling(0, &falls, 1);
    let middle = Coefficients::TYPE_II.reciprocal(table.first + PITCH / 2);
    let four = table.nodes.first_chunk().unwrap();
    let shift = doubled_millicelsius(middle) - interpolate(four, PITCH / 2) + error;
    table.nodes.iter_mut().for_each(|node| *node += shift);
    table.check(Coefficients::TYPE_II)
}

#[test]
fn each_node_must_be_colder_than_the_one_before() {
    assert_eq!(judged([1, 1, 1], 0), Ok(()));
    for place in 0..3 {
        for fall in [0, -1] {
            let mut falls = [1_000; 3];
            falls[place] = fall;
            let refused = Err(CoefficientsRefused::NotFalling);
            assert_eq!(judged(falls, 0), refused, "{falls:?}");
        }
    }
}

#[test]
fn no_span_is_wider_than_32_bits_can_interpolate() {
    assert_eq!(judged([WIDEST; 3], 0), Ok(()));
    for place in 0..3 {
        let mut falls = [WIDEST; 3];
        falls[place] += 1;
        let refused = Err(CoefficientsRefused::TooFlat);
        assert_eq!(judged(falls, 0), refused, "{falls:?}");
    }
}

#[test]
fn no_bend_is_sharper_than_32_bits_can_interpolate() {
    const FALL: i32 = 30_000;
    for bend in [MOST_BEND, -MOST_BEND] {
        let over = bend + bend.signum();
        assert_eq!(judged([FALL, FALL + bend, FALL + bend], 0), Ok(()));
        assert_eq!(judged([FALL, FALL, FALL + bend], 0), Ok(()));
        let refused = Err(CoefficientsRefused::TooCurved);
        assert_eq!(judged([FALL, FALL + over, FALL + over], 0), refused);
        assert_eq!(judged([FALL, FALL, FALL + over], 0), refused);
    }
}

#[test]
fn four_millikelvin_off_the_equation_are_accepted_and_no_more() {
    for error in [8, -8] {
        assert_eq!(judged([20_000; 3], error), Ok(()));
        let refused = Err(CoefficientsRefused::TooCurved);
        assert_eq!(judged([20_000; 3], error + error.signum()), refused);
    }
}

#[test]
fn only_the_spans_that_are_read_are_checked() {
    // The node beyond the one that bends the last span is not looked at.
    let mut table = falling(0, &[1_000], 1);
    let middle = Coefficients::TYPE_II.reciprocal(table.first + PITCH / 2);
    let shift = doubled_millicelsius(middle) + 1_500;
    table.nodes.iter_mut().for_each(|node| *node += shift);
    table.nodes[4] = table.nodes[3];
    assert_eq!(table.check(Coefficients::TYPE_II), Ok(()));
    table.spans = 2;
    let refused = Err(CoefficientsRefused::NotFalling);
    assert_eq!(table.check(Coefficients::TYPE_II), refused);
}

fn read(table: &Table, steps: i32) -> Result<i32, Beyond> {
    let place = Resistance::from_log2_steps(table.first + steps);
    let read = table.temperature(place);
    read.map(Temperature::millicelsius)
}

#[test]
fn the_believable_range_reaches_from_end_to_end() {
    // The second node is the first that is read.
    let at = |doubled| read(&falling(doubled + 2_000, &[2_000], 2), 0);
    assert_eq!(at(240_000), Ok(120_000));
    assert_eq!(at(240_001), Err(Beyond::Hot));
    assert_eq!(at(-100_001), Ok(-50_000));
    assert_eq!(at(-100_002), Err(Beyond::Cold));
}

#[test]
fn beyond_the_table_nothing_is_read() {
    let table = falling(80_000, &[10_000], 3);
    assert_eq!(read(&table, -1), Err(Beyond::Hot));
    assert_eq!(read(&table, 0), Ok(35_000));
    assert_eq!(read(&table, 3 * PITCH - 1), Ok(20_000));
    assert_eq!(read(&table, 3 * PITCH), Err(Beyond::Cold));
}

#[test]
fn a_temperature_leads_to_the_resistance_that_reads_it() {
    // Two halves of a millikelvin for each step, so that each step reads differently.
    let table = falling(240_000 + 65_534, &[65_534], 6);
    for steps in [0, 1, 1_000, PITCH, 4 * PITCH + 7] {
        let temperature = Temperature::from_millicelsius(read(&table, steps).unwrap());
        let back = table.resistance(temperature).unwrap();
        assert_eq!(back.log2_steps(), table.first + steps);
    }
    let step = crate::units::Difference::from_millikelvin(1);
    assert!(table.resistance(HOTTEST).is_some());
    assert!(table.resistance(COLDEST).is_some());
    assert_eq!(table.resistance(HOTTEST.raised_by(step)), None);
    assert_eq!(table.resistance(COLDEST.lowered_by(step)), None);
}

#[test]
fn interpolation_is_rounded_to_the_nearest() {
    let straight = |place| interpolate(&[1, 0, -1, -2], place);
    assert_eq!(straight(0), 0);
    assert_eq!(straight(PITCH / 2), 0);
    assert_eq!(straight(PITCH / 2 + 1), -1);
    assert_eq!(straight(PITCH - 1), -1);
}

#[test]
fn kelvins_are_rounded_to_the_nearest_half_of_a_thousandth() {
    for reciprocal in (2_500_000_000_000..4_500_000_000_000).step_by(7_777_777_777) {
        let exact = 2e18 / reciprocal as f64 - 546_300.0;
        let error = f64::from(doubled_millicelsius(reciprocal)) - exact;
        assert!(error.abs() <= 0.500_001, "{reciprocal}: {error}");
    }
    assert_eq!(doubled_millicelsius(0), i32::MAX);
    assert_eq!(doubled_millicelsius(-1), i32::MAX);
    assert_eq!(doubled_millicelsius(i64::MIN), i32::MAX);
    assert_eq!(doubled_millicelsius(1), i32::MAX);
}

/// `1/T` at 120 °C and at −50 °C, in units of 10^-15 per kelvin.
const HOT: i64 = 2_543_558_438_255;
const COLD: i64 = 4_481_290_611_696;

/// Coefficients whose `1/T` is `reciprocal` at a node.
fn through(node: i32, reciprocal: i64, b_femto: i64, c_femto: i64) -> Coefficients {
    let without = Coefficients::new(0, b_femto, c_femto).reciprocal(node * PITCH);
    Coefficients::new(reciprocal - without, b_femto, c_femto)
}

#[test]
fn the_ends_of_the_believable_range_are_what_they_are_called() {
    for (celsius, reciprocal) in [(120.0, HOT), (-50.0, COLD)] {
        let exact = 1e15 / (celsius + 273.15_f64);
        assert!((reciprocal as f64 - exact).abs() <= 0.5, "{celsius}");
    }
}

#[test]
fn the_ends_are_the_nodes_around_the_believable_range() {
    const B: i64 = 280_000_000_000;
    for node in [1, 2, 20] {
        let (hot, _) = ends(through(node, HOT, B, 0)).unwrap();
        assert_eq!(hot, node);
        let above = ends(through(node, HOT + 1, B, 0));
        let refused = Err(CoefficientsRefused::HotEndTooLow);
        assert_eq!(
            above.map(|(hot, _)| hot),
            if node == 1 { refused } else { Ok(node - 1) }
        );
    }
    for node in [30, 53, LAST] {
        let (_, cold) = ends(through(node, COLD, B, 0)).unwrap();
        assert_eq!(cold, node);
        let below = ends(through(node, COLD - 1, B, 0));
        let refused = Err(CoefficientsRefused::ColdEndTooHigh);
        assert_eq!(
            below.map(|(_, cold)| cold),
            if node == LAST { refused } else { Ok(node + 1) }
        );
    }
}

#[test]
fn a_curve_that_is_level_at_an_end_is_none() {
    let refused = Err(CoefficientsRefused::NotFalling);
    // Level throughout, beyond either end.
    assert_eq!(ends(Coefficients::new(HOT + 1, 0, 0)), refused);
    assert_eq!(ends(Coefficients::new(HOT, 0, 0)), refused);
    // Level at the hot end and steep at the cold one, and the other way round.
    for (node, reciprocal, c_femto) in [(1, HOT, 1_000_000_000), (40, COLD, -1_000_000_000)] {
        let slope = Coefficients::new(0, 0, c_femto).slope(node * PITCH);
        let level = through(node, reciprocal, -slope, c_femto);
        assert_eq!(level.slope(node * PITCH), 0);
        assert_eq!(ends(level), refused, "{node}");
        let rising = through(node, reciprocal, 1 - slope, c_femto);
        assert!(ends(rising).is_ok(), "{node}");
    }
}
