//! The service line: lines of text for a person or a machine, both ways.
//!
//! Out, whenever something changes; the first word is milliseconds since power-up:
//!
//! ```text
//! 100 started after power; settings whole; memory sound
//! 300100 relay closed: calling
//! 300100 event 1 relay closed
//! 300200 refused: settings locked
//! ```
//!
//! In, one command a line: `release lockout`, `switch on`, `switch off`,
//! `tell settings`, and `change ` followed by the settings' bytes in
//! hexadecimal, as the codec lays them out. Every command but `tell settings`
//! is refused while the settings lock is on.

use core::fmt::{self, Write};

use heapless::{Deque, Vec};
use hysteron_logic::codec::{SETTINGS_LEN, Unreadable, settings_from_bytes, settings_to_bytes};
use hysteron_logic::control::{Command, CommandRefused};
use hysteron_logic::settings::Settings;

use crate::ports::ServiceLine;

/// The longest line that is understood.
pub const LONGEST_LINE: usize = 8 + 2 * SETTINGS_LEN;

/// Bytes that wait for the line to take them.
const WAITING: usize = 512;

/// What a line asked for.
#[expect(
    clippy::large_enum_variant,
    reason = "there is no heap to put the settings on"
)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Request {
    /// A command for the control.
    Command(Command),
    /// The settings in force.
    TellSettings,
    /// Nothing that is understood.
    NotUnderstood(NotUnderstood),
}

/// What is wrong with a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotUnderstood {
    /// Longer than any command.
    TooLong,
    /// Not one of the commands.
    NoSuchCommand,
    /// Not an even number of hexadecimal digits.
    NotHexadecimal,
    /// The bytes are no settings.
    NoSettings(Unreadable),
}

impl NotUnderstood {
    /// What is wrong, in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::TooLong => "the line is too long",
            Self::NoSuchCommand => "no such command",
            Self::NotHexadecimal => "the settings are not in hexadecimal",
            Self::NoSettings(Unreadable::Refused(refused)) => refused.reason.sentence(),
            Self::NoSettings(
                Unreadable::Length
                | Unreadable::Kind
                | Unreadable::Checksum
                | Unreadable::Choice
                | Unreadable::Coefficients,
            ) => "the settings are damaged",
        }
    }
}

/// Why a command was refused, in words.
#[must_use]
pub const fn refusal_text(refused: CommandRefused) -> &'static str {
    match refused {
        CommandRefused::SettingsLocked => "settings locked",
        CommandRefused::NotLockedOut => "there is no lockout",
        CommandRefused::CauseStands(_) => "the cause of the lockout still stands",
    }
}

/// Reads requests from a line and queues what is to be sent.
pub struct Service<L> {
    line: L,
    heard: Vec<u8, LONGEST_LINE>,
    overlong: bool,
    waiting: Deque<u8, WAITING>,
}

impl<L: ServiceLine> Service<L> {
    /// A service on `line`, with nothing heard and nothing to say.
    pub const fn new(line: L) -> Self {
        Self {
            line,
            heard: Vec::new(),
            overlong: false,
            waiting: Deque::new(),
        }
    }

    /// The next request, once its line is complete. Takes at most one line's
    /// bytes a pass.
    pub fn hear(&mut self) -> Option<Request> {
        for _ in 0..=LONGEST_LINE {
            let byte = self.line.receive()?;
            if byte == b'\n' || byte == b'\r' {
                let request = if core::mem::take(&mut self.overlong) {
                    Request::NotUnderstood(NotUnderstood::TooLong)
                } else if self.heard.is_empty() {
                    continue;
                } else {
                    understood(&self.heard)
                };
                self.heard.clear();
                return Some(request);
            }
            self.overlong |= self.heard.push(byte).is_err();
        }
        None
    }

    /// Queues a line. A line that finds no room is dropped whole.
    pub fn say(&mut self, line: fmt::Arguments<'_>) {
        let before = self.waiting.len();
        let mut queue = Queue(&mut self.waiting);
        if queue.write_fmt(line).is_err() || queue.write_char('\n').is_err() {
            while self.waiting.len() > before {
                self.waiting.pop_back();
            }
        }
    }

    /// Queues the settings in hexadecimal.
    pub fn say_settings(&mut self, settings: &Settings) {
        self.say(format_args!(
            "settings {}",
            Hexadecimal(&settings_to_bytes(settings))
        ));
    }

    /// Hands as many waiting bytes to the line as it takes.
    pub fn send(&mut self) {
        while let Some(&byte) = self.waiting.front() {
            if self.line.send(byte).is_err() {
                return;
            }
            self.waiting.pop_front();
        }
    }
}

struct Queue<'a>(&'a mut Deque<u8, WAITING>);

impl Write for Queue<'_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        text.bytes()
            .try_for_each(|byte| self.0.push_back(byte))
            .map_err(|_| fmt::Error)
    }
}

struct Hexadecimal<'a>(&'a [u8]);

