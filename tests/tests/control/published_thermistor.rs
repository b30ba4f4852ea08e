//! The thermistor curves against published tables, in both directions.
//!
//! Each file in `data/` names its source in its first line.

use hysteron_bench::probe::thermistor::SteinhartHart;
use hysteron_logic::curve::{Curve, CustomCurve};
use hysteron_logic::resistance::Resistance;
use hysteron_tests::published_table::{Row, Table};

const COEFFICIENTS: &str = include_str!("../../data/thermistor_coefficients.csv");
const TYPE_2_TABLE: &str = include_str!("../../data/thermistor_10k_type2_1degC.csv");
const CHECK_POINTS: &str = include_str!("../../data/thermistor_hvac_check_points.csv");

fn read_c(curve: Curve, resistance_ohm: f64) -> f64 {
    let resistance = Resistance::from_milliohms((resistance_ohm * 1_000.0).round() as u64)
        .expect("a resistance above zero");
    let temperature = curve.temperature(resistance).expect("a believable one");
    f64::from(temperature.millicelsius()) / 1_000.0
}

fn published_set(row: &Row<'_>) -> SteinhartHart {
    SteinhartHart::new(row.number("A"), row.number("B"), row.number("C"))
}

/// Every digit of the published coefficients is the control's. They were copied from this list:
/// a slip of the pen shows, but this is no independent check; the tables below are.
#[test]
fn coefficients_are_the_published_ones() {
    let table = Table::parse(COEFFICIENTS);
    let parts = [
        ("10K3A (type II)", Curve::TypeII),
        ("10K4A (type III)", Curve::TypeIII),
        ("2.2K3A", Curve::R2k2),
        ("3K3A", Curve::R3k),
        ("5K3A", Curve::R5k),
        ("100K6A", Curve::R100k),
    ];
    for (part, curve) in parts {
        let row = table
            .rows()
            .find(|row| row.text("part") == part)
            .unwrap_or_else(|| panic!("no part {part}"));
        assert_eq!(published_set(&row).coefficients(), curve.coefficients());
    }
    assert_eq!(parts.len(), Curve::PUBLISHED.len());
}

/// Every set of the published list, from 0.1 k to a megohm, is a thermistor to the control.
#[test]
fn every_published_set_is_taken_as_a_custom_curve() {
    let table = Table::parse(COEFFICIENTS);
    for row in table.rows() {
        let set = published_set(&row);
        let custom = CustomCurve::new(set.coefficients())
            .unwrap_or_else(|refusal| panic!("{}: {refusal}", row.text("part")));
        let curve = Curve::Custom(custom);
        for temperature_c in [-40.0, 0.0, 25.0, 70.0, 100.0] {
            let ours_c = read_c(curve, set.resistance_ohm(temperature_c));
            row.assert_absolute("temperature", ours_c, temperature_c, 0.005);
        }
    }
    assert_eq!(table.len(), 15);
}

/// The maker of a probe prints resistances of the type II thermistor to a tenth
/// of an ohm; they lie within 2.5 mK of the published coefficients, and 1.5 mK
/// are the control's own.
#[test]
fn type_2_agrees_with_its_table_degree_by_degree() {
    let table = Table::parse(TYPE_2_TABLE);
    assert_eq!(table.len(), 42);
    for row in table.rows() {
        let ours_c = read_c(Curve::TypeII, row.number("ohms"));
        row.assert_absolute("temperature", ours_c, row.number("temp_c"), 0.004);
    }
}

/// The other way round: 2.5 mK are 0.018 % of the resistance at −40 °C.
#[test]
fn the_bench_gives_the_table_its_resistances() {
    let thermistor = SteinhartHart::from(Curve::TypeII.coefficients());
    let table = Table::parse(TYPE_2_TABLE);
    for row in table.rows() {
        let ours_ohm = thermistor.resistance_ohm(row.number("temp_c"));
        row.assert_relative("ohms", ours_ohm, 2e-4);
    }
    assert_eq!(table.len(), 42);
}

/// Check points of the heating and cooling trade, printed in whole ohms.
///
/// Half an ohm is 0.05 K of a 3 k thermistor at 86 °C and nothing at −39 °C, so
/// the tolerance is half an ohm by the curve's own slope, and besides 7 mK: the
/// points lie 4 mK to the warm side of the published coefficients throughout,
/// as if made with another ice point, and 1.5 mK are the control's own.
#[test]
fn check_points_of_the_trade_agree() {
    let table = Table::parse(CHECK_POINTS);
    let (mut judged, mut without_curve) = (0, 0);
    for row in table.rows() {
        let curve = match row.text("curve") {
            "10K-2" => Curve::TypeII,
            "10K-3" => Curve::TypeIII,
            "3K" => Curve::R3k,
            "100K" => Curve::R100k,
            // No coefficients of a 20 k thermistor are published in our list.
            "20K" => {
                without_curve += 1;
                continue;
            }
            other => panic!("an unknown curve {other}"),
        };
        let thermistor = SteinhartHart::from(curve.coefficients());
        let (published_c, ohms) = ((row.number("temp_f") - 32.0) / 1.8, row.number("ohms"));
        let half_ohm_k =
            (thermistor.temperature_c(ohms - 0.5) - thermistor.temperature_c(ohms + 0.5)) / 2.0;
        let tolerance_k = half_ohm_k + 0.007;
        row.assert_absolute("°C", read_c(curve, ohms), published_c, tolerance_k);

        let ohms_per_k = 0.5 / half_ohm_k;
        let ours_ohm = thermistor.resistance_ohm(published_c);
        row.assert_absolute("ohms", ours_ohm, ohms, tolerance_k * ohms_per_k);
        judged += 1;
    }
    assert_eq!((judged, without_curve), (64, 16));
}
