//! Findings as a person reads them.

use super::finding::{Finding, Severity};
use std::fmt::Write;

use hysteron_installation::Installation;
use hysteron_source::text::SourceText;

/// The findings as text, each with its place in the file.
#[must_use]
pub fn as_text(installation: &Installation, source: &SourceText, findings: &[Finding]) -> String {
    let mut text = format!("{}: {}\n", source.name(), installation.title());
    for finding in findings {
        let _ = writeln!(text, "\n{}: {}", finding.severity, finding.rule.words());
        let _ = writeln!(text, "  what:   {}", finding.what);
        let _ = writeln!(text, "  why:    {}", finding.why);
        let _ = writeln!(text, "  remedy: {}", finding.remedy);
        for &place in &finding.places {
            let line = source.line_at(installation.part(place).written_at().start);
            let words = installation.part_words(place);
            let _ = writeln!(text, "  place:  {}:{line}: {words}", source.name());
        }
    }
    let count = |severity| {
        findings
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    let counts: Vec<String> = [
        (Severity::Danger, "danger", "dangers"),
        (Severity::Error, "error", "errors"),
        (Severity::Warning, "warning", "warnings"),
        (Severity::Note, "note", "notes"),
    ]
    .into_iter()
    .map(|(severity, one, many)| match count(severity) {
        1 => format!("1 {one}"),
        several => format!("{several} {many}"),
    })
    .collect();
    let _ = writeln!(text, "\n{}", counts.join(", "));
    let _ = writeln!(
        text,
        "\nA clean check is no licence to energise: local codes and licensed practice decide."
    );
    text
}
