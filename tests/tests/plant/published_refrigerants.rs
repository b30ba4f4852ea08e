//! The refrigerants against CoolProp's equations of state.
//!
//! Our curves were fitted to the same equations, so this checks the fit and the copied
//! coefficients; it is no independent check.
//!
//! Sources and recipe in the first line of each file of `data/refrigerant_*.csv` and in
//! `data/refrigerant_saturation.py`.

use hysteron_plant::refrigerant::{Refrigerant, SaturationLine, gauge_psi};
use hysteron_tests::published_table::{Row, Table};

const LINES: [(SaturationLine, &str); 2] = [
    (SaturationLine::Bubble, "bubble_kpa_abs"),
    (SaturationLine::Dew, "dew_kpa_abs"),
];

fn refrigerant(row: &Row<'_>) -> Refrigerant {
    match row.text("fluid") {
        "R134a" => Refrigerant::R134a,
        "R290" => Refrigerant::R290,
        "R404A" | "R404A(pseudo-pure)" | "R404A(mix)" => Refrigerant::R404a,
        "R448A" => Refrigerant::R448a,
        "R449A" => Refrigerant::R449a,
        other => panic!("unexpected fluid {other}"),
    }
}

/// Every 5 K from −40 to +50 °C, once for each source of each refrigerant.
#[test]
fn the_tables_cover_the_five_refrigerants_from_minus_40_to_50() {
    let tables = [
        include_str!("../../data/refrigerant_saturation.csv"),
        include_str!("../../data/refrigerant_r449a.csv"),
    ]
    .map(Table::parse);
    for wanted in Refrigerant::ALL {
        let mut temps_c: Vec<f64> = tables
            .iter()
            .flat_map(Table::rows)
            .filter(|row| refrigerant(row) == wanted)
            .map(|row| row.number("temp_c"))
            .collect();
        temps_c.sort_by(f64::total_cmp);
        temps_c.dedup();
        let every_5_k: Vec<f64> = (-8..=10).map(|five| 5.0 * f64::from(five)).collect();
        assert_eq!(temps_c, every_5_k, "{}", wanted.designation());
    }
}

/// Half a percent of pressure is at most 0.2 K.
fn assert_saturation(row: &Row<'_>, refrigerant: Refrigerant) {
    let temp_c = row.number("temp_c");
    for (line, column) in LINES {
        row.assert_relative(column, refrigerant.pressure_kpa(line, temp_c), 0.005);
        let ours_c = refrigerant.temp_c(line, row.number(column));
        row.assert_absolute("temperature", ours_c, temp_c, 0.2);
    }
}

#[test]
fn refrigerants_saturate_within_half_a_percent() {
    let table = Table::parse(include_str!("../../data/refrigerant_saturation.csv"));
    assert_eq!(table.len(), 5 * 19);
    for row in table.rows() {
        assert_saturation(&row, refrigerant(&row));
        for (kpa, psig) in [
            ("bubble_kpa_abs", "bubble_psig"),
            ("dew_kpa_abs", "dew_psig"),
        ] {
            // Both columns are rounded to two digits.
            let ours_psi = gauge_psi(row.number(kpa));
            row.assert_absolute(psig, ours_psi, row.number(psig), 0.006);
        }
    }
}

#[test]
fn r449a_saturates_within_half_a_percent() {
    let table = Table::parse(include_str!("../../data/refrigerant_r449a.csv"));
    assert_eq!(table.len(), 19);
    for row in table.rows() {
        assert_saturation(&row, refrigerant(&row));
    }
}

/// Enthalpies within 1 % of the latent heat.
#[test]
fn refrigerants_take_up_the_heat_that_is_tabled() {
    let table = Table::parse(include_str!("../../data/refrigerant_heat.csv"));
    assert_eq!(table.len(), 5 * 10);
    for row in table.rows() {
        let refrigerant = refrigerant(&row);
        row.assert_relative("molar_mass_kg_mol", refrigerant.molar_mass_kg_mol(), 1e-5);
        let latent_j_kg = row.number("dew_j_kg") - row.number("bubble_j_kg");
        for (line, column) in [
            (SaturationLine::Bubble, "bubble_j_kg"),
            (SaturationLine::Dew, "dew_j_kg"),
        ] {
            let ours_j_kg = refrigerant.enthalpy_j_kg(line, row.number("temp_c"));
            row.assert_absolute(column, ours_j_kg, row.number(column), 0.01 * latent_j_kg);
        }
    }
}
