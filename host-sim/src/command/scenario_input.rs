//! Scenarios as a person names them on the command line.
//!
//! A bundled scenario's name, a file, a folder (every `*.toml` directly in it),
//! or `-` for standard input. A file that has the name of a bundled scenario is
//! meant by `./NAME`.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::assignment::Assignment;
use super::files::Files;
use super::standard_stream::STANDARD_STREAM;
use crate::disk::{self, Disk};
use crate::failure::Failure;
use hysteron_bench::scenario::bundled::{BUNDLED, Bundled};
use hysteron_bench::scenario::edit::{Edit, edited};
use hysteron_bench::scenario::overridden::{Variants, overridden};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_source::text::{Rejected, SourceText, any_of, nearest};

/// Where a scenario's text comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScenarioInput {
    /// It ships with the program.
    Bundled(&'static Bundled),
    /// A file.
    File(PathBuf),
    /// Standard input.
    StandardInput,
}

impl ScenarioInput {
    /// Every scenario that these words name, in their order; a folder's by name.
    ///
    /// # Errors
    /// When a word names nothing, a folder holds no scenario, or standard input is named twice.
    pub fn all_named(words: &[PathBuf]) -> Result<Vec<Self>, Failure> {
        let mut inputs = Vec::new();
        for word in words {
            if word.is_dir() && bundled(word).is_none() {
                inputs.extend(in_folder(word)?.into_iter().map(Self::File));
            } else {
                inputs.push(Self::named(word)?);
            }
        }
        let standard = |input: &&Self| **input == Self::StandardInput;
        if inputs.iter().filter(standard).count() > 1 {
            let what = "standard input (-) is named twice, and can be read only once";
            return Err(Failure::because(what).remedy("put one of the scenarios into a file"));
        }
        Ok(inputs)
    }

    /// The one scenario that a word names.
    ///
    /// # Errors
    /// When the word names nothing, or a folder.
    pub fn named(word: &Path) -> Result<Self, Failure> {
        if word == Path::new(STANDARD_STREAM) {
            return Ok(Self::StandardInput);
        }
        if let Some(bundled) = bundled(word) {
            return Ok(Self::Bundled(bundled));
        }
        if word.is_dir() {
            let what = format!("{} is a folder, and one scenario is wanted", word.display());
            return Err(Failure::because(what).remedy("name a file in it"));
        }
        if word.exists() {
            return Ok(Self::File(word.to_owned()));
        }
        Err(unknown(word))
    }

    /// The word that names it on the command line.
    #[must_use]
    pub fn word(&self) -> String {
        match self {
            Self::Bundled(bundled) => bundled.name.to_owned(),
            Self::File(path) => path.display().to_string(),
            Self::StandardInput => STANDARD_STREAM.to_owned(),
        }
    }

