//! P13: a load that loses its voltage while the relay is closed is a stopped load.

use hysteron_logic::contact::{Contact, LEAST_REST};
use hysteron_logic::control::Reason;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::settings::{Confirmation, Draft};
use hysteron_logic::time::Duration;
use hysteron_tests::promise::drafts;
use hysteron_tests::promise::happening::{ContactState, Happening, Reading, Weights, happening};
use hysteron_tests::promise::run::{keeps, runner};
use hysteron_tests::promise::world::{Sight, World};
use proptest::collection::vec;
use proptest::prelude::*;

/// A few seconds without voltage, and time enough to run before and after.
fn dip() -> impl Strategy<Value = Vec<Happening>> {
    let spell = |steps| Happening::Pass {
        steps,
        period_ms: 1_000,
    };
    (1_u16..=400, 1_u16..=4).prop_map(move |(before, without)| {
        vec![
            Happening::Reads(Reading::Calls),
            Happening::Contact(ContactState::Sound),
            spell(before),
            Happening::Contact(ContactState::Burnt),
            spell(without),
            Happening::Contact(ContactState::Sound),
        ]
    })
}

#[test]
fn p13_a_load_that_loses_its_voltage_rests_before_it_starts_again() {
    let weights = Weights {
        readings: 12,
        contact: 4,
        lock: 0,
        too_hot: 0,
        ..Weights::ALL
    };
    let lives = prop_oneof![
        6 => happening(weights).prop_map(|happening| vec![happening]),
        1 => dip(),
    ];
    let lives = vec(lives, 1..100).prop_map(|lives| lives.concat());
    let runner = &mut runner(600, "proptest-regressions/lost_voltage.txt");
    let tally = keeps(&[1, 3, 4, 9, 13], runner, drafts::in_motion(), lives);
    let situations = [
        "voltage lost while the load ran",
        "voltage lost within the minimum on-time",
        "no voltage after a closing",
        "no voltage after the next closing",
        "closed again after a lost voltage",
        "opened early by a lost voltage",
    ];
    println!("{tally}");
    tally.assert_reached(20, &situations);
}

/// A world whose load has run for ten minutes, with feedback.
fn running(draft: Draft) -> World {
    let mut world = World::new(draft.check().expect("sensible settings"));
    world.contact = ContactState::Sound;
    world.reading = Reading::Calls;
    let last = (0..900).map(|_| world.step(1_000, None)).last();
    assert!(last.is_some_and(|sight| sight.decision.relay == Relay::Closed));
    world
}

fn steps(world: &mut World, contact: ContactState, steps: u32) -> Vec<Sight> {
    world.contact = contact;
    (0..steps).map(|_| world.step(1_000, None)).collect()
}

fn told(sights: &[Sight], event: Event) -> usize {
    let told = |sight: &&Sight| sight.decision.events.contains(&event);
    sights.iter().filter(told).count()
}

#[test]
fn p13_a_dip_of_two_seconds_opens_the_relay_for_the_whole_rest() {
    let mut world = running(Draft::COOLING);
    let dip = steps(&mut world, ContactState::Burnt, 2);
    assert_eq!(dip[1].decision.relay, Relay::Open, "after two samples");
    assert_eq!(told(&dip, Event::VoltageLost), 1);
    let after = steps(&mut world, ContactState::Sound, 600);
    let rest_s = Draft::COOLING.minimum_off_time.whole_seconds();
    let opened_s = dip
        .iter()
        .find(|sight| sight.decision.relay == Relay::Open)
        .map(|sight| sight.true_ms / 1_000);
    let closed = after
        .iter()
        .find(|sight| sight.decision.relay == Relay::Closed)
        .expect("the call goes on");
    assert_eq!(Some(closed.true_ms / 1_000 - rest_s), opened_s);
    let resting = after.iter().filter(|sight| sight.true_ms < closed.true_ms);
    for sight in resting {
        assert_eq!(sight.decision.reason, Reason::VoltageLost);
        assert_eq!(sight.decision.contact, Contact::Sound);
    }
    assert_eq!(told(&after, Event::ContactBurnt), 0);
    assert_eq!(told(&after, Event::VoltageLost), 0);
    assert!(after.last().expect("ten minutes").decision.relay == Relay::Closed);
}

#[test]
fn p13_a_contact_is_called_burnt_only_after_the_next_closing_and_mends_with_the_voltage() {
    let mut world = running(Draft::COOLING);
    let first = steps(&mut world, ContactState::Burnt, 250);
    assert_eq!(told(&first, Event::VoltageLost), 1);
    assert_eq!(told(&first, Event::ContactBurnt), 0);
    let second = steps(&mut world, ContactState::Burnt, 250);
    assert_eq!(told(&second, Event::RelayClosed), 1);
    assert_eq!(told(&second, Event::VoltageLost), 1);
    assert_eq!(told(&second, Event::ContactBurnt), 1);
    let third = steps(&mut world, ContactState::Sound, 600);
    assert_eq!(told(&third, Event::ContactSound), 1);
    assert_eq!(told(&third, Event::VoltageLost), 0);
}

#[test]
fn p13_a_relay_whose_load_has_no_supply_does_not_chatter() {
    let mut world = running(Draft {
        minimum_off_time: Duration::ZERO,
        minimum_on_time: Duration::ZERO,
        short_off_time: Confirmation::Given,
        ..Draft::COOLING
    });
    let hour = steps(&mut world, ContactState::Burnt, 3_600);
    let starts = told(&hour, Event::RelayClosed);
    let most = usize::try_from(3_600 / LEAST_REST.whole_seconds()).unwrap_or(0);
    assert!(starts > most / 2, "it must try again: {starts} starts");
    assert!(starts <= most, "{starts} starts in an hour");
}
