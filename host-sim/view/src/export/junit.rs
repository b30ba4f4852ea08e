//! Verdicts as a JUnit report: a suite for each case, a test case for each expectation.
//!
//! It follows the schema `junit-10.xsd` of Jenkins' xUnit plugin, and so says nothing that the
//! schema has no place for. What was never reached is a failure of type `never reached`. Times are
//! left out, as a simulated day says nothing about how long a test took.

use std::io::{self, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use crate::report::view::CaseView;
use crate::words::finding::{finding, outcome};
use crate::words::subject::expectation;
use hysteron_bench::record::verdict::{Outcome, Verdict};
use hysteron_bench::run::bench::CaseRun;
use hysteron_bench::scenario::plan::Plan;

/// The second line, by which the file is known.
pub const MARK: &str = "<!-- verdicts by hysteron -->";

/// Writes the verdicts of all `runs` of `plan`.
///
/// # Errors
/// When `to` fails.
pub fn write(plan: &Plan, runs: &[CaseRun], mut to: impl Write) -> io::Result<()> {
    let mut writer = Writer::new_with_indent(&mut to, b' ', 4);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer.write_indent()?;
    writer.get_mut().write_all(MARK.as_bytes())?;
    let all = runs.iter().flat_map(|run| &run.verdicts);
    let [tests, failures] = counts(all);
    writer
        .create_element("testsuites")
        .with_attributes([
            ("name", sound(&plan.title).as_str()),
            ("tests", &tests),
            ("failures", &failures),
            ("errors", "0"),
        ])
        .write_inner_content(|writer| {
            runs.iter()
                .try_for_each(|run| write_suite(plan, run, writer))
        })?;
    to.write_all(b"\n")?;
    to.flush()
}

fn write_suite<W: Write>(plan: &Plan, run: &CaseRun, writer: &mut Writer<W>) -> io::Result<()> {
    let view = CaseView::new(plan, run);
    let name = run.case.name.as_deref().unwrap_or(plan.title.as_str());
    let [tests, failures] = counts(&run.verdicts);
    let seed = plan.seed.to_string();
    writer
        .create_element("testsuite")
        .with_attributes([
            ("name", sound(name).as_str()),
            ("tests", &tests),
            ("failures", &failures),
            ("errors", "0"),
        ])
        .write_inner_content(|writer| {
            writer
                .create_element("properties")
                .write_inner_content(|writer| {
                    let property = writer.create_element("property");
                    let property = property.with_attributes([("name", "seed"), ("value", &seed)]);
                    property.write_empty().map(|_| ())
                })?;
            let verdicts = run.verdicts.iter();
            verdicts
                .clone()
                .try_for_each(|verdict| write_case(&view, verdict, writer))
        })?;
    Ok(())
}

fn write_case<W: Write>(
    view: &CaseView<'_>,
    verdict: &Verdict,
    writer: &mut Writer<W>,
) -> io::Result<()> {
    let name = expectation(&verdict.expectation, view.plan.duration, view.degrees);
    let found = sound(&finding(verdict, view.degrees));
    let line = format!("line {} of the scenario", verdict.expectation.line);
    let because = verdict.expectation.because.as_deref();
    let because = because.map_or_else(String::new, |because| format!("; because: {because}"));
    writer
        .create_element("testcase")
        .with_attributes([
            ("name", sound(&name).as_str()),
            ("classname", &sound(&view.plan.title)),
        ])
        .write_inner_content(|writer| {
            match verdict.outcome {
                Outcome::Holds => writer
                    .create_element("system-out")
                    .write_text_content(BytesText::new(&found)),
                Outcome::Fails | Outcome::NeverReached => writer
                    .create_element("failure")
                    .with_attributes([
                        ("type", outcome(verdict.outcome)),
                        ("message", found.as_str()),
                    ])
                    .write_text_content(BytesText::new(&sound(&format!("{line}{because}")))),
            }
            .map(|_| ())
        })?;
    Ok(())
}

/// How many verdicts there are, and how many of them are failures.
fn counts<'v>(verdicts: impl IntoIterator<Item = &'v Verdict>) -> [String; 2] {
    let (mut all, mut failing) = (0, 0);
    for verdict in verdicts {
        all += 1;
        failing += u64::from(verdict.outcome != Outcome::Holds);
    }
    [all, failing].map(|count: u64| count.to_string())
}

/// The text without signs that XML 1.0 (section 2.2) does not have.
fn sound(text: &str) -> String {
    let is_sound =
        |sign: &char| matches!(sign, '\t' | '\n' | '\r' | ' '..='\u{fffd}' | '\u{10000}'..);
    text.chars().filter(is_sound).collect()
}
