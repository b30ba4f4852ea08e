//! Installations for the tests of the wiring check.

use hysteron_diagnosis::check::Finding;
use hysteron_installation::Installation;
use hysteron_installation::file;
use hysteron_source::text::SourceText;

/// The installation in `text`.
///
/// # Panics
/// With the mistakes, when it has some.
#[must_use]
pub fn read(name: &str, text: &str) -> Installation {
    let source = SourceText::new(name, text).expect("short");
    match file::read(&source) {
        Ok(installation) => installation,
        Err(rejected) => panic!("{rejected}"),
    }
}

/// Findings, one a line.
#[must_use]
pub fn show(findings: &[Finding]) -> String {
    findings
        .iter()
        .map(|finding| {
            let rule = finding.rule.words();
            format!("{} {rule}: {}\n", finding.severity, finding.what)
        })
        .collect()
}
