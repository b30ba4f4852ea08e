//! The table of readings as text, as CSV and as a page of its own.

use std::fmt::Write;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::Installation;
use super::readings::{Probing, ReadingRow, Readings};
use hysteron_source::letters::capitalised;

const CAUTION: &str = "Readings are taken on live conductors. Mains voltage kills: measuring is \
work for people trained and equipped for it, under local codes. Before touching anything, \
disconnect, lock out, and measure that it is dead.";

const METER: &str = "Volts, as a meter with an input of 10 megohms shows them, with every supply at \
its nominal voltage.";

impl Readings {
    /// A table for a terminal: rows are places, columns situations.
    #[must_use]
    pub fn as_text(&self, installation: &Installation) -> String {
        let mut text = format!("{}\n\n{METER}\n\n", installation.title());
        for (number, situation) in self.situations.iter().enumerate() {
            let _ = write!(text, "  {:>2}  {}", number + 1, situation.name);
            if !situation.remark.is_empty() {
                let _ = write!(text, " ({})", situation.remark);
            }
            text.push('\n');
        }
        let words: Vec<String> = self
            .rows
            .iter()
            .map(|row| row.probing.words(installation))
            .collect();
        let widest = words.iter().map(String::len).max().unwrap_or(0);
        let _ = write!(text, "\n{:widest$}", "");
        for number in 1..=self.situations.len() {
            let _ = write!(text, " {number:>6}");
        }
        text.push('\n');
        for (words, row) in words.iter().zip(&self.rows) {
            let _ = write!(text, "{words:widest$}");
            for volts in &row.volts {
                let _ = write!(text, " {volts:>6.1}");
            }
            text.push('\n');
        }
        let _ = write!(text, "\n{CAUTION}\n");
        text
    }

    /// Comma-separated values: one row for each place, one column for each situation.
    #[must_use]
    pub fn as_csv(&self, installation: &Installation) -> String {
        let mut text = String::from("from,to");
        for situation in &self.situations {
            let _ = write!(text, ",{}", csv_field(&format!("{} V", situation.name)));
        }
        text.push_str("\r\n");
        for row in &self.rows {
            let (from, to) = ends(row, installation);
            let _ = write!(text, "{},{}", csv_field(&from), csv_field(&to));
            for volts in &row.volts {
                let _ = write!(text, ",{volts:.2}");
            }
            text.push_str("\r\n");
        }
        text
    }

    /// A page of its own, to print or to pin up.
    #[must_use]
    pub fn as_html(&self, installation: &Installation) -> String {
        let title = installation.title();
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width";
                    title { "Readings: " (title) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    h1 { (title) }
                    @if !installation.about().is_empty() { p { (installation.about()) } }
                    p class="caution" { (CAUTION) }
                    (self.table(installation))
                }
            }
        };
        page.into_string()
    }

    /// The table of any page: rows are places, columns situations, and the caption says what the volts are.
    #[must_use]
    pub fn table(&self, installation: &Installation) -> Markup {
        html! {
            table class="readings" {
                caption { (METER) }
                thead { tr {
                    th scope="col" { "From" } th scope="col" { "To" }
                    @for situation in &self.situations {
                        th scope="col" {
                            (capitalised(&situation.name))
                            @if !situation.remark.is_empty() { small { (situation.remark) } }
                        }
                    }
                } }
                tbody {
                    @for row in &self.rows {
                        @let (from, to) = ends(row, installation);
                        tr {
                            th scope="row" { (from) }
                            td { (to) }
                            @for volts in &row.volts {
                                td .number .live[*volts >= LIVE_V] { (format!("{volts:.1}")) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Shown in heavier type from here on, in volts.
const LIVE_V: f64 = 15.0;

const STYLE: &str = "\
body { font: 16px/1.4 system-ui, sans-serif; margin: 2rem; color: #111; background: #fff; }
table { border-collapse: collapse; }
caption { text-align: left; padding-bottom: .5rem; }
th, td { border: 1px solid #888; padding: .2rem .5rem; text-align: right; }
th[scope=row], td:nth-child(2), thead th { text-align: left; font-weight: normal; }
thead th { vertical-align: top; font-weight: bold; }
small { display: block; font-weight: normal; }
td.live { font-weight: bold; }
.caution { border-left: .4rem solid #b00; padding-left: .6rem; }
@media print { thead { display: table-header-group; } }
";

fn ends(row: &ReadingRow, installation: &Installation) -> (String, String) {
    match row.probing {
        Probing::Between(one, other) => (
            installation.terminal_name(one),
            installation.terminal_name(other),
        ),
        Probing::ToGround(one) => (installation.terminal_name(one), "ground".to_owned()),
    }
}

fn csv_field(text: &str) -> String {
    if text.contains(['"', ',', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}
