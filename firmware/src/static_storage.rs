//! Room in static memory for what is too large for a short stack, and how it moves in.

use core::mem::MaybeUninit;

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use hysteron_logic::control::{Command, Control, Input, Retained};
use hysteron_logic::settings::Settings;

use crate::memory::Outgoing;
use crate::persistence::Persistence;
use crate::ports::ServiceLine;
use crate::service::Service;

/// Room for what is too large for a short stack. A board makes it static.
pub struct StaticStorage<L> {
    pub(crate) control: MaybeUninit<Control>,
    pub(crate) service: MaybeUninit<Service<L>>,
    pub(crate) input: MaybeUninit<Input>,
    pub(crate) outgoing: MaybeUninit<Outgoing>,
}

impl<L> Default for StaticStorage<L> {
    fn default() -> Self {
        Self::new()
    }
}

impl<L> StaticStorage<L> {
    /// Room that nothing has moved into.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            control: MaybeUninit::uninit(),
            service: MaybeUninit::uninit(),
            input: MaybeUninit::uninit(),
            outgoing: MaybeUninit::uninit(),
        }
    }
}

/// The place in the input for a whole set of settings, with some in it already.
#[inline(never)]
pub(crate) fn place_for_settings(input: &mut Input) -> Option<&mut Settings> {
    input.command = Some(Command::Change(Settings::DEFAULT));
    match &mut input.command {
        Some(Command::Change(settings)) => Some(settings),
        Some(Command::ReleaseLockout | Command::SwitchOff | Command::SwitchOn) | None => None,
    }
}

/// Moves a control into its place, with what the memory knows; says how the settings were.
///
/// One step a function, so that no two large things share the stack for long. The
/// settings stay in the room that the input has for new ones.
#[inline(never)]
pub(crate) fn control_at_power_up<'a, I: I2c, D: DelayNs>(
    place: &'a mut MaybeUninit<Control>,
    input: &mut Input,
    persistence: &mut Persistence<'_, I, D>,
) -> (&'a mut Control, &'static str) {
    let settings = place_for_settings(input)
        .and_then(|settings| persistence.settings(settings).is_ok().then_some(&*settings));
    control_with(place, settings, persistence)
}

#[inline(never)]
fn control_with<'a, I: I2c, D: DelayNs>(
    place: &'a mut MaybeUninit<Control>,
    settings: Option<&Settings>,
    persistence: &mut Persistence<'_, I, D>,
) -> (&'a mut Control, &'static str) {
    let mut retained = Retained::default();
    persistence.retained(&mut retained);
    // A lockout that can't be read may be latched, so the memory counts as a whole.
    let settings = settings.filter(|_| persistence.condition().is_ok());
    let told = match settings {
        Some(_) => "whole",
        None => "unreadable",
    };
    (control_of(place, settings, &retained), told)
}

#[inline(never)]
fn control_of<'a>(
    place: &'a mut MaybeUninit<Control>,
    settings: Option<&Settings>,
    retained: &Retained,
) -> &'a mut Control {
    place.write(Control::resumed(settings, retained))
}

/// Moves the service into its place.
#[inline(never)]
pub(crate) fn service_at_power_up<L: ServiceLine>(
    place: &mut MaybeUninit<Service<L>>,
    line: L,
) -> &mut Service<L> {
    place.write(Service::new(line))
}
