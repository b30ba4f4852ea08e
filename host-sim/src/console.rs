//! Standard output and standard error, as a command uses them.
//!
//! Results go to standard output; progress and errors go to standard error.
//! Colours are taken out where they don't belong: when the output is not a
//! terminal, or `NO_COLOR` is set. A reader who has seen enough and goes away
//! is no error: what is said from then on is dropped, and the command ends its
//! work and its exit code stays true.

use std::io::{self, Write};

use crate::failure::Failure;

/// Narrower than this nothing can be drawn.
const NARROWEST: u16 = 60;
/// Wider than this lines are hard to read.
const WIDEST: u16 = 120;
/// Width where nobody tells.
const USUAL: u16 = 80;

/// The two outputs of a command.
pub struct Console<'w> {
    out: Box<dyn Write + 'w>,
    err: Box<dyn Write + 'w>,
    width: u16,
    standing: Standing,
}

/// Whether anybody reads standard output.
#[derive(Debug)]
enum Standing {
    Read,
    ReaderGone,
    Broken(io::Error),
}

impl Console<'static> {
    /// That of the process.
    #[must_use]
    pub fn of_process() -> Self {
        let width = terminal_size::terminal_size().map_or(USUAL, |(width, _)| width.0);
        Self::new(anstream::stdout(), anstream::stderr(), width)
    }
}

impl<'w> Console<'w> {
    /// Over any two sinks; lines of results are at most `width` columns long.
    pub fn new(out: impl Write + 'w, err: impl Write + 'w, width: u16) -> Self {
        Self {
            out: Box::new(out),
            err: Box::new(err),
            width: width.clamp(NARROWEST, WIDEST),
            standing: Standing::Read,
        }
    }

    /// Columns that a line of results may fill.
    #[must_use]
    pub const fn width(&self) -> u16 {
        self.width
    }

    /// Writes results as they are.
    pub fn write(&mut self, results: &[u8]) {
        let written = match self.standing {
            Standing::Read => self.out.write_all(results).and_then(|()| self.out.flush()),
            Standing::ReaderGone | Standing::Broken(_) => return,
        };
        match written {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => {
                self.standing = Standing::ReaderGone;
            }
            Err(error) => self.standing = Standing::Broken(error),
        }
    }

    /// Writes a line of results, or several.
    pub fn say(&mut self, results: &str) {
        self.write(results.trim_end_matches('\n').as_bytes());
        self.write(b"\n");
    }

    /// Tells of progress, of where a file lies, and the like.
    ///
    /// Nobody can be told that this cannot be told, so that is let pass.
    pub fn note(&mut self, note: &str) {
        let _ = writeln!(self.err, "{note}");
    }

    /// Tells what is wrong.
    pub fn complain(&mut self, failure: &Failure) {
        self.note(&failure.styled());
    }

    /// How the talk has gone so far.
    ///
    /// # Errors
    /// When results could not be written though somebody waits for them.
    pub fn standing(&self) -> Result<(), Failure> {
        match &self.standing {
            Standing::Read | Standing::ReaderGone => Ok(()),
            Standing::Broken(error) => Err(Failure::because(format!(
                "cannot write to standard output: {error}"
            ))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Refuses(io::ErrorKind);

    impl Write for Refuses {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_who_goes_away_is_no_error_and_a_full_disk_is() {
        let ends = |kind| {
            let mut console = Console::new(Refuses(kind), io::sink(), 80);
            console.say("a result");
            console.say("another");
            console.standing()
        };
        assert_eq!(ends(io::ErrorKind::BrokenPipe), Ok(()));
        let broken = ends(io::ErrorKind::StorageFull).expect_err("a failure");
        assert!(
            broken
                .to_string()
                .contains("cannot write to standard output")
        );
    }

    #[test]
    fn results_and_notes_go_separate_ways() {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut console = Console::new(&mut out, &mut err, 1_000);
        assert_eq!(console.width(), WIDEST);
        console.say("result\n");
        console.note("note");
        drop(console);
        assert_eq!(
            (out.as_slice(), err.as_slice()),
            (&b"result\n"[..], &b"note\n"[..])
        );
    }
}
