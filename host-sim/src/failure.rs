//! Why a command cannot do what it was asked, told to the person who asked.

use std::fmt;
use std::io::{self, ErrorKind};
use std::path::Path;

use annotate_snippets::{Group, Level, Renderer, normalize_untrusted_str};

use hysteron_source::text::Rejected;

const NO_ROOM: &str =
    "make room there, or write elsewhere; a file that was there already is as it was";
const NOT_ALLOWED: &str = "name a place that you may write to";

/// Why a command cannot do what it was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// A text has mistakes in it.
    Text(Box<Rejected>),
    /// Anything else: what is wrong, and what to do about it.
    Other {
        /// What is wrong.
        what: String,
        /// What the person can do.
        remedy: Option<String>,
    },
}

impl Failure {
    /// Something is wrong that no place in a text can be blamed for.
    #[must_use]
    pub fn because(what: impl Into<String>) -> Self {
        Self::Other {
            what: what.into(),
            remedy: None,
        }
    }

    /// Adds what the person can do; a text says that itself.
    #[must_use]
    pub fn remedy(self, advice: impl Into<String>) -> Self {
        match self {
            Self::Text(rejected) => Self::Text(rejected),
            Self::Other { what, .. } => Self::Other {
                what,
                remedy: Some(advice.into()),
            },
        }
    }

    /// A file could not be written.
    #[must_use]
    pub fn unwritable(path: &Path, error: &io::Error) -> Self {
        const REMEDIES: [(ErrorKind, &str); 7] = [
            (ErrorKind::StorageFull, NO_ROOM),
            (ErrorKind::QuotaExceeded, NO_ROOM),
            (ErrorKind::FileTooLarge, NO_ROOM),
            (ErrorKind::IsADirectory, "name a file in it"),
            (
                ErrorKind::NotADirectory,
                "a part of the path is a file: name a folder there",
            ),
            (ErrorKind::PermissionDenied, NOT_ALLOWED),
            (ErrorKind::ReadOnlyFilesystem, NOT_ALLOWED),
        ];
        let remedy = REMEDIES.iter().find(|(kind, _)| *kind == error.kind());
        let remedy = remedy.map_or(
            "check that the folder exists and may be written to",
            |known| known.1,
        );
        Self::because(format!("cannot write {}: {error}", path.display())).remedy(remedy)
    }

    /// The same for a screen that has ASCII only; `written` puts words into its signs.
    #[must_use]
    pub fn in_ascii(&self, written: impl Fn(&str) -> String) -> Self {
        match self {
            Self::Text(rejected) => Self::Text(Box::new(rejected.in_ascii(written))),
            Self::Other { what, remedy } => Self::Other {
                what: written(what),
                remedy: remedy.as_deref().map(written),
            },
        }
    }

    /// With terminal colours; print it through `anstream`, which takes them out where they don't belong.
    #[must_use]
    pub fn styled(&self) -> String {
        match self {
            Self::Text(rejected) => rejected.styled(),
            Self::Other { what, remedy } => {
                rendered_by(&Renderer::styled(), what, remedy.as_deref())
            }
        }
    }
}

fn rendered_by(renderer: &Renderer, what: &str, remedy: Option<&str>) -> String {
    let title = Level::ERROR.primary_title(normalize_untrusted_str(what));
    let mut groups = vec![Group::with_title(title)];
    if let Some(remedy) = remedy {
        let title = Level::HELP.secondary_title(normalize_untrusted_str(remedy));
        groups.push(Group::with_title(title));
    }
    let lines: Vec<String> = groups
        .iter()
        .map(|group| renderer.render(std::slice::from_ref(group)))
        .collect();
    lines.join("\n")
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(rejected) => rejected.fmt(f),
            Self::Other { what, remedy } => {
                f.write_str(&rendered_by(&Renderer::plain(), what, remedy.as_deref()))
            }
        }
    }
}

impl std::error::Error for Failure {}

impl From<Rejected> for Failure {
    fn from(rejected: Rejected) -> Self {
        Self::Text(Box::new(rejected))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failure_says_what_and_what_to_do() {
        let failure = Failure::because("there is no \u{1b}[31mfile").remedy("make one");
        let shown = failure.to_string();
        assert!(shown.starts_with("error: there is no "), "{shown}");
        assert!(shown.ends_with("\nhelp: make one"), "{shown}");
        assert!(!shown.contains('\u{1b}'), "{shown}");
    }
}
