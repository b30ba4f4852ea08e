//! An emulated chip that runs the board's own image, driven in lockstep.
//!
//! A node process holds the chip (see `tests/chip/serve.mjs`, which also
//! describes the protocol); this is the other end of its line.

mod answer;
pub mod board;
mod place;

use std::error::Error;
use std::fmt;
use std::io::{self, BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use hysteron_firmware::store::{self, SLOTS};
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::settings::Settings;

use self::answer::read_answer;
pub use self::answer::{ChipEvent, from_hexadecimal, hexadecimal};

/// The lock's input; high locks.
pub const LOCK_PIN: u8 = 13;
/// The reset button's input; low while it is held.
pub const BUTTON_PIN: u8 = 12;

/// What the relay's contact does, as the feedback input shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContactIs {
    /// It follows its coil.
    Sound,
    /// Its load side stays live.
    Welded,
    /// Its load side stays dead.
    Burnt,
}

/// Why the chip cannot be used.
#[derive(Debug)]
pub enum ChipError {
    /// There is no image to run.
    NoImage(PathBuf),
    /// The emulator's packages are not installed.
    NoEmulator(PathBuf),
    /// Neither the emulator nor the project that holds it is anywhere near.
    NowhereNear,
    /// Node cannot be started.
    NoNode(io::Error),
    /// The process ended or its line broke.
    Gone(io::Error),
    /// The run asked something of the chip that it cannot do.
    Cannot(String),
    /// The chip refused a request, or did what it must not.
    Refused {
        /// What was asked.
        request: String,
        /// Why it was refused.
        reason: String,
    },
}

impl fmt::Display for ChipError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoImage(path) => write!(
                f,
                "there is no image at {}; build it with `firmware/build` and run this in the \
                 project's folder, or name one: --image FILE",
                path.display()
            ),
            Self::NowhereNear => write!(
                f,
                "there is no emulator of the chip ({}) in the working folder or above it, and none \
                 beside the image or the program; run this in the project's folder",
                place::EMULATOR
            ),
            Self::NoEmulator(folder) => write!(
                f,
                "the chip's emulator is not installed; run `npm ci` in {}",
                folder.display()
            ),
            Self::NoNode(error) => write!(
                f,
                "node cannot be started ({error}); install Node.js 18 or later (Debian: `apt-get install nodejs npm`)"
            ),
            Self::Gone(error) => write!(
                f,
                "the emulated chip is gone ({error}); node's own words, if any, stand above: \
                 see that it is version 18 or later, and run `tests/chip/ci`"
            ),
            Self::Cannot(what) => write!(
                f,
                "the emulated chip cannot {what}; run this without `--on chip`"
            ),
            Self::Refused { request, reason } => write!(
                f,
                "the emulated chip, asked to `{request}`: {reason}; build the image anew with \
                 `firmware/build`, and run `tests/chip/ci`"
            ),
        }
    }
}

impl Error for ChipError {}

/// An emulated chip with its memory chip beside it. Without power at first.
#[derive(Debug)]
pub struct Chip {
    process: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    line: String,
    now_us: f64,
}

impl Chip {
    /// Where `firmware/build` left the image called `name`: below the working folder, a folder
    /// above it, or one above this program. Where there is none, where it was looked for first.
    #[must_use]
    pub fn image(name: &str) -> PathBuf {
        let name = place::image_name(name);
        place::found(&name, None).unwrap_or(name)
    }

    /// Starts an emulated chip with `image` in its flash.
    ///
    /// # Errors
    /// What has to be installed or built first.
    pub fn start(image: &Path) -> Result<Self, ChipError> {
        if !image.is_file() {
            return Err(ChipError::NoImage(image.to_owned()));
        }
        let emulator = place::found(Path::new(place::EMULATOR), Some(image));
        Self::served_by("node", emulator.ok_or(ChipError::NowhereNear)?, image)
    }

    /// Starts `node`, which runs the emulator in `folder`.
    fn served_by(node: &str, folder: PathBuf, image: &Path) -> Result<Self, ChipError> {
        if !image.is_file() {
            return Err(ChipError::NoImage(image.to_owned()));
        }
        if !folder.join("node_modules/rp2040js").is_dir() {
            return Err(ChipError::NoEmulator(folder));
        }
        let mut process = Command::new(node)
            .arg(folder.join("serve.mjs"))
            .arg(image)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(ChipError::NoNode)?;
        let (Some(to), Some(from)) = (process.stdin.take(), process.stdout.take()) else {
            return Err(ChipError::Gone(io::ErrorKind::BrokenPipe.into()));
        };
        let mut chip = Self {
            process,
            to,
            from: BufReader::new(from),
            line: String::new(),
            now_us: 0.0,
        };
        // Inputs idle high by the board's resistors.
        for pin in [BUTTON_PIN, LOCK_PIN] {
            chip.drive(pin, true)?;
        }
        Ok(chip)
    }

    /// Microseconds since the chip was started, with and without power.
    #[must_use]
    pub const fn now_us(&self) -> f64 {
        self.now_us
    }

    /// Asks one request of the protocol and returns the answer.
    ///
    /// # Errors
    /// [`ChipError::Gone`] or [`ChipError::Refused`].
    pub fn ask(&mut self, request: &str) -> Result<&str, ChipError> {
        writeln!(self.to, "{request}").map_err(ChipError::Gone)?;
        self.line.clear();
        let read = self
            .from
            .read_line(&mut self.line)
            .map_err(ChipError::Gone)?;
        if read == 0 {
            return Err(ChipError::Gone(io::ErrorKind::UnexpectedEof.into()));
        }
        let answer = self.line.trim_end();
        match answer.strip_prefix("error: ") {
            None => Ok(answer),
            Some(reason) => Err(ChipError::Refused {
                request: request.to_owned(),
                reason: reason.to_owned(),
            }),
        }
    }

