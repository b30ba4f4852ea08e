//! The network as a netlist for ngspice, so that another solver can be asked.
//!
//! It is written from the elements, not from the equations: resistors, inductors,
//! capacitors, sources behind their resistance, and couplings as two controlled sources.
//! Each branch has a source of no voltage in it, through which ngspice tells its current.

use std::f64::consts::PI;
use std::fmt::Write;

use super::element::{Element, Node};
use super::network::ElectricalNetwork;

/// What a netlist prints for a node's voltage: real and imaginary part.
#[must_use]
pub fn node_name(node: Node) -> String {
    match node {
        Node::Earth => "0".to_owned(),
        Node::At(index) => format!("n{index}"),
    }
}

/// What a netlist prints for the current of the branch with this number.
#[must_use]
pub fn current_name(branch: usize) -> String {
    format!("i(vs{branch})")
}

/// A batch netlist that prints every node's voltage and every branch's current.
///
/// Amplitudes are effective values: the network is linear, and ngspice scales nothing.
#[must_use]
pub fn as_spice(network: &ElectricalNetwork, title: &str) -> String {
    let mut text = format!("* {}\n", title.replace('\n', " "));
    // Nodes that hang on capacitance alone have no direct-current path without this.
    text.push_str(".options rshunt=1e15\n");
    for (number, branch) in network.branches.iter().enumerate() {
        let _ = write_branch(&mut text, number, &branch.element, network.frequency_hz);
    }
    let hz = network.frequency_hz;
    let _ = write!(text, ".control\nset numdgt=12\nac lin 1 {hz} {hz}\n");
    for index in 0..network.nodes {
        let _ = writeln!(text, "print v({})", node_name(Node::At(index)));
    }
    for number in 0..network.branches.len() {
        let _ = writeln!(text, "print {}", current_name(number));
    }
    text.push_str(".endc\n.end\n");
    text
}

fn write_branch(
    text: &mut String,
    number: usize,
    element: &Element,
    frequency_hz: f64,
) -> std::fmt::Result {
    match *element {
        Element::Impedance { a, b, ohm } => {
            let (a, b) = (node_name(a), node_name(b));
            writeln!(text, "VS{number} {a} s{number} 0")?;
            if ohm.im == 0.0 {
                writeln!(text, "R{number} s{number} {b} {:e}", ohm.re)
            } else {
                let henry = ohm.im / (2.0 * PI * frequency_hz);
                writeln!(text, "R{number} s{number} m{number} {:e}", ohm.re)?;
                writeln!(text, "L{number} m{number} {b} {henry:e}")
            }
        }
        Element::Capacitance { a, b, farad } => {
            let (a, b) = (node_name(a), node_name(b));
            writeln!(text, "VS{number} {a} s{number} 0")?;
            writeln!(text, "C{number} s{number} {b} {farad:e}")
        }
        Element::Source { node, volts, ohm } => {
            let node = node_name(node);
            let (size, degrees) = (volts.norm(), volts.arg().to_degrees());
            writeln!(text, "V{number} e{number} 0 DC 0 AC {size:e} {degrees:e}")?;
            writeln!(text, "R{number} e{number} s{number} {ohm:e}")?;
            writeln!(text, "VS{number} s{number} {node} 0")
        }
        Element::Coupling {
            primary: [p1, p2],
            secondary: [s1, s2],
            ratio,
            ohm,
        } => {
            let [p1, p2, s1, s2] = [p1, p2, s1, s2].map(node_name);
            writeln!(text, "E{number} e{number} {s2} {p1} {p2} {ratio:e}")?;
            writeln!(text, "R{number} e{number} s{number} {ohm:e}")?;
            writeln!(text, "VS{number} s{number} {s1} 0")?;
            writeln!(text, "F{number} {p1} {p2} VS{number} {ratio:e}")
        }
    }
}
