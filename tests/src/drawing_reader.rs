//! Reads a drawing back from its SVG, as an eye does: lines, dots, terminals, earth symbols, texts.

use std::collections::HashMap;

use roxmltree::{Document, Node};

use crate::font_widths::{Weight, width};

/// A place, in pixels.
pub type Place = (i32, i32);

/// A straight wire, from its upper or left end; a bow belongs to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wire {
    /// One end.
    pub from: Place,
    /// The other.
    pub to: Place,
    /// Where it goes over other wires.
    pub bows: Vec<i32>,
}

/// What takes up room: left, top, right, bottom.
pub type Room = [f64; 4];

/// A drawing as read.
#[derive(Debug, Clone, Default)]
pub struct Read {
    /// Width and height.
    pub size: Place,
    /// Terminals with their names, each as often as it is drawn.
    pub terminals: Vec<(String, Place)>,
    /// Wires.
    pub wires: Vec<Wire>,
    /// Dots.
    pub dots: Vec<Place>,
    /// Earth symbols with the names of their ground bars.
    pub earths: Vec<(String, Place)>,
    /// Bodies of parts with their names.
    pub bodies: Vec<(String, Room)>,
    /// Texts outside of symbols.
    pub texts: Vec<(String, Room)>,
}

/// Reads a drawing.
///
/// # Errors
/// When the text is no XML, or has something in it that no drawing has.
pub fn read(svg: &str) -> Result<Read, String> {
    let document = Document::parse(svg).map_err(|error| error.to_string())?;
    let root = document.root_element();
    let mut found = Read {
        size: (whole(root, "width")?, whole(root, "height")?),
        ..Read::default()
    };
    let mut words = root.children().filter(|node| node.has_tag_name("title"));
    if words.next().and_then(|title| title.text()).is_none() {
        return Err("there is no title".to_owned());
    }
    if !root.children().any(|node| node.has_tag_name("desc")) {
        return Err("there is no description".to_owned());
    }
    for child in root.children().filter(Node::is_element) {
        found.node(child, (0, 0))?;
    }
    Ok(found)
}

fn whole(node: Node<'_, '_>, name: &str) -> Result<i32, String> {
    let written = node.attribute(name).unwrap_or("0");
    written
        .parse()
        .map_err(|_| format!("{name}=\"{written}\" is no whole number"))
}

impl Read {
    fn node(&mut self, node: Node<'_, '_>, origin: Place) -> Result<(), String> {
        let class = node.attribute("class").unwrap_or_default();
        let has = |wanted: &str| class.split(' ').any(|one| one == wanted);
        if has("d-legend") {
            let origin = moved(node, origin)?;
            for text in node.children().filter(|child| has_class(*child, "d-note")) {
                self.text(text, origin)?;
            }
            return Ok(());
        }
        let origin = moved(node, origin)?;
        let place = |x: &str, y: &str| -> Result<Place, String> {
            Ok((whole(node, x)? + origin.0, whole(node, y)? + origin.1))
        };
        if has("d-wire") {
            self.wires
                .push(wire(node.attribute("d").unwrap_or_default(), origin)?);
        } else if has("d-dot") {
            self.dots.push(place("cx", "cy")?);
        } else if has("d-earth") {
            let bar = node.attribute("data-bar").unwrap_or_default();
            self.earths
                .push((bar.to_owned(), place("data-x", "data-y")?));
        } else if has("d-terminal") {
            let name = node.attribute("data-terminal").unwrap_or_default();
            self.terminals.push((name.to_owned(), place("cx", "cy")?));
        } else if has("d-area") {
            let part = node.parent().and_then(|part| part.attribute("data-part"));
            let (x, y) = place("x", "y")?;
            let (right, bottom) = (x + whole(node, "width")?, y + whole(node, "height")?);
            let room = [x, y, right, bottom].map(f64::from);
            self.bodies
                .push((part.unwrap_or_default().to_owned(), room));
        } else if node.has_tag_name("text") && !has("d-letter") && !has("d-mark") {
            self.text(node, origin)?;
        }
        for child in node.children().filter(Node::is_element) {
            self.node(child, origin)?;
        }
        Ok(())
    }

