//! Asks ngspice for the voltages and currents of every arrangement in every state that
//! matters and with every single fault, and compares.
//!
//! `tests/spice/compare.sh` calls it; its one argument is a folder for netlists.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use hysteron_installation::Installation;
use hysteron_installation::arrangements::ARRANGEMENTS;
use hysteron_installation::circuit::{Circuit, METER_OHM, Solution};
use hysteron_installation::element::{Branch, Element, Node};
use hysteron_installation::fault::Fault;
use hysteron_installation::file;
use hysteron_installation::netlist::{as_spice, current_name, node_name};
use hysteron_installation::network::ElectricalNetwork;
use hysteron_installation::part::Kind;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_installation::terminal::{PartSet, Role, TerminalId};
use hysteron_source::text::SourceText;
use nalgebra::Complex;

/// Voltages and currents may differ by this fraction of the larger.
const TOLERANCE: f64 = 1e-4;
/// Below these, in volts and amperes, there is leakage only, and ngspice's own rounding.
const LEAST_V: f64 = 1e-3;
const LEAST_A: f64 = 1e-6;

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else {
        complain("usage: compare-with-ngspice FOLDER");
        return ExitCode::from(2);
    };
    match run(&folder) {
        Ok(tally) if tally.wrong.is_empty() => {
            say(&tally.summary());
            ExitCode::SUCCESS
        }
        Ok(tally) => {
            complain(&tally.wrong.join("\n"));
            say(&tally.summary());
            ExitCode::FAILURE
        }
        Err(error) => {
            complain(&error);
            ExitCode::from(2)
        }
    }
}

fn say(text: &str) {
    let _ = writeln!(std::io::stdout().lock(), "{text}");
}

