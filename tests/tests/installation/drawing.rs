//! Drawings read back from their SVG: wired as the file says, and nothing in the way of anything.

use std::collections::{BTreeMap, HashMap};

use hysteron_installation::arrangements::ARRANGEMENTS;
use hysteron_installation::circuit::{Circuit, Solution};
use hysteron_installation::conductor::Sort;
use hysteron_installation::fault::Trouble;
use hysteron_installation::file;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartSet, Role, TerminalId};
use hysteron_installation::{Installation, part::Kind};
use hysteron_source::text::SourceText;
use hysteron_tests::drawing_reader::{Read, read};
use hysteron_view::drawing::svg;
use proptest::prelude::*;

fn installation(name: &str, text: &str) -> Installation {
    let source = SourceText::new(name, text).expect("short");
    match file::read(&source) {
        Ok(installation) => installation,
        Err(rejected) => panic!("{rejected}\n{text}"),
    }
}

fn shipped() -> impl Iterator<Item = (&'static str, Installation)> {
    let all = ARRANGEMENTS.iter();
    all.map(|shipped| (shipped.name, installation(shipped.name, shipped.text)))
}

/// The states a drawing is asked for most: both of the relay, and with every contact open.
fn states(installation: &Installation) -> Vec<State> {
    let opens = |kind: &Kind| matches!(kind, Kind::Overcurrent(_) | Kind::Device(_));
    let open: PartSet = installation
        .parts()
        .filter(|(_, part)| opens(&part.kind))
        .map(|(id, _)| id)
        .collect();
    vec![
        State::default(),
        State::default().with_relay(RelayArmature::Energised),
        State::default().with_open(open),
    ]
}

/// For every terminal on a whole wire or under a jumper or a broken wire, its net by the file.
fn nets_of_file(installation: &Installation) -> HashMap<TerminalId, usize> {
    let mut nets: HashMap<TerminalId, usize> = HashMap::new();
    for (id, conductor) in installation.conductors() {
        let [one, other] = conductor.ends;
        let first = *nets.entry(one).or_insert(one.index());
        let second = *nets.entry(other).or_insert(other.index());
        let whole = !installation.part(id).suffers(Trouble::Off);
        if conductor.sort == Sort::Wire && whole {
            for net in nets.values_mut().filter(|net| **net == second) {
                *net = first;
            }
        }
    }
    nets
}

/// A name as XML can hold it.
fn as_drawn(name: &str) -> String {
    name.replace(char::is_control, "\u{fffd}")
}

/// Draws, reads back and judges; the answer is what was read.
fn judged(installation: &Installation, solution: Option<&Solution<'_>>) -> Result<Read, String> {
    let drawn = svg(installation, solution);
    if drawn != svg(installation, solution) {
        return Err("two drawings of one thing differ".to_owned());
    }
    let found = read(&drawn)?;
    found.has_room()?;
    let parts = installation.parts().count();
    let size = i32::try_from(parts).expect("few");
    if found.size.0 > 1000 + 400 * size || found.size.1 > 1000 + 500 * size {
        return Err(format!("{parts} parts take {:?}", found.size));
    }

    let of_file = nets_of_file(installation);
    let of_drawing = found.nets()?;
    let mut seen: HashMap<TerminalId, usize> = HashMap::new();
    let mut pairs: BTreeMap<usize, usize> = BTreeMap::new();
    let mut members: HashMap<usize, usize> = HashMap::new();
    for drawn in &of_drawing {
        *members.entry(*drawn).or_insert(0) += 1;
    }
    for ((name, _), drawn) in found.terminals.iter().zip(&of_drawing) {
        let id = installation
            .terminals()
            .find(|&id| as_drawn(&installation.terminal_name(id)) == *name)
            .ok_or_else(|| format!("there is no terminal {name}"))?;
        *seen.entry(id).or_insert(0) += 1;
        let Some(&net) = of_file.get(&id) else {
            if members[drawn] != 1 {
                return Err(format!("{name} is not wired, and is drawn so"));
            }
            continue;
        };
        if *pairs.entry(net).or_insert(*drawn) != *drawn {
            return Err(format!("{name} is cut off from its net"));
        }
    }
    let mut nets: Vec<usize> = pairs.values().copied().collect();
    nets.sort_unstable();
    nets.dedup();
    if nets.len() != pairs.len() {
        return Err("two nets are drawn as one".to_owned());
    }
    if let Some(&missing) = of_file
        .keys()
        .find(|terminal| !seen.contains_key(*terminal))
    {
        return Err(format!(
            "{} is not drawn",
            installation.terminal_name(missing)
        ));
    }
    Ok(found)
}

