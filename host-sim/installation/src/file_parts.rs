//! The fields of each kind of part in an installation file.

use toml::Spanned;

use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::{Misread, Problem};

use super::load::{Coil, Duty, Motor, Resistance};
use super::part::{
    Actuator, Contactor, ControlPart, Device, Kind, Overcurrent, Poles, Protection, Rating,
    Transformer,
};
use super::supply::{Service, Supply};
use super::terminal::Tap;

/// The word after `kind =`.
#[derive(Debug, Clone, Copy)]
pub(super) enum Word {
    Supply,
    Transformer,
    Overcurrent(Protection),
    Device(Actuator),
    Control,
    Contactor,
    Motor(Duty),
    Valve,
    Heater,
    Lamp,
}

const WORDS: [(&str, Word); 17] = [
    ("supply", Word::Supply),
    ("transformer", Word::Transformer),
    ("fuse", Word::Overcurrent(Protection::Fuse)),
    ("breaker", Word::Overcurrent(Protection::Breaker)),
    ("switch", Word::Device(Actuator::Switch)),
    ("low-pressure control", Word::Device(Actuator::LowPressure)),
    (
        "high-pressure control",
        Word::Device(Actuator::HighPressure),
    ),
    ("high limit", Word::Device(Actuator::HighLimit)),
    ("door switch", Word::Device(Actuator::Door)),
    ("control", Word::Control),
    ("contactor", Word::Contactor),
    ("compressor", Word::Motor(Duty::Compressor)),
    ("condenser fan", Word::Motor(Duty::CondenserFan)),
    ("evaporator fan", Word::Motor(Duty::EvaporatorFan)),
    ("liquid-line solenoid valve", Word::Valve),
    ("heater", Word::Heater),
    ("lamp", Word::Lamp),
];

/// Reads which kind of part it is; absent when that is missing or wrong, which is noted then.
pub(super) fn word(fields: &mut Table<'_>) -> Option<Word> {
    let kind = fields.required("kind", "\"compressor\"")?;
    kind.one_of(&WORDS).map(Spanned::into_inner)
}

/// Reads a part of that kind; absent when something in it is wrong, which is noted then.
pub(super) fn read(word: Word, fields: &mut Table<'_>) -> Option<Kind> {
    match word {
        Word::Supply => supply(fields).map(Kind::Supply),
        Word::Transformer => transformer(fields).map(Kind::Transformer),
        Word::Overcurrent(protection) => overcurrent(fields, protection).map(Kind::Overcurrent),
        Word::Device(actuator) => device(fields, actuator).map(Kind::Device),
        Word::Control => control(fields).map(Kind::Control),
        Word::Contactor => contactor(fields).map(Kind::Contactor),
        Word::Motor(duty) => motor(fields, duty).map(Kind::Motor),
        Word::Valve => coil(fields).map(Kind::Valve),
        Word::Heater => resistance(fields).map(Kind::Heater),
        Word::Lamp => resistance(fields).map(Kind::Lamp),
    }
}

/// A number that has to be there.
fn number(
    fields: &mut Table<'_>,
    key: &'static str,
    example: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    let item = fields.required(key, example)?;
    item.number(least, most).map(Spanned::into_inner)
}

/// A number that may be left out; absent when it is there and wrong.
fn number_or(
    fields: &mut Table<'_>,
    key: &'static str,
    otherwise: f64,
    least: f64,
    most: f64,
) -> Option<f64> {
    fields.optional(key).map_or(Some(otherwise), |item| {
        item.number(least, most).map(Spanned::into_inner)
    })
}

fn supply(fields: &mut Table<'_>) -> Option<Supply> {
    let service = fields
        .required("voltage", "\"120 V\"")
        .and_then(|item| item.one_of(&Service::ALL));
    let available_fault_current_a =
        number_or(fields, "available_fault_current_a", 5000.0, 200.0, 65_000.0);
    Some(Supply {
        service: service?.into_inner(),
        available_fault_current_a: available_fault_current_a?,
    })
}

fn transformer(fields: &mut Table<'_>) -> Option<Transformer> {
    let primary_v = number(fields, "primary_v", "120", 100.0, 277.0);
    let secondary_v = number(fields, "secondary_v", "24", 10.0, 130.0);
    let rated_va = number(fields, "rated_va", "40", 5.0, 1000.0);
    let droop = number_or(fields, "droop", 0.12, 0.01, 0.4);
    Some(Transformer {
        primary_v: primary_v?,
        secondary_v: secondary_v?,
        rated_va: rated_va?,
        droop: droop?,
    })
}

fn poles(fields: &mut Table<'_>, otherwise: Poles) -> Option<Poles> {
    let Some(item) = fields.optional("poles") else {
        return Some(otherwise);
    };
    item.whole(1, 2).map(|poles| match poles.into_inner() {
        2 => Poles::Two,
        _ => Poles::One,
    })
}

