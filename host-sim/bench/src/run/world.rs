//! A run as it goes on: values carried round the loop, step by step.
//!
//! ```text
//! plant -> probe -> control -> feeding -> load -> plant
//!            ^ happenings        ^ happenings
//! ```
//!
//! In each step the control sees the sample taken at its beginning, and plant and
//! surroundings are held until the next.

use std::collections::VecDeque;
use std::iter::Peekable;

use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{Command, Decision, Input};
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::probe::Trust;
use hysteron_logic::sense::Sample;
use hysteron_logic::time::Duration;

use crate::probe::model::{ProbeCondition, ProbeModel, ProbeParameters};
use crate::record::recorder::Recorder;
use crate::record::runs::{Fed, Feeds};
use crate::record::trace::Entry;
use crate::run::board::{Board, BoardStep, Decider, SupplyChange};
use crate::run::conditions::{AmbientCondition, Conditions, Impulse, ToldTime};
use crate::run::feed::{BoardSupply, PressureContacts};
use crate::run::feeding::{Feeding, Turn};
use crate::scenario::expectation::Observable;
use crate::scenario::plan::{Case, ContactFeedback, Plan};
use crate::scenario::probe_table::Converter;
use crate::scenario::timeline::Edges;
use hysteron_plant::ambient::AmbientClock;
use hysteron_plant::known_range::Beyond;
use hysteron_plant::{
    HighPressureControl, Load, Plant, PressureContact, PressureControl, Quantity, Surroundings,
};

/// Everything that changes in the course of a run.
pub struct World<'a, 'c> {
    edges: Peekable<Edges<'a>>,
    contents_j_kg_k: f64,
    step_s: f64,
    plant: Plant,
    ambient: AmbientClock,
    probe: ProbeModel,
    converter: Converter,
    /// The board.
    pub board: &'a mut Board<'c>,
    conditions: Conditions,
    commands: VecDeque<Command>,
    /// Kept from step to step: a command is as large as all the settings.
    input: Input,
    surroundings: Surroundings,
    feeding: Feeding,
    /// The control that head pressure opens, if the installation has one.
    high_pressure: Option<HighPressureControl>,
    /// Whether the board sees what its contact does.
    contact_feedback: ContactFeedback,
    /// How the board's clock tells the time.
    told: ToldTime,
    /// What the probe suffers from.
    trouble: ProbeCondition,
    /// How far the plant has left what its model knows; looked at with all that follows.
    pub beyond: Option<Beyond>,
    /// When to attend to all that stays as it is from one step to the next.
    attention_at: Duration,
}

