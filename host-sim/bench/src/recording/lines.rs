//! The lines of a recording that say something, whatever letters it is written in.
//!
//! UTF-16 is known by its byte order mark, or by the zeros between its letters. Everything
//! else is read line by line as UTF-8, and what is none as Windows-1252, of which Latin-1 is
//! a part.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Chain, Cursor, Read};

use encoding_rs::{Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};
use encoding_rs_io::{DecodeReaderBytes, DecodeReaderBytesBuilder};

use hysteron_source::cells::Separator;
use hysteron_source::text::{Problem, Rejected, SourceText};

/// A line longer than this holds no reading.
const LONGEST_LINE: u64 = 1 << 16;
/// No more than this is kept of lines that were looked at ahead.
const MOST_KEPT_BYTES: usize = 64 << 20;
/// As much of the beginning tells how letters are written.
const BEGINNING: u64 = 512;

/// A line and its number, from 1.
#[derive(Debug, Clone)]
pub struct NumberedLine {
    pub number: usize,
    pub text: String,
}

/// What a look ahead found.
#[derive(Debug)]
pub enum Ahead<'l> {
    Line(&'l NumberedLine),
    /// There are no more lines, or the next cannot be read.
    End,
    /// So much was looked at that no more can be kept.
    Full,
}

type Decoded<R> = BufReader<DecodeReaderBytes<Chain<Cursor<Vec<u8>>, R>, Vec<u8>>>;

/// A recording as lines.
pub struct Lines<R> {
    name: String,
    bytes: Decoded<R>,
    read: usize,
    ahead: VecDeque<NumberedLine>,
    kept_bytes: usize,
    /// What ended a look ahead, for when its turn comes.
    stopped: Option<Rejected>,
    not_utf8: bool,
}

impl<R: Read> Lines<R> {
    /// Begins to read; messages call the recording `name`.
    pub fn open(name: String, mut bytes: R) -> Result<Self, Rejected> {
        let mut beginning = Vec::new();
        if let Err(error) = bytes.by_ref().take(BEGINNING).read_to_end(&mut beginning) {
            return Err(SourceText::unreadable(name, &error));
        }
        let decoded = DecodeReaderBytesBuilder::new()
            .encoding(unmarked_utf16(&beginning))
            .utf8_passthru(true)
            .strip_bom(true)
            .build(Cursor::new(beginning).chain(bytes));
        Ok(Self {
            name,
            bytes: BufReader::new(decoded),
            read: 0,
            ahead: VecDeque::new(),
            kept_bytes: 0,
            stopped: None,
            not_utf8: false,
        })
    }

    /// The next line that says something, without its end.
    pub fn next(&mut self) -> Result<Option<NumberedLine>, Rejected> {
        if let Some(line) = self.ahead.pop_front() {
            self.kept_bytes -= line.text.len();
            return Ok(Some(line));
        }
        match self.stopped.take() {
            Some(rejected) => Err(rejected),
            None => self.read_on(),
        }
    }

    /// The line that [`Self::next`] gives after `place` others.
    pub fn look(&mut self, place: usize) -> Ahead<'_> {
        while self.ahead.len() <= place {
            if self.stopped.is_some() {
                return Ahead::End;
            }
            if self.kept_bytes > MOST_KEPT_BYTES {
                return Ahead::Full;
            }
            match self.read_on() {
                Ok(Some(line)) => {
                    self.kept_bytes += line.text.len();
                    self.ahead.push_back(line);
                }
                Ok(None) => return Ahead::End,
                Err(rejected) => self.stopped = Some(rejected),
            }
        }
        self.ahead.get(place).map_or(Ahead::End, Ahead::Line)
    }

    /// A line that was looked at ahead.
    pub fn kept(&self, place: usize) -> Option<&NumberedLine> {
        self.ahead.get(place)
    }

    /// Whether a line so far was not UTF-8.
    pub const fn not_utf8(&self) -> bool {
        self.not_utf8
    }

    /// The recording, for what is wrong with a line.
    pub fn rejected(&self, line: &NumberedLine, problem: Problem) -> Rejected {
        SourceText::excerpt(&*self.name, line.number, &*line.text).rejected(vec![problem])
    }

    /// The recording, for having nothing in it.
    pub fn empty(&self) -> Rejected {
        let problem = Problem::in_general("there is no reading in the recording")
            .remedy("give lines of time and temperature, or of time and resistance");
        SourceText::excerpt(&*self.name, 1, "").rejected(vec![problem])
    }

    fn read_on(&mut self) -> Result<Option<NumberedLine>, Rejected> {
        loop {
            let mut bytes = Vec::new();
            let mut limited = self.bytes.by_ref().take(LONGEST_LINE);
            if let Err(error) = limited.read_until(b'\n', &mut bytes) {
                return Err(SourceText::unreadable(self.name.clone(), &error));
            }
            if bytes.is_empty() {
                return Ok(None);
            }
            self.read += 1;
            if bytes.len() as u64 == LONGEST_LINE {
                return Err(self.unshown(
                    Problem::at(
                        0..0,
                        format!("the line is longer than {} KiB", LONGEST_LINE >> 10),
                    )
                    .remedy("write a time and a value in each line, and end it with a line feed"),
                ));
            }
            if bytes.contains(&0) {
                return Err(self
                    .unshown(Problem::at(0..0, "the recording is not text").remedy(
                        "export it from its program as text: comma-separated values (CSV)",
                    )));
            }
            let text = String::from_utf8(bytes).unwrap_or_else(|error| {
                self.not_utf8 = true;
                let (text, _) = WINDOWS_1252.decode_without_bom_handling(error.as_bytes());
                text.into_owned()
            });
            let text = text.trim_end_matches(['\n', '\r']);
            if !(text.trim().is_empty() || is_remark(text)) {
                return Ok(Some(NumberedLine {
                    number: self.read,
                    text: text.to_owned(),
                }));
            }
        }
    }

    /// The line just read, for something wrong with it that cannot be shown.
    fn unshown(&self, problem: Problem) -> Rejected {
        SourceText::excerpt(&*self.name, self.read, "").rejected(vec![problem])
    }
}

