//! What happens in a scenario's installation happens electrically, and reaches control and plant.

use std::path::Path;

use hysteron::bench::{Bench, CaseRun, Recording};
use hysteron::plant::{HighPressureControl, Quantity};
use hysteron::runs::Fed;
use hysteron::scenario::ambient_table::WeatherSource;
use hysteron::scenario::expectation::Observable;
use hysteron::scenario::plan::Plan;
use hysteron::source_text::{Rejected, SourceText};
use hysteron::trace::{Entry, Trace};
use hysteron_logic::event::Event;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;

fn scenario(installation: &str, happenings: &str) -> String {
    let named = match installation {
        "" => String::new(),
        name => format!("installation = \"{name}\"\n"),
    };
    format!(
        "title = \"A cooler\"\nduration = \"6 h\"\n{named}\
         [plant]\nkind = \"refrigerated box\"\n\
         [control]\nmode = \"cool\"\nsetpoint = \"2 °C\"\ndifferential = \"2 K\"\n{happenings}"
    )
}

fn read(text: &str) -> Result<Plan, Rejected> {
    Plan::read(
        &SourceText::new("test.toml", text)?,
        &WeatherSource::default(),
    )
}

fn run(text: &str) -> CaseRun {
    let plan = read(text).unwrap_or_else(|rejected| panic!("{rejected}"));
    let bench = Bench::prepare(plan).expect("a plant that can be built");
    bench.run(&bench.plan().cases[0], Recording::Traced)
}

fn fails(at: &str, part: &str, fault: &str) -> String {
    format!(
        "[[happening]]\nat = \"{at}\"\nwhat = \"part fails\"\npart = \"{part}\"\nfault = \"{fault}\"\n"
    )
}

fn hours(hours: u32) -> Duration {
    Duration::from_hours(hours)
}

/// The stretches that lie at least partly between two moments.
fn stretches(trace: &Trace, from: Duration, until: Duration) -> Vec<(Relay, Fed)> {
    let all = trace.stretches();
    let ends = all.iter().skip(1).map(|next| next.from).chain([until]);
    all.iter()
        .zip(ends)
        .filter(|(stretch, end)| stretch.from < until && *end > from)
        .map(|(stretch, _)| (stretch.relay, stretch.feeds.load))
        .collect()
}

fn told(run: &CaseRun) -> Vec<String> {
    let entries = run.trace.as_ref().expect("traced").entries();
    let told = entries.iter().filter_map(|(_, entry)| match entry {
        Entry::Circuit(words) => Some(words.clone()),
        Entry::Control(_)
        | Entry::PowerUp
        | Entry::PowerLost
        | Entry::Happened(_)
        | Entry::LoadOnItsOwn(_) => None,
    });
    told.collect()
}

fn count(run: &CaseRun, wanted: &Entry) -> usize {
    let entries = run.trace.as_ref().expect("traced").entries();
    entries.iter().filter(|(_, entry)| entry == wanted).count()
}

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
    let mended = Entry::Happened("breaker: mended".to_owned());
    assert_eq!(count(&tripped, &mended), 1);
    assert!(tripped.runs.starts > 5, "{:?}", tripped.runs);
}

/// Highest and lowest value of a quantity from a moment on.
fn extremes(run: &CaseRun, quantity: Quantity, from: Duration) -> (f64, f64) {
    let trace = run.trace.as_ref().expect("traced");
    let series = trace.series().iter();
    let series = series.filter(|series| series.observable == Observable::Plant(quantity));
    let buckets = series.flat_map(|series| &series.buckets);
    let first = from.millis() / trace.interval().millis();
    let buckets = buckets.skip(usize::try_from(first).expect("few buckets"));
    buckets.fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(lowest, highest), bucket| (lowest.min(bucket.lowest), highest.max(bucket.highest)),
    )
}

fn pump_down(happenings: &str) -> CaseRun {
    let direct = scenario("pump-down-120", happenings);
    run(&direct.replace(
        "[control]",
        "[plant.pump_down]\ncut_in_kpa = \"15 psig\"\ncut_out_kpa = \"3 psig\"\n[control]",
    ))
}

