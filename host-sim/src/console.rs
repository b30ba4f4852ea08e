//! Standard output and standard error, as a command uses them.
//!
//! Results go to standard output; progress and errors go to standard error.
//! Colours are taken out where they don't belong: when the output is not a
//! terminal, or `NO_COLOR` is set. A reader who has seen enough and goes away
//! is no error: what is said from then on is dropped, and the command ends its
//! work and its exit code stays true.

use std::io::{self, Write};

use terminal_size::terminal_size;

use crate::failure::Failure;
use crate::terminal::{Charset, Screen};

/// Columns where nobody tells.
const USUAL_WIDTH: usize = 80;

/// The two outputs of a command.
pub struct Console<'w> {
    out: Box<dyn Write + 'w>,
    err: Box<dyn Write + 'w>,
    screen: Screen,
    standing: Standing,
}

/// What standard output belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StandardOutput {
    /// The answer to a person.
    Answer,
    /// Something that a person wanted written there.
    Export,
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
        let width = terminal_size().map_or(USUAL_WIDTH, |(width, _)| width.0.into());
        let charset = Charset::of_locale(|name| std::env::var(name).ok());
        Self::new(
            anstream::stdout(),
            anstream::stderr(),
            Screen::new(width, charset),
        )
    }
}

impl<'w> Console<'w> {
    /// Over any two sinks; results are drawn for `screen`.
    pub fn new(out: impl Write + 'w, err: impl Write + 'w, screen: Screen) -> Self {
        Self {
            out: Box::new(out),
            err: Box::new(err),
            screen,
            standing: Standing::Read,
        }
    }

    /// What results are drawn for.
    #[must_use]
    pub const fn screen(&self) -> Screen {
        self.screen
    }

    /// Writes results as they are, such as a file that a person wants there.
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

    /// Writes a line of results, or several, in signs that the screen has.
    pub fn say(&mut self, results: &str) {
        let results = self.screen.written(results.trim_end_matches('\n'));
        self.write(results.as_bytes());
        self.write(b"\n");
    }

    /// Tells the answer, beside the results where an export is the result.
    pub fn answer(&mut self, answer: &str, stdout: StandardOutput) {
        match stdout {
            StandardOutput::Answer => self.say(answer),
            StandardOutput::Export => self.note(answer.trim_end()),
        }
    }

    /// Tells of progress, of where a file lies, and the like.
    ///
    /// Nobody can be told that this cannot be told, so that is let pass.
    pub fn note(&mut self, note: &str) {
        let _ = writeln!(self.err, "{}", self.screen.written(note));
    }

    /// Tells what is wrong.
    pub fn complain(&mut self, failure: &Failure) {
        match self.screen.charset() {
            Charset::Unicode => self.note(&failure.styled()),
            Charset::Ascii => {
                let screen = self.screen;
                self.note(&failure.in_ascii(|words| screen.written(words)).styled());
            }
        }
    }

    /// How the talk has gone so far.
    ///
    /// # Errors
    /// When results could not be written though somebody waits for them.
    pub fn standing(&self) -> Result<(), Failure> {
        match &self.standing {
            Standing::Read | Standing::ReaderGone => Ok(()),
            Standing::Broken(error) => {
                let what = format!("cannot write to standard output: {error}");
                Err(Failure::because(what)
                    .remedy("check where it is led to, and that there is room"))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn screen() -> Screen {
        Screen::new(80, Charset::Ascii)
    }

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
            let mut console = Console::new(Refuses(kind), io::sink(), screen());
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
        let mut console = Console::new(&mut out, &mut err, screen());
        console.say("result\n");
        console.note("note");
        drop(console);
        assert_eq!(
            (out.as_slice(), err.as_slice()),
            (&b"result\n"[..], &b"note\n"[..])
        );
    }
}
