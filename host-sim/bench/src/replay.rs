//! A recording drives the control: what would it have done?
//!
//! The control decides every second, on the latest value recorded by then. The
//! relay moves nothing here: the recording goes on as it went.

use std::io::Read;

use hysteron_logic::control::{Control, Input, Retained, SAMPLE_PERIOD, StoredSettings};
use hysteron_logic::counters::Totals;
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::FrozenCheck;
use hysteron_logic::resistance::Resistance;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::{Confirmation, Draft, Refused, Settings};
use hysteron_logic::time::{Duration, Instant};
use hysteron_logic::units::Temperature;

use crate::record::recorder::Recorder;
use crate::record::runs::{Fed, Feeds, RunTotals};
use crate::record::trace::Trace;
use crate::recording::{Recording, Value};
use crate::run::bench::CaseRun;
use crate::run::world::reading_c;
use crate::scenario::ambient_table::AmbientPlan;
use crate::scenario::expectation::Observable;
use crate::scenario::plan::{Case, ContactFeedback, Plan};
use crate::scenario::plant_table::PlantPlan;
use crate::scenario::probe_table::ProbePlan;
use crate::scenario::timeline::Timeline;
use hysteron_plant::first_order::FirstOrderParameters;
use hysteron_source::text::Rejected;

/// What the control would have done.
#[derive(Debug, Clone)]
pub struct Replay {
    /// Readings that were recorded.
    pub rows: u64,
    /// Time from the first reading to the last.
    pub length: Duration,
    /// Lowest and highest temperature that the control read, in °C, if it read any.
    pub extremes_c: Option<(f64, f64)>,
    /// What the load would have done.
    pub runs: RunTotals,
    /// What the control has counted.
    pub totals: Totals,
    /// Temperature, relay and events.
    pub trace: Trace,
}

impl Replay {
    /// The replay as a run that took as long as the recording, for those who draw runs.
    ///
    /// Of the plan only `title` and duration mean anything: nothing was simulated, so its plant
    /// is the plainest one, with nothing to draw but what the relay switches.
    #[must_use]
    pub fn as_run(&self, title: String, settings: Settings) -> (Plan, CaseRun) {
        let plan = Plan {
            title,
            about: None,
            duration: self.length,
            step: SAMPLE_PERIOD,
            seed: 0,
            plant: PlantPlan::FirstOrder(FirstOrderParameters::default()),
            wiring: None,
            ambient: AmbientPlan::default(),
            probe: ProbePlan::default(),
            cases: Vec::new(),
            expectations: Vec::new(),
        };
        let run = CaseRun {
            case: Case {
                name: None,
                settings,
                contact_feedback: ContactFeedback::NotFitted,
                timeline: Timeline::default(),
            },
            verdicts: Vec::new(),
            runs: self.runs,
            compressor: None,
            totals: self.totals,
            trace: Some(self.trace.clone()),
        };
        (plan, run)
    }
}

/// `settings` without the check for a reading that never moves: recordings are coarse.
///
/// In heat mode that needs a confirmation, and here nothing is heated.
///
/// # Errors
/// Never for settings that were checked; whoever asks may pass it on.
pub fn for_recordings(settings: &Settings) -> Result<Settings, Refused> {
    Draft {
        probe_frozen: FrozenCheck::Off,
        heat_without_probe: Confirmation::Given,
        ..*settings.draft()
    }
    .check()
}

/// Lets `recording` drive a control with `settings`, powered up with the first reading.
///
/// # Errors
/// When the recording cannot be read to its end.
pub fn replay<R: Read>(
    settings: &Settings,
    recording: &mut Recording<R>,
) -> Result<Replay, Rejected> {
    let mut seat = Seat::new(settings);
    let mut rows = 0;
    let mut latest: Option<(Duration, Sample)> = None;
    while let Some(row) = recording.next_row()? {
        if let Some((_, sample)) = latest {
            seat.hold(sample, row.at);
        }
        latest = Some((row.at, sample_of(row.value, settings)));
        rows += 1;
    }
    let length = latest.map_or(Duration::ZERO, |(at, sample)| {
        seat.hold(sample, at.and(Duration::from_millis(1)));
        at
    });
    let watched = seat.recorder.finish(length);
    Ok(Replay {
        rows,
        length,
        extremes_c: seat.extremes_c,
        runs: watched.runs,
        totals: seat.control.totals(),
        trace: watched
            .trace
            .unwrap_or_else(|| Trace::new(SAMPLE_PERIOD, [])),
    })
}

/// The control in its seat, with what watches it.
struct Seat {
    control: Control,
    recorder: Recorder,
    now: Duration,
    extremes_c: Option<(f64, f64)>,
}

impl Seat {
    fn new(settings: &Settings) -> Self {
        let trace = Trace::new(SAMPLE_PERIOD, [Observable::ProbeReading]);
        Self {
            control: Control::at_power_up(StoredSettings::Whole(*settings), &Retained::default()),
            recorder: Recorder::new(std::iter::empty(), Some(trace)),
            now: Duration::ZERO,
            extremes_c: None,
        }
    }

