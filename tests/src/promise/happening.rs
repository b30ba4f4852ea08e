//! What can happen to a control, as strategies that shrink well.

use hysteron_logic::control::SettingsLock;
use hysteron_logic::settings::Settings;
use proptest::prelude::*;
use proptest::sample::select;

use super::drafts;

/// What the probe reads from now on, told by what the settings in force make of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reading {
    /// Beyond the cut-in.
    Calls,
    /// Exactly at the cut-in.
    AtCutIn,
    /// Exactly at the cut-out.
    AtCutOut,
    /// Between cut-in and cut-out.
    Between,
    /// At the cut-out or beyond.
    Satisfies,
    /// Above the heat ceiling.
    TooHot,
    /// A broken lead.
    Open,
    /// Joined leads.
    Shorted,
    /// Colder than any probe.
    Beyond,
    /// Now here, now 30 K away.
    Leaps,
    /// Never moves.
    Frozen,
}

/// At which step of the way of data the samples come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Instrument {
    /// As temperatures, exact to the thousandth.
    Thermometer,
    /// As resistances.
    Ohmmeter,
    /// As counts of a converter.
    Converter,
}

/// What the board's clock does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ClockFault {
    /// Jumps back, for good unless it returns.
    SetBack {
        /// By how much.
        ms: u32,
    },
    /// Jumps back for one step, and shows the right time with the next.
    Glitches {
        /// By how much.
        ms: u32,
    },
    /// Stands still for a few steps, and shows the right time with the next.
    Stalls {
        /// For so many.
        steps: u8,
    },
    /// Jumps ahead, further than a late step could be.
    LeapsAhead {
        /// By how much.
        ms: u32,
    },
    /// Stands still from now on.
    StandsStill,
    /// Runs again from where it stands.
    RunsAgain,
    /// Shows the right time again.
    Returns,
}

/// The relay's contact and its feedback input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ContactState {
    /// No feedback input.
    NotFitted,
    /// Follows the coil.
    Sound,
    /// Stays closed.
    Welded,
    /// Stays open.
    Burnt,
}

/// What a person asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Order {
    /// Other settings.
    Change(Box<Settings>),
    /// The settings in force with the other mode, where that makes sense.
    OtherMode,
    /// An end to the lockout.
    Release,
    /// Off.
    Off,
    /// On.
    On,
}

/// What the store gives back after a loss of power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Store {
    /// Everything.
    Kept,
    /// The settings alone.
    Lost,
    /// Everything but the settings.
    SettingsUnreadable,
}

/// One happening.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happening {
    /// Time passes.
    Pass {
        /// So many steps
        steps: u16,
        /// of this length.
        period_ms: u16,
    },
    /// The probe reads something else.
    Reads(Reading),
    /// The samples come from another instrument.
    Samples(Instrument),
    /// The clock misbehaves, or stops misbehaving.
    Clock(ClockFault),
    /// The settings lock is turned.
    Lock(SettingsLock),
    /// The contact fails, or is mended.
    Contact(ContactState),
    /// A command with the next step, one second on.
    Say(Order),
    /// A loss of power.
    PowerCut {
        /// For so long.
        off_ms: u32,
        /// What is left afterwards.
        store: Store,
    },
}

/// How often each kind of happening comes; zero is never.
#[derive(Debug, Clone, Copy)]
pub struct Weights {
    /// Readings that may be believed.
    pub readings: u32,
    /// Probe faults.
    pub probe_faults: u32,
    /// Readings above the ceiling.
    pub too_hot: u32,
    /// Other instruments.
    pub instruments: u32,
    /// Clock faults.
    pub clock: u32,
    /// Turns of the settings lock.
    pub lock: u32,
    /// Contact failures.
    pub contact: u32,
    /// Changes of settings.
    pub changes: u32,
    /// Changes of mode.
    pub modes: u32,
    /// Releases, off and on.
    pub orders: u32,
    /// Losses of power.
    pub power: u32,
}

impl Weights {
    /// A little of everything.
    pub const ALL: Self = Self {
        readings: 8,
        probe_faults: 3,
        too_hot: 1,
        instruments: 1,
        clock: 2,
        lock: 1,
        contact: 1,
        changes: 2,
        modes: 2,
        orders: 3,
        power: 1,
    };

