//! What happened, in words: the only place where an entry of the log becomes a sentence.

use std::borrow::Cow;

use hysteron_bench::record::entry::{Amiss, Entry};
use hysteron_bench::record::runs::Fed;
use hysteron_bench::scenario::happening::{Edge, Happening, Hold, NamedPart};
use hysteron_logic::duty::HOURS;

/// An entry in words.
#[must_use]
pub fn entry(entry: &Entry) -> Cow<'_, str> {
    match entry {
        Entry::Control(event) => event.text().into(),
        Entry::DutyNotKnown { hours } => {
            format!("duty known for {hours} h of {HOURS}: timed cycle instead").into()
        }
        Entry::PowerUp => "the board starts".into(),
        Entry::PowerLost => "the board stops".into(),
        Entry::Happened(Edge::Begins(begun)) => happening(begun),
        Entry::Happened(Edge::Ends(hold)) => let_go(hold),
        Entry::Circuit(found) => amiss(found).into(),
        Entry::LoadOnItsOwn(Fed::Energised) => "load starts without the relay".into(),
        Entry::LoadOnItsOwn(Fed::Dead) => "load stops without the relay".into(),
    }
}

/// Who tells of an entry.
#[must_use]
pub const fn told_by(entry: &Entry) -> &'static str {
    match entry {
        Entry::Control(_) | Entry::DutyNotKnown { .. } | Entry::PowerUp => "control",
        Entry::PowerLost | Entry::Circuit(_) | Entry::LoadOnItsOwn(_) => "installation",
        Entry::Happened(_) => "scenario",
    }
}

/// What begins, or is over at once, in words.
#[must_use]
pub fn happening(happening: &Happening) -> Cow<'_, str> {
    let words = match happening {
        Happening::DoorOpens => "door opens",
        Happening::AmbientIs(_) | Happening::AmbientShifts(_) => "ambient changes",
        Happening::ProductLoaded { .. } => "product is loaded",
        Happening::HeatAdded(_) => "heat is added",
        Happening::WaterDrawn(_) => "water is drawn",
        Happening::ProbeOpens => "probe opens",
        Happening::ProbeShorts => "probe shorts",
        Happening::ProbeFreezes => "probe freezes",
        Happening::ProbeDrifts(_) => "probe drifts",
        Happening::ProbeJumps(_) => "probe jumps",
        Happening::SupplyDips(_) => "supply dips",
        Happening::PowerCut => "power is cut",
        Happening::SettingsChange(_) => "settings change",
        Happening::SettingsLocked => "settings are locked",
        Happening::SwitchedOff => "control is switched off",
        Happening::LockoutReleased => "lockout is released",
        Happening::ValveLeaks(_) => "valve leaks",
        Happening::ContactWelds => "contact welds",
        Happening::ContactBurns => "contact burns open",
        Happening::PartFails(failure) => failure.words(),
        Happening::ProtectionRestored(part) => return mended(part),
        Happening::ClockJumps(_) => "clock jumps",
        Happening::ClockStops => "clock stops",
    };
    words.into()
}

fn let_go(hold: &Hold) -> Cow<'_, str> {
    let words = match hold {
        Hold::Door => "door closes",
        Hold::Heat => "no more heat is added",
        Hold::Draw => "no more water is drawn",
        Hold::Supply => "supply returns",
        Hold::Clock => "clock goes on",
        Hold::Probe => "probe recovers",
        Hold::Ambient => "ambient returns",
        Hold::Contact => "contact is freed",
        Hold::Valve => "valve is replaced",
        Hold::Lock => "settings are unlocked",
        Hold::Switch => "control is switched on",
        Hold::Part(part) => return mended(part),
    };
    words.into()
}

fn mended(part: &NamedPart) -> Cow<'_, str> {
    format!("{}: mended", part.words).into()
}

fn amiss(amiss: &Amiss) -> String {
    let (what, parts) = match amiss {
        Amiss::Opened(parts) => ("opens on too much current", parts),
        Amiss::Idle(parts) => ("does not work", parts),
        Amiss::Unasked(parts) => ("works unasked", parts),
    };
    let names: Vec<&str> = parts.iter().map(|part| &*part.name).collect();
    format!("{what}: {}", names.join(", "))
}
