//! What a person wants written besides the answer: reports, waveforms, tables, test results.

use std::io;
use std::path::{Path, PathBuf};

use clap::Args;

use super::destination::{Destination, standard_output};
use super::files::{Files, ForceArgument};
use super::own_file::OwnFile;
use super::scenario_run::ScenarioRun;
use super::whole_file::{self, MissingFolders};
use crate::console::{Console, StandardOutput};
use crate::failure::Failure;
use hysteron_view::export::{csv, json, junit, vcd};
use hysteron_view::report;

/// Where to write what.
#[derive(Debug, Clone, Args)]
pub struct ExportArguments {
    /// Writes the report, one HTML file that needs nothing else; of several scenarios into a FOLDER/
    #[arg(long, value_name = "FILE")]
    report: Option<Destination>,

    /// Writes the waveforms of relay, load and temperatures (VCD)
    #[arg(long, value_name = "FILE")]
    vcd: Option<Destination>,

    /// Writes the course of every quantity as comma-separated values
    #[arg(long, value_name = "FILE")]
    csv: Option<Destination>,

    /// Writes verdicts, totals and events as JSON
    #[arg(long, value_name = "FILE")]
    json: Option<Destination>,

    /// Writes the verdicts as a test report that build servers read (JUnit XML)
    #[arg(long, value_name = "FILE")]
    junit: Option<Destination>,

    #[command(flatten)]
    pub force: ForceArgument,
}

/// What can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Report,
    Waveforms,
    Table,
    Json,
    JUnit,
}

impl Kind {
    const fn option(self) -> &'static str {
        match self {
            Self::Report => "--report",
            Self::Waveforms => "--vcd",
            Self::Table => "--csv",
            Self::Json => "--json",
            Self::JUnit => "--junit",
        }
    }

    const fn ending(self) -> &'static str {
        match self {
            Self::Report => "html",
            Self::Waveforms => "vcd",
            Self::Table => "csv",
            Self::Json => "json",
            Self::JUnit => "xml",
        }
    }

    const fn own_file(self) -> OwnFile {
        match self {
            Self::Report => OwnFile::Report,
            Self::Waveforms => OwnFile::Waveforms,
            Self::Table => OwnFile::RunTable,
            Self::Json => OwnFile::Run,
            Self::JUnit => OwnFile::TestReport,
        }
    }

    /// The content; `again` is what a person types to see the same again.
    fn of(self, run: &ScenarioRun, again: &str) -> io::Result<Vec<u8>> {
        let (plan, cases) = (&run.plan, run.cases.as_slice());
        let mut content = Vec::new();
        match self {
            Self::Report => return Ok(report::html(plan, cases, again).into_bytes()),
            Self::Waveforms => vcd::write(plan, cases, &mut content)?,
            Self::Table => csv::write(cases, &mut content)?,
            Self::Json => json::write(plan, cases, &mut content)?,
            Self::JUnit => junit::write(plan, cases, &mut content)?,
        }
        Ok(content)
    }
}

/// Where one kind goes.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Place {
    StandardOutput,
    File(PathBuf),
    /// One file in it for each scenario.
    Folder(PathBuf),
}

impl Place {
    /// Where the export of the scenario of this name goes.
    fn destination(&self, name: &str, kind: Kind) -> Destination {
        match self {
            Self::StandardOutput => Destination::StandardOutput,
            Self::File(path) => Destination::File(path.clone()),
            Self::Folder(path) => Destination::File(path.join(format!("{name}.{}", kind.ending()))),
        }
    }
}

/// Everything that is wanted, checked.
#[derive(Debug, Clone)]
pub struct Exports {
    wanted: Vec<(Kind, Place)>,
    /// Who gets standard output.
    pub stdout: StandardOutput,
}

/// One content with its destination.
pub struct Export {
    kind: Kind,
    to: Destination,
    content: Vec<u8>,
}

