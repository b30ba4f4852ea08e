//! What was done to the installation, in rows under the chart: one for each thing that can be
//! taken hold of, every part that fails among them.

use std::borrow::Cow;

use hysteron_logic::time::Duration;
use maud::{Markup, html};

use super::frame::{DrawingSize, Frame};
use super::lanes::{Fact, HALF_MARK_PX, Lanes, Piece, Shape};
use super::svg::{Anchor, Px, box_path, rule, text, told_box};
use crate::words::event;
use hysteron_bench::scenario::happening::{Edge, Happening, Hold, Lasting, NamedPart, TimedEdge};
use hysteron_bench::scenario::installation_name::Wiring;
use hysteron_bench::scenario::quantity_text::moment_text;
use hysteron_bench::scenario::timeline::Timeline;

/// Height of a row.
const ROW: f64 = 16.0;

/// Height of a name above its row.
const NAME_ABOVE: f64 = 12.0;

/// Letters that fit beside a row, in any face.
const MOST_LETTERS_BESIDE: usize = 19;

/// One row: everything that took hold of one thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    subject: Subject,
    name: Name,
    lanes: Lanes<Happening>,
}

/// What a row is about.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Subject {
    /// Something that can be held.
    Held(Hold),
    /// The product that is brought.
    Loading,
    /// The settings.
    Settings,
    /// The lockout, which a person releases.
    Lockout,
}

/// What a row is called.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Name {
    /// A short word that fits beside a row in every size.
    Word(&'static str),
    /// A part, however long its name.
    Part(String),
}

impl Fact for Happening {
    fn is_alike(&self, other: &Self) -> bool {
        self.is_alike(other)
    }

    fn words(&self) -> Cow<'_, str> {
        event::happening(self)
    }
}

/// The rows of a timeline, each in the order of time; `wiring` has the parts that it names.
#[must_use]
pub fn rows(timeline: &Timeline, wiring: Option<&Wiring>, frame: &Frame) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut open: Vec<(Hold, Duration, Happening)> = Vec::new();
    let mut add = |happening: &Happening, from, until| {
        let subject = Subject::of(happening);
        let place = rows.iter().position(|row| row.subject == subject);
        let place = place.unwrap_or_else(|| {
            rows.push(Row {
                name: subject.name(wiring),
                subject,
                lanes: Lanes::default(),
            });
            rows.len() - 1
        });
        rows[place].lanes.add(happening, (from, until), frame);
    };
    for TimedEdge { at, edge } in timeline.edges() {
        match edge {
            Edge::Begins(happening) => match happening.lasting() {
                Lasting::Moment => add(&happening, at, at),
                Lasting::ForATime(hold) | Lasting::UntilMended(hold) => {
                    open.push((hold, at, happening));
                }
            },
            Edge::Ends(hold) => {
                if let Some(place) = open.iter().position(|(held, ..)| *held == hold) {
                    let (_, from, happening) = open.remove(place);
                    add(&happening, from, at);
                }
            }
        }
    }
    for (_, from, happening) in open {
        add(&happening, from, frame.length);
    }
    rows
}

/// The height of these rows.
#[must_use]
pub fn height(rows: &[Row], frame: &Frame) -> f64 {
    rows.iter().map(|row| row.height(frame)).sum()
}

/// The rows from `top` on.
#[must_use]
pub fn draw(rows: &[Row], frame: &Frame, top: f64) -> Markup {
    html! {
        @for (place, row) in rows.iter().enumerate() {
            @let bottom = top + height(&rows[..=place], frame);
            (rule("grid", (frame.left, bottom - 2.0), (frame.right, bottom - 2.0)))
            @if row.lanes.is_crowded() { (row.as_a_whole(frame, bottom)) }
            @else { (row.piece_by_piece(frame, bottom)) }
            (row.label(frame, bottom))
        }
    }
}

impl Row {
    /// A name for which there is no room beside its row stands above it.
    fn is_named_above(&self, frame: &Frame) -> bool {
        match (&self.name, frame.size) {
            (Name::Part(name), DrawingSize::Wide) => name.chars().count() > MOST_LETTERS_BESIDE,
            (Name::Part(_), DrawingSize::Narrow | DrawingSize::Small) => true,
            (Name::Word(_), DrawingSize::Wide | DrawingSize::Narrow | DrawingSize::Small) => false,
        }
    }

    fn height(&self, frame: &Frame) -> f64 {
        if self.is_named_above(frame) {
            ROW + NAME_ABOVE
        } else {
            ROW
        }
    }

    fn label(&self, frame: &Frame, bottom: f64) -> Markup {
        let name = match &self.name {
            Name::Word(word) => word,
            Name::Part(name) => &**name,
        };
        if self.is_named_above(frame) {
            let above = (frame.left, bottom - ROW + 1.0);
            return text("mark", Anchor::Start, above, &fitted(name, frame));
        }
        let y = bottom - 3.0;
        match frame.size {
            DrawingSize::Wide => text("label", Anchor::Start, (frame.right + 8.0, y), name),
            DrawingSize::Narrow | DrawingSize::Small => {
                text("tick", Anchor::End, (frame.left - 4.0, y), name)
            }
        }
    }

    /// Where a piece lies in a row that ends here: left, top, width, height.
    fn place(&self, lane: usize, piece: &Piece<Happening>, frame: &Frame, bottom: f64) -> [f64; 4] {
        let lanes = self.lanes.count_of_lanes() as f64;
        let (y, size) = (bottom - ROW + 4.0, ROW - 6.0);
        let (x, width) = (
            frame.x(piece.from),
            frame.x(piece.until) - frame.x(piece.from),
        );
        let between = if lanes > 1.0 { 1.0 } else { 0.0 };
        let top = y + size * lane as f64 / lanes;
        let height = size / lanes - between;
        match piece.shape {
            Shape::Spell => [x, top, width.max(1.0), height],
            Shape::Moment => {
                let mark = height.min(8.0);
                [x, top + height - mark, width, mark]
            }
        }
    }

