//! What holds in the installation at the moment, as happenings come and go.

use hysteron_logic::control::{Command, SettingsLock};
use hysteron_logic::time::Duration;

use crate::probe::model::ProbeCondition;
use crate::scenario::happening::{Edge, Happening, Hold};
use hysteron_installation::fault::{Fault, RelayContact, Trouble};
use hysteron_installation::terminal::PartId;
use hysteron_plant::Door;

/// Who has the say over the relay's contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ContactCondition {
    /// The coil.
    #[default]
    Sound,
    /// Welded: closed whatever the coil does.
    Welded,
    /// Burnt: open whatever the coil does.
    Burnt,
}

/// How the air around differs from what the ambient says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum AmbientCondition {
    /// It does not.
    #[default]
    AsGiven,
    /// It has this temperature, in °C.
    Is(f64),
    /// It is this much warmer, in K.
    Shifted(f64),
}

/// What is wrong with the probe, and since when where that matters.
#[derive(Debug, Clone, Copy, PartialEq)]
enum ProbeTrouble {
    Steady(ProbeCondition),
    Drifting { since: Duration, k_per_h: f64 },
}

/// The clock that the control is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct ClockCondition {
    /// What it has been moved by, in ms.
    moved_ms: i64,
    stopped_at: Option<Duration>,
}

/// Everything that happenings hold.
#[derive(Debug, Clone)]
pub struct Conditions {
    /// The door.
    pub door: Door,
    /// The air around.
    pub ambient: AmbientCondition,
    /// Heat brought in, in W.
    pub heat_w: f64,
    /// Water drawn, in kg/s.
    pub draw_kg_s: f64,
    /// Voltage of the supply as a share of its rated one.
    pub supply: f64,
    /// The relay's contact.
    pub contact: ContactCondition,
    /// What is wrong with parts of the installation, the contact aside.
    faults: Vec<Fault>,
    /// Share of full flow that passes the closed liquid-line valve.
    pub valve_leak: f64,
    /// The settings lock.
    pub lock: SettingsLock,
    probe: ProbeTrouble,
    clock: ClockCondition,
}

/// What happens in a moment and must be acted on by whoever owns the bench.
#[derive(Debug, Clone, PartialEq)]
pub enum Impulse {
    /// A command for the control.
    Command(Box<Command>),
    /// Product of this mass and temperature takes the place of as much of the contents.
    Product {
        /// In kg.
        mass_kg: f64,
        /// In °C.
        temperature_c: f64,
    },
    /// This part is sound again; if it is a fuse or a breaker, it is closed.
    Mended(PartId),
}

/// How a board's clock tells the time, in milliseconds since its power-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToldTime {
    /// It goes with the bench's, ahead of it by this much.
    Running {
        /// Behind where negative, as by the time before the board was powered up.
        ahead_ms: i64,
    },
    /// It stands still.
    Stopped(u64),
}

impl ToldTime {
    /// What it tells at `now` on the bench's clock.
    #[inline]
    #[must_use]
    pub const fn at_ms(self, now: Duration) -> u64 {
        match self {
            Self::Running { ahead_ms } => {
                let told_ms = now.millis().wrapping_add_signed(ahead_ms);
                // A clock set back to before its beginning stands there.
                if told_ms > i64::MAX.unsigned_abs() {
                    0
                } else {
                    told_ms
                }
            }
            Self::Stopped(told_ms) => told_ms,
        }
    }
}

impl Default for Conditions {
    /// Nothing has happened.
    fn default() -> Self {
        Self {
            door: Door::Closed,
            ambient: AmbientCondition::AsGiven,
            heat_w: 0.0,
            draw_kg_s: 0.0,
            supply: 1.0,
            contact: ContactCondition::Sound,
            faults: Vec::new(),
            valve_leak: 0.0,
            lock: SettingsLock::Unlocked,
            probe: ProbeTrouble::Steady(ProbeCondition::Sound),
            clock: ClockCondition::default(),
        }
    }
}

impl Conditions {
    /// Lets an edge take effect at `now`; what is over in a moment is handed back.
    pub fn take(&mut self, now: Duration, edge: &Edge) -> Option<Impulse> {
        match edge {
            Edge::Begins(happening) => self.begin(now, happening),
            Edge::Ends(hold) => self.end(now, hold),
        }
    }

    /// What the probe suffers from at `now`.
    #[inline]
    #[must_use]
    pub fn probe(&self, now: Duration) -> ProbeCondition {
        match self.probe {
            ProbeTrouble::Steady(condition) => condition,
            ProbeTrouble::Drifting { since, k_per_h } => {
                let hours = now.less(since).millis() as f64 / 3.6e6;
                ProbeCondition::Off(k_per_h * hours)
            }
        }
    }

    /// Whether the probe's trouble grows from step to step.
    #[must_use]
    pub const fn probe_drifts(&self) -> bool {
        matches!(self.probe, ProbeTrouble::Drifting { .. })
    }

    /// Everything that is wrong with an installation whose control is this part.
    pub fn faults(&self, control: PartId) -> impl Iterator<Item = Fault> {
        let open = RelayContact::NormallyOpen;
        let contact = match self.contact {
            ContactCondition::Sound => None,
            ContactCondition::Welded => Some(Trouble::RelayWelded(open)),
            ContactCondition::Burnt => Some(Trouble::RelayBurntOpen(open)),
        };
        let contact = contact.map(|trouble| Fault {
            part: control,
            trouble,
        });
        self.faults.iter().copied().chain(contact)
    }

