//! The schemas that editors read say what the readers do: what is sound passes, what is wrong by
//! its shape is refused.

use std::fmt::Write;

use hysteron_bench::scenario::bundled::BUNDLED;
use hysteron_bench::scenario::file;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_installation::arrangements::ARRANGEMENTS;
use hysteron_source::form::Shape;
use hysteron_source::text::SourceText;
use hysteron_view::format::schema::schema;
use jsonschema::Validator;
use serde_json::Value;

use crate::malformed::{SOUND, mistakes};

const PEERS: &str = include_str!("../../peers/reference.toml");

fn validator(shape: &Shape) -> Validator {
    let schema = schema(shape);
    assert!(jsonschema::meta::is_valid(&schema), "no schema");
    jsonschema::validator_for(&schema).unwrap_or_else(|error| panic!("{error}"))
}

fn json(text: &str) -> Option<Value> {
    let value: toml::Value = toml::from_str(text).ok()?;
    Some(serde_json::to_value(value).expect("every TOML value has one"))
}

/// What the validator has against a text; empty where it has nothing.
fn refusals(validator: &Validator, text: &str) -> String {
    let value = json(text).expect("TOML");
    let mut told = String::new();
    for error in validator.iter_errors(&value) {
        writeln!(told, "{}: {error}", error.instance_path()).expect("a string");
    }
    told
}

#[test]
fn every_sound_scenario_and_installation_passes() {
    let scenarios = validator(&file::shape());
    let bundled = BUNDLED.iter().map(|one| (one.name, one.text));
    for (name, text) in bundled.chain([("sound", SOUND), ("peers", PEERS)]) {
        let told = refusals(&scenarios, text);
        assert!(told.is_empty(), "{name}:\n{told}");
    }
    let installations = validator(&hysteron_installation::file::shape());
    for arrangement in ARRANGEMENTS {
        let told = refusals(&installations, arrangement.text);
        assert!(told.is_empty(), "{}:\n{told}", arrangement.name);
    }
}

/// The reader refuses all of them; those that the schema lets pass are wrong by what they mean.
#[test]
fn scenarios_that_are_wrong_by_their_shape_are_refused() {
    let validator = validator(&file::shape());
    let (mut refused, mut told) = (0, String::new());
    for mistake in mistakes() {
        let Some(value) = json(&mistake.made()) else {
            continue;
        };
        let passes = validator.is_valid(&value);
        refused += usize::from(!passes);
        let word = if passes { "passes" } else { "refused" };
        writeln!(told, "{word}: {:?} -> {:?}", mistake.from, mistake.to).expect("a string");
    }
    assert!(refused >= 40, "{refused} refused:\n{told}");
    insta::assert_snapshot!(told);
}

#[test]
fn installations_that_are_wrong_by_their_shape_are_refused() {
    let validator = validator(&hysteron_installation::file::shape());
    let sound = ARRANGEMENTS
        .iter()
        .find(|one| one.name == "compressor-120")
        .expect("it ships");
    for (from, to) in [
        ("title = ", "titel = "),
        ("[part.supply]", "[parts.supply]"),
        ("kind = \"supply\"", "kind = \"suply\""),
        ("kind = \"supply\"", ""),
        ("voltage = \"120 V\"", "voltage = \"110 V\""),
        ("voltage = \"120 V\"", "voltage = 120"),
        ("voltage = \"120 V\"", "volts = \"120 V\""),
        ("rating_a = ", "rated_a = "),
        ("rating_a = ", "poles = 3\nrating_a = "),
        ("gauge_awg = 12", "gauge_awg = 13"),
        ("gauge_awg = 12", "gauge_awg = \"12\""),
        ("gauge_awg = 12, ", ""),
        ("from = \"supply.hot\"", "from = 3"),
        ("length_m = ", "length_ft = "),
        ("length_m = ", "length_m = -"),
        ("power_taps_v = [", "power_taps_v = [[],"),
        ("pilot_duty_va = 360", "pilot_duty_va = \"360 VA\""),
        ("locked_rotor_a = 96\n", ""),
        ("running_a = ", "running_a = 1000000 # "),
    ] {
        assert!(sound.text.contains(from), "{from} is not there");
        let text = sound.text.replacen(from, to, 1);
        assert!(!refusals(&validator, &text).is_empty(), "{from} -> {to}");
        let source = SourceText::new("my.toml", text).expect("short");
        let read = hysteron_installation::file::read(&source);
        assert!(read.is_err(), "{from} -> {to} is read");
    }
}

