//! Parts of the installation, and what can be wrong with them, as a happening names them.

use std::ops::Range;

use super::happening::{NamedPart, PartFailure};
use super::installation_name::Named;
use hysteron_installation::Installation;
use hysteron_installation::fault::{Fault, RelayContact, Trouble};
use hysteron_installation::terminal::PartId;
use hysteron_source::entry::{Required, Text};
use hysteron_source::form::Row;
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::{Misread, Problem, any_of, nearest};

/// Where the happening stands, and the installation that it happens to.
pub type Place<'w> = (Range<usize>, Named<'w>);

const PART: Required<Text> = Required {
    key: "part",
    example: "\"compressor\"",
    form: Text,
    sentence: "A part of the installation, by its name; wires and jumpers have names, too.",
};

const FAULT: Required<Text> = Required {
    key: "fault",
    example: "\"winding open\"",
    form: Text,
    sentence: "What becomes wrong with it, in the trade's words.",
};

/// The entries that say which part, and what becomes wrong with it.
pub fn failure_rows() -> Vec<Row> {
    vec![PART.row(), FAULT.row()]
}

/// The entry that says which part.
pub fn part_row() -> Row {
    PART.row()
}

/// Reads `part` and `fault`.
pub fn read_failure(table: &mut Table<'_>, place: Place<'_>) -> Option<PartFailure> {
    let part = PART.item(table);
    let fault = FAULT.item(table);
    let installation = installation(table, place)?;
    let id = which_part(&part?, installation)?;
    let fault = which_fault(&fault?, installation, id)?;
    Some(PartFailure::of(installation, fault))
}

/// Reads `part`.
pub fn read_part(table: &mut Table<'_>, place: Place<'_>) -> Option<NamedPart> {
    let part = PART.item(table);
    let installation = installation(table, place)?;
    let id = which_part(&part?, installation)?;
    Some(NamedPart::of(installation, id))
}

fn installation<'w>(table: &Table<'_>, (span, named): Place<'w>) -> Option<&'w Installation> {
    match named {
        Named::Rightly(wiring) => Some(&wiring.installation),
        Named::Wrong => None,
        Named::Not => {
            table.problems().add(
                Problem::at(span, "this scenario names no installation whose part could fail")
                    .remedy("add a line such as `installation = \"compressor-120\"` at the top of the file, before the first table"),
            );
            None
        }
    }
}

fn which_part(item: &Item<'_>, installation: &Installation) -> Option<PartId> {
    let written = item.text()?.into_inner();
    if let Some(id) = installation.part_named(&written) {
        return Some(id);
    }
    let names = || installation.parts().map(|(_, part)| part.name.as_str());
    let wired = installation.conductors().count();
    let devices: Vec<&str> = installation
        .parts()
        .filter(|(_, part)| part.kind.as_conductor().is_none())
        .map(|(_, part)| part.name.as_str())
        .collect();
    item.refuse(Misread {
        what: format!("the installation has no part \"{written}\""),
        expected: format!(
            "{}, or one of its {wired} wires and jumpers by its name",
            devices.join(", ")
        ),
        remedy: nearest(&written, names()).map(|meant| format!("did you mean \"{meant}\"?")),
    })
}

fn which_fault(item: &Item<'_>, installation: &Installation, part: PartId) -> Option<Fault> {
    let written = item.text()?.into_inner();
    let kind = &installation.part(part).kind;
    let faults = installation.faults_of(part);
    let words = |fault: &Fault| fault.trouble.words(kind);
    let known: Vec<String> = faults
        .iter()
        .filter(|fault| happens_by_another_name(fault.trouble).is_none())
        .map(words)
        .collect();
    let Some(fault) = faults.iter().find(|fault| words(fault) == written) else {
        let quoted: Vec<String> = known.iter().map(|words| format!("\"{words}\"")).collect();
        let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
        return item.refuse(Misread {
            what: format!(
                "{} is not known to fail as \"{written}\"",
                installation.part_words(part)
            ),
            expected: any_of(&quoted),
            remedy: nearest(&written, known.iter().map(String::as_str))
                .map(|meant| format!("did you mean \"{meant}\"?")),
        });
    };
    if let Some(name) = happens_by_another_name(fault.trouble) {
        return item.refuse(Misread {
            what: format!("\"{written}\" happens by another name"),
            expected: "one way to say it".to_owned(),
            remedy: Some(format!(
                "write `what = \"{name}\"`, without `part` and `fault`"
            )),
        });
    }
    Some(*fault)
}

/// The happening that this trouble of the control is, installation or none.
fn happens_by_another_name(trouble: Trouble) -> Option<&'static str> {
    match trouble {
        Trouble::RelayWelded(RelayContact::NormallyOpen) => Some("contact welds"),
        Trouble::RelayBurntOpen(RelayContact::NormallyOpen) => Some("contact burns open"),
        Trouble::ProbeOpen => Some("probe opens"),
        Trouble::ProbeShorted => Some("probe shorts"),
        Trouble::RelayWelded(RelayContact::NormallyClosed)
        | Trouble::RelayBurntOpen(RelayContact::NormallyClosed)
        | Trouble::Welded
        | Trouble::BurntOpen
        | Trouble::StuckClosed
        | Trouble::StuckOpen
        | Trouble::WindingOpen
        | Trouble::WindingShorted
        | Trouble::Blown
        | Trouble::Tripped
        | Trouble::Off
        | Trouble::Missing
        | Trouble::LegLost(_)
        | Trouble::WrongTap(_)
        | Trouble::BoardDead => None,
    }
}
