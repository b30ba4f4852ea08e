//! The service line: lines of text for a person or a machine, both ways.
//!
//! Out, whenever something changes; the first word is milliseconds since power-up:
//!
//! ```text
//! 100 started after power; settings whole; memory sound
//! 300100 relay closed: calling
//! 300100 event 1 relay closed
//! 300200 refused: settings locked
//! 412300 done
//! 413500 settings saved
//! ```
//!
//! `done` says that a command is in force; changed settings outlive a loss of
//! power once `settings saved` was said, about a second later.
//!
//! In, one command a line: `release lockout`, `switch on`, `switch off`,
//! `tell settings`, and `change ` followed by the settings' bytes in
//! hexadecimal, as the codec lays them out. Every command but `tell settings`
//! is refused while the settings lock is on.
//!
//! A pass takes and gives so many bytes and no more, so that it stays short.

use heapless::{Deque, Vec};
use hysteron_logic::codec::{SETTINGS_LEN, Unreadable, read_settings, write_settings};
use hysteron_logic::settings::Settings;

use crate::decimal::decimal;
use crate::ports::ServiceLine;
use crate::refusal::NotUnderstood;

/// Bytes that a pass takes from the line at most.
const HEARD_IN_A_PASS: usize = 64;

/// Bytes that a pass gives to the line at most: what a line of the usual kind
/// takes without waiting.
const SENT_IN_A_PASS: usize = 32;

/// The longest command's words.
const LONGEST_WORDS: usize = 16;

/// Bytes that wait for the line to take them.
const WAITING: usize = 512;

/// What a line asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Request {
    /// New settings; [`Service::heard_settings`] has them.
    Change,
    /// Release the lockout.
    ReleaseLockout,
    /// Open the relay and keep it open.
    SwitchOff,
    /// Take up work again.
    SwitchOn,
    /// The settings in force.
    TellSettings,
    /// Nothing that is understood.
    NotUnderstood(NotUnderstood),
}

/// Reads requests from a line and queues what is to be sent.
pub struct Service<L> {
    line: L,
    hearing: Hearing,
    words: Vec<u8, LONGEST_WORDS>,
    heard: Vec<u8, SETTINGS_LEN>,
    waiting: Deque<u8, WAITING>,
    telling: Telling,
}

/// What of a line has been heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Hearing {
    /// Its words so far.
    Words,
    /// An even number of digits after `change `.
    Pairs,
    /// The first digit of a pair.
    Half(u8),
    /// What makes the rest of no account.
    Spoilt(NotUnderstood),
}

/// Settings that are being told, in the midst of what waits.
struct Telling {
    settings: [u8; SETTINGS_LEN],
    /// Bytes that were waiting before them.
    behind: usize,
    /// Characters that were sent.
    sent: usize,
}

const TOLD_FIRST: &[u8] = b"settings ";
const TOLD_LENGTH: usize = TOLD_FIRST.len() + 2 * SETTINGS_LEN + 1;

impl<L: ServiceLine> Service<L> {
    /// A service on `line`, with nothing heard and nothing to say.
    pub const fn new(line: L) -> Self {
        Self {
            line,
            hearing: Hearing::Words,
            words: Vec::new(),
            heard: Vec::new(),
            waiting: Deque::new(),
            telling: Telling {
                settings: [0; SETTINGS_LEN],
                behind: 0,
                sent: TOLD_LENGTH,
            },
        }
    }

    /// The next request, once its line is complete.
    pub fn hear(&mut self) -> Option<Request> {
        for _ in 0..HEARD_IN_A_PASS {
            let byte = self.line.receive()?;
            if byte != b'\n' && byte != b'\r' {
                self.take(byte);
                continue;
            }
            let request = self.understood();
            self.hearing = Hearing::Words;
            self.words.clear();
            if request.is_some() {
                return request;
            }
        }
        None
    }

