//! The entries of `[plant]`: its kinds, their numbers and their choices.

use super::measure::written_in;
use hysteron_plant::compressor::CompressorKind;
use hysteron_plant::compressor_parameters::CompressorParameters;
use hysteron_plant::condenser::CondenserParameters;
use hysteron_plant::first_order::FirstOrderParameters;
use hysteron_plant::low_side::LowSideParameters;
use hysteron_plant::parameter::ParameterRange;
use hysteron_plant::pressure_control::PressureControlParameters;
use hysteron_plant::pump_down::PumpDownParameters;
use hysteron_plant::refrigerant::Refrigerant;
use hysteron_plant::refrigerated_box::{BoxParameters, BoxProbeSite, FanArrangement};
use hysteron_plant::room::{Conditioning, RoomParameters};
use hysteron_plant::tank::TankParameters;
use hysteron_source::entry::{Defaulted, Described, Optional, Own, Required, Words};
use hysteron_source::form::{Case, Form, Presence, Row, Shape};

/// The word after `kind =`.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    RefrigeratedBox,
    HeatedTank,
    CooledTank,
    Room,
    Condenser,
    FirstOrder,
}

pub const KIND: Required<Words<Kind>> = Required {
    key: "kind",
    example: "\"refrigerated box\"",
    form: Words(&[
        ("refrigerated box", Kind::RefrigeratedBox),
        ("heated tank", Kind::HeatedTank),
        ("cooled tank", Kind::CooledTank),
        ("room", Kind::Room),
        ("condenser", Kind::Condenser),
        ("first order", Kind::FirstOrder),
    ]),
    sentence: "What is cooled or heated.",
};

pub const PROBE_SITE: Defaulted<Words<BoxProbeSite>> = Defaulted {
    key: "probe_site",
    default: "\"air\"",
    form: Words(&[
        ("air", BoxProbeSite::Air),
        ("product", BoxProbeSite::Product),
        ("coil", BoxProbeSite::Coil),
    ]),
    sentence: "Where the probe is.",
};

pub const FAN: Defaulted<Words<FanArrangement>> = Defaulted {
    key: "fan",
    default: "\"continuous\"",
    form: Words(&[
        ("continuous", FanArrangement::Continuous),
        ("with load", FanArrangement::WithLoad),
    ]),
    sentence: "When the evaporator fan runs.",
};

pub const CONDITIONING: Defaulted<Words<Conditioning>> = Defaulted {
    key: "conditioning",
    default: "\"heating\"",
    form: Words(&[
        ("heating", Conditioning::Heating),
        ("cooling", Conditioning::Cooling),
    ]),
    sentence: "Whether the room is heated or cooled.",
};

pub const COMPRESSOR_KIND: Defaulted<Words<CompressorKind>> = Defaulted {
    key: "kind",
    default: "\"medium temperature\"",
    form: Words(&[
        ("medium temperature", CompressorKind::MediumTemperature),
        ("low temperature", CompressorKind::LowTemperature),
    ]),
    sentence: "What it is made for.",
};

pub const REFRIGERANT: Defaulted<Own<Refrigerant>> = Defaulted {
    key: "refrigerant",
    default: "\"R-134a\"",
    form: Own {
        read: |item| {
            let refrigerants = Refrigerant::ALL.map(|known| (known.designation(), known));
            item.one_of(&refrigerants).map(toml::Spanned::into_inner)
        },
        form: || Form::Words(Refrigerant::ALL.map(Refrigerant::designation).to_vec()),
    },
    sentence: "What circulates.",
};

pub const COMPRESSOR: Optional<Described> = Optional {
    key: "compressor",
    form: Described(|| Form::Table(compressor_shape())),
    sentence: "The compressor and its condenser.",
};

pub const PUMP_DOWN: Optional<Described> = Optional {
    key: "pump_down",
    form: Described(|| Form::Table(pump_down_shape())),
    sentence: "With this table the relay switches a liquid-line valve, and the suction pressure the compressor.",
};

/// What `[plant]` may hold.
pub fn shape() -> Shape {
    let case = |(word, kind): &(&'static str, Kind)| {
        let (sentence, ranges, more) = match kind {
            Kind::RefrigeratedBox => (
                "A walk-in, a cabinet or a counter with its coil, door and product.",
                BoxParameters::RANGES,
                vec![
                    PROBE_SITE.row(),
                    FAN.row(),
                    COMPRESSOR.row(),
                    PUMP_DOWN.row(),
                ],
            ),
            Kind::HeatedTank => ("A tank with a heater.", TankParameters::RANGES, Vec::new()),
            Kind::CooledTank => (
                "A tank with a compressor.",
                TankParameters::RANGES,
                vec![COMPRESSOR.row()],
            ),
            Kind::Room => (
                "A room that is heated or cooled.",
                RoomParameters::RANGES,
                vec![CONDITIONING.row()],
            ),
            Kind::Condenser => (
                "A condenser whose fan is switched.",
                CondenserParameters::RANGES,
                Vec::new(),
            ),
            Kind::FirstOrder => (
                "The reference plant: one time constant between two temperatures.",
                FirstOrderParameters::RANGES,
                Vec::new(),
            ),
        };
        let rows = ranges.iter().map(row).chain(more).collect();
        Case::says(KIND.key, word, sentence, rows)
    };
    Shape {
        name: "plant",
        sentence: "What is cooled or heated. Each number may be written plainly, in the unit that its name ends with, or as a text in another unit.",
        rows: vec![KIND.row()],
        cases: KIND.form.0.iter().map(case).collect(),
    }
}

fn compressor_shape() -> Shape {
    let choices = [COMPRESSOR_KIND.row(), REFRIGERANT.row()];
    let numbers = CompressorParameters::RANGES.iter().map(row);
    Shape::of(
        "compressor",
        "The compressor and its condenser.",
        numbers.chain(choices).collect(),
    )
}

fn pump_down_shape() -> Shape {
    let ranges = [
        PumpDownParameters::RANGES,
        LowSideParameters::RANGES,
        PressureControlParameters::RANGES,
    ];
    Shape::of(
        "pump_down",
        "How it pumps down. Pressures are absolute, or in \"psig\" or \"barg\".",
        ranges.into_iter().flatten().map(row).collect(),
    )
}

/// One number of a plant, described.
fn row(range: &ParameterRange) -> Row {
    let ParameterRange {
        name,
        unit,
        lowest,
        highest,
        default,
        sentence,
    } = *range;
    let number = Form::Number {
        least: lowest,
        most: highest,
        unit,
    };
    Row {
        key: name,
        form: Form::Either(vec![
            number,
            written_in(unit, format!("{default} {unit}").trim_end()),
        ]),
        presence: Presence::Defaults(default.to_string().into()),
        sentence: sentence.trim().to_owned(),
    }
}
