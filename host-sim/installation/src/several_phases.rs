//! Loads of several windings and contacts of several poles, against what is known in closed form.

use std::collections::BTreeMap;

use nalgebra::Complex;

use super::Installation;
use super::circuit::Circuit;
use super::conductor::{Conductor, Gauge, Sort};
use super::connection::{Connection, Winding, WindingEnd};
use super::element::{Branch, Element, Node};
use super::fault::{Fault, Trouble};
use super::load::{Coil, Duty, Motor, Resistance, Supplied};
use super::network::{ElectricalNetwork, Gathering};
use super::part::{Contactor, Kind, Part, Poles};
use super::solved::{Solved, Sparsity};
use super::state::{Contacts, State};
use super::supply::{Service, Supply};
use super::terminal::{Ordinal, PartId, PartSet, Pole, Role, TerminalId};

const LINE: [Role; 3] = [
    Role::Line(Pole::Nth(Ordinal::FIRST)),
    Role::Line(Pole::Nth(Ordinal::SECOND)),
    Role::Line(Pole::Nth(Ordinal::THIRD)),
];
const LOAD: [Role; 3] = [
    Role::Load(Pole::Nth(Ordinal::FIRST)),
    Role::Load(Pole::Nth(Ordinal::SECOND)),
    Role::Load(Pole::Nth(Ordinal::THIRD)),
];
const EVERY_TWO: &[(Role, Role)] = &[(LINE[0], LINE[1]), (LINE[1], LINE[2]), (LINE[2], LINE[0])];

const fn winding(from: Role, to: WindingEnd) -> Winding {
    Winding { from, to }
}

/// Three windings that meet inside.
const WYE: Connection = Connection {
    terminals: &LINE,
    windings: &[
        winding(LINE[0], WindingEnd::Inside(0)),
        winding(LINE[1], WindingEnd::Inside(0)),
        winding(LINE[2], WindingEnd::Inside(0)),
    ],
    across: EVERY_TWO,
    inner_points: 1,
};

/// Three windings in a ring.
const DELTA: Connection = Connection {
    terminals: &LINE,
    windings: &[
        winding(LINE[0], WindingEnd::Terminal(LINE[1])),
        winding(LINE[1], WindingEnd::Terminal(LINE[2])),
        winding(LINE[2], WindingEnd::Terminal(LINE[0])),
    ],
    across: EVERY_TWO,
    inner_points: 0,
};

/// A main winding on the line, and a start winding whose other end a capacitor feeds.
const START_WINDING: Connection = Connection {
    terminals: &LINE,
    windings: &[
        winding(LINE[0], WindingEnd::Terminal(LINE[1])),
        winding(LINE[2], WindingEnd::Terminal(LINE[1])),
    ],
    across: &[(LINE[0], LINE[1])],
    inner_points: 0,
};

/// What stands behind each leg, in ohms.
const SOURCE_OHM: f64 = 0.02;
/// A closed pole, in ohms.
const CONTACT_OHM: f64 = 0.002;
/// What a solution may be off, as strays are left out of the closed forms.
const WITHIN: f64 = 1e-5;

fn legs_v() -> [Complex<f64>; 3] {
    [0.0_f64, -120.0, 120.0].map(|degrees| Complex::from_polar(120.0, degrees.to_radians()))
}

fn part(name: &str, kind: Kind) -> Part {
    Part {
        name: name.to_owned(),
        kind,
        troubles: Vec::new(),
        fault_weight: 1.0,
        terminals: Vec::new(),
        written_at: 0..0,
    }
}

fn contactor() -> Part {
    let coil = Coil {
        rated_v: 240.0,
        sealed_va: 10.0,
        inrush_va: 60.0,
        power_factor: 0.4,
        pull_in_fraction: 0.85,
        drop_out_fraction: 0.5,
    };
    let contactor = Contactor {
        coil,
        poles: Poles::Three,
        contact_ohm: CONTACT_OHM,
        ratings: Vec::new(),
    };
    part("contactor", Kind::Contactor(contactor))
}

fn assembled(parts: Vec<Part>) -> Installation {
    Installation::assemble(String::new(), String::new(), 60.0, parts)
}

/// Three legs, a contactor with three poles, and behind it windings that are connected so.
struct Fed {
    network: ElectricalNetwork,
    motor: PartId,
    behind: [TerminalId; 3],
}

