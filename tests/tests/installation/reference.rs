//! The solver against circuits worked out elsewhere, and motors against the table they are from.

use hysteron_installation::element::{Branch, Element, Node};
use hysteron_installation::network::ElectricalNetwork;
use hysteron_installation::solved::{Solved, Sparsity};
use hysteron_installation::terminal::{Pole, Role};
use nalgebra::Complex;

const EARTH: Node = Node::Earth;

fn at(index: usize) -> Node {
    Node::At(index)
}

fn ohms(a: Node, b: Node, ohm: f64) -> Element {
    Element::Impedance {
        a,
        b,
        ohm: ohm.into(),
    }
}

/// A resistance and an inductance in series at 60 Hz.
fn coil(a: Node, b: Node, ohm: f64, henry: f64) -> Element {
    let reactance = 2.0 * std::f64::consts::PI * 60.0 * henry;
    Element::Impedance {
        a,
        b,
        ohm: Complex::new(ohm, reactance),
    }
}

/// A leg with next to nothing behind it.
fn leg(node: Node, degrees: f64) -> Element {
    Element::Source {
        node,
        volts: Complex::from_polar(120.0, degrees.to_radians()),
        ohm: 1e-9,
    }
}

fn network(nodes: usize, elements: Vec<Element>) -> ElectricalNetwork {
    let branches = elements
        .into_iter()
        .map(|element| Branch {
            part: None,
            role: Role::Line(Pole::Only),
            element,
        })
        .collect();
    ElectricalNetwork {
        nodes,
        branches,
        frequency_hz: 60.0,
    }
}

fn branch_a(solved: &Solved<'_>, number: usize) -> f64 {
    solved.branch_a(&solved.network().branches[number]).norm()
}

#[track_caller]
fn close(own: f64, reference: f64) {
    assert!(
        (own / reference - 1.0).abs() < 1e-6,
        "{own} is not {reference}"
    );
}

/// `data/wye208.cir`, run with ngspice 39: a coil across two legs of a wye through a closed
/// contact, and a floating stud behind an open one, back-fed through a second coil.
#[test]
fn a_coil_on_two_legs_of_a_wye() {
    let [a, b, a1, x, y, z] = [0, 1, 2, 3, 4, 5].map(at);
    let network = network(
        6,
        vec![
            leg(a, 0.0),
            leg(b, -120.0),
            ohms(a, a1, 0.05),
            ohms(a1, x, 0.02),
            ohms(b, y, 0.05),
            coil(x, y, 200.0, 1.0),
            ohms(a, z, 1e9),
            coil(z, b, 200.0, 1.0),
            ohms(z, EARTH, 1e12),
        ],
    );
    let sparsity = Sparsity::of(&network);
    let solved = sparsity.solve(network);
    let volts = |one: Node, other: Node| (solved.node_v(one) - solved.node_v(other)).norm();
    close(volts(a, b), 207.846_097);
    close(branch_a(&solved, 5), 0.486_970_962);
    close(volts(x, y), 207.818_704);
    close(solved.node_v(z).norm(), 119.999_925);
    close(solved.node_v(z).arg().to_degrees(), -120.000_002);
    // Closed form: the legs of a wye stand apart by the root of three.
    close(volts(a, b), 120.0 * 3f64.sqrt());
}

/// `data/split240.cir`, run with ngspice 39: a coil across two legs of a split phase, and a
/// 5:1 transformer with 1.2 ohm in its secondary.
#[test]
fn a_coil_and_a_transformer_on_a_split_phase() {
    let [a, b, p, s] = [0, 1, 2, 3].map(at);
    let network = network(
        4,
        vec![
            leg(a, 0.0),
            leg(b, 180.0),
            coil(a, b, 200.0, 1.0),
            ohms(a, p, 1e-3),
            Element::Coupling {
                primary: [p, EARTH],
                secondary: [s, EARTH],
                ratio: 0.2,
                ohm: 1.2,
            },
            coil(s, EARTH, 30.0, 0.06),
        ],
    );
    let sparsity = Sparsity::of(&network);
    let solved = sparsity.solve(network);
    close((solved.node_v(a) - solved.node_v(b)).norm(), 240.0);
    close(branch_a(&solved, 2), 0.562_379_8);
    close(solved.node_v(s).norm(), 23.399_03);
    close(branch_a(&solved, 5), 0.622_781_8);
    close(branch_a(&solved, 3), 0.124_556_4);
    // Closed form: 24 V behind 1.2 ohm on 30 ohm and 0.06 H.
    let load = Complex::new(30.0, 2.0 * std::f64::consts::PI * 60.0 * 0.06);
    close(branch_a(&solved, 5), 24.0 / (load + 1.2).norm());
}

/// NEC tables 430.248 and 430.251(A), second-hand. The motors that ship were given these very
/// currents: a slip of the pen shows, but this is no independent check.
#[test]
fn shipped_compressors_draw_the_currents_they_were_given() {
    use hysteron_installation::arrangements::ARRANGEMENTS;
    use hysteron_installation::file;
    use hysteron_installation::load::Duty;
    use hysteron_installation::part::Kind;
    use hysteron_source::text::SourceText;

    let table = include_str!("../../data/motor_currents.csv");
    let rows: Vec<Vec<&str>> = table
        .lines()
        .skip(2)
        .map(|line| line.split(',').collect())
        .collect();
    let published = |kind: &str, column: usize| -> Vec<f64> {
        rows.iter()
            .filter(|row| row[0] == kind)
            .filter_map(|row| row[column].parse().ok())
            .collect()
    };
    let mut compared = 0;
    for arrangement in ARRANGEMENTS {
        let source = SourceText::new(arrangement.name, arrangement.text).expect("short");
        let installation = file::read(&source).expect("ships");
        for (_, part) in installation.parts() {
            let Kind::Motor(motor) = &part.kind else {
                continue;
            };
            if motor.duty != Duty::Compressor {
                continue;
            }
            let column = match motor.rated_v {
                v if v < 150.0 => 2,
                v if v < 220.0 => 4,
                _ => 5,
            };
            let near = |kind: &str, amps: f64| {
                let ratio = |listed: &f64| (amps / listed - 1.0).abs();
                published(kind, column)
                    .iter()
                    .any(|listed| ratio(listed) < 0.01)
            };
            assert!(near("flc", motor.running_a), "{}", arrangement.name);
            if motor.running_a > 7.5 {
                assert!(near("lrc", motor.locked_rotor_a), "{}", arrangement.name);
            }
            compared += 1;
        }
    }
    assert!(compared >= 6, "{compared}");
}