    /// The name that messages and files written for it use: without folder and ending.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Bundled(bundled) => bundled.name.to_owned(),
            Self::File(path) => path
                .file_stem()
                .unwrap_or(path.as_os_str())
                .to_string_lossy()
                .into_owned(),
            Self::StandardInput => "standard-input".to_owned(),
        }
    }

    /// Notes the file that the text is read from, if it is one.
    pub fn note_read(&self, files: &mut Files) {
        match self {
            Self::Bundled(_) => {}
            Self::File(path) => files.read("the scenario", [path]),
            Self::StandardInput => files.read_standard_input(),
        }
    }

    /// The text.
    ///
    /// # Errors
    /// When it cannot be read, is too long, or is not UTF-8.
    pub fn text(&self) -> Result<SourceText, Rejected> {
        match self {
            Self::Bundled(bundled) => SourceText::new(bundled.name, bundled.text),
            Self::File(path) => disk::text_of(path),
            Self::StandardInput => disk::standard_input(),
        }
    }

    /// Where the files that it names are looked for; a `weather` file of the command line goes first.
    #[must_use]
    pub fn search_paths(&self, weather: Option<&Path>) -> SearchPaths {
        let folder = match self {
            Self::Bundled(_) | Self::StandardInput => None,
            Self::File(path) => path.parent(),
        };
        SearchPaths {
            weather: weather.map(Path::to_owned),
            folder: folder.map(Path::to_owned).unwrap_or_default(),
            files: Arc::new(Disk),
        }
    }

    /// The checked scenario.
    ///
    /// # Errors
    /// When it cannot be read, or has mistakes.
    pub fn plan(&self, weather: Option<&Path>) -> Result<Plan, Failure> {
        let text = self.text()?;
        Ok(Plan::read(&text, &self.search_paths(weather))?)
    }

    /// The checked scenario with changes, for whoever needs its settings, those of one variant
    /// perhaps, but not its weather: that may be missing, and is never read.
    ///
    /// # Errors
    /// When it cannot be read, cannot be changed so, or has mistakes, and when a change would not
    /// be in force.
    pub fn plan_without_weather(
        &self,
        changes: &[Assignment],
        variants: Variants<'_>,
    ) -> Result<Plan, Failure> {
        let text = self.text()?;
        let paths = changes.iter().map(|change| change.path.as_str());
        if let Some(overridden) = overridden(text.text(), paths, variants) {
            let what = format!("--set {overridden}");
            return Err(Failure::because(what).remedy(overridden.remedy()));
        }
        let text = changed(&text, changes)?;
        Ok(Plan::read(
            &text,
            &self.search_paths(Some(Path::new("weather"))),
        )?)
    }
}

/// The text with these changes made; messages about it say so.
fn changed(text: &SourceText, changes: &[Assignment]) -> Result<SourceText, Failure> {
    if changes.is_empty() {
        return Ok(text.clone());
    }
    let edits: Vec<Edit> = changes
        .iter()
        .map(|change| Edit::Set {
            path: change.path.clone(),
            value: change.value.clone(),
        })
        .collect();
    let changed = edited(text.text(), &edits)
        .map_err(|refused| Failure::because(format!("--set: {refused}")))?;
    let written: Vec<String> = changes.iter().map(ToString::to_string).collect();
    let name = format!("{} with {}", text.name(), written.join(", "));
    Ok(SourceText::new(name, changed)?)
}

fn bundled(word: &Path) -> Option<&'static Bundled> {
    word.to_str().and_then(Bundled::named)
}

fn in_folder(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let unreadable = |error: std::io::Error| {
        Failure::because(format!(
            "cannot read the folder {}: {error}",
            folder.display()
        ))
        .remedy("check the path, and that the folder may be read")
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.extension().is_some_and(|ending| ending == "toml") && path.is_file() {
            files.push(path);
        }
    }
    if files.is_empty() {
        let what = format!(
            "there is no scenario (*.toml) in the folder {}",
            folder.display()
        );
        return Err(Failure::because(what).remedy(
            "name a file, a folder that holds some, or a bundled scenario (`hysteron list`)",
        ));
    }
    files.sort();
    Ok(files)
}

fn unknown(word: &Path) -> Failure {
    let written = word.display().to_string();
    let names: Vec<&str> = BUNDLED.iter().map(|bundled| bundled.name).collect();
    let failure = Failure::because(format!(
        "\"{written}\" is neither a file nor a bundled scenario"
    ));
    let stem = written.strip_suffix(".toml").unwrap_or(&written);
    match nearest(stem, names.iter().copied()) {
        Some(meant) => failure.remedy(format!("did you mean `{meant}`?")),
        None => failure.remedy(format!("bundled scenarios: {}", any_of(&names))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_cannot_be_read_is_named_with_what_to_do() {
        let said = in_folder(Path::new("nowhere"))
            .expect_err("it is not there")
            .to_string();
        assert!(
            said.starts_with("error: cannot read the folder nowhere: "),
            "{said}"
        );
        assert!(
            said.ends_with("\nhelp: check the path, and that the folder may be read"),
            "{said}"
        );
    }
}
