//! How long one solve of each arrangement takes, and a question that was asked before.

use criterion::{Criterion, criterion_group, criterion_main};
use hysteron_installation::Installation;
use hysteron_installation::arrangements::ARRANGEMENTS;
use hysteron_installation::bank::LoadBank;
use hysteron_installation::circuit::Circuit;
use hysteron_installation::file;
use hysteron_installation::state::{RelayArmature, State};
use hysteron_source::text::SourceText;
use std::hint::black_box;

fn installation(name: &str, text: &str) -> Installation {
    let source = SourceText::new(name, text).expect("short");
    file::read(&source).expect("ships")
}

fn solves(criterion: &mut Criterion) {
    let calling = State::default().with_relay(RelayArmature::Energised);
    for arrangement in ARRANGEMENTS {
        let circuit = Circuit::new(installation(arrangement.name, arrangement.text));
        let contacts = circuit.settle(&calling).contacts;
        let terminals = circuit.installation().terminal_count();
        let name = format!("solve {} ({terminals} terminals)", arrangement.name);
        criterion.bench_function(&name, |bencher| {
            bencher.iter(|| circuit.solve(black_box(&calling), &contacts));
        });
    }
}

fn questions(criterion: &mut Criterion) {
    let arrangement = ARRANGEMENTS[1];
    let mut bank = LoadBank::new(installation(arrangement.name, arrangement.text));
    let states = [
        State::default(),
        State::default().with_relay(RelayArmature::Energised),
    ];
    criterion.bench_function("same state again", |bencher| {
        bencher.iter(|| bank.energised(black_box(&states[0])).loads.len());
    });
    let mut turn = 0;
    criterion.bench_function("state seen before", |bencher| {
        bencher.iter(|| {
            turn = 1 - turn;
            bank.energised(black_box(&states[turn])).loads.len()
        });
    });
}

criterion_group!(benches, solves, questions);
criterion_main!(benches);
