//! Order statistics of all pairwise differences or averages, without making them all.

/// A double as an integer in the same order.
fn key(value: f64) -> i64 {
    let bits = value.to_bits() as i64;
    bits ^ (((bits >> 63) as u64) >> 1) as i64
}

fn value(key: i64) -> f64 {
    f64::from_bits((key ^ (((key >> 63) as u64) >> 1) as i64) as u64)
}

/// The smallest double t from `low` to `high` with `count(t)` ≥ `rank`, by bisection over the
/// doubles themselves: at most 64 counts, and the result is one of the values counted.
fn smallest_reaching(low: f64, high: f64, rank: u64, count: impl Fn(f64) -> u64) -> f64 {
    let (mut low, mut high) = (key(low), key(high));
    while low < high {
        let middle = (low & high) + ((low ^ high) >> 1);
        if count(value(middle)) >= rank {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    // Negative zero becomes zero.
    value(low) + 0.0
}

/// All differences x − y of two sorted samples.
pub(super) struct Differences<'a> {
    pub(super) x: &'a [f64],
    pub(super) y: &'a [f64],
}

impl Differences<'_> {
    pub(super) fn len(&self) -> u64 {
        self.x.len() as u64 * self.y.len() as u64
    }

    /// The difference of the given rank, from 1. Rounded differences keep the order of the samples,
    /// so a count needs one pass over both.
    pub(super) fn of_rank(&self, rank: u64) -> f64 {
        let (x, y) = (self.x, self.y);
        let count = |t: f64| {
            let mut first = 0;
            x.iter()
                .map(|a| {
                    while first < y.len() && a - y[first] > t {
                        first += 1;
                    }
                    (y.len() - first) as u64
                })
                .sum()
        };
        smallest_reaching(x[0] - y[y.len() - 1], x[x.len() - 1] - y[0], rank, count)
    }
}

/// The averages (xᵢ + xⱼ)/2, i ≤ j, of a sorted sample (Walsh averages).
pub(super) struct WalshAverages<'a>(pub(super) &'a [f64]);

impl WalshAverages<'_> {
    pub(super) fn len(&self) -> u64 {
        let n = self.0.len() as u64;
        n * (n + 1) / 2
    }

    /// The average of the given rank, from 1.
    pub(super) fn of_rank(&self, rank: u64) -> f64 {
        let x = self.0;
        let count = |t: f64| {
            let mut end = x.len();
            let mut below = 0;
            for (start, a) in x.iter().enumerate() {
                while end > start && 0.5 * (a + x[end - 1]) > t {
                    end -= 1;
                }
                below += (end - start.min(end)) as u64;
            }
            below
        };
        smallest_reaching(x[0], x[x.len() - 1], rank, count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn keys_keep_the_order(a in prop::num::f64::NORMAL, b in prop::num::f64::NORMAL) {
            prop_assert_eq!(a < b, key(a) < key(b));
            prop_assert_eq!(value(key(a)), a);
        }

        #[test]
        fn ranks_are_those_of_the_sorted_list(
            mut x in prop::collection::vec(-20i32..20, 1..12),
            mut y in prop::collection::vec(-20i32..20, 1..12),
            scale in prop::sample::select(vec![1.0, 0.1, 1e9]),
        ) {
            x.sort_unstable();
            y.sort_unstable();
            let scaled = |values: &[i32]| -> Vec<f64> {
                values.iter().map(|&v| f64::from(v) * scale).collect()
            };
            let (x, y) = (scaled(&x), scaled(&y));
            let differences = Differences { x: &x, y: &y };
            let mut all: Vec<f64> =
                x.iter().flat_map(|a| y.iter().map(move |b| a - b)).collect();
            all.sort_unstable_by(f64::total_cmp);
            prop_assert_eq!(differences.len(), all.len() as u64);
            for (position, expected) in all.iter().enumerate() {
                prop_assert_eq!(differences.of_rank(position as u64 + 1), *expected);
            }
            let averages = WalshAverages(&x);
            let mut all: Vec<f64> = (0..x.len())
                .flat_map(|i| (i..x.len()).map(move |j| (i, j)))
                .map(|(i, j)| 0.5 * (x[i] + x[j]))
                .collect();
            all.sort_unstable_by(f64::total_cmp);
            prop_assert_eq!(averages.len(), all.len() as u64);
            for (position, expected) in all.iter().enumerate() {
                prop_assert_eq!(averages.of_rank(position as u64 + 1), *expected);
            }
        }
    }
}
