//! Which parts of an installation do a plant's work, found by what they are.

use std::fmt;

use thiserror::Error;

use super::Installation;
use super::load::Duty;
use super::part::{Actuator, Kind};
use super::terminal::PartId;

/// What a plant needs electricity for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PlantWork {
    /// A compressor that the relay switches.
    Cooling,
    /// A liquid-line valve that the relay switches, and a compressor on a low-pressure control.
    PumpDown,
    /// A heater.
    Heating,
    /// The fan of a condenser.
    CondenserFan,
    /// Whatever there is: the plant does not say what moves it.
    Anything,
}

/// The parts that do it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlantRoles {
    /// The control.
    pub control: PartId,
    /// What the relay is there to switch; at least one.
    pub switched: Vec<PartId>,
    /// The compressors behind the low-pressure control of a pump-down; at least one there, none elsewhere.
    pub condensing_unit: Vec<PartId>,
    /// The fans of the evaporator; may be none.
    pub evaporator_fans: Vec<PartId>,
    /// The contacts that suction pressure moves; may be none.
    pub low_pressure_controls: Vec<PartId>,
    /// The contacts that head pressure moves; may be none.
    pub high_pressure_controls: Vec<PartId>,
    /// The fans of the condenser; may be none.
    pub condenser_fans: Vec<PartId>,
    /// The contacts that open with the door; may be none.
    pub door_switches: Vec<PartId>,
}

/// A part that a plant's work needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needed {
    /// A control.
    Control,
    /// A compressor.
    Compressor,
    /// A low-pressure control.
    LowPressureControl,
    /// A liquid-line solenoid valve.
    Valve,
    /// A heater.
    Heater,
    /// The fan of a condenser.
    CondenserFan,
    /// Any load that a relay may switch for a plant.
    Load,
}

impl fmt::Display for Needed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Control => "control",
            Self::Compressor => "compressor",
            Self::LowPressureControl => "low-pressure control",
            Self::Valve => "liquid-line solenoid valve",
            Self::Heater => "heater",
            Self::CondenserFan => "condenser fan",
            Self::Load => "compressor, heater, valve or condenser fan to switch",
        })
    }
}

/// Why an installation cannot do a plant's work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Unfit {
    /// It has no part of this kind.
    #[error("the installation has no {0}")]
    Lacks(Needed),
    /// Its relay switches a liquid-line valve, and the plant has none.
    #[error("the relay switches a liquid-line valve, and the plant has none")]
    PumpsDown,
}

impl PlantRoles {
    /// The parts of `installation` that do this work.
    ///
    /// # Errors
    /// What the installation lacks for it.
    pub fn of(installation: &Installation, work: PlantWork) -> Result<Self, Unfit> {
        let those = |wanted: fn(&Kind) -> bool| -> Vec<PartId> {
            let parts = installation.parts();
            parts
                .filter(|(_, part)| wanted(&part.kind))
                .map(|(id, _)| id)
                .collect()
        };
        let some = |needed: Needed, parts: Vec<PartId>| {
            if parts.is_empty() {
                Err(Unfit::Lacks(needed))
            } else {
                Ok(parts)
            }
        };
        let (control, _) = installation
            .control()
            .ok_or(Unfit::Lacks(Needed::Control))?;
        let compressors = || those(|kind| kind.is_motor_for(Duty::Compressor));
        let valves = || those(Kind::is_valve);
        let heaters = || those(Kind::is_heater);
        let condenser_fans = || those(|kind| kind.is_motor_for(Duty::CondenserFan));
        let low_pressure_controls = those(|kind| kind.is_moved_by(Actuator::LowPressure));
        let mut condensing_unit = Vec::new();
        let switched = match work {
            PlantWork::Cooling => {
                let compressors = some(Needed::Compressor, compressors())?;
                if !valves().is_empty() {
                    return Err(Unfit::PumpsDown);
                }
                compressors
            }
            PlantWork::PumpDown => {
                condensing_unit = some(Needed::Compressor, compressors())?;
                some(Needed::LowPressureControl, low_pressure_controls.clone())?;
                some(Needed::Valve, valves())?
            }
            PlantWork::Heating => some(Needed::Heater, heaters())?,
            PlantWork::CondenserFan => some(Needed::CondenserFan, condenser_fans())?,
            PlantWork::Anything => {
                let all = [valves(), compressors(), heaters(), condenser_fans()];
                let first = all.into_iter().find(|parts| !parts.is_empty());
                first.ok_or(Unfit::Lacks(Needed::Load))?
            }
        };
        Ok(Self {
            control,
            switched,
            condensing_unit,
            evaporator_fans: those(|kind| kind.is_motor_for(Duty::EvaporatorFan)),
            low_pressure_controls,
            high_pressure_controls: those(|kind| kind.is_moved_by(Actuator::HighPressure)),
            condenser_fans: condenser_fans(),
            door_switches: those(|kind| kind.is_moved_by(Actuator::Door)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arrangements::named;
    use crate::file;
    use hysteron_source::text::SourceText;

    fn installation(name: &str) -> Installation {
        let text = named(name).expect(name).text;
        file::read(&SourceText::new(name, text).expect("short")).expect("ships")
    }

    #[test]
    fn each_plant_finds_its_parts_or_hears_what_is_lacking() {
        let names = |name: &str, work| {
            let installation = installation(name);
            PlantRoles::of(&installation, work).map(|roles| {
                let switched = roles.switched.iter();
                let switched: Vec<String> = switched
                    .map(|id| installation.part(*id).name.clone())
                    .collect();
                switched.join(" ")
            })
        };
        let ok = |name: &str| Ok(name.to_owned());
        assert_eq!(
            names("compressor-208", PlantWork::Cooling),
            ok("compressor")
        );
        assert_eq!(names("contactor-24", PlantWork::Cooling), ok("compressor"));
        assert_eq!(names("pump-down-120", PlantWork::PumpDown), ok("valve"));
        assert_eq!(names("heating-240", PlantWork::Heating), ok("heater"));
        assert_eq!(names("heating-240", PlantWork::Anything), ok("heater"));
        assert_eq!(
            names("compressor-120", PlantWork::CondenserFan),
            ok("condenser-fan")
        );
        assert_eq!(
            names("pump-down-120", PlantWork::Cooling),
            Err(Unfit::PumpsDown)
        );
        assert_eq!(
            names("contactor-24", PlantWork::PumpDown),
            Err(Unfit::Lacks(Needed::Valve))
        );
        assert_eq!(
            names("heating-240", PlantWork::Cooling),
            Err(Unfit::Lacks(Needed::Compressor))
        );
    }
}
