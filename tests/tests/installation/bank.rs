//! What the bench is told: who is energised, what a dip or a short does, and that it is quick.

use hysteron_installation::Installation;
use hysteron_installation::arrangements::named;
use hysteron_installation::bank::LoadBank;
use hysteron_installation::fault::{Fault, RelayContact, Trouble};
use hysteron_installation::file;
use hysteron_installation::load::Supplied;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartId, PartSet};
use hysteron_source::text::SourceText;

fn installation(name: &str) -> Installation {
    let text = named(name).expect(name).text;
    file::read(&SourceText::new(name, text).expect("short")).expect("ships")
}

fn part(bank: &LoadBank, name: &str) -> PartId {
    bank.installation().part_named(name).expect(name)
}

fn calling() -> State {
    State::default().with_relay(RelayArmature::Energised)
}

#[test]
fn pressure_runs_the_condensing_unit_and_the_relay_the_valve() {
    let mut bank = LoadBank::new(installation("pump-down-120"));
    let [valve, compressor, fan, low] = [
        "valve",
        "compressor",
        "evaporator-fan",
        "low-pressure-control",
    ]
    .map(|name| part(&bank, name));
    let open = |parts: &[PartId]| parts.iter().copied().collect::<PartSet>();
    let mut works = |state: State| {
        let electrical = bank.energised(&state);
        [valve, compressor, fan].map(|id| electrical.works(id))
    };
    assert_eq!(works(calling()), [true, true, true]);
    assert_eq!(works(State::default()), [false, true, true]);
    assert_eq!(
        works(State::default().with_open(open(&[low]))),
        [false, false, true]
    );
    assert_eq!(
        works(calling().with_open(open(&[low]))),
        [true, false, true]
    );
}

#[test]
fn a_year_of_asking_solves_a_handful_of_states() {
    let mut bank = LoadBank::new(installation("pump-down-120"));
    let low = part(&bank, "low-pressure-control");
    let mut ran = 0;
    for second in 0..2_000_000_u32 {
        let relay = if second / 600 % 2 == 0 {
            RelayArmature::Energised
        } else {
            RelayArmature::Released
        };
        let open = if second / 450 % 3 == 0 {
            PartSet::EMPTY.with(low)
        } else {
            PartSet::EMPTY
        };
        let state = State::default().with_relay(relay).with_open(open);
        ran += usize::from(bank.energised(&state).power_w() > 1000.0);
    }
    assert!(ran > 0);
    assert!(bank.solved() <= 16, "{}", bank.solved());
}

/// Coils let go at a lower voltage than they pull in at (common practice).
#[test]
fn a_contactor_rides_through_a_dip_that_it_would_not_start_in() {
    let mut bank = LoadBank::new(installation("contactor-24"));
    let contactor = part(&bank, "contactor");
    let at = |permille: u16| calling().with_supplies(permille);
    let holds = |bank: &mut LoadBank, state: State| {
        bank.energised(&state)
            .contacts
            .pulled_in
            .contains(contactor)
    };
    // The control itself lets its relay go below 80 %.
    let dip = at(800);
    assert!(!holds(&mut bank, at(500)));
    assert!(holds(&mut bank, calling()));
    assert!(holds(&mut bank, dip));
    assert!(!holds(&mut bank, at(500)));
    assert!(!holds(&mut bank, State::default()));
    assert!(holds(&mut bank, calling()));
}

#[test]
fn what_a_short_has_opened_stays_open_until_it_is_restored() {
    let mut bank = LoadBank::new(installation("compressor-240"));
    let [compressor, breaker, fan] =
        ["compressor", "breaker", "evaporator-fan"].map(|name| part(&bank, name));
    assert!(bank.energised(&calling()).works(compressor));
    let sound = bank.installation().clone();
    bank.become_installation(sound.with_fault(Fault {
        part: compressor,
        trouble: Trouble::WindingShorted,
    }));
    assert!(bank.energised(&State::default()).works(fan));
    let shorted = bank.energised(&calling());
    assert!(shorted.contacts.tripped.contains(breaker));
    assert!(!shorted.works(fan));
    bank.become_installation(sound);
    assert!(!bank.energised(&State::default()).works(fan));
    bank.restore(breaker);
    assert!(bank.energised(&State::default()).works(fan));
    assert!(bank.energised(&calling()).works(compressor));
}

#[test]
fn a_welded_contact_keeps_the_compressor_and_a_burnt_one_never_starts_it() {
    for (trouble, works) in [
        (
            Trouble::RelayWelded(RelayContact::NormallyOpen),
            [true, true],
        ),
        (
            Trouble::RelayBurntOpen(RelayContact::NormallyOpen),
            [false, false],
        ),
        (Trouble::BoardDead, [false, false]),
    ] {
        let mut bank = LoadBank::new(installation("compressor-208"));
        let [compressor, control] = ["compressor", "control"].map(|name| part(&bank, name));
        let part = control;
        let faulty = bank.installation().with_fault(Fault { part, trouble });
        bank.become_installation(faulty);
        let seen =
            [State::default(), calling()].map(|state| bank.energised(&state).works(compressor));
        assert_eq!(seen, works, "{trouble:?}");
    }
}

#[test]
fn a_lost_leg_leaves_the_load_live_and_the_control_without_power() {
    let mut bank = LoadBank::new(installation("compressor-208"));
    let [supply, compressor, control] =
        ["supply", "compressor", "control"].map(|name| part(&bank, name));
    for fault in bank.installation().faults_of(supply) {
        let mut lost = LoadBank::new(bank.installation().with_fault(fault));
        let electrical = lost.energised(&calling());
        assert!(!electrical.works(compressor));
        let control = electrical.of(control).expect("a control");
        assert_eq!(control.supplied, Supplied::Off);
    }
    assert!(bank.energised(&calling()).works(compressor));
}

#[test]
fn faults_add_up() {
    let sound = installation("compressor-208");
    let faults: Vec<Fault> = sound.faults().take(2).collect();
    let both = sound.with_fault(faults[0]).with_fault(faults[1]);
    assert_eq!(sound.with_faults(faults), both);
    assert_ne!(both, sound);
    assert_eq!(sound.with_faults(None), sound);
}

/// Every fault of every part can be put in, and none of them is beyond the solver.
#[test]
fn every_single_fault_solves() {
    let mut solved = 0;
    for arrangement in hysteron_installation::arrangements::ARRANGEMENTS {
        let sound = installation(arrangement.name);
        for fault in sound.faults() {
            let mut bank = LoadBank::new(sound.with_fault(fault));
            for state in [State::default(), calling()] {
                let electrical = bank.energised(&state);
                for load in &electrical.loads {
                    assert!(
                        load.fraction.is_finite() && load.fraction < 2.1,
                        "{fault:?}"
                    );
                    assert!(load.current_a.is_finite() && load.power_w.is_finite());
                }
                // A shorted coil drags a small transformer down until the control lets go.
                let dragged = fault.trouble == Trouble::WindingShorted;
                assert!(electrical.chattering.is_empty() || dragged, "{fault:?}");
                solved += 1;
            }
        }
    }
    assert!(solved > 400, "{solved}");
}
