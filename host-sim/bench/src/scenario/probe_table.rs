//! The probe, as `[probe]` gives it.

use hysteron_logic::curve::Curve;

use super::quantity_text::{read_in_unit, read_quantity};
use super::unit::Dimension;
use hysteron_source::item::Item;
use hysteron_source::text::{Misread, Problem};

/// What stands between the thermistor and the control.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Converter {
    /// The board's: a divider, and sixteen readings of 12 bits in each sample.
    #[default]
    Board,
    /// One that loses nothing: the control is told the thermistor's own temperature, to the
    /// thousandth of a degree in which it holds it. No board has it; closed forms ask for it.
    Ideal,
}

/// The physical probe. Its curve may differ from the one set on the control: a mistake worth studying.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbePlan {
    /// The thermistor that is connected; the control's own curve where absent.
    pub curve: Option<Curve>,
    /// Time constant between the site and the thermistor, in s.
    pub lag_s: f64,
    /// Power that warms the thermistor by a kelvin, in mW/K; infinite where self-heating is neglected.
    pub dissipation_mw_k: f64,
    /// Standard deviation of one reading's noise, in codes of a 12-bit converter.
    pub noise_codes: f64,
    /// What reads it.
    pub converter: Converter,
}

impl Default for ProbePlan {
    /// An epoxy bead on a cable in moving air, a code of noise (common practice).
    fn default() -> Self {
        Self {
            curve: None,
            lag_s: 30.0,
            dissipation_mw_k: 2.0,
            noise_codes: 1.0,
            converter: Converter::Board,
        }
    }
}

/// Reads `[probe]`.
pub fn read_probe(item: &Item<'_>) -> Option<ProbePlan> {
    let mut table = item.table("[probe]")?;
    let mut plan = ProbePlan::default();
    let named: Vec<(&'static str, Curve)> =
        Curve::NAMES.into_iter().zip(Curve::PUBLISHED).collect();
    let converters = [("board", Converter::Board), ("ideal", Converter::Ideal)];
    let converter = table.optional("converter");
    if let Some(converter) = converter.and_then(|item| item.one_of(&converters)) {
        plan.converter = converter.into_inner();
    }
    let curve = table.optional("curve");
    let noise = table.optional("noise_codes");
    if plan.converter == Converter::Ideal {
        for item in [&curve, &noise].into_iter().flatten() {
            item.note(
                Problem::at(
                    item.key_span(),
                    format!("an ideal converter has no `{}`", item.key()),
                )
                .expected("it tells the thermistor's own temperature")
                .remedy("leave it out, or take the board's converter"),
            );
        }
    }
    if let Some(curve) = curve.and_then(|item| item.one_of(&named)) {
        plan.curve = Some(curve.into_inner());
    }
    if let Some(lag_s) = table.optional("lag").and_then(|item| read_lag(&item)) {
        plan.lag_s = lag_s;
    }
    if let Some(mw_k) = table
        .optional("dissipation")
        .and_then(|item| read_dissipation(&item))
    {
        plan.dissipation_mw_k = mw_k;
    }
    if let Some(codes) = noise.and_then(|item| item.number(0.0, 100.0)) {
        plan.noise_codes = codes.into_inner();
    }
    table.finish();
    Some(plan)
}

fn read_lag(item: &Item<'_>) -> Option<f64> {
    let lag_s = item.read("20 s", |text| read_quantity(text, Dimension::Time))?;
    item.within(lag_s, 0.0..=3_600.0, "0 s to 1 h")
}

fn read_dissipation(item: &Item<'_>) -> Option<f64> {
    if item.is_word("neglected") {
        return Some(f64::INFINITY);
    }
    let mw_k = item.read("2 mW/K", |text| {
        read_in_unit(text, "mW/K").map_err(|misread| Misread {
            expected: format!("{}, or \"neglected\"", misread.expected),
            ..misread
        })
    })?;
    item.within(
        mw_k,
        0.1..=1_000.0,
        "0.1 mW/K to 1000 mW/K, or \"neglected\"",
    )
}
