//! `hysteron curve`: a thermistor's table.

use clap::{Args, ValueEnum};
use hysteron_logic::curve::{COLDEST, Curve, CustomCurve, HOTTEST};
use hysteron_logic::divider::{Counts, Divider, Element};

use super::Perform;
use super::destination::Destination;
use super::files::{Files, ForceArgument};
use super::own_file::{OwnFile, curve_columns};
use super::text_table;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::terminal::Screen;
use hysteron_bench::probe::thermistor::{SteinhartHart, oversampled, ratio};
use hysteron_source::text::{any_of, nearest};

/// Prints a thermistor's table: temperature, resistance, counts
#[derive(Debug, Clone, Args)]
#[command(after_help = format!("\
The counts are the sum of 16 readings of a 12-bit converter, with the thermistor below the fixed \
resistor across the converter's reference. The last column is what the control reads from them.

Published curves: {}

Examples:
  hysteron curve
  hysteron curve \"10k type III\" --unit F --from 20 --to 80 --step 5
  hysteron curve --coefficients 1.129241e-3,2.341077e-4,8.775468e-8 --csv -", any_of(&Curve::NAMES)))]
pub struct CurveArguments {
    /// A published curve
    #[arg(default_value = "10k type II", conflicts_with = "coefficients")]
    curve: String,

    /// A thermistor of your own: Steinhart-Hart A, B and C for kelvins and ohms
    #[arg(long, value_name = "A,B,C", allow_hyphen_values = true, value_parser = coefficients)]
    coefficients: Option<SteinhartHart>,

    /// Degrees of the table, and of --from, --to and --step
    #[arg(long, value_enum, ignore_case = true, default_value_t = ScaleArgument::C)]
    unit: ScaleArgument,

    /// The first temperature [default: -40 °C or °F]
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = degrees)]
    from: Option<f64>,

    /// The last temperature [default: 100 °C, 212 °F]
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = degrees)]
    to: Option<f64>,

    /// From one row to the next [default: 5 °C, 9 °F]
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, value_parser = degrees)]
    step: Option<f64>,

    /// The fixed resistor above the thermistor, in ohms
    #[arg(long, value_name = "OHMS", default_value_t = 10_000)]
    resistor: u32,

    /// Writes the table as comma-separated values to FILE (`-`: standard output)
    #[arg(long, value_name = "FILE")]
    csv: Option<Destination>,

    #[command(flatten)]
    force: ForceArgument,
}

/// Degrees as a person asks for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ScaleArgument {
    /// Degrees Celsius
    C,
    /// Degrees Fahrenheit
    F,
}

impl ScaleArgument {
    fn celsius(self, degrees: f64) -> f64 {
        match self {
            Self::C => degrees,
            Self::F => (degrees - 32.0) / 1.8,
        }
    }

    fn degrees(self, celsius: f64) -> f64 {
        match self {
            Self::C => celsius,
            Self::F => celsius.mul_add(1.8, 32.0),
        }
    }

    const fn symbol(self) -> &'static str {
        match self {
            Self::C => "°C",
            Self::F => "°F",
        }
    }

    const fn ending(self) -> &'static str {
        match self {
            Self::C => "c",
            Self::F => "f",
        }
    }
}

/// The table to be made.
struct CurveTable {
    curve: Curve,
    divider: Divider,
    scale: ScaleArgument,
    from: f64,
    step: f64,
    rows: u32,
    decimals: usize,
}

struct Row {
    degrees: f64,
    resistance_ohm: f64,
    counts: Counts,
}

const MOST_ROWS: f64 = 100_000.0;

impl CurveArguments {
    fn checked(&self) -> Result<CurveTable, Failure> {
        let curve = match &self.coefficients {
            Some(equation) => custom(equation)?,
            None => published(&self.curve)?,
        };
        let divider = Divider::new(self.resistor)
            .map_err(|refused| Failure::because(format!("--resistor: {refused}")))?;
        let scale = self.unit;
        let (from, to, step) = match scale {
            ScaleArgument::C => (-40.0, 100.0, 5.0),
            ScaleArgument::F => (-40.0, 212.0, 9.0),
        };
        let (from, to, step) = (
            self.from.unwrap_or(from),
            self.to.unwrap_or(to),
            self.step.unwrap_or(step),
        );
        let [coldest, hottest] =
            [COLDEST, HOTTEST].map(|end| scale.degrees(f64::from(end.millicelsius()) / 1e3));
        for (name, degrees) in [("--from", from), ("--to", to)] {
            if !(coldest..=hottest).contains(&degrees) {
                let symbol = scale.symbol();
                let what = format!("{name} {degrees}: no curve reaches so far");
                return Err(
                    Failure::because(what).remedy(format!("give {coldest} to {hottest} {symbol}"))
                );
            }
        }
        let steps = (to - from) / step;
        if step == 0.0 || steps < 0.0 {
            return Err(
                Failure::because(format!("no step of {step} leads from {from} to {to}"))
                    .remedy("give a positive --step to go up, a negative one to go down"),
            );
        }
        if steps > MOST_ROWS {
            return Err(
                Failure::because(format!("--step {step} makes too many rows")).remedy(format!(
                    "a table has up to {MOST_ROWS} rows: give a larger step"
                )),
            );
        }
        Ok(CurveTable {
            curve,
            divider,
            scale,
            from,
            step,
            // A step that divides the range but for rounding reaches its end.
            rows: (steps + 1e-9).floor() as u32 + 1,
            decimals: decimals(from).max(decimals(step)),
        })
    }
}

