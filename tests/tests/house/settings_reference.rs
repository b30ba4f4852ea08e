//! The reference of the settings that `cargo doc` shows, against the one table in `field.rs` and
//! the defaults.
//!
//! After a change: `UPDATE_SETTINGS_TABLE=1 cargo test -p hysteron-tests --test house settings`.

use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_logic::call::Mode;
use hysteron_logic::field::{Field, Unit};
use hysteron_logic::settings::Draft;
use hysteron_logic::time::Duration;
use hysteron_source::text::SourceText;
use hysteron_view::words::setting::value;

const DOCUMENTED: &str = include_str!("../../../logic/src/settings_table.md");

const HEAD: &str = "\
| setting | unit | range | default, cooling | default, heating | what it does | why this range |
| --- | --- | --- | --- | --- | --- | --- |
";

fn unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Choice => "choice",
        Unit::Count => "count",
        Unit::Temperature => "°C",
        Unit::Difference => "K",
        Unit::Time => "time",
        Unit::Ohms => "Ω",
    }
}

fn range(field: Field) -> String {
    let about = field.about();
    let bound = |bound: i64| match about.unit {
        Unit::Choice => String::new(),
        Unit::Count | Unit::Ohms => bound.to_string(),
        Unit::Temperature | Unit::Difference => {
            (bound as f64 / 1_000.0).to_string().replace('-', "−")
        }
        Unit::Time => Duration::from_millis(bound.unsigned_abs()).to_string(),
    };
    match about.unit {
        Unit::Choice => "see its type".to_owned(),
        Unit::Count | Unit::Temperature | Unit::Difference | Unit::Time | Unit::Ohms => {
            format!("{} to {}", bound(about.lowest), bound(about.highest))
        }
    }
}

/// The settings of a scenario that switches on all that a word may switch off, and says no more.
fn all_switched_on(draft: &Draft) -> Draft {
    let (mode, defrost) = match draft.mode {
        Mode::Cool => ("cool", "defrost_interval = \"6 h\"\n"),
        Mode::Heat => ("heat", "confirm_heat_without_probe = true\n"),
    };
    let load = match draft.mode {
        Mode::Cool => "compressor",
        Mode::Heat => "other",
    };
    let text = format!(
        "title = \"All\"\nduration = \"1 h\"\n[plant]\nkind = \"first order\"\n[control]\nmode = \"{mode}\"\n\
         load = \"{load}\"\nfallback = \"timed cycle\"\nhigh_alarm = \"80 °C\"\nlow_alarm = \"-20 °C\"\n{defrost}"
    );
    let source = SourceText::new("all", text).expect("short");
    let plan = Plan::read(&source, &SearchPaths::default())
        .unwrap_or_else(|rejected| panic!("{rejected}"));
    *plan.cases[0].settings.draft()
}

/// The default; in brackets where it waits for another setting to be switched on.
fn default(field: Field, draft: &Draft) -> String {
    if let Some(value) = value(field, draft) {
        return value;
    }
    value(field, &all_switched_on(draft))
        .map_or_else(|| "-".to_owned(), |value| format!("({value})"))
}

fn row(field: Field) -> String {
    let about = field.about();
    let because = if about.because.is_empty() {
        "-"
    } else {
        about.because
    };
    format!(
        "| [{}](crate::field::Field::{field:?}) | {} | {} | {} | {} | {} | {because} |\n",
        about.name,
        unit(about.unit),
        range(field),
        default(field, &Draft::COOLING),
        default(field, &Draft::HEATING),
        about.sentence,
    )
}

#[test]
fn every_setting_is_documented_with_unit_range_and_default() {
    let rows: String = Field::ALL.into_iter().map(row).collect();
    let table = format!("{HEAD}{rows}");
    if std::env::var_os("UPDATE_SETTINGS_TABLE").is_some() {
        let file = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/../logic/src/settings_table.md"
        );
        std::fs::write(file, &table).expect("written");
        return;
    }
    assert_eq!(DOCUMENTED, table);
    assert_eq!(DOCUMENTED.lines().count(), 2 + Field::ALL.len());
    // What is documented is shown: the module's documentation holds the table.
    assert!(
        include_str!("../../../logic/src/settings.rs")
            .contains("include_str!(\"settings_table.md\")")
    );
}
