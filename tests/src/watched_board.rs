//! A board in an emulated chip, with a record of what it did.

use hysteron::chip::{Chip, ChipEvent, hexadecimal};
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::Duration;

/// About 6 °C on a type II probe with 10 kΩ above it: what sixteen conversions add up to.
pub const WARM: u16 = 46_500;
/// About 1.3 °C: satisfies [`settings`], and is believed within seconds after [`WARM`].
pub const COOL: u16 = 49_500;
/// About −1 °C, a jump from [`WARM`] that is held against the probe at first.
pub const COLD: u16 = 51_000;
/// In microseconds.
pub const SECOND: u64 = 1_000_000;

/// What a chip did, with the questions that tests ask of it.
pub struct Watched {
    /// The chip itself.
    pub chip: Chip,
    /// Whether the relay's coil has current.
    pub driven: bool,
    /// Every movement of the relay: when, and whether it closed.
    pub movements: Vec<(f64, bool)>,
    /// What it said on the service line.
    pub lines: Vec<String>,
    /// How often it was reset, by its watchdog or its reset input.
    pub resets: usize,
    /// When it was reset last.
    pub last_reset_us: Option<f64>,
    /// How often it lost its power.
    pub cuts: usize,
}

impl Watched {
    /// A board without power as yet, with these settings in its memory or an empty one.
    ///
    /// # Panics
    ///
    /// As every method here: the chip cannot be started or refuses what is asked.
    #[must_use]
    pub fn with(settings: Option<&Settings>) -> Self {
        let mut chip = Chip::start(&Chip::image("pico")).unwrap_or_else(|error| panic!("{error}"));
        if let Some(settings) = settings {
            chip.store_settings(settings).expect("stored");
        }
        Self {
            chip,
            driven: false,
            movements: Vec::new(),
            lines: Vec::new(),
            resets: 0,
            last_reset_us: None,
            cuts: 0,
        }
    }

    /// Asks one request of the chip's protocol.
    pub fn ask(&mut self, request: &str) -> String {
        self.chip
            .ask(request)
            .unwrap_or_else(|error| panic!("{error}"))
            .to_owned()
    }

    /// Runs on for `micros`, with sixteen conversions adding up to `sum`.
    pub fn run(&mut self, micros: u64, sum: u16) {
        let happenings = self
            .chip
            .run(micros, sum)
            .unwrap_or_else(|error| panic!("{error}"));
        for happening in happenings {
            match happening {
                ChipEvent::Relay { driven, at_us } => {
                    self.driven = driven;
                    self.movements.push((at_us, driven));
                }
                ChipEvent::Line { text, .. } => self.lines.push(text),
                ChipEvent::Reset { at_us, .. } => {
                    self.resets += 1;
                    self.last_reset_us = Some(at_us);
                }
                ChipEvent::PowerLost { .. } => self.cuts += 1,
                ChipEvent::Signal { .. } => {}
            }
        }
    }

    /// Forgets what the chip did; what it is doing now stays known.
    pub fn forget(&mut self) {
        self.movements.clear();
        self.lines.clear();
        self.resets = 0;
        self.last_reset_us = None;
        self.cuts = 0;
    }

    /// Whether a line was said with `part` in it.
    #[must_use]
    pub fn said(&self, part: &str) -> bool {
        self.lines.iter().any(|line| line.contains(part))
    }

    /// Gives power.
    pub fn start(&mut self) {
        self.ask("power 1");
    }

    /// Says a line on the service line.
    pub fn say(&mut self, line: &str) {
        self.chip
            .say(line)
            .unwrap_or_else(|error| panic!("{error}"));
    }

    /// Every rest of the load, from a release of the relay to its next closing, in microseconds.
    #[must_use]
    pub fn rests(&self) -> Vec<f64> {
        let pairs = self.movements.windows(2);
        pairs
            .filter_map(|pair| match pair {
                [(opened, false), (closed, true)] => Some(closed - opened),
                _ => None,
            })
            .collect()
    }

    /// The settings in force, as the board tells them.
    pub fn told_settings(&mut self) -> String {
        self.say("tell settings");
        self.run(2 * SECOND, WARM);
        let told = self
            .lines
            .iter()
            .rev()
            .find_map(|line| line.strip_prefix("settings "));
        told.expect("the settings are told").to_owned()
    }
}

/// A cooler's settings with a rest of 20 s and a run of a minute, edited.
///
/// # Panics
///
/// They make no sense.
pub fn settings(edit: impl FnOnce(&mut Draft)) -> Settings {
    let mut draft = Draft::COOLING;
    draft.short_off_time = Confirmation::Given;
    draft.minimum_off_time = Duration::from_seconds(20);
    draft.minimum_on_time = Duration::from_minutes(1);
    edit(&mut draft);
    draft.check().expect("settings that make sense")
}

/// The settings as `change` takes them and `tell settings` tells them.
#[must_use]
pub fn hex(settings: &Settings) -> String {
    hexadecimal(&settings_to_bytes(settings))
}
