//! Who is fed in a scenario's installation: the circuit, asked when something has changed.

use hysteron_logic::contact::Feedback;
use hysteron_logic::guard::Relay;

use crate::record::entry::Amiss;
use crate::run::conditions::Conditions;
use crate::run::feed::{BoardSupply, Feed, PressureContacts};
use crate::run::supply::feedback_at;
use crate::scenario::happening::NamedPart;
use crate::scenario::installation_name::Wiring;
use hysteron_installation::bank::{Electrical, LoadBank};
use hysteron_installation::fault::{Fault, Trouble};
use hysteron_installation::load::Motor;
use hysteron_installation::part::Kind;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartId, PartSet};
use hysteron_plant::{Door, FanSupply, Load, PressureContact};

/// The circuit with everything that is wrong with it, and beside it the same one without.
#[derive(Debug, Clone)]
pub struct FedByCircuit {
    wiring: Wiring,
    bank: LoadBank,
    /// How it should be; what differs is worth telling.
    sound: LoadBank,
    /// What the input of the contact's feedback is made for: the voltage that it sees when the
    /// relay of the sound installation closes on its nominal supplies.
    feedback_nominal_v: f64,
    faults: Vec<Fault>,
    supply_permille: u16,
    door: Door,
    /// Something was closed again, and nobody has looked since.
    restored: bool,
    motors: PartSet,
    turning: PartSet,
    told: Told,
}

/// What was told since something last happened, so that it is told once.
#[derive(Debug, Clone, Copy, Default)]
struct Told {
    unfed: PartSet,
    unasked: PartSet,
    tripped: PartSet,
}

impl FedByCircuit {
    /// All is sound and rests.
    pub fn new(wiring: &Wiring) -> Self {
        let bank = LoadBank::new(wiring.installation.clone());
        let mut sound = bank.clone();
        let closed = State {
            relay: RelayArmature::Energised,
            ..State::default()
        };
        let feedback_nominal_v = sound.energised(&closed).load_side_v;
        let parts = wiring.installation.parts();
        Self {
            wiring: wiring.clone(),
            sound,
            bank,
            feedback_nominal_v,
            faults: Vec::new(),
            supply_permille: 1000,
            door: Door::Closed,
            restored: false,
            motors: parts
                .filter(|(_, part)| part.kind.is_motor())
                .map(|(id, _)| id)
                .collect(),
            turning: PartSet::EMPTY,
            told: Told::default(),
        }
    }

    /// Takes over what has happened, and says whether that changes anything here.
    pub fn suffer(&mut self, conditions: &Conditions) -> bool {
        let supply_permille = (conditions.supply * 1e3).round() as u16;
        let faults = || conditions.faults(self.wiring.roles.control);
        let same_faults = faults().eq(self.faults.iter().copied());
        let switches = !self.wiring.roles.door_switches.is_empty();
        let moved = (switches && conditions.door != self.door) || self.restored;
        self.door = conditions.door;
        self.restored = false;
        if same_faults && supply_permille == self.supply_permille {
            return moved;
        }
        self.supply_permille = supply_permille;
        self.told = Told {
            tripped: self.told.tripped,
            ..Told::default()
        };
        if !same_faults {
            self.faults = faults().collect();
            let faults = self.faults.iter().copied();
            let faulty = self.wiring.installation.with_faults(faults);
            self.bank.become_installation(faulty);
        }
        true
    }

    /// Closes a fuse or breaker that the electricity has opened.
    pub fn mend(&mut self, part: PartId) {
        self.bank.restore(part);
        self.restored = true;
        self.told = Told {
            tripped: self.told.tripped.without(part),
            ..Told::default()
        };
    }

    /// Who is fed now; `tell` hears what is not as it should be.
    pub fn feed(
        &mut self,
        relay: Relay,
        pressures: PressureContacts,
        tell: impl FnMut(Amiss),
    ) -> Feed {
        let state = State {
            relay: match relay {
                Relay::Open => RelayArmature::Released,
                Relay::Closed => RelayArmature::Energised,
            },
            open: self.open(pressures),
            ..State::default().with_supplies(self.supply_permille)
        };
        self.start_motors(&state);
        let electrical = self.bank.energised(&state).clone();
        self.tell_what_is_amiss(&electrical, &state, tell);
        let load = |parts: &[PartId]| self.load(&electrical, parts);
        let roles = &self.wiring.roles;
        let fan = |fans: &[PartId]| match load(fans) {
            Load::Off if !fans.is_empty() => FanSupply::Dead,
            Load::Off | Load::Running { .. } => FanSupply::Energised,
        };
        Feed {
            board: if self.control_works(&electrical) {
                BoardSupply::Works
            } else {
                BoardSupply::Fails
            },
            load: load(&roles.switched),
            condensing_unit: load(&roles.condensing_unit),
            evaporator_fan: fan(&roles.evaporator_fans),
            condenser_fan: fan(&roles.condenser_fans),
            feedback: self.feedback(electrical.load_side_v),
        }
    }

    fn feedback(&self, load_side_v: f64) -> Feedback {
        if load_side_v > 0.0 {
            feedback_at(load_side_v / self.feedback_nominal_v)
        } else {
            Feedback::Open
        }
    }

    pub const fn watches_head_pressure(&self) -> bool {
        !self.wiring.roles.high_pressure_controls.is_empty()
    }