/// Ways to write a quantity, of which some are right somewhere.
const WAYS: &[&str] = &[
    "",
    " ",
    "3",
    "-3",
    "3 ",
    "K",
    "3 K",
    "3K",
    " 3  K ",
    "-3 °F",
    "\u{2212}18°C",
    "+4 C",
    "4.5 °F",
    ".5 K",
    "5. K",
    "1.2.3 K",
    "3,5 K",
    "1e3 K",
    "3 k",
    "three K",
    "3 qq",
    "3 K 4 K",
    "300 mK",
    "5 min",
    "1 h 30 min",
    "1h30min",
    "90 s",
    "2d 4h",
    "5 mins",
    "5 min 3",
    "5 min,",
    "1 hour",
    "14:30",
    "14:30:15",
    "24:00",
    "25:00",
    "12:60",
    "day 2 06:00",
    "day 0 12:00",
    "day 2",
    "noon",
    "1:2:3:4",
    ":",
    "10 kΩ",
    "10 kohm",
    "500 Ω",
    "10k",
    "50 %",
    "0.5",
    "0.5 %%",
    "3 kg",
    "3 lb",
    "500 W",
    "3 tons",
    "3 US gal/min",
    "6 L/min",
    "2 K/h",
    "1 °F/h",
    "2 mW/K",
    "300 kPa",
    "5 psig",
];

/// Whatever the reader takes, the schema lets pass, and what is not even of the kind it refuses.
#[test]
fn a_quantity_passes_where_it_can_be_read() {
    let validator = validator(&file::shape());
    let places = [
        ("setpoint = \"2 °C\"", "setpoint = ", ""),
        ("differential = \"2 K\"", "differential = ", ""),
        ("minimum_off_time = \"5 min\"", "minimum_off_time = ", ""),
        ("product_kg = 500", "product_kg = ", ""),
        ("lag = \"30 s\"", "lag = ", ""),
        ("lag = \"30 s\"", "dissipation = ", ""),
        ("humidity = \"55 %\"", "humidity = ", ""),
        ("at = \"20:00\"", "at = ", ""),
        ("mode = \"cool\"", "mode = \"cool\"\nfixed_resistor = ", ""),
        (
            "what = \"door opens\"",
            "what = \"heat is added\"\npower = ",
            "",
        ),
        (
            "\nwhat = \"probe opens\"",
            "\nwhat = \"probe drifts\"\nrate = ",
            "",
        ),
        ("at_most = \"9 °C\"", "at_most = ", ""),
        ("at_least = \"5 min\"", "at_least = ", ""),
    ];
    // What the reader says of a text that is of the right kind and yet cannot be.
    let by_meaning = [
        "out of range",
        "refuses its",
        "too long, or below zero",
        "is over",
        "over before",
        "later than",
        "is not a number from 1 to 3660",
        "while the power",
        "begins while",
        "between the",
        "must",
        "least",
        "nothing holds",
        "out of its range",
    ];
    let (mut read, mut refused) = (0, 0);
    for (from, to, after) in places {
        for way in WAYS {
            let text = SOUND.replacen(from, &format!("{to}\"{way}\"{after}"), 1);
            let source = SourceText::new("x.toml", text.as_str()).expect("short");
            let told = refusals(&validator, &text);
            match Plan::read(&source, &SearchPaths::default()) {
                Ok(_) => {
                    read += 1;
                    assert!(told.is_empty(), "{to}{way:?} is read:\n{told}");
                }
                Err(rejected) => {
                    let why = rejected.to_string();
                    if by_meaning.iter().any(|words| why.contains(words)) {
                        continue;
                    }
                    refused += 1;
                    assert!(!told.is_empty(), "{to}{way:?} passes, yet:\n{why}");
                }
            }
        }
    }
    assert!(
        read >= 40 && refused >= 300,
        "{read} read, {refused} refused"
    );
}
