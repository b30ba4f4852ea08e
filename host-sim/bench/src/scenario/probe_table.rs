//! The probe, as `[probe]` gives it.

use hysteron_logic::curve::Curve;

use super::measure::Measure;
use super::quantity_text::read_in_unit;
use hysteron_source::entry::{Defaulted, Formed, Number, Optional, Own, Reads, Words};
use hysteron_source::form::{Form, Shape};
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

const CONVERTER: Defaulted<Words<Converter>> = Defaulted {
    key: "converter",
    default: "\"board\"",
    form: Words(&[("board", Converter::Board), ("ideal", Converter::Ideal)]),
    sentence: "What reads the thermistor: the board's, or one that loses nothing, for comparisons with closed forms.",
};

const CURVE: Optional<Own<Curve>> = Optional {
    key: "curve",
    form: Own {
        read: read_published,
        form: || Form::Words(Curve::NAMES.to_vec()),
    },
    sentence: "The thermistor that is connected; the control's own curve where it is left out.",
};

const NOISE_CODES: Defaulted<Number> = Defaulted {
    key: "noise_codes",
    default: "1",
    form: Number {
        least: 0.0,
        most: 100.0,
    },
    sentence: "Standard deviation of one reading's noise, in codes of the board's 12-bit converter.",
};

const LAG: Defaulted<Measure> = Defaulted {
    key: "lag",
    default: "\"30 s\"",
    form: Measure {
        unit: "s",
        example: "20 s",
        range: Some(("0 s", "1 h")),
    },
    sentence: "Time constant between the site and the thermistor.",
};

const DISSIPATION: Defaulted<Own<f64>> = Defaulted {
    key: "dissipation",
    default: "\"2 mW/K\"",
    form: Own {
        read: read_dissipation,
        form: || Form::Either(vec![Form::Words(vec![NEGLECTED]), WARMING.form()]),
    },
    sentence: "Power that warms the thermistor by a kelvin; \"neglected\" where it does not warm itself.",
};

const NEGLECTED: &str = "neglected";

const WARMING: Measure = Measure {
    unit: "mW/K",
    example: "2 mW/K",
    range: Some(("0.1 mW/K", "1000 mW/K")),
};

/// What `[probe]` may hold.
pub fn shape() -> Shape {
    Shape::of(
        "probe",
        "The thermistor, and what reads it.",
        vec![
            CONVERTER.row(),
            CURVE.row(),
            NOISE_CODES.row(),
            LAG.row(),
            DISSIPATION.row(),
        ],
    )
}

/// Reads `[probe]`.
pub fn read_probe(item: &Item<'_>) -> Option<ProbePlan> {
    let mut table = item.table("[probe]")?;
    let mut plan = ProbePlan::default();
    if let Some(converter) = CONVERTER.read(&mut table) {
        plan.converter = converter;
    }
    let curve = CURVE.item(&mut table);
    let noise = table.optional(NOISE_CODES.key);
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
    plan.curve = curve.and_then(|item| CURVE.form.read(&item));
    if let Some(lag_s) = LAG.read(&mut table) {
        plan.lag_s = lag_s;
    }
    if let Some(mw_k) = DISSIPATION.read(&mut table) {
        plan.dissipation_mw_k = mw_k;
    }
    if let Some(codes) = noise.and_then(|item| NOISE_CODES.form.read(&item)) {
        plan.noise_codes = codes;
    }
    table.finish();
    Some(plan)
}

fn read_published(item: &Item<'_>) -> Option<Curve> {
    let named: Vec<(&'static str, Curve)> =
        Curve::NAMES.into_iter().zip(Curve::PUBLISHED).collect();
    item.one_of(&named).map(toml::Spanned::into_inner)
}

fn read_dissipation(item: &Item<'_>) -> Option<f64> {
    if item.is_word(NEGLECTED) {
        return Some(f64::INFINITY);
    }
    let mw_k = item.read(WARMING.example, |text| {
        read_in_unit(text, WARMING.unit).map_err(|misread| Misread {
            expected: format!("{}, or \"{NEGLECTED}\"", misread.expected),
            ..misread
        })
    })?;
    WARMING.within(item, mw_k, &format!(", or \"{NEGLECTED}\""))
}
