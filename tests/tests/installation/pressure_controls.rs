//! Pressures and the circuit: what moves the contacts of pressure controls, and what they start and stop.

use hysteron_bench::record::runs::Fed;
use hysteron_bench::record::trace::Entry;
use hysteron_bench::run::bench::CaseRun;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use hysteron_plant::{HighPressureControl, Quantity};
use hysteron_tests::wired_run::{count, extremes, fails, hours, run, scenario, stretches, told};

fn pump_down(happenings: &str) -> CaseRun {
    let direct = scenario("pump-down-120", happenings);
    run(&direct.replace(
        "[control]",
        "[plant.pump_down]\ncut_in_kpa = \"15 psig\"\ncut_out_kpa = \"3 psig\"\n[control]",
    ))
}

#[test]
fn pressure_control_and_valve_circuit_fail_apart() {
    let sound = pump_down("");
    let compressor = sound.compressor.expect("it pumps down");
    assert!(compressor.starts > 5 && told(&sound).is_empty());

    let stuck_closed = pump_down(&fails("02:00", "low-pressure-control", "stuck closed"));
    let (least_w, _) = extremes(&stuck_closed, Quantity::CompressorPower, hours(3));
    assert!(
        least_w > 0.0,
        "the compressor draws into the vacuum: {least_w} W"
    );
    assert_eq!(
        told(&stuck_closed),
        ["works unasked: compressor, condenser-fan"]
    );

    let after = Duration::from_minutes(125);
    for (part, fault) in [
        ("low-pressure-control", "stuck open"),
        ("high-pressure-control", "stuck open"),
        ("breaker-condensing-unit", "tripped"),
        ("11", "off its terminal"),
        ("compressor", "winding open"),
    ] {
        let dead = pump_down(&fails("02:00", part, fault));
        let (_, most_w) = extremes(&dead, Quantity::CompressorPower, after);
        assert!(most_w <= 0.0, "{part} {fault}: {most_w} W");
        let trace = dead.trace.as_ref().expect("traced");
        let relay = stretches(trace, hours(3), hours(6));
        assert!(
            relay.contains(&(Relay::Closed, Fed::Energised)),
            "{part} {fault}: the valve was never called for"
        );
    }
    for (part, fault) in [("valve", "coil open"), ("4", "off its terminal")] {
        let shut = pump_down(&fails("02:00", part, fault));
        let (_, most_w) = extremes(&shut, Quantity::CompressorPower, hours(3));
        assert!(most_w <= 0.0, "{part} {fault}: {most_w} W");
        let trace = shut.trace.as_ref().expect("traced");
        let relay = stretches(trace, hours(3), hours(6));
        assert!(
            relay.contains(&(Relay::Closed, Fed::Dead)),
            "{part} {fault}: {relay:?}"
        );
        let (_, warmest_c) = extremes(&shut, Quantity::Air, hours(5));
        assert!(warmest_c > 6.0, "{part} {fault}: {warmest_c} °C");
    }
}

/// Which of two condensing units has a high-pressure control: one cycles on it, one runs hot.
#[test]
fn a_condenser_without_its_fan_runs_hot_until_head_pressure_opens_its_control() {
    let hot_day = "[[happening]]\nat = \"00:30\"\nfor = \"5 h\"\nwhat = \"heat is added\"\npower = \"4000 W\"\n";
    let fan = format!(
        "{hot_day}{}",
        fails("02:00", "condenser-fan", "winding open")
    );
    let sound = run(&scenario("contactor-24", hot_day));
    let (_, most_c) = extremes(&sound, Quantity::CondensingTemperature, Duration::ZERO);
    assert!(most_c < HighPressureControl::CLOSES_C, "{most_c} °C");

    let guarded = run(&scenario("contactor-24", &fan));
    let (_, most_c) = extremes(&guarded, Quantity::CondensingTemperature, hours(3));
    let opens_c = HighPressureControl::OPENS_C;
    assert!((opens_c..opens_c + 1.0).contains(&most_c), "{most_c} °C");
    let on_its_own = count(&guarded, &Entry::LoadOnItsOwn(Fed::Dead));
    assert!(on_its_own > 3, "{on_its_own} stops by pressure");

    let unguarded = run(&scenario("compressor-120", &fan));
    let (_, most_c) = extremes(&unguarded, Quantity::CondensingTemperature, hours(3));
    assert!(most_c > opens_c + 10.0, "{most_c} °C");
    assert_eq!(count(&unguarded, &Entry::LoadOnItsOwn(Fed::Dead)), 0);
    assert_eq!(told(&unguarded), ["does not work: condenser-fan"]);
}
