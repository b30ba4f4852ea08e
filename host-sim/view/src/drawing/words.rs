//! What is written beside a symbol, and how much room it takes.

use super::flow::{Flow, Position};
use super::schematic::{Shape, Symbol};
use hysteron_installation::Installation;
use hysteron_installation::fault::Trouble;
use hysteron_installation::load::Supplied;
use hysteron_installation::part::{Kind, Part};

/// Names longer than this are cut short; the whole name is in the symbol's title.
const LONGEST_NAME: usize = 28;

/// A line above a symbol.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its text.
    pub text: String,
    /// What it tells.
    pub tells: Tells,
}

/// What a line tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tells {
    /// The name in the file.
    Name,
    /// What the part is, or what it is made for.
    Kind,
    /// How it fares.
    Status,
    /// What is wrong with it.
    Trouble,
}

/// Size of the text in the drawing, in pixels.
pub const TEXT_PX: f64 = 12.0;
/// Size of a part's name and of terminals' labels there, in pixels.
pub const NAME_PX: f64 = 13.0;

/// Room that a text takes, in pixels, at least; wide fonts included.
pub fn width(text: &str, size_px: f64, bold: bool) -> i32 {
    let ems: f64 =
        text.chars()
            .map(|letter| match letter {
                'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.36,
                'f' | 'r' | 't' | '(' | ')' | '-' | '/' => 0.44,
                'm' | 'w' | 'M' | 'W' | '%' | '&' | '@' | '#' | '+' | '<' | '=' | '>' | '^'
                | '~' => 1.0,
                'A'..='Z' => 0.79,
                ' '..='~' => 0.65,
                _other => 1.1,
            })
            .sum();
    let weight = if bold { 1.13 } else { 1.0 };
    (ems * weight * size_px).ceil() as i32
}

/// A name short enough to be drawn.
pub fn short(name: &str) -> String {
    if name.chars().count() <= LONGEST_NAME {
        name.to_owned()
    } else {
        let kept: String = name.chars().take(LONGEST_NAME - 1).collect();
        format!("{kept}…")
    }
}

/// The lines above a symbol, from the top.
pub fn lines(installation: &Installation, flow: &Flow<'_>, symbol: &Symbol) -> Vec<Line> {
    let part = installation.part(symbol.part);
    let line = |text: String, tells| Line { text, tells };
    let mut lines = vec![line(short(&part.name), Tells::Name)];
    let kind = kind_words(symbol.shape).unwrap_or(part.kind.name());
    let named = part.name.replace(['-', '_'], " ") == kind.replace('-', " ");
    let pole = symbol.pole.map(|pole| format!("pole {pole}"));
    let kind = (!named).then(|| kind.to_owned());
    let kind: Vec<String> = kind.into_iter().chain(pole).collect();
    lines.push(line(kind.join(", "), Tells::Kind));
    let told = match flow.solution() {
        None => line(rating(part, symbol), Tells::Kind),
        Some(_) => line(status(part, flow, symbol), Tells::Status),
    };
    lines.push(told);
    let troubles = part
        .troubles
        .iter()
        .filter(|trouble| concerns(**trouble, symbol.shape));
    lines.extend(troubles.map(|trouble| {
        line(
            format!("fault: {}", trouble.words(&part.kind)),
            Tells::Trouble,
        )
    }));
    lines.retain(|line| !line.text.is_empty());
    lines
}

/// What a symbol is, where it is not all of its part.
fn kind_words(shape: Shape) -> Option<&'static str> {
    match shape {
        Shape::Primary => Some("primary"),
        Shape::Secondary => Some("secondary"),
        Shape::PowerInput => Some("power input"),
        Shape::Relay(_) => Some("relay contact"),
        Shape::Coil => Some("coil"),
        Shape::Supply
        | Shape::Fuse
        | Shape::Breaker
        | Shape::Device(_)
        | Shape::Pole
        | Shape::Motor(_)
        | Shape::Valve
        | Shape::Heater
        | Shape::Lamp
        | Shape::Jumper
        | Shape::BrokenWire => None,
    }
}

fn rating(part: &Part, symbol: &Symbol) -> String {
    match (&part.kind, symbol.shape) {
        (Kind::Supply(supply), _) => supply.service.name().to_owned(),
        (Kind::Transformer(transformer), Shape::Primary) => format!("{} V", transformer.primary_v),
        (Kind::Transformer(transformer), _) => {
            format!("{} V, {} VA", transformer.secondary_v, transformer.rated_va)
        }
        (Kind::Conductor(conductor), _) => format!("{} AWG", conductor.gauge.number()),
        (Kind::Overcurrent(overcurrent), _) => format!("{} A", overcurrent.rating_a),
        (Kind::Control(control), Shape::PowerInput) => format!("{} VA", control.power_va),
        (Kind::Contactor(contactor), Shape::Coil) => {
            format!(
                "{} V, {} VA",
                contactor.coil.rated_v, contactor.coil.sealed_va
            )
        }
        (Kind::Control(_) | Kind::Contactor(_) | Kind::Device(_), _) => String::new(),
        (Kind::Motor(motor), _) => format!("{} V, {} A", motor.rated_v, motor.running_a),
        (Kind::Valve(coil), _) => format!("{} V, {} VA", coil.rated_v, coil.sealed_va),
        (Kind::Heater(resistance) | Kind::Lamp(resistance), _) => {
            format!("{} V, {} W", resistance.rated_v, resistance.power_w)
        }
    }
}

