//! How much a measurement is expected to tell.

use super::tolerance::Interval;

/// What one candidate foresees of a measurement, and its share of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// The share; those of all candidates add up to one.
    pub share: f64,
    /// What the meter may show, every value in it taken as equally likely.
    pub range: Interval,
}

/// The mutual information between the candidates and what the meter will show, in bits.
///
/// The reading is a mixture of uniform distributions, so its entropy is a sum over the pieces
/// between the ends of the ranges: `I = h(Y) - sum of share * log2(width)` (Shannon 1948).
/// Ranges of no width count as a thousandth of the widest.
#[must_use]
pub fn expected_bits(forecasts: &[Forecast]) -> f64 {
    let widest = forecasts
        .iter()
        .map(|forecast| forecast.range.highest - forecast.range.lowest)
        .fold(0.0, f64::max);
    if widest <= 0.0 || !widest.is_finite() {
        return 0.0;
    }
    let mut edges = Vec::with_capacity(2 * forecasts.len());
    let mut given = 0.0;
    for &Forecast { share, range } in forecasts {
        let width = (range.highest - range.lowest).max(widest * 1e-3);
        let density = share / width;
        edges.push((range.lowest, density));
        edges.push((range.lowest + width, -density));
        given += share * width.log2();
    }
    edges.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    let mut density = 0.0;
    let mut entropy = 0.0;
    for (at, &(from, step)) in edges.iter().enumerate() {
        density += step;
        let Some(&(to, _)) = edges.get(at + 1) else {
            break;
        };
        if density > 1e-12 && to > from {
            entropy -= (to - from) * density * density.log2();
        }
    }
    (entropy - given).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn forecast(share: f64, lowest: f64, highest: f64) -> Forecast {
        let range = Interval { lowest, highest };
        Forecast { share, range }
    }

    /// Closed forms: a fair coin is a bit, three outcomes are log2(3), the same twice is nothing,
    /// and of two uniform distributions that share half their width half a bit is learnt.
    #[test]
    fn bits_are_those_of_closed_forms() {
        let third = 1.0 / 3.0;
        let cases: [(&[Forecast], f64); 5] = [
            (&[forecast(0.5, 0.0, 1.0), forecast(0.5, 100.0, 120.0)], 1.0),
            (
                &[
                    forecast(third, 0.0, 1.0),
                    forecast(third, 50.0, 60.0),
                    forecast(third, 110.0, 120.0),
                ],
                3f64.log2(),
            ),
            (&[forecast(0.5, 3.0, 4.0), forecast(0.5, 3.0, 4.0)], 0.0),
            (&[forecast(0.5, 0.0, 2.0), forecast(0.5, 1.0, 3.0)], 0.5),
            (&[forecast(1.0, 0.0, 9.0)], 0.0),
        ];
        for (forecasts, expected) in cases {
            let bits = expected_bits(forecasts);
            assert!((bits - expected).abs() < 1e-9, "{bits} for {forecasts:?}");
        }
    }
}
