//! Installations as a person names them on the command line.
//!
//! A bundled arrangement's name, a file, or `-` for standard input. A file that has the name
//! of a bundled arrangement is meant by `./NAME`.

use std::path::Path;

use super::files::Files;
use super::standard_stream::STANDARD_STREAM;
use crate::disk;
use crate::failure::Failure;
use hysteron_installation::Installation;
use hysteron_installation::arrangements::{ARRANGEMENTS, named};
use hysteron_installation::file;
use hysteron_source::text::{SourceText, any_of, nearest};

/// The text that a word names.
///
/// # Errors
/// When the word names nothing, or its text cannot be read.
pub fn text(word: &Path) -> Result<SourceText, Failure> {
    if word == Path::new(STANDARD_STREAM) {
        return Ok(disk::standard_input()?);
    }
    if let Some(arrangement) = word.to_str().and_then(named) {
        return Ok(SourceText::new(arrangement.name, arrangement.text)?);
    }
    if word.is_file() {
        return Ok(disk::text_of(word)?);
    }
    Err(unknown(word))
}

/// Notes the file that [`text`] reads for this word, if it is one.
pub fn note_read(word: &Path, files: &mut Files) {
    if word == Path::new(STANDARD_STREAM) {
        files.read_standard_input();
    } else if word.to_str().and_then(named).is_none() {
        files.read("the installation", [word]);
    }
}

/// The installation in a text.
///
/// # Errors
/// When the text has mistakes.
pub fn read(source: &SourceText) -> Result<Installation, Failure> {
    Ok(file::read(source)?)
}

fn unknown(word: &Path) -> Failure {
    let written = word.display().to_string();
    let names: Vec<&str> = ARRANGEMENTS.iter().map(|one| one.name).collect();
    let failure = Failure::because(format!(
        "\"{written}\" is neither a file nor a bundled installation"
    ));
    let stem = written.strip_suffix(".toml").unwrap_or(&written);
    match nearest(stem, names.iter().copied()) {
        Some(meant) => failure.remedy(format!("did you mean `{meant}`?")),
        None => failure.remedy(format!("bundled installations: {}", any_of(&names))),
    }
}