impl Fed {
    fn with(
        connection: &Connection,
        ohm: &BTreeMap<Role, Complex<f64>>,
        contacts: &Contacts,
        legs_ohm: [f64; 3],
    ) -> Self {
        let installation = assembled(vec![contactor()]);
        let (id, contactor) = installation.parts().next().expect("the contactor");
        let at = |role| contactor.terminal(role).expect("three poles");
        let motor = PartId::from_index(1).expect("small");
        let mut wound = part("motor", Kind::Motor(plate()));
        wound.terminals = LINE.into_iter().zip(LOAD.map(at)).collect();
        let state = State::default();
        let mut gathering = Gathering::new(&installation, &state, contacts);
        gathering.add(id, contactor);
        gathering.windings(motor, &wound, connection, |winding| ohm[&winding.from]);
        let mut network = gathering.finish(60.0);
        for ((role, volts), ohm) in LINE.into_iter().zip(legs_v()).zip(legs_ohm) {
            network.branches.push(Branch {
                part: None,
                role,
                element: Element::Source {
                    node: at(role).into(),
                    volts,
                    ohm,
                },
            });
        }
        Self {
            network,
            motor,
            behind: LOAD.map(at),
        }
    }

    fn solved<T>(self, look: impl FnOnce(&Solved<'_>, PartId, [TerminalId; 3]) -> T) -> T {
        let sparsity = Sparsity::of(&self.network);
        look(&sparsity.solve(self.network), self.motor, self.behind)
    }
}

fn plate() -> Motor {
    Motor {
        duty: Duty::Compressor,
        rated_v: 208.0,
        running_a: 10.0,
        locked_rotor_a: 60.0,
        power_factor: 0.8,
    }
}

fn pulled_in() -> Contacts {
    let contactor = PartId::from_index(0).expect("small");
    Contacts {
        pulled_in: PartSet::EMPTY.with(contactor),
        ..Contacts::default()
    }
}

fn unlike() -> BTreeMap<Role, Complex<f64>> {
    let ohms = [(9.0, 4.0), (12.0, 7.0), (20.0, 1.0)].map(|(re, im)| Complex::new(re, im));
    LINE.into_iter().zip(ohms).collect()
}

fn winding_a(solved: &Solved<'_>, part: PartId, role: Role) -> Complex<f64> {
    let own = |branch: &&Branch| branch.part == Some(part) && branch.role == role;
    let branch = solved.network().branches.iter().find(own);
    solved.branch_a(branch.expect("that winding"))
}

fn assert_close(own: Complex<f64>, known: Complex<f64>) {
    assert!(
        (own - known).norm() < WITHIN * known.norm(),
        "{own} {known}"
    );
}

/// Millman's theorem: the star point stands at the mean of the legs, weighed by admittance.
#[test]
fn three_unlike_windings_in_wye_pull_their_star_point_to_where_millman_has_it() {
    let ohm = unlike();
    let known: Vec<(Complex<f64>, Complex<f64>)> = LINE
        .iter()
        .zip(legs_v())
        .map(|(role, volts)| (volts, (ohm[role] + SOURCE_OHM + CONTACT_OHM).inv()))
        .collect();
    let driven_a: Complex<f64> = known.iter().map(|(volts, siemens)| volts * siemens).sum();
    let together: Complex<f64> = known.iter().map(|(_, siemens)| siemens).sum();
    let star_v = driven_a / together;
    assert!(star_v.norm() > 10.0, "the windings differ: {star_v}");
    let fed = Fed::with(&WYE, &ohm, &pulled_in(), [SOURCE_OHM; 3]);
    fed.solved(|solved, motor, _| {
        for (role, (volts, siemens)) in LINE.into_iter().zip(known) {
            assert_close(winding_a(solved, motor, role), (volts - star_v) * siemens);
        }
        let star = Node::At(solved.network().nodes - 1);
        assert_close(solved.node_v(star), star_v);
    });
}

#[test]
fn three_unlike_windings_in_delta_carry_what_stands_between_their_legs() {
    let ohm = unlike();
    let fed = Fed::with(&DELTA, &ohm, &pulled_in(), [SOURCE_OHM; 3]);
    fed.solved(|solved, motor, behind| {
        let volts = behind.map(|terminal| solved.node_v(terminal.into()));
        let winding_a = LINE.map(|role| winding_a(solved, motor, role));
        for phase in 0..3 {
            let next = (phase + 1) % 3;
            let known = (volts[phase] - volts[next]) / ohm[&LINE[phase]];
            assert_close(winding_a[phase], known);
            // What a leg gives goes into one winding and comes out of the one before.
            let line_a = winding_a[phase] - winding_a[(phase + 2) % 3];
            let leg_v = volts[phase] + line_a * (SOURCE_OHM + CONTACT_OHM);
            assert_close(leg_v, legs_v()[phase]);
        }
    });
}

#[test]
fn a_contactor_of_three_poles_takes_the_current_off_all_three_windings() {
    let fed = |contacts: &Contacts| {
        let fed = Fed::with(&WYE, &unlike(), contacts, [SOURCE_OHM; 3]);
        fed.solved(|solved, motor, _| LINE.map(|role| winding_a(solved, motor, role).norm()))
    };
    for (closed, open) in fed(&pulled_in()).into_iter().zip(fed(&Contacts::default())) {
        assert!(closed > 5.0 && open < 1e-5, "{closed} {open}");
    }
}

/// With a leg lost, the star point of equal windings stands half-way between the other two, and
/// the dead terminal with it.
#[test]
fn a_lost_leg_leaves_half_the_voltage_across_two_pairs_and_the_load_is_judged_by_them() {
    let ohm = LINE.map(|role| (role, Complex::new(10.0, 5.0))).into();
    let rated_v = (legs_v()[0] - legs_v()[1]).norm();
    for (third_ohm, known) in [(SOURCE_OHM, 1.0), (1e10, 0.5)] {
        let legs_ohm = [SOURCE_OHM, SOURCE_OHM, third_ohm];
        let fed = Fed::with(&WYE, &ohm, &pulled_in(), legs_ohm);
        let fraction = fed.solved(|solved, _, behind| {
            let at = |role: Role| {
                let place = LINE.iter().position(|line| *line == role)?;
                Some(solved.node_v(behind[place].into()))
            };
            WYE.fraction(rated_v, |one, other| Some(at(one)? - at(other)?))
        });
        assert!((fraction - known).abs() < 0.01, "{fraction}");
    }
}

#[test]
fn a_capacitor_turns_the_current_of_a_start_winding_as_its_reactance_says() {
    let (main, start, farad) = (Complex::new(6.0, 14.0), Complex::new(15.0, 22.0), 100e-6);
    let ohm = BTreeMap::from([(LINE[0], main), (LINE[2], start)]);
    // Two legs feed it, and the third stays where the capacitor hangs.
    let mut fed = Fed::with(
        &START_WINDING,
        &ohm,
        &pulled_in(),
        [SOURCE_OHM, SOURCE_OHM, 1e12],
    );
    let [run, _, start_end] = fed.behind;
    fed.network.branches.push(Branch {
        part: PartId::from_index(2),
        role: Role::Line(Pole::Only),
        element: Element::Capacitance {
            a: run.into(),
            b: start_end.into(),
            farad,
        },
    });
    fed.solved(|solved, motor, [run, common, start_end]| {
        let across_v = solved.node_v(run.into()) - solved.node_v(common.into());
        let reactance = Complex::new(0.0, -1.0 / (solved.network().radians_per_s() * farad));
        let (main_a, start_a) = (across_v / main, across_v / (start + reactance));
        assert_close(winding_a(solved, motor, LINE[0]), main_a);
        assert_close(winding_a(solved, motor, LINE[2]), start_a);
        let capacitor_v = solved.node_v(run.into()) - solved.node_v(start_end.into());
        assert_close(capacitor_v, start_a * reactance);
        let ahead = (start_a / main_a).arg().to_degrees();
        assert!((60.0..120.0).contains(&ahead), "{ahead} degrees");
    });
}

fn wire(installation: &mut Installation, from: &str, to: &str) {
    let ends = [from, to].map(|name| installation.terminal_named(name).expect(name));
    let conductor = Conductor {
        sort: Sort::Wire,
        ends,
        gauge: Gauge::new(10).expect("a size"),
        length_m: 2.0,
    };
    let name = format!("{from} to {to}");
    installation
        .parts
        .push(part(&name, Kind::Conductor(conductor)));
}

#[test]
fn a_coil_seats_all_three_poles_and_each_feeds_a_load_of_its_own() {
    let supply = Supply {
        service: Service::Volts240,
        available_fault_current_a: 5000.0,
    };
    let heater = || {
        Kind::Heater(Resistance {
            rated_v: 120.0,
            power_w: 1000.0,
        })
    };
    let heaters = ["one", "two", "three"];
    let mut parts = vec![part("supply", Kind::Supply(supply)), contactor()];
    parts.extend(heaters.map(|name| part(name, heater())));
    let mut installation = assembled(parts);
    for (from, to) in [
        ("supply.leg1", "contactor.coil1"),
        ("supply.leg2", "contactor.coil2"),
        ("supply.leg1", "contactor.line1"),
        ("supply.leg2", "contactor.line2"),
        ("supply.leg1", "contactor.line3"),
        ("contactor.load1", "one.line1"),
        ("contactor.load2", "two.line1"),
        ("contactor.load3", "three.line1"),
    ] {
        wire(&mut installation, from, to);
    }
    for name in heaters {
        wire(
            &mut installation,
            &format!("{name}.line2"),
            "supply.neutral",
        );
    }
    let contactor = installation.part_named("contactor").expect("is there");
    assert_eq!(installation.part(contactor).test_points().len(), 4);
    let fares = |installation: &Installation| {
        let circuit = Circuit::new(installation.clone());
        let settled = circuit.settle(&State::default());
        assert!(settled.contacts.pulled_in.contains(contactor));
        heaters.map(|name| {
            let heater = installation.part_named(name).expect("is there");
            settled.solution.supplied(heater)
        })
    };
    assert_eq!(fares(&installation), [Supplied::Right; 3]);
    let burnt = Fault {
        part: contactor,
        trouble: Trouble::BurntOpen,
    };
    assert_eq!(fares(&installation.with_fault(burnt)), [Supplied::Off; 3]);
}