fn complain(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

#[derive(Default)]
struct Tally {
    cases: usize,
    voltages: usize,
    currents: usize,
    meters: usize,
    worst: f64,
    wrong: Vec<String>,
}

impl Tally {
    fn compare(&mut self, what: &str, own: Complex<f64>, asked: Complex<f64>, least: f64) -> bool {
        let scale = own.norm().max(asked.norm());
        if scale < least {
            return false;
        }
        let off = (own - asked).norm() / scale;
        self.worst = self.worst.max(off);
        if off > TOLERANCE {
            self.wrong.push(format!(
                "{what}: own {own}, ngspice {asked}, off by {off:.2e}"
            ));
        }
        true
    }

    fn summary(&self) -> String {
        format!(
            "{} cases, {} voltages, {} currents, {} meter readings; largest relative difference {:.1e}, \
             allowed {TOLERANCE:.0e}; {} beyond",
            self.cases,
            self.voltages,
            self.currents,
            self.meters,
            self.worst,
            self.wrong.len()
        )
    }
}

fn run(folder: &Path) -> Result<Tally, String> {
    std::fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut tally = Tally::default();
    for arrangement in ARRANGEMENTS {
        let source = SourceText::new(arrangement.name, arrangement.text)
            .map_err(|rejected| rejected.to_string())?;
        let installation = file::read(&source).map_err(|rejected| rejected.to_string())?;
        let sound = Circuit::new(installation.clone());
        for (words, state) in states(&installation) {
            let name = format!("{}-{words}", arrangement.name);
            compare(folder, &name, &sound, &state, &mut tally)?;
            let solution = sound.settle(&state).solution;
            for (number, (one, other)) in probes(&installation).into_iter().enumerate() {
                let name = format!("{name}-meter-{number}");
                metered(folder, &name, &solution, one, other, &mut tally)?;
            }
        }
        let faults: Vec<Fault> = installation.faults().collect();
        for (number, &fault) in faults.iter().enumerate() {
            let circuit = Circuit::new(installation.with_fault(fault));
            let state = State::default().with_relay(RelayArmature::Energised);
            let name = format!("{}-fault-{number}", arrangement.name);
            compare(folder, &name, &circuit, &state, &mut tally)?;
        }
    }
    Ok(tally)
}

fn states(installation: &Installation) -> Vec<(String, State)> {
    let satisfied = State::default();
    let calling = satisfied.with_relay(RelayArmature::Energised);
    let motors: PartSet = installation
        .parts()
        .filter(|(_, part)| matches!(part.kind, Kind::Motor(_)))
        .map(|(id, _)| id)
        .collect();
    let mut states = vec![
        ("satisfied".to_owned(), satisfied),
        ("calling".to_owned(), calling),
        ("starting".to_owned(), calling.with_starting(motors)),
        ("low".to_owned(), calling.with_supplies(870)),
        ("lost".to_owned(), calling.with_supplies(0)),
    ];
    for (id, part) in installation.parts() {
        if matches!(part.kind, Kind::Overcurrent(_) | Kind::Device(_)) {
            let open = calling.with_open(PartSet::EMPTY.with(id));
            states.push((format!("open-{}", part.name), open));
        }
    }
    states
}

fn compare(
    folder: &Path,
    name: &str,
    circuit: &Circuit,
    state: &State,
    tally: &mut Tally,
) -> Result<(), String> {
    let solution = circuit.settle(state).solution;
    let network = solution.solved().network();
    let asked = ask(folder, name, network)?;
    tally.cases += 1;
    let answer = |key: &str| {
        asked
            .get(key)
            .copied()
            .ok_or_else(|| format!("{name}: ngspice says nothing of {key}"))
    };
    for index in 0..network.nodes {
        let node = Node::At(index);
        let key = format!("v({})", node_name(node));
        let what = format!("{name} {key}");
        let own = solution.solved().node_v(node);
        let told = tally.compare(&what, own, answer(&key)?, LEAST_V);
        tally.voltages += usize::from(told);
    }
    for (number, branch) in network.branches.iter().enumerate() {
        let key = current_name(number);
        let what = format!("{name} {key}");
        let own = solution.solved().branch_a(branch);
        let told = tally.compare(&what, own, answer(&key)?, LEAST_A);
        tally.currents += usize::from(told);
    }
    Ok(())
}

/// Where a meter loads the circuit most: across the relay's contacts and a load, and to earth.
fn probes(installation: &Installation) -> Vec<(Node, Node)> {
    let Some((control, _)) = installation.control() else {
        return Vec::new();
    };
    let at = |role| installation.part(control).terminal(role).map(Node::from);
    let ends = |terminal: TerminalId| Node::from(terminal);
    let mut probes: Vec<(Node, Node)> = [Role::NormallyOpen, Role::NormallyClosed]
        .into_iter()
        .filter_map(|role| Some((at(Role::RelayCommon)?, at(role)?)))
        .collect();
    probes.extend(at(Role::NormallyClosed).map(|node| (node, Node::Earth)));
    let across = installation.loads().next().map(|load| load.across);
    let across = across.unwrap_or_default().into_iter();
    probes.extend(across.map(|(one, other)| (ends(one), ends(other))));
    probes
}

/// The reading worked out without a meter in the network, against ngspice with one.
fn metered(
    folder: &Path,
    name: &str,
    solution: &Solution<'_>,
    one: Node,
    other: Node,
    tally: &mut Tally,
) -> Result<(), String> {
    let mut network = solution.solved().network().clone();
    network.branches.push(Branch {
        part: None,
        role: Role::Ground,
        element: Element::Impedance {
            a: one,
            b: other,
            ohm: METER_OHM.into(),
        },
    });
    let asked = ask(folder, name, &network)?;
    let volts = |node: Node| match node {
        Node::Earth => Complex::from(0.0),
        Node::At(_) => asked
            .get(&format!("v({})", node_name(node)))
            .copied()
            .unwrap_or_default(),
    };
    let own = solution.solved().metered_v(one, other, METER_OHM);
    let shown = (volts(one) - volts(other)).norm();
    let told = tally.compare(name, own.into(), shown.into(), LEAST_V);
    tally.meters += usize::from(told);
    Ok(())
}

fn ask(
    folder: &Path,
    name: &str,
    network: &ElectricalNetwork,
) -> Result<HashMap<String, Complex<f64>>, String> {
    let path = folder.join(format!("{name}.cir"));
    std::fs::write(&path, as_spice(network, name))
        .map_err(|error| format!("{}: {error}", path.display()))?;
    let output = Command::new("ngspice")
        .arg("-b")
        .arg(&path)
        .output()
        .map_err(|error| format!("cannot run ngspice: {error}"))?;
    let text = String::from_utf8_lossy(&output.stdout);
    let answers: HashMap<String, Complex<f64>> = text.lines().filter_map(answer).collect();
    if answers.is_empty() {
        let mut message = format!("{name}: ngspice gave no answer\n{text}");
        let _ = write!(message, "{}", String::from_utf8_lossy(&output.stderr));
        return Err(message);
    }
    Ok(answers)
}

/// A line such as `v(n3) = 1.2e+02,-3.4e+00`.
fn answer(line: &str) -> Option<(String, Complex<f64>)> {
    let (key, value) = line.split_once(" = ")?;
    let (re, im) = value.split_once(',')?;
    let number = |text: &str| text.trim().parse::<f64>().ok();
    Some((
        key.trim().to_owned(),
        Complex::new(number(re)?, number(im)?),
    ))
}
