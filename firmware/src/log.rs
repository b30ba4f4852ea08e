//! The control's events on a debug probe, by defmt. Nothing without the feature `log`.

use hysteron_logic::control::Decision;

use crate::ports::StartCause;

/// Logs the start.
#[cfg(all(feature = "log", target_os = "none"))]
pub(crate) fn started(cause: StartCause) {
    defmt::info!("started after {}", cause);
}

/// Logs the start.
#[cfg(not(all(feature = "log", target_os = "none")))]
pub(crate) const fn started(_cause: StartCause) {}

/// Logs what changed in a step.
#[cfg(all(feature = "log", target_os = "none"))]
pub(crate) fn decided(decision: &Decision) {
    for event in &decision.events {
        defmt::info!("{} ({}, {})", event, decision.relay, decision.reason);
    }
}

/// Logs what changed in a step.
#[cfg(not(all(feature = "log", target_os = "none")))]
pub(crate) const fn decided(_decision: &Decision) {}