    /// Runs on for `micros`, with sixteen conversions adding up to `sum`.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn run(&mut self, micros: u64, sum: u16) -> Result<Vec<ChipEvent>, ChipError> {
        let request = format!("run {micros} {sum}");
        let answer = self.ask(&request)?;
        let (now, happenings) = read_answer(answer).ok_or_else(|| ChipError::Refused {
            reason: format!("answered `{answer}`"),
            request,
        })?;
        self.now_us = now;
        Ok(happenings)
    }

    /// Gives or takes power.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn power(&mut self, on: bool) -> Result<(), ChipError> {
        self.ask(if on { "power 1" } else { "power 0" }).map(drop)
    }

    /// Drives an input pin.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn drive(&mut self, pin: u8, high: bool) -> Result<(), ChipError> {
        let level = u8::from(high);
        self.ask(&format!("in {pin} {level}")).map(drop)
    }

    /// Makes the relay's contact sound or not, from now on.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn contact(&mut self, contact: ContactIs) -> Result<(), ChipError> {
        let word = match contact {
            ContactIs::Sound => "sound",
            ContactIs::Welded => "welded",
            ContactIs::Burnt => "burnt",
        };
        self.ask(&format!("contact {word}")).map(drop)
    }

    /// Sends a line to the chip's service line.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn say(&mut self, text: &str) -> Result<(), ChipError> {
        self.ask(&format!("send {}0a", hexadecimal(text.as_bytes())))
            .map(drop)
    }

    /// Puts `settings` into the memory chip as if they had been saved, and
    /// forgets everything else it held.
    ///
    /// # Errors
    /// As [`Chip::ask`].
    pub fn store_settings(&mut self, settings: &Settings) -> Result<(), ChipError> {
        self.ask(&format!("load 0 {}", "ff".repeat(32_768)))?;
        let record = store::record(1, &settings_to_bytes(settings));
        self.ask(&format!("load {} {}", SLOTS[0], hexadecimal(&record)))
            .map(drop)
    }
}

impl Drop for Chip {
    fn drop(&mut self) {
        // The process may have ended by itself.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder like the emulator's, with a program in place of node that does `script`.
    #[cfg(unix)]
    pub(super) fn served(name: &str, script: &str) -> Result<Chip, ChipError> {
        use std::os::unix::fs::PermissionsExt;
        let name = format!("hysteron-{name}-{}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        let packages = folder.join("node_modules/rp2040js");
        let (node, image) = (folder.join("node"), folder.join("image.elf"));
        std::fs::create_dir_all(packages).expect("a folder");
        std::fs::write(&image, "").expect("an image");
        std::fs::write(&node, format!("#!/bin/sh\n{script}\n")).expect("a program");
        let may_run = std::fs::Permissions::from_mode(0o755);
        std::fs::set_permissions(&node, may_run).expect("it may run");
        let chip = Chip::served_by(&node.display().to_string(), folder.clone(), &image);
        std::fs::remove_dir_all(folder).expect("it goes");
        chip
    }

    #[test]
    fn what_is_missing_is_said() {
        let error = Chip::start(Path::new("nowhere.elf")).unwrap_err();
        assert_eq!(
            error.to_string(),
            "there is no image at nowhere.elf; build it with `firmware/build` and run this in the \
             project's folder, or name one: --image FILE"
        );
        let any_file = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
        let error = Chip::served_by("node", "nowhere".into(), &any_file).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the chip's emulator is not installed; run `npm ci` in nowhere"
        );
    }

    #[test]
    fn without_node_it_is_said_what_to_install() {
        let folder = std::env::temp_dir().join(format!("hysteron-no-node-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("node_modules/rp2040js")).expect("a folder");
        let any_file = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
        let error = Chip::served_by("no-such-node", folder.clone(), &any_file).unwrap_err();
        std::fs::remove_dir_all(folder).expect("it goes");
        let said = error.to_string();
        assert!(
            said.starts_with("node cannot be started (No such file"),
            "{said}"
        );
        assert!(said.contains("install Node.js 18 or later"), "{said}");
    }

    #[cfg(unix)]
    #[test]
    fn a_process_that_ends_is_gone() {
        let said = served("ends", "exit 1").unwrap_err().to_string();
        assert!(said.starts_with("the emulated chip is gone ("), "{said}");
        assert!(said.contains("run `tests/chip/ci`"), "{said}");
    }

    #[cfg(unix)]
    #[test]
    fn a_request_that_is_refused_is_told_with_its_reason() {
        let script = "while read -r request; do echo \"error: no such pin\"; done";
        let said = served("refuses", script).unwrap_err().to_string();
        assert_eq!(
            said,
            "the emulated chip, asked to `in 12 1`: no such pin; build the image anew with \
             `firmware/build`, and run `tests/chip/ci`"
        );
    }

    #[cfg(unix)]
    #[test]
    fn an_answer_that_is_none_is_told() {
        let script = "while read -r request; do echo nonsense; done";
        let mut chip = served("babbles", script).expect("it drives its pins");
        let said = chip.run(1_000, 30_000).unwrap_err().to_string();
        assert!(
            said.starts_with("the emulated chip, asked to `run 1000 30000`: answered `nonsense`;"),
            "{said}"
        );
    }
}
