//! Files that use one another in a circle.

use std::collections::HashSet;
use std::fmt;

use petgraph::algo::tarjan_scc;
use petgraph::graphmap::DiGraphMap;

use super::Import;

/// Files each of which leads to all the others, and back.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Circle {
    /// The files, in order.
    pub files: Vec<String>,
    /// What ties them.
    pub imports: Vec<Import>,
}

impl fmt::Display for Circle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{} files in a circle: {}",
            self.files.len(),
            self.files.join(", ")
        )?;
        for (place, import) in self.imports.iter().enumerate() {
            let told = &self.imports[..place];
            let ends = |other: &Import| (other.from == import.from) && (other.to == import.to);
            // One line for each two files; the first names the `use`, where there is one.
            if !told.iter().any(ends) {
                writeln!(f, "  {import}")?;
            }
        }
        Ok(())
    }
}

/// Every circle; none is good.
#[must_use]
pub fn circles(imports: &[Import]) -> Vec<Circle> {
    let edges = imports.iter().map(|import| (&*import.from, &*import.to));
    let graph: DiGraphMap<&str, ()> = DiGraphMap::from_edges(edges);
    let mut circles: Vec<Circle> = tarjan_scc(&graph)
        .into_iter()
        .filter(|files| files.len() > 1)
        .map(|files| {
            let within: HashSet<&str> = files.iter().copied().collect();
            let ties =
                |import: &&Import| within.contains(&*import.from) && within.contains(&*import.to);
            let mut files: Vec<String> = files.into_iter().map(str::to_owned).collect();
            files.sort();
            Circle {
                files,
                imports: imports.iter().filter(ties).cloned().collect(),
            }
        })
        .collect();
    circles.sort();
    circles
}
