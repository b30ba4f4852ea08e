//! Elimination of the symmetric equations of a network that is mostly trees.
//!
//! A wiring diagram has few loops. Eliminated in the order of least degree (Tinney and
//! Walker 1967, their scheme 2) its equations fill in hardly at all, so that a solve costs
//! a few operations for each node where a dense one costs the cube of their number.
//! There is no pivoting: every node has a positive conductance or capacitance to earth,
//! and the equations of passive parts can be eliminated in any order.

use nalgebra::Complex;

/// In which order the nodes go, and which later ones each of them touches then.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    /// Place in the order, for each node.
    place: Vec<usize>,
    /// Places of the later nodes that the node at each place touches when it goes.
    touched: Vec<Vec<usize>>,
}

impl Plan {
    /// The plan for `nodes` nodes with these pairs connected.
    pub(super) fn new(nodes: usize, pairs: impl Iterator<Item = (usize, usize)>) -> Self {
        let mut adjacent = vec![vec![false; nodes]; nodes];
        for (one, other) in pairs {
            adjacent[one][other] = true;
            adjacent[other][one] = true;
        }
        let mut place = vec![0; nodes];
        let mut touched_nodes = Vec::with_capacity(nodes);
        let mut left: Vec<usize> = (0..nodes).collect();
        while !left.is_empty() {
            let degree = |node: usize| {
                left.iter()
                    .filter(|&&other| other != node && adjacent[node][other])
                    .count()
            };
            let position = (0..left.len())
                .min_by_key(|&position| degree(left[position]))
                .unwrap_or(0);
            let node = left.remove(position);
            let neighbours: Vec<usize> = left
                .iter()
                .copied()
                .filter(|&other| adjacent[node][other])
                .collect();
            for &one in &neighbours {
                for &other in &neighbours {
                    adjacent[one][other] = true;
                }
            }
            place[node] = touched_nodes.len();
            touched_nodes.push(neighbours);
        }
        let touched = touched_nodes
            .into_iter()
            .map(|nodes| {
                let mut places: Vec<usize> = nodes.into_iter().map(|node| place[node]).collect();
                places.sort_unstable();
                places
            })
            .collect();
        Self { place, touched }
    }

    fn nodes(&self) -> usize {
        self.place.len()
    }
}

/// Equations being gathered.
pub(super) struct Equations<'p> {
    plan: &'p Plan,
    /// Upper triangle in the order of the plan, row by row.
    upper: Vec<Complex<f64>>,
}

impl<'p> Equations<'p> {
    pub(super) fn new(plan: &'p Plan) -> Self {
        let nodes = plan.nodes();
        Self {
            plan,
            upper: vec![Complex::ZERO; nodes * nodes],
        }
    }

    /// Adds to the entry of two nodes and, by symmetry, of the two the other way round.
    pub(super) fn add(&mut self, one: usize, other: usize, siemens: Complex<f64>) {
        let (one, other) = (self.plan.place[one], self.plan.place[other]);
        let nodes = self.plan.nodes();
        self.upper[one.min(other) * nodes + one.max(other)] += siemens;
    }

    /// Eliminates.
    pub(super) fn factor(mut self) -> Factors<'p> {
        let nodes = self.plan.nodes();
        let mut pivots = Vec::with_capacity(nodes);
        for (place, touched) in self.plan.touched.iter().enumerate() {
            let pivot = self.upper[place * nodes + place].inv();
            pivots.push(pivot);
            for (at, &one) in touched.iter().enumerate() {
                let factor = self.upper[place * nodes + one] * pivot;
                for &other in &touched[at..] {
                    let taken = factor * self.upper[place * nodes + other];
                    self.upper[one * nodes + other] -= taken;
                }
            }
        }
        Factors {
            plan: self.plan,
            upper: self.upper,
            pivots,
        }
    }
}

/// Eliminated equations, ready for any right-hand side.
#[derive(Debug, Clone)]
pub(super) struct Factors<'p> {
    plan: &'p Plan,
    upper: Vec<Complex<f64>>,
    pivots: Vec<Complex<f64>>,
}

impl Factors<'_> {
    /// The voltages of all nodes for these currents into them.
    pub(super) fn solve(&self, amps: &[Complex<f64>]) -> Vec<Complex<f64>> {
        let nodes = self.plan.nodes();
        let mut values = vec![Complex::ZERO; nodes];
        for (node, &current) in amps.iter().enumerate() {
            values[self.plan.place[node]] = current;
        }
        for (place, touched) in self.plan.touched.iter().enumerate() {
            let scaled = values[place] * self.pivots[place];
            for &later in touched {
                values[later] -= self.upper[place * nodes + later] * scaled;
            }
        }
        for (place, touched) in self.plan.touched.iter().enumerate().rev() {
            let mut value = values[place];
            for &later in touched {
                value -= self.upper[place * nodes + later] * values[later];
            }
            values[place] = value * self.pivots[place];
        }
        self.plan.place.iter().map(|&place| values[place]).collect()
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::*;

    /// nalgebra's dense decomposition with pivoting is the judge.
    #[test]
    fn a_meshed_network_solves_as_a_dense_one_does() {
        let nodes = 12;
        let pairs: Vec<(usize, usize)> = (1..nodes)
            .map(|node| (node, node / 2))
            .chain([(3, 9), (5, 10), (11, 1)])
            .collect();
        let plan = Plan::new(nodes, pairs.iter().copied());
        let mut equations = Equations::new(&plan);
        let mut dense = DMatrix::<Complex<f64>>::zeros(nodes, nodes);
        for (index, &(one, other)) in pairs.iter().enumerate() {
            let siemens = Complex::new(1.0 + index as f64, -0.3 * index as f64);
            for node in [one, other] {
                equations.add(node, node, siemens);
                dense[(node, node)] += siemens;
            }
            equations.add(one, other, -siemens);
            dense[(one, other)] -= siemens;
            dense[(other, one)] -= siemens;
        }
        for node in 0..nodes {
            let stray = Complex::new(1e-4, 1e-3);
            equations.add(node, node, stray);
            dense[(node, node)] += stray;
        }
        let amps: Vec<Complex<f64>> = (0..nodes)
            .map(|node| Complex::new(node as f64, 1.0))
            .collect();
        let solved = equations.factor().solve(&amps);
        let judged = dense.lu().solve(&DVector::from_vec(amps)).expect("regular");
        for (own, reference) in solved.iter().zip(judged.iter()) {
            assert!((own - reference).norm() < 1e-9 * reference.norm());
        }
    }
}
