//! The fields of parts in an installation file, one row for each.

use hysteron_source::entry::{
    Defaulted, Described, Formed, Number, Optional, Own, Required, Whole, Words,
};
use hysteron_source::form::{Form, Shape};
use hysteron_source::item::Item;
use hysteron_source::text::Misread;

use super::part::Poles;
use super::supply::Service;
use super::terminal::Tap;

const fn number(
    key: &'static str,
    example: &'static str,
    (least, most): (f64, f64),
    sentence: &'static str,
) -> Required<Number> {
    Required {
        key,
        example,
        form: Number { least, most },
        sentence,
    }
}

const fn number_or(
    key: &'static str,
    default: &'static str,
    (least, most): (f64, f64),
    sentence: &'static str,
) -> Defaulted<Number> {
    Defaulted {
        key,
        default,
        form: Number { least, most },
        sentence,
    }
}

pub const VOLTAGE: Required<Words<Service>> = Required {
    key: "voltage",
    example: "\"120 V\"",
    form: Words(&Service::ALL),
    sentence: "Which service it is.",
};

pub const FAULT_CURRENT_A: Defaulted<Number> = number_or(
    "available_fault_current_a",
    "5000",
    (200.0, 65_000.0),
    "Current that a dead short between a leg and neutral draws, in amperes.",
);

pub const PRIMARY_V: Required<Number> = number(
    "primary_v",
    "120",
    (100.0, 277.0),
    "Rated voltage of the primary, in volts.",
);

pub const SECONDARY_V: Required<Number> = number(
    "secondary_v",
    "24",
    (10.0, 130.0),
    "Voltage of the secondary at rated load, in volts.",
);

pub const RATED_VA: Required<Number> = number(
    "rated_va",
    "40",
    (5.0, 1000.0),
    "Rated load, in volt-amperes.",
);

pub const DROOP: Defaulted<Number> = number_or(
    "droop",
    "0.12",
    (0.01, 0.4),
    "How far the secondary voltage falls from no load to rated load, as a fraction of the rated one.",
);

pub const RATING_A: Required<Number> =
    number("rating_a", "15", (0.1, 200.0), "Rated current, in amperes.");

pub const CONTACT_OHM: Defaulted<Number> = number_or(
    "contact_ohm",
    "0.01",
    (1e-4, 1.0),
    "Resistance of a closed contact, in ohms.",
);

pub const CONTACTOR_OHM: Defaulted<Number> = number_or(
    "contact_ohm",
    "0.002",
    (1e-4, 1.0),
    "Resistance of a closed contact, in ohms.",
);

pub const UP_TO_V: Required<Number> = number(
    "up_to_v",
    "120",
    (10.0, 600.0),
    "The highest voltage it holds for, in volts.",
);

pub const RESISTIVE_A: Required<Number> = number(
    "resistive_a",
    "16",
    (0.1, 200.0),
    "Resistive load, in amperes.",
);

pub const FULL_LOAD_A: Required<Number> = number(
    "full_load_a",
    "16",
    (0.1, 200.0),
    "Motor load while it runs, in amperes.",
);

pub const RATED_LOCKED_ROTOR_A: Required<Number> = number(
    "locked_rotor_a",
    "96",
    (0.1, 1200.0),
    "Motor load while it starts, in amperes.",
);

pub const PILOT_DUTY_VA: Required<Number> = number(
    "pilot_duty_va",
    "360",
    (1.0, 10_000.0),
    "Load of coils, in volt-amperes.",
);

pub const POWER_VA: Defaulted<Number> = number_or(
    "power_va",
    "4",
    (0.5, 50.0),
    "What it draws itself, in volt-amperes.",
);

pub const LEAST_FRACTION: Defaulted<Number> = number_or(
    "least_fraction",
    "0.8",
    (0.5, 0.95),
    "It works at this fraction of the rated voltage and above.",
);

pub const COIL_V: Required<Number> = number(
    "rated_v",
    "120",
    (10.0, 300.0),
    "Rated voltage of the coil, in volts.",
);

pub const SEALED_VA: Required<Number> = number(
    "sealed_va",
    "10",
    (0.5, 500.0),
    "What the coil draws once it has pulled in, in volt-amperes.",
);

