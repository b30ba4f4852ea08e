//! What happens in a scenario's installation happens electrically, and reaches control and plant.

use std::path::Path;

use std::sync::Arc;

use hysteron::disk::Disk;
use hysteron_bench::record::runs::Fed;
use hysteron_bench::record::trace::Entry;
use hysteron_bench::scenario::happening::{Edge, Hold};
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use hysteron_plant::Quantity;
use hysteron_source::text::SourceText;
use hysteron_tests::wired_run::{count, extremes, fails, hours, run, scenario, stretches, told};

/// A sound installation with enough wire is no different from none at all.
#[test]
fn a_sound_installation_changes_nothing() {
    let happenings = "[[happening]]\nat = \"02:00\"\nfor = \"40 s\"\nwhat = \"power is cut\"\n\
        [[happening]]\nat = \"03:00\"\nfor = \"5 min\"\nwhat = \"contact welds\"\n";
    let without = run(&scenario("", happenings));
    let mut starts = 0;
    for name in ["compressor-120", "compressor-208", "separate-supplies"] {
        let with = run(&scenario(name, happenings));
        let (with_trace, without_trace) = (with.trace.as_ref(), without.trace.as_ref());
        assert_eq!(with.runs, without.runs, "{name}");
        assert_eq!(
            with_trace.expect("traced").stretches(),
            without_trace.expect("traced").stretches(),
            "{name}"
        );
        assert_eq!(
            with_trace.expect("traced").series(),
            without_trace.expect("traced").series(),
            "{name}"
        );
        starts += with.runs.starts;
    }
    assert!(starts > 15, "only {starts} starts were compared");
}

#[test]
fn a_welded_contact_runs_the_compressor_on_and_the_feedback_tells() {
    let welded = run(&scenario(
        "compressor-208",
        "[[happening]]\nat = \"02:00\"\nwhat = \"contact welds\"\n",
    ));
    let trace = welded.trace.as_ref().expect("traced");
    let after = stretches(trace, hours(3), hours(6));
    assert!(
        after.contains(&(Relay::Open, Fed::Energised)),
        "the relay never asked it to stop: {after:?}"
    );
    assert!(after.iter().all(|(_, load)| *load == Fed::Energised));
    assert_eq!(count(&welded, &Entry::Control(Event::ContactWelded)), 1);
    assert_eq!(told(&welded), ["works unasked: compressor, condenser-fan"]);
}

#[test]
fn what_opens_the_way_to_the_compressor_stops_it_and_is_told() {
    let cases = [
        ("compressor-120", "3", "off its terminal"),
        ("compressor-120", "hot-to-common", "missing"),
        ("compressor-120", "compressor", "winding open"),
        ("separate-supplies", "breaker", "tripped"),
        ("separate-supplies", "disconnect", "stuck open"),
        ("separate-supplies", "supply-condensing-unit", "leg2 lost"),
        ("contactor-24", "low-pressure-control", "stuck open"),
        ("contactor-24", "contactor", "contacts burnt open"),
        ("contactor-24", "contactor", "coil open"),
    ];
    let mut calls = 0;
    for (installation, part, fault) in cases {
        let name = format!("{installation}, {part} {fault}");
        let run = run(&scenario(installation, &fails("02:00", part, fault)));
        let trace = run.trace.as_ref().expect("traced");
        let before = stretches(trace, Duration::ZERO, hours(2));
        assert!(
            before.contains(&(Relay::Closed, Fed::Energised)),
            "{name}: {before:?}"
        );
        let after = stretches(trace, hours(3), hours(6));
        calls += after
            .iter()
            .filter(|(relay, _)| *relay == Relay::Closed)
            .count();
        assert!(
            after.iter().all(|(_, load)| *load == Fed::Dead),
            "{name}: {after:?}"
        );
        let told = told(&run);
        assert!(
            told.iter()
                .any(|words| words.starts_with("does not work: ") && words.contains("compressor")),
            "{name}: {told:?}"
        );
    }
    assert!(
        calls >= cases.len(),
        "only {calls} calls went without answer"
    );
}

#[test]
fn a_lost_leg_takes_the_control_with_it_or_only_the_compressor() {
    let one_supply = run(&scenario(
        "compressor-208",
        &fails("02:00", "supply", "leg2 lost"),
    ));
    assert_eq!(count(&one_supply, &Entry::PowerLost), 1);
    let after = stretches(
        one_supply.trace.as_ref().expect("traced"),
        hours(3),
        hours(6),
    );
    assert_eq!(after, [(Relay::Open, Fed::Dead)]);

    let two_supplies = run(&scenario(
        "separate-supplies",
        &fails("02:00", "supply-condensing-unit", "leg1 lost"),
    ));
    assert_eq!(count(&two_supplies, &Entry::PowerLost), 0);
    let burnt = Entry::Control(Event::ContactBurnt);
    assert_eq!(
        count(&two_supplies, &burnt),
        0,
        "the other leg reaches the contact through the winding, and the input sees it"
    );
    let after = stretches(
        two_supplies.trace.as_ref().expect("traced"),
        hours(3),
        hours(6),
    );
    assert!(after.contains(&(Relay::Closed, Fed::Dead)), "{after:?}");

    let both_legs = run(&scenario(
        "separate-supplies",
        &fails("02:00", "breaker", "tripped"),
    ));
    assert_eq!(count(&both_legs, &burnt), 1, "there is nothing to conduct");
}