/// Decimals that a number was written with; 3 at most.
fn decimals(number: f64) -> usize {
    let whole = |places: &usize| {
        let scaled = number * 10_f64.powi(*places as i32);
        (scaled - scaled.round()).abs() < 1e-6
    };
    (0..3).find(whole).unwrap_or(3)
}

fn published(name: &str) -> Result<Curve, Failure> {
    let plain = |name: &str| name.to_lowercase().replace(['-', '_'], " ");
    let meant = Curve::PUBLISHED
        .into_iter()
        .find(|curve| plain(curve.name()) == plain(name));
    meant.ok_or_else(|| {
        let failure = Failure::because(format!("no published curve is called \"{name}\""));
        let begun: Vec<&str> = Curve::NAMES
            .into_iter()
            .filter(|known| plain(known).starts_with(&plain(name)))
            .collect();
        match nearest(name, Curve::NAMES) {
            _ if begun.len() > 1 => failure.remedy(format!("there are {}", any_of(&begun))),
            Some(near) => failure.remedy(format!("did you mean \"{near}\"?")),
            None => failure.remedy(format!(
                "there are {}; any other thermistor is described by --coefficients",
                any_of(&Curve::NAMES)
            )),
        }
    })
}

fn custom(equation: &SteinhartHart) -> Result<Curve, Failure> {
    CustomCurve::new(equation.coefficients())
        .map(Curve::Custom)
        .map_err(|refused| Failure::because(format!("--coefficients: {refused}")))
}

fn coefficients(text: &str) -> Result<SteinhartHart, String> {
    let numbers: Vec<f64> = text
        .split(',')
        .filter_map(|part| part.trim().parse().ok())
        .filter(|number: &f64| number.is_finite())
        .collect();
    match numbers.as_slice() {
        [a, b, c] if text.split(',').count() == 3 => Ok(SteinhartHart::new(*a, *b, *c)),
        _ => Err("expected three numbers such as 1.129241e-3,2.341077e-4,8.775468e-8".to_owned()),
    }
}

fn degrees(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok();
    number
        .filter(|number| number.abs() <= 1_000.0)
        .ok_or_else(|| "expected a number of degrees".to_owned())
}

impl Perform for CurveArguments {
    fn perform(self, console: &mut Console<'_>) -> Result<Exit, Failure> {
        let table = self.checked()?;
        let mut files = Files::default();
        files.written("--csv", &self.csv, OwnFile::CurveTable);
        files.check(self.force.into())?;
        if let Err(misfit) = table.curve.suits(table.divider) {
            console.note(&format!("note: {misfit}"));
        }
        match &self.csv {
            None => console.say(&table.text(console.screen())),
            Some(destination) => destination.write(table.csv().as_bytes(), console)?,
        }
        Ok(Exit::Holds)
    }
}

impl CurveTable {
    fn rows(&self) -> impl Iterator<Item = Row> {
        let equation = SteinhartHart::from(self.curve.coefficients());
        let fixed_ohm = f64::from(self.divider.fixed_ohms());
        (0..self.rows).map(move |row| {
            let degrees = self.from + f64::from(row) * self.step;
            let resistance_ohm = equation.resistance_ohm(self.scale.celsius(degrees));
            Row {
                degrees,
                resistance_ohm,
                counts: oversampled(ratio(resistance_ohm, fixed_ohm)),
            }
        })
    }

    /// What the control reads from these counts.
    fn reads(&self, counts: Counts) -> String {
        match self.divider.element(counts) {
            Element::Open => "open".to_owned(),
            Element::Shorted => "shorted".to_owned(),
            Element::Resistance(resistance) => match self.curve.temperature(resistance) {
                Ok(temperature) => {
                    let celsius = f64::from(temperature.millicelsius()) / 1e3;
                    format!("{:.2}", self.scale.degrees(celsius))
                }
                Err(_) => "out of range".to_owned(),
            },
        }
    }

    fn degrees(&self, row: &Row) -> String {
        // Zero has no sign.
        format!("{:.*}", self.decimals, row.degrees + 0.0)
    }

    fn text(&self, screen: Screen) -> String {
        let symbol = self.scale.symbol();
        let headings = [
            symbol.to_owned(),
            "Ω".to_owned(),
            "counts".to_owned(),
            format!("reads, {symbol}"),
        ]
        .map(|heading| screen.written(&heading));
        let mut table = text_table::table(&headings, 0);
        for row in self.rows() {
            table.add_row([
                self.degrees(&row),
                format!("{:.1}", row.resistance_ohm),
                row.counts.sum().to_string(),
                self.reads(row.counts),
            ]);
        }
        format!(
            "{}, below a fixed resistor of {} Ω\n\n{}",
            self.curve.name(),
            self.divider.fixed_ohms(),
            table.trim_fmt()
        )
    }

    fn csv(&self) -> String {
        let mut lines = vec![curve_columns(self.scale.ending())];
        lines.extend(self.rows().map(|row| {
            format!(
                "{},{:.3},{},{}",
                self.degrees(&row),
                row.resistance_ohm,
                row.counts.sum(),
                self.reads(row.counts)
            )
        }));
        lines.join("\n") + "\n"
    }
}
