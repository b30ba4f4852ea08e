//! An exhaustive walk: every sequence of inputs over a small alphabet, until no
//! new state turns up.
//!
//! A state is told by what the promises speak of, in time the board may credit:
//! where the relay is and since when, the call, the last good reading and how
//! long the probe has been bad or good again, lockout, switch, a pending change
//! of mode, how long the contact disagrees and heat is at its ceiling, the ages
//! of the starts that count, what a doubtful clock has to pay back. Ages are cut off where no setting of
//! the walk looks further back.
//!
//! Two controls in the same state must answer alike whatever comes. The walk
//! goes on from the first one it meets and, at every sixteenth further
//! meeting, sends both through the same 24 inputs and compares their decisions.

use std::collections::{HashMap, HashSet, VecDeque};

use hysteron_logic::call::{Call, Mode};
use hysteron_logic::contact::Feedback;
use hysteron_logic::control::{
    Command, Control, Decision, Input, Retained, StoredSettings, Switch,
};
use hysteron_logic::divider::Counts;
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::Cause;
use hysteron_logic::probe::Trust;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Instant;
use hysteron_logic::units::Temperature;

use super::happening::Store;
use super::letters::{Contact, Letter, Said};
use super::observer::Observer;
use super::run::Seen;
use super::tally::Tally;
use super::world::{ClockRecord, Sight};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Since {
    PowerUp,
    Opened,
    Closed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Probe {
    /// With what is left of bad time before.
    Good {
        surplus_ms: u32,
    },
    /// With the surplus of bad time.
    Bad {
        for_ms: u32,
    },
    Declared {
        good_for_ms: Option<u32>,
    },
}

/// What is known of the voltage behind the contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Voltage {
    Trusted,
    Seen,
    Missed,
    Absent,
}

/// The abstract state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct State {
    settings: u8,
    since: Since,
    credited_ms: u32,
    truly_ms: u32,
    call: Call,
    last_good: Option<i32>,
    probe: Probe,
    lockout: Option<Cause>,
    switch: Switch,
    changeover: bool,
    disagrees_ms: Option<u32>,
    too_hot_ms: Option<u32>,
    voltage: Voltage,
    start_ages_ms: [u32; 2],
    debt_ms: u32,
    stood: bool,
    /// The relay moved while the clock stood: the moment counts from when it goes on.
    moved_while_stood: bool,
}

const HOUR_MS: u32 = 3_600_000;

/// Controls kept for comparison, the first of each of so many states.
const MOST_SAMPLED: usize = 20_000;

/// What one walk explores.
#[derive(Debug)]
pub struct Walk {
    /// The settings a person may give; the first are in the store.
    pub settings: Vec<Settings>,
    /// The letters that may follow when the clock did not, or did, stand still last.
    pub alphabet: fn(stood: bool) -> Vec<Letter>,
    /// No setting looks further back than this at relay, probe and contact.
    pub horizon_ms: u32,
    /// Whether the clock tells anything but the truth.
    pub clock: ClockRecord,
    /// How many starts the limit looks back at, at most two.
    pub starts: usize,
}

/// What a walk found.
#[derive(Debug)]
pub struct Walked {
    /// Abstract states visited.
    pub states: usize,
    /// Steps and losses of power taken.
    pub edges: usize,
    /// Pairs of controls that met in one state and were sent on together.
    pub compared: usize,
    /// How many letters an alphabet has.
    pub letters: usize,
    /// The places in the alphabet of letters after which histories were compared.
    pub letters_compared: HashSet<usize>,
    /// The most events told in one step.
    pub most_events: usize,
    /// Situations reached.
    pub tally: Tally,
}

#[derive(Debug, Clone)]
struct Node {
    control: Control,
    observer: Observer,
    state: State,
    true_ms: u64,
    told_ms: u64,
    relay: Relay,
}

