//! Series drawn in as many columns as there is room for.

use hysteron_bench::record::trace::Bucket;

/// `buckets` in at most `most` columns of equal length, extremes kept.
///
/// Where there are fewer buckets than columns, each is a column.
#[must_use]
pub fn columns(buckets: &[Bucket], most: usize) -> Vec<Bucket> {
    let most = most.max(1);
    if buckets.len() <= most {
        return buckets.to_vec();
    }
    (0..most)
        .map(|column| {
            let from = column * buckets.len() / most;
            let until = (column + 1) * buckets.len() / most;
            extremes(&buckets[from..until])
        })
        .collect()
}

/// Lowest and highest of all.
#[must_use]
pub fn extremes(buckets: &[Bucket]) -> Bucket {
    buckets.iter().fold(Bucket::EMPTY, |all, next| Bucket {
        lowest: all.lowest.min(next.lowest),
        highest: all.highest.max(next.highest),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_extreme_is_lost_and_no_column_is_too_many() {
        let mut buckets: Vec<Bucket> = (0..1_000)
            .map(|place| Bucket {
                lowest: f64::from(place % 7),
                highest: f64::from(place % 7) + 1.0,
            })
            .collect();
        buckets[613].highest = 50.0;
        let columns = columns(&buckets, 300);
        assert_eq!(columns.len(), 300);
        assert_eq!(
            columns
                .iter()
                .filter(|column| column.highest == 50.0)
                .count(),
            1
        );
        assert_eq!(extremes(&columns), extremes(&buckets));
    }

    #[test]
    fn few_buckets_stay_as_they_are_and_gaps_stay_gaps() {
        assert_eq!(columns(&[Bucket::EMPTY; 3], 10).len(), 3);
        assert!(
            columns(&[Bucket::EMPTY; 30], 10)
                .iter()
                .all(|c| c.is_empty())
        );
    }
}