    fn take(&mut self, byte: u8) {
        self.hearing = match self.hearing {
            Hearing::Words if self.words.push(byte).is_err() => {
                Hearing::Spoilt(NotUnderstood::NoSuchCommand)
            }
            Hearing::Words if self.words == b"change " => {
                self.heard.clear();
                Hearing::Pairs
            }
            Hearing::Words => Hearing::Words,
            Hearing::Pairs => match digit(byte) {
                Some(high) => Hearing::Half(high),
                None => Hearing::Spoilt(NotUnderstood::NotHexadecimal),
            },
            Hearing::Half(high) => match digit(byte) {
                Some(low) if self.heard.push(high << 4 | low).is_ok() => Hearing::Pairs,
                Some(_) => Hearing::Spoilt(NotUnderstood::NoSettings(Unreadable::Length)),
                None => Hearing::Spoilt(NotUnderstood::NotHexadecimal),
            },
            Hearing::Spoilt(_) => return,
        };
    }

    /// What the line that has just ended asked for; nothing if it was empty.
    fn understood(&self) -> Option<Request> {
        Some(match self.hearing {
            Hearing::Pairs => Request::Change,
            Hearing::Half(_) => Request::NotUnderstood(NotUnderstood::NotHexadecimal),
            Hearing::Spoilt(what) => Request::NotUnderstood(what),
            Hearing::Words => match &self.words[..] {
                b"" => return None,
                b"release lockout" => Request::ReleaseLockout,
                b"switch on" => Request::SwitchOn,
                b"switch off" => Request::SwitchOff,
                b"tell settings" => Request::TellSettings,
                _ => Request::NotUnderstood(NotUnderstood::NoSuchCommand),
            },
        })
    }

    /// Makes `settings` those of the last [`Request::Change`].
    ///
    /// # Errors
    ///
    /// As [`read_settings`], and `settings` are then what it says.
    pub fn heard_settings(&self, settings: &mut Settings) -> Result<(), NotUnderstood> {
        read_settings(&self.heard, settings).map_err(NotUnderstood::NoSettings)
    }

    /// Queues a line: a number and `parts`. A line that finds no room is dropped whole.
    pub fn say(&mut self, number: u64, parts: &[&[u8]]) {
        let before = self.waiting.len();
        let mut digits = [0; 20];
        let whole = self.queue(decimal(number, &mut digits))
            && parts.iter().all(|part| self.queue(part))
            && self.queue(b"\n");
        if !whole {
            while self.waiting.len() > before {
                self.waiting.pop_back();
            }
        }
    }

    #[inline(never)]
    fn queue(&mut self, part: &[u8]) -> bool {
        part.iter()
            .all(|byte| self.waiting.push_back(*byte).is_ok())
    }

    /// Tells the settings in hexadecimal, after what waits; not while settings are being told.
    pub fn say_settings(&mut self, settings: &Settings) {
        if self.telling.sent == TOLD_LENGTH {
            write_settings(settings, &mut self.telling.settings);
            self.telling.behind = self.waiting.len();
            self.telling.sent = 0;
        }
    }

    /// Hands waiting bytes to the line, as many as it takes and a pass may.
    pub fn send(&mut self) {
        for _ in 0..SENT_IN_A_PASS {
            let telling = self.telling.behind == 0 && self.telling.sent < TOLD_LENGTH;
            let next = if telling {
                Some(self.telling.next())
            } else {
                self.waiting.front().copied()
            };
            let Some(byte) = next else { return };
            if self.line.send(byte).is_err() {
                return;
            }
            if telling {
                self.telling.sent += 1;
            } else {
                self.waiting.pop_front();
                self.telling.behind = self.telling.behind.saturating_sub(1);
            }
        }
    }
}

impl Telling {
    fn next(&self) -> u8 {
        let Some(place) = self.sent.checked_sub(TOLD_FIRST.len()) else {
            return TOLD_FIRST[self.sent];
        };
        let Some(byte) = self.settings.get(place / 2) else {
            return b'\n';
        };
        let digit = if place % 2 == 0 { byte >> 4 } else { byte & 15 };
        b"0123456789abcdef"[usize::from(digit)]
    }
}

