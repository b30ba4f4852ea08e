//! The results of a sweep: a table for a person, and every run for a machine.

use std::collections::BTreeMap;

use hysteron_logic::settings::Scale;
use hysteron_logic::time::Duration;

use super::own_file::SWEEP_COLUMNS;
use super::text_table;
use crate::terminal::Screen;
use hysteron_bench::campaign::{Campaign, CampaignRun, range};
use hysteron_bench::scenario::plan::Plan;
use hysteron_view::words::degrees::{Degrees, percent};
use hysteron_view::words::number::counted;
use hysteron_view::words::span::rounded;
use hysteron_view::words::subject::expectation;

/// More rows than this are no longer read.
const MOST_ROWS: usize = 60;

/// One row for every combination and case, over all its seeds, and what failed.
pub fn table(campaign: &Campaign, plan: &Plan, runs: &[CampaignRun], screen: Screen) -> String {
    let mut headings: Vec<String> = campaign
        .axes()
        .iter()
        .map(|axis| axis.path.clone())
        .collect();
    let has_variants = plan.cases.len() > 1;
    if has_variants {
        headings.push("variant".to_owned());
    }
    let left = headings.len();
    for heading in [
        "runs",
        "failing",
        "starts",
        "in an hour",
        "duty",
        "shortest rest",
    ] {
        headings.push(heading.to_owned());
    }
    let pumps_down = pumps_down(runs);
    if pumps_down {
        headings.extend(["compressor starts", "in an hour"].map(str::to_owned));
    }
    let mut table = text_table::table(&headings, left);
    let mut groups: BTreeMap<(usize, usize), Vec<&CampaignRun>> = BTreeMap::new();
    for run in runs {
        groups.entry((run.point, run.case)).or_default().push(run);
    }
    for ((point, case), group) in groups.iter().take(MOST_ROWS) {
        let mut row: Vec<String> = campaign
            .values_at(*point)
            .into_iter()
            .map(|value| screen.written(value))
            .collect();
        if has_variants {
            let name = plan.cases.get(*case).and_then(|case| case.name.clone());
            row.push(screen.written(&name.unwrap_or_default()));
        }
        row.extend(figures(group, plan.duration));
        if pumps_down {
            row.extend(compressor_figures(group));
        }
        table.add_row(row);
    }
    let mut lines = vec![String::new(), table.trim_fmt()];
    if groups.len() > MOST_ROWS {
        let more = (groups.len() - MOST_ROWS) as u64;
        lines.push(format!(
            "{}; --csv FILE writes every run",
            counted(more, "more row")
        ));
    }
    lines.push(String::new());
    lines.extend(failed(plan, runs));
    lines.join("\n")
}

fn figures(group: &[&CampaignRun], duration: Duration) -> [String; 6] {
    let failing = group.iter().filter(|run| !run.failed.is_empty()).count();
    let duties = group.iter().map(|run| run.runs.duty(duration));
    let mean = duties.sum::<f64>() / group.len().max(1) as f64;
    let rests = group.iter().filter_map(|run| run.runs.shortest_rest);
    [
        group.len().to_string(),
        if failing == 0 {
            "-".to_owned()
        } else {
            failing.to_string()
        },
        ends(range(group.iter().map(|run| run.runs.starts))),
        ends(range(
            group.iter().map(|run| run.runs.most_starts_in_an_hour),
        )),
        percent((mean * 1e3).round() / 1e3),
        rests.min().map_or_else(|| "-".to_owned(), rounded),
    ]
}

/// Whether a low-pressure control starts the compressor anywhere, so that its starts are not the relay's.
fn pumps_down(runs: &[CampaignRun]) -> bool {
    runs.iter().any(|run| run.compressor.is_some())
}

fn compressor_figures(group: &[&CampaignRun]) -> [String; 2] {
    let compressors = || group.iter().filter_map(|run| run.compressor);
    [
        ends(range(compressors().map(|runs| runs.starts))),
        ends(range(compressors().map(|runs| runs.most_starts_in_an_hour))),
    ]
}

fn ends(range: Option<(u64, u64)>) -> String {
    match range {
        None => "-".to_owned(),
        Some((lowest, highest)) if lowest == highest => lowest.to_string(),
        Some((lowest, highest)) => format!("{lowest}..{highest}"),
    }
}

/// Which expectations failed, and how often.
fn failed(plan: &Plan, runs: &[CampaignRun]) -> Vec<String> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for place in runs.iter().flat_map(|run| &run.failed) {
        *counts.entry(*place).or_insert(0) += 1;
    }
    if counts.is_empty() {
        let runs = counted(runs.len() as u64, "run");
        return vec![format!("Nothing failed in {runs}.")];
    }
    let case = plan.cases.first();
    let scale = case.map_or(Scale::Celsius, |case| case.settings.draft().scale);
    let degrees = Degrees::of(scale);
    counts
        .into_iter()
        .map(|(place, count)| {
            let told = plan
                .expectations
                .get(place)
                .map_or_else(String::new, |one| {
                    format!(
                        "line {}: {}",
                        one.line,
                        expectation(one, plan.duration, degrees)
                    )
                });
            format!(
                "{told}: fails in {count} of {}",
                counted(runs.len() as u64, "run")
            )
        })
        .collect()
}

/// Every run as comma-separated values.
pub fn csv(campaign: &Campaign, plan: &Plan, runs: &[CampaignRun]) -> String {
    let mut heading = vec!["run".to_owned()];
    heading.extend(campaign.axes().iter().map(|axis| quoted(&axis.path)));
    let middle = SWEEP_COLUMNS.split(',').filter(|name| !name.is_empty());
    for name in middle.chain([
        "most_starts_in_an_hour",
        "run_s",
        "longest_run_s",
        "shortest_run_s",
        "shortest_rest_s",
    ]) {
        heading.push(name.to_owned());
    }
    let pumps_down = pumps_down(runs);
    if pumps_down {
        heading.extend(
            [
                "compressor_starts",
                "compressor_most_starts_in_an_hour",
                "compressor_run_s",
                "compressor_shortest_rest_s",
            ]
            .map(str::to_owned),
        );
    }
    let mut text = heading.join(",") + "\n";
    let seconds = |duration: Duration| (duration.millis() as f64 / 1e3).to_string();
    let some = |duration: Option<Duration>| duration.map(seconds).unwrap_or_default();
    for (number, run) in runs.iter().enumerate() {
        let case = plan.cases.get(run.case);
        let lines = run
            .failed
            .iter()
            .filter_map(|place| plan.expectations.get(*place));
        let lines: Vec<String> = lines.map(|one| one.line.to_string()).collect();
        let mut row = vec![(number + 1).to_string()];
        row.extend(campaign.values_at(run.point).into_iter().map(quoted));
        row.extend([
            quoted(
                case.and_then(|case| case.name.as_deref())
                    .unwrap_or_default(),
            ),
            run.seed.to_string(),
            lines.join(" "),
            run.runs.starts.to_string(),
            run.runs.most_starts_in_an_hour.to_string(),
            seconds(run.runs.run),
            seconds(run.runs.longest_run),
            some(run.runs.shortest_run),
            some(run.runs.shortest_rest),
        ]);
        if pumps_down {
            row.extend(run.compressor.map_or_else(Default::default, |compressor| {
                [
                    compressor.starts.to_string(),
                    compressor.most_starts_in_an_hour.to_string(),
                    seconds(compressor.run),
                    some(compressor.shortest_rest),
                ]
            }));
        }
        text.push_str(&row.join(","));
        text.push('\n');
    }
    text
}

/// A cell in quotation marks where it needs them (RFC 4180).
fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}