/// The installation of this name, with a control that half its voltage keeps awake; none for
/// no name.
fn wakeful(name: &str) -> String {
    if name.is_empty() {
        return String::new();
    }
    let ships = Path::new(env!("CARGO_MANIFEST_DIR")).join("../host-sim/installations");
    let text = std::fs::read_to_string(ships.join(name).with_extension("toml")).expect("it ships");
    let wakeful = text.replacen(
        "kind = \"control\"",
        "kind = \"control\"\nleast_fraction = 0.5",
        1,
    );
    assert_ne!(text, wakeful, "{name} has a control");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("wakeful");
    std::fs::create_dir_all(&folder).expect("a folder");
    let file = folder.join(name).with_extension("toml");
    std::fs::write(&file, wakeful).expect("a file");
    file.display().to_string()
}

fn dips(from: &str, to: &str, length: &str) -> String {
    format!(
        "[[happening]]\nat = \"{from}\"\nevery = \"13 min\"\nuntil = \"05:00\"\nfor = \"{length}\"\n\
         what = \"supply dips\"\nto = \"{to}\"\n"
    )
}

/// A dip that stalls a compressor and leaves the board awake: with feedback the load rests as
/// it should, without it starts again when the voltage is back.
#[test]
fn a_dip_that_stalls_the_compressor_is_followed_by_a_whole_rest_where_feedback_is_fitted() {
    const REST: Duration = Duration::from_minutes(5);
    let lost = Entry::Control(Event::VoltageLost);
    for name in ["", "compressor-120", "compressor-208", "separate-supplies"] {
        let text = scenario(&wakeful(name), &dips("02:00", "72 %", "2 s"));
        let fitted = run(&text);
        let blind = run(&format!("contact_feedback = \"not fitted\"\n{text}"));
        assert_eq!(
            count(&fitted, &Entry::PowerLost),
            0,
            "{name}: it stays awake"
        );
        assert!(
            count(&fitted, &lost) >= 3,
            "{name}: {}",
            count(&fitted, &lost)
        );
        let burnt = Entry::Control(Event::ContactBurnt);
        assert_eq!(count(&fitted, &burnt), 0, "{name}");
        let (with, without) = (fitted.runs.shortest_rest, blind.runs.shortest_rest);
        assert!(with >= Some(REST), "{name}: {with:?}");
        assert_eq!(without, Some(Duration::from_seconds(2)), "{name}");
        assert_eq!(count(&blind, &lost), 0, "{name}");
    }
}

/// Between the voltage that stalls a motor and the one that its feedback calls live.
#[test]
fn feedback_means_four_fifths_of_the_nominal_voltage() {
    let lost = Entry::Control(Event::VoltageLost);
    for (to, told) in [("78 %", true), ("84 %", false)] {
        for name in ["", "compressor-120", "compressor-240", "separate-supplies"] {
            let dipped = run(&scenario(&wakeful(name), &dips("02:00", to, "1 min")));
            assert_eq!(count(&dipped, &lost) > 0, told, "{name} at {to}");
        }
    }
}

#[test]
fn a_welded_contactor_runs_on_though_relay_and_feedback_are_right() {
    let welded = run(&scenario(
        "contactor-24",
        &fails("02:00", "contactor", "contacts welded"),
    ));
    let after = stretches(welded.trace.as_ref().expect("traced"), hours(3), hours(6));
    assert!(after.contains(&(Relay::Open, Fed::Energised)), "{after:?}");
    assert!(after.iter().all(|(_, load)| *load == Fed::Energised));
    assert_eq!(count(&welded, &Entry::Control(Event::ContactWelded)), 0);
}

#[test]
fn a_dead_board_lets_the_relay_go_and_leaves_the_fan_running() {
    let dead = run(&scenario(
        "compressor-120",
        &fails("02:00", "control", "board dead"),
    ));
    assert_eq!(count(&dead, &Entry::PowerLost), 1);
    assert_eq!(told(&dead), ["does not work: control"]);
    let after = stretches(dead.trace.as_ref().expect("traced"), hours(3), hours(6));
    assert_eq!(after, [(Relay::Open, Fed::Dead)]);
    let (least_w, _) = extremes(&dead, Quantity::FanPower, hours(3));
    assert!(least_w > 100.0, "{least_w} W");
}