fn digit(character: u8) -> Option<u8> {
    match character {
        b'0'..=b'9' => Some(character - b'0'),
        b'a'..=b'f' => Some(character - b'a' + 10),
        b'A'..=b'F' => Some(character - b'A' + 10),
        _ => None,
    }
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

    /// What `text` asks for, and the settings in force after it.
    fn heard(text: &str) -> (std::vec::Vec<Request>, Settings) {
        let mut service = Service::new(Line::default());
        service.line.incoming.extend(text.bytes());
        let (mut requests, mut settings) = (vec![], Settings::DEFAULT);
        while !service.line.incoming.is_empty() {
            let request = service.hear();
            requests.extend(match request {
                Some(Request::Change) => match service.heard_settings(&mut settings) {
                    Ok(()) => Some(Request::Change),
                    Err(what) => Some(Request::NotUnderstood(what)),
                },
                other => other,
            });
        }
        (requests, settings)
    }

    fn another() -> Settings {
        let mut draft = hysteron_logic::settings::Draft::COOLING;
        draft.setpoint = hysteron_logic::units::Temperature::from_millicelsius(3_500);
        draft.check().unwrap()
    }

    /// All that a service says, however many passes that takes.
    fn said(mut service: Service<Line>) -> String {
        service.line.room = 10_000;
        for _ in 0..200 {
            service.send();
        }
        String::from_utf8(service.line.outgoing.to_vec()).unwrap()
    }

    #[test]
    fn commands_are_understood_one_a_line() {
        assert_eq!(
            heard("release lockout\r\nswitch off\n\nswitch on\ntell settings\nswitch\n").0,
            [
                Request::ReleaseLockout,
                Request::SwitchOff,
                Request::SwitchOn,
                Request::TellSettings,
                Request::NotUnderstood(NotUnderstood::NoSuchCommand),
            ]
        );
    }

    #[test]
    fn settings_said_are_settings_understood() {
        let mut service = Service::new(Line::default());
        service.say_settings(&another());
        let line = said(service).replace("settings ", "change ");
        assert_eq!(heard(&line), (vec![Request::Change], another()));
        let torn = line.replacen('0', "1", 1);
        let damaged = NotUnderstood::NoSettings(Unreadable::Checksum);
        assert_eq!(heard(&torn).0, [Request::NotUnderstood(damaged)]);
        for (spoilt, what) in [
            (
                line.replacen("change 1", "change x", 1),
                NotUnderstood::NotHexadecimal,
            ),
            (
                line.replacen("change 1", "change ", 1),
                NotUnderstood::NotHexadecimal,
            ),
            (
                line.replacen("change ", "change 00", 1),
                NotUnderstood::NoSettings(Unreadable::Length),
            ),
        ] {
            assert_eq!(heard(&spoilt).0, [Request::NotUnderstood(what)], "{spoilt}");
        }
    }

    #[test]
    fn settings_are_told_in_the_midst_of_other_lines() {
        let mut service = Service::new(Line::default());
        service.say(1, &[b" before"]);
        service.say_settings(&another());
        service.say(u64::MAX, &[b" after", b"wards"]);
        service.line.room = 12;
        service.send();
        // Asked again before it is told: one answer is enough.
        service.say_settings(&Settings::DEFAULT);
        let digits: String = hysteron_logic::codec::settings_to_bytes(&another())
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        assert_eq!(
            said(service),
            format!("1 before\nsettings {digits}\n18446744073709551615 afterwards\n")
        );
    }

    #[test]
    fn a_pass_takes_and_gives_a_bounded_number_of_bytes() {
        let mut service = Service::new(Line::default());
        service
            .line
            .incoming
            .extend(std::iter::repeat_n(b'x', 1_000));
        service.line.room = 1_000;
        service.say_settings(&another());
        assert_eq!(service.hear(), None);
        service.send();
        assert_eq!(service.line.incoming.len(), 1_000 - HEARD_IN_A_PASS);
        assert_eq!(service.line.outgoing.len(), SENT_IN_A_PASS);
    }

    #[test]
    fn an_overlong_line_is_told_and_the_next_is_heard() {
        let text = format!("{}\nswitch off\n", "x".repeat(3_000));
        assert_eq!(
            heard(&text).0,
            [
                Request::NotUnderstood(NotUnderstood::NoSuchCommand),
                Request::SwitchOff
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
            service.say(n, &[b" is the number"]);
        }
        service.send();
        assert_eq!(&service.line.outgoing[..], b"0 is ");
        let said = said(service);
        let lines: std::vec::Vec<_> = said.lines().collect();
        assert!(lines.len() > 20 && lines.len() < 200);
        for (n, line) in lines.iter().enumerate() {
            assert_eq!(*line, format!("{n} is the number"));
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