    /// Steps the control on this sample for as long as it is earlier than `until`.
    fn hold(&mut self, sample: Sample, until: Duration) {
        while self.now < until {
            let told = Instant::from_millis(self.now.millis());
            let decision = self.control.step(told, &Input::sampled(sample));
            let reading = reading_c(decision.trust);
            if let Some(reading) = reading {
                let (lowest, highest) = self.extremes_c.unwrap_or((reading, reading));
                self.extremes_c = Some((lowest.min(reading), highest.max(reading)));
            }
            let fed = match decision.relay {
                Relay::Open => Fed::Dead,
                Relay::Closed => Fed::Energised,
            };
            self.recorder
                .see_step(
                    self.now,
                    Some(&decision),
                    Feeds::load(fed),
                    |observable| match observable {
                        Observable::ProbeReading => reading,
                        Observable::Plant(_) | Observable::Ambient => None,
                    },
                );
            self.now = self.now.and(SAMPLE_PERIOD);
        }
    }
}

/// What the board would have been given.
fn sample_of(value: Value, settings: &Settings) -> Sample {
    const OPEN: Sample = Sample::Counts(Counts::FULL);
    const SHORTED: Sample = Sample::Counts(Counts::from_oversampled(0));
    match value {
        Value::Open => OPEN,
        Value::Shorted => SHORTED,
        Value::Celsius(celsius) => Sample::Temperature(Temperature::from_millicelsius(
            (celsius * 1e3).round() as i32,
        )),
        Value::Ohm(ohm) => match Resistance::from_milliohms((ohm * 1e3).round() as u64) {
            Some(resistance) if resistance > settings.divider().largest() => OPEN,
            Some(resistance) if resistance < settings.divider().smallest() => SHORTED,
            Some(resistance) => Sample::Resistance(resistance),
            None => SHORTED,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recording::{RecordingFormat, Unreadable};
    use hysteron_logic::event::Event;
    use hysteron_logic::probe::ProbeFault;

    fn replayed(text: &str) -> Result<Replay, Rejected> {
        let reading = RecordingFormat {
            time: None,
            value: None,
            unit: None,
            time_format: None,
            longest_gap: Duration::from_hours(1),
            unreadable: Unreadable::Refused,
        };
        let settings = for_recordings(&Settings::DEFAULT).expect("settings");
        let mut recording = Recording::open("a.csv", text.as_bytes(), reading)?;
        replay(&settings, &mut recording)
    }

    /// Defaults: satisfied at 2 °C, cut-in at 4 °C, 5 min off, 1 min on.
    #[test]
    fn the_control_runs_as_its_settings_say() {
        let warm = "s,°C\n0,3\n60,5\n900,1.9\n1000,1.9\n";
        let replay = replayed(warm).expect("a recording");
        assert_eq!(replay.rows, 4);
        assert_eq!(replay.runs.starts, 1);
        // Calls from 60 s on; the power-up hold lasts to 300 s; satisfied at 900 s.
        assert_eq!(replay.runs.run, Duration::from_seconds(600));
        assert_eq!(replay.extremes_c, Some((1.9, 5.0)));
    }

    #[test]
    fn a_resistance_no_board_can_tell_is_open_or_shorted() {
        for (value, fault) in [
            ("9e8", ProbeFault::Open),
            ("open", ProbeFault::Open),
            ("0", ProbeFault::Shorted),
            ("1", ProbeFault::Shorted),
        ] {
            let text = format!("s,ohm\n0,30000\n10,{value}\n100,{value}\n");
            let replay = replayed(&text).expect("a recording");
            let declared = replay.trace.entries().iter().any(|(_, entry)| {
                *entry == crate::record::trace::Entry::Control(Event::ProbeFailed(fault))
            });
            assert!(declared, "{value}");
        }
    }

    #[test]
    fn mistakes_are_found_at_their_place() {
        for (text, place, what) in [
            (
                "s,°C\n0,3\n10,4\n10,5\n",
                "a.csv:4:1",
                "the same time twice",
            ),
            ("s,°C\n0,3\n10,4\n9,5\n", "a.csv:4:1", "the time goes back"),
            ("s,°C\n0,3\n\n# x\n1,x\n", "a.csv:5:3", "\"x\" is no number"),
            ("s,°C\n0,3\n1\n", "a.csv:3:2", "the line ends too early"),
            ("s,°C\n0,3\n3601,3\n", "a.csv:3:1", "nothing was recorded"),
            ("s,°C\nnoon,3\n", "a.csv:2:1", "\"noon\" is no time"),
            ("s,box\n0,3\n", "a.csv:1:3", "the unit is not known"),
            ("s,°C\n", "a.csv", "there is no reading"),
            ("", "a.csv", "there is no reading"),
        ] {
            let shown = replayed(text).expect_err(text).to_string();
            assert!(shown.contains(place), "{place} is not in\n{shown}");
            assert!(shown.contains(what), "{what} is not in\n{shown}");
        }
    }
}
