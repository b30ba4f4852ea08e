//! Runs happenings on a world under an observer, many times over.

use std::cell::RefCell;

use hysteron_logic::call::Mode;
use hysteron_logic::control::Command;
use hysteron_logic::defrost::DefrostPlan;
use hysteron_logic::fallback::Fallback;
use hysteron_logic::settings::{Draft, Settings};
use proptest::prelude::*;
use proptest::test_runner::{
    Config, FailurePersistence, FileFailurePersistence, RngSeed, TestCaseError, TestError,
    TestRunner,
};

use super::happening::{ClockFault, Happening, Order, Store};
use super::observer::Observer;
use super::tally::Tally;
use super::world::{Sight, World};

/// The seed of every run; `PROPTEST_RNG_SEED` chooses another.
pub const SEED: u64 = 0x4859_5354;

/// A runner of `cases` cases whose failures are kept under `proptest-regressions`, unless
/// `PROPTEST_DISABLE_FAILURE_PERSISTENCE` is set.
#[must_use]
pub fn runner(cases: u32, kept_in: &'static str) -> TestRunner {
    let from_environment = Config::default();
    let rng_seed = match from_environment.rng_seed {
        RngSeed::Random => RngSeed::Fixed(SEED),
        RngSeed::Fixed(seed) => RngSeed::Fixed(seed),
    };
    let failure_persistence = from_environment.failure_persistence.as_ref().map(|_| {
        let kept: Box<dyn FailurePersistence> = Box::new(FileFailurePersistence::Direct(kept_in));
        kept
    });
    TestRunner::new(Config {
        cases,
        rng_seed,
        failure_persistence,
        ..from_environment
    })
}

/// What a witness of a life is told.
#[derive(Debug)]
pub enum Seen<'a> {
    /// A step was taken.
    Step(&'a Sight),
    /// The board's clock misbehaved.
    Clock(ClockFault),
    /// The power came back.
    PowerBack {
        /// At this true time,
        true_ms: u64,
        /// after so long,
        off_ms: u64,
        /// with this in the store.
        store: Store,
    },
}

/// Lets everything in `happenings` happen under an observer to a control with `settings`.
#[must_use]
pub fn live_through(settings: Settings, happenings: &[Happening]) -> (World, Observer) {
    let mut world = World::new(settings);
    let mut observer = Observer::new(settings);
    for happening in happenings {
        happen(&mut world, happening, &mut |seen| observer.witness(&seen));
    }
    (world, observer)
}

/// Lets one thing happen before a witness.
pub fn happen(world: &mut World, happening: &Happening, witness: &mut dyn FnMut(Seen<'_>)) {
    match happening {
        Happening::Pass { steps, period_ms } => {
            for _ in 0..*steps {
                witness(Seen::Step(&world.step(u64::from(*period_ms), None)));
            }
        }
        Happening::Reads(reading) => world.reading = *reading,
        Happening::Samples(instrument) => world.instrument = *instrument,
        Happening::Clock(fault) => {
            world.suffer(*fault);
            witness(Seen::Clock(*fault));
        }
        Happening::Lock(lock) => world.lock = *lock,
        Happening::Contact(contact) => world.contact = *contact,
        Happening::Say(order) => {
            let command = match order {
                Order::Change(settings) => Some(Command::Change(**settings)),
                Order::OtherMode => {
                    other_mode(world.control().settings().draft()).map(Command::Change)
                }
                Order::Release => Some(Command::ReleaseLockout),
                Order::Off => Some(Command::SwitchOff),
                Order::On => Some(Command::SwitchOn),
            };
            witness(Seen::Step(&world.step(1_000, command)));
        }
        Happening::PowerCut { off_ms, store } => {
            let (off_ms, store) = (u64::from(*off_ms), *store);
            let true_ms = world.cut_power(off_ms, store);
            witness(Seen::PowerBack {
                true_ms,
                off_ms,
                store,
            });
        }
    }
}

/// The same settings with the other mode, if they make sense.
#[must_use]
pub fn other_mode(draft: &Draft) -> Option<Settings> {
    let mut other = *draft;
    other.defrost = DefrostPlan::Off;
    other.mode = match draft.mode {
        Mode::Cool => Mode::Heat,
        Mode::Heat => Mode::Cool,
    };
    if draft.fallback == Fallback::Closed {
        other.fallback = Fallback::Open;
    }
    other.check().ok()
}

/// Runs `cases` sequences and returns what was reached.
///
/// # Panics
/// At the first breach of one of `promises`, with the shortest sequence that
/// leads to it.
#[must_use]
pub fn keeps(
    promises: &[u8],
    runner: &mut TestRunner,
    settings: impl Strategy<Value = Settings>,
    happenings: impl Strategy<Value = Vec<Happening>>,
) -> Tally {
    let tally = RefCell::new(Tally::default());
    let outcome = runner.run(&(settings, happenings), |(settings, happenings)| {
        let (_, observer) = live_through(settings, &happenings);
        let findings = observer.findings();
        tally.borrow_mut().add(&findings.tally);
        match findings
            .breaches
            .iter()
            .find(|breach| promises.contains(&breach.promise))
        {
            None => Ok(()),
            Some(breach) => Err(TestCaseError::fail(format!(
                "P{}: {}",
                breach.promise, breach.told
            ))),
        }
    });
    match outcome {
        Ok(()) => tally.into_inner(),
        Err(TestError::Fail(why, (settings, happenings))) => {
            panic!("{why}\nfrom {:#?}\nby {happenings:#?}", settings.draft())
        }
        Err(TestError::Abort(why)) => panic!("gave up: {why}"),
    }
}
