//! The wild cluster bootstrap, for combinations on which so few clusters bear that no t distribution
//! carries them.
//!
//! Restricted (the hypothesis is imposed), in the scores of the clusters: each cluster's residuals are
//! multiplied by a weight of its own, and the statistic, studentised by CR2, is computed anew. Cameron,
//! Gelbach & Miller (2008), "Bootstrap-based improvements for inference with clustered errors", Review
//! of Economics and Statistics 90, 414–427. The interval holds the values that are not rejected:
//! MacKinnon (2023), "Fast cluster bootstrap methods for linear regression models", Econometrics and
//! Statistics 26, 52–71. Weights are Webb's six, ±√½, ±1, ±√1½: Webb (2023), "Reworking wild bootstrap
//! based inference for clustered errors", Canadian Journal of Economics 56, 839–858.

use crate::error::{StatsError, require_length, require_level};
use crate::estimates::Interval;
use crate::least_squares::LeastSquares;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Draws where not all combinations are taken. (Draws + 1) · level is whole for the levels in use.
const DRAWS: usize = 1_999;
/// Combinations that are all taken: those of five clusters. Half of them, since turning all weights
/// round turns the statistic round.
const ENUMERATED: usize = 7_776;
/// Standard errors from the estimate beyond which an interval counts as open.
const FARTHEST: f64 = 1e4;
/// Steps that find an end: to a millionth of a standard error.
const BISECTIONS: usize = 60;

const HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// √1½.
const THREE_HALVES: f64 = 1.224_744_871_391_589;
const WEBB: [f64; 6] = [-THREE_HALVES, -1.0, -HALF, HALF, 1.0, THREE_HALVES];

/// The distribution of one combination's statistic, as a function of the hypothesis.
///
/// With τ = (estimate − hypothesis)/|c|² in the coordinates of Q, everything that a draw gives is
/// linear in τ, or its square: the numerator is n₀ + τn₁ and the variance v₀ + 2τv₁ + τ²v₂.
#[derive(Debug, Clone, PartialEq)]
pub struct WildBootstrap {
    estimate: f64,
    /// |c|², and the standard error of c, in units of the scaled outcome.
    length: f64,
    std_error: f64,
    unscale: f64,
    draws: Vec<[f64; 5]>,
}

impl LeastSquares {
    /// The bootstrap of Σ weightᵢ · coefficientᵢ, one weight a term; `None` unless errors are
    /// clustered, or where the combination has no error. All combinations of weights are taken for up
    /// to five clusters, else 1,999 are drawn. Time is proportional to draws × clusters × terms.
    ///
    /// # Errors
    /// Wrong number of weights, or a weight that is not finite.
    pub fn wild_bootstrap(
        &self,
        weights: &[f64],
        seed: u64,
    ) -> Result<Option<WildBootstrap>, StatsError> {
        require_length("the weights of the terms", self.estimates.names().len(), weights.len())?;
        let found = self.estimates.linear_combination(weights)?;
        let (Some(robust), Some(c)) = (&self.robust, self.estimates.direction(weights)) else {
            return Ok(None);
        };
        if found.std_error.is_nan() || found.std_error <= 0.0 {
            return Ok(None);
        }
        let clusters: Vec<Cluster> = robust
            .clusters
            .along(&c)
            .into_iter()
            .zip(&robust.scores)
            .map(|([adjusted, informed, plain], score)| Cluster {
                own: [adjusted.dot(score), informed.dot(&c)],
                numerator: [c.dot(score), c.dot(&plain)],
                score: score.as_slice().to_vec(),
                plain: plain.as_slice().to_vec(),
                informed: informed.as_slice().to_vec(),
            })
            .collect();
        let mut draws = Vec::new();
        let all = WEBB.len().checked_pow(clusters.len() as u32).filter(|all| *all <= ENUMERATED);
        let mut drawn = vec![0.0; clusters.len()];
        let mut refit = vec![[0.0; 2]; weights.len()];
        if let Some(all) = all {
            for combination in 0..all / 2 {
                let mut rest = combination;
                for weight in &mut drawn {
                    *weight = WEBB[rest % WEBB.len()];
                    rest /= WEBB.len();
                }
                draws.push(statistic(&clusters, &drawn, &mut refit));
            }
        } else {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            for _ in 0..DRAWS {
                drawn.fill_with(|| WEBB[random.random_range(0..WEBB.len())]);
                draws.push(statistic(&clusters, &drawn, &mut refit));
            }
        }
        Ok(Some(WildBootstrap {
            estimate: found.estimate,
            length: c.norm_squared(),
            std_error: found.std_error / robust.unscale,
            unscale: robust.unscale,
            draws,
        }))
    }
}

