//! What is drawn together: the series of each topic, and the thresholds among them.

use hysteron_logic::alarm::AlarmLimit;
use hysteron_logic::time::Duration;
use hysteron_logic::units::Temperature;

use super::frame::Frame;
use super::lines::{Lines, Threshold, is_envelope};
use super::view::CaseView;
use crate::words::degrees::trimmed;
use hysteron_bench::record::trace::Series;
use hysteron_bench::scenario::expectation::{Expectation, Observable, Subject};
use hysteron_plant::Quantity;

/// What a chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    /// What the control works on: probe, space, contents.
    Space,
    /// Every other temperature.
    Surroundings,
    /// Suction pressure against the pressure control that starts the compressor.
    Suction,
    /// Pressures.
    Pressure,
    /// Powers and heat flows.
    Power,
    /// Refrigerant in the evaporator.
    Refrigerant,
}

impl Topic {
    /// The charts that follow the first.
    pub const FURTHER: [Self; 5] = [
        Self::Suction,
        Self::Surroundings,
        Self::Pressure,
        Self::Power,
        Self::Refrigerant,
    ];

    /// What a chart of it is called.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Space => "Temperature, relay and load",
            Self::Surroundings => "Around the space and inside the machine",
            Self::Suction => "Suction pressure, kPa absolute, and compressor",
            Self::Pressure => "Pressures, kPa absolute",
            Self::Power => "Power and heat, W",
            Self::Refrigerant => "Liquid refrigerant in the evaporator, kg",
        }
    }

    /// What an observable belongs to.
    #[must_use]
    pub const fn of(observable: Observable) -> Self {
        match observable {
            Observable::ProbeReading => Self::Space,
            Observable::Ambient => Self::Surroundings,
            Observable::Plant(quantity) => match quantity {
                Quantity::Air
                | Quantity::Product
                | Quantity::Water
                | Quantity::Room
                | Quantity::Reference => Self::Space,
                Quantity::Coil
                | Quantity::Walls
                | Quantity::Element
                | Quantity::Fabric
                | Quantity::EvaporatingTemperature
                | Quantity::CondensingTemperature => Self::Surroundings,
                Quantity::SuctionPressure | Quantity::DischargePressure => Self::Pressure,
                Quantity::LoadPower
                | Quantity::LoadHeat
                | Quantity::CompressorPower
                | Quantity::DoorHeat
                | Quantity::RejectedHeat
                | Quantity::FanPower => Self::Power,
                Quantity::EvaporatorLiquid => Self::Refrigerant,
            },
        }
    }
}

/// The series of a topic. Over a long time the air says no more than the probe, and hides it.
fn series<'a>(view: &CaseView<'a>, topic: Topic, frame: &Frame) -> Option<Vec<&'a Series>> {
    let trace = view.trace()?;
    let is_long = is_envelope(frame, frame.plot_width() as usize);
    let mut series: Vec<&Series> = trace
        .series()
        .iter()
        .filter(|series| belongs(view, series.observable, topic))
        .filter(|series| !(is_long && series.observable == Observable::Plant(Quantity::Air)))
        .collect();
    // What the control sees is drawn last, over the others.
    series.sort_by_key(|series| series.observable == Observable::ProbeReading);
    Some(series)
}

fn belongs(view: &CaseView<'_>, observable: Observable, topic: Topic) -> bool {
    match topic {
        Topic::Suction => {
            view.plan.plant.pump_down().is_some()
                && observable == Observable::Plant(Quantity::SuctionPressure)
        }
        Topic::Space
        | Topic::Surroundings
        | Topic::Pressure
        | Topic::Power
        | Topic::Refrigerant => Topic::of(observable) == topic,
    }
}

/// The lines of the first chart: the space with cut-in, cut-out, alarms and what is expected.
#[must_use]
pub fn space_lines<'a>(view: &'a CaseView<'a>, frame: &Frame) -> Option<Lines<'a>> {
    let series = series(view, Topic::Space, frame)?;
    let mut thresholds = bands(view);
    thresholds.extend(alarms(view));
    let observables: Vec<Observable> = series.iter().map(|series| series.observable).collect();
    thresholds.extend(
        view.run
            .verdicts
            .iter()
            .flat_map(|verdict| limits(view, &verdict.expectation, &observables)),
    );
    Lines::new(view, series, thresholds)
}

