//! What a scenario expects of a run.

use std::fmt;

use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

use crate::record::runs::Runner;
use hysteron_plant::quantity::Quantity;

/// One expectation, to be judged over its window.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// What is expected.
    pub subject: Subject,
    /// When it is expected.
    pub window: Window,
    /// Where the figure comes from: a source by title, number, year and place, "common
    /// practice", "from memory", or what it follows from: "by design", "by the wiring", "by this
    /// story".
    pub because: Option<String>,
    /// The only case it is expected of; of every case where absent.
    pub case: Option<String>,
    /// Line of the file that states it, from 1.
    pub line: usize,
}

/// From when until when, counted from the beginning of the scenario; both ends belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The first moment.
    pub from: Duration,
    /// The last moment.
    pub until: Duration,
}

/// What is expected.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// A quantity stays within limits, in its own unit.
    Stays(Observable, Limits),
    /// A number stays within limits: a count, seconds or a share.
    Counts(Counted, Limits),
    /// The relay is in this state throughout.
    RelayIs(Relay),
    /// These come one after the other; others may come between.
    Order(Vec<Occurrence>),
    /// No rest between two runs within the window is shorter than this.
    ShortestRest(Runner, Duration),
    /// No run is shorter than this.
    ShortestRun(Runner, Duration),
}

impl Subject {
    /// Whose starts and stops it is about; the load's where it is about none.
    #[must_use]
    pub const fn runner(&self) -> Runner {
        match self {
            Self::Counts(
                Counted::Starts(runner)
                | Counted::StartsInAnyHour(runner)
                | Counted::RunTime(runner)
                | Counted::Duty(runner),
                _,
            )
            | Self::ShortestRest(runner, _)
            | Self::ShortestRun(runner, _) => *runner,
            Self::Stays(..)
            | Self::Counts(Counted::Occurrences(_), _)
            | Self::RelayIs(_)
            | Self::Order(_) => Runner::Load,
        }
    }
}

/// At least one of two limits; the lower is below the upper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    at_least: Option<f64>,
    at_most: Option<f64>,
}

impl Limits {
    /// Limits that something can lie between.
    #[must_use]
    pub fn new(at_least: Option<f64>, at_most: Option<f64>) -> Option<Self> {
        let sensible = match (at_least, at_most) {
            (None, None) => false,
            (Some(low), Some(high)) => low <= high,
            (Some(_), None) | (None, Some(_)) => true,
        };
        sensible.then_some(Self { at_least, at_most })
    }

    /// The lower limit.
    #[must_use]
    pub const fn at_least(self) -> Option<f64> {
        self.at_least
    }

    /// The upper limit.
    #[must_use]
    pub const fn at_most(self) -> Option<f64> {
        self.at_most
    }

    /// These limits in another unit, by a function that goes up.
    #[must_use]
    pub fn map(self, to: impl Fn(f64) -> f64) -> Self {
        Self {
            at_least: self.at_least.map(&to),
            at_most: self.at_most.map(&to),
        }
    }

    /// Whether a value lies within.
    #[must_use]
    pub fn hold(self, value: f64) -> bool {
        self.at_least.is_none_or(|low| value >= low)
            && self.at_most.is_none_or(|high| value <= high)
    }
}

/// What can be watched in a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Observable {
    /// A quantity of the plant.
    Plant(Quantity),
    /// The temperature that the control reads from its probe, while it is one; °C.
    ProbeReading,
    /// The temperature of the air around; °C.
    Ambient,
}

impl Observable {
    /// Name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plant(quantity) => quantity.name(),
            Self::ProbeReading => "probe reading",
            Self::Ambient => "ambient temperature",
        }
    }

    /// Unit of its value.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Plant(quantity) => quantity.unit(),
            Self::ProbeReading | Self::Ambient => "°C",
        }
    }
}

/// What can be counted over a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// How often it started.
    Starts(Runner),
    /// The most starts in any sliding hour.
    StartsInAnyHour(Runner),
    /// How long it ran, in s.
    RunTime(Runner),
    /// The share of the window for which it ran, 0 to 1.
    Duty(Runner),
    /// How often this occurred.
    Occurrences(Occurrence),
}

impl Counted {
    /// Name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Starts(Runner::Load) => "starts",
            Self::StartsInAnyHour(Runner::Load) => "starts in any hour",
            Self::RunTime(Runner::Load) => "run time",
            Self::Duty(Runner::Load) => "duty",
            Self::Starts(Runner::Compressor) => "compressor starts",
            Self::StartsInAnyHour(Runner::Compressor) => "compressor starts in any hour",
            Self::RunTime(Runner::Compressor) => "compressor run time",
            Self::Duty(Runner::Compressor) => "compressor duty",
            Self::Occurrences(occurrence) => occurrence.name(),
        }
    }
}

/// Something that a run records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Occurrence {
    /// One event of the control.
    Event(Event),
    /// A probe fault of any kind is declared.
    AnyProbeFault,
    /// A lockout for any cause.
    AnyLockout,
    /// The control starts anew: at the beginning, after a power cut or a deep dip.
    PowerUp,
}

impl Occurrence {
    /// Every occurrence there is.
    pub fn all() -> impl Iterator<Item = Self> {
        let groups = [Self::AnyProbeFault, Self::AnyLockout, Self::PowerUp];
        groups
            .into_iter()
            .chain(Event::ALL.into_iter().map(Self::Event))
    }

    /// Name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Event(event) => event.text(),
            Self::AnyProbeFault => "probe fault",
            Self::AnyLockout => "lockout",
            Self::PowerUp => "power-up",
        }
    }

    /// Whether an event of the control is one of these.
    #[must_use]
    pub fn includes(self, event: Event) -> bool {
        match self {
            Self::Event(own) => own == event,
            Self::AnyProbeFault => matches!(event, Event::ProbeFailed(_)),
            Self::AnyLockout => matches!(event, Event::LockedOut(_)),
            Self::PowerUp => false,
        }
    }
}

impl fmt::Display for Occurrence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
