//! What happens, as each `[[happening]]` gives it.

use std::ops::Range;

use super::ambient_table::read_air;
use super::control_table::SettingsTable;
use super::failing_part::{read_failure, read_part};
use super::happening::{Happening, Hold, Lasting, NamedPart};
use super::installation_name::Named;
use super::plant_table::PlantPlan;
use super::quantity_text::{read_in_unit, read_quantity};
use super::schedule::{Frame, Schedule};
use super::unit::Dimension;
use hysteron_installation::part::Kind;
use hysteron_installation::terminal::PartId;
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

/// A happening as written, before the settings that it may change are known.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenHappening {
    /// When.
    pub schedule: Schedule,
    /// What.
    pub what: WrittenWhat,
}

/// What happens, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum WrittenWhat {
    /// Something that is the same in every case.
    Plain(Happening),
    /// A change of settings, from whatever they are then.
    SettingsChange(SettingsTable),
    /// What was held is let go.
    Mended {
        /// What.
        hold: Hold,
        /// What may want it though no happening holds it: a fuse or a breaker that has opened.
        restores: Option<NamedPart>,
    },
}

impl WrittenWhat {
    /// What it is, in words.
    pub fn words(&self) -> &str {
        match self {
            Self::Plain(happening) => happening.words(),
            Self::SettingsChange(_) => "settings change",
            Self::Mended { hold, .. } => hold.mended_by().unwrap_or_default(),
        }
    }

