//! One case, prepared for telling.

use std::borrow::Cow;

use hysteron_logic::call::Band;
use hysteron_logic::event::Event;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::lanes::Fact;
use super::spells::{Spell, closed_shares, fed_shares, spells};
use crate::words::degrees::Degrees;
use hysteron_bench::record::runs::Runner;
use hysteron_bench::record::trace::{Entry, Trace};
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::happening::{Edge, Happening};
use hysteron_bench::scenario::plan::Plan;

/// A run of one case with what every section asks of it.
#[derive(Debug, Clone)]
pub struct CaseView<'a> {
    /// The scenario.
    pub plan: &'a Plan,
    /// The run.
    pub run: &'a CaseRun,
    /// How temperatures are written.
    pub degrees: Degrees,
    /// Where relay and load stood; empty without a trace.
    pub spells: Vec<Spell>,
    /// The settings in force, each from a moment on; the first from the beginning.
    pub settings: Vec<(Duration, Settings)>,
}

/// A time in which the control could not work as it should.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// A probe fault stood declared.
    ProbeFault,
    /// The load was locked out.
    Lockout,
    /// The board had no power.
    NoPower,
}

impl Trouble {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::ProbeFault, Self::Lockout, Self::NoPower];

    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::ProbeFault => "probe fault declared",
            Self::Lockout => "locked out",
            Self::NoPower => "no power",
        }
    }
}

impl Fact for Trouble {
    fn is_alike(&self, other: &Self) -> bool {
        self == other
    }

    fn words(&self) -> Cow<'_, str> {
        self.text().into()
    }
}

impl<'a> CaseView<'a> {
    /// Prepares `run` of `plan`.
    #[must_use]
    pub fn new(plan: &'a Plan, run: &'a CaseRun) -> Self {
        Self {
            plan,
            run,
            degrees: Degrees::of(run.case.settings.draft().scale),
            spells: run.trace.as_ref().map(spells).unwrap_or_default(),
            settings: settings_in_force(run),
        }
    }

    /// The trace, if there is one.
    #[must_use]
    pub const fn trace(&self) -> Option<&'a Trace> {
        self.run.trace.as_ref()
    }

    /// The name of the case, or `this case` where there is only one.
    #[must_use]
    pub fn name(&self) -> &'a str {
        self.run.case.name.as_deref().unwrap_or("this case")
    }

    /// Cut-in and cut-out, each from a moment on.
    #[must_use]
    pub fn bands(&self) -> Vec<(Duration, Band)> {
        let mut bands: Vec<(Duration, Band)> = Vec::new();
        for (from, settings) in &self.settings {
            if bands
                .last()
                .is_none_or(|(_, band)| *band != settings.band())
            {
                bands.push((*from, settings.band()));
            }
        }
        bands
    }

    /// The share of each of `slots` parts of length `slot` for which the relay was closed.
    #[must_use]
    pub fn closed_shares(&self, slot: Duration, slots: usize) -> Vec<f64> {
        let trace = self.trace();
        trace.map_or_else(Vec::new, |trace| {
            closed_shares(trace, &self.spells, slot, slots)
        })
    }

    /// The share of each part for which a runner was fed.
    #[must_use]
    pub fn fed_shares(&self, runner: Runner, slot: Duration, slots: usize) -> Vec<f64> {
        let trace = self.trace();
        trace.map_or_else(Vec::new, |trace| {
            fed_shares(trace, &self.spells, runner, slot, slots)
        })
    }

    /// Every time of trouble, each with its beginning and end, as far as the log knows.
    #[must_use]
    pub fn troubles(&self) -> Vec<(Trouble, Duration, Duration)> {
        let end = self
            .trace()
            .map_or(self.plan.duration, Trace::log_known_until);
        let entries = self.trace().map_or(&[][..], Trace::entries);
        let mut troubles = Vec::new();
        let mut fault_since = None;
        let mut lockout_since = None;
        let mut lost_since = None;
        for (at, entry) in entries {
            match entry {
                Entry::Control(Event::ProbeFailed(_)) => {
                    fault_since.get_or_insert(*at);
                }
                Entry::Control(Event::LockedOut(_)) => {
                    lockout_since.get_or_insert(*at);
                }
                Entry::Control(Event::ProbeRecovered) => {
                    let since = fault_since.take();
                    troubles.extend(since.map(|since| (Trouble::ProbeFault, since, *at)));
                }
                Entry::Control(Event::LockoutReleased) => {
                    let since = lockout_since.take();
                    troubles.extend(since.map(|since| (Trouble::Lockout, since, *at)));
                }
                Entry::PowerLost => {
                    lost_since.get_or_insert(*at);
                    // A control that starts anew has declared nothing yet.
                    let since = fault_since.take();
                    troubles.extend(since.map(|since| (Trouble::ProbeFault, since, *at)));
                }
                Entry::PowerUp => {
                    let since = lost_since.take();
                    troubles.extend(since.map(|since| (Trouble::NoPower, since, *at)));
                }
                Entry::Control(_)
                | Entry::DutyNotKnown { .. }
                | Entry::Happened(_)
                | Entry::Circuit(_)
                | Entry::LoadOnItsOwn(_) => {}
            }
        }
        troubles.extend(fault_since.map(|since| (Trouble::ProbeFault, since, end)));
        troubles.extend(lockout_since.map(|since| (Trouble::Lockout, since, end)));
        troubles.extend(lost_since.map(|since| (Trouble::NoPower, since, end)));
        troubles
    }
}

/// A change counts from when the control told of it; one that was refused never counts.
fn settings_in_force(run: &CaseRun) -> Vec<(Duration, Settings)> {
    let edges = run.case.timeline.edges();
    let mut changes = edges
        .filter_map(|edge| match edge.edge {
            Edge::Begins(Happening::SettingsChange(settings)) => Some((edge.at, *settings)),
            Edge::Begins(_) | Edge::Ends(_) => None,
        })
        .peekable();
    let mut asked = None;
    let mut in_force = vec![(Duration::ZERO, run.case.settings)];
    let entries = run.trace.as_ref().map_or(&[][..], Trace::entries);
    for (at, entry) in entries {
        if !matches!(
            entry,
            Entry::Control(Event::SettingsChanged | Event::ModeChanged)
        ) {
            continue;
        }
        while let Some((_, settings)) = changes.next_if(|(asked_at, _)| asked_at <= at) {
            asked = Some(settings);
        }
        in_force.extend(asked.map(|settings| (*at, settings)));
    }
    in_force
}