impl<'a, 'c> World<'a, 'c> {
    /// The installation of `plan` before the first step of `case`.
    pub fn new(
        (plan, case): (&Plan, &'a Case),
        plant: Plant,
        ambient: AmbientClock,
        board: &'a mut Board<'c>,
    ) -> Self {
        let step_s = plan.step_s();
        let draft = case.settings.draft();
        let curve = plan.probe.curve.unwrap_or(draft.curve);
        let parameters = ProbeParameters {
            time_constant_s: plan.probe.lag_s,
            dissipation_mw_k: plan.probe.dissipation_mw_k,
            noise_codes: plan.probe.noise_codes,
            ..ProbeParameters::bead(
                curve.coefficients().into(),
                f64::from(draft.fixed_resistor_ohms),
            )
        };
        let start_c = plant.probe_site_c();
        let feeding = Feeding::new(plan.wiring.as_ref(), draft.load);
        Self {
            edges: case.timeline.edges().peekable(),
            contents_j_kg_k: plan
                .plant
                .contents()
                .map_or(0.0, |contents| contents.j_kg_k),
            step_s,
            plant,
            ambient,
            probe: ProbeModel::new(parameters, start_c, step_s, plan.seed),
            converter: plan.probe.converter,
            board,
            conditions: Conditions::default(),
            commands: VecDeque::new(),
            input: Input::sampled(Sample::Counts(Counts::FULL)),
            surroundings: Surroundings::default(),
            high_pressure: feeding
                .watches_head_pressure()
                .then(HighPressureControl::closed),
            feeding,
            contact_feedback: case.contact_feedback,
            told: Conditions::default().told(None),
            trouble: ProbeCondition::Sound,
            beyond: None,
            attention_at: Duration::ZERO,
        }
    }

    /// How far the plant has left what its model knows by now.
    pub fn plant_beyond(&self) -> Option<Beyond> {
        self.plant.beyond()
    }

    /// Takes the step that begins at `at`, and shows it to `recorder`.
    pub fn step(&mut self, at: Duration, recorder: &mut Recorder) {
        if at >= self.attention_at {
            self.attend(at, recorder);
        }
        let site_c = self.plant.probe_site_c();
        self.input.sample = match self.converter {
            Converter::Board => {
                let counts = self.probe.sample(site_c, self.trouble);
                if self.commands.is_empty() {
                    self.board.sample(counts)
                } else {
                    // A command may change what counts mean.
                    Sample::Counts(counts)
                }
            }
            Converter::Ideal => self.probe.ideal_sample(site_c, self.trouble),
        };
        self.pass_command();
        let moment = BoardStep {
            at,
            told_ms: self.told.at_ms(at),
            input: &self.input,
        };
        match self.board.decider() {
            Decider::Control(control) => {
                let decision = control.decide(&moment);
                self.act(at, Some(&decision), recorder);
            }
            Decider::Remote(board) => {
                let decision = board.decide(&moment).cloned();
                self.act(at, decision.as_ref(), recorder);
            }
            Decider::Nobody => self.act(at, None, recorder),
        }
    }

    /// Carries a decision to the contact, the load and the plant.
    #[inline]
    fn act(&mut self, at: Duration, decision: Option<&Decision>, recorder: &mut Recorder) {
        let relay = decision.map_or(Relay::Open, |decided| decided.relay);
        let low_pressure = self.plant.pressure_control().map(PressureControl::contact);
        let pressures = PressureContacts {
            low: low_pressure.unwrap_or(PressureContact::Closed),
            high: self.high_pressure_contact(),
        };
        let tell = |amiss| recorder.log(at, || Entry::Circuit(amiss));
        if self.feeding.follow(relay, pressures, tell) == Turn::Turned {
            self.feed_plant();
            self.look_at_contact();
            // The board may have lost its own power by this.
            self.attention_at = at;
        }
        let load = self.feeding.feed().load;
        let (plant, surroundings) = (&self.plant, &self.surroundings);
        let feeds = Feeds {
            load: fed(load),
            compressor: low_pressure.map(|_| fed(surroundings.condensing_unit)),
        };
        recorder.see_step(at, decision, feeds, |observable| match observable {
            Observable::Plant(quantity) => plant.quantity(quantity),
            Observable::ProbeReading => decision.and_then(|decided| reading_c(decided.trust)),
            Observable::Ambient => Some(surroundings.ambient_c),
        });
        self.plant.step(load, &self.surroundings);
    }

    /// Where the contact of a high-pressure control stands; closed where nothing listens to it.
    #[inline]
    fn high_pressure_contact(&mut self) -> PressureContact {
        match &mut self.high_pressure {
            None => PressureContact::Closed,
            Some(control) => {
                let condensing_c = self.plant.quantity(Quantity::CondensingTemperature);
                control.feel(condensing_c.unwrap_or_default())
            }
        }
    }

    /// Hands on who is fed besides the switched load.
    fn feed_plant(&mut self) {
        let feed = self.feeding.feed();
        self.surroundings.condensing_unit = feed.condensing_unit;
        self.surroundings.fan_supply = feed.evaporator_fan;
        self.surroundings.condenser_fan = feed.condenser_fan;
    }

    /// What the board will see of its contact, from its next look on.
    const fn look_at_contact(&mut self) {
        self.input.feedback = match self.contact_feedback {
            ContactFeedback::Fitted => self.feeding.feed().feedback,
            ContactFeedback::NotFitted => Feedback::NotFitted,
        };
    }

    /// Brings up to date what stays as it is from one step to the next, and says
    /// when that is to be done again.
    #[cold]
    fn attend(&mut self, at: Duration, recorder: &mut Recorder) {
        self.beyond = self.plant_beyond();
        self.surroundings.product_load_w = 0.0;
        self.take_edges(at, recorder);
        // Held or renewed, the air is looked at below.
        let _ = self.ambient.advance(at.millis() as f64 / 1e3);
        self.renew_ambient();
        self.power_board(at, recorder);
        self.told = self.conditions.told(self.board.powered_since());
        self.input.lock = self.conditions.lock;
        self.trouble = self.conditions.probe(at);
        self.feed_plant();
        self.look_at_contact();
        self.surroundings.door = self.conditions.door;
        self.surroundings.draw_kg_s = self.conditions.draw_kg_s;
        self.surroundings.valve_leak = self.conditions.valve_leak;
        let for_a_moment = self.surroundings.product_load_w != 0.0;
        self.surroundings.heat_w = self.conditions.heat_w;
        self.attention_at = if for_a_moment || self.conditions.probe_drifts() {
            at
        } else {
            let next_minute = Duration::from_millis((at.millis() / 60_000 + 1) * 60_000);
            let next_edge = self.edges.peek().map_or(next_minute, |next| next.at);
            next_edge.min(next_minute)
        };
    }

    fn take_edges(&mut self, at: Duration, recorder: &mut Recorder) {
        while let Some(next) = self.edges.next_if(|next| next.at <= at) {
            recorder.log(at, || Entry::Happened(next.edge.clone()));
            match self.conditions.take(at, &next.edge) {
                None => {}
                Some(Impulse::Command(command)) => self.commands.push_back(*command),
                Some(Impulse::Mended(part)) => self.feeding.mend(part),
                Some(Impulse::Product {
                    mass_kg,
                    temperature_c,
                }) => {
                    let contents_c = self.contents_c();
                    let heat_j = mass_kg * self.contents_j_kg_k * (temperature_c - contents_c);
                    self.surroundings.product_load_w += heat_j / self.step_s;
                }
            }
        }
    }

    fn contents_c(&self) -> f64 {
        use Quantity::{Product, Water};
        self.plant
            .quantity(Product)
            .or_else(|| self.plant.quantity(Water))
            .unwrap_or_else(|| self.plant.probe_site_c())
    }

    fn renew_ambient(&mut self) {
        let air = self.ambient.air();
        self.surroundings.ambient_rh = air.humidity.fraction();
        self.surroundings.ambient_c = match self.conditions.ambient {
            AmbientCondition::AsGiven => air.temp_c,
            AmbientCondition::Is(temperature_c) => temperature_c,
            AmbientCondition::Shifted(by_k) => air.temp_c + by_k,
        };
    }

    /// A board loses everything but its store with its supply, and starts anew with it.
    fn power_board(&mut self, at: Duration, recorder: &mut Recorder) {
        self.feeding.suffer(&self.conditions, |amiss| {
            recorder.log(at, || Entry::Circuit(amiss));
        });
        let works = self.feeding.feed().board == BoardSupply::Works;
        match self.board.supply(at, works) {
            SupplyChange::None => {}
            SupplyChange::Lost => recorder.log(at, || Entry::PowerLost),
            SupplyChange::Started => {
                self.conditions.power_up(at);
                recorder.see_power_up(at);
            }
        }
    }

    /// Hands on one command of those that wait, if there is a board to take it.
    #[inline]
    fn pass_command(&mut self) {
        self.input.command = None;
        if !self.commands.is_empty() && self.board.powered_since().is_some() {
            self.input.command = self.commands.pop_front();
        }
    }
}

const fn fed(load: Load) -> Fed {
    match load {
        Load::Off => Fed::Dead,
        Load::Running { .. } => Fed::Energised,
    }
}

/// The temperature that the control believes in, in °C, if there is one.
#[must_use]
pub fn reading_c(trust: Trust) -> Option<f64> {
    match trust {
        Trust::Good(temperature) | Trust::Suspect(Some(temperature)) => {
            Some(f64::from(temperature.millicelsius()) / 1e3)
        }
        Trust::Suspect(None) | Trust::Fault(_) => None,
    }
}
