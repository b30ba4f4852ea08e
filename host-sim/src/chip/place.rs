//! Where the board's image and the chip's emulator lie.
//!
//! The program may run on another machine than the one it was built on, so nothing is looked for
//! where it was built: both are looked for below the working folder, below the folders above it,
//! and below those above the program itself.

use std::env;
use std::path::{Path, PathBuf};

/// Where `firmware/build` leaves the image called `name`, below the project's folder.
pub fn image_name(name: &str) -> PathBuf {
    Path::new("target/board").join(format!("{name}.elf"))
}

/// Where the emulator lies below the project's folder.
pub const EMULATOR: &str = "tests/chip";

/// The first place of `what` below a folder in which, or above which, `near`, the person or the
/// program is.
pub fn found(what: &Path, near: Option<&Path>) -> Option<PathBuf> {
    let near = near.and_then(|near| near.canonicalize().ok());
    let starts = [near, env::current_dir().ok(), env::current_exe().ok()];
    let starts: Vec<PathBuf> = starts.into_iter().flatten().collect();
    found_above(what, starts.iter().map(PathBuf::as_path))
}

fn found_above<'s>(what: &Path, starts: impl Iterator<Item = &'s Path>) -> Option<PathBuf> {
    starts
        .flat_map(Path::ancestors)
        .map(|folder| folder.join(what))
        .find(|place| place.exists())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_found_from_a_folder_far_below_the_projects() {
        let project = tempfile::tempdir().expect("a folder");
        let image = project.path().join(image_name("pico"));
        let below = project.path().join("scenarios/cold");
        for folder in [image.parent().expect("a folder"), &below] {
            std::fs::create_dir_all(folder).expect("made");
        }
        let starts = || [below.as_path()].into_iter();
        assert_eq!(found_above(&image_name("pico"), starts()), None);
        std::fs::write(&image, "an image").expect("written");
        assert_eq!(found_above(&image_name("pico"), starts()), Some(image));
    }
}
