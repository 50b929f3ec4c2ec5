//! How likely a claim is to be answered by cooks to come, said before it is written down.
//!
//! What is taken from the cooks so far is how far they scatter, and on how many fires they lie; what they say of
//! the claim itself is not looked at. From the width of the interval that the claim has, or would have if its
//! two sides were each half of the cooks, follows that of n further cooks, with the square root of n and the
//! degrees of freedom of their fires. A verdict other than `open` is then as likely as a normal estimate is to
//! put that interval on one side of δ.

use super::{Evidence, judge_briefly};
use crate::claims::{Claim, ClaimKind, Claims};
use crate::error::StudyError;
use crate::lock::Lock;
use crate::outcome::Outcome;
use crate::table::MeasureTable;
use crate::verdict::interval_level;
use stats::{Estimate, describe};

/// How likely an answer is from so many further cooks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foresight {
    /// Further cooks.
    pub cooks: usize,
    /// If there is no difference, 0 to 1; it is the same if the difference is twice what matters, since the
    /// two lie as far from what decides.
    pub chance: f64,
}

/// Cooks whose outcome and side are known, below which nothing is said of those to come.
const FEWEST: usize = 8;

/// What is foreseen for so many cooks each; `None` where the cooks so far are too few to say. `share` is that of
/// the family that the claim will be of, alone.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn foresee(
    table: &MeasureTable,
    claim: &Claim,
    share: f64,
    evidence: Evidence<'_>,
    cooks: &[usize],
) -> Result<Option<Vec<Foresight>>, StudyError> {
    if !table.has(&claim.outcome) {
        return Ok(None);
    }
    let Some(now) = precision(table, claim, evidence)? else { return Ok(None) };
    let level = interval_level(1, share);
    Ok(Some(
        cooks
            .iter()
            .map(|&cooks| Foresight {
                cooks,
                chance: now.decided(claim.matters, 0.0, cooks, level),
            })
            .collect(),
    ))
}

/// How closely so many cooks tell the effect.
struct Precision {
    std_error: f64,
    cooks: f64,
    fires: f64,
}

impl Precision {
    /// The probability that the interval of so many cooks is decided where the difference is `truth`.
    fn decided(&self, matters: f64, truth: f64, cooks: usize, level: f64) -> f64 {
        let n = cooks as f64;
        // An intercept and the comparison.
        let df = self.fires * n / self.cooks - 2.0;
        if df < crate::inference::FEWEST_DF {
            return 0.0;
        }
        let std_error = self.std_error * (self.cooks / n).sqrt();
        let unit = Estimate { estimate: 0.0, std_error: 1.0, df };
        let Ok(reach) = unit.interval(level).map(|interval| interval.hi) else { return 0.0 };
        let below = normal((matters - truth) / std_error - reach);
        let above = 1.0 - normal((matters - truth) / std_error + reach);
        (below + above).clamp(0.0, 1.0)
    }
}

/// P(Z ≤ z).
fn normal(z: f64) -> f64 {
    let two_sided = Estimate { estimate: z, std_error: 1.0, df: f64::INFINITY }.p_value();
    if z > 0.0 { 1.0 - 0.5 * two_sided } else { 0.5 * two_sided }
}

fn precision(
    table: &MeasureTable,
    claim: &Claim,
    evidence: Evidence<'_>,
) -> Result<Option<Precision>, StudyError> {
    let alone = Claims { claims: vec![claim.clone()] };
    let lock = Lock::update(None, &alone, table.cooks());
    let found = judge_briefly(table, claim, &lock, evidence)?;
    if let Some(effect) = &found.effect
        && let (Some(lo), Some(hi)) = (effect.lo, effect.hi)
    {
        let df = (found.fires as f64 - 2.0).max(crate::inference::FEWEST_DF);
        let unit = Estimate { estimate: 0.0, std_error: 1.0, df };
        let reach = unit.interval(effect.level)?.hi;
        return Ok(Some(Precision {
            std_error: 0.5 * (hi - lo) / reach,
            cooks: found.n as f64,
            fires: found.fires as f64,
        }));
    }
    from_scatter(table, claim)
}

/// From the scatter of the outcome alone: two halves of the cooks, or a column that scatters as it does.
fn from_scatter(table: &MeasureTable, claim: &Claim) -> Result<Option<Precision>, StudyError> {
    let outcome = Outcome::read(table, &claim.outcome)?;
    let excluded = table.exclusions()?;
    let kept: Vec<usize> = (0..table.len())
        .filter(|&row| excluded[row].is_none() && outcome.values[row].is_some())
        .collect();
    let values: Vec<f64> = kept.iter().filter_map(|&row| outcome.values[row]).collect();
    if values.len() < FEWEST {
        return Ok(None);
    }
    let scatter = describe::standard_deviation(&values)?;
    let root = (values.len() as f64).sqrt();
    let std_error = if claim.kind == ClaimKind::Trend {
        let by = claim.by.as_deref().unwrap_or_default();
        if !table.has(by) {
            return Ok(None);
        }
        let column = table.numbers(by)?;
        let by: Vec<f64> = kept.iter().filter_map(|&row| column[row]).collect();
        if by.len() < FEWEST {
            return Ok(None);
        }
        let reach = describe::standard_deviation(&by)?;
        claim.per.unwrap_or(1.0) * scatter / (reach * root)
    } else {
        2.0 * scatter / root
    };
    let fires: std::collections::BTreeSet<usize> =
        kept.iter().map(|&row| table.fires()[row]).collect();
    let found = Precision { std_error, cooks: values.len() as f64, fires: fires.len() as f64 };
    Ok((std_error.is_finite() && std_error > 0.0).then_some(found))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With so many fires t is the normal; half width 1.644 85 (NIST/SEMATECH e-Handbook, table 1.3.6.7.1).
    #[test]
    fn an_edge_is_decided_half_of_the_time() {
        let now = Precision { std_error: 1.0, cooks: 1e6, fires: 1e6 };
        let n = 1_000_000;
        // δ one half width above no difference: the upper end lies below δ in half of the seasons.
        let none = now.decided(1.644_853_627, 0.0, n, 0.9);
        assert!((none - 0.5).abs() < 1e-3, "{none}");
        // Twice δ, two half widths apart: decided where the lower end is above δ.
        let twice = now.decided(1.644_853_627, 2.0 * 1.644_853_627, n, 0.9);
        assert!((twice - 0.5).abs() < 1e-3, "{twice}");
        assert!(now.decided(10.0, 0.0, n, 0.9) > 0.999);
        assert!(now.decided(0.01, 0.0, n, 0.9) < 0.11);
    }

    #[test]
    fn few_fires_decide_nothing() {
        let now = Precision { std_error: 0.001, cooks: 12.0, fires: 6.0 };
        assert_eq!(now.decided(1.0, 0.0, 4, 0.9), 0.0);
        assert!(now.decided(1.0, 0.0, 12, 0.9) > 0.99);
    }

    #[test]
    fn the_normal_is_symmetric() {
        for z in [0.0, 0.5, 1.96] {
            assert!((normal(z) + normal(-z) - 1.0).abs() < 1e-12);
        }
        // NIST/SEMATECH e-Handbook, table 1.3.6.7.1.
        assert!((normal(1.96) - 0.975_00).abs() < 1e-5);
    }
}