#[test]
fn what_ships_is_drawn_as_it_is_wired() {
    let mut drawn = 0;
    for (name, installation) in shipped() {
        let circuit = Circuit::new(installation.clone());
        let solutions: Vec<_> = states(&installation)
            .iter()
            .map(|state| circuit.settle(state).solution)
            .collect();
        for solution in solutions.iter().map(Some).chain([None]) {
            let read = judged(&installation, solution);
            let read = read.unwrap_or_else(|problem| panic!("{name}: {problem}"));
            assert_eq!(
                read.crossings(),
                0,
                "{name} can be drawn without a crossing"
            );
            drawn += 1;
        }
    }
    assert_eq!(drawn, 4 * ARRANGEMENTS.len());
}

#[test]
fn what_is_broken_is_drawn_as_broken() {
    let (mut drawn, mut off) = (0, 0);
    for (name, installation) in shipped() {
        for fault in installation.faults().collect::<Vec<_>>() {
            let faulty = installation.with_fault(fault);
            let circuit = Circuit::new(faulty.clone());
            let settled = circuit.settle(&State::default().with_relay(RelayArmature::Energised));
            let read = judged(&faulty, Some(&settled.solution));
            let words = installation.fault_words(fault);
            let read = read.unwrap_or_else(|problem| panic!("{name}, {words}: {problem}"));
            if fault.trouble == Trouble::Off {
                off += 1;
                let wire = &installation.part(fault.part).name;
                assert!(read.bodies.iter().any(|(part, _)| part == wire), "{words}");
            }
            drawn += 1;
        }
    }
    assert!(drawn > 100 && off > 50, "{drawn} faults, {off} wires off");
}

/// The class of the wire that ends at a terminal.
fn look(svg: &str, terminal: &str) -> String {
    let document = roxmltree::Document::parse(svg).expect("XML");
    let circle = document
        .descendants()
        .find(|node| node.attribute("data-terminal") == Some(terminal))
        .expect("drawn");
    let at = |name| circle.attribute(name).expect("a place").to_owned();
    let (x, y) = (at("cx"), at("cy"));
    let (starts, ends) = (format!("M{x} {y}"), format!("H{x}"));
    let wire = document
        .descendants()
        .filter(|node| {
            node.attribute("class")
                .is_some_and(|class| class.contains("d-wire"))
        })
        .find(|node| {
            let path = node.attribute("d").unwrap_or_default();
            let level = path.split(['M', ' ', 'H', 'V']).nth(2) == Some(&*y);
            let begins = path
                .strip_prefix(&starts)
                .is_some_and(|rest| rest.starts_with(['H', 'V']));
            begins || (level && path.ends_with(&ends))
        })
        .expect("a wire");
    wire.attribute("class")
        .expect("a class")
        .replace("d-wire ", "")
}

