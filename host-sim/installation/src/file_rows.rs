//! The entries of an installation file, one row for each.

use hysteron_source::entry::{Defaulted, Described, Number, Optional, Own, Required, Text};
use hysteron_source::form::{Form, Shape};
use hysteron_source::item::Item;
use hysteron_source::text::Misread;

use super::conductor::Gauge;
use super::file_parts;
use super::part_fields::FAULT_WEIGHT;

pub const TITLE: Required<Text> = Required {
    key: "title",
    example: "\"Walk-in cooler, 208 V\"",
    form: Text,
    sentence: "What it is called.",
};

pub const ABOUT: Optional<Text> = Optional {
    key: "about",
    form: Text,
    sentence: "What it shows, for a person.",
};

pub const FREQUENCY_HZ: Defaulted<Own<f64>> = Defaulted {
    key: "frequency_hz",
    default: "60",
    form: Own {
        read: frequency,
        form: || Form::OneOf(vec![50, 60]),
    },
    sentence: "Frequency of its supplies, in hertz.",
};

pub const PART: Required<Described> = Required {
    key: "part",
    example: "{ ... }",
    form: Described(|| {
        Form::Named(Shape {
            name: "part",
            sentence: "A part; its terminals are written as part.terminal.",
            rows: vec![file_parts::kind_row(), FAULT_WEIGHT.row()],
            cases: file_parts::cases(),
        })
    }),
    sentence: "The parts, each under a name of its own: [part.compressor].",
};

pub const WIRE: Optional<Described> = Optional {
    key: "wire",
    form: Described(|| {
        Form::Named(Shape::of(
            "wire",
            "A wire between two terminals.",
            vec![
                FROM.row(),
                TO.row(),
                GAUGE_AWG.row(),
                WIRE_LENGTH_M.row(),
                FAULT_WEIGHT.row(),
            ],
        ))
    }),
    sentence: "The wires, each under a name or number of its own.",
};

pub const JUMPER: Optional<Described> = Optional {
    key: "jumper",
    form: Described(|| {
        Form::Named(Shape::of(
            "jumper",
            "A jumper between two terminals.",
            vec![
                FROM.row(),
                TO.row(),
                GAUGE_AWG.row(),
                JUMPER_LENGTH_M.row(),
                FAULT_WEIGHT.row(),
            ],
        ))
    }),
    sentence: "The jumpers, each under a name of its own.",
};

pub const FROM: Required<Text> = Required {
    key: "from",
    example: "\"supply.hot\"",
    form: Text,
    sentence: "The terminal at one end, as part.terminal.",
};

pub const TO: Required<Text> = Required {
    key: "to",
    example: "\"breaker.line\"",
    form: Text,
    sentence: "The terminal at the other end.",
};

pub const GAUGE_AWG: Required<Own<Gauge>> = Required {
    key: "gauge_awg",
    example: "14",
    form: Own {
        read: gauge,
        form: || Form::OneOf(Gauge::SIZES.map(i64::from).to_vec()),
    },
    sentence: "The size of its copper (AWG).",
};

pub const WIRE_LENGTH_M: Required<Number> = Required {
    key: "length_m",
    example: "3",
    form: Number {
        least: 0.01,
        most: 300.0,
    },
    sentence: "Its length, in metres.",
};

pub const JUMPER_LENGTH_M: Defaulted<Number> = Defaulted {
    key: "length_m",
    default: "0.1",
    form: Number {
        least: 0.01,
        most: 1.0,
    },
    sentence: "Its length, in metres.",
};

/// What an installation file may hold.
#[must_use]
pub fn shape() -> Shape {
    Shape::of(
        "installation",
        "An installation: its parts, and the wires between their terminals.",
        vec![
            TITLE.row(),
            ABOUT.row(),
            FREQUENCY_HZ.row(),
            PART.row(),
            WIRE.row(),
            JUMPER.row(),
        ],
    )
}

fn frequency(item: &Item<'_>) -> Option<f64> {
    let written = item.whole(50, 60)?.into_inner();
    match written {
        50 => Some(50.0),
        60 => Some(60.0),
        _ => item.refuse(Misread {
            what: format!("no supply has {written} Hz"),
            expected: "50 or 60".to_owned(),
            remedy: None,
        }),
    }
}

fn gauge(item: &Item<'_>) -> Option<Gauge> {
    let written = item.whole(0, 40)?.into_inner();
    let found = u8::try_from(written).ok().and_then(Gauge::new);
    found.or_else(|| {
        item.refuse(Misread {
            what: format!("{written} AWG is not used here"),
            expected: format!("one of {:?}", Gauge::SIZES),
            remedy: None,
        })
    })
}
