//! The plants against closed forms, a published law and the cycle that a map was fitted to.

use hysteron_plant::compressor::CompressorKind;
use hysteron_plant::first_order::FirstOrderParameters;
use hysteron_plant::tank::TankParameters;
use hysteron_plant::{FirstOrder, Load, Quantity, Surroundings, Tank};
use hysteron_tests::published_table::Table;

/// 50 US gallons of water from 15 to 60 °C by 4.5 kW take 131.8 min.
///
/// Closed form m c ΔT / P: 189.27 l of 998.2 kg/m³ and 4,186 J/(kg K), water at 20 °C from memory.
#[test]
fn a_lossless_tank_heats_in_the_time_its_heat_takes() {
    let gallon_m3 = 3.785_411_784e-3;
    let parameters = TankParameters {
        contents_kg: 50.0 * gallon_m3 * 998.2,
        contents_j_kg_k: 4_186.0,
        element_capacity_j_k: 1.0,
        element_contents_w_k: 10_000.0,
        loss_w_k: 0.0,
        heater_w: 4_500.0,
        start_c: 15.0,
        ..TankParameters::default()
    };
    let mut tank = Tank::heated(parameters, 1.0).unwrap();
    let mut seconds = 0_u32;
    while tank.probe_site_c() < 60.0 {
        tank.step(Load::RATED, &Surroundings::default());
        seconds += 1;
        assert!(seconds < 20_000);
    }
    let minutes = f64::from(seconds) / 60.0;
    assert!((minutes - 131.8).abs() < 0.05, "{minutes} min");
}

/// One relay with cut-in, cut-out and a pure dead time between probe and relay, on a first-order plant.
struct Cycle {
    step_s: f64,
    cut_in_c: f64,
    cut_out_c: f64,
    dead_steps: usize,
}

/// The last whole cycle of many: seconds on and off, and the extremes, °C.
#[derive(Debug, Clone, Copy)]
struct Measured {
    on_s: f64,
    off_s: f64,
    lowest_c: f64,
    highest_c: f64,
}

impl Cycle {
    fn run(&self, parameters: FirstOrderParameters, cycles: u32) -> Measured {
        let start_c = parameters.start_c;
        let mut plant = FirstOrder::new(parameters, self.step_s).unwrap();
        // The relay asks when a reading is this many steps old.
        let mut delayed = std::collections::VecDeque::from(vec![start_c; self.dead_steps]);
        let mut load = Load::Off;
        let (mut spent, mut measured_on_s, mut starts) = (0_u32, 0.0, 0);
        let (mut lowest_c, mut highest_c) = (f64::INFINITY, f64::NEG_INFINITY);
        loop {
            delayed.push_back(plant.probe_site_c());
            let seen_c = delayed.pop_front().unwrap();
            match load {
                Load::Off if seen_c >= self.cut_in_c => {
                    let off_s = f64::from(spent) * self.step_s;
                    starts += 1;
                    if starts > cycles {
                        let on_s = measured_on_s;
                        return Measured {
                            on_s,
                            off_s,
                            lowest_c,
                            highest_c,
                        };
                    }
                    (lowest_c, highest_c) = (f64::INFINITY, f64::NEG_INFINITY);
                    (load, spent) = (Load::RATED, 0);
                }
                Load::Running { .. } if seen_c <= self.cut_out_c => {
                    measured_on_s = f64::from(spent) * self.step_s;
                    (load, spent) = (Load::Off, 0);
                }
                Load::Off | Load::Running { .. } => {}
            }
            plant.step(load);
            spent += 1;
            lowest_c = lowest_c.min(plant.probe_site_c());
            highest_c = highest_c.max(plant.probe_site_c());
        }
    }
}

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// Times and extremes of relay cycling with and without dead time.
///
/// Source in the first line of `data/plant/relay_cycle_reference.csv`.
#[test]
fn relay_cycling_has_the_times_and_extremes_of_the_closed_form() {
    let table = Table::parse(include_str!("../../data/plant/relay_cycle_reference.csv"));
    let step_s = 0.05;
    let mut judged = 0;
    for row in table.rows() {
        let dead_s = row.number("dead_min") * 60.0;
        let cycle = Cycle {
            step_s,
            cut_in_c: celsius(row.number("cut_in")),
            cut_out_c: celsius(row.number("cut_out")),
            dead_steps: (dead_s / step_s).round() as usize,
        };
        let parameters = FirstOrderParameters {
            time_constant_s: row.number("tau_min") * 60.0,
            settled_on_c: celsius(row.number("T_inf_on")),
            settled_off_c: celsius(row.number("T_inf_off")),
            start_c: celsius(row.number("cut_in")),
        };
        let measured = cycle.run(parameters, 5);
        // Each crossing is seen up to one step late, and that displaces its neighbours.
        let minutes = 4.0 * step_s / 60.0;
        row.assert_absolute(
            "on_min",
            measured.on_s / 60.0,
            row.number("on_min"),
            minutes,
        );
        row.assert_absolute(
            "off_min",
            measured.off_s / 60.0,
            row.number("off_min"),
            minutes,
        );
        let extremes = [("Tmin", measured.lowest_c), ("Tmax", measured.highest_c)];
        for (column, ours_c) in extremes {
            let published_c = celsius(row.number(column));
            row.assert_absolute(column, ours_c, published_c, 5e-4);
        }
        let period_s = measured.on_s + measured.off_s;
        row.assert_relative("runtime_frac", measured.on_s / period_s, 5e-4);
        row.assert_relative("cycles_per_h", 3_600.0 / period_s, 5e-4);
        judged += 1;
    }
    assert_eq!(judged, 2);
}