/// The lines of a further chart, if there is anything to see.
#[must_use]
pub fn further_lines<'a>(view: &'a CaseView<'a>, frame: &Frame, topic: Topic) -> Option<Lines<'a>> {
    let series = series(view, topic, frame)?;
    let observables: Vec<Observable> = series.iter().map(|series| series.observable).collect();
    let verdicts = view.run.verdicts.iter();
    let limits = verdicts.flat_map(|verdict| limits(view, &verdict.expectation, &observables));
    let mut thresholds: Vec<Threshold> = limits.collect();
    if topic == Topic::Suction {
        thresholds.extend(pressure_settings(view));
    }
    Lines::new(view, series, thresholds)
}

/// Where the pressure control closes and opens, absolute and as a gauge shows it.
fn pressure_settings(view: &CaseView<'_>) -> Vec<Threshold> {
    let Some(pump_down) = view.plan.plant.pump_down() else {
        return Vec::new();
    };
    let control = &pump_down.control;
    [
        ("cut-in", control.cut_in_kpa),
        ("cut-out", control.cut_out_kpa),
    ]
    .map(|(word, kpa)| Threshold {
        steps: vec![(Duration::ZERO, kpa)],
        until: view.plan.duration,
        class: word,
        words: format!("{word} {} kPa", trimmed(kpa, 0)),
    })
    .into()
}

fn bands(view: &CaseView<'_>) -> Vec<Threshold> {
    let bands = view.bands();
    let of = |class, word: &str, value: fn(&hysteron_logic::call::Band) -> Temperature| {
        let last = bands.last().map(|(_, band)| value(band));
        Threshold {
            steps: bands
                .iter()
                .map(|(from, band)| (*from, shown(view, value(band))))
                .collect(),
            until: view.plan.duration,
            class,
            words: format!(
                "{word} {}",
                last.map(|last| view.degrees.chosen(last))
                    .unwrap_or_default()
            ),
        }
    };
    vec![
        of("cut-in", "cut-in", |band| band.cut_in),
        of("cut-out", "cut-out", |band| band.cut_out),
    ]
}

fn alarms(view: &CaseView<'_>) -> Vec<Threshold> {
    let draft = view.run.case.settings.draft();
    [
        ("high alarm", draft.high_alarm),
        ("low alarm", draft.low_alarm),
    ]
    .into_iter()
    .filter_map(|(word, alarm)| match alarm {
        AlarmLimit::Off => None,
        AlarmLimit::Beyond { limit, .. } => Some(Threshold {
            steps: vec![(Duration::ZERO, shown(view, limit))],
            until: view.plan.duration,
            class: "alarm",
            words: format!("{word} {}", view.degrees.chosen(limit)),
        }),
    })
    .collect()
}

fn shown(view: &CaseView<'_>, temperature: Temperature) -> f64 {
    view.degrees
        .from_celsius(f64::from(temperature.millicelsius()) / 1e3)
}

/// The limits that an expectation sets to one of these observables.
fn limits(
    view: &CaseView<'_>,
    expectation: &Expectation,
    observables: &[Observable],
) -> Vec<Threshold> {
    let Subject::Stays(observable, limits) = expectation.subject else {
        return Vec::new();
    };
    if !observables.contains(&observable) {
        return Vec::new();
    }
    let name = super::lines::short_name(observable);
    [("≥", limits.at_least()), ("≤", limits.at_most())]
        .into_iter()
        .filter_map(|(sign, value)| {
            let value = view.degrees.shown(observable, value?);
            let number = trimmed(value, 1);
            Some(Threshold {
                steps: vec![(expectation.window.from, value)],
                until: expectation.window.until.min(view.plan.duration),
                class: "limit",
                words: format!("{name} {sign} {number} {}", view.degrees.unit(observable)),
            })
        })
        .collect()
}
