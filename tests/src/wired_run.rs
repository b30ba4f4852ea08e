//! Cooler scenarios with an installation, and what a run of one tells.

use std::path::PathBuf;
use std::sync::Arc;

use hysteron::disk::Disk;
use hysteron_bench::record::runs::Fed;
use hysteron_bench::record::trace::{Entry, Trace};
use hysteron_bench::run::bench::{Bench, CaseRun, Recording};
use hysteron_bench::scenario::expectation::Observable;
use hysteron_bench::scenario::plan::Plan;
use hysteron_bench::scenario::search_paths::SearchPaths;
use hysteron_logic::guard::Relay;
use hysteron_logic::time::Duration;
use hysteron_plant::Quantity;
use hysteron_source::text::SourceText;
use hysteron_view::words::event;

/// Six hours of a cooler with this installation (none where it is empty) and these happenings.
#[must_use]
pub fn scenario(installation: &str, happenings: &str) -> String {
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

/// The run of its first case, traced.
///
/// # Panics
/// When `text` is no scenario, or its plant leaves what the model knows.
#[must_use]
pub fn run(text: &str) -> CaseRun {
    let source = SourceText::new("test.toml", text).expect("short");
    let search_paths = SearchPaths {
        weather: None,
        folder: PathBuf::new(),
        files: Arc::new(Disk),
    };
    let plan = Plan::read(&source, &search_paths);
    let plan = plan.unwrap_or_else(|rejected| panic!("{rejected}"));
    let bench = Bench::prepare(plan, &Disk).expect("a plant that can be built");
    let run = bench.run(&bench.plan().cases[0], Recording::Traced);
    run.expect("a plant within its model")
}

/// A happening: this part fails so, to the end.
#[must_use]
pub fn fails(at: &str, part: &str, fault: &str) -> String {
    format!(
        "[[happening]]\nat = \"{at}\"\nwhat = \"part fails\"\npart = \"{part}\"\nfault = \"{fault}\"\n"
    )
}

/// So many hours.
#[must_use]
pub fn hours(hours: u32) -> Duration {
    Duration::from_hours(hours)
}

/// The stretches that lie at least partly between two moments.
#[must_use]
pub fn stretches(trace: &Trace, from: Duration, until: Duration) -> Vec<(Relay, Fed)> {
    let all = trace.stretches();
    let ends = all.iter().skip(1).map(|next| next.from).chain([until]);
    all.iter()
        .zip(ends)
        .filter(|(stretch, end)| stretch.from < until && *end > from)
        .map(|(stretch, _)| (stretch.relay, stretch.feeds.load))
        .collect()
}

/// What the circuit had to tell.
///
/// # Panics
/// When the run was not traced.
#[must_use]
pub fn told(run: &CaseRun) -> Vec<String> {
    let entries = run.trace.as_ref().expect("traced").entries();
    let told = entries.iter().filter_map(|(_, entry)| match entry {
        Entry::Circuit(_) => Some(event::entry(entry).into_owned()),
        Entry::Control(_)
        | Entry::DutyNotKnown { .. }
        | Entry::PowerUp
        | Entry::PowerLost
        | Entry::Happened(_)
        | Entry::LoadOnItsOwn(_) => None,
    });
    told.collect()
}

/// How often the log has this entry.
///
/// # Panics
/// When the run was not traced.
#[must_use]
pub fn count(run: &CaseRun, wanted: &Entry) -> usize {
    let entries = run.trace.as_ref().expect("traced").entries();
    entries.iter().filter(|(_, entry)| entry == wanted).count()
}

/// Highest and lowest value of a quantity from a moment on.
///
/// # Panics
/// When the run was not traced.
#[must_use]
pub fn extremes(run: &CaseRun, quantity: Quantity, from: Duration) -> (f64, f64) {
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
