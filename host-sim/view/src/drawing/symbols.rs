//! What parts look like: the line symbols of IEC 60617, with contacts that show where they stand.
//!
//! Motors, lamps, heaters, coils, fuses, breakers, transformers and the earth follow
//! IEC 60617; the forms and the letters `P<`, `P>` and `θ>` are from memory.
//! Coordinates are from the symbol's centre, its ends to the left and right.

use maud::{Markup, html};

use super::flow::Position;
use super::schematic::{Shape, Symbol};
use hysteron_installation::fault::RelayContact;
use hysteron_installation::part::Actuator;

/// A symbol reaches as far up from its centre.
pub const HALF_HEIGHT: i32 = 26;
/// From the first to the last of several ports below a symbol.
const UNDER_SPREAD: i32 = 32;
/// Ports below a symbol are as far down from its centre.
pub const UNDER_Y: i32 = 27;

/// A symbol reaches as far to either side of its centre, where its ends are.
pub fn half_width(shape: Shape) -> i32 {
    match shape {
        Shape::Supply | Shape::Motor(_) | Shape::Lamp => 28,
        Shape::Primary | Shape::Secondary | Shape::PowerInput => 34,
        Shape::Heater | Shape::Coil | Shape::Valve | Shape::Fuse => 32,
        Shape::Breaker | Shape::Device(_) | Shape::Relay(_) | Shape::Pole => 28,
        Shape::Jumper | Shape::BrokenWire => 24,
    }
}

/// How far to the side of its symbol's centre a port below it is.
pub fn under_x(symbol: &Symbol, index: usize) -> i32 {
    let count = |number: usize| i32::try_from(number).unwrap_or(i32::MAX);
    match symbol.under.len() {
        0 | 1 => 0,
        several => UNDER_SPREAD * count(index) / count(several - 1) - UNDER_SPREAD / 2,
    }
}

/// How far below its centre the body of a symbol ends, where a port is below it.
pub fn foot(symbol: &Symbol) -> i32 {
    match symbol.shape {
        Shape::Supply if symbol.under.len() > 1 => 10,
        Shape::Heater => 9,
        Shape::Valve => 14,
        Shape::Supply
        | Shape::Motor(_)
        | Shape::Lamp
        | Shape::Primary
        | Shape::Secondary
        | Shape::Fuse
        | Shape::Breaker
        | Shape::Device(_)
        | Shape::PowerInput
        | Shape::Relay(_)
        | Shape::Coil
        | Shape::Pole
        | Shape::Jumper
        | Shape::BrokenWire => 19,
    }
}

/// How a symbol stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Appearance {
    /// Whether it conducts, if that is its work.
    pub position: Position,
    /// Whether it does its work, if it is a load.
    pub activity: Activity,
}

/// Whether a load works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Activity {
    /// It rests, or is no load.
    Rests,
    /// It works.
    Works,
}

/// The symbol around its centre.
pub fn symbol(symbol: &Symbol, appearance: Appearance) -> Markup {
    let half = half_width(symbol.shape);
    let leads = |body: i32| leads(half, body);
    let body = match appearance.activity {
        Activity::Works => "d-body d-works",
        Activity::Rests => "d-body",
    };
    let circle = html! { circle class=(body) r="19" {} };
    match symbol.shape {
        Shape::Supply => html! {
            (leads(19)) (circle) (stroke("M-11 0c4-10 7-10 11 0s7 10 11 0"))
        },
        Shape::Motor(_) => html! {
            (leads(19)) (circle)
            text class="d-letter" text-anchor="middle" y="2" { "M" }
            text class="d-mark" text-anchor="middle" y="14" { "1~" }
        },
        Shape::Lamp => html! {
            (leads(19)) (circle) (stroke("M-13-13L13 13M13-13L-13 13"))
            @if appearance.activity == Activity::Works {
                (stroke("M0-22V-26M16-16L19-19M-16-16L-19-19M16 16L19 19M-16 16L-19 19"))
            }
        },
        Shape::Heater => html! {
            (leads(26)) (block(body, 26, 9)) (stroke("M-13-9V9M0-9V9M13-9V9"))
        },
        Shape::Coil => html! { (leads(18)) (block(body, 18, 14)) },
        Shape::Valve => html! {
            (leads(24)) (block(body, 24, 14)) (stroke("M-12-7L12 7V-7L-12 7Z"))
        },
        Shape::PowerInput => html! {
            (leads(28)) (block(body, 28, 18)) (stroke("M-28 18L28-18"))
            (stroke("M-20-7c2-6 5-6 7 0s5 6 7 0M8 7H20M8 11H20"))
        },
        Shape::Primary => html! {
            (leads(24)) (stroke("M-24 0a8 8 0 0 0 16 0a8 8 0 0 0 16 0a8 8 0 0 0 16 0"))
            (stroke("M-26 14H26M-26 18H26"))
        },
        Shape::Secondary => html! {
            (leads(24)) (stroke("M-24 0a8 8 0 0 1 16 0a8 8 0 0 1 16 0a8 8 0 0 1 16 0"))
            (stroke("M-26-14H26M-26-18H26"))
        },
        Shape::Fuse => html! {
            (block("d-body", 22, 8))
            @match appearance.position {
                Position::Closed => (stroke(&format!("M{} 0H{half}", -half))),
                Position::Open => (stroke(&format!("M{} 0H-8L-4-5M4 5L8 0H{half}", -half))),
            }
        },
        Shape::Jumper => match appearance.position {
            Position::Closed => html! { path class="d-blade" d="M-24 0C-20-24 20-24 24 0" {} },
            Position::Open => html! { path class="d-absent" d="M-24 0C-20-24 20-24 24 0" {} },
        },
        Shape::BrokenWire => html! { (leads(12)) (stroke("M-6-6L6 6M6-6L-6 6")) },
        Shape::Breaker => html! {
            (contact(appearance.position)) (stroke("M10-4L18 4M18-4L10 4"))
        },
        Shape::Device(actuator) => html! {
            (contact(appearance.position)) (actuator_mark(actuator, appearance.position))
        },
        Shape::Relay(RelayContact::NormallyOpen) | Shape::Pole => html! {
            (contact(appearance.position))
            (link(appearance.position, 11)) (actuator_box(11))
        },
        Shape::Relay(RelayContact::NormallyClosed) => html! {
            (leads(14)) (breaking(appearance.position)) (actuator_box(-23))
        },
    }
}