impl Walk {
    /// Walks until no new state turns up.
    ///
    /// # Panics
    /// At a broken promise, and where two controls in one state answer differently.
    #[must_use]
    pub fn walked(&self) -> Walked {
        let mut found = Walked {
            states: 0,
            edges: 0,
            compared: 0,
            letters: 0,
            letters_compared: HashSet::new(),
            most_events: 0,
            tally: Tally::default(),
        };
        let start = match self.clock {
            ClockRecord::Faithful => self.start(),
            // The first word of a clock is believed as far as any step; let it
            // be one that is not, before the walk begins.
            ClockRecord::Faulty => self.follow(&self.start(), self.leap(), &mut found),
        };
        let mut seen = HashSet::from([start.state]);
        let mut sampled = HashMap::from([(start.state, start.control.clone())]);
        let mut queue = VecDeque::from([start]);
        let mut meetings = 0_usize;
        while let Some(node) = queue.pop_front() {
            let letters = (self.alphabet)(node.state.stood);
            found.letters = found.letters.max(letters.len());
            for (place, letter) in letters.into_iter().enumerate() {
                found.edges += 1;
                let next = self.follow(&node, letter, &mut found);
                if seen.insert(next.state) {
                    if sampled.len() < MOST_SAMPLED {
                        sampled.insert(next.state, next.control.clone());
                    }
                    queue.push_back(next);
                } else if let Some(first) = sampled.get(&next.state) {
                    meetings += 1;
                    if meetings.is_multiple_of(16) {
                        found.compared += 1;
                        found.letters_compared.insert(place);
                        self.compare(first.clone(), next, found.edges);
                    }
                }
            }
        }
        found.states = seen.len();
        found
    }

    /// A step in which the clock leaps an hour ahead, under the first reading.
    fn leap(&self) -> Letter {
        let mut letters = (self.alphabet)(false).into_iter();
        letters
            .find(|letter| matches!(letter, Letter::Step { told_ms, .. } if *told_ms > 10_000))
            .unwrap_or_else(|| panic!("a faulty clock can leap"))
    }

    fn start(&self) -> Node {
        // Far from the end of its range, so that a clock can go back again and again.
        const TOLD_MS: u64 = 1 << 50;
        let settings = self.settings[0];
        Node {
            control: Control::at_power_up(StoredSettings::Whole(settings), &Retained::default()),
            observer: Observer::new(settings),
            state: State {
                settings: 0,
                since: Since::PowerUp,
                credited_ms: 0,
                truly_ms: 0,
                call: Call::Satisfied,
                last_good: None,
                probe: Probe::Good { surplus_ms: 0 },
                lockout: None,
                switch: Switch::On,
                changeover: false,
                disagrees_ms: None,
                too_hot_ms: None,
                voltage: Voltage::Trusted,
                start_ages_ms: [HOUR_MS; 2],
                debt_ms: 0,
                stood: false,
                moved_while_stood: false,
            },
            true_ms: 0,
            told_ms: match self.clock {
                ClockRecord::Faithful => 0,
                ClockRecord::Faulty => TOLD_MS,
            },
            relay: Relay::Open,
        }
    }

    fn follow(&self, from: &Node, letter: Letter, found: &mut Walked) -> Node {
        let mut node = from.clone();
        match letter {
            Letter::Cut(store) => self.cut(&mut node, store),
            Letter::Step { .. } => {
                let decision = self.step(&mut node, letter);
                found.most_events = found.most_events.max(decision.events.len());
            }
        }
        let findings = node.observer.take_findings();
        assert!(
            findings.breaches.is_empty(),
            "{:?}\nby {letter:?}\nfrom {:#?}",
            findings.breaches,
            from.state
        );
        found.tally.add(&findings.tally);
        node
    }

    fn cut(&self, node: &mut Node, store: Store) {
        let retained = match store {
            Store::Lost => Retained::default(),
            Store::Kept | Store::SettingsUnreadable => node.control.retained(),
        };
        let stored = StoredSettings::Whole(*node.control.settings());
        node.control = Control::at_power_up(stored, &retained);
        node.observer.witness(&Seen::PowerBack {
            true_ms: node.true_ms,
            off_ms: 0,
            store,
        });
        node.relay = Relay::Open;
        node.told_ms = 0;
        let before = node.state;
        let fresh = self.start().state;
        node.state = State {
            settings: before.settings,
            lockout: retained.lockout,
            switch: retained.switch,
            start_ages_ms: match store {
                Store::Lost => fresh.start_ages_ms,
                Store::Kept | Store::SettingsUnreadable => before.start_ages_ms,
            },
            ..fresh
        };
    }

    fn input(&self, letter: Letter, relay: Relay) -> (Input, u32, i32) {
        let Letter::Step {
            true_ms,
            told_ms,
            reads,
            command,
            lock,
            contact,
        } = letter
        else {
            panic!("a loss of power is no input")
        };
        let command = command.map(|said| match said {
            Said::Change(number) => Command::Change(self.settings[usize::from(number)]),
            Said::Release => Command::ReleaseLockout,
            Said::Off => Command::SwitchOff,
            Said::On => Command::SwitchOn,
        });
        let sample = match reads {
            Some(point) => Sample::Temperature(Temperature::from_millicelsius(point)),
            None => Sample::Counts(Counts::FULL),
        };
        let feedback = match (contact, relay) {
            (Contact::Follows, Relay::Open) | (Contact::Dead, _) => Feedback::Open,
            (Contact::Welded, _) | (Contact::Follows, Relay::Closed) => Feedback::Closed,
        };
        let input = Input {
            sample,
            lock,
            feedback,
            command,
        };
        (input, true_ms, told_ms)
    }