impl ExportArguments {
    /// The checked exports for scenarios of these names.
    ///
    /// # Errors
    /// When two go to standard output, or several scenarios into one file.
    pub fn checked(self, names: &[String]) -> Result<Exports, Failure> {
        let wanted = [
            (Kind::Report, self.report),
            (Kind::Waveforms, self.vcd),
            (Kind::Table, self.csv),
            (Kind::Json, self.json),
            (Kind::JUnit, self.junit),
        ];
        let stdout = standard_output(wanted.iter().filter_map(|(_, to)| to.as_ref()))?;
        let mut exports = Vec::new();
        for (kind, to) in wanted {
            if let Some(to) = to {
                exports.push((kind, place(kind, to, names)?));
            }
        }
        Ok(Exports {
            wanted: exports,
            stdout,
        })
    }
}

fn place(kind: Kind, to: Destination, names: &[String]) -> Result<Place, Failure> {
    let option = kind.option();
    let several = names.len() > 1;
    match to {
        Destination::StandardOutput if several => Err(Failure::because(format!(
            "{option} of {} scenarios cannot go to standard output",
            names.len()
        ))
        .remedy(format!("name a folder: {option} FOLDER/"))),
        Destination::StandardOutput => Ok(Place::StandardOutput),
        Destination::File(path) if path.is_dir() || ends_as_folder(&path) => {
            let mut sorted: Vec<&String> = names.iter().collect();
            sorted.sort();
            if let Some(pair) = sorted.windows(2).find(|pair| pair[0] == pair[1]) {
                return Err(Failure::because(format!(
                    "two scenarios are called {}, and {option} would write both to one file",
                    pair[0]
                ))
                .remedy("run them one after the other, into two folders"));
            }
            Ok(Place::Folder(path))
        }
        Destination::File(path) if several => Err(Failure::because(format!(
            "{option} {}: one file cannot take {} scenarios",
            path.display(),
            names.len()
        ))
        .remedy(format!(
            "name a folder, with a / at its end: {option} {}/",
            path.display()
        ))),
        Destination::File(path) => Ok(Place::File(path)),
    }
}

fn ends_as_folder(path: &Path) -> bool {
    path.to_string_lossy().ends_with(std::path::is_separator)
}

impl Exports {
    /// A report in this file, and nothing else.
    #[must_use]
    pub fn report_in(path: PathBuf) -> Self {
        Self {
            wanted: vec![(Kind::Report, Place::File(path))],
            stdout: StandardOutput::Answer,
        }
    }

    /// Notes every file that is written for scenarios of these names.
    pub fn note_written(&self, names: &[String], files: &mut Files) {
        for (kind, place) in &self.wanted {
            let places: Vec<Destination> = names
                .iter()
                .map(|name| place.destination(name, *kind))
                .collect();
            files.written(kind.option(), &places, kind.own_file());
        }
    }

    /// Everything wanted of one run; `name` is the scenario's.
    ///
    /// # Errors
    /// When a run cannot be written in a format.
    pub fn of(&self, run: &ScenarioRun, name: &str, again: &str) -> Result<Vec<Export>, Failure> {
        let export = |(kind, place): &(Kind, Place)| {
            let content = kind.of(run, again).map_err(|error| {
                Failure::because(format!("{} cannot be written: {error}", kind.option()))
            })?;
            Ok(Export {
                kind: *kind,
                to: place.destination(name, *kind),
                content,
            })
        };
        self.wanted.iter().map(export).collect()
    }
}

impl Export {
    /// Where the report is to lie, if this is one and that is a file.
    #[must_use]
    pub fn report_file(&self) -> Option<&Path> {
        match (self.kind, &self.to) {
            (Kind::Report, Destination::File(path)) => Some(path),
            (Kind::Report, Destination::StandardOutput)
            | (Kind::Waveforms | Kind::Table | Kind::Json | Kind::JUnit, _) => None,
        }
    }

    /// Writes it, with the folder that it goes into.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, console: &mut Console<'_>) -> Result<(), Failure> {
        match &self.to {
            Destination::StandardOutput => {
                console.write(&self.content);
                Ok(())
            }
            Destination::File(path) => whole_file::write(path, &self.content, MissingFolders::Made),
        }
    }
}