fn status(part: &Part, flow: &Flow<'_>, symbol: &Symbol) -> String {
    let (volts, amps) = (volts(flow.across_v(symbol)), amps(flow.through_a(symbol)));
    match symbol.shape {
        Shape::Supply | Shape::Primary | Shape::Secondary => format!("{volts}, {amps}"),
        Shape::Fuse | Shape::Breaker | Shape::Device(_) | Shape::Relay(_) | Shape::Pole => {
            match flow.position(symbol) {
                Position::Closed => format!("closed, {amps}"),
                Position::Open => format!("open, {volts} across"),
            }
        }
        Shape::Jumper => match flow.position(symbol) {
            Position::Closed => format!("fitted, {amps}"),
            Position::Open => format!("missing, {volts} across"),
        },
        Shape::BrokenWire => format!("off, {volts} across"),
        Shape::PowerInput
        | Shape::Coil
        | Shape::Motor(_)
        | Shape::Valve
        | Shape::Heater
        | Shape::Lamp => format!("{}, {volts}, {amps}", fares(part, flow, symbol)),
    }
}

/// Whether a load does its work.
pub fn works(part: &Part, flow: &Flow<'_>, symbol: &Symbol) -> bool {
    matches!(
        how(part, flow, symbol),
        Some(Supplied::Right | Supplied::High)
    )
}

/// How a load fares by its voltage; absent where voltage is there and current is not.
fn how(part: &Part, flow: &Flow<'_>, symbol: &Symbol) -> Option<Supplied> {
    let solution = flow.solution()?;
    let supplied = solution.supplied(symbol.part);
    (!part.is_winding_broken() || supplied == Supplied::Off).then_some(supplied)
}

fn fares(part: &Part, flow: &Flow<'_>, symbol: &Symbol) -> &'static str {
    let words = match symbol.shape {
        Shape::PowerInput => ["no power", "too low", "powered", "too high"],
        Shape::Motor(_) => ["stopped", "stalled", "running", "too high"],
        Shape::Coil => ["let go", "humming", "pulled in", "too high"],
        Shape::Valve => ["shut", "humming", "open", "too high"],
        Shape::Lamp => ["dark", "dim", "lit", "too bright"],
        Shape::Heater => ["cold", "lukewarm", "heating", "too hot"],
        Shape::Supply
        | Shape::Primary
        | Shape::Secondary
        | Shape::Fuse
        | Shape::Breaker
        | Shape::Device(_)
        | Shape::Relay(_)
        | Shape::Pole
        | Shape::Jumper
        | Shape::BrokenWire => [""; 4],
    };
    match how(part, flow, symbol) {
        Some(Supplied::Off) => words[0],
        Some(Supplied::Low) => words[1],
        Some(Supplied::Right) => words[2],
        Some(Supplied::High) => words[3],
        None => "does nothing",
    }
}

/// Whether a trouble of a part is one of the circuit that a symbol shows.
fn concerns(trouble: Trouble, shape: Shape) -> bool {
    match trouble {
        Trouble::RelayWelded(contact) | Trouble::RelayBurntOpen(contact) => {
            shape == Shape::Relay(contact)
        }
        Trouble::ProbeOpen | Trouble::ProbeShorted | Trouble::BoardDead | Trouble::WrongTap(_) => {
            shape == Shape::PowerInput
        }
        Trouble::WindingOpen | Trouble::WindingShorted => {
            shape != Shape::Pole && shape != Shape::Secondary
        }
        Trouble::Welded | Trouble::BurntOpen => shape != Shape::Coil,
        Trouble::StuckClosed
        | Trouble::StuckOpen
        | Trouble::Blown
        | Trouble::Tripped
        | Trouble::Off
        | Trouble::Missing
        | Trouble::LegLost(_) => true,
    }
}

fn volts(volts: f64) -> String {
    if volts < 0.05 {
        "0 V".to_owned()
    } else if volts < 9.95 {
        format!("{volts:.1} V")
    } else {
        format!("{volts:.0} V")
    }
}

fn amps(amps: f64) -> String {
    if amps < 0.0005 {
        "0 A".to_owned()
    } else if amps < 0.0995 {
        format!("{:.0} mA", amps * 1000.0)
    } else if amps < 9.95 {
        format!("{amps:.1} A")
    } else {
        format!("{amps:.0} A")
    }
}