#[test]
fn a_short_trips_the_breaker_which_stays_open_until_somebody_resets_it() {
    let shorted = run(&scenario(
        "compressor-120",
        "[[happening]]\nat = \"02:00\"\nfor = \"10 min\"\nwhat = \"part fails\"\n\
         part = \"compressor\"\nfault = \"winding shorted\"\n\
         [[happening]]\nat = \"04:00\"\nwhat = \"part is mended\"\npart = \"breaker\"\n\
         [[happening]]\nat = \"02:00\"\nfor = \"30 min\"\nwhat = \"heat is added\"\npower = \"3000 W\"\n",
    ));
    let told = told(&shorted);
    assert!(
        told.iter()
            .any(|words| words == "opens on too much current: breaker"),
        "{told:?}"
    );
    let trace = shorted.trace.as_ref().expect("traced");
    assert_eq!(
        stretches(trace, hours(3), hours(4)),
        [(Relay::Open, Fed::Dead)]
    );
    let after = stretches(trace, hours(4), hours(6));
    assert!(
        after.contains(&(Relay::Closed, Fed::Energised)),
        "{after:?}"
    );
    assert_eq!(count(&shorted, &Entry::PowerLost), 1);
    assert_eq!(count(&shorted, &Entry::PowerUp), 2);
}

#[test]
fn a_breaker_that_trips_is_reset_by_itself_when_the_happening_ends() {
    let tripped = run(&scenario(
        "compressor-120",
        "[[happening]]\nat = \"02:00\"\nfor = \"10 min\"\nwhat = \"part fails\"\n\
         part = \"breaker\"\nfault = \"tripped\"\n",
    ));
    assert_eq!(count(&tripped, &Entry::PowerLost), 1);
    assert_eq!(count(&tripped, &Entry::PowerUp), 2);
    assert_eq!(told(&tripped), ["does not work: control, evaporator-fan"]);
    let entries = tripped.trace.as_ref().expect("traced").entries().iter();
    let mended = entries.filter(|(_, entry)| {
        matches!(entry, Entry::Happened(Edge::Ends(Hold::Part(part))) if &*part.name == "breaker")
    });
    assert_eq!(mended.count(), 1);
    assert!(tripped.runs.starts > 5, "{:?}", tripped.runs);
}

#[test]
fn an_evaporator_fan_without_its_wire_stands_still() {
    let still = run(&scenario(
        "compressor-120",
        &fails("02:00", "evaporator-fan", "winding open"),
    ));
    let (_, before_w) = extremes(&still, Quantity::FanPower, Duration::ZERO);
    let (_, after_w) = extremes(&still, Quantity::FanPower, Duration::from_minutes(121));
    assert!(
        before_w > 100.0 && after_w <= 0.0,
        "{before_w} W, {after_w} W"
    );
}

#[test]
fn a_deep_dip_stalls_the_compressor_before_the_board_gives_up() {
    let dip = |to: &str| {
        run(&scenario(
            "compressor-120",
            &format!(
                "[[happening]]\nat = \"00:00\"\nfor = \"3 h\"\nwhat = \"supply dips\"\nto = \"{to}\"\n"
            ),
        ))
    };
    let mild = dip("90 %");
    assert!(mild.runs.starts > 3 && count(&mild, &Entry::PowerLost) == 0);
    let deep = dip("60 %");
    let during = stretches(deep.trace.as_ref().expect("traced"), hours(0), hours(3));
    assert_eq!(during, [(Relay::Open, Fed::Dead)]);
    assert!(deep.runs.starts > 0, "it never came back");
}

#[test]
fn a_heater_gives_what_its_true_voltage_makes_of_it() {
    let heating = |happening: &str| {
        let text = format!(
            "title = \"A tank\"\nduration = \"2 h\"\ninstallation = \"heating-240\"\n\
             [plant]\nkind = \"heated tank\"\nstart_c = 20\n\
             [control]\nmode = \"heat\"\nsetpoint = \"60 °C\"\nload = \"other\"\n{happening}"
        );
        let run = run(&text);
        extremes(&run, Quantity::LoadPower, Duration::ZERO).1
    };
    let full_w = heating("");
    let dip =
        "[[happening]]\nat = \"00:00\"\nfor = \"2 h\"\nwhat = \"supply dips\"\nto = \"90 %\"\n";
    let share = heating(dip) / full_w;
    assert!((share - 0.81).abs() < 1e-3, "{share}");
}

#[test]
fn an_installation_beside_the_scenario_is_found_there_and_read_with_care() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("electrical_happenings");
    std::fs::create_dir_all(&folder).expect("a folder");
    let sound = include_str!("../../../host-sim/installations/compressor-120.toml");
    std::fs::write(folder.join("mine.toml"), sound).expect("a file");
    std::fs::write(
        folder.join("broken.toml"),
        sound.replace("rating_a = 20", ""),
    )
    .expect("a file");
    let beside = SearchPaths {
        weather: None,
        folder,
        files: Arc::new(Disk),
    };
    let read = |name: &str| {
        let source = SourceText::new("test.toml", scenario(name, "")).expect("short");
        Plan::read(&source, &beside)
    };
    let plan = read("mine.toml").unwrap_or_else(|rejected| panic!("{rejected}"));
    let wiring = plan.wiring.expect("it names one");
    assert_eq!(wiring.name, "mine.toml");
    let shown = read("broken.toml").expect_err("broken").to_string();
    for part in [
        "test.toml:3:16",
        "\"broken.toml\" is no sound installation",
        "lacks `rating_a`",
        "hysteron check",
    ] {
        assert!(shown.contains(part), "{part} is not in\n{shown}");
    }
}
