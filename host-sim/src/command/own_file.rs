//! Whether a file that is there already is one of ours, so that nothing is lost where it is replaced.
//!
//! Each kind of file that the program writes tells by its beginning what it is.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use hysteron_view::export::{csv, json, junit};

/// How a failing run of a sweep begins.
pub const FAILING_CASE: &str = "# A failing run of a sweep over ";

/// The columns of a replay's stretches.
pub const REPLAY_COLUMNS: &str = "from,from_s,length_s,relay,reason";

/// What stands within the columns of a sweep's runs.
pub const SWEEP_COLUMNS: &str = ",variant,seed,failed_lines,starts,";

/// The columns of a thermistor's table in these degrees, `c` or `f`.
pub fn curve_columns(degrees: &str) -> String {
    format!("temperature_{degrees},resistance_ohm,counts,reads_{degrees}")
}

/// A kind of file that the program writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OwnFile {
    /// A report, HTML.
    Report,
    /// The waveforms of a run, VCD.
    Waveforms,
    /// The course of a run, CSV.
    RunTable,
    /// A run as JSON.
    Run,
    /// Verdicts as a test report, JUnit XML.
    TestReport,
    /// The runs of a sweep, CSV.
    SweepTable,
    /// The relay in a replay, CSV.
    ReplayTable,
    /// A thermistor's table, CSV.
    CurveTable,
    /// A ladder diagram, SVG.
    Drawing,
    /// A failing run of a sweep, TOML.
    FailingCase,
    /// A page of the manual.
    ManualPage,
}

/// So many bytes tell what a file is.
const BEGINNING: u64 = 4_096;

impl OwnFile {
    /// What it is, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Report => "a report",
            Self::Waveforms => "waveforms",
            Self::RunTable => "the course of a run",
            Self::Run => "a run",
            Self::TestReport => "a test report",
            Self::SweepTable => "the runs of a sweep",
            Self::ReplayTable => "the stretches of a replay",
            Self::CurveTable => "a thermistor's table",
            Self::Drawing => "a drawing",
            Self::FailingCase => "a failing run",
            Self::ManualPage => "a page of the manual",
        }
    }

    /// Whether the file at `path` is of this kind, or empty.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn may_replace(self, path: &Path) -> io::Result<bool> {
        let mut beginning = Vec::new();
        File::open(path)?
            .take(BEGINNING)
            .read_to_end(&mut beginning)?;
        Ok(beginning.is_empty() || self.begins(&String::from_utf8_lossy(&beginning)))
    }

    /// Whether a file that begins so is of this kind.
    fn begins(self, beginning: &str) -> bool {
        let first_line = beginning.lines().next().unwrap_or_default();
        match self {
            Self::Report => {
                let generator = "<meta name=\"generator\" content=\"hysteron ";
                first_line.starts_with("<!DOCTYPE html>") && first_line.contains(generator)
            }
            Self::Waveforms => beginning
                .strip_prefix("$version")
                .is_some_and(|version| version.trim_start().starts_with("hysteron ")),
            Self::RunTable => first_line.starts_with(csv::FIRST_COLUMNS),
            Self::Run => {
                let signs = beginning.chars().filter(|sign| !sign.is_whitespace());
                let signs: String = signs.take(80).collect();
                let format = json::FORMAT.replace(' ', "");
                signs.starts_with(&format!("{{\"format\":\"{format}\""))
            }
            Self::TestReport => beginning.lines().nth(1) == Some(junit::MARK),
            Self::SweepTable => {
                first_line.starts_with("run,") && first_line.contains(SWEEP_COLUMNS)
            }
            Self::ReplayTable => first_line == REPLAY_COLUMNS,
            Self::CurveTable => ["c", "f"]
                .iter()
                .any(|degrees| first_line == curve_columns(degrees)),
            Self::Drawing => {
                first_line.starts_with("<svg ")
                    && first_line.contains("class=\"installation-drawing\"")
            }
            Self::FailingCase => first_line.starts_with(FAILING_CASE),
            Self::ManualPage => beginning.contains("\n.TH hysteron"),
        }
    }
}
