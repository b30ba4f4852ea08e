//! The entries of `[[expect]]`: what it may speak of, how limits are written, and when.

use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use super::expectation::{Counted, Observable, Occurrence, Subject};
use super::measure::{Measure, Moment, Time, written_in};
use super::quantity_text::read_in_unit;
use crate::record::runs::Runner;
use hysteron_plant::Quantity;
use hysteron_source::entry::{Formed, Optional, Reads, Required, Text, Whole, Words};
use hysteron_source::form::{Case, Form, Presence, Row, Shape, When};
use hysteron_source::item::Item;

/// What an expectation speaks of.
#[derive(Debug, Clone, Copy)]
pub enum Speaks {
    Quantity,
    Count,
    Relay,
    Order,
    Shortest,
}

/// The keys of what an expectation speaks of: it gives one of them.
pub const SUBJECTS: [(&str, Speaks); 5] = [
    ("quantity", Speaks::Quantity),
    ("count", Speaks::Count),
    ("relay", Speaks::Relay),
    ("order", Speaks::Order),
    ("shortest", Speaks::Shortest),
];

pub const RELAY: Words<Relay> = Words(&[("open", Relay::Open), ("closed", Relay::Closed)]);

/// Fewest and most events of an order.
pub const ORDER: (usize, usize) = (2, 100);

pub const MOMENT: Moment = Moment { example: "06:00" };

pub const AT: Optional<Moment> = Optional {
    key: "at",
    form: MOMENT,
    sentence: "The moment at which it is expected; else from `from` until `until`.",
};

pub const FROM: Optional<Moment> = Optional {
    key: "from",
    form: MOMENT,
    sentence: "From when it is expected; from the beginning where it is left out.",
};

pub const UNTIL: Optional<Moment> = Optional {
    key: "until",
    form: MOMENT,
    sentence: "Until when it is expected; to the end where it is left out.",
};

pub const BECAUSE: Optional<Text> = Optional {
    key: "because",
    form: Text,
    sentence: "Where the figure comes from: a source by title, number, year and place, \"common practice\", \"from memory\", or what it follows from.",
};

pub const VARIANT: Optional<Text> = Optional {
    key: "variant",
    form: Text,
    sentence: "The only variant that it is expected of; of every case where it is left out.",
};

pub const SHORTEST_LIMIT: Required<Time> = Required {
    key: "at_least",
    example: "\"5 min\"",
    form: Time { example: "5 min" },
    sentence: "What none is shorter than.",
};

pub const AT_LEAST: &str = "at_least";
pub const AT_MOST: &str = "at_most";

/// How the limit of something is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// In this unit.
    In(&'static str),
    /// As a length of time.
    Time,
    /// As a share.
    Share,
    /// As a whole number.
    Number,
}

const LENGTH: Time = Time { example: "8 h" };

const SHARE: Measure = Measure {
    unit: "",
    example: "60 %",
    range: Some(("0 %", "100 %")),
};

const NUMBER: Whole = Whole {
    least: 0,
    most: 1_000_000,
};

impl Limit {
    pub const fn of(counted: Counted) -> Self {
        match counted {
            Counted::RunTime(_) => Self::Time,
            Counted::Duty(_) => Self::Share,
            Counted::Starts(_) | Counted::StartsInAnyHour(_) | Counted::Occurrences(_) => {
                Self::Number
            }
        }
    }

    fn rows(self) -> Vec<Row> {
        let row = |key, sentence: &str| Row {
            key,
            form: self.form(),
            presence: Presence::Optional,
            sentence: sentence.to_owned(),
        };
        vec![
            row(AT_LEAST, "The lower limit."),
            row(AT_MOST, "The upper limit."),
        ]
    }
}

impl Formed for Limit {
    fn form(&self) -> Form {
        match self {
            Self::In(unit) => written_in(unit, &format!("5 {unit}")),
            Self::Time => LENGTH.form(),
            Self::Share => SHARE.form(),
            Self::Number => NUMBER.form(),
        }
    }
}

impl Reads for Limit {
    type Value = f64;

    fn read(&self, item: &Item<'_>) -> Option<f64> {
        match self {
            Self::In(unit) => {
                let number = item.read(&format!("5 {unit}"), |text| read_in_unit(text, unit))?;
                Some(number.into_inner())
            }
            Self::Time => Some(LENGTH.read(item)?.millis() as f64 / 1_000.0),
            Self::Share => SHARE.read(item),
            Self::Number => NUMBER.read(item).map(|number| number as f64),
        }
    }
}