/// The earth symbol below a point.
pub fn earth((x, y): (i32, i32)) -> Markup {
    stroke(&format!(
        "M{x} {y}v8M{} {}h20M{} {}h12M{} {}h4",
        x - 10,
        y + 8,
        x - 6,
        y + 12,
        x - 2,
        y + 16
    ))
}

fn leads(half: i32, body: i32) -> Markup {
    stroke(&format!("M{} 0H{}M{body} 0H{half}", -half, -body))
}

fn stroke(path: &str) -> Markup {
    html! { path class="d-ink" d=(path) {} }
}

fn block(class: &str, half_width: i32, half_height: i32) -> Markup {
    html! {
        rect class=(class) x=(-half_width) y=(-half_height)
            width=(2 * half_width) height=(2 * half_height) {}
    }
}

/// A contact that closes towards its fixed side, and stands away from it while open.
pub fn contact(position: Position) -> Markup {
    let blade = match position {
        Position::Closed => "M-14 0H14",
        Position::Open => "M-14 0L11-16",
    };
    html! { (leads(28, 14)) path class="d-blade" d=(blade) {} (studs()) }
}

/// A contact that rests against a stop and is pushed off it.
fn breaking(position: Position) -> Markup {
    let (blade, link) = match position {
        Position::Closed => ("M-14 0L19-8", "M0-4V-11"),
        Position::Open => ("M-14 0L11 15", "M0 8V-11"),
    };
    html! {
        (stroke("M14 0V-10")) path class="d-blade" d=(blade) {}
        path class="d-link" d=(link) {} (studs())
    }
}

fn studs() -> Markup {
    html! {
        circle class="d-solid" cx="-14" r="2.5" {} circle class="d-solid" cx="14" r="2.5" {}
    }
}

/// The rod from a blade down to what moves it.
fn link(position: Position, to_y: i32) -> Markup {
    let from_y = match position {
        Position::Closed => 0,
        Position::Open => -9,
    };
    html! { path class="d-link" d=(format!("M0 {from_y}V{to_y}")) {} }
}

fn actuator_box(top: i32) -> Markup {
    html! { rect class="d-body" x="-12" y=(top) width="24" height="12" {} }
}

fn actuator_mark(actuator: Actuator, position: Position) -> Markup {
    let lettered = |letters: &str| {
        html! {
            (link(position, 11))
            rect class="d-body" x="-14" y="11" width="28" height="15" {}
            text class="d-mark" text-anchor="middle" y="22" { (letters) }
        }
    };
    match actuator {
        Actuator::Switch => html! { (link(position, 17)) (stroke("M-8 21V17H8V21")) },
        Actuator::LowPressure => lettered("P<"),
        Actuator::HighPressure => lettered("P>"),
        Actuator::HighLimit => lettered("θ>"),
        Actuator::Door => html! {
            (link(position, 12)) circle class="d-body" cy="17" r="5" {}
        },
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::installation;
    use super::super::schematic::Schematic;
    use super::*;

    #[test]
    fn however_many_ports_a_symbol_has_below_they_stand_apart_and_under_it() {
        let schematic = Schematic::of(&installation("compressor-208"));
        let mut symbols = schematic.symbols.into_iter();
        let mut motor = symbols
            .find(|symbol| matches!(symbol.shape, Shape::Motor(_)))
            .expect("it has motors");
        let frame = motor.under[0].clone();
        for ports in 1..=4 {
            motor.under = vec![frame.clone(); ports];
            let places: Vec<i32> = (0..ports).map(|index| under_x(&motor, index)).collect();
            assert!(
                places.is_sorted_by(|one, next| one + 8 <= *next),
                "{places:?}"
            );
            let half = half_width(motor.shape);
            assert!(places.iter().all(|place| place.abs() < half), "{places:?}");
            assert_eq!(places[0], -places[ports - 1]);
        }
    }
}
