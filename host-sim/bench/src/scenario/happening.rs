//! What happens to an installation in the course of a scenario.

use std::mem::discriminant;
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
    /// Its name in the file of the installation.
    pub name: Arc<str>,
    /// What a person calls it.
    pub words: Arc<str>,
}

impl NamedPart {
    /// The part `id` of this installation.
    #[must_use]
    pub fn of(installation: &Installation, id: PartId) -> Self {
        Self {
            id,
            name: installation.part(id).name.as_str().into(),
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

    /// What a person calls it, as in "compressor: winding open".
    #[must_use]
    pub fn words(&self) -> &str {
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
    /// What a file says where it is let go on purpose; absent where it ends by itself only.
    mended_by: Option<&'static str>,
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
        let (held, mended_by) = match self {
            Self::Door => ("the door", None),
            Self::Ambient => ("the ambient", Some("ambient returns")),
            Self::Heat => ("the heat added", None),
            Self::Draw => ("the draw of water", None),
            Self::Probe => ("the probe", Some("probe recovers")),
            Self::Supply => ("the supply", None),
            Self::Contact => ("the contact", Some("contact is freed")),
            Self::Valve => ("the liquid-line valve", Some("valve is replaced")),
            Self::Lock => ("the settings lock", Some("settings are unlocked")),
            Self::Switch => ("the control's switch", Some("control is switched on")),
            Self::Clock => ("the clock", None),
            Self::Part(part) => (&*part.words, Some("part is mended")),
        };
        HoldRow { held, mended_by }
    }

    /// What is held, in words.
    #[must_use]
    pub fn words(&self) -> &str {
        self.row().held
    }

    /// What a file says where this hold is let go on purpose.
    #[must_use]
    pub fn mended_by(&self) -> Option<&'static str> {
        self.row().mended_by
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
    /// Whether both are the same thing, done to the same part, whatever their figures.
    #[must_use]
    pub fn is_alike(&self, other: &Self) -> bool {
        match (self, other) {
            (
                Self::AmbientIs(_) | Self::AmbientShifts(_),
                Self::AmbientIs(_) | Self::AmbientShifts(_),
            ) => true,
            (Self::PartFails(one), Self::PartFails(other)) => one.fault == other.fault,
            (Self::ProtectionRestored(one), Self::ProtectionRestored(other)) => one == other,
            (one, other) => discriminant(one) == discriminant(other),
        }
    }

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

impl Edge {
    /// What it takes hold of or lets go; a [`Lasting::Moment`] holds nothing.
    #[must_use]
    pub fn hold(&self) -> Option<Hold> {
        match self {
            Self::Begins(happening) => match happening.lasting() {
                Lasting::Moment => None,
                Lasting::ForATime(hold) | Lasting::UntilMended(hold) => Some(hold),
            },
            Self::Ends(hold) => Some(hold.clone()),
        }
    }

    /// Whether both are the same thing, done to the same part, whatever their figures.
    #[must_use]
    pub fn is_alike(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Begins(one), Self::Begins(other)) => one.is_alike(other),
            (Self::Ends(one), Self::Ends(other)) => one == other,
            // Mended is mended, whoever had opened it.
            (Self::Begins(Happening::ProtectionRestored(one)), Self::Ends(Hold::Part(other)))
            | (Self::Ends(Hold::Part(one)), Self::Begins(Happening::ProtectionRestored(other))) => {
                one == other
            }
            (Self::Begins(_), Self::Ends(_)) | (Self::Ends(_), Self::Begins(_)) => false,
        }
    }
}

/// One entry of a case's timeline.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedEdge {
    /// Time since the scenario began.
    pub at: Duration,
    /// What begins or ends then.
    pub edge: Edge,
}
