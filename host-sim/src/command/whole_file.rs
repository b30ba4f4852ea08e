//! Files written whole or not at all: beside their place first, synced, then renamed into it.
//!
//! What was there before stays until the new file is complete, and so after a full disk or a
//! killed process as well; who may read and write it stays as it was. A link keeps leading to the
//! file that is replaced; of several hard links only the one that was named leads to the new file.
//! A device or a pipe has nothing to lose and takes what it is given as it comes.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use atomic_write_file::AtomicWriteFile;

use crate::failure::Failure;

/// Where content ends up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// A device, a pipe, or an open file of the process.
    Stream(PathBuf),
    /// A regular file, there already or not, at the end of all links.
    File(PathBuf),
}

/// No file system follows more links than this.
const MOST_LINKS: usize = 40;

impl Place {
    /// What a path leads to.
    ///
    /// # Errors
    /// When it is a folder, or links lead round in a circle.
    pub fn of(path: &Path) -> io::Result<Self> {
        match fs::metadata(path) {
            Ok(there) if there.is_dir() => return Err(ErrorKind::IsADirectory.into()),
            Ok(there) if !there.is_file() => return Ok(Self::Stream(path.to_owned())),
            Ok(_) | Err(_) => {}
        }
        let mut end = path.to_owned();
        for _ in 0..MOST_LINKS {
            if ["/dev/fd", "/proc"]
                .iter()
                .any(|open| end.starts_with(open))
            {
                return Ok(Self::Stream(path.to_owned()));
            }
            match fs::read_link(&end) {
                Ok(target) => end = end.parent().unwrap_or(Path::new("")).join(target),
                Err(_) => return Ok(Self::File(end)),
            }
        }
        Err(io::Error::other("its links lead round in a circle"))
    }
}

/// What becomes of folders that a path names and that are not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MissingFolders {
    /// Nothing is written: the name is taken for a slip.
    #[default]
    Refused,
    /// They are made.
    Made,
}

/// Writes a file anew.
///
/// # Errors
/// When it cannot be written; a file that was there is then as it was.
pub fn write(path: &Path, content: &[u8], missing: MissingFolders) -> Result<(), Failure> {
    let written = Place::of(path).and_then(|place| match place {
        Place::Stream(path) => File::options()
            .write(true)
            .truncate(true)
            .open(path)
            .and_then(|mut stream| stream.write_all(content)),
        Place::File(path) => {
            if missing == MissingFolders::Made {
                fs::create_dir_all(path.parent().unwrap_or(Path::new("")))?;
            }
            let mut beside = AtomicWriteFile::open(&path)?;
            beside.write_all(content)?;
            beside.commit()
        }
    });
    written.map_err(|error| Failure::unwritable(path, &error))
}

/// Finds out, without leaving anything behind, whether a file can be written.
///
/// # Errors
/// When it cannot.
pub fn can_be_written(path: &Path, missing: MissingFolders) -> Result<(), Failure> {
    let tried = Place::of(path).and_then(|place| match place {
        // Opening a pipe would wait for its reader.
        Place::Stream(_) => Ok(()),
        Place::File(path) if path.exists() => {
            File::options().write(true).open(&path)?;
            AtomicWriteFile::open(&path)?.discard()
        }
        Place::File(path) => match missing {
            MissingFolders::Refused => AtomicWriteFile::open(&path)?.discard(),
            MissingFolders::Made => {
                let folder = nearest_there(&path);
                AtomicWriteFile::open(folder.join(".hysteron"))?.discard()
            }
        },
    });
    tried.map_err(|error| Failure::unwritable(path, &error))
}

/// The nearest thing above a path that is there, in which the folders still to come would be made.
pub fn nearest_there(path: &Path) -> PathBuf {
    let mut above = path.ancestors().skip(1);
    match above.find(|folder| folder.as_os_str().is_empty() || folder.exists()) {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        Some(_) | None => PathBuf::from("."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> tempfile::TempDir {
        let prefix = format!("hysteron-{name}-");
        tempfile::Builder::new()
            .prefix(&prefix)
            .tempdir()
            .expect("a folder")
    }

    #[test]
    fn nothing_is_left_beside_a_file() {
        let folder = folder("beside");
        let path = folder.path().join("deep/er/file.csv");
        can_be_written(&path, MissingFolders::Refused).expect_err("no such folder");
        can_be_written(&path, MissingFolders::Made).expect("it can");
        assert_eq!(fs::read_dir(folder.path()).expect("there").count(), 0);
        write(&path, b"none", MissingFolders::Refused).expect_err("no such folder");
        write(&path, b"one", MissingFolders::Made).expect("it is new");
        can_be_written(&path, MissingFolders::Refused).expect("again");
        write(&path, b"two", MissingFolders::Refused).expect("it is old");
        assert_eq!(fs::read(&path).expect("there"), b"two");
        let beside = path.parent().expect("a folder");
        assert_eq!(fs::read_dir(beside).expect("there").count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_and_what_it_leads_to_keeps_who_may_read_it() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = folder("link");
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        let (far, circle) = (folder.path().join("far"), folder.path().join("circle"));
        fs::write(&file, "old").expect("written");
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).expect("set");
        symlink("file", &link).expect("a link");
        symlink("new", &far).expect("a link to nothing yet");
        symlink("circle", &circle).expect("a link to itself");
        write(&link, b"new", MissingFolders::Refused).expect("through the link");
        assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
        assert_eq!(fs::read(&file).expect("there"), b"new");
        let mode = fs::metadata(&file).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
        write(&far, b"far", MissingFolders::Refused).expect("through the other link");
        assert_eq!(fs::read(folder.path().join("new")).expect("there"), b"far");
        let said = write(&circle, b"", MissingFolders::Refused)
            .expect_err("no end")
            .to_string();
        assert!(said.contains("round in a circle"), "{said}");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_takes_it_straight() {
        assert_eq!(
            write(Path::new("/dev/null"), b"gone", MissingFolders::Refused),
            Ok(())
        );
        assert!(Path::new("/dev/null").exists());
        let said = write(Path::new("/dev/full"), b"no", MissingFolders::Refused)
            .expect_err("full")
            .to_string();
        assert!(said.contains("No space left"), "{said}");
        assert!(said.contains("make room"), "{said}");
    }

    #[test]
    fn a_folder_is_no_file() {
        let folder = folder("folder");
        let said = can_be_written(folder.path(), MissingFolders::Made)
            .expect_err("a folder")
            .to_string();
        assert!(said.contains("name a file in it"), "{said}");
    }
}
