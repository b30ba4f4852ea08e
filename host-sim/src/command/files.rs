//! What a command reads and what it writes, held against each other before anything is done.
//!
//! Nothing that is read is written over, no two things are written to one place, and a file
//! that is there already and is none of ours stays, unless a person says otherwise. Files are
//! known by what they are, so links of either kind hide nothing.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::Args;
use file_id::{FileId, get_file_id};

use super::destination::Destination;
use super::own_file::OwnFile;
use super::whole_file::{self, MissingFolders, Place, nearest_there};
use crate::failure::Failure;

/// What becomes of files that are there already.
#[derive(Debug, Clone, Copy, Args)]
pub struct ForceArgument {
    /// Replaces files that are there already, whatever they are; what is read is never written over
    #[arg(long)]
    force: bool,
}

/// What becomes of a file that is there already and is none of ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Foreign {
    /// It stays, and the command is refused.
    Kept,
    /// It is replaced, as the person asked.
    Replaced,
}

impl From<ForceArgument> for Foreign {
    fn from(argument: ForceArgument) -> Self {
        if argument.force {
            Self::Replaced
        } else {
            Self::Kept
        }
    }
}

/// What a command reads and writes.
#[derive(Debug, Default)]
pub struct Files {
    read: Vec<Read>,
    written: Vec<Written>,
    missing: MissingFolders,
}

#[derive(Debug)]
struct Read {
    /// What it is: "the scenario".
    what: &'static str,
    path: PathBuf,
}

#[derive(Debug)]
struct Written {
    /// What a person asked for it with: "--json".
    option: &'static str,
    path: PathBuf,
    kind: OwnFile,
}

/// What a file is, however it is called.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Identity {
    There(FileId),
    /// Not yet there: the nearest folder above it that is, and the way from there.
    ToCome(FileId, OsString),
}

impl Identity {
    /// None for what has no content of its own to lose.
    fn of(path: &Path) -> Option<Self> {
        let Ok(Place::File(path)) = Place::of(path) else {
            return None;
        };
        if let Ok(id) = get_file_id(&path) {
            return Some(Self::There(id));
        }
        let above = nearest_there(&path);
        let way = path.strip_prefix(&above).unwrap_or(&path);
        let id = get_file_id(&above).ok()?;
        Some(Self::ToCome(id, way.as_os_str().to_owned()))
    }
}

impl Files {
    /// Nothing yet; folders that are missing will be made.
    pub fn making_folders() -> Self {
        Self {
            missing: MissingFolders::Made,
            ..Self::default()
        }
    }

    /// Notes that these files are read.
    pub fn read(&mut self, what: &'static str, paths: impl IntoIterator<Item = impl AsRef<Path>>) {
        self.read.extend(paths.into_iter().map(|path| Read {
            what,
            path: path.as_ref().to_owned(),
        }));
    }

    /// Notes that standard input is read, which may be a file.
    pub fn read_standard_input(&mut self) {
        if let Ok(file) = Path::new("/dev/stdin").canonicalize()
            && file.is_file()
        {
            self.read("standard input:", [file]);
        }
    }

    /// Notes that `option` asks for files of this kind there.
    pub fn written<'d>(
        &mut self,
        option: &'static str,
        to: impl IntoIterator<Item = &'d Destination>,
        kind: OwnFile,
    ) {
        self.written
            .extend(to.into_iter().filter_map(|to| match to {
                Destination::StandardOutput => None,
                Destination::File(path) => Some(Written {
                    option,
                    path: path.clone(),
                    kind,
                }),
            }));
    }

    /// Every file that is read.
    pub fn read_paths(&self) -> Vec<PathBuf> {
        self.read.iter().map(|read| read.path.clone()).collect()
    }

    /// Whether all of it can be written without a loss.
    ///
    /// # Errors
    /// With the first that cannot.
    pub fn check(&self, foreign: Foreign) -> Result<(), Failure> {
        let read: Vec<Option<Identity>> = self
            .read
            .iter()
            .map(|one| Identity::of(&one.path))
            .collect();
        let mut before: Vec<(Identity, &Written)> = Vec::new();
        for written in &self.written {
            let Some(identity) = Identity::of(&written.path) else {
                continue;
            };
            if let Some(place) = read
                .iter()
                .position(|read| read.as_ref() == Some(&identity))
            {
                return Err(written.over(&self.read[place]));
            }
            if let Some((_, other)) = before.iter().find(|(known, _)| *known == identity) {
                return Err(written.beside(other));
            }
            before.push((identity, written));
        }
        self.written
            .iter()
            .try_for_each(|written| written.check(foreign, self.missing))
    }
}

impl Written {
    fn over(&self, read: &Read) -> Failure {
        let (option, path) = (self.option, self.path.display());
        let file = read.path.display();
        let what = if self.path == read.path {
            format!("{option} {path} would write over {}", read.what)
        } else {
            format!(
                "{option} {path} would write over {} {file}: it is the same file",
                read.what
            )
        };
        Failure::because(what).remedy("name another file for the result")
    }

    fn beside(&self, other: &Self) -> Failure {
        let what = format!(
            "{} {} and {} {} would be written to one file",
            other.option,
            other.path.display(),
            self.option,
            self.path.display()
        );
        Failure::because(what).remedy("name a file for each")
    }

    fn check(&self, foreign: Foreign, missing: MissingFolders) -> Result<(), Failure> {
        if foreign == Foreign::Kept
            && let Ok(Place::File(path)) = Place::of(&self.path)
            && path.is_file()
        {
            let may_replace = self.kind.may_replace(&path);
            if !may_replace.map_err(|error| Failure::unwritable(&self.path, &error))? {
                return Err(foreign_file(&self.path, self.kind));
            }
        }
        whole_file::can_be_written(&self.path, missing)
    }
}

/// The refusal to replace a file that is none of ours.
pub fn foreign_file(path: &Path, kind: OwnFile) -> Failure {
    Failure::because(format!(
        "{} is there already, and is not {} of this program",
        path.display(),
        kind.words()
    ))
    .remedy("name another file, or replace it with --force")
}