    /// How the clock of a board tells the time, given when it was powered up.
    #[must_use]
    pub fn told(&self, powered_since: Option<Duration>) -> ToldTime {
        let since_ms = powered_since.map_or(0, Duration::millis);
        let ahead_ms =
            (self.clock.moved_ms).saturating_sub(i64::try_from(since_ms).unwrap_or(i64::MAX));
        match self.clock.stopped_at {
            Some(stopped_at) => {
                ToldTime::Stopped(stopped_at.millis().saturating_add_signed(ahead_ms))
            }
            None => ToldTime::Running { ahead_ms },
        }
    }

    /// A board that is powered up anew at `now` has a clock of its own again, which stands
    /// still from its beginning where the clock does.
    pub fn power_up(&mut self, now: Duration) {
        self.clock.moved_ms = 0;
        self.clock.stopped_at = self.clock.stopped_at.map(|_| now);
    }

    fn begin(&mut self, now: Duration, happening: &Happening) -> Option<Impulse> {
        let steady = |condition| ProbeTrouble::Steady(condition);
        match happening {
            Happening::DoorOpens => self.door = Door::Open,
            Happening::AmbientIs(temperature_c) => {
                self.ambient = AmbientCondition::Is(*temperature_c);
            }
            Happening::AmbientShifts(by_k) => self.ambient = AmbientCondition::Shifted(*by_k),
            Happening::ProductLoaded {
                mass_kg,
                temperature_c,
            } => {
                return Some(Impulse::Product {
                    mass_kg: *mass_kg,
                    temperature_c: *temperature_c,
                });
            }
            Happening::HeatAdded(heat_w) => self.heat_w = *heat_w,
            Happening::WaterDrawn(draw_kg_s) => self.draw_kg_s = *draw_kg_s,
            Happening::ProbeOpens => self.probe = steady(ProbeCondition::Open),
            Happening::ProbeShorts => self.probe = steady(ProbeCondition::Shorted),
            Happening::ProbeFreezes => self.probe = steady(ProbeCondition::Frozen),
            Happening::ProbeJumps(by_k) => self.probe = steady(ProbeCondition::Off(*by_k)),
            Happening::ProbeDrifts(k_per_h) => {
                self.probe = ProbeTrouble::Drifting {
                    since: now,
                    k_per_h: *k_per_h,
                };
            }
            Happening::SupplyDips(share) => self.supply = *share,
            Happening::PowerCut => self.supply = 0.0,
            Happening::SettingsChange(settings) => return command(Command::Change(**settings)),
            Happening::SettingsLocked => self.lock = SettingsLock::Locked,
            Happening::SwitchedOff => return command(Command::SwitchOff),
            Happening::LockoutReleased => return command(Command::ReleaseLockout),
            Happening::ValveLeaks(share) => self.valve_leak = *share,
            Happening::ContactWelds => self.contact = ContactCondition::Welded,
            Happening::ContactBurns => self.contact = ContactCondition::Burnt,
            Happening::PartFails(failure) => self.faults.push(failure.fault),
            Happening::ProtectionRestored(part) => return Some(Impulse::Mended(part.id)),
            Happening::ClockJumps(by_s) => {
                let by_ms = (by_s * 1e3).round() as i64;
                self.clock.moved_ms = self.clock.moved_ms.saturating_add(by_ms);
            }
            Happening::ClockStops => self.clock.stopped_at = Some(now),
        }
        None
    }

    fn end(&mut self, now: Duration, hold: &Hold) -> Option<Impulse> {
        match hold {
            Hold::Door => self.door = Door::Closed,
            Hold::Ambient => self.ambient = AmbientCondition::AsGiven,
            Hold::Heat => self.heat_w = 0.0,
            Hold::Draw => self.draw_kg_s = 0.0,
            Hold::Probe => self.probe = ProbeTrouble::Steady(ProbeCondition::Sound),
            Hold::Supply => self.supply = 1.0,
            Hold::Contact => self.contact = ContactCondition::Sound,
            Hold::Part(part) => {
                self.faults.retain(|fault| fault.part != part.id);
                return Some(Impulse::Mended(part.id));
            }
            Hold::Valve => self.valve_leak = 0.0,
            Hold::Lock => self.lock = SettingsLock::Unlocked,
            Hold::Switch => return command(Command::SwitchOn),
            Hold::Clock => {
                // It goes on from where it stood.
                if let Some(stopped_at) = self.clock.stopped_at.take() {
                    let lost_ms = i64::try_from(now.less(stopped_at).millis()).unwrap_or(i64::MAX);
                    self.clock.moved_ms = self.clock.moved_ms.saturating_sub(lost_ms);
                }
            }
        }
        None
    }
}

fn command(command: Command) -> Option<Impulse> {
    Some(Impulse::Command(Box::new(command)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_stands_still_keeps_a_new_board_at_its_beginning() {
        let hour = Duration::from_hours;
        let minutes = Duration::from_minutes(6);
        let mut conditions = Conditions::default();
        let _ = conditions.take(hour(1), &Edge::Begins(Happening::ClockStops));
        assert_eq!(
            conditions.told(Some(Duration::ZERO)).at_ms(hour(3)),
            hour(1).millis()
        );
        conditions.power_up(hour(4));
        let told = |conditions: &Conditions, now| conditions.told(Some(hour(4))).at_ms(now);
        assert_eq!(told(&conditions, hour(4).and(minutes)), 0);
        let _ = conditions.take(hour(5), &Edge::Ends(Hold::Clock));
        assert_eq!(told(&conditions, hour(5).and(minutes)), minutes.millis());
    }
}
