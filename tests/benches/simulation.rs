//! How fast the bench simulates and what one step of the control costs on this machine.

use std::hint::black_box;
use std::time::Duration as WallTime;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use hysteron_bench::run::bench::{Bench, Recording};
use hysteron_bench::scenario::bundled::Bundled;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::{NoFiles, SearchPaths};
use hysteron_logic::control::{Control, Input, Retained, StoredSettings};
use hysteron_logic::divider::Counts;
use hysteron_logic::sense::Sample;
use hysteron_logic::settings::Settings;
use hysteron_logic::time::Instant;
use hysteron_source::text::SourceText;

fn bundled(name: &str) -> Bench {
    let bundled = Bundled::named(name).expect("it is bundled");
    bench(bundled.name, bundled.text)
}

fn bench(name: &str, text: &str) -> Bench {
    let source = SourceText::new(name, text).expect("it is text");
    let plan = Plan::read(&source, &SearchPaths::default()).expect("it is a plan");
    Bench::prepare(plan, &NoFiles).expect("it can be built")
}

/// Throughput is in simulated hours.
fn simulate(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("simulated hours");
    group.measurement_time(WallTime::from_secs(5));
    group.throughput(Throughput::Elements(24));
    let reference = bench("reference", include_str!("../peers/reference.toml"));
    let case = reference.plan().cases[0].clone();
    group.bench_function("reference problem, 180 s, traced", |b| {
        b.iter(|| reference.run(black_box(&case), Recording::Traced));
    });
    for (name, scenario, recording) in [
        ("walk-in cooler", "works-canteen", Recording::VerdictsOnly),
        ("walk-in cooler, traced", "works-canteen", Recording::Traced),
        (
            "walk-in that pumps down",
            "fish-counter",
            Recording::VerdictsOnly,
        ),
    ] {
        let bench = bundled(scenario);
        let case = bench.plan().cases[0].clone();
        group.bench_function(name, |b| b.iter(|| bench.run(black_box(&case), recording)));
    }
    group.finish();
}

fn decide(criterion: &mut Criterion) {
    let mut control = Control::at_power_up(
        StoredSettings::Whole(Settings::DEFAULT),
        &Retained::default(),
    );
    let mut now_ms = 0;
    // Around 3 °C, as a noisy probe reads it.
    let counts: Vec<Counts> = (0..1_024_u16)
        .map(|step| Counts::from_oversampled(48_200 + (step.wrapping_mul(7_919) % 64)))
        .collect();
    criterion.bench_function("one step of the control, counts to decision", |b| {
        b.iter(|| {
            now_ms += 1_000;
            let sample = counts[(now_ms / 1_000 % 1_024) as usize];
            let input = Input::sampled(Sample::Counts(sample));
            control.step(Instant::from_millis(now_ms), black_box(&input))
        });
    });
}

criterion_group!(benches, simulate, decide);
criterion_main!(benches);
