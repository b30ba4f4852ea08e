//! Installations for the tests of the wiring check.

use hysteron::installation::Installation;
use hysteron::installation::check::Finding;
use hysteron::installation::file;
use hysteron::source_text::SourceText;

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