pub const INRUSH_VA: Required<Number> = number(
    "inrush_va",
    "30",
    (0.5, 2000.0),
    "What the coil draws while it pulls in, in volt-amperes.",
);

pub const COIL_POWER_FACTOR: Defaulted<Number> = number_or(
    "power_factor",
    "0.4",
    (0.1, 1.0),
    "Power factor once it has pulled in.",
);

pub const PULL_IN_FRACTION: Defaulted<Number> = number_or(
    "pull_in_fraction",
    "0.85",
    (0.5, 0.95),
    "The share of the rated voltage at which it pulls in.",
);

pub const DROP_OUT_FRACTION: Defaulted<Number> = number_or(
    "drop_out_fraction",
    "0.5",
    (0.1, 0.8),
    "The share of the rated voltage at which it drops out.",
);

pub const MOTOR_V: Required<Number> =
    number("rated_v", "120", (20.0, 300.0), "Rated voltage, in volts.");

pub const RUNNING_A: Required<Number> = number(
    "running_a",
    "9.8",
    (0.05, 100.0),
    "Current while it runs at rated load, in amperes.",
);

pub const LOCKED_ROTOR_A: Required<Number> = number(
    "locked_rotor_a",
    "58.8",
    (0.05, 600.0),
    "Current while it starts, with its rotor held, in amperes.",
);

pub const MOTOR_POWER_FACTOR: Defaulted<Number> = number_or(
    "power_factor",
    "0.75",
    (0.2, 1.0),
    "Power factor while it runs.",
);

pub const RESISTANCE_V: Required<Number> =
    number("rated_v", "240", (10.0, 300.0), "Rated voltage, in volts.");

pub const POWER_W: Required<Number> = number(
    "power_w",
    "1500",
    (0.5, 20_000.0),
    "Power at the rated voltage, in watts.",
);

pub const FAULT_WEIGHT: Defaulted<Number> = number_or(
    "fault_weight",
    "1",
    (0.01, 100.0),
    "How often it fails, against the usual for its kind.",
);

const fn poles(default: &'static str) -> Defaulted<Own<Poles>> {
    Defaulted {
        key: "poles",
        default,
        form: Own {
            read: |item| {
                item.whole(1, 2).map(|poles| match poles.into_inner() {
                    2 => Poles::Two,
                    _ => Poles::One,
                })
            },
            form: || Whole { least: 1, most: 2 }.form(),
        },
        sentence: "How many conductors it breaks.",
    }
}

pub const POLES: Defaulted<Own<Poles>> = poles("1");

pub const CONTACTOR_POLES: Defaulted<Own<Poles>> = poles("2");

fn rating_tables() -> Form {
    let rows = [
        UP_TO_V,
        RESISTIVE_A,
        FULL_LOAD_A,
        RATED_LOCKED_ROTOR_A,
        PILOT_DUTY_VA,
    ];
    Form::Tables {
        of: Shape::of(
            "rating",
            "What a contact may switch, up to a voltage.",
            rows.iter().map(Required::row).collect(),
        ),
        most: usize::MAX,
    }
}

pub const RATING: Optional<Described> = Optional {
    key: "rating",
    form: Described(rating_tables),
    sentence: "What its contacts may switch; unknown where it is left out.",
};

/// Its absence is told in words of its own.
pub const RELAY_RATING: Required<Described> = Required {
    key: RATING.key,
    example: "[{ up_to_v = 120, resistive_a = 16, full_load_a = 16, locked_rotor_a = 96, pilot_duty_va = 360 }]",
    form: RATING.form,
    sentence: "What the contacts of its relay may switch.",
};

/// A control has at most so many taps.
const TAPS_LIMIT: usize = 8;

pub const POWER_TAPS_V: Required<Own<Vec<Tap>>> = Required {
    key: "power_taps_v",
    example: "[120, 240]",
    form: Own {
        read: taps,
        form: || Form::List {
            of: Box::new(Form::Whole {
                least: (*Tap::RANGE_V.start()).into(),
                most: (*Tap::RANGE_V.end()).into(),
            }),
            least: 1,
            most: TAPS_LIMIT,
        },
    },
    sentence: "The voltages that its power input has taps for; `power_120` is the terminal of the tap for 120 V, beside `power_common`.",
};

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
