//! Whether an XML document is as an XML schema has it (W3C XML Schema 1.0, part 1).
//!
//! Knows what the schema of test reports uses: elements, references, sequences and choices with
//! their occurrences, mixed content, attributes and `xs:string`. Anything else is told as a
//! complaint, so that nothing passes for want of knowledge.

use roxmltree::{Document, Node};

/// What is wrong with a document; empty if nothing is.
///
/// # Panics
/// When schema or document is not XML.
#[must_use]
pub fn complaints(schema: &str, document: &str) -> Vec<String> {
    let schema = Document::parse(schema).expect("the schema is XML");
    let document = Document::parse(document).expect("the document is XML");
    let root = document.root_element();
    let schema = Schema(schema.root_element());
    let mut complaints = Vec::new();
    match schema.named("element", root.tag_name().name()) {
        Some(declared) => schema.check_element(root, declared, &mut complaints),
        None => complaints.push(format!("no element <{}>", root.tag_name().name())),
    }
    complaints
}

/// The root of a schema.
#[derive(Clone, Copy)]
struct Schema<'s, 'i>(Node<'s, 'i>);

impl<'s, 'i> Schema<'s, 'i> {
    /// What is declared under this name at the top.
    fn named(self, kind: &str, name: &str) -> Option<Node<'s, 'i>> {
        let declared = self
            .0
            .children()
            .filter(|node| node.has_tag_name((XS, kind)));
        declared
            .clone()
            .find(|node| node.attribute("name") == Some(name))
    }

    /// The declaration that an element within a content model stands for.
    fn declaration(self, particle: Node<'s, 'i>) -> Option<Node<'s, 'i>> {
        match particle.attribute("ref") {
            Some(name) => self.named("element", name),
            None => Some(particle),
        }
    }

    fn check_element(self, node: Node<'_, '_>, declared: Node<'s, 'i>, to: &mut Vec<String>) {
        let name = node.tag_name().name();
        let inline = declared
            .children()
            .find(|child| child.has_tag_name((XS, "complexType")));
        let complex = match (declared.attribute("type"), inline) {
            (Some("xs:string"), None) => {
                if node.attributes().len() > 0 || node.children().any(|child| child.is_element()) {
                    to.push(format!("<{name}> holds more than text"));
                }
                return;
            }
            (Some(kind), None) => self.named("complexType", kind),
            (None, inline) => inline,
            (Some(_), Some(_)) => None,
        };
        match complex {
            Some(complex) => self.check_content(node, complex, to),
            None => to.push(format!("the type of <{name}> is not understood")),
        }
    }

    fn check_content(self, node: Node<'_, '_>, complex: Node<'s, 'i>, to: &mut Vec<String>) {
        let name = node.tag_name().name();
        check_attributes(node, complex, to);
        let text = node
            .children()
            .filter(Node::is_text)
            .filter_map(|text| text.text());
        let says = text.clone().any(|text| !text.trim().is_empty());
        if says && complex.attribute("mixed") != Some("true") {
            to.push(format!("<{name}> holds text"));
        }
        let children: Vec<Node<'_, '_>> = node.children().filter(Node::is_element).collect();
        let names: Vec<&str> = children
            .iter()
            .map(|child| child.tag_name().name())
            .collect();
        let models: Vec<Node<'s, 'i>> = complex
            .children()
            .filter(|child| child.is_element() && !child.has_tag_name((XS, "attribute")))
            .collect();
        let ends = match models[..] {
            [] => vec![0],
            [model] => self.ends(model, &names, 0),
            _ => Vec::new(),
        };
        if !ends.contains(&names.len()) {
            to.push(format!("<{name}> may not hold these: {}", names.join(", ")));
            return;
        }
        for child in children {
            let declared = models.iter().find_map(|model| {
                let elements = model
                    .descendants()
                    .filter(|one| one.has_tag_name((XS, "element")));
                let mut declared = elements.filter_map(|one| self.declaration(one));
                declared.find(|one| one.attribute("name") == Some(child.tag_name().name()))
            });
            match declared {
                Some(declared) => self.check_element(child, declared, to),
                None => to.push(format!("<{}> is declared nowhere", child.tag_name().name())),
            }
        }
    }

    /// Where a content model can end that begins at this place among the names.
    fn ends(self, particle: Node<'s, 'i>, names: &[&str], from: usize) -> Vec<usize> {
        let occurs = |key| match particle.attribute(key) {
            None => 1,
            Some("unbounded") => usize::MAX,
            Some(number) => number.parse().expect("a number of occurrences"),
        };
        let (least, most) = (occurs("minOccurs"), occurs("maxOccurs"));
        let (mut reached, mut now, mut times) = (Vec::new(), vec![from], 0);
        while !now.is_empty() {
            if times >= least {
                now.retain(|end| !reached.contains(end));
                reached.extend(&now);
            }
            if times == most {
                break;
            }
            let mut next: Vec<usize> = now
                .iter()
                .flat_map(|from| self.ends_once(particle, names, *from))
                .collect();
            next.sort_unstable();
            next.dedup();
            now = next;
            times += 1;
            // What may be nothing may be nothing as often as is asked for.
            if times > names.len() + least {
                break;
            }
        }
        reached
    }

    fn ends_once(self, particle: Node<'s, 'i>, names: &[&str], from: usize) -> Vec<usize> {
        let parts = particle.children().filter(Node::is_element);
        match particle.tag_name().name() {
            "element" => {
                let declared = self.declaration(particle);
                let name = declared.and_then(|declared| declared.attribute("name"));
                let is_next = name.is_some() && names.get(from).copied() == name;
                if is_next { vec![from + 1] } else { Vec::new() }
            }
            "choice" => parts
                .flat_map(|part| self.ends(part, names, from))
                .collect(),
            "sequence" => parts.fold(vec![from], |ends, part| {
                ends.into_iter()
                    .flat_map(|from| self.ends(part, names, from))
                    .collect()
            }),
            _ => Vec::new(),
        }
    }
}

const XS: &str = "http://www.w3.org/2001/XMLSchema";

fn check_attributes(node: Node<'_, '_>, complex: Node<'_, '_>, to: &mut Vec<String>) {
    let name = node.tag_name().name();
    let declared: Vec<Node<'_, '_>> = complex
        .children()
        .filter(|child| child.has_tag_name((XS, "attribute")))
        .collect();
    for attribute in node.attributes() {
        let found = declared
            .iter()
            .find(|one| one.attribute("name") == Some(attribute.name()));
        match found.and_then(|one| one.attribute("type")) {
            Some("xs:string") => {}
            Some(kind) => to.push(format!(
                "{} of <{name}>: {kind} is not understood",
                attribute.name()
            )),
            None => to.push(format!("<{name}> has no attribute {}", attribute.name())),
        }
    }
    for one in declared {
        let wanted = one.attribute("name").unwrap_or_default();
        if one.attribute("use") == Some("required") && node.attribute(wanted).is_none() {
            to.push(format!("<{name}> lacks {wanted}"));
        }
    }
}