impl fmt::Display for Hexadecimal<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| {
            [byte >> 4, byte & 15].iter().try_for_each(|digit| {
                f.write_char(char::from(b"0123456789abcdef"[usize::from(*digit)]))
            })
        })
    }
}

fn understood(line: &[u8]) -> Request {
    match line {
        b"release lockout" => Request::Command(Command::ReleaseLockout),
        b"switch on" => Request::Command(Command::SwitchOn),
        b"switch off" => Request::Command(Command::SwitchOff),
        b"tell settings" => Request::TellSettings,
        _ => match line.strip_prefix(b"change ") {
            Some(digits) => change(digits),
            None => Request::NotUnderstood(NotUnderstood::NoSuchCommand),
        },
    }
}

fn change(digits: &[u8]) -> Request {
    let (pairs, odd) = digits.as_chunks::<2>();
    let mut bytes = Vec::<u8, SETTINGS_LEN>::new();
    for [high, low] in pairs {
        let byte = digit(*high)
            .zip(digit(*low))
            .map(|(high, low)| high << 4 | low);
        let Some(byte) = byte else {
            return Request::NotUnderstood(NotUnderstood::NotHexadecimal);
        };
        if bytes.push(byte).is_err() {
            return Request::NotUnderstood(NotUnderstood::NoSettings(Unreadable::Length));
        }
    }
    if !odd.is_empty() {
        return Request::NotUnderstood(NotUnderstood::NotHexadecimal);
    }
    match settings_from_bytes(&bytes) {
        Ok(settings) => Request::Command(Command::Change(settings)),
        Err(unreadable) => Request::NotUnderstood(NotUnderstood::NoSettings(unreadable)),
    }
}

fn digit(character: u8) -> Option<u8> {
    // A hexadecimal digit's value is below 16.
    char::from(character).to_digit(16).map(|value| value as u8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[derive(Default)]
    struct Line {
        incoming: std::collections::VecDeque<u8>,
        outgoing: Vec<u8, 4_096>,
        room: usize,
    }

    impl ServiceLine for Line {
        fn receive(&mut self) -> Option<u8> {
            self.incoming.pop_front()
        }
        fn send(&mut self, byte: u8) -> Result<(), u8> {
            self.room = self.room.checked_sub(1).ok_or(byte)?;
            self.outgoing.push(byte)
        }
    }

    fn heard(text: &str) -> std::vec::Vec<Request> {
        let mut service = Service::new(Line::default());
        service.line.incoming.extend(text.bytes());
        let mut requests = vec![];
        while !service.line.incoming.is_empty() {
            requests.extend(service.hear());
        }
        requests
    }

    #[test]
    fn commands_are_understood_one_a_line() {
        assert_eq!(
            heard("release lockout\r\nswitch off\n\nswitch on\ntell settings\nswitch\n"),
            [
                Request::Command(Command::ReleaseLockout),
                Request::Command(Command::SwitchOff),
                Request::Command(Command::SwitchOn),
                Request::TellSettings,
                Request::NotUnderstood(NotUnderstood::NoSuchCommand),
            ]
        );
    }

    #[test]
    fn settings_said_are_settings_understood() {
        let mut service = Service::new(Line {
            room: 1_000,
            ..Line::default()
        });
        service.say_settings(&Settings::DEFAULT);
        service.send();
        let said = String::from_utf8(service.line.outgoing.to_vec()).unwrap();
        let line = said.replace("settings ", "change ");
        assert_eq!(
            heard(&line),
            [Request::Command(Command::Change(Settings::DEFAULT))]
        );
        let torn = line.replacen('0', "1", 1);
        assert!(matches!(heard(&torn)[..], [Request::NotUnderstood(_)]));
    }

    #[test]
    fn an_overlong_line_is_told_and_the_next_is_heard() {
        let text = format!("{}\nswitch off\n", "x".repeat(3_000));
        assert_eq!(
            heard(&text),
            [
                Request::NotUnderstood(NotUnderstood::TooLong),
                Request::Command(Command::SwitchOff)
            ]
        );
    }

    #[test]
    fn a_slow_line_takes_what_it_can_and_loses_whole_lines_only() {
        let mut service = Service::new(Line {
            room: 5,
            ..Line::default()
        });
        for n in 0..200 {
            service.say(format_args!("line number {n}"));
        }
        service.send();
        assert_eq!(&service.line.outgoing[..], b"line ");
        service.line.room = 10_000;
        service.send();
        let said = String::from_utf8(service.line.outgoing.to_vec()).unwrap();
        let lines: std::vec::Vec<_> = said.lines().collect();
        assert!(lines.len() > 20 && lines.len() < 200);
        for (n, line) in lines.iter().enumerate() {
            assert_eq!(*line, format!("line number {n}"));
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
            let mut service = Service::new(Line::default());
            service.line.incoming.extend(bytes);
            while !service.line.incoming.is_empty() {
                let _ = service.hear();
            }
        }
    }
}
