//! A scenario that has been checked: everything the bench needs, and nothing it could refuse.

use std::path::Path;

use hysteron_logic::settings::Settings;
use hysteron_logic::time::Duration;

use super::ambient_table::AmbientPlan;
use super::expectation::Expectation;
use super::installation_name::Wiring;
use super::plant_table::PlantPlan;
use super::probe_table::ProbePlan;
use super::timeline::Timeline;

/// A checked scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What it is called.
    pub title: String,
    /// What it shows, for a person.
    pub about: Option<String>,
    /// How much time it covers.
    pub duration: Duration,
    /// Length of a step of plant, probe and control.
    pub step: Duration,
    /// What all chance is drawn from.
    pub seed: u64,
    /// What is cooled or heated.
    pub plant: PlantPlan,
    /// What stands between the fuse and the plant; without it, relay and supply act directly.
    pub wiring: Option<Wiring>,
    /// The air around it.
    pub ambient: AmbientPlan,
    /// The probe.
    pub probe: ProbePlan,
    /// What runs side by side, each from the beginning: one case, or one for each variant.
    pub cases: Vec<Case>,
    /// What is expected.
    pub expectations: Vec<Expectation>,
}

/// One run of a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Name of the variant; none where there are no variants.
    pub name: Option<String>,
    /// Settings at the beginning.
    pub settings: Settings,
    /// Whether the board sees what its contact does.
    pub contact_feedback: ContactFeedback,
    /// What happens, in the order of time.
    pub timeline: Timeline,
}

/// Whether the board has an input that tells the voltage at its relay's normally open terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ContactFeedback {
    /// It has.
    #[default]
    Fitted,
    /// It has not, and takes the contact's word for it.
    NotFitted,
}

impl Plan {
    /// Length of a step, in s.
    #[must_use]
    pub fn step_s(&self) -> f64 {
        self.step.millis() as f64 / 1e3
    }

    /// The files that it names: weather and installation.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        let weather = match &self.ambient {
            AmbientPlan::Weather { file, .. } => Some(file.as_path()),
            AmbientPlan::Constant { .. } | AmbientPlan::Daily { .. } => None,
        };
        let wiring = self.wiring.as_ref();
        let wiring = wiring.and_then(|wiring| wiring.file.as_deref());
        weather.into_iter().chain(wiring)
    }
}