    /// The contacts that stand open because of pressures and door.
    fn open(&self, pressures: PressureContacts) -> PartSet {
        let roles = &self.wiring.roles;
        let low_pressure = match pressures.low {
            PressureContact::Open => &roles.low_pressure_controls[..],
            PressureContact::Closed => &[],
        };
        let high_pressure = match pressures.high {
            PressureContact::Open => &roles.high_pressure_controls[..],
            PressureContact::Closed => &[],
        };
        let door = match self.door {
            Door::Open => &roles.door_switches[..],
            Door::Closed => &[],
        };
        let open = low_pressure.iter().chain(high_pressure).chain(door);
        open.copied().collect()
    }

    /// Solves the first moment of every start, with rotors that still stand: their current may
    /// open a breaker, or leave them too little voltage to start on. What cannot start is taken
    /// off by its overload protector until something changes.
    fn start_motors(&mut self, state: &State) {
        let fed = fed_motors(self.bank.energised(state), self.motors, 0.2);
        let starting = fed.without_all(self.turning);
        let stays = fed.without_all(starting);
        if starting.is_empty() {
            self.turning = stays;
            return;
        }
        let first_moment = self.bank.energised(&state.with_starting(starting));
        let started = fed_motors(first_moment, starting, Motor::STALL_FRACTION);
        self.turning = stays.with_all(started);
    }

    /// How hard these parts work together, each by its share of the rated power.
    fn load(&self, electrical: &Electrical, parts: &[PartId]) -> Load {
        let (mut rated, mut working) = (0.0, 0.0);
        for &id in parts {
            // What has no such figure counts as much as everything else that has none.
            let weight = self.bank.installation().part(id).kind.rated_power_w();
            let weight = weight.unwrap_or(1.0);
            rated += weight;
            working += weight * self.fraction(electrical, id);
        }
        if working > 0.0 {
            Load::Running {
                fraction: working / rated,
            }
        } else {
            Load::Off
        }
    }

    /// A motor keeps its speed until it stalls and a valve is open or shut; a heater gives the
    /// power that its current makes.
    fn fraction(&self, electrical: &Electrical, id: PartId) -> f64 {
        let part = self.bank.installation().part(id);
        let Some(load) = electrical.of(id) else {
            return 0.0;
        };
        let works = match &part.kind {
            _ if part.is_winding_broken() => false,
            Kind::Heater(resistance) | Kind::Lamp(resistance) => {
                let share = load.power_w / resistance.power_w;
                return if share > 1e-3 { share } else { 0.0 };
            }
            Kind::Motor(_) => self.turning.contains(id) && load.fraction >= Motor::STALL_FRACTION,
            Kind::Valve(_) | Kind::Contactor(_) => electrical.contacts.pulled_in.contains(id),
            Kind::Control(_) => electrical.works(id) && !part.suffers(Trouble::BoardDead),
            Kind::Supply(_)
            | Kind::Transformer(_)
            | Kind::Conductor(_)
            | Kind::Overcurrent(_)
            | Kind::Device(_) => false,
        };
        if works { 1.0 } else { 0.0 }
    }

    fn control_works(&self, electrical: &Electrical) -> bool {
        self.fraction(electrical, self.wiring.roles.control) > 0.0
    }

    /// Compares with the sound installation under full supply: who should be fed and is not, who
    /// is fed unasked, and what has opened on too much current.
    fn tell_what_is_amiss(
        &mut self,
        electrical: &Electrical,
        state: &State,
        mut tell: impl FnMut(Amiss),
    ) {
        if self.faults.is_empty()
            && self.supply_permille == 1000
            && electrical.contacts.tripped.is_empty()
        {
            return;
        }
        let named = |parts: PartSet| {
            let installation = &self.wiring.installation;
            let named = parts.iter().map(|id| NamedPart::of(installation, id));
            named.collect::<Vec<_>>()
        };
        let tripped = electrical.contacts.tripped.without_all(self.told.tripped);
        if !tripped.is_empty() {
            tell(Amiss::Opened(named(tripped)));
        }
        let should = self.sound.energised(&state.with_supplies(1000)).clone();
        let (mut unfed, mut unasked) = (PartSet::EMPTY, PartSet::EMPTY);
        for load in &should.loads {
            let works = self.fraction(electrical, load.part) > 0.0;
            match (should.works(load.part), works) {
                (true, false) => unfed = unfed.with(load.part),
                (false, true) => unasked = unasked.with(load.part),
                (true, true) | (false, false) => {}
            }
        }
        let news = unfed.without_all(self.told.unfed);
        if !news.is_empty() {
            tell(Amiss::Idle(named(news)));
        }
        let news = unasked.without_all(self.told.unasked);
        if !news.is_empty() {
            tell(Amiss::Unasked(named(news)));
        }
        self.told = Told {
            unfed: self.told.unfed.with_all(unfed),
            unasked: self.told.unasked.with_all(unasked),
            tripped: electrical.contacts.tripped,
        };
    }
}

/// Which of these motors stand at this fraction of their rated voltage or more.
fn fed_motors(electrical: &Electrical, motors: PartSet, least_fraction: f64) -> PartSet {
    let loads = electrical.loads.iter();
    loads
        .filter(|load| motors.contains(load.part) && load.fraction >= least_fraction)
        .map(|load| load.part)
        .collect()
}