/// A `#` begins a remark, unless it is a heading of its own.
fn is_remark(text: &str) -> bool {
    let behind = text.strip_prefix('#');
    behind.is_some_and(|behind| {
        let mut separators = Separator::ALL.into_iter();
        !separators.any(|separator| behind.starts_with(separator.character()))
    })
}

/// UTF-16 without a byte order mark: nearly all letters of a table are below 256, so nearly
/// every other byte is zero.
fn unmarked_utf16(beginning: &[u8]) -> Option<&'static Encoding> {
    let zeros = |from: usize| {
        let every_other = beginning.iter().skip(from).step_by(2);
        every_other.filter(|byte| **byte == 0).count()
    };
    let nearly_all = 3 * beginning.len() / 8;
    match (zeros(0), zeros(1)) {
        (0, zeros) if zeros > nearly_all => Some(UTF_16LE),
        (zeros, 0) if zeros > nearly_all => Some(UTF_16BE),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(bytes: &[u8]) -> Result<Vec<(usize, String)>, Rejected> {
        let mut lines = Lines::open("a.csv".to_owned(), bytes)?;
        let mut texts = Vec::new();
        while let Some(line) = lines.next()? {
            texts.push((line.number, line.text));
        }
        Ok(texts)
    }

    #[test]
    fn the_same_text_in_all_letters() {
        const TEXT: &str = "time;°C\r\n\r\n# remark\n#;no;remark\n0;3,5";
        let wanted = [(1, "time;°C"), (4, "#;no;remark"), (5, "0;3,5")];
        let little: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let latin: Vec<u8> = TEXT.chars().map(|c| c as u8).collect();
        for bytes in [
            TEXT.as_bytes(),
            &["\u{feff}".as_bytes(), TEXT.as_bytes()].concat(),
            &latin,
            &little,
            &[&[0xff, 0xfe], &*little].concat(),
            &big,
            &[&[0xfe, 0xff], &*big].concat(),
        ] {
            let texts = texts(bytes).expect("text");
            let texts: Vec<(usize, &str)> = texts.iter().map(|(n, text)| (*n, &**text)).collect();
            assert_eq!(texts, wanted, "{bytes:?}");
        }
    }

    #[test]
    fn what_is_no_text_is_told_so() {
        let shown = texts(b"PK\x03\x04\x14\x00\x06\x00 \x00\n").expect_err("no text");
        let shown = shown.to_string();
        assert!(shown.contains("the recording is not text"), "{shown}");
        assert!(shown.contains("a.csv:1:1"), "{shown}");
    }

    #[test]
    fn a_look_ahead_takes_nothing_away() {
        let mut lines = Lines::open("a.csv".to_owned(), &b"a\nb\n\0\nc"[..]).expect("text");
        assert!(matches!(lines.look(1), Ahead::Line(line) if line.text == "b"));
        assert!(matches!(lines.look(2), Ahead::End));
        assert!(matches!(lines.next(), Ok(Some(line)) if line.text == "a"));
        assert!(matches!(lines.next(), Ok(Some(line)) if line.text == "b"));
        assert!(lines.next().is_err());
    }
}
