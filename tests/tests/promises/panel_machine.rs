//! P7 and P8 as a state machine: what a person's commands do, against a model of them.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use hysteron_logic::call::Mode;
use hysteron_logic::control::{Command, CommandRefused, Reason, SettingsLock, Switch};
use hysteron_logic::guard::Relay;
use hysteron_logic::lockout::Cause;
use hysteron_logic::settings::{Confirmation, Draft, Settings};
use hysteron_logic::time::Duration;
use hysteron_logic::units::{Difference, Temperature};
use hysteron_tests::promise::happening::{Reading, Store};
use hysteron_tests::promise::run::runner;
use hysteron_tests::promise::world::World;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::Config;
use proptest_state_machine::{ReferenceStateMachine, StateMachineTest};

/// The settings a person may give: one ceiling and one setpoint, so that what
/// the air does is known without a model of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Given {
    mode: Mode,
    off_time_s: u32,
}

impl Given {
    fn settings(self) -> Settings {
        let draft = Draft {
            mode: self.mode,
            setpoint: Temperature::from_millicelsius(4_000),
            differential: Difference::from_millikelvin(1_000),
            heat_ceiling: Temperature::from_millicelsius(10_000),
            heat_ceiling_confirmation: Duration::from_seconds(3),
            minimum_off_time: Duration::from_seconds(self.off_time_s),
            minimum_on_time: Duration::ZERO,
            short_off_time: Confirmation::Given,
            ..Draft::COOLING
        };
        draft
            .check()
            .unwrap_or_else(|refused| panic!("{refused}: {draft:?}"))
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Said {
    Give(Given),
    Release,
    Off,
    On,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Move {
    Turn(SettingsLock),
    Say(Said),
    Reads(Reading),
    CyclePower,
}

/// The model: what a person has to know.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Panel {
    given: Given,
    lock: SettingsLock,
    switch: Switch,
    lockout: Option<Cause>,
    reading: Reading,
    /// What the last command is answered.
    answer: Option<Result<(), CommandRefused>>,
}

impl Panel {
    fn is_too_hot(&self) -> bool {
        self.given.mode == Mode::Heat && self.reading == Reading::TooHot
    }

    fn obey(&mut self, said: Said) -> Result<(), CommandRefused> {
        if self.lock == SettingsLock::Locked {
            return Err(CommandRefused::SettingsLocked);
        }
        match said {
            Said::Give(given) => self.given = given,
            Said::Off => self.switch = Switch::Off,
            Said::On => self.switch = Switch::On,
            Said::Release => {
                let cause = self.lockout.ok_or(CommandRefused::NotLockedOut)?;
                if self.is_too_hot() {
                    return Err(CommandRefused::CauseStands(cause));
                }
                self.lockout = None;
            }
        }
        Ok(())
    }
}

impl ReferenceStateMachine for Panel {
    type State = Self;
    type Transition = Move;

    fn init_state() -> BoxedStrategy<Self> {
        Just(Self {
            given: Given {
                mode: Mode::Heat,
                off_time_s: 5,
            },
            lock: SettingsLock::Unlocked,
            switch: Switch::On,
            lockout: None,
            reading: Reading::Satisfies,
            answer: None,
        })
        .boxed()
    }

    fn transitions(state: &Self) -> BoxedStrategy<Move> {
        let given = (select(&[Mode::Cool, Mode::Heat]), select(&[0_u32, 5, 30]))
            .prop_map(|(mode, off_time_s)| Said::Give(Given { mode, off_time_s }));
        let release = if state.lockout.is_some() { 6 } else { 1 };
        let said = prop_oneof![
            3 => given,
            release => Just(Said::Release),
            1 => Just(Said::Off),
            2 => Just(Said::On),
        ];
        let readings = select(&[Reading::Calls, Reading::Satisfies, Reading::TooHot]);
        prop_oneof![
            1 => Just(Move::Turn(SettingsLock::Locked)),
            2 => Just(Move::Turn(SettingsLock::Unlocked)),
            6 => said.prop_map(Move::Say),
            4 => readings.prop_map(Move::Reads),
            1 => Just(Move::CyclePower),
        ]
        .boxed()
    }

    fn apply(mut state: Self, transition: &Move) -> Self {
        state.answer = None;
        match *transition {
            Move::Turn(lock) => state.lock = lock,
            Move::Say(said) => state.answer = Some(state.obey(said)),
            Move::Reads(reading) => state.reading = reading,
            Move::CyclePower => {}
        }
        if state.is_too_hot() {
            state.lockout.get_or_insert(Cause::HeatCeiling);
        }
        state
    }
}

struct RealPanel;

/// Moves that the model and the control made alike, by kind.
static REFUSED_BY_LOCK: AtomicUsize = AtomicUsize::new(0);
static REFUSED_WHILE_HOT: AtomicUsize = AtomicUsize::new(0);
static RELEASED: AtomicUsize = AtomicUsize::new(0);
static CYCLED_IN_LOCKOUT: AtomicUsize = AtomicUsize::new(0);
static CLOSED: AtomicUsize = AtomicUsize::new(0);

impl StateMachineTest for RealPanel {
    type SystemUnderTest = World;
    type Reference = Panel;

    fn init_test(panel: &Panel) -> World {
        World::new(panel.given.settings())
    }

    fn apply(mut world: World, panel: &Panel, transition: Move) -> World {
        let command = match transition {
            Move::Turn(lock) => {
                world.lock = lock;
                None
            }
            Move::Reads(reading) => {
                world.reading = reading;
                None
            }
            Move::CyclePower => {
                let _ = world.cut_power(1_000, Store::Kept);
                let in_lockout = usize::from(panel.lockout.is_some());
                CYCLED_IN_LOCKOUT.fetch_add(in_lockout, Ordering::Relaxed);
                None
            }
            Move::Say(Said::Give(given)) => Some(Command::Change(given.settings())),
            Move::Say(Said::Release) => Some(Command::ReleaseLockout),
            Move::Say(Said::Off) => Some(Command::SwitchOff),
            Move::Say(Said::On) => Some(Command::SwitchOn),
        };
        let first = world.step(1_000, command).decision;
        assert_eq!(first.answer, panel.answer, "{transition:?}");
        let answered = |answer| usize::from(panel.answer == Some(answer));
        let hot = Err(CommandRefused::CauseStands(Cause::HeatCeiling));
        let locked = answered(Err(CommandRefused::SettingsLocked));
        REFUSED_BY_LOCK.fetch_add(locked, Ordering::Relaxed);
        REFUSED_WHILE_HOT.fetch_add(answered(hot), Ordering::Relaxed);
        if transition == Move::Say(Said::Release) {
            RELEASED.fetch_add(answered(Ok(())), Ordering::Relaxed);
        }
        // The air takes a while to get where it is to be read.
        for _ in 0..11 {
            let decision = world.step(1_000, None).decision;
            CLOSED.fetch_add(
                usize::from(decision.relay == Relay::Closed),
                Ordering::Relaxed,
            );
            if let Some(cause) = panel.lockout
                && world.control().retained().lockout == Some(cause)
            {
                assert_eq!(decision.relay, Relay::Open);
                assert_eq!(decision.reason, Reason::LockedOut(cause));
            }
        }
        world
    }

    fn check_invariants(world: &World, panel: &Panel) {
        let retained = world.control().retained();
        assert_eq!(*world.control().settings(), panel.given.settings());
        assert_eq!(retained.lockout, panel.lockout);
        assert_eq!(retained.switch, panel.switch);
    }
}

#[test]
fn p8_the_lock_and_p7_the_lockout_agree_with_a_model_of_them() {
    let moves = Panel::sequential_strategy(1..60);
    let outcome = runner(200, "proptest-regressions/panel.txt").run(
        &moves,
        |(panel, moves, seen): (Panel, Vec<Move>, Option<Arc<AtomicUsize>>)| {
            RealPanel::test_sequential(Config::default(), panel, moves, seen);
            Ok(())
        },
    );
    outcome.unwrap_or_else(|failed| panic!("{failed}"));
    for (name, times) in [
        ("commands refused by the lock", &REFUSED_BY_LOCK),
        ("releases refused while too hot", &REFUSED_WHILE_HOT),
        ("lockouts released", &RELEASED),
        ("power cycled in a lockout", &CYCLED_IN_LOCKOUT),
        ("steps closed", &CLOSED),
    ] {
        let times = times.load(Ordering::Relaxed);
        println!("{times:>9}  {name}");
        assert!(times >= 50, "{name}: {times}");
    }
}
