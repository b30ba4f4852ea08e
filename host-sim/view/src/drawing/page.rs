//! The drawing as an SVG document: title, wires, symbols, legend.

use maud::{Markup, PreEscaped, html};

use super::flow::{Flow, Position};
use super::geometry::{
    EARTH_HEIGHT, Figure, Geometry, LABEL_GAP, LINE, TAG, UNDER_LABEL_GAP, port_place,
};
use super::legend;
use super::marks::{class, text, wire, wrapped};
use super::rail::PortAt;
use super::schematic::{NetId, Port, Schematic, Shape, Symbol};
use super::symbols::{self, Activity, Appearance, HALF_HEIGHT, UNDER_Y, half_width};
use hysteron_installation::Installation;
use hysteron_installation::fault::RelayContact;

use super::words::{self, Tells};

/// Empty room around everything.
pub const MARGIN: i32 = 28;
/// The page is at least so wide, for the sake of title and legend.
const LEAST_WIDTH: i32 = 760;
const TITLE_PX: f64 = 20.0;
const TITLE_LINE: i32 = 26;

/// All that goes onto the page.
pub struct Page<'a> {
    /// What is drawn.
    pub installation: &'a Installation,
    /// Its symbols and nets.
    pub schematic: &'a Schematic,
    /// Where they lie.
    pub geometry: &'a Geometry,
    /// The electricity in them.
    pub flow: &'a Flow<'a>,
    /// What moment is drawn; may be empty.
    pub caption: &'a str,
}