/// N = 4 Nmax X (1 − X): cycling rate against run fraction for a narrow band.
///
/// The thermostat law of the appliance-efficiency procedures, as EnergyPlus has it for its cooling
/// coils: a run of 3600/(4 Nmax (1 − X)) s, a rest of 3600/(4 Nmax X) s (Parken, Beausoliel and
/// Kelly, ASHRAE Trans. 83, 1977, for its origin, from memory). For a first-order plant and a band
/// far below the span of the asymptotes it follows
/// from t_on = τ ΔT / (span (1−X)) and t_off = τ ΔT / (span X), with Nmax = span / (4 τ ΔT).
#[test]
fn cycling_rate_follows_the_parabola_for_a_narrow_band() {
    let (tau_s, span_k, band_k) = (1_800.0, 40.0, 0.2);
    let most_per_s = span_k / (4.0 * tau_s * band_k);
    let (mut rates, mut judged) = (Vec::new(), 0);
    for tenths in 1..=9 {
        let run_fraction = f64::from(tenths) / 10.0;
        // The middle of the band lies at this fraction of the span below the off-asymptote.
        let settled_off_c = 4.0 + run_fraction * span_k;
        let cycle = Cycle {
            step_s: 0.01,
            cut_in_c: 4.0 + band_k / 2.0,
            cut_out_c: 4.0 - band_k / 2.0,
            dead_steps: 0,
        };
        let parameters = FirstOrderParameters {
            time_constant_s: tau_s,
            settled_on_c: settled_off_c - span_k,
            settled_off_c,
            start_c: 4.0,
        };
        let measured = cycle.run(parameters, 3);
        let period_s = measured.on_s + measured.off_s;
        let expected = 4.0 * most_per_s * run_fraction * (1.0 - run_fraction);
        let rate = 1.0 / period_s;
        assert!(
            (rate / expected - 1.0).abs() < 0.005,
            "X = {run_fraction}: {rate} per s, law {expected}"
        );
        assert!((measured.on_s / period_s - run_fraction).abs() < 0.002);
        rates.push(rate);
        judged += 1;
    }
    assert_eq!(judged, 9);
    assert!(rates.iter().all(|rate| *rate <= rates[4]), "most at a half");
}

/// The example compressors against the cycle they were fitted to: a check of the fit and of the
/// copied coefficients, not an independent one.
///
/// Source in the first line of `data/plant/compressor_map.csv`. A ten-coefficient polynomial
/// can't follow the cycle closer over so wide a field; the corners are the worst.
#[test]
fn compressor_maps_follow_the_cycle_they_were_fitted_to() {
    let table = Table::parse(include_str!("../../data/plant/compressor_map.csv"));
    let mut judged = 0;
    for row in table.rows() {
        let kind = match row.text("kind") {
            "medium" => CompressorKind::MediumTemperature,
            "low" => CompressorKind::LowTemperature,
            other => panic!("no map {other}"),
        };
        let held = kind.map().at_condensing(row.number("condensing_c"));
        let evaporating_c = row.number("evaporating_c");
        row.assert_relative("capacity", held.capacity(evaporating_c).0, 0.025);
        row.assert_relative("power", held.power(evaporating_c), 0.045);
        judged += 1;
    }
    assert_eq!(judged, 26);
}

/// What a tank can be asked for depends on what its load is.
#[test]
fn every_quantity_listed_can_be_read_and_no_other() {
    use hysteron_plant::compressor_parameters::CompressorParameters;
    use hysteron_plant::{Condenser, Plant, RefrigeratedBox, Room};
    let compressor = CompressorParameters::default;
    let plants: [Plant; 7] = [
        RefrigeratedBox::new(Default::default(), compressor(), 1.0)
            .unwrap()
            .into(),
        RefrigeratedBox::pumping_down(Default::default(), compressor(), Default::default(), 1.0)
            .unwrap()
            .into(),
        Tank::heated(TankParameters::default(), 1.0).unwrap().into(),
        Tank::cooled(TankParameters::default(), compressor(), 1.0)
            .unwrap()
            .into(),
        Room::new(Default::default(), 1.0).unwrap().into(),
        Condenser::new(Default::default(), 1.0).unwrap().into(),
        FirstOrder::new(Default::default(), 1.0).unwrap().into(),
    ];
    for mut plant in plants {
        plant.step(Load::RATED, &Surroundings::default());
        for quantity in Quantity::ALL {
            assert_eq!(
                plant.quantity(quantity).is_some(),
                plant.quantities().contains(&quantity),
                "{quantity} of {plant:?}"
            );
        }
        let probe_c = plant.probe_site_c();
        assert_eq!(plant.quantity(plant.quantities()[0]), Some(probe_c));
    }
}
