//! An installation as a person writes it: TOML with the trade's words.
//!
//! ```toml
//! title = "A lamp on a switch"
//!
//! [part.supply]
//! kind = "supply"
//! voltage = "120 V"
//!
//! [part.switch]
//! kind = "switch"
//!
//! [part.lamp]
//! kind = "lamp"
//! rated_v = 120
//! power_w = 25
//!
//! [wire]
//! 1 = { from = "supply.hot", to = "switch.line", gauge_awg = 14, length_m = 3 }
//! 2 = { from = "switch.load", to = "lamp.line1", gauge_awg = 14, length_m = 3 }
//! 3 = { from = "lamp.line2", to = "supply.neutral", gauge_awg = 14, length_m = 3 }
//! ```
//!
//! The power input of a control has the taps that its file lists: `power_taps_v = [120, 240]`
//! gives it the terminals `power_120` and `power_240`, beside `power_common`.

use std::collections::HashMap;

use toml::Spanned;

use hysteron_source::form::Shape;
use hysteron_source::item::Item;
use hysteron_source::table::{Document, Table};
use hysteron_source::text::{Misread, Problem, Problems, Rejected, SourceText, any_of, nearest};

use super::Installation;
use super::conductor::{Conductor, Sort};
use super::file_parts;
use super::file_rows::{
    self, ABOUT, FREQUENCY_HZ, FROM, GAUGE_AWG, JUMPER, JUMPER_LENGTH_M, PART, TITLE, TO, WIRE,
    WIRE_LENGTH_M,
};
use super::part::{Kind, Part};
use super::part_fields::FAULT_WEIGHT;
use super::terminal::{PartSet, TerminalId};

/// More supplies than this have no place in one installation.
pub const SUPPLIES_LIMIT: usize = 4;

const ADD_SUPPLY: &str = "add [part.supply] with kind = \"supply\" and voltage = \"120 V\"";

/// What an installation file may hold.
#[must_use]
pub fn shape() -> Shape {
    file_rows::shape()
}

/// Reads an installation.
///
/// # Errors
/// With everything that is wrong with the text: what is not TOML, unknown names, values
/// out of range, parts named twice, conductors that lead nowhere.
pub fn read(source: &SourceText) -> Result<Installation, Rejected> {
    let document = Document::parse(source)?;
    let problems = Problems::default();
    let mut root = document.table(&problems);
    let title = TITLE.read(&mut root).unwrap_or_default();
    let about = ABOUT.read(&mut root).flatten().unwrap_or_default();
    let frequency_hz = FREQUENCY_HZ.read(&mut root).unwrap_or(60.0);
    let parts = PART.item(&mut root);
    let wires = WIRE.item(&mut root);
    let jumpers = JUMPER.item(&mut root);
    root.finish();

    let Read { parts, broken } = parts.map_or_else(Read::default, |item| read_parts(&item));
    if broken.is_empty() {
        check_supplies(&parts, &problems);
    }
    if parts.len() > PartSet::CAPACITY {
        // The last ones get no terminals: a conductor to them would be told that they are not there.
        problems.add(too_many(parts.len(), "parts"));
        return Err(source.rejected(problems.into_sorted()));
    }
    let mut installation = Installation::assemble(
        title.trim().to_owned(),
        about.trim().to_owned(),
        frequency_hz,
        parts,
    );
    let names = installation.terminal_names();
    for (item, sort) in [(wires, Sort::Wire), (jumpers, Sort::Jumper)] {
        if let Some(item) = item {
            read_conductors(&item, sort, (&names, &broken), &mut installation);
        }
    }
    if installation.parts.len() > PartSet::CAPACITY {
        problems.add(too_many(installation.parts.len(), "parts and conductors"));
    }
    if problems.is_empty() {
        Ok(installation)
    } else {
        Err(source.rejected(problems.into_sorted()))
    }
}

fn too_many(count: usize, of_what: &str) -> Problem {
    let limit = PartSet::CAPACITY;
    let what = format!(
        "{count} {of_what} are more than the {limit} parts and conductors that an installation may have"
    );
    Problem::in_general(what).remedy("split the file in two")
}

/// Entries in the order they were written.
fn in_order<'d>(table: &mut Table<'d>) -> Vec<(Spanned<String>, Item<'d>)> {
    let mut entries = table.every();
    entries.sort_by_key(|(name, _)| name.span().start);
    entries
}

/// Parts, and the names of those that could not be read: what leads to them is no mistake.
#[derive(Debug, Default)]
struct Read {
    parts: Vec<Part>,
    broken: Vec<String>,
}

fn read_parts(item: &Item<'_>) -> Read {
    let mut read = Read::default();
    let Some(mut table) = item.table("[part]") else {
        return read;
    };
    let entries = in_order(&mut table);
    if entries.is_empty() {
        table
            .problems()
            .add(Problem::at(table.span(), "the installation has no parts").remedy(ADD_SUPPLY));
    }
    for (name, item) in entries {
        let written = name.get_ref();
        if written.contains('.') || written.trim().is_empty() {
            table.problems().add(
                Problem::at(
                    name.span(),
                    "a part's name is a word or words without a dot",
                )
                .remedy("as in [part.compressor]"),
            );
        }
        let Some(mut fields) = item.table(format!("part `{written}`")) else {
            continue;
        };
        // Without a kind nobody knows which fields belong there.
        let kind = file_parts::kind(&mut fields).and_then(|kind| {
            let kind = (kind.read)(&mut fields);
            let weight = FAULT_WEIGHT.read(&mut fields);
            fields.finish();
            Some((kind?, weight?))
        });
        match kind {
            Some((kind, weight)) => read.parts.push(part(&name, kind, weight)),
            None => read.broken.push(written.clone()),
        }
    }
    read
}

