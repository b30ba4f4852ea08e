//! What can be wrong with the wiring, and how bad it is.

use std::fmt;

use hysteron_installation::terminal::PartId;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Can kill, burn or destroy.
    Danger,
    /// Will not work, or not for long.
    Error,
    /// Works, but against good practice or close to a limit.
    Warning,
    /// Worth knowing.
    Note,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Danger => "danger",
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        })
    }
}

macro_rules! rules {
    ($($(#[$doc:meta])* $rule:ident = $words:literal;)*) => {
        /// What was looked for.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule {
            $($(#[$doc])* $rule,)*
        }

        impl Rule {
            /// Every rule.
            pub const ALL: &[Self] = &[$(Self::$rule),*];

            /// In words.
            #[must_use]
            pub fn words(self) -> &'static str {
                match self {
                    $(Self::$rule => $words,)*
                }
            }
        }
    };
}

rules! {
    /// Two points of a source are joined by metal.
    ShortCircuit = "short circuit";
    /// Legs of two sources are joined by metal.
    SuppliesTied = "supplies tied together";
    /// Current returns to another supply than the one it came from.
    ReturnOnOtherSupply = "return on another supply";
    /// A leg reaches a load without fuse or breaker.
    NoOvercurrentProtection = "no overcurrent protection";
    /// A fuse or breaker carries so much that it opens within a second.
    OpensAtOnce = "overcurrent protection opens at once";
    /// A fuse or breaker opens the grounded conductor.
    ProtectionInNeutral = "overcurrent protection in the neutral";
    /// The metal of a load is not connected to the ground bar.
    FrameNotGrounded = "frame not grounded";
    /// The metal of a load stands at a dangerous voltage.
    FrameLive = "frame live";
    /// Load current flows in the equipment ground.
    GroundCarriesCurrent = "ground carries load current";
    /// Neutral and ground are joined again after the supply.
    NeutralGroundedTwice = "neutral grounded twice";
    /// A transformer's secondary floats.
    SecondaryNotGrounded = "secondary not grounded";
    /// The control is fed at a tap that is not for this voltage.
    WrongTap = "wrong tap";
    /// The control gets no voltage.
    ControlUnpowered = "control not powered";
    /// The relay's common is fed by nothing.
    MissingJumper = "missing jumper";
    /// Something is connected to no supply.
    ConnectedToNothing = "connected to nothing";
    /// Both ends of a load are on the same point of a supply.
    NoVoltageAcross = "no voltage across the load";
    /// A load is made for another voltage.
    WrongVoltage = "wrong voltage for the load";
    /// Loads share a voltage because they are in series.
    LoadsInSeries = "loads in series";
    /// Too much voltage is lost on the way.
    VoltageDrop = "voltage drop";
    /// A load runs while the control is satisfied, and not while it calls.
    RunsWhenSatisfied = "runs when satisfied";
    /// A condenser fan rests while its compressor runs, or runs alone.
    FanApart = "condenser fan apart from its compressor";
    /// The control has no say over a load that it should switch.
    NotSwitched = "not switched by the control";
    /// Metal lies around a contact.
    ContactBypassed = "contact bypassed";
    /// Opening a contact changes nothing.
    OutOfCircuit = "out of circuit";
    /// A contact opens the grounded conductor.
    NeutralSwitched = "neutral switched";
    /// One pole opens one of two legs, and the load stays live to ground.
    LiveWhenOff = "live when off";
    /// A contact switches more than it may.
    ContactOverloaded = "contact overloaded";
    /// A fuse or breaker is too small for what it feeds.
    ProtectionTooSmall = "overcurrent protection too small";
    /// A fuse or breaker is too large for a conductor.
    ProtectionTooLarge = "overcurrent protection too large";
    /// A conductor carries more than it may.
    ConductorTooSmall = "conductor too small";
    /// A transformer gives more than it may.
    TransformerOverloaded = "transformer overloaded";
    /// A coil does not work over the whole band of its supply.
    CoilOutsideBand = "coil outside its band";
    /// The control does not work over the whole band of its supply.
    ControlOutsideBand = "control outside its band";
    /// A coil pulls in, loses its voltage by that, and lets go.
    Chatters = "chatters";
    /// Two conductors run between the same two terminals.
    ParallelConductors = "parallel conductors";
}

/// One thing that is wrong, or worth knowing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What was looked for.
    pub rule: Rule,
    /// How bad it is.
    pub severity: Severity,
    /// The parts concerned, the one most likely to blame first.
    pub places: Vec<PartId>,
    /// What is so.
    pub what: String,
    /// Why that is bad.
    pub why: String,
    /// What to do about it.
    pub remedy: String,
}