    fn piece_by_piece(&self, frame: &Frame, bottom: f64) -> Markup {
        html! {
            @for (lane, piece) in self.lanes.pieces() {
                @let at = self.place(lane, piece, frame, bottom);
                @match piece.shape {
                    Shape::Moment => path class="k-moment" d=(mark_path(at)) { title { (told(piece)) } },
                    Shape::Spell => (told_box("k-happening", (at[0], at[1]), (at[2], at[3]), &told(piece))),
                }
            }
        }
    }

    /// One shape for all spells and one for all moments, told together.
    fn as_a_whole(&self, frame: &Frame, bottom: f64) -> Markup {
        let (mut spells, mut moments) = (String::new(), String::new());
        for (lane, piece) in self.lanes.pieces() {
            let at = self.place(lane, piece, frame, bottom);
            match piece.shape {
                Shape::Spell => spells.push_str(&box_path((at[0], at[1]), (at[2], at[3]))),
                Shape::Moment => moments.push_str(&mark_path(at)),
            }
        }
        let told = self.lanes.told();
        html! {
            @for (class, path) in [("k-happening", spells), ("k-moment", moments)] {
                @if !path.is_empty() { path class=(class) d=(path) { title { (told) } } }
            }
        }
    }
}

impl Subject {
    fn of(happening: &Happening) -> Self {
        Self::Held(match happening {
            Happening::ProductLoaded { .. } => return Self::Loading,
            Happening::SettingsChange(_) => return Self::Settings,
            Happening::LockoutReleased => return Self::Lockout,
            Happening::ClockJumps(_) | Happening::ClockStops => Hold::Clock,
            Happening::ProtectionRestored(part) => Hold::Part(part.clone()),
            Happening::PartFails(failure) => Hold::Part(failure.part.clone()),
            Happening::DoorOpens => Hold::Door,
            Happening::AmbientIs(_) | Happening::AmbientShifts(_) => Hold::Ambient,
            Happening::HeatAdded(_) => Hold::Heat,
            Happening::WaterDrawn(_) => Hold::Draw,
            Happening::ProbeOpens
            | Happening::ProbeShorts
            | Happening::ProbeFreezes
            | Happening::ProbeDrifts(_)
            | Happening::ProbeJumps(_) => Hold::Probe,
            Happening::SupplyDips(_) | Happening::PowerCut => Hold::Supply,
            Happening::SettingsLocked => Hold::Lock,
            Happening::SwitchedOff => Hold::Switch,
            Happening::ValveLeaks(_) => Hold::Valve,
            Happening::ContactWelds | Happening::ContactBurns => Hold::Contact,
        })
    }

    fn name(&self, wiring: Option<&Wiring>) -> Name {
        Name::Word(match self {
            Self::Loading => "loading",
            Self::Settings => "settings",
            Self::Lockout => "reset",
            Self::Held(hold) => match hold {
                Hold::Door => "door",
                Hold::Ambient => "ambient",
                Hold::Heat => "heat",
                Hold::Draw => "draw",
                Hold::Probe => "probe",
                Hold::Supply => "supply",
                Hold::Contact => "contact",
                Hold::Valve => "valve",
                Hold::Lock => "lock",
                Hold::Switch => "switch",
                Hold::Clock => "clock",
                Hold::Part(part) => return Name::Part(part_name(part, wiring)),
            },
        })
    }
}

/// The name of a part; a wire or jumper, often only numbered, says what it is.
fn part_name(part: &NamedPart, wiring: Option<&Wiring>) -> String {
    let kind = wiring.map(|wiring| &wiring.installation.part(part.id).kind);
    match kind.filter(|kind| kind.as_conductor().is_some()) {
        Some(kind) => format!("{} {}", kind.name(), part.name),
        None => part.name.to_string(),
    }
}

/// A name cut to the width of the plot; the spells themselves tell the whole of it.
fn fitted<'n>(name: &'n str, frame: &Frame) -> Cow<'n, str> {
    /// More than a letter of a mark takes, in any face.
    const LETTER_PX: f64 = 6.0;
    let size = (frame.plot_width() / LETTER_PX) as usize;
    if name.chars().count() <= size {
        return name.into();
    }
    let kept: String = name.chars().take(size.saturating_sub(1)).collect();
    format!("{kept}…").into()
}

fn told(piece: &Piece<Happening>) -> String {
    // One spell lies there for all to see; where several are one, it takes both ends to tell.
    match piece.times() {
        1 => format!("{}: {}", moment_text(piece.from), piece.words()),
        _ => format!("{}: {}", piece.span_words(), piece.words()),
    }
}

/// The mark of a moment: a triangle on its tip, with a broader tip for several.
fn mark_path([x, top, width, height]: [f64; 4]) -> String {
    let wing = Px(HALF_MARK_PX);
    let begins = format!("M{} {}", Px(x), Px(top + height));
    if width < 0.05 {
        return format!(
            "{begins}l-{wing} -{0}h{1}z",
            Px(height),
            Px(2.0 * HALF_MARK_PX)
        );
    }
    let across = Px(2.0 * HALF_MARK_PX + width);
    format!("{begins}l-{wing} -{0}h{across}l-{wing} {0}z", Px(height))
}