    fn text(&mut self, node: Node<'_, '_>, origin: Place) -> Result<(), String> {
        let (size_px, weight) = match node.attribute("class").unwrap_or_default() {
            "d-title" => (20.0, Weight::Bold),
            "d-name" => (13.0, Weight::Bold),
            "d-status" | "d-trouble" => (12.0, Weight::Bold),
            "d-kind" | "d-label" | "d-note" => (12.0, Weight::Book),
            other => return Err(format!("a text of the class {other}")),
        };
        let words = node.text().unwrap_or_default();
        let wide = width(words, size_px, weight);
        let x = f64::from(whole(node, "x")? + origin.0);
        let baseline = f64::from(whole(node, "y")? + origin.1);
        let left = match node.attribute("text-anchor") {
            Some("start") => x,
            Some("middle") => x - wide / 2.0,
            Some("end") => x - wide,
            other => return Err(format!("a text held at {other:?}")),
        };
        // Letters reach three quarters of an em above the line, and a fifth below it.
        let room = [
            left,
            baseline - 0.76 * size_px,
            left + wide,
            baseline + 0.22 * size_px,
        ];
        self.texts.push((words.to_owned(), room));
        Ok(())
    }
}

fn has_class(node: Node<'_, '_>, class: &str) -> bool {
    node.attribute("class") == Some(class)
}

fn moved(node: Node<'_, '_>, origin: Place) -> Result<Place, String> {
    let Some(transform) = node.attribute("transform") else {
        return Ok(origin);
    };
    let numbers = transform
        .strip_prefix("translate(")
        .and_then(|rest| rest.strip_suffix(')'))
        .ok_or_else(|| format!("a transform \"{transform}\""))?;
    let both: Vec<i32> = numbers
        .split(' ')
        .filter_map(|number| number.parse().ok())
        .collect();
    match both.as_slice() {
        &[x, y] => Ok((origin.0 + x, origin.1 + y)),
        _ => Err(format!("a transform \"{transform}\"")),
    }
}

/// A wire's path: M, then either V, or H with bows between.
fn wire(path: &str, origin: Place) -> Result<Wire, String> {
    let odd = || format!("a wire with the path \"{path}\"");
    let mut commands: Vec<(char, Vec<i32>)> = Vec::new();
    for letter in path.chars().filter(char::is_ascii_alphabetic) {
        commands.push((letter, Vec::new()));
    }
    let numbers = path
        .split(|letter: char| letter.is_ascii_alphabetic())
        .skip(1);
    for (command, numbers) in commands.iter_mut().zip(numbers) {
        for number in numbers.split_whitespace() {
            command.1.push(number.parse().map_err(|_| odd())?);
        }
    }
    let mut commands = commands.into_iter();
    let mut pen = match commands.next() {
        Some(('M', place)) if place.len() == 2 => (place[0], place[1]),
        _ => return Err(odd()),
    };
    let from = pen;
    let mut bows = Vec::new();
    for (letter, numbers) in commands {
        match (letter, numbers.as_slice()) {
            ('H', &[x]) => pen.0 = x,
            ('V', &[y]) => pen.1 = y,
            ('a', &[_, _, _, _, _, dx, 0]) => {
                bows.push(origin.0 + pen.0 + dx / 2);
                pen.0 += dx;
            }
            _ => return Err(odd()),
        }
    }
    let shifted = |place: Place| (place.0 + origin.0, place.1 + origin.1);
    if (from.0 == pen.0) == (from.1 == pen.1) {
        return Err(format!("a slanted wire: \"{path}\""));
    }
    Ok(Wire {
        from: shifted(from.min(pen)),
        to: shifted(from.max(pen)),
        bows,
    })
}

impl Wire {
    fn is_level(&self) -> bool {
        self.from.1 == self.to.1
    }

    /// Whether a place is on it, its ends included.
    fn touches(&self, (x, y): Place) -> bool {
        (self.from.0..=self.to.0).contains(&x) && (self.from.1..=self.to.1).contains(&y)
    }

    fn ends_at(&self, place: Place) -> bool {
        self.from == place || self.to == place
    }
}