fn overcurrent(fields: &mut Table<'_>, protection: Protection) -> Option<Overcurrent> {
    let rating_a = number(fields, "rating_a", "15", 0.1, 200.0);
    let poles = match protection {
        Protection::Fuse => Some(Poles::One),
        Protection::Breaker => poles(fields, Poles::One),
    };
    Some(Overcurrent {
        protection,
        rating_a: rating_a?,
        poles: poles?,
    })
}

fn device(fields: &mut Table<'_>, actuator: Actuator) -> Option<Device> {
    let poles = match actuator {
        Actuator::Switch => poles(fields, Poles::One),
        Actuator::LowPressure | Actuator::HighPressure | Actuator::HighLimit | Actuator::Door => {
            Some(Poles::One)
        }
    };
    let contact_ohm = number_or(fields, "contact_ohm", 0.01, 1e-4, 1.0);
    let ratings = ratings(fields);
    Some(Device {
        actuator,
        poles: poles?,
        contact_ohm: contact_ohm?,
        ratings: ratings?,
    })
}

fn ratings(fields: &mut Table<'_>) -> Option<Vec<Rating>> {
    let Some(item) = fields.optional("rating") else {
        return Some(Vec::new());
    };
    let mut ratings = Vec::new();
    for mut table in item.tables("rating")? {
        let up_to_v = number(&mut table, "up_to_v", "120", 10.0, 600.0);
        let resistive_a = number(&mut table, "resistive_a", "16", 0.1, 200.0);
        let full_load_a = number(&mut table, "full_load_a", "16", 0.1, 200.0);
        let locked_rotor_a = number(&mut table, "locked_rotor_a", "96", 0.1, 1200.0);
        let pilot_duty_va = number(&mut table, "pilot_duty_va", "360", 1.0, 10_000.0);
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

/// A control has at most so many taps.
const TAPS_LIMIT: usize = 8;

fn taps(item: &Item<'_>) -> Option<Vec<Tap>> {
    let list = item.list()?;
    if !(1..=TAPS_LIMIT).contains(&list.len()) {
        return item.refuse(Misread {
            what: format!("{} taps", list.len()),
            expected: format!("1 to {TAPS_LIMIT} voltages, as in [120, 240]"),
            remedy: None,
        });
    }
    let (least, most) = (*Tap::RANGE_V.start(), *Tap::RANGE_V.end());
    let mut taps: Vec<Tap> = Vec::new();
    for item in list {
        let volts = item.whole(least.into(), most.into())?.into_inner();
        let tap = Tap::made_for(u16::try_from(volts).ok()?)?;
        if taps.contains(&tap) {
            return item.refuse(Misread {
                what: format!("{volts} V stands here twice"),
                expected: "each voltage once".to_owned(),
                remedy: None,
            });
        }
        taps.push(tap);
    }
    taps.sort_unstable();
    Some(taps)
}

fn control(fields: &mut Table<'_>) -> Option<ControlPart> {
    let taps = fields
        .required("power_taps_v", "[120, 240]")
        .and_then(|item| taps(&item));
    let power_va = number_or(fields, "power_va", 4.0, 0.5, 50.0);
    let least_fraction = number_or(fields, "least_fraction", 0.8, 0.5, 0.95);
    let contact_ohm = number_or(fields, "contact_ohm", 0.01, 1e-4, 1.0);
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

fn contactor(fields: &mut Table<'_>) -> Option<Contactor> {
    let coil = coil(fields);
    let poles = poles(fields, Poles::Two);
    let contact_ohm = number_or(fields, "contact_ohm", 0.002, 1e-4, 1.0);
    let ratings = ratings(fields);
    Some(Contactor {
        coil: coil?,
        poles: poles?,
        contact_ohm: contact_ohm?,
        ratings: ratings?,
    })
}

fn coil(fields: &mut Table<'_>) -> Option<Coil> {
    let rated_v = number(fields, "rated_v", "120", 10.0, 300.0);
    let sealed_va = number(fields, "sealed_va", "10", 0.5, 500.0);
    let inrush_va = number(fields, "inrush_va", "30", 0.5, 2000.0);
    let power_factor = number_or(fields, "power_factor", 0.4, 0.1, 1.0);
    let pull_in_fraction = number_or(fields, "pull_in_fraction", 0.85, 0.5, 0.95);
    let drop_out_fraction = number_or(fields, "drop_out_fraction", 0.5, 0.1, 0.8);
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

fn motor(fields: &mut Table<'_>, duty: Duty) -> Option<Motor> {
    let rated_v = number(fields, "rated_v", "120", 20.0, 300.0);
    let running_a = number(fields, "running_a", "9.8", 0.05, 100.0);
    let locked_rotor_a = number(fields, "locked_rotor_a", "58.8", 0.05, 600.0);
    let power_factor = number_or(fields, "power_factor", 0.75, 0.2, 1.0);
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

fn resistance(fields: &mut Table<'_>) -> Option<Resistance> {
    let rated_v = number(fields, "rated_v", "240", 10.0, 300.0);
    let power_w = number(fields, "power_w", "1500", 0.5, 20_000.0);
    Some(Resistance {
        rated_v: rated_v?,
        power_w: power_w?,
    })
}
