//! Every shipped arrangement, solved: what the trade knows about it, and closed forms.

use hysteron_installation::Installation;
use hysteron_installation::arrangements::ARRANGEMENTS;
use hysteron_installation::circuit::Circuit;
use hysteron_installation::element::Node;
use hysteron_installation::file;
use hysteron_installation::load::Supplied;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_source::text::SourceText;
use nalgebra::Complex;

fn installation(name: &str) -> Installation {
    let arrangement =
        hysteron_installation::arrangements::named(name).unwrap_or_else(|| panic!("{name}"));
    read(arrangement.name, arrangement.text)
}

fn read(name: &str, text: &str) -> Installation {
    let source = SourceText::new(name, text).expect("short");
    match file::read(&source) {
        Ok(installation) => installation,
        Err(rejected) => panic!("{rejected}"),
    }
}

#[test]
fn every_arrangement_reads_and_its_relay_makes_a_difference() {
    for arrangement in ARRANGEMENTS {
        let circuit = Circuit::new(read(arrangement.name, arrangement.text));
        let on = State::default().with_relay(RelayArmature::Energised);
        let (off, on) = (circuit.settle(&State::default()), circuit.settle(&on));
        assert!(off.chattering.is_empty() && on.chattering.is_empty());
        let mut changed = 0;
        for load in circuit.installation().loads() {
            let id = load.part;
            let name = &circuit.installation().part(id).name;
            let (off, on) = (off.solution.supplied(id), on.solution.supplied(id));
            for supplied in [off, on] {
                let settled = matches!(supplied, Supplied::Off | Supplied::Right);
                assert!(settled, "{}: {name} {supplied:?}", arrangement.name);
            }
            changed += usize::from(off != on);
        }
        assert!(changed > 0, "{}", arrangement.name);
        let (control, _) = circuit.installation().control().expect("has a control");
        assert_eq!(off.solution.supplied(control), Supplied::Right);
    }
}

/// Common practice: a mechanic's first readings.
#[test]
fn a_meter_shows_what_the_trade_knows() {
    for (name, between) in [("compressor-208", 207.8), ("compressor-240", 240.0)] {
        let circuit = Circuit::new(installation(name));
        let at = |name: &str| circuit.installation().terminal_named(name).expect(name);
        let off = circuit.settle(&State::default()).solution;
        for leg in ["supply.leg1", "supply.leg2"] {
            assert!((off.meter_to_earth_v(at(leg)) - 120.0).abs() < 0.5);
        }
        let legs = off.meter_v(at("supply.leg1"), at("supply.leg2"));
        assert!((legs - between).abs() < 0.5, "{legs}");
        let contact = (at("control.relay_common"), at("control.normally_open"));
        let open = off.meter_v(contact.0, contact.1);
        assert!(
            (open - between).abs() < 0.5,
            "across the open contact {open}"
        );
        let live = off.meter_to_earth_v(at("compressor.line1"));
        assert!(
            (live - 120.0).abs() < 0.5,
            "a resting load stands at {live} to ground"
        );
        let on = circuit
            .settle(&State::default().with_relay(RelayArmature::Energised))
            .solution;
        let closed = on.meter_v(contact.0, contact.1);
        assert!(closed < 0.2, "across the closed contact {closed}");
    }
}

/// Kirchhoff's first law holds the three to one another that each element says of itself: what
/// it adds to the equations, what flows in it, and how much comes out at a node.
#[test]
fn whatever_elements_bring_to_a_node_adds_up_to_nothing() {
    let calling = State::default().with_relay(RelayArmature::Energised);
    let mut largest_a = 0.0_f64;
    for arrangement in ARRANGEMENTS {
        let circuit = Circuit::new(read(arrangement.name, arrangement.text));
        let settled = circuit.settle(&calling);
        let solved = settled.solution.solved();
        for node in (0..solved.network().nodes).map(Node::At) {
            let brought = solved.network().branches.iter().map(|branch| {
                let amps = solved.branch_a(branch);
                largest_a = largest_a.max(amps.norm());
                branch.element.out_of_a(node, amps)
            });
            let sum: Complex<f64> = brought.sum();
            assert!(sum.norm() < 1e-6, "{}: {node:?} {sum}", arrangement.name);
        }
    }
    assert!(largest_a > 10.0, "{largest_a}");
}