    fn step(&self, node: &mut Node, letter: Letter) -> Decision {
        let (input, true_ms, told_ms) = self.input(letter, node.relay);
        node.true_ms += u64::from(true_ms);
        node.told_ms = node.told_ms.saturating_add_signed(told_ms.into());
        let told = Instant::from_millis(node.told_ms);
        let decision = node.control.step(told, &input);
        node.observer.witness(&Seen::Step(&Sight {
            true_ms: node.true_ms,
            period_ms: true_ms.into(),
            told,
            clock: self.clock,
            input,
            decision: decision.clone(),
            settings: *node.control.settings(),
            duty: None,
        }));
        self.note(node, letter, &input, &decision);
        node.relay = decision.relay;
        decision
    }

    /// The next state, from the one before, what went in and what came out.
    fn note(&self, node: &mut Node, letter: Letter, input: &Input, decision: &Decision) {
        let Letter::Step {
            true_ms,
            told_ms,
            reads,
            command,
            ..
        } = letter
        else {
            return;
        };
        let before = node.state;
        let mut state = before;
        let credit_ms = state.credit(told_ms);
        let older = |age: u32, by: u32| age.saturating_add(by).min(self.horizon_ms);
        if let (Some(Said::Change(number)), Some(Ok(()))) = (command, decision.answer) {
            let mode = |number: u8| self.settings[usize::from(number)].draft().mode;
            let other = mode(number) != mode(before.settings);
            state.changeover |= other && node.relay == Relay::Closed;
            state.settings = number;
        }
        state.changeover &= decision.relay == Relay::Closed;
        let moved = match (node.relay, decision.relay) {
            (Relay::Open, Relay::Closed) => Some(Since::Closed),
            (Relay::Closed, Relay::Open) => Some(Since::Opened),
            (Relay::Open, Relay::Open) | (Relay::Closed, Relay::Closed) => None,
        };
        state.start_ages_ms = state
            .start_ages_ms
            .map(|age| age.saturating_add(credit_ms).min(HOUR_MS));
        if moved == Some(Since::Closed) && self.starts > 0 {
            state.start_ages_ms = match self.starts {
                1 => [0, HOUR_MS],
                _ => [0, state.start_ages_ms[0]],
            };
        }
        (state.since, state.credited_ms, state.truly_ms) = match moved {
            Some(since) => (since, 0, 0),
            None if before.moved_while_stood && !state.stood => {
                (before.since, 0, older(before.truly_ms, true_ms))
            }
            None => (
                before.since,
                older(before.credited_ms, credit_ms),
                older(before.truly_ms, true_ms),
            ),
        };
        state.moved_while_stood = state.stood && (before.moved_while_stood || moved.is_some());
        state.call = decision.call;
        state.probe = match (decision.trust, before.probe) {
            (Trust::Good(_), before) => {
                state.last_good = reads;
                let surplus_ms = match before {
                    Probe::Good { surplus_ms } => surplus_ms.saturating_sub(credit_ms),
                    Probe::Bad { for_ms } => older(for_ms, credit_ms),
                    Probe::Declared { .. } => 0,
                };
                Probe::Good { surplus_ms }
            }
            (Trust::Suspect(_), Probe::Bad { for_ms }) => Probe::Bad {
                for_ms: older(for_ms, credit_ms),
            },
            (Trust::Suspect(_), Probe::Good { surplus_ms }) => Probe::Bad {
                for_ms: surplus_ms.saturating_sub(credit_ms),
            },
            (Trust::Suspect(_), Probe::Declared { .. }) => Probe::Bad { for_ms: 0 },
            (Trust::Fault(_), before) => Probe::Declared {
                good_for_ms: reads.map(|_| match before {
                    Probe::Declared {
                        good_for_ms: Some(good_for_ms),
                    } => older(good_for_ms, credit_ms),
                    Probe::Good { .. }
                    | Probe::Bad { .. }
                    | Probe::Declared { good_for_ms: None } => 0,
                }),
            },
        };
        let disagrees = node.relay == Relay::Open && input.feedback == Feedback::Closed;
        state.disagrees_ms = disagrees.then(|| match before.disagrees_ms {
            Some(for_ms) => older(for_ms, credit_ms).min(10_000),
            None => 0,
        });
        let draft = self.settings[usize::from(state.settings)].draft();
        let ceiling = draft.heat_ceiling.millicelsius();
        let stays_hot = match decision.trust {
            Trust::Good(_) | Trust::Suspect(_) => state.last_good.is_some_and(|at| at >= ceiling),
            Trust::Fault(_) => before.too_hot_ms.is_some(),
        };
        state.too_hot_ms = (stays_hot && draft.mode == Mode::Heat).then(|| {
            let confirmation_ms = u32::try_from(draft.heat_ceiling_confirmation.millis());
            let hot_ms = before
                .too_hot_ms
                .map_or(0, |hot_ms| older(hot_ms, credit_ms));
            hot_ms.min(confirmation_ms.unwrap_or(u32::MAX))
        });
        // How long the relay was driven as it was when the feedback was judged.
        let driven_ms = match before.moved_while_stood && !state.stood {
            true => 0,
            false => before.credited_ms.saturating_add(credit_ms),
        };
        state.voltage = before.voltage.judged(node.relay, input.feedback, driven_ms);
        let retained = node.control.retained();
        (state.lockout, state.switch) = (retained.lockout, retained.switch);
        node.state = state;
    }

