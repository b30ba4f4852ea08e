//! Moist air and doors against published values.
//!
//! Each file in `data/` names its source in its first line.

use hysteron_plant::door::Doorway;
use hysteron_plant::moist_air::{MoistAir, RelativeHumidity, SEA_LEVEL_PA, saturation_pressure_pa};
use hysteron_tests::published_table::Table;

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

fn air(dry_bulb_c: f64, humidity_fraction: f64, pressure_pa: f64) -> MoistAir {
    let humidity = RelativeHumidity::from_fraction(humidity_fraction).expect("a humidity");
    MoistAir::from_relative_humidity(dry_bulb_c, humidity, pressure_pa).expect("moist air")
}

/// The same formulas in another library: agreement to its rounding, and for dew point and
/// wet bulb to the thousandth of a kelvin at which it stops iterating.
#[test]
fn moist_air_agrees_with_psychrolib() {
    let table = Table::parse(include_str!("../../data/moist_air.csv"));
    assert_eq!(table.len(), 40);
    for row in table.rows() {
        let tdb_c = row.number("tdb_c");
        let ours = air(tdb_c, row.number("rh"), SEA_LEVEL_PA);
        row.assert_relative("saturation_pa", saturation_pressure_pa(tdb_c), 1e-8);
        row.assert_relative("w", ours.humidity_ratio(), 1e-8);
        row.assert_relative("enthalpy_j_per_kg", ours.enthalpy_j_per_kg(), 1e-7);
        row.assert_relative("volume_m3_per_kg", ours.volume_m3_per_kg(), 1e-8);
        row.assert_relative("density_kg_per_m3", ours.density_kg_per_m3(), 1e-8);
        let (dew_c, wet_c) = (row.number("dew_point_c"), row.number("wet_bulb_c"));
        row.assert_absolute("dew point", ours.dew_point_c(), dew_c, 0.001);
        row.assert_absolute("wet bulb", ours.wet_bulb_c(), wet_c, 0.001);
    }
}

/// Real-gas moist air: leaving out the enhancement factor costs less than 0.8 % of the
/// humidity ratio and 0.12 % of the volume.
#[test]
fn moist_air_is_close_to_the_real_gas() {
    let table = Table::parse(include_str!("../../data/moist_air.csv"));
    for row in table.rows() {
        let ours = air(row.number("tdb_c"), row.number("rh"), SEA_LEVEL_PA);
        row.assert_relative("real_w", ours.humidity_ratio(), 0.008);
        row.assert_relative("real_volume_m3_per_kg", ours.volume_m3_per_kg(), 0.0012);
    }
}

/// The handbook rounds the coefficients of its IP equations apart from the SI ones, by up to
/// 0.1 % in enthalpy; the IP zero of dry air is at 0 °F, 7.68 Btu/lb away from that of SI.
#[test]
fn moist_air_agrees_with_the_table_in_ip_units() {
    let table = Table::parse(include_str!("../../data/psychrometrics.csv"));
    assert_eq!(table.len(), 8);
    let pressure_pa = 14.696 * 6_894.757_293;
    for row in table.rows() {
        let ours = air(celsius(row.number("tdb_f")), row.number("rh"), pressure_pa);
        row.assert_relative("w_lb_per_lb", ours.humidity_ratio(), 3e-4);
        let published_j = (row.number("enthalpy_btu_per_lb") - 0.240 * 32.0) * 2326.0;
        let ours_j = ours.enthalpy_j_per_kg();
        row.assert_absolute("enthalpy", ours_j, published_j, 1e-3 * published_j);
        let ours_ft3_per_lb = ours.volume_m3_per_kg() / 0.062_427_96;
        row.assert_relative("volume_ft3_per_lb", ours_ft3_per_lb, 1e-4);
        let dew_c = celsius(row.number("dewpoint_f"));
        row.assert_absolute("dew point", ours.dew_point_c(), dew_c, 0.01);
        let wet_c = celsius(row.number("wetbulb_f"));
        row.assert_absolute("wet bulb", ours.wet_bulb_c(), wet_c, 0.02);
    }
}

/// A cooler's door, 3 ft by 7 ft, 35 °F and 90 % inside, 75 °F and 50 % outside: the same
/// equation, worked by another program with PsychroLib's air. That checks our arithmetic; the
/// equation itself is Gosney and Olama's (1975), and nothing measured is compared here.
#[test]
fn the_door_equation_agrees_with_another_working_of_it() {
    let table = Table::parse(include_str!("../../data/door_infiltration_reference.csv"));
    assert_eq!(table.len(), 1);
    let inside = air(celsius(35.0), 0.9, SEA_LEVEL_PA);
    let outside = air(celsius(75.0), 0.5, SEA_LEVEL_PA);
    let doorway = Doorway::new(3.0 * 0.3048, 7.0 * 0.3048).expect("a doorway");
    let open = doorway.infiltration(&inside, &outside);
    for row in table.rows() {
        assert_eq!(row.text("case"), "cooler 35F/90% vs 75F/50%");
        row.assert_relative("h_in_J_kg", inside.enthalpy_j_per_kg(), 1e-4);
        row.assert_relative("h_out_J_kg", outside.enthalpy_j_per_kg(), 1e-4);
        row.assert_relative("rho_in", inside.density_kg_per_m3(), 1e-5);
        row.assert_relative("rho_out", outside.density_kg_per_m3(), 1e-5);
        row.assert_relative("mdot_kg_s", open.full_flow_kg_per_s(), 1e-4);
        row.assert_relative("Q_full_flow_W", open.full_flow_w(), 1e-4);
        row.assert_relative("Q_times_Fflow_W", open.heat_w(), 1e-4);
    }
}
