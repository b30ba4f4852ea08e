//! The kinds of part in an installation file, one row for each, and how each is read.

use toml::Spanned;

use hysteron_source::form::{Case, Form, Presence, Row};
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

use super::load::{Coil, Duty, Motor, Resistance};
use super::part::{
    Actuator, Contactor, ControlPart, Device, Kind, Overcurrent, Poles, Protection, Rating,
    Transformer,
};
use super::part_fields as field;
use super::supply::Supply;

/// One kind of part.
#[derive(Debug)]
pub(super) struct PartKind {
    /// The word after `kind =`.
    word: &'static str,
    /// What it is.
    sentence: &'static str,
    /// Its fields, for people.
    rows: fn() -> Vec<Row>,
    /// Reads its fields; absent when something in them is wrong, which is noted then.
    pub read: fn(&mut Table<'_>) -> Option<Kind>,
}

/// Every kind, in the order in which messages list them.
static KINDS: &[PartKind] = &[
    PartKind {
        word: "supply",
        sentence: "What comes from the service.",
        rows: supply_rows,
        read: |fields| supply(fields).map(Kind::Supply),
    },
    PartKind {
        word: "transformer",
        sentence: "A control transformer.",
        rows: transformer_rows,
        read: |fields| transformer(fields).map(Kind::Transformer),
    },
    PartKind {
        word: "fuse",
        sentence: "A fuse.",
        rows: || vec![field::RATING_A.row()],
        read: |fields| overcurrent(fields, Protection::Fuse).map(Kind::Overcurrent),
    },
    PartKind {
        word: "breaker",
        sentence: "A circuit breaker.",
        rows: || vec![field::RATING_A.row(), field::POLES.row()],
        read: |fields| overcurrent(fields, Protection::Breaker).map(Kind::Overcurrent),
    },
    PartKind {
        word: "switch",
        sentence: "A switch that a hand moves.",
        rows: || [vec![field::POLES.row()], device_rows()].concat(),
        read: |fields| {
            let poles = field::POLES.read(fields);
            device(fields, Actuator::Switch, poles).map(Kind::Device)
        },
    },
    PartKind {
        word: "low-pressure control",
        sentence: "A contact that suction pressure closes on rising.",
        rows: device_rows,
        read: |fields| device(fields, Actuator::LowPressure, ONE_POLE).map(Kind::Device),
    },
    PartKind {
        word: "high-pressure control",
        sentence: "A contact that head pressure opens on rising.",
        rows: device_rows,
        read: |fields| device(fields, Actuator::HighPressure, ONE_POLE).map(Kind::Device),
    },
    PartKind {
        word: "high limit",
        sentence: "A contact that too high a temperature opens.",
        rows: device_rows,
        read: |fields| device(fields, Actuator::HighLimit, ONE_POLE).map(Kind::Device),
    },
    PartKind {
        word: "door switch",
        sentence: "A contact that opens with the door.",
        rows: device_rows,
        read: |fields| device(fields, Actuator::Door, ONE_POLE).map(Kind::Device),
    },
    PartKind {
        word: "control",
        sentence: "The control, with its power input and its relay.",
        rows: control_rows,
        read: |fields| control(fields).map(Kind::Control),
    },
    PartKind {
        word: "contactor",
        sentence: "A contactor: a coil that moves contacts.",
        rows: contactor_rows,
        read: |fields| contactor(fields).map(Kind::Contactor),
    },
    PartKind {
        word: "compressor",
        sentence: "A compressor's motor.",
        rows: motor_rows,
        read: |fields| motor(fields, Duty::Compressor).map(Kind::Motor),
    },
    PartKind {
        word: "condenser fan",
        sentence: "The fan of the condenser.",
        rows: motor_rows,
        read: |fields| motor(fields, Duty::CondenserFan).map(Kind::Motor),
    },
    PartKind {
        word: "evaporator fan",
        sentence: "The fan of the evaporator.",
        rows: motor_rows,
        read: |fields| motor(fields, Duty::EvaporatorFan).map(Kind::Motor),
    },
    PartKind {
        word: "liquid-line solenoid valve",
        sentence: "The valve that pumps the low side down when it closes.",
        rows: coil_rows,
        read: |fields| coil(fields).map(Kind::Valve),
    },
    PartKind {
        word: "heater",
        sentence: "A heater.",
        rows: resistance_rows,
        read: |fields| resistance(fields).map(Kind::Heater),
    },
    PartKind {
        word: "lamp",
        sentence: "A lamp.",
        rows: resistance_rows,
        read: |fields| resistance(fields).map(Kind::Lamp),
    },
];

const KIND: &str = "kind";

const KIND_EXAMPLE: &str = "\"compressor\"";

/// Reads which kind of part it is; absent when that is missing or wrong, which is noted then.
pub(super) fn kind(fields: &mut Table<'_>) -> Option<&'static PartKind> {
    let words: Vec<(&'static str, &'static PartKind)> =
        KINDS.iter().map(|kind| (kind.word, kind)).collect();
    let kind = fields.required(KIND, KIND_EXAMPLE)?;
    kind.one_of(&words).map(Spanned::into_inner)
}

/// The entry that says which kind a part is.
pub(super) fn kind_row() -> Row {
    Row {
        key: KIND,
        form: Form::Words(KINDS.iter().map(|kind| kind.word).collect()),
        presence: Presence::Required(KIND_EXAMPLE),
        sentence: "Which kind of part it is.".to_owned(),
    }
}

/// What a part of each kind holds besides.
pub(super) fn cases() -> Vec<Case> {
    let case = |kind: &PartKind| Case::says(KIND, kind.word, kind.sentence, (kind.rows)());
    KINDS.iter().map(case).collect()
}

fn supply_rows() -> Vec<Row> {
    vec![field::VOLTAGE.row(), field::FAULT_CURRENT_A.row()]
}

fn supply(fields: &mut Table<'_>) -> Option<Supply> {
    let service = field::VOLTAGE.read(fields);
    let available_fault_current_a = field::FAULT_CURRENT_A.read(fields);
    Some(Supply {
        service: service?,
        available_fault_current_a: available_fault_current_a?,
    })
}

fn transformer_rows() -> Vec<Row> {
    vec![
        field::PRIMARY_V.row(),
        field::SECONDARY_V.row(),
        field::RATED_VA.row(),
        field::DROOP.row(),
    ]
}

fn transformer(fields: &mut Table<'_>) -> Option<Transformer> {
    let primary_v = field::PRIMARY_V.read(fields);
    let secondary_v = field::SECONDARY_V.read(fields);
    let rated_va = field::RATED_VA.read(fields);
    let droop = field::DROOP.read(fields);
    Some(Transformer {
        primary_v: primary_v?,
        secondary_v: secondary_v?,
        rated_va: rated_va?,
        droop: droop?,
    })
}

fn overcurrent(fields: &mut Table<'_>, protection: Protection) -> Option<Overcurrent> {
    let rating_a = field::RATING_A.read(fields);
    let poles = match protection {
        Protection::Fuse => Some(Poles::One),
        Protection::Breaker => field::POLES.read(fields),
    };
    Some(Overcurrent {
        protection,
        rating_a: rating_a?,
        poles: poles?,
    })
}

fn device_rows() -> Vec<Row> {
    vec![field::CONTACT_OHM.row(), field::RATING.row()]
}

/// Of what has one pole always, and no field that says so.
const ONE_POLE: Option<Poles> = Some(Poles::One);

/// A contact with these poles; absent where what the file says of them is wrong.
fn device(fields: &mut Table<'_>, actuator: Actuator, poles: Option<Poles>) -> Option<Device> {
    let contact_ohm = field::CONTACT_OHM.read(fields);
    let ratings = ratings(fields);
    Some(Device {
        actuator,
        poles: poles?,
        contact_ohm: contact_ohm?,
        ratings: ratings?,
    })
}

fn ratings(fields: &mut Table<'_>) -> Option<Vec<Rating>> {
    let Some(item) = field::RATING.item(fields) else {
        return Some(Vec::new());
    };
    let mut ratings = Vec::new();
    for mut table in item.tables(field::RATING.key)? {
        let up_to_v = field::UP_TO_V.read(&mut table);
        let resistive_a = field::RESISTIVE_A.read(&mut table);
        let full_load_a = field::FULL_LOAD_A.read(&mut table);
        let locked_rotor_a = field::RATED_LOCKED_ROTOR_A.read(&mut table);
        let pilot_duty_va = field::PILOT_DUTY_VA.read(&mut table);
        table.finish();
        ratings.push(Rating {
            up_to_v: up_to_v?,
            resistive_a: resistive_a?,
            full_load_a: full_load_a?,
            locked_rotor_a: locked_rotor_a?,
            pilot_duty_va: pilot_duty_va?,
        });
    }
    ratings.sort_by(|one, other| one.up_to_v.total_cmp(&other.up_to_v));
    Some(ratings)
}

fn control_rows() -> Vec<Row> {
    vec![
        field::POWER_TAPS_V.row(),
        field::POWER_VA.row(),
        field::LEAST_FRACTION.row(),
        field::CONTACT_OHM.row(),
        field::RELAY_RATING.row(),
    ]
}

fn control(fields: &mut Table<'_>) -> Option<ControlPart> {
    let taps = field::POWER_TAPS_V.read(fields);
    let power_va = field::POWER_VA.read(fields);
    let least_fraction = field::LEAST_FRACTION.read(fields);
    let contact_ohm = field::CONTACT_OHM.read(fields);
    let ratings = ratings(fields);
    let ratings = ratings?;
    if ratings.is_empty() {
        fields.problems().add(
            Problem::at(fields.span(), "the control lacks the ratings of its relay").remedy(
                "add [[part.control.rating]] with up_to_v, resistive_a, full_load_a, \
                 locked_rotor_a and pilot_duty_va",
            ),
        );
        return None;
    }
    Some(ControlPart {
        taps: taps?,
        power_va: power_va?,
        least_fraction: least_fraction?,
        contact_ohm: contact_ohm?,
        ratings,
    })
}

fn contactor_rows() -> Vec<Row> {
    let mut rows = coil_rows();
    rows.extend([
        field::CONTACTOR_POLES.row(),
        field::CONTACTOR_OHM.row(),
        field::RATING.row(),
    ]);
    rows
}

fn contactor(fields: &mut Table<'_>) -> Option<Contactor> {
    let coil = coil(fields);
    let poles = field::CONTACTOR_POLES.read(fields);
    let contact_ohm = field::CONTACTOR_OHM.read(fields);
    let ratings = ratings(fields);
    Some(Contactor {
        coil: coil?,
        poles: poles?,
        contact_ohm: contact_ohm?,
        ratings: ratings?,
    })
}

fn coil_rows() -> Vec<Row> {
    vec![
        field::COIL_V.row(),
        field::SEALED_VA.row(),
        field::INRUSH_VA.row(),
        field::COIL_POWER_FACTOR.row(),
        field::PULL_IN_FRACTION.row(),
        field::DROP_OUT_FRACTION.row(),
    ]
}

fn coil(fields: &mut Table<'_>) -> Option<Coil> {
    let rated_v = field::COIL_V.read(fields);
    let sealed_va = field::SEALED_VA.read(fields);
    let inrush_va = field::INRUSH_VA.read(fields);
    let power_factor = field::COIL_POWER_FACTOR.read(fields);
    let pull_in_fraction = field::PULL_IN_FRACTION.read(fields);
    let drop_out_fraction = field::DROP_OUT_FRACTION.read(fields);
    let coil = Coil {
        rated_v: rated_v?,
        sealed_va: sealed_va?,
        inrush_va: inrush_va?,
        power_factor: power_factor?,
        pull_in_fraction: pull_in_fraction?,
        drop_out_fraction: drop_out_fraction?,
    };
    let ordered =
        coil.inrush_va >= coil.sealed_va && coil.pull_in_fraction > coil.drop_out_fraction;
    if !ordered {
        fields.problems().add(
            Problem::at(fields.span(), "the coil's figures contradict each other")
                .expected("inrush is no less than sealed, and pull-in lies above drop-out"),
        );
        return None;
    }
    Some(coil)
}

fn motor_rows() -> Vec<Row> {
    vec![
        field::MOTOR_V.row(),
        field::RUNNING_A.row(),
        field::LOCKED_ROTOR_A.row(),
        field::MOTOR_POWER_FACTOR.row(),
    ]
}

fn motor(fields: &mut Table<'_>, duty: Duty) -> Option<Motor> {
    let rated_v = field::MOTOR_V.read(fields);
    let running_a = field::RUNNING_A.read(fields);
    let locked_rotor_a = field::LOCKED_ROTOR_A.read(fields);
    let power_factor = field::MOTOR_POWER_FACTOR.read(fields);
    let (running_a, locked_rotor_a) = (running_a?, locked_rotor_a?);
    if locked_rotor_a < running_a {
        fields.problems().add(
            Problem::at(
                fields.span(),
                "a motor draws less with its rotor held than running",
            )
            .expected("locked_rotor_a is no less than running_a"),
        );
        return None;
    }
    Some(Motor {
        duty,
        rated_v: rated_v?,
        running_a,
        locked_rotor_a,
        power_factor: power_factor?,
    })
}

fn resistance_rows() -> Vec<Row> {
    vec![field::RESISTANCE_V.row(), field::POWER_W.row()]
}

fn resistance(fields: &mut Table<'_>) -> Option<Resistance> {
    let rated_v = field::RESISTANCE_V.read(fields);
    let power_w = field::POWER_W.read(fields);
    Some(Resistance {
        rated_v: rated_v?,
        power_w: power_w?,
    })
}