    /// Sends two controls that met in one state through the same inputs.
    fn compare(&self, mut first: Control, other: Node, salt: usize) {
        let mut other_control = other.control.clone();
        // Their clocks tell different times; both are told one that lies so far
        // ahead of either that its first step is not credited.
        let mut told_ms = 1_u64 << 52;
        let mut relay = other.relay;
        let mut dice = salt;
        let mut letters = (self.alphabet)(false);
        letters.retain(|letter| !matches!(letter, Letter::Cut(_)));
        for _ in 0..24 {
            dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let letter = letters[(dice >> 33) % letters.len()];
            let (input, _, step_ms) = self.input(letter, relay);
            told_ms = told_ms.saturating_add_signed(step_ms.into());
            let told = Instant::from_millis(told_ms);
            let one = first.step(told, &input);
            let two = other_control.step(told, &input);
            assert_eq!(
                (one.relay, one.reason, one.holds, one.trust, one.call),
                (two.relay, two.reason, two.holds, two.trust, two.call),
                "two controls in {:#?}",
                other.state
            );
            assert_eq!((one.answer, one.contact), (two.answer, two.contact));
            relay = one.relay;
        }
    }
}

impl Voltage {
    /// Seen after a second, missed at once if it was seen and after two if not.
    const fn judged(self, driven: Relay, feedback: Feedback, driven_ms: u32) -> Self {
        match (driven, feedback, self) {
            (Relay::Open, Feedback::Open, Self::Seen) => Self::Trusted,
            (Relay::Open, Feedback::Open, _) => self,
            (Relay::Closed, Feedback::Closed, _) if driven_ms < 1_000 => self,
            (Relay::Closed, Feedback::Closed, _) => Self::Seen,
            (Relay::Closed, Feedback::Open, Self::Seen) => Self::Missed,
            (Relay::Closed, Feedback::Open, _) if driven_ms < 2_000 => self,
            (Relay::Closed, Feedback::Open, Self::Trusted) => Self::Missed,
            (Relay::Closed, Feedback::Open, Self::Missed | Self::Absent) => Self::Absent,
            (Relay::Open, Feedback::Closed, _) | (_, Feedback::NotFitted, _) => Self::Trusted,
        }
    }
}

impl State {
    /// How much of a move of the clock is credited, by the rules told for it:
    /// going back is paid back, up to an hour, and a late step's length at least;
    /// more than a late step at once is not believed.
    fn credit(&mut self, told_ms: i32) -> u32 {
        const LATE_MS: u32 = 10_000;
        let ahead_ms = u32::try_from(told_ms).unwrap_or(0);
        self.stood = told_ms == 0;
        if told_ms < 0 {
            let debt_ms = self.debt_ms.saturating_add(told_ms.unsigned_abs());
            self.debt_ms = debt_ms.clamp(LATE_MS, HOUR_MS);
            return 0;
        }
        if ahead_ms > LATE_MS {
            return 0;
        }
        let paid_ms = ahead_ms.min(self.debt_ms);
        self.debt_ms -= paid_ms;
        ahead_ms - paid_ms
    }
}
