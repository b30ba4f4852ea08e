//! What a person asks of the control: refused, or carried out.

use super::{Changeover, Control, Origin, tell};
use crate::call::Call;
use crate::contact::Contact;
use crate::defrost::{Defrost, DefrostPlan};
use crate::event::{Event, Events};
use crate::input::{Command, CommandRefused, Input, SettingsLock};
use crate::lockout::Cause;
use crate::probe::Trust;
use crate::retained::Switch;
use crate::time::Instant;

/// What carrying out a command amounted to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Done {
    Plainly,
    ModeChanged,
}

impl Control {
    pub(super) fn obey(
        &mut self,
        now: Instant,
        input: &Input,
        events: &mut Events,
    ) -> Option<Result<(), CommandRefused>> {
        let command = input.command.as_ref()?;
        let answer = match input.lock {
            SettingsLock::Locked => Err(CommandRefused::SettingsLocked),
            SettingsLock::Unlocked => self.carry_out(now, command),
        };
        tell(
            events,
            match (answer, command) {
                (Err(_), _) => Event::CommandRefused,
                (Ok(Done::ModeChanged), _) => Event::ModeChanged,
                (Ok(Done::Plainly), Command::Change(_)) => Event::SettingsChanged,
                (Ok(Done::Plainly), Command::ReleaseLockout) => Event::LockoutReleased,
                (Ok(Done::Plainly), Command::SwitchOff) => Event::SwitchedOff,
                (Ok(Done::Plainly), Command::SwitchOn) => Event::SwitchedOn,
            },
        );
        Some(answer.map(|_| ()))
    }

    fn carry_out(&mut self, now: Instant, command: &Command) -> Result<Done, CommandRefused> {
        match command {
            Command::Change(settings) => {
                // Compared before the one copy: a whole set of settings is slow to move.
                let reads_alike = settings.read_the_probe_as(&self.settings);
                if self.settings.draft().defrost == DefrostPlan::Off {
                    // The first interval begins when there is one.
                    self.defrost = Defrost::at_power_up(now);
                }
                let mode_stays = settings.draft().mode == self.settings.draft().mode;
                self.settings = *settings;
                self.origin = Origin::Given;
                if !reads_alike {
                    self.probe.forget_readings(now);
                }
                if !mode_stays {
                    // How hard the one load worked says nothing of the other.
                    self.duty.forget();
                    self.call = Call::AT_POWER_UP;
                    self.changeover = Changeover::Pending;
                    self.alarms.give_grace(now);
                    return Ok(Done::ModeChanged);
                }
            }
            Command::ReleaseLockout => {
                let cause = self.lockout.cause().ok_or(CommandRefused::NotLockedOut)?;
                if let Some(standing) = self.standing(cause) {
                    return Err(CommandRefused::CauseStands(standing));
                }
                self.lockout.release();
            }
            Command::SwitchOff => self.switch = Switch::Off,
            Command::SwitchOn => self.switch = Switch::On,
        }
        Ok(Done::Plainly)
    }

    /// What still forbids a release, as far as can be seen: settings that
    /// nobody gave, whatever locked out first, or else what did.
    pub(super) fn standing(&self, cause: Cause) -> Option<Cause> {
        if self.origin == Origin::StandIn {
            return Some(Cause::UnreadableSettings);
        }
        let stands = match cause {
            Cause::HeatCeiling => match self.believed() {
                Some(temperature) => self.too_hot(temperature),
                None => self.too_hot_since.is_some(),
            },
            Cause::WeldedContact => self.contact == Contact::Welded,
            Cause::RepeatedProbeFaults => matches!(self.trust, Trust::Fault(_)),
            Cause::UnreadableSettings => false,
        };
        stands.then_some(cause)
    }
}