    /// Readings and nothing else.
    pub const READINGS: Self = Self {
        readings: 8,
        probe_faults: 0,
        too_hot: 0,
        instruments: 0,
        clock: 0,
        lock: 0,
        contact: 0,
        changes: 0,
        modes: 0,
        orders: 0,
        power: 0,
    };
}

/// Steps of one second for a minute or so, of ten seconds for an hour or so, or odd ones.
fn pass() -> impl Strategy<Value = Happening> {
    prop_oneof![
        6 => (1_u16..=90).prop_map(|steps| (steps, 1_000)),
        2 => (1_u16..=400).prop_map(|steps| (steps, 10_000)),
        1 => (1_u16..=40, 1_u16..=10_000),
    ]
    .prop_map(|(steps, period_ms)| Happening::Pass { steps, period_ms })
}

fn clock_fault() -> impl Strategy<Value = ClockFault> {
    prop_oneof![
        (1_u32..=20_000).prop_map(|ms| ClockFault::SetBack { ms }),
        (1_u32..=9_000_000).prop_map(|ms| ClockFault::SetBack { ms }),
        (1_u32..=9_000).prop_map(|ms| ClockFault::Glitches { ms }),
        (2_u8..=9).prop_map(|steps| ClockFault::Stalls { steps }),
        (10_001_u32..=9_000_000).prop_map(|ms| ClockFault::LeapsAhead { ms }),
        Just(ClockFault::StandsStill),
        Just(ClockFault::RunsAgain),
        Just(ClockFault::Returns),
    ]
}

fn order(weights: Weights) -> impl Strategy<Value = Order> {
    prop_oneof![
        weights.changes => drafts::in_motion().prop_map(|settings| Order::Change(Box::new(settings))),
        weights.modes => Just(Order::OtherMode),
        weights.orders => prop_oneof![
            3 => Just(Order::Release),
            1 => Just(Order::Off),
            2 => Just(Order::On),
        ],
    ]
}

/// One happening.
pub fn happening(weights: Weights) -> BoxedStrategy<Happening> {
    let faults = prop_oneof![
        2 => Just(Reading::Open),
        2 => Just(Reading::Shorted),
        1 => Just(Reading::Beyond),
        1 => Just(Reading::Leaps),
        1 => Just(Reading::Frozen),
    ];
    let believable = prop_oneof![
        4 => Just(Reading::Calls),
        1 => Just(Reading::AtCutIn),
        1 => Just(Reading::AtCutOut),
        1 => Just(Reading::Between),
        2 => Just(Reading::Satisfies),
    ];
    let contact = prop_oneof![
        1 => Just(ContactState::NotFitted),
        2 => Just(ContactState::Sound),
        1 => Just(ContactState::Welded),
        1 => Just(ContactState::Burnt),
    ];
    let power = (
        prop_oneof![1_u32..=60_000, 1_u32..=7_200_000],
        prop_oneof![
            5 => Just(Store::Kept),
            2 => Just(Store::Lost),
            1 => Just(Store::SettingsUnreadable),
        ],
    );
    let said = weights.changes + weights.modes + weights.orders;
    prop_oneof![
        14 => pass(),
        weights.readings => believable.prop_map(Happening::Reads),
        weights.probe_faults => faults.prop_map(Happening::Reads),
        weights.too_hot => Just(Happening::Reads(Reading::TooHot)),
        weights.instruments => select(&[
            Instrument::Thermometer,
            Instrument::Ohmmeter,
            Instrument::Converter,
        ])
        .prop_map(Happening::Samples),
        weights.clock => clock_fault().prop_map(Happening::Clock),
        weights.lock => prop_oneof![
            1 => Just(SettingsLock::Locked),
            2 => Just(SettingsLock::Unlocked),
        ]
        .prop_map(Happening::Lock),
        weights.contact => contact.prop_map(Happening::Contact),
        said => order(weights).prop_map(Happening::Say),
        weights.power => power.prop_map(|(off_ms, store)| Happening::PowerCut { off_ms, store }),
    ]
    .boxed()
}