/// What a cluster adds, its residuals being e + τ·(direction): constant and slope in τ.
struct Cluster {
    /// (Fc)′ times its score.
    own: [f64; 2],
    /// c′ times its score.
    numerator: [f64; 2],
    /// Its score, and what τ adds to it.
    score: Vec<f64>,
    plain: Vec<f64>,
    /// `MFc`, by which the refitted coefficients take from its residuals.
    informed: Vec<f64>,
}

fn statistic(clusters: &[Cluster], weights: &[f64], refit: &mut [[f64; 2]]) -> [f64; 5] {
    refit.fill([0.0; 2]);
    let mut numerator = [0.0; 2];
    for (cluster, &weight) in clusters.iter().zip(weights) {
        for (sum, (score, plain)) in refit.iter_mut().zip(cluster.score.iter().zip(&cluster.plain))
        {
            sum[0] += weight * score;
            sum[1] += weight * plain;
        }
        numerator[0] += weight * cluster.numerator[0];
        numerator[1] += weight * cluster.numerator[1];
    }
    let mut variance = [0.0; 3];
    for (cluster, &weight) in clusters.iter().zip(weights) {
        let (mut at, mut slope) = (weight * cluster.own[0], weight * cluster.own[1]);
        for (informed, sum) in cluster.informed.iter().zip(refit.iter()) {
            at -= informed * sum[0];
            slope -= informed * sum[1];
        }
        variance[0] += at * at;
        variance[1] += at * slope;
        variance[2] += slope * slope;
    }
    [numerator[0], numerator[1], variance[0], variance[1], variance[2]]
}

impl WildBootstrap {
    /// Two-sided p value of the hypothesis that the combination has this value: the share of draws
    /// whose statistic is at least as large, the data themselves counted as one.
    pub fn p_value(&self, hypothesis: f64) -> f64 {
        let tau = (self.estimate - hypothesis) / self.unscale / self.length;
        let seen = (tau * self.length / self.std_error).powi(2) * (1.0 - 1e-12);
        let as_large = |[n0, n1, v0, v1, v2]: &&[f64; 5]| {
            let numerator = (n0 + tau * n1).powi(2);
            let variance = (v0 + tau * (2.0 * v1 + tau * v2)).max(0.0);
            // A draw without any error at all is as large as can be.
            numerator >= seen * variance
        };
        let count = self.draws.iter().filter(as_large).count();
        (count + 1) as f64 / (self.draws.len() + 1) as f64
    }

    /// The values that a two-sided test at 1 − `level` does not reject; an end is infinite where no
    /// value so far out is rejected: so few clusters carry no interval of this level.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `level` lies strictly between 0 and 1.
    pub fn interval(&self, level: f64) -> Result<Interval, StatsError> {
        require_level(level)?;
        let unit = self.std_error * self.unscale;
        let end = |side: f64| {
            let held = |far: f64| self.p_value(self.estimate + side * far * unit) > 1.0 - level;
            let mut outside = 1.0;
            while held(outside) {
                outside *= 2.0;
                if outside > FARTHEST {
                    return side * f64::INFINITY;
                }
            }
            let mut inside = if outside > 1.0 { outside / 2.0 } else { 0.0 };
            for _ in 0..BISECTIONS {
                let middle = 0.5 * (inside + outside);
                if held(middle) {
                    inside = middle;
                } else {
                    outside = middle;
                }
                if outside - inside < 1e-6 * outside {
                    break;
                }
            }
            self.estimate + side * outside * unit
        };
        Ok(Interval { lo: end(-1.0), hi: end(1.0) })
    }
}

#[cfg(test)]
#[path = "wild_tests.rs"]
mod tests;
