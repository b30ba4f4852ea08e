//! What all rules look at: the metal in every position, and the circuit at rest in each.

use hysteron_installation::Installation;
use hysteron_installation::circuit::{Circuit, Solution};
use hysteron_installation::graph::Graph;
use hysteron_installation::load::Supplied;
use hysteron_installation::part::Kind;
use hysteron_installation::settle::Settled;
use hysteron_installation::state::{Contacts, RelayArmature, State};
use hysteron_installation::terminal::{PartId, PartSet, Role, TerminalId};

/// A point that drives the circuit: a leg, a neutral, an end of a secondary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Source {
    pub part: PartId,
    pub role: Role,
    pub terminal: TerminalId,
}

impl Source {
    /// Whether it stands at a voltage to ground by design.
    pub(super) fn is_leg(self) -> bool {
        matches!(self.role, Role::Hot | Role::Leg(_))
    }

    /// Whether it is an end of a transformer's secondary.
    pub(super) fn is_secondary(self) -> bool {
        matches!(self.role, Role::Secondary1 | Role::Secondary2)
    }
}

/// Both positions of the relay: what hangs on either contact must be right.
pub(super) const POSITIONS: [RelayArmature; 2] =
    [RelayArmature::Energised, RelayArmature::Released];

/// The circuit, surveyed.
pub(super) struct Context<'c> {
    pub circuit: &'c Circuit,
    /// At rest with the relay released.
    pub released: Settled<'c>,
    /// At rest with the relay asked to be energised.
    pub energised: Settled<'c>,
    /// The metal with everything closed: released and energised, contactors let go and pulled in.
    pub closed: Vec<(Contacts, Graph)>,
    /// The metal with nothing but conductors.
    pub wires: Graph,
    pub sources: Vec<Source>,
}

impl<'c> Context<'c> {
    pub(super) fn of(circuit: &'c Circuit) -> Self {
        let installation = circuit.installation();
        let armatures: PartSet = installation
            .parts()
            .filter(|(_, part)| part.kind.coil().is_some())
            .map(|(id, _)| id)
            .collect();
        let mut closed = Vec::new();
        for relay in POSITIONS {
            for pulled_in in [armatures, PartSet::EMPTY] {
                let contacts = Contacts {
                    relay,
                    pulled_in,
                    tripped: PartSet::EMPTY,
                };
                let graph = Graph::of(installation, &State::default(), &contacts, |_| true);
                closed.push((contacts, graph));
            }
        }
        let is_wire = |id: PartId| installation.part(id).kind.as_conductor().is_some();
        let wires = Graph::of(
            installation,
            &State::default(),
            &Contacts::default(),
            is_wire,
        );
        let asked = State::default().with_relay(RelayArmature::Energised);
        Self {
            circuit,
            released: circuit.settle(&State::default()),
            energised: circuit.settle(&asked),
            closed,
            wires,
            sources: sources(installation),
        }
    }