/// What an `[[expect]]` may hold.
pub fn shape() -> Shape {
    let observables: Vec<(&'static str, Limit)> = observables(&Quantity::ALL)
        .map(|observable| (observable.name(), Limit::In(observable.unit())))
        .collect();
    let runners = &[Runner::Load, Runner::Compressor];
    let counted: Vec<(&'static str, Limit)> = counted_names(runners)
        .into_iter()
        .map(|(name, counted)| (name, Limit::of(counted)))
        .collect();
    let cases = SUBJECTS.into_iter().flat_map(|(key, speaks)| match speaks {
        Speaks::Quantity => limited(
            key,
            "A quantity of plant, probe or air, which stays within its limits.",
            &observables,
        ),
        Speaks::Count => limited(
            key,
            "Something that is counted, timed or shared, and stays within its limits.",
            &counted,
        ),
        Speaks::Relay => vec![having(
            key,
            RELAY.form(),
            "The relay stands like this throughout.",
            Vec::new(),
        )],
        Speaks::Order => {
            let occurrence = Form::Words(Occurrence::all().map(Occurrence::name).collect());
            let (least, most) = ORDER;
            let order = Form::List {
                of: Box::new(occurrence),
                least,
                most,
            };
            let sentence = "These come one after the other; others may come between.";
            vec![having(key, order, sentence, Vec::new())]
        }
        Speaks::Shortest => {
            let kinds = shortest_names(runners).into_iter().map(|(name, _)| name);
            vec![having(
                key,
                Form::Words(kinds.collect()),
                "None is shorter than the limit.",
                vec![SHORTEST_LIMIT.row()],
            )]
        }
    });
    Shape {
        name: "expect",
        sentence: "Something that is expected, of one thing.",
        rows: vec![
            AT.row(),
            FROM.row(),
            UNTIL.row(),
            BECAUSE.row(),
            VARIANT.row(),
        ],
        cases: cases.collect(),
    }
}

/// A case for each way to write a limit.
fn limited(key: &'static str, sentence: &str, names: &[(&'static str, Limit)]) -> Vec<Case> {
    let mut limits: Vec<Limit> = Vec::new();
    for (_, limit) in names {
        if !limits.contains(limit) {
            limits.push(*limit);
        }
    }
    let case = |limit: Limit| {
        let alike = names.iter().filter(|(_, other)| *other == limit);
        let words: Vec<&'static str> = alike.map(|(name, _)| *name).collect();
        let subject = Row {
            key,
            form: Form::Words(words.clone()),
            presence: Presence::Optional,
            sentence: sentence.to_owned(),
        };
        Case {
            when: When::Says { key, words },
            sentence: sentence.to_owned(),
            rows: [subject].into_iter().chain(limit.rows()).collect(),
        }
    };
    limits.into_iter().map(case).collect()
}

fn having(key: &'static str, form: Form, sentence: &str, rows: Vec<Row>) -> Case {
    let subject = Row {
        key,
        form,
        presence: Presence::Optional,
        sentence: sentence.to_owned(),
    };
    Case {
        when: When::Has(subject),
        sentence: sentence.to_owned(),
        rows,
    }
}

/// Everything that can be watched where the plant can tell these.
pub fn observables(plant: &[Quantity]) -> impl Iterator<Item = Observable> {
    plant
        .iter()
        .map(|quantity| Observable::Plant(*quantity))
        .chain([Observable::ProbeReading, Observable::Ambient])
}

/// Everything that can be counted where these start and stop.
pub fn counted_names(runners: &[Runner]) -> Vec<(&'static str, Counted)> {
    let of = |runner: &Runner| {
        [
            Counted::Starts(*runner),
            Counted::StartsInAnyHour(*runner),
            Counted::RunTime(*runner),
            Counted::Duty(*runner),
        ]
    };
    runners
        .iter()
        .flat_map(of)
        .chain(Occurrence::all().map(Counted::Occurrences))
        .map(|counted| (counted.name(), counted))
        .collect()
}

/// What makes an expectation of a shortest time.
pub type Shortest = fn(Runner, Duration) -> Subject;

/// What may be expected of the shortest times where these start and stop.
pub fn shortest_names(runners: &[Runner]) -> Vec<(&'static str, (Shortest, Runner))> {
    let of = |runner: &Runner| -> [(&'static str, (Shortest, Runner)); 2] {
        let names = match runner {
            Runner::Load => ["rest", "run"],
            Runner::Compressor => ["compressor rest", "compressor run"],
        };
        [
            (names[0], (Subject::ShortestRest, *runner)),
            (names[1], (Subject::ShortestRun, *runner)),
        ]
    };
    runners.iter().flat_map(of).collect()
}