impl Page<'_> {
    /// The document.
    pub fn svg(&self) -> String {
        let (width, height) = self.geometry.size;
        let inner = width.max(LEAST_WIDTH);
        let title = wrapped(self.installation.title(), inner, TITLE_PX);
        let title_height = TITLE_LINE * i32::try_from(title.len()).unwrap_or(i32::MAX);
        let condition = format!("{}{}", sentence(self.caption), self.condition());
        let note = wrapped(&condition, inner, words::TEXT_PX);
        let note_height = LINE * i32::try_from(note.len()).unwrap_or(i32::MAX);
        let top = MARGIN + title_height + note_height + LINE;
        let left = MARGIN + (inner - width) / 2;
        let legend = legend::legend(self.schematic, self.flow, self.installation, inner);
        let legend_top = top + height + LINE;
        let all = (inner + 2 * MARGIN, legend_top + legend.height + MARGIN);
        let document = html! {
            svg xmlns="http://www.w3.org/2000/svg" class="installation-drawing" role="img"
                width=(all.0) height=(all.1) viewBox={ "0 0 " (all.0) " " (all.1) } {
                title { (self.installation.title()) }
                desc { (self.description(&condition)) }
                style { (PreEscaped(include_str!("style.css"))) }
                rect class="d-paper" width=(all.0) height=(all.1) {}
                @for (index, line) in title.iter().enumerate() {
                    (text("d-title", "start", (MARGIN, MARGIN + 18 + TITLE_LINE * count(index)), line))
                }
                @for (index, line) in note.iter().enumerate() {
                    (text("d-note", "start", (MARGIN, MARGIN + title_height + 12 + LINE * count(index)), line))
                }
                g transform={ "translate(" (left) " " (top) ")" } {
                    (self.wires())
                    @for figure in &self.geometry.figures { (self.figure(figure)) }
                }
                g transform={ "translate(" (MARGIN) " " (legend_top) ")" } { (legend.markup) }
            }
        };
        // XML has no place for control characters, which a name may have.
        let text = document.into_string();
        format!("{}\n", text.replace(is_forbidden, "\u{fffd}"))
    }

    fn condition(&self) -> String {
        if self.flow.solution().is_none() {
            return "Drawn without power: contacts as they rest.".to_owned();
        }
        let contact = self.schematic.symbols.iter().find_map(|symbol| {
            let Shape::Relay(contact) = symbol.shape else {
                return None;
            };
            let contact = match contact {
                RelayContact::NormallyOpen => "normally open",
                RelayContact::NormallyClosed => "normally closed",
            };
            let stands = match self.flow.position(symbol) {
                Position::Closed => "closed",
                Position::Open => "open",
            };
            Some(format!(": the relay's {contact} contact is {stands}"))
        });
        let relay = contact.unwrap_or_default();
        format!("Drawn with power{relay}. Voltages and currents are those a meter would show.")
    }

    fn description(&self, condition: &str) -> String {
        let mut told = vec![condition.to_owned()];
        if !self.installation.about().is_empty() {
            told.push(self.installation.about().replace('\n', " "));
        }
        for figure in &self.geometry.figures {
            let lines: Vec<&str> = figure.lines.iter().map(|line| line.text.as_str()).collect();
            told.push(format!("{}.", lines.join(", ")));
        }
        told.join(" ")
    }

    fn wires(&self) -> Markup {
        let nets = 0..self.schematic.nets.len();
        html! {
            @for net in nets.map(NetId) {
                @let pieces = || self.geometry.pieces.iter().filter(move |piece| piece.net == net);
                @if pieces().next().is_some() {
                    g class="d-net" data-net=(net.0) {
                        title { (self.net_words(net)) }
                        @for piece in pieces() { (wire(piece)) }
                        @for dot in self.geometry.dots.iter().filter(|dot| dot.net == net) {
                            circle class={ "d-dot " (class(dot.look)) }
                                cx=(dot.at.0) cy=(dot.at.1) r="5" {}
                        }
                    }
                }
            }
            @for (bar, (x, y)) in &self.geometry.earths { (self.earth(*bar, (*x, *y))) }
        }
    }

    fn net_words(&self, net: NetId) -> String {
        let net = &self.schematic.nets[net.0];
        let wires = net.wires.iter();
        let wires: Vec<&str> = wires
            .map(|&id| self.installation.part(id).name.as_str())
            .collect();
        let terminals: Vec<String> = net
            .terminals
            .iter()
            .map(|&terminal| self.installation.terminal_name(terminal))
            .collect();
        let kind = match wires.len() {
            0 => String::new(),
            1 => format!("wire {}: ", wires[0]),
            _ => format!("wires {}: ", wires.join(", ")),
        };
        format!("{kind}{}", terminals.join(", "))
    }

    fn earth(&self, bar: usize, (x, y): (i32, i32)) -> Markup {
        let name = self.installation.terminal_name(self.schematic.bars[bar]);
        html! {
            g class="d-earth" data-bar=(name) data-x=(x) data-y=(y) {
                title { (name) }
                (symbols::earth((x, y)))
                @if self.schematic.bars.len() > 1 {
                    (text("d-label", "middle", (x, y + EARTH_HEIGHT + TAG), &(bar + 1).to_string()))
                }
            }
        }
    }

    fn figure(&self, figure: &Figure) -> Markup {
        let symbol = &self.schematic.symbols[figure.symbol];
        let part = self.installation.part(symbol.part);
        let (x, y) = figure.centre;
        let appearance = Appearance {
            position: self.flow.position(symbol),
            activity: if words::works(part, self.flow, symbol) {
                Activity::Works
            } else {
                Activity::Rests
            },
        };
        let half = half_width(symbol.shape);
        let lines: Vec<&str> = figure.lines.iter().map(|line| line.text.as_str()).collect();
        let first_line = y - HALF_HEIGHT - 4 - LINE * (count(figure.lines.len()) - 1);
        html! {
            g class="d-part" data-part=(part.name) {
                title { (self.installation.part_words(symbol.part)) ": " (lines.join(", ")) }
                rect class="d-area" x=(x - half) y=(y - HALF_HEIGHT)
                    width=(2 * half) height=(HALF_HEIGHT + UNDER_Y) {}
                g transform={ "translate(" (x) " " (y) ")" } { (symbols::symbol(symbol, appearance)) }
                @for (index, line) in figure.lines.iter().enumerate() {
                    (text(line_class(line.tells), "middle", (x, first_line + LINE * count(index)), &line.text))
                }
                @for end in 0..symbol.ends.len() { (self.end(symbol, figure, end)) }
                @for index in 0..symbol.under.len() { (self.under(symbol, figure, index)) }
            }
        }
    }

    fn end(&self, symbol: &Symbol, figure: &Figure, end: usize) -> Markup {
        let port = &symbol.ends[end];
        let (x, y) = port_place(symbol, figure, PortAt::End(end));
        let (anchor, gap) = if end == figure.left {
            ("end", -LABEL_GAP)
        } else {
            ("start", LABEL_GAP)
        };
        html! {
            (self.terminal(port, (x, y)))
            @if let Some(role) = port.role {
                (text("d-label", anchor, (x + gap, y + LINE + 2), &role.name()))
            }
        }
    }

    fn under(&self, symbol: &Symbol, figure: &Figure, index: usize) -> Markup {
        let port = &symbol.under[index];
        let (x, y) = port_place(symbol, figure, PortAt::Under(index));
        let (anchor, gap) = if x < figure.centre.0 {
            ("end", -UNDER_LABEL_GAP)
        } else {
            ("start", UNDER_LABEL_GAP)
        };
        html! {
            path class="d-ink" d=(format!("M{x} {}V{y}", y - UNDER_Y + symbols::foot(symbol))) {}
            @if let Some(bar) = self.schematic.earthed(port) { (self.earth(bar, (x, y))) }
            (self.terminal(port, (x, y)))
            @if let Some(role) = port.role {
                (text("d-label", anchor, (x + gap, y + 13), &role.name()))
            }
        }
    }

    fn terminal(&self, port: &Port, (x, y): (i32, i32)) -> Markup {
        let name = self.installation.terminal_name(port.terminal);
        html! {
            circle class="d-terminal" data-terminal=(name) cx=(x) cy=(y) r="3.2" {
                title { (name) }
            }
        }
    }
}

/// With a capital and a full stop, and room for the next one.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        let first: String = first.to_uppercase().collect();
        format!("{first}{}. ", letters.as_str())
    })
}

fn is_forbidden(letter: char) -> bool {
    (letter.is_control() && letter != '\n') || matches!(letter, '\u{fffe}' | '\u{ffff}')
}

fn count(number: usize) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

fn line_class(tells: Tells) -> &'static str {
    match tells {
        Tells::Name => "d-name",
        Tells::Kind => "d-kind",
        Tells::Status => "d-status",
        Tells::Trouble => "d-trouble",
    }
}