#[test]
fn pressure_control_and_valve_circuit_fail_apart() {
    let sound = pump_down("");
    let compressor = sound.compressor.expect("it pumps down");
    assert!(compressor.starts > 5 && told(&sound).is_empty());

    let stuck_closed = pump_down(&fails("02:00", "low-pressure-control", "stuck closed"));
    let (least_w, _) = extremes(&stuck_closed, Quantity::CompressorPower, hours(3));
    assert!(
        least_w > 0.0,
        "the compressor draws into the vacuum: {least_w} W"
    );
    assert_eq!(
        told(&stuck_closed),
        ["works unasked: compressor, condenser-fan"]
    );

    let after = Duration::from_minutes(125);
    for (part, fault) in [
        ("low-pressure-control", "stuck open"),
        ("high-pressure-control", "stuck open"),
        ("breaker-condensing-unit", "tripped"),
        ("11", "off its terminal"),
        ("compressor", "winding open"),
    ] {
        let dead = pump_down(&fails("02:00", part, fault));
        let (_, most_w) = extremes(&dead, Quantity::CompressorPower, after);
        assert!(most_w <= 0.0, "{part} {fault}: {most_w} W");
        let trace = dead.trace.as_ref().expect("traced");
        let relay = stretches(trace, hours(3), hours(6));
        assert!(
            relay.contains(&(Relay::Closed, Fed::Energised)),
            "{part} {fault}: the valve was never called for"
        );
    }
    for (part, fault) in [("valve", "coil open"), ("4", "off its terminal")] {
        let shut = pump_down(&fails("02:00", part, fault));
        let (_, most_w) = extremes(&shut, Quantity::CompressorPower, hours(3));
        assert!(most_w <= 0.0, "{part} {fault}: {most_w} W");
        let trace = shut.trace.as_ref().expect("traced");
        let relay = stretches(trace, hours(3), hours(6));
        assert!(
            relay.contains(&(Relay::Closed, Fed::Dead)),
            "{part} {fault}: {relay:?}"
        );
        let (_, warmest_c) = extremes(&shut, Quantity::Air, hours(5));
        assert!(warmest_c > 6.0, "{part} {fault}: {warmest_c} °C");
    }
}

/// Which of two condensing units has a high-pressure control: one cycles on it, one runs hot.
#[test]
fn a_condenser_without_its_fan_runs_hot_until_head_pressure_opens_its_control() {
    let hot_day = "[[happening]]\nat = \"00:30\"\nfor = \"5 h\"\nwhat = \"heat is added\"\npower = \"4000 W\"\n";
    let fan = format!(
        "{hot_day}{}",
        fails("02:00", "condenser-fan", "winding open")
    );
    let sound = run(&scenario("contactor-24", hot_day));
    let (_, most_c) = extremes(&sound, Quantity::CondensingTemperature, Duration::ZERO);
    assert!(most_c < HighPressureControl::CLOSES_C, "{most_c} °C");

    let guarded = run(&scenario("contactor-24", &fan));
    let (_, most_c) = extremes(&guarded, Quantity::CondensingTemperature, hours(3));
    let opens_c = HighPressureControl::OPENS_C;
    assert!((opens_c..opens_c + 1.0).contains(&most_c), "{most_c} °C");
    let on_its_own = count(&guarded, &Entry::LoadOnItsOwn(Fed::Dead));
    assert!(on_its_own > 3, "{on_its_own} stops by pressure");

    let unguarded = run(&scenario("compressor-120", &fan));
    let (_, most_c) = extremes(&unguarded, Quantity::CondensingTemperature, hours(3));
    assert!(most_c > opens_c + 10.0, "{most_c} °C");
    assert_eq!(count(&unguarded, &Entry::LoadOnItsOwn(Fed::Dead)), 0);
    assert_eq!(told(&unguarded), ["does not work: condenser-fan"]);
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
    let sound = include_str!("../../host-sim/installations/compressor-120.toml");
    std::fs::write(folder.join("mine.toml"), sound).expect("a file");
    std::fs::write(
        folder.join("broken.toml"),
        sound.replace("rating_a = 20", ""),
    )
    .expect("a file");
    let beside = WeatherSource {
        given: None,
        relative_to: folder,
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
