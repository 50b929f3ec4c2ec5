//! Adjusted p values for several tests at once.
//!
//! An adjusted p value is compared with the level as if it were the only one. Where a correction
//! would exceed 1 it is 1. Results stand in the order of the p values given.

use crate::error::{StatsError, require_finite};

/// Holm's step-down correction (Holm 1979, "A simple sequentially rejective multiple test
/// procedure", Scandinavian Journal of Statistics 6, 65–70): the i-th smallest of m p values is
/// multiplied by m + 1 − i, and is at least as large as the one before. The chance of one false
/// rejection or more is at most the level, whatever the dependence between tests.
///
/// # Errors
/// No p values, or one outside 0 to 1.
///
/// ```
/// use stats::multiple::holm;
///
/// assert_eq!(holm(&[0.01, 0.04, 0.03])?, [0.03, 0.06, 0.06]);
/// # Ok::<(), stats::StatsError>(())
/// ```
pub fn holm(p: &[f64]) -> Result<Vec<f64>, StatsError> {
    let order = ascending(p)?;
    let m = p.len();
    let mut adjusted = vec![0.0; m];
    let mut largest: f64 = 0.0;
    for (rank, &position) in order.iter().enumerate() {
        largest = largest.max((m - rank) as f64 * p[position]).min(1.0);
        adjusted[position] = largest;
    }
    Ok(adjusted)
}

/// Benjamini & Hochberg's step-up correction (1995, "Controlling the false discovery rate", Journal
/// of the Royal Statistical Society B 57, 289–300): the i-th smallest of m p values is multiplied by
/// m/i, and is at most as large as the one after. The expected share of false ones among the
/// rejections is at most the level, for independent tests and many kinds of positive dependence.
///
/// # Errors
/// As [`holm`].
pub fn benjamini_hochberg(p: &[f64]) -> Result<Vec<f64>, StatsError> {
    let order = ascending(p)?;
    let m = p.len() as f64;
    let mut adjusted = vec![0.0; p.len()];
    let mut smallest: f64 = 1.0;
    for (rank, &position) in order.iter().enumerate().rev() {
        smallest = smallest.min(m / (rank + 1) as f64 * p[position]);
        adjusted[position] = smallest;
    }
    Ok(adjusted)
}

/// Positions of the p values, the smallest first.
fn ascending(p: &[f64]) -> Result<Vec<usize>, StatsError> {
    require_p_values(p)?;
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    Ok(order)
}

fn require_p_values(p: &[f64]) -> Result<(), StatsError> {
    require_finite("the p values", p)?;
    match p.iter().find(|value| !(0.0..=1.0).contains(*value)) {
        None => Ok(()),
        Some(&value) => Err(StatsError::BadArgument {
            name: "p value",
            value,
            expected: "a p value lies in 0 to 1",
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::{Table, close, expected, numbers};
    use proptest::prelude::*;

    type Correction = fn(&[f64]) -> Result<Vec<f64>, StatsError>;

    /// R 4.2.2 `p.adjust` on the p values of Benjamini & Hochberg (1995, section 4.1), who reject 4
    /// at 5 % (`bh1995.json`).
    #[test]
    fn agrees_with_r_and_the_paper() {
        let (results, relative) = expected("bh1995");
        let p = Table::read("bh1995").numbers("p");
        for (key, correction) in
            [("holm", holm as Correction), ("BH", benjamini_hochberg as Correction)]
        {
            let found = correction(&p).unwrap();
            for (found, expected) in found.iter().zip(numbers(&results[key])) {
                close(key, *found, expected, relative);
            }
        }
        let rejected = |adjusted: Vec<f64>| adjusted.iter().filter(|p| **p <= 0.05).count();
        assert_eq!(rejected(benjamini_hochberg(&p).unwrap()), 4);
    }

    #[test]
    fn hard_lists() {
        for correction in [holm, benjamini_hochberg] {
            assert!(matches!(correction(&[]), Err(StatsError::Empty { .. })));
            assert!(correction(&[0.5, f64::NAN]).is_err());
            assert!(correction(&[0.5, 1.01]).is_err() && correction(&[-0.01]).is_err());
            assert_eq!(correction(&[0.03]).unwrap(), [0.03]);
            assert_eq!(correction(&[1.0, 0.0]).unwrap(), [1.0, 0.0]);
        }
        assert_eq!(holm(&[0.2; 4]).unwrap(), [0.8; 4]);
        assert_eq!(benjamini_hochberg(&[0.2; 4]).unwrap(), [0.2; 4]);
    }

    proptest! {
        #[test]
        fn corrections_keep_order_and_follow_permutation(
            mut p in prop::collection::vec(0.0f64..=1.0, 1..20),
        ) {
            for correction in [holm, benjamini_hochberg] {
                let adjusted = correction(&p).unwrap();
                for (i, a) in p.iter().enumerate() {
                    prop_assert!(adjusted[i] >= *a && adjusted[i] <= 1.0);
                    for (j, b) in p.iter().enumerate() {
                        prop_assert!(a > b || adjusted[i] <= adjusted[j]);
                    }
                }
                p.reverse();
                let mut turned = correction(&p).unwrap();
                turned.reverse();
                prop_assert_eq!(&turned, &adjusted);
                p.reverse();
            }
            // Bonferroni's m·p bounds them both.
            let (h, f) = (holm(&p).unwrap(), benjamini_hochberg(&p).unwrap());
            let b: Vec<f64> = p.iter().map(|value| value * p.len() as f64).collect();
            prop_assert!((0..p.len()).all(|i| f[i] <= h[i] + 1e-15 && h[i] <= b[i] + 1e-15));
        }
    }
}