impl Read {
    /// What joins what: for every drawn terminal the number of its net.
    ///
    /// Wires are joined where they meet end to end, and where a dot lies on both. Earth
    /// symbols of one ground bar are joined.
    ///
    /// # Errors
    /// When an eye could not tell: three ends meet, or one ends on another, without a dot;
    /// two lie on one another, or cross without a bow.
    pub fn nets(&self) -> Result<Vec<usize>, String> {
        let (wires, terminals) = (self.wires.len(), self.terminals.len());
        let mut joined: Vec<usize> = (0..wires + terminals + self.earths.len()).collect();
        for (at, one) in self.wires.iter().enumerate() {
            for (next, other) in self.wires.iter().enumerate().skip(at + 1) {
                if self.meet(one, other)? {
                    join(&mut joined, at, next);
                }
            }
        }
        for (index, (name, place)) in self.terminals.iter().enumerate() {
            for (at, wire) in self.wires.iter().enumerate() {
                if wire.ends_at(*place) {
                    join(&mut joined, at, wires + index);
                } else if wire.touches(*place) {
                    return Err(format!("a wire runs through {name}"));
                }
            }
        }
        let mut bars: HashMap<&str, usize> = HashMap::new();
        for (index, (bar, place)) in self.earths.iter().enumerate() {
            let own = wires + terminals + index;
            let first = *bars.entry(bar).or_insert(own);
            join(&mut joined, first, own);
            for (at, wire) in self.wires.iter().enumerate() {
                if wire.ends_at(*place) {
                    join(&mut joined, at, own);
                }
            }
            for (at, (_, terminal)) in self.terminals.iter().enumerate() {
                if terminal == place {
                    join(&mut joined, wires + at, own);
                }
            }
        }
        Ok(joined[wires..wires + terminals].to_vec())
    }

    fn meet(&self, one: &Wire, other: &Wire) -> Result<bool, String> {
        let shared: Vec<Place> = [one.from, one.to]
            .into_iter()
            .filter(|&end| other.ends_at(end))
            .collect();
        if one.is_level() == other.is_level() {
            let overlap = (one.from.0.max(other.from.0), one.from.1.max(other.from.1));
            let until = (one.to.0.min(other.to.0), one.to.1.min(other.to.1));
            if overlap.0 <= until.0 && overlap.1 <= until.1 && overlap != until {
                return Err(format!("{one:?} lies on {other:?}"));
            }
        }
        if let Some(&end) = shared.first() {
            let ends = self.wires.iter().filter(|wire| wire.ends_at(end)).count();
            if ends > 2 && !self.dots.contains(&end) {
                return Err(format!("{ends} wires meet at {end:?} without a dot"));
            }
            return Ok(true);
        }
        let place = if one.is_level() {
            (other.from.0, one.from.1)
        } else {
            (one.from.0, other.from.1)
        };
        if !(one.touches(place) && other.touches(place)) {
            return Ok(false);
        }
        if self.dots.contains(&place) {
            return Ok(true);
        }
        let (level, _) = if one.is_level() {
            (one, other)
        } else {
            (other, one)
        };
        if one.ends_at(place) || other.ends_at(place) {
            Err(format!("{one:?} ends on {other:?} without a dot"))
        } else if level.bows.contains(&place.0) {
            Ok(false)
        } else {
            Err(format!("{one:?} crosses {other:?} without a bow"))
        }
    }

    /// How many wires cross.
    #[must_use]
    pub fn crossings(&self) -> usize {
        self.wires.iter().map(|wire| wire.bows.len()).sum()
    }

    /// Whether everything has room of its own: no wire meets a body or a text, no body or
    /// text another, and all lie within the page.
    ///
    /// # Errors
    /// With the first two things that meet.
    pub fn has_room(&self) -> Result<(), String> {
        let (right, bottom) = (f64::from(self.size.0), f64::from(self.size.1));
        let rooms: Vec<&(String, Room)> = self.bodies.iter().chain(&self.texts).collect();
        for (at, (name, room)) in rooms.iter().enumerate() {
            if room[0] < 0.0 || room[1] < 0.0 || room[2] > right || room[3] > bottom {
                return Err(format!("\"{name}\" leaves the page: {room:?}"));
            }
            for (other_name, other) in &rooms[at + 1..] {
                if meets(room, other) {
                    return Err(format!(
                        "\"{name}\" {room:?} meets \"{other_name}\" {other:?}"
                    ));
                }
            }
            for wire in &self.wires {
                let line = [wire.from.0, wire.from.1, wire.to.0, wire.to.1].map(f64::from);
                if meets(room, &line) {
                    return Err(format!("{wire:?} runs through \"{name}\" {room:?}"));
                }
            }
        }
        Ok(())
    }
}

fn meets(one: &Room, other: &Room) -> bool {
    one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
}

fn join(joined: &mut [usize], one: usize, other: usize) {
    let (keep, lose) = (joined[one], joined[other]);
    for root in joined {
        if *root == lose {
            *root = keep;
        }
    }
}
