//! Shipped arrangements, wired wrongly.

use hysteron_diagnosis::check::{Finding, Rule};
use hysteron_installation::Installation;

/// What was done to the conductors.
#[derive(Debug, Clone, Copy)]
pub enum Change {
    /// One was taken off.
    Drop(&'static str),
    /// This end of one was put on another terminal.
    Move(&'static str, &'static str, &'static str),
    /// One was put between two terminals.
    Add(&'static str, &'static str),
    /// Two conductors were changed.
    Both(&'static Change, &'static Change),
}
use Change::{Add, Both, Drop, Move};

impl Change {
    /// The file of an arrangement after the change.
    ///
    /// # Panics
    /// When it changes nothing.
    #[must_use]
    pub fn spoil(self, text: &str) -> String {
        let line_of = |name: &str| {
            let start = format!("{name} = {{ from");
            let mut found = text.lines().filter(|line| line.starts_with(&start));
            found
                .next()
                .unwrap_or_else(|| panic!("no conductor {name}"))
        };
        let quoted = |terminal: &str| format!("\"{terminal}\"");
        let spoilt = match self {
            Drop(name) => text.replace(&format!("{}\n", line_of(name)), ""),
            Move(name, from, to) => {
                let line = line_of(name);
                text.replace(line, &line.replace(&quoted(from), &quoted(to)))
            }
            Add(from, to) => added(text, from, to),
            Both(one, other) => other.spoil(&one.spoil(text)),
        };
        assert_ne!(spoilt, text, "{self:?} changes nothing");
        spoilt
    }

    /// Whether a finding points at a changed conductor, or at a terminal that it left.
    #[must_use]
    pub fn is_named_by(
        self,
        finding: &Finding,
        sound: &Installation,
        spoilt: &Installation,
    ) -> bool {
        let culprit = match self {
            Drop(name) | Move(name, ..) => name,
            Add(..) => ADDED,
            Both(one, other) => {
                return one.is_named_by(finding, sound, spoilt)
                    || other.is_named_by(finding, sound, spoilt);
            }
        };
        let names_an_end = |installation: &Installation| {
            let id = installation.part_named(culprit)?;
            let conductor = installation.part(id).kind.as_conductor()?;
            let ends = conductor.ends.map(|end| installation.terminal_name(end));
            Some(ends.iter().any(|end| finding.what.contains(end.as_str())))
        };
        spoilt
            .part_named(culprit)
            .is_some_and(|id| finding.places.contains(&id))
            || names_an_end(sound) == Some(true)
            || names_an_end(spoilt) == Some(true)
    }
}

/// Name of the conductor that [`added`] puts in.
pub const ADDED: &str = "added";

/// The file of an arrangement with one more conductor.
#[must_use]
pub fn added(text: &str, from: &str, to: &str) -> String {
    text.replace(
        "[wire]\n",
        &format!(
            "[wire]\n{ADDED} = {{ from = \"{from}\", to = \"{to}\", gauge_awg = 12, length_m = 2 }}\n"
        ),
    )
}

/// What is wired wrongly in which arrangement, and the rule that must object.
pub const WRONG_WIRINGS: &[(&str, Change, Rule)] = &[
    ("compressor-120", Drop("hot-to-common"), Rule::MissingJumper),
    ("compressor-120", Drop("2"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("6"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("7"), Rule::ConnectedToNothing),
    ("compressor-120", Drop("10"), Rule::FrameNotGrounded),
    (
        "compressor-120",
        Move("2", "control.power_120", "control.power_240"),
        Rule::WrongTap,
    ),
    (
        "compressor-120",
        Move("3", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "compressor-120",
        Move("3", "control.normally_open", "control.power_120"),
        Rule::NotSwitched,
    ),
    (
        "compressor-120",
        Move("7", "control.power_common", "supply.ground"),
        Rule::GroundCarriesCurrent,
    ),
    (
        "compressor-120",
        Move("7", "compressor.line2", "compressor.line1"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Move("1", "breaker.line", "breaker.load"),
        Rule::NoOvercurrentProtection,
    ),
    (
        "compressor-120",
        Move("8", "condenser-fan.line2", "condenser-fan.line1"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("supply.hot", "supply.neutral"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("control.relay_common", "control.normally_open"),
        Rule::ContactBypassed,
    ),
    (
        "compressor-120",
        Add("breaker.line", "breaker.load"),
        Rule::ContactBypassed,
    ),
    (
        "compressor-120",
        Add("compressor.line2", "compressor.frame"),
        Rule::NeutralGroundedTwice,
    ),
    (
        "compressor-120",
        Add("compressor.line1", "compressor.frame"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("control.normally_open", "control.power_common"),
        Rule::ShortCircuit,
    ),
    ("pump-down-120", Drop("4"), Rule::ConnectedToNothing),
    (
        "pump-down-120",
        Move(
            "9",
            "high-pressure-control.line",
            "high-pressure-control.load",
        ),
        Rule::OutOfCircuit,
    ),
    (
        "pump-down-120",
        Move(
            "10",
            "low-pressure-control.line",
            "low-pressure-control.load",
        ),
        Rule::NotSwitched,
    ),
    (
        "pump-down-120",
        Move("4", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "pump-down-120",
        Move("6", "control.power_common", "control.power_120"),
        Rule::NoVoltageAcross,
    ),
    (
        "pump-down-120",
        Move("6", "control.power_common", "compressor.line1"),
        Rule::NoVoltageAcross,
    ),
    (
        "compressor-208",
        Move("3", "control.power_208", "control.power_240"),
        Rule::WrongTap,
    ),
    (
        "compressor-208",
        Move("6", "control.power_common", "supply.neutral"),
        Rule::WrongVoltage,
    ),
    (
        "compressor-208",
        Move("2", "breaker.line2", "breaker.load2"),
        Rule::NoOvercurrentProtection,
    ),
    (
        "compressor-208",
        Add("breaker.load1", "breaker.load2"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-240",
        Move("3", "control.power_240", "control.power_120"),
        Rule::WrongTap,
    ),
    (
        "compressor-240",
        Move("2", "supply.leg2", "supply.leg1"),
        Rule::ControlUnpowered,
    ),
    (
        "compressor-240",
        Move("6", "control.power_common", "control.power_240"),
        Rule::NoVoltageAcross,
    ),
    (
        "separate-supplies",
        Add("control.power_120", "control.relay_common"),
        Rule::SuppliesTied,
    ),
    ("separate-supplies", Drop("11"), Rule::MissingJumper),
    (
        "separate-supplies",
        Move(
            "6",
            "control.power_common",
            "supply-condensing-unit.neutral",
        ),
        Rule::ReturnOnOtherSupply,
    ),
    ("separate-supplies", Drop("9"), Rule::ConnectedToNothing),
    (
        "separate-supplies",
        Move("4", "door-switch.line", "door-switch.load"),
        Rule::OutOfCircuit,
    ),
    (
        "contactor-24",
        Move("18", "contactor.coil1", "transformer.secondary2"),
        Rule::ShortCircuit,
    ),
    (
        "contactor-24",
        Move("10", "transformer.primary1", "transformer.secondary1"),
        Rule::SuppliesTied,
    ),
    (
        "contactor-24",
        Move("6", "contactor.load2", "contactor.line2"),
        Rule::LiveWhenOff,
    ),
    ("contactor-24", Drop("20"), Rule::SecondaryNotGrounded),
    (
        "contactor-24",
        Drop("secondary-to-common"),
        Rule::MissingJumper,
    ),
    (
        "contactor-24",
        Add("control.normally_open", "contactor.coil1"),
        Rule::ContactBypassed,
    ),
    (
        "heating-240",
        Move("5", "high-limit.line", "high-limit.load"),
        Rule::OutOfCircuit,
    ),
    (
        "heating-240",
        Move("6", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "heating-240",
        Move("7", "heater.line2", "heater.frame"),
        Rule::ShortCircuit,
    ),
    (
        "alarm-lamp-120",
        Move("5", "control.normally_open", "control.normally_closed"),
        Rule::RunsWhenSatisfied,
    ),
    (
        "alarm-lamp-120",
        Move("9", "control.power_common", "compressor.line1"),
        Rule::LoadsInSeries,
    ),
    (
        "alarm-lamp-120",
        Move("6", "alarm-lamp.line1", "alarm-lamp.frame"),
        Rule::ShortCircuit,
    ),
    (
        "compressor-120",
        Add("supply.hot", "breaker.line"),
        Rule::ParallelConductors,
    ),
    (
        "compressor-120",
        Move("2", "control.power_120", "control.normally_closed"),
        Rule::Chatters,
    ),
    (
        "compressor-120",
        Move("10", "supply.ground", "breaker.load"),
        Rule::FrameLive,
    ),
    (
        "compressor-120",
        Move("4", "compressor.line1", "control.power_120"),
        Rule::FanApart,
    ),
    (
        "compressor-120",
        Both(
            &Move("1", "supply.hot", "supply.neutral"),
            &Move("6", "supply.neutral", "supply.hot"),
        ),
        Rule::ProtectionInNeutral,
    ),
    (
        "compressor-120",
        Both(
            &Move("hot-to-common", "control.power_120", "control.power_common"),
            &Move("7", "control.power_common", "control.power_120"),
        ),
        Rule::NeutralSwitched,
    ),
];