fn part(name: &Spanned<String>, kind: Kind, fault_weight: f64) -> Part {
    Part {
        name: name.get_ref().clone(),
        kind,
        troubles: Vec::new(),
        fault_weight,
        terminals: Vec::new(),
        written_at: name.span(),
    }
}

fn check_supplies(parts: &[Part], problems: &Problems) {
    let of_kind =
        |wanted: &'static str| parts.iter().filter(move |part| part.kind.name() == wanted);
    if !parts.is_empty() && of_kind("supply").next().is_none() {
        problems.add(Problem::in_general("the installation has no supply").remedy(ADD_SUPPLY));
    }
    for extra in of_kind("supply").skip(SUPPLIES_LIMIT) {
        let what = format!("more than {SUPPLIES_LIMIT} supplies");
        problems.add(Problem::at(extra.written_at(), what));
    }
    let mut controls = of_kind("control");
    if let (Some(first), Some(second)) = (controls.next(), controls.next()) {
        problems.add(
            Problem::at(second.written_at(), "a second control")
                .expected("an installation has one control")
                .because_of(first.written_at(), "the first"),
        );
    }
}

fn read_conductors(
    item: &Item<'_>,
    sort: Sort,
    (terminals, broken): (&HashMap<String, TerminalId>, &[String]),
    installation: &mut Installation,
) {
    let sort_name = match sort {
        Sort::Wire => WIRE.key,
        Sort::Jumper => JUMPER.key,
    };
    let Some(mut table) = item.table(format!("[{sort_name}]")) else {
        return;
    };
    for (name, item) in in_order(&mut table) {
        if let Some(other) = installation
            .parts
            .iter()
            .find(|part| part.name == *name.get_ref())
        {
            table.problems().add(
                Problem::at(name.span(), format!("the name `{}` is taken", other.name))
                    .because_of(other.written_at(), "here")
                    .remedy("give every part and conductor a name of its own"),
            );
            continue;
        }
        let Some(mut fields) = item.table(format!("{sort_name} `{}`", name.get_ref())) else {
            continue;
        };
        let ends = [FROM, TO].map(|entry| {
            let item = entry.item(&mut fields)?;
            end(&item, (terminals, broken), installation)
        });
        let gauge = GAUGE_AWG.read(&mut fields);
        let length_m = match sort {
            Sort::Wire => WIRE_LENGTH_M.read(&mut fields),
            Sort::Jumper => JUMPER_LENGTH_M.read(&mut fields),
        };
        let weight = FAULT_WEIGHT.read(&mut fields);
        let span = fields.span();
        fields.finish();
        let ([Some(from), Some(to)], Some(gauge), Some(length_m), Some(weight)) =
            (ends, gauge, length_m, weight)
        else {
            continue;
        };
        if from == to {
            table.problems().add(
                Problem::at(span, "both ends are on one terminal")
                    .expected("`from` and `to` must differ"),
            );
            continue;
        }
        installation.parts.push(part(
            &name,
            Kind::Conductor(Conductor {
                sort,
                ends: [from, to],
                gauge,
                length_m,
            }),
            weight,
        ));
    }
}

/// A terminal by its name, with the nearest one when there is none of that name.
fn end(
    item: &Item<'_>,
    (terminals, broken): (&HashMap<String, TerminalId>, &[String]),
    installation: &Installation,
) -> Option<TerminalId> {
    let written = item.text()?.into_inner();
    if let Some(&id) = terminals.get(&written) {
        return Some(id);
    }
    let (part, _) = written.split_once('.').unwrap_or((&written, ""));
    if broken.iter().any(|name| name == part) {
        return None;
    }
    item.refuse(unknown_terminal(&written, installation))
}

/// What to say of a terminal that the installation does not have.
pub fn unknown_terminal(written: &str, installation: &Installation) -> Misread {
    let (part, _) = written.split_once('.').unwrap_or((written, ""));
    let (what, expected, meant) = if let Some(id) = installation.part_named(part) {
        let own: Vec<String> = installation
            .part(id)
            .terminals()
            .iter()
            .map(|&(_, id)| installation.terminal_name(id))
            .collect();
        let names: Vec<&str> = own.iter().map(String::as_str).collect();
        (
            format!("`{part}` has no terminal \"{written}\""),
            any_of(&names),
            nearest(written, names.iter().copied()).map(str::to_owned),
        )
    } else {
        let terminals = installation.terminal_names();
        let mut names: Vec<&str> = terminals.keys().map(String::as_str).collect();
        names.sort_unstable();
        (
            format!("there is no part `{part}`"),
            "a terminal, written as part.terminal".to_owned(),
            nearest(written, names).map(str::to_owned),
        )
    };
    Misread {
        what,
        expected,
        remedy: meant.map(|meant| format!("did you mean \"{meant}\"?")),
    }
}
