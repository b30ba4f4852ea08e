//! What happens to an installation in the course of a scenario.

use std::sync::Arc;

use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use hysteron_installation::Installation;
use hysteron_installation::fault::Fault;
use hysteron_installation::terminal::PartId;

/// One thing that happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Happening {
    /// The door stands wide open while it lasts.
    DoorOpens,
    /// The air around has this temperature while it lasts, whatever the ambient says, in °C.
    AmbientIs(f64),
    /// The air around is this much warmer than the ambient says while it lasts, in K.
    AmbientShifts(f64),
    /// An equal mass of the contents makes room for this.
    ProductLoaded {
        /// How much, in kg.
        mass_kg: f64,
        /// How warm it arrives, in °C.
        temperature_c: f64,
    },
    /// People, lights, breathing product: heat brought in while it lasts, in W.
    HeatAdded(f64),
    /// Water is drawn from a tank while it lasts, in kg/s.
    WaterDrawn(f64),
    /// A wire of the probe is broken while it lasts.
    ProbeOpens,
    /// The wires of the probe touch while it lasts.
    ProbeShorts,
    /// The reading stands still while it lasts.
    ProbeFreezes,
    /// The reading moves away from the truth at this rate while it lasts, in K/h.
    ProbeDrifts(f64),
    /// The reading is wrong by this while it lasts, in K.
    ProbeJumps(f64),
    /// The supply falls to this share of its rated voltage while it lasts.
    SupplyDips(f64),
    /// The supply is gone while it lasts.
    PowerCut,
    /// A person asks for these settings.
    SettingsChange(Box<Settings>),
    /// The settings lock is on while it lasts.
    SettingsLocked,
    /// The control is switched off while it lasts.
    SwitchedOff,
    /// A person releases the lockout.
    LockoutReleased,
    /// This share of full flow passes the closed liquid-line valve while it lasts.
    ValveLeaks(f64),
    /// The relay's contact stays closed while it lasts, whatever the coil does.
    ContactWelds,
    /// The relay's contact stays open while it lasts, whatever the coil does.
    ContactBurns,
    /// A part of the installation fails while it lasts.
    PartFails(PartFailure),
    /// A fuse is replaced or a breaker reset that the electricity itself has opened.
    ProtectionRestored(NamedPart),
    /// The clock that the control is given moves by this at once, in s; back where negative.
    ClockJumps(f64),
    /// The clock that the control is given stands still while it lasts.
    ClockStops,
}

/// A part of the scenario's installation.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NamedPart {
    /// Which.
    pub id: PartId,
    /// What a person calls it.
    pub words: Arc<str>,
}

impl NamedPart {
    /// The part `id` of this installation.
    #[must_use]
    pub fn of(installation: &Installation, id: PartId) -> Self {
        Self {
            id,
            words: installation.part_words(id).into(),
        }
    }
}

/// A part of the scenario's installation, and what becomes wrong with it.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFailure {
    /// The part.
    pub part: NamedPart,
    /// What becomes wrong with it.
    pub fault: Fault,
    words: Arc<str>,
}

impl PartFailure {
    /// This fault of this installation.
    #[must_use]
    pub fn of(installation: &Installation, fault: Fault) -> Self {
        Self {
            part: NamedPart::of(installation, fault.part),
            fault,
            words: installation.fault_words(fault).into(),
        }
    }

    /// What a person says of it.
    pub(super) fn words(&self) -> &str {
        &self.words
    }
}

/// What of the installation a happening takes hold of. Two happenings never hold the same thing at once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hold {
    /// The door.
    Door,
    /// The air around.
    Ambient,
    /// Heat brought in.
    Heat,
    /// Water drawn.
    Draw,
    /// The probe and its wires.
    Probe,
    /// The supply.
    Supply,
    /// The relay's contact.
    Contact,
    /// The liquid-line valve.
    Valve,
    /// The settings lock.
    Lock,
    /// The switch of the control.
    Switch,
    /// The control's clock.
    Clock,
    /// A part of the installation.
    Part(NamedPart),
}

/// What is said of a hold.
struct HoldRow<'h> {
    /// What is held.
    held: &'h str,
    /// What happens when it is let go.
    let_go: &'static str,
    /// Whether a file can let it go on purpose, by these words.
    mending: Mending,
}

#[derive(Clone, Copy)]
enum Mending {
    /// It ends by itself only.
    Never,
    /// A file says when.
    OnPurpose,
}

impl Hold {
    /// Every hold, those of parts aside.
    const ALL: [Self; 11] = [
        Self::Probe,
        Self::Ambient,
        Self::Contact,
        Self::Valve,
        Self::Lock,
        Self::Switch,
        Self::Door,
        Self::Heat,
        Self::Draw,
        Self::Supply,
        Self::Clock,
    ];

    fn row(&self) -> HoldRow<'_> {
        use Mending::{Never, OnPurpose};
        let (held, let_go, mending) = match self {
            Self::Door => ("the door", "door closes", Never),
            Self::Ambient => ("the ambient", "ambient returns", OnPurpose),
            Self::Heat => ("the heat added", "no more heat is added", Never),
            Self::Draw => ("the draw of water", "no more water is drawn", Never),
            Self::Probe => ("the probe", "probe recovers", OnPurpose),
            Self::Supply => ("the supply", "supply returns", Never),
            Self::Contact => ("the contact", "contact is freed", OnPurpose),
            Self::Valve => ("the liquid-line valve", "valve is replaced", OnPurpose),
            Self::Lock => ("the settings lock", "settings are unlocked", OnPurpose),
            Self::Switch => ("the control's switch", "control is switched on", OnPurpose),
            Self::Clock => ("the clock", "clock goes on", Never),
            Self::Part(part) => (&*part.words, "part is mended", OnPurpose),
        };
        HoldRow {
            held,
            let_go,
            mending,
        }
    }

    /// What is held, in words.
    #[must_use]
    pub fn words(&self) -> &str {
        self.row().held
    }

    /// What a file says where this hold is let go on purpose.
    #[must_use]
    pub fn mended_by(&self) -> Option<&'static str> {
        match self.row().mending {
            Mending::Never => None,
            Mending::OnPurpose => Some(self.let_go_words()),
        }
    }

    /// What happens when it is let go, in words.
    #[must_use]
    pub fn let_go_words(&self) -> &'static str {
        self.row().let_go
    }

    /// Every hold that can be let go on purpose, those of parts aside, with what a file says then.
    pub fn mendable() -> impl Iterator<Item = (&'static str, Self)> {
        Self::ALL
            .into_iter()
            .filter_map(|hold| Some((hold.mended_by()?, hold)))
    }
}

/// How long a happening goes on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lasting {
    /// It is over at once.
    Moment,
    /// It holds something for a time that must be given.
    ForATime(Hold),
    /// It holds something for a time, or until it is mended, or to the end of the scenario.
    UntilMended(Hold),
}

impl Happening {
    /// What becomes wrong with which part, if that is what happens.
    pub(super) const fn failure(&self) -> Option<&PartFailure> {
        if let Self::PartFails(failure) = self {
            Some(failure)
        } else {
            None
        }
    }
}

/// Whether a happening begins or is over.
#[derive(Debug, Clone, PartialEq)]
pub enum Edge {
    /// It begins; a [`Lasting::Moment`] is over at once.
    Begins(Happening),
    /// What was held is let go.
    Ends(Hold),
}

/// One entry of a case's timeline.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedEdge {
    /// Time since the scenario began.
    pub at: Duration,
    /// What begins or ends then.
    pub edge: Edge,
}
