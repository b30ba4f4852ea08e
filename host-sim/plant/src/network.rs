//! A linear lumped network of heat capacities, stepped exactly.
//!
//! Node *i* has the capacity Cᵢ and exchanges heat through conductances with
//! other nodes and with held temperatures outside:
//!
//! ```text
//! Cᵢ dTᵢ/dt = Σⱼ Gᵢⱼ (Tⱼ − Tᵢ) − Hᵢ Tᵢ + qᵢ
//! ```
//!
//! With the heat inputs qᵢ held over a step of h seconds the solution is exact,
//! whatever h: T(t+h) = Φ T(t) + Γ q, with Φ = exp(A h) and Γ = ∫₀ʰ exp(A s) ds C⁻¹.
//! Both are parts of one exponential, of the block matrix [A h, C⁻¹ h; 0, 0]
//! (C. F. Van Loan, "Computing integrals involving the matrix exponential",
//! IEEE Trans. Automatic Control 23, 1978), taken once when the plant is built.

use nalgebra::DMatrix;

/// Capacities and conductances of `N` nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct ThermalNetwork<const N: usize> {
    capacity_j_k: [f64; N],
    between_w_k: [[f64; N]; N],
    outside_w_k: [f64; N],
}

impl<const N: usize> ThermalNetwork<N> {
    /// Nodes of these capacities in J/K, each above zero, not yet joined to anything.
    #[must_use]
    pub fn new(capacity_j_k: [f64; N]) -> Self {
        debug_assert!(capacity_j_k.iter().all(|capacity| *capacity > 0.0));
        Self {
            capacity_j_k,
            between_w_k: [[0.0; N]; N],
            outside_w_k: [0.0; N],
        }
    }

    /// Joins two nodes by a conductance in W/K, beside any that joins them already.
    #[must_use]
    pub fn join(mut self, one: usize, other: usize, conductance_w_k: f64) -> Self {
        debug_assert!(one != other);
        self.between_w_k[one][other] += conductance_w_k;
        self.between_w_k[other][one] += conductance_w_k;
        self
    }

    /// Joins a node to a held temperature by a conductance in W/K.
    ///
    /// The network takes the part −H·T; the caller adds H·T_held to the node's heat input.
    #[must_use]
    pub fn join_outside(mut self, node: usize, conductance_w_k: f64) -> Self {
        self.outside_w_k[node] += conductance_w_k;
        self
    }

    /// The exact step of this length in seconds, above zero.
    #[must_use]
    pub fn exact_step(&self, step_s: f64) -> ExactStep<N> {
        let mut block = DMatrix::<f64>::zeros(2 * N, 2 * N);
        for row in 0..N {
            let rate = step_s / self.capacity_j_k[row];
            for column in 0..N {
                if row != column {
                    block[(row, column)] += rate * self.between_w_k[row][column];
                    block[(row, row)] -= rate * self.between_w_k[row][column];
                }
            }
            block[(row, row)] -= rate * self.outside_w_k[row];
            block[(row, N + row)] = rate;
        }
        let exponential = block.exp();
        let mut step = ExactStep {
            carry: [[0.0; N]; N],
            drive_k_w: [[0.0; N]; N],
        };
        for column in 0..N {
            for row in 0..N {
                step.carry[column][row] = exponential[(row, column)];
                step.drive_k_w[column][row] = exponential[(row, N + column)];
            }
        }
        step
    }
}

/// One exact step of a [`ThermalNetwork`], for one length of step.
#[derive(Debug, Clone, PartialEq)]
pub struct ExactStep<const N: usize> {
    /// Φ by columns: `carry[j][i]` is what a kelvin at node j leaves at node i.
    carry: [[f64; N]; N],
    /// Γ by columns: `drive_k_w[j][i]` is what a watt into node j brings to node i.
    drive_k_w: [[f64; N]; N],
}

impl<const N: usize> ExactStep<N> {
    /// The temperatures one step on, in °C, with these heat inputs held over it, in W.
    #[must_use]
    #[inline]
    pub fn advance(&self, from_c: &[f64; N], heat_w: &[f64; N]) -> [f64; N] {
        self.carried(from_c, &self.driven(heat_w))
    }