/// One leg to each, so both are live at rest; the relay closes, and both carry (common practice).
#[test]
fn live_and_carrying_wires_are_told_apart() {
    let text = |name: &str| {
        let all = ARRANGEMENTS.iter();
        all.clone()
            .find(|shipped| shipped.name == name)
            .expect("it ships")
            .text
    };
    let drawn = |name: &str, relay| {
        let installation = installation(name, text(name));
        let circuit = Circuit::new(installation.clone());
        let settled = circuit.settle(&State::default().with_relay(relay));
        svg(&installation, Some(&settled.solution))
    };
    let expect = |svg: &str, looks: &[(&str, &str)]| {
        for (terminal, expected) in looks {
            assert_eq!(look(svg, terminal), *expected, "{terminal}");
        }
    };
    let at_rest = drawn("compressor-120", RelayArmature::Released);
    expect(
        &at_rest,
        &[
            ("control.relay_common", "d-live"),
            ("control.normally_open", "d-dead"),
            ("compressor.line2", "d-dead"),
            ("evaporator-fan.line1", "d-live-carrying"),
            ("evaporator-fan.line2", "d-return-carrying"),
        ],
    );
    let calling = drawn("compressor-120", RelayArmature::Energised);
    expect(
        &calling,
        &[
            ("control.normally_open", "d-live-carrying"),
            ("compressor.line2", "d-return-carrying"),
        ],
    );
    let two_legs = drawn("compressor-208", RelayArmature::Released);
    expect(
        &two_legs,
        &[
            ("control.normally_open", "d-live"),
            ("compressor.line1", "d-live"),
            ("compressor.line2", "d-live"),
        ],
    );
    let unpowered = svg(
        &installation("compressor-120", text("compressor-120")),
        None,
    );
    assert_eq!(look(&unpowered, "compressor.line1"), "d-plain");
}

const KINDS: [&str; 17] = [
    "kind = \"supply\"\nvoltage = \"120 V\"",
    "kind = \"supply\"\nvoltage = \"208 V\"",
    "kind = \"supply\"\nvoltage = \"240 V\"",
    "kind = \"fuse\"\nrating_a = 5",
    "kind = \"breaker\"\nrating_a = 20",
    "kind = \"breaker\"\nrating_a = 20\npoles = 2",
    "kind = \"switch\"",
    "kind = \"switch\"\npoles = 2",
    "kind = \"low-pressure control\"",
    "kind = \"high limit\"",
    "kind = \"door switch\"",
    "kind = \"transformer\"\nprimary_v = 120\nsecondary_v = 24\nrated_va = 40",
    "kind = \"contactor\"\nrated_v = 24\nsealed_va = 9\ninrush_va = 32",
    "kind = \"compressor\"\nrated_v = 120\nrunning_a = 8\nlocked_rotor_a = 48",
    "kind = \"liquid-line solenoid valve\"\nrated_v = 120\nsealed_va = 17\ninrush_va = 39",
    "kind = \"heater\"\nrated_v = 240\npower_w = 3500",
    "kind = \"lamp\"\nrated_v = 120\npower_w = 15",
];

const CONTROL: &str = "[part.control]
kind = \"control\"
power_taps_v = [24, 120, 240]
[[part.control.rating]]
up_to_v = 240
resistive_a = 20
full_load_a = 12
locked_rotor_a = 72
pilot_duty_va = 720
";

const NAMES: [&str; 6] = [
    "part",
    "a-part-with-a-name-that-nobody-would-choose-willingly",
    "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
    "冷凍機",
    "<&>",
    "tab\\tand bell\\u0007",
];

