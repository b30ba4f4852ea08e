//! What can be wrong with a part, and installations in which it is.

use super::Installation;
use super::conductor::Sort;
use super::part::{Kind, Part, Protection};
use super::terminal::{PartId, Role, Tap, TerminalId};
pub use super::trouble::{RelayContact, Trouble};

/// A part and what is wrong with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fault {
    /// The part.
    pub part: PartId,
    /// What is wrong with it.
    pub trouble: Trouble,
}

impl Trouble {
    /// In words that follow the name of a part of this kind, as in "compressor: winding open".
    #[must_use]
    pub fn words(self, kind: &Kind) -> String {
        let contact = |contact| match contact {
            RelayContact::NormallyOpen => "normally open contact",
            RelayContact::NormallyClosed => "normally closed contact",
        };
        match self {
            Self::RelayWelded(which) => format!("{} welded", contact(which)),
            Self::RelayBurntOpen(which) => format!("{} burnt open", contact(which)),
            Self::Welded => "contacts welded".to_owned(),
            Self::BurntOpen => "contacts burnt open".to_owned(),
            Self::StuckClosed => "stuck closed".to_owned(),
            Self::StuckOpen => "stuck open".to_owned(),
            Self::WindingOpen => format!("{} open", kind.current_path()),
            Self::WindingShorted => format!("{} shorted", kind.current_path()),
            Self::Blown => "blown".to_owned(),
            Self::Tripped => "tripped".to_owned(),
            Self::Off => "off its terminal".to_owned(),
            Self::Missing => "missing".to_owned(),
            Self::LegLost(leg) => format!("{leg} lost"),
            Self::WrongTap(tap) => format!("fed at {}, the wrong tap", tap.role()),
            Self::ProbeOpen => "probe open".to_owned(),
            Self::ProbeShorted => "probe shorted".to_owned(),
            Self::BoardDead => "board dead".to_owned(),
        }
    }
}

impl Kind {
    /// What the current goes through in a load, where [`Trouble::WindingOpen`] breaks it.
    fn current_path(&self) -> &'static str {
        match self {
            Self::Valve(_) | Self::Contactor(_) => "coil",
            Self::Transformer(_) => "primary",
            Self::Heater(_) => "element",
            Self::Lamp(_) => "filament",
            Self::Motor(_)
            | Self::Supply(_)
            | Self::Conductor(_)
            | Self::Overcurrent(_)
            | Self::Device(_)
            | Self::Control(_) => "winding",
        }
    }

    /// Every way in which the kind is known to fail, whether or not a meter can tell it.
    fn troubles(&self) -> Vec<Trouble> {
        match self {
            Self::Supply(supply) => supply
                .service
                .legs()
                .into_iter()
                .map(|(role, _)| Trouble::LegLost(role))
                .collect(),
            Self::Transformer(_)
            | Self::Motor(_)
            | Self::Valve(_)
            | Self::Heater(_)
            | Self::Lamp(_) => vec![Trouble::WindingOpen, Trouble::WindingShorted],
            Self::Conductor(conductor) => match conductor.sort {
                Sort::Wire => vec![Trouble::Off],
                Sort::Jumper => vec![Trouble::Missing],
            },
            Self::Overcurrent(overcurrent) => match overcurrent.protection {
                Protection::Fuse => vec![Trouble::Blown],
                Protection::Breaker => vec![Trouble::Tripped],
            },
            Self::Device(_) => vec![Trouble::StuckClosed, Trouble::StuckOpen],
            Self::Control(_) => vec![
                Trouble::RelayWelded(RelayContact::NormallyOpen),
                Trouble::RelayBurntOpen(RelayContact::NormallyOpen),
                Trouble::RelayWelded(RelayContact::NormallyClosed),
                Trouble::RelayBurntOpen(RelayContact::NormallyClosed),
                Trouble::ProbeOpen,
                Trouble::ProbeShorted,
                Trouble::BoardDead,
            ],
            Self::Contactor(_) => vec![
                Trouble::WindingOpen,
                Trouble::WindingShorted,
                Trouble::Welded,
                Trouble::BurntOpen,
            ],
        }
    }
}

impl Installation {
    /// Every way in which this part is known to fail.
    ///
    /// Contacts of the relay and taps of the power input count only where something is wired to them.
    #[must_use]
    pub fn faults_of(&self, id: PartId) -> Vec<Fault> {
        let part = self.part(id);
        let mut troubles = part.kind.troubles();
        if let Kind::Control(control) = &part.kind {
            troubles.retain(|trouble| {
                if let Trouble::RelayWelded(contact) | Trouble::RelayBurntOpen(contact) = trouble {
                    self.is_wired(part, contact.role())
                } else {
                    true
                }
            });
            let others = control
                .taps
                .iter()
                .filter(|tap| !self.is_wired(part, tap.role()));
            troubles.extend(others.map(|tap| Trouble::WrongTap(*tap)));
        }
        troubles
            .into_iter()
            .map(|trouble| Fault { part: id, trouble })
            .collect()
    }

    /// Every single fault of every part.
    pub fn faults(&self) -> impl Iterator<Item = Fault> {
        self.parts().flat_map(|(id, _)| self.faults_of(id))
    }

    /// This installation with one more fault in it.
    ///
    /// A [`Trouble::WrongTap`] moves the conductors that feed the control's power input.
    #[must_use]
    pub fn with_fault(&self, fault: Fault) -> Self {
        let mut faulty = self.clone();
        if let Trouble::WrongTap(tap) = fault.trouble {
            faulty.move_to_tap(fault.part, tap);
        }
        let troubles = &mut faulty.parts[fault.part.index()].troubles;
        if !troubles.contains(&fault.trouble) {
            troubles.push(fault.trouble);
        }
        faulty
    }

    /// This installation with all of these faults in it, however many.
    #[must_use]
    pub fn with_faults(&self, faults: impl IntoIterator<Item = Fault>) -> Self {
        faults
            .into_iter()
            .fold(self.clone(), |faulty, fault| faulty.with_fault(fault))
    }

    /// What a person calls the fault.
    #[must_use]
    pub fn fault_words(&self, fault: Fault) -> String {
        let trouble = fault.trouble.words(&self.part(fault.part).kind);
        format!("{}: {trouble}", self.part_words(fault.part))
    }

    fn is_wired(&self, part: &Part, role: Role) -> bool {
        part.terminal(role)
            .is_some_and(|terminal| self.conductors_at(terminal).next().is_some())
    }

    /// Moves what feeds the power input at a tap; a jumper to the relay stays on the feed.
    fn move_to_tap(&mut self, control: PartId, tap: Tap) {
        let part = self.part(control);
        let Kind::Control(spec) = &part.kind else {
            return;
        };
        let Some(to) = part.terminal(tap.role()) else {
            return;
        };
        let taps: Vec<TerminalId> = spec
            .taps
            .iter()
            .filter_map(|tap| part.terminal(tap.role()))
            .collect();
        for moved in &mut self.parts {
            if let Kind::Conductor(conductor) = &mut moved.kind {
                for end in &mut conductor.ends {
                    if taps.contains(end) {
                        *end = to;
                    }
                }
            }
        }
    }
}
