//! Readings in a file.
//!
//! ```toml
//! [[reading]]
//! when = "calling"
//! from = "control.relay_common"
//! to = "control.normally_open"
//! shows = "120 V"
//! ```

use super::measurement::{Measurement, MeterReading};
use super::reading_text::{Place, occasion, probing, value};
use hysteron_installation::Installation;
use hysteron_source::table::{Document, Table};
use hysteron_source::text::{Problem, Problems, Rejected, SourceText};

/// Reads the readings of a file, in its order.
///
/// # Errors
/// With everything that is wrong with it: what is not TOML, unknown names, values that are no
/// readings, a file without any reading.
pub fn read(
    source: &SourceText,
    installation: &Installation,
) -> Result<Vec<MeterReading>, Rejected> {
    let document = Document::parse(source)?;
    let problems = Problems::default();
    let mut root = document.table(&problems);
    let tables = match root.optional("reading") {
        Some(item) => item.tables("[[reading]]"),
        None => Some(Vec::new()),
    };
    root.finish();
    if tables.as_ref().is_some_and(Vec::is_empty) {
        let problem = Problem::in_general("the file holds no reading: no table [[reading]]");
        problems.add(problem.remedy(
            "write one for each measurement: below a line [[reading]] come when = \"calling\", \
             from = \"part.terminal\", to = \"ground\" and shows = \"120 V\"",
        ));
    }
    let tables = tables.unwrap_or_default();
    let readings: Vec<MeterReading> = tables
        .into_iter()
        .filter_map(|mut table| {
            let reading = reading(&mut table, installation);
            table.finish();
            reading
        })
        .collect();
    if problems.is_empty() {
        Ok(readings)
    } else {
        Err(source.rejected(problems.into_sorted()))
    }
}

fn reading(table: &mut Table<'_>, installation: &Installation) -> Option<MeterReading> {
    let when = table.required("when", "\"calling\"");
    let from = table.required("from", "\"control.relay_common\"");
    let to = table.required("to", "\"ground\"");
    let shows = table.required("shows", "\"120 V\"");
    let occasion = when.and_then(|item| Some(item.read("calling", occasion)?.into_inner()));
    let probing = from.zip(to).and_then(|(from, to)| {
        let (one, other) = (from.text()?.into_inner(), to.text()?.into_inner());
        match probing((&one, &other), installation) {
            Ok(probing) => Some(probing),
            Err((Place::From, misread)) => from.refuse(misread),
            Err((Place::To, misread)) => to.refuse(misread),
        }
    });
    let occasion = occasion?;
    let shown = shows?.read("120 V", |text| value(text, occasion))?;
    Some(MeterReading {
        measurement: Measurement {
            occasion,
            probing: probing?,
        },
        shown: shown.into_inner(),
    })
}