    /// How long it goes on.
    pub fn lasting(&self) -> Lasting {
        match self {
            Self::Plain(happening) => happening.lasting(),
            Self::SettingsChange(_) | Self::Mended { .. } => Lasting::Moment,
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum Word {
    DoorOpens,
    AmbientChanges,
    ProductLoaded,
    HeatAdded,
    WaterDrawn,
    ProbeOpens,
    ProbeShorts,
    ProbeFreezes,
    ProbeDrifts,
    ProbeJumps,
    SupplyDips,
    PowerCut,
    SettingsChange,
    SettingsLocked,
    SwitchedOff,
    LockoutReleased,
    ValveLeaks,
    ContactWelds,
    ContactBurns,
    PartFails,
    PartMended,
    ClockJumps,
    ClockStops,
    Mended(&'static Hold),
}

fn words() -> Vec<(&'static str, Word)> {
    let mut words = vec![
        ("door opens", Word::DoorOpens),
        ("ambient changes", Word::AmbientChanges),
        ("product is loaded", Word::ProductLoaded),
        ("heat is added", Word::HeatAdded),
        ("water is drawn", Word::WaterDrawn),
        ("probe opens", Word::ProbeOpens),
        ("probe shorts", Word::ProbeShorts),
        ("probe freezes", Word::ProbeFreezes),
        ("probe drifts", Word::ProbeDrifts),
        ("probe jumps", Word::ProbeJumps),
        ("supply dips", Word::SupplyDips),
        ("power is cut", Word::PowerCut),
        ("settings change", Word::SettingsChange),
        ("settings are locked", Word::SettingsLocked),
        ("control is switched off", Word::SwitchedOff),
        ("lockout is released", Word::LockoutReleased),
        ("valve leaks", Word::ValveLeaks),
        ("contact welds", Word::ContactWelds),
        ("contact burns open", Word::ContactBurns),
        ("part fails", Word::PartFails),
        ("part is mended", Word::PartMended),
        ("clock jumps", Word::ClockJumps),
        ("clock stops", Word::ClockStops),
    ];
    words.extend(
        Hold::MENDABLE
            .iter()
            .filter_map(|hold| Some((hold.mended_by()?, Word::Mended(hold)))),
    );
    words
}

/// Reads one `[[happening]]`.
pub fn read_happening(
    mut table: Table<'_>,
    frame: Frame,
    plant: Option<&PlantPlan>,
    installation: Named<'_>,
) -> Option<WrittenHappening> {
    let schedule = Schedule::read(&mut table, frame);
    let word = table.required("what", "\"door opens\"")?.one_of(&words())?;
    let what = read_what(&mut table, *word.get_ref(), (word.span(), installation));
    let problems = table.problems();
    table.finish();
    let (schedule, what) = (schedule?, what?);
    match misplaced(&what, word.span(), plant)
        .or_else(|| badly_ended(&schedule, &what, word.span()))
    {
        Some(problem) => {
            problems.add(problem);
            None
        }
        None => Some(WrittenHappening { schedule, what }),
    }
}

fn read_what(
    table: &mut Table<'_>,
    word: Word,
    named: (Range<usize>, Named<'_>),
) -> Option<WrittenWhat> {
    Some(WrittenWhat::Plain(match word {
        Word::DoorOpens => Happening::DoorOpens,
        Word::AmbientChanges => read_ambient_change(table)?,
        Word::ProductLoaded => {
            let mass = table.required("mass", "\"50 kg\"").map(|item| {
                let mass_kg = item.read("50 kg", |text| read_quantity(text, Dimension::Mass))?;
                item.within(mass_kg, 1e-3..=1e6, "1 g to 1000000 kg")
            });
            let temperature = table.required("temperature", "\"15 °C\"").map(|item| {
                let celsius =
                    item.read("15 °C", |text| read_quantity(text, Dimension::Temperature))?;
                item.within(celsius, -60.0..=110.0, "-60 °C to 110 °C")
            });
            Happening::ProductLoaded {
                mass_kg: mass??,
                temperature_c: temperature??,
            }
        }
        Word::HeatAdded => Happening::HeatAdded(ranged(table, "power", "500 W", "W", -1e6, 1e6)?),
        Word::WaterDrawn => {
            Happening::WaterDrawn(ranged(table, "flow", "6 L/min", "L/min", 0.0, 6_000.0)? / 60.0)
        }
        Word::ProbeOpens => Happening::ProbeOpens,
        Word::ProbeShorts => Happening::ProbeShorts,
        Word::ProbeFreezes => Happening::ProbeFreezes,
        Word::ProbeDrifts => {
            Happening::ProbeDrifts(ranged(table, "rate", "0.5 K/h", "K/h", -100.0, 100.0)?)
        }
        Word::ProbeJumps => Happening::ProbeJumps(ranged(table, "by", "5 K", "K", -150.0, 150.0)?),
        Word::SupplyDips => {
            let item = table.required("to", "\"70 %\"")?;
            let share = item.read("70 %", |text| read_quantity(text, Dimension::Share))?;
            Happening::SupplyDips(item.within(share, 0.0..=1.2, "0 % to 120 %")?)
        }
        Word::PowerCut => Happening::PowerCut,
        Word::SettingsChange => {
            let item = table.required("settings", "{ setpoint = \"4 °C\" }")?;
            return SettingsTable::read(&item, "settings").map(WrittenWhat::SettingsChange);
        }
        Word::SettingsLocked => Happening::SettingsLocked,
        Word::SwitchedOff => Happening::SwitchedOff,
        Word::LockoutReleased => Happening::LockoutReleased,
        Word::ValveLeaks => {
            let item = table.required("share", "\"1 %\"")?;
            let share = item.read("1 %", |text| read_quantity(text, Dimension::Share))?;
            Happening::ValveLeaks(item.within(share, 0.0..=1.0, "0 % to 100 %")?)
        }
        Word::ContactWelds => Happening::ContactWelds,
        Word::ContactBurns => Happening::ContactBurns,
        Word::PartFails => Happening::PartFails(read_failure(table, named)?),
        Word::PartMended => {
            let part = read_part(table, named.clone())?;
            return Some(WrittenWhat::Mended {
                restores: opens_by_itself(part.id, named.1).then(|| part.clone()),
                hold: Hold::Part(part),
            });
        }
        Word::ClockJumps => Happening::ClockJumps(ranged(table, "by", "-1 h", "s", -1e8, 1e8)?),
        Word::ClockStops => Happening::ClockStops,
        Word::Mended(hold) => {
            return Some(WrittenWhat::Mended {
                hold: hold.clone(),
                restores: None,
            });
        }
    }))
}

/// Whether nobody but the electricity may know that the part wants mending.
fn opens_by_itself(part: PartId, named: Named<'_>) -> bool {
    match named {
        Named::Rightly(wiring) => {
            matches!(wiring.installation.part(part).kind, Kind::Overcurrent(_))
        }
        Named::Not | Named::Wrong => false,
    }
}

fn ranged(
    table: &mut Table<'_>,
    key: &'static str,
    example: &str,
    unit: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    let item = table.required(key, &format!("\"{example}\""))?;
    let number = item.read(example, |text| read_in_unit(text, unit))?;
    item.within(
        number,
        least..=most,
        &format!("{least} {unit} to {most} {unit}"),
    )
}

fn read_ambient_change(table: &mut Table<'_>) -> Option<Happening> {
    let temperature = table.optional("temperature");
    let by = table.optional("by");
    match (temperature, by) {
        (Some(temperature), None) => read_air(&temperature).map(Happening::AmbientIs),
        (None, Some(by)) => {
            let kelvin = by.read("5 K", |text| {
                read_quantity(text, Dimension::TemperatureDifference)
            })?;
            by.within(kelvin, -60.0..=60.0, "-60 K to 60 K")
                .map(Happening::AmbientShifts)
        }
        (Some(temperature), Some(by)) => {
            temperature.note(
                Problem::at(by.key_span(), "the change of ambient is given twice")
                    .because_of(temperature.key_span(), "this gives it too")
                    .remedy("keep `temperature` (what it becomes) or `by` (how much it changes)"),
            );
            None
        }
        (None, None) => {
            table.missing("temperature", "\"40 °C\"");
            None
        }
    }
}

/// A happening that has nothing to take hold of in this plant.
fn misplaced(
    what: &WrittenWhat,
    place: Range<usize>,
    plant: Option<&PlantPlan>,
) -> Option<Problem> {
    let plant = plant?;
    let WrittenWhat::Plain(happening) = what else {
        return None;
    };
    if let Happening::ProductLoaded { mass_kg, .. } = happening
        && let Some(contents) = plant.contents()
        && *mass_kg > contents.mass_kg
    {
        let what = format!("{mass_kg} kg is more than there is to make room for it");
        return Some(
            Problem::at(place, what)
                .expected(format!(
                    "at most the {} kg that the plant holds",
                    contents.mass_kg
                ))
                .remedy("load less, or let the plant hold more"),
        );
    }
    let lacking = match happening {
        Happening::DoorOpens if !plant.has_door() => "door",
        Happening::WaterDrawn(_) if !plant.has_draw() => "draw of water",
        Happening::ProductLoaded { .. } if plant.contents().is_none() => "product",
        Happening::ValveLeaks(_) if plant.pump_down().is_none() => {
            "liquid-line valve without [plant.pump_down]"
        }
        Happening::HeatAdded(_) | Happening::AmbientIs(_) | Happening::AmbientShifts(_)
            if !plant.feels_ambient() =>
        {
            "surroundings"
        }
        Happening::DoorOpens
        | Happening::WaterDrawn(_)
        | Happening::ProductLoaded { .. }
        | Happening::HeatAdded(_)
        | Happening::AmbientIs(_)
        | Happening::AmbientShifts(_)
        | Happening::ProbeOpens
        | Happening::ProbeShorts
        | Happening::ProbeFreezes
        | Happening::ProbeDrifts(_)
        | Happening::ProbeJumps(_)
        | Happening::SupplyDips(_)
        | Happening::PowerCut
        | Happening::SettingsChange(_)
        | Happening::SettingsLocked
        | Happening::SwitchedOff
        | Happening::LockoutReleased
        | Happening::ValveLeaks(_)
        | Happening::ContactWelds
        | Happening::ContactBurns
        | Happening::PartFails(_)
        | Happening::ProtectionRestored(_)
        | Happening::ClockJumps(_)
        | Happening::ClockStops => return None,
    };
    let what = format!("a plant of the kind \"{}\" has no {lacking}", plant.kind());
    Some(Problem::at(place, what).remedy("leave this happening out, or choose another plant"))
}

/// A schedule whose ends do not suit what happens.
fn badly_ended(schedule: &Schedule, what: &WrittenWhat, place: Range<usize>) -> Option<Problem> {
    let has_end = schedule.has_end();
    let words = what.words();
    match what.lasting() {
        Lasting::Moment if has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" is over at once, yet it is given an end"),
            )
            .remedy("leave out `for`, and `until` where there is no `every`"),
        ),
        Lasting::ForATime(_) if !has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" needs a time for which it lasts"),
            )
            .remedy("add `for = \"2 min\"` or `until = \"18:00\"`"),
        ),
        Lasting::UntilMended(_) if schedule.times().nth(1).is_some() && !has_end => Some(
            Problem::at(
                place,
                format!("\"{words}\" would begin again before it is over"),
            )
            .remedy("add `for = \"2 min\"`"),
        ),
        Lasting::Moment | Lasting::ForATime(_) | Lasting::UntilMended(_) => None,
    }
}