    pub(super) fn installation(&self) -> &'c Installation {
        self.circuit.installation()
    }

    pub(super) fn words(&self, part: PartId) -> String {
        self.installation().part_words(part)
    }

    pub(super) fn name(&self, terminal: TerminalId) -> String {
        self.installation().terminal_name(terminal)
    }

    /// Terminals as a list in words.
    pub(super) fn names(&self, terminals: &[TerminalId]) -> String {
        let names: Vec<String> = terminals.iter().map(|&id| self.name(id)).collect();
        names.join(", ")
    }

    /// Parts as a list in words.
    pub(super) fn list(&self, parts: &[PartId]) -> String {
        let words: Vec<String> = parts.iter().map(|&id| self.words(id)).collect();
        words.join(", ")
    }

    /// The two settled cases, released first.
    pub(super) fn cases(&self) -> [&Settled<'c>; 2] {
        [&self.released, &self.energised]
    }

    /// Whether a load works in either case.
    pub(super) fn ever_works(&self, load: PartId) -> bool {
        self.cases().iter().any(|case| works(&case.solution, load))
    }

    /// The conductors of a path, those first whose removal leaves most loads at work.
    ///
    /// A conductor that nothing needs is the one that should not be there.
    pub(super) fn suspects(&self, path: &[PartId]) -> Vec<PartId> {
        use hysteron_installation::fault::{Fault, Trouble};
        let mut suspects: Vec<(usize, PartId)> = path
            .iter()
            .filter(|&&id| self.installation().part(id).kind.as_conductor().is_some())
            .map(|&part| {
                let trouble = Trouble::Off;
                let without = self.installation().with_fault(Fault { part, trouble });
                let circuit = Circuit::new(without);
                let asked = State::default().with_relay(RelayArmature::Energised);
                let settled = [State::default(), asked].map(|state| circuit.settle(&state));
                let working = circuit
                    .installation()
                    .loads()
                    .filter(|load| settled.iter().any(|case| works(&case.solution, load.part)))
                    .count();
                (working, part)
            })
            .collect();
        suspects.sort_by(|(one, _), (other, _)| other.cmp(one));
        suspects.into_iter().map(|(_, part)| part).collect()
    }

    /// The circuit with this one contact opened and every other armature where it was, the
    /// relay asked to be `relay`: what a contact breaks itself, and not through a coil.
    pub(super) fn opened(&self, contact: PartId, relay: RelayArmature) -> Solution<'c> {
        let case = self.case(relay);
        let state = State::default().with_relay(relay);
        let (state, contacts) = match &self.installation().part(contact).kind {
            Kind::Control(_) => {
                let relay = match relay {
                    RelayArmature::Energised => RelayArmature::Released,
                    RelayArmature::Released => RelayArmature::Energised,
                };
                let contacts = Contacts {
                    relay,
                    ..case.contacts
                };
                (state, contacts)
            }
            Kind::Contactor(_) => {
                let contacts = Contacts {
                    pulled_in: case.contacts.pulled_in.without(contact),
                    ..case.contacts
                };
                (state, contacts)
            }
            Kind::Device(_)
            | Kind::Overcurrent(_)
            | Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Motor(_)
            | Kind::Valve(_)
            | Kind::Heater(_)
            | Kind::Lamp(_) => (state.with_open(PartSet::EMPTY.with(contact)), case.contacts),
        };
        self.circuit.solve(&state, &contacts)
    }

    /// The settled case with the relay asked to be so.
    pub(super) fn case(&self, relay: RelayArmature) -> &Settled<'c> {
        match relay {
            RelayArmature::Released => &self.released,
            RelayArmature::Energised => &self.energised,
        }
    }

    /// The conductors by which metal brings a terminal to a source, in any position of the
    /// contacts that `fits`, nearest source first.
    pub(super) fn feed(
        &self,
        terminal: TerminalId,
        fits: impl Fn(&Contacts) -> bool,
    ) -> Vec<PartId> {
        self.closed
            .iter()
            .filter(|(contacts, _)| fits(contacts))
            .find_map(|(_, graph)| {
                self.sources
                    .iter()
                    .find_map(|source| graph.path(source.terminal, terminal))
            })
            .unwrap_or_default()
            .into_iter()
            .filter(|&part| self.installation().part(part).kind.as_conductor().is_some())
            .collect()
    }

    /// Whether a short circuit has opened something in any case, so that voltages and
    /// currents say nothing about how the rest is wired.
    pub(super) fn is_shorted(&self) -> bool {
        let open = |case: &Settled<'_>| !case.contacts.tripped.is_empty();
        self.cases().into_iter().any(open)
    }
}

/// Whether a load has what it needs.
pub(super) fn works(solution: &Solution<'_>, load: PartId) -> bool {
    matches!(solution.supplied(load), Supplied::Right | Supplied::High)
}

fn sources(installation: &Installation) -> Vec<Source> {
    let mut sources = Vec::new();
    for (part, spec) in installation.parts() {
        let driven = matches!(spec.kind, Kind::Supply(_) | Kind::Transformer(_));
        for &(role, terminal) in spec.terminals() {
            let leg = matches!(
                role,
                Role::Hot | Role::Leg(_) | Role::Neutral | Role::Secondary1 | Role::Secondary2
            );
            if driven && leg {
                sources.push(Source {
                    part,
                    role,
                    terminal,
                });
            }
        }
    }
    sources
}

/// The conductors at a part; at the control, those of its relay.
pub(super) fn conductors_of(context: &Context<'_>, part: PartId) -> Vec<PartId> {
    let installation = context.installation();
    let roles = |role: Role| {
        matches!(
            role,
            Role::RelayCommon | Role::NormallyOpen | Role::NormallyClosed
        ) || !matches!(installation.part(part).kind, Kind::Control(_))
    };
    installation
        .part(part)
        .terminals()
        .iter()
        .filter(|(role, _)| roles(*role))
        .flat_map(|&(_, terminal)| installation.conductors_at(terminal))
        .collect()
}