/// Any parts with any wiring: most of it is nonsense, and all of it can be drawn.
fn any_installation() -> impl Strategy<Value = String> {
    let parts = prop::collection::vec((0..KINDS.len(), 0..NAMES.len()), 0..8);
    let supply = 0..3usize;
    let wires = prop::collection::vec(
        (
            any::<prop::sample::Index>(),
            any::<prop::sample::Index>(),
            0..5,
        ),
        0..20,
    );
    (supply, parts, wires, any::<bool>()).prop_map(|(supply, parts, wires, with_control)| {
        let mut text = format!("title = \"Any\"\n[part.supply]\n{}\n", KINDS[supply]);
        if with_control {
            text.push_str(CONTROL);
        }
        let supplies = parts.iter().filter(|(kind, _)| *kind < 3).count();
        for (index, (kind, name)) in parts.into_iter().enumerate() {
            let kind = if supplies > 3 { kind.max(3) } else { kind };
            text.push_str(&format!(
                "[part.\"{}-{index}\"]\n{}\n",
                NAMES[name], KINDS[kind]
            ));
        }
        let bare = installation("any", &text);
        let terminals: Vec<String> = bare.terminals().map(|id| bare.terminal_name(id)).collect();
        let (mut as_wires, mut as_jumpers) = (String::new(), String::new());
        for (index, (from, to, sort)) in wires.into_iter().enumerate() {
            let (from, to) = (from.get(&terminals), to.get(&terminals));
            let quoted = |name: &str| toml::Value::from(name).to_string();
            let (from_text, to_text) = (quoted(from), quoted(to));
            if from == to {
                continue;
            }
            let ends = format!("from = {from_text}, to = {to_text}, gauge_awg = 14");
            if sort == 0 {
                as_jumpers.push_str(&format!("j{index} = {{ {ends} }}\n"));
            } else {
                as_wires.push_str(&format!("w{index} = {{ {ends}, length_m = 3 }}\n"));
            }
        }
        format!("{text}[wire]\n{as_wires}[jumper]\n{as_jumpers}")
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_installation_is_drawn_as_it_is_wired(text in any_installation(), broken in any::<prop::sample::Index>()) {
        let whole = installation("any", &text);
        let conductors: Vec<_> = whole.conductors().map(|(id, _)| id).collect();
        let mut all = vec![whole.clone()];
        if !conductors.is_empty() {
            let faults = whole.faults_of(*broken.get(&conductors));
            all.extend(faults.into_iter().map(|fault| whole.with_fault(fault)));
        }
        for installation in &all {
            let circuit = Circuit::new(installation.clone());
            let settled = circuit.settle(&State::default().with_relay(RelayArmature::Energised));
            for solution in [None, Some(&settled.solution)] {
                if let Err(problem) = judged(installation, solution) {
                    prop_assert!(false, "{problem}\n{text}");
                }
            }
        }
    }
}

/// A neutral between two legs, a load across two nets of one column, a jumper across
/// itself: the ways out of the ordinary are reached, and come out right.
#[test]
fn wires_that_turn_back_and_drop_are_drawn_too() {
    let text = format!(
        "title = \"Odd\"\n[part.supply]\n{}\n{CONTROL}[part.lamp]\n{}\n[part.motor]\n{}\n[wire]\n{}[jumper]\n{}",
        KINDS[2],
        KINDS[16],
        KINDS[13],
        "1 = { from = \"supply.leg1\", to = \"lamp.line1\", gauge_awg = 14, length_m = 3 }
2 = { from = \"supply.neutral\", to = \"lamp.line2\", gauge_awg = 14, length_m = 3 }
3 = { from = \"lamp.frame\", to = \"motor.frame\", gauge_awg = 14, length_m = 3 }
4 = { from = \"supply.leg2\", to = \"motor.line1\", gauge_awg = 14, length_m = 3 }
5 = { from = \"motor.line1\", to = \"motor.line2\", gauge_awg = 14, length_m = 3 }
",
        "twice = { from = \"supply.leg1\", to = \"lamp.line1\", gauge_awg = 14 }\n"
    );
    let odd = installation("odd", &text);
    let found = judged(&odd, None).unwrap_or_else(|problem| panic!("{problem}"));
    assert!(found.crossings() > 0, "nothing crossed");
    let frames = found
        .terminals
        .iter()
        .filter(|(name, _)| name.ends_with(&*Role::Frame.name()));
    assert_eq!(frames.count(), 2);
}