    /// What these heat inputs, held over a step, bring to every node by its end, in K: Γ q.
    #[must_use]
    #[inline]
    pub fn driven(&self, heat_w: &[f64; N]) -> [f64; N] {
        let mut driven_k = [0.0; N];
        for (node, heat_w) in heat_w.iter().enumerate() {
            self.add(&mut driven_k, node, *heat_w);
        }
        driven_k
    }

    /// The temperatures one step on, in °C, with what heat has [driven](Self::driven) over it.
    #[must_use]
    #[inline]
    pub fn carried(&self, from_c: &[f64; N], driven_k: &[f64; N]) -> [f64; N] {
        let mut to_c = *driven_k;
        for (carry, from_c) in self.carry.iter().zip(from_c) {
            for (to, carry) in to_c.iter_mut().zip(carry) {
                *to += carry * from_c;
            }
        }
        to_c
    }

    /// Adds what further heat into one node, held over the same step, brings to every node.
    #[inline]
    pub fn add(&self, to_c: &mut [f64; N], node: usize, heat_w: f64) {
        for (to, response) in to_c.iter_mut().zip(&self.drive_k_w[node]) {
            *to += response * heat_w;
        }
    }

    /// What one watt into a node over the step brings to every node, in K.
    #[must_use]
    #[inline]
    pub const fn response_k_w(&self, node: usize) -> &[f64; N] {
        &self.drive_k_w[node]
    }
}

/// Where in a step a heat that answers to a node's temperature is taken: 0 at its beginning, 1 at its end.
///
/// The heat changes by `conductance_w_k` for each kelvin, the node by `response_k_w` for each
/// watt held over the step. The middle is right to the second order in the length of the step;
/// where the node would swing from one side to the other, the end is taken, which settles.
#[must_use]
#[inline]
pub fn taken_at(conductance_w_k: f64, response_k_w: f64) -> f64 {
    if conductance_w_k * response_k_w < 2.0 {
        0.5
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_node_follows_the_exponential() {
        let (capacity, loss, heat) = (2_000.0, 5.0, 300.0);
        let step = ThermalNetwork::new([capacity])
            .join_outside(0, loss)
            .exact_step(60.0);
        let mut at = [20.0];
        let start: f64 = 20.0;
        let settled = heat / loss;
        for minute in 1..=60 {
            at = step.advance(&at, &[heat]);
            let elapsed = 60.0 * f64::from(minute);
            let expected = settled + (start - settled) * (-elapsed * loss / capacity).exp();
            assert!((at[0] - expected).abs() < 1e-11, "{} {expected}", at[0]);
        }
    }

    #[test]
    fn without_losses_heat_is_kept_and_temperature_climbs_in_proportion() {
        let capacity = [10.0, 1_000.0, 3.0];
        let step = ThermalNetwork::new(capacity)
            .join(0, 1, 400.0)
            .join(1, 2, 0.5)
            .exact_step(1.0);
        let mut at = [80.0, 10.0, -20.0];
        let stored = |at: &[f64; 3]| -> f64 { at.iter().zip(capacity).map(|(t, c)| t * c).sum() };
        let start = stored(&at);
        for second in 1..=1_000 {
            at = step.advance(&at, &[0.0, 2.0, 0.0]);
            let expected = start + 2.0 * f64::from(second);
            assert!((stored(&at) - expected).abs() < 1e-7 * expected.abs());
        }
        assert!((at[0] - at[1]).abs() < 0.1, "stiff nodes end together");
    }

    #[test]
    fn two_half_steps_make_a_whole_one() {
        let network = ThermalNetwork::new([50.0, 700.0])
            .join(0, 1, 30.0)
            .join_outside(1, 4.0);
        let (half, whole) = (network.exact_step(0.5), network.exact_step(1.0));
        let (start, heat) = ([3.0, -8.0], [100.0, 12.0]);
        let twice = half.advance(&half.advance(&start, &heat), &heat);
        let once = whole.advance(&start, &heat);
        for (one, other) in once.iter().zip(twice) {
            assert!((one - other).abs() < 1e-12);
        }
    }
}
