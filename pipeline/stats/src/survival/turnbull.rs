//! The nonparametric distribution of interval-censored outcomes.

use super::censored_times::CensoredTimes;
use crate::error::StatsError;
use crate::estimates::Interval;
use std::collections::BTreeMap;

/// An innermost interval `(lower, upper]` and the probability in it; a single point where both ends
/// are equal. Where in the interval it lies the data cannot tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurnbullInterval {
    /// Lower end, outside the interval unless it is a point; may be −∞.
    pub lower: f64,
    /// Upper end, inside the interval; may be ∞.
    pub upper: f64,
    /// Probability of the interval.
    pub mass: f64,
}

/// Turnbull's estimate of a distribution of which each outcome is known exactly or to lie in an
/// interval: the nonparametric maximum of Π P(lower < T ≤ upper).
///
/// Peto (1973), Applied Statistics 22, 86–91, and Turnbull (1976), "The empirical distribution
/// function with arbitrarily grouped, censored and truncated data", JRSS B 38, 290–295: all
/// probability lies in the innermost intervals, those between a lower bound and an upper bound with
/// no bound in between. Found by steps of self-consistency and of the iterative convex minorant in
/// turn, Wellner & Zhan (1997), "A hybrid algorithm for computation of the nonparametric maximum
/// likelihood estimator from censored data", JASA 92, 945–959, until the Karush–Kuhn–Tucker
/// conditions hold, which prove the maximum. Where the bounds leave several equally likely
/// distributions it is one of them.
///
/// Assumes that the bounds tell nothing of the outcome but that it lies between them. With exact
/// and right-censored outcomes only it is the Kaplan–Meier estimate. For errors use a bootstrap;
/// the estimate has no normal limit (Groeneboom & Wellner 1992).
///
/// ```
/// use stats::{CensoredTimes, Turnbull};
///
/// let times = CensoredTimes::intervals(&[0.0, 1.0, 2.0, 4.0], &[2.0, 3.0, 5.0, f64::INFINITY])?;
/// let fit = Turnbull::fit(&times)?;
/// let first = fit.intervals[0];
/// assert_eq!((first.lower, first.upper), (1.0, 2.0));
/// assert!((fit.intervals.iter().map(|i| i.mass).sum::<f64>() - 1.0).abs() < 1e-12);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Turnbull {
    /// The innermost intervals in order; some may have no mass.
    pub intervals: Vec<TurnbullInterval>,
    /// Log-likelihood, natural logarithm.
    pub log_likelihood: f64,
}

const MOST_ITERATIONS: usize = 50_000;
/// How far the Karush–Kuhn–Tucker conditions may be from exact: the mean log-likelihood is less than
/// that below its maximum.
const TOLERANCE: f64 = 1e-9;

/// An end of an interval in order: at one time, points begin, then intervals end, then intervals
/// begin.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct End(f64, u8);

const POINT_BEGINS: u8 = 0;
const ENDS: u8 = 1;
const BEGINS: u8 = 2;

impl Turnbull {
    /// Estimates from all rows.
    ///
    /// # Errors
    /// [`StatsError::NoConvergence`].
    pub fn fit(times: &CensoredTimes) -> Result<Self, StatsError> {
        let rows = 0..times.rows();
        let begin = |row: usize| {
            let kind = if times.lower[row] == times.upper[row] { POINT_BEGINS } else { BEGINS };
            End(times.lower[row], kind)
        };
        let end = |row: usize| End(times.upper[row], ENDS);
        let order = |a: &End, b: &End| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
        let mut ends: Vec<End> = rows.clone().flat_map(|row| [begin(row), end(row)]).collect();
        ends.sort_unstable_by(order);
        ends.dedup();
        let innermost: Vec<(End, End)> = ends
            .windows(2)
            .filter(|pair| pair[0].1 != ENDS && pair[1].1 == ENDS)
            .map(|pair| (pair[0], pair[1]))
            .collect();
        // Rows of which the same is known count together: thermometers know few temperatures.
        let mut counted: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for row in rows {
            let (from, to) = (begin(row), end(row));
            let from = innermost.partition_point(|own| order(&own.0, &from).is_lt());
            let to = innermost.partition_point(|own| order(&own.1, &to).is_le());
            *counted.entry((from, to)).or_default() += 1;
        }
        let counted = counted.into_iter();
        let spans =
            counted.map(|((from, to), rows)| Span { from, to, rows: rows as f64 }).collect();
        let problem = Problem { spans, len: innermost.len(), rows: times.rows() as f64 };
        let masses = problem.maximum()?;
        let intervals = innermost
            .iter()
            .zip(&masses)
            .map(|(own, &mass)| TurnbullInterval { lower: own.0.0, upper: own.1.0, mass })
            .collect();
        Ok(Self { intervals, log_likelihood: problem.log_likelihood(&masses) })
    }

    /// Bounds of P(T > time): equal except inside an innermost interval, where the lower bound has
    /// its mass before the time and the upper bound after.
    pub fn survival(&self, time: f64) -> Interval {
        let after = |from: &dyn Fn(&TurnbullInterval) -> bool| {
            self.intervals.iter().filter(|own| from(own)).map(|own| own.mass).sum::<f64>().min(1.0)
        };
        let surely = |own: &TurnbullInterval| {
            if own.lower == own.upper { own.lower > time } else { own.lower >= time }
        };
        Interval { lo: after(&surely), hi: after(&|own| own.upper > time) }
    }

    /// The innermost interval in which a share `p` of the probability is reached.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] unless `p` lies strictly between 0 and 1.
    pub fn quantile(&self, p: f64) -> Result<Interval, StatsError> {
        if !(p > 0.0 && p < 1.0) {
            return Err(StatsError::BadArgument {
                name: "p",
                value: p,
                expected: "the probability of a quantile lies strictly between 0 and 1",
            });
        }
        let mut sum = 0.0;
        let reached = self.intervals.iter().find(|own| {
            sum += own.mass;
            own.mass > 0.0 && sum >= p - 1e-9
        });
        let own = reached.or(self.intervals.last());
        let own = own.ok_or_else(|| StatsError::Empty { what: "the distribution".to_owned() })?;
        Ok(Interval { lo: own.lower, hi: own.upper })
    }
}

/// The innermost intervals `from..to` that lie in what is known of a row.
struct Span {
    from: usize,
    to: usize,
    /// Rows of which just this is known.
    rows: f64,
}

struct Problem {
    spans: Vec<Span>,
    /// Number of innermost intervals.
    len: usize,
    /// Rows of all spans.
    rows: f64,
}

impl Problem {
    /// Probability of what is known of the rows of each span.
    fn probabilities(&self, mass: &[f64]) -> Vec<f64> {
        let mut below = Vec::with_capacity(self.len + 1);
        below.push(0.0);
        for m in mass {
            below.push(below[below.len() - 1] + m);
        }
        let of = |span: &Span| {
            if span.to == span.from + 1 {
                mass[span.from]
            } else {
                below[span.to] - below[span.from]
            }
        };
        self.spans.iter().map(of).collect()
    }

    fn log_likelihood(&self, mass: &[f64]) -> f64 {
        self.spans.iter().zip(self.probabilities(mass)).map(|(span, p)| span.rows * p.ln()).sum()
    }

    /// Derivative of the mean log-likelihood by each mass.
    fn gradient(&self, mass: &[f64]) -> Vec<f64> {
        let mut change = vec![0.0; self.len + 1];
        for (span, p) in self.spans.iter().zip(self.probabilities(mass)) {
            change[span.from] += span.rows / p;
            change[span.to] -= span.rows / p;
        }
        let rows = self.rows;
        let mut sum = 0.0;
        let running = change[..self.len].iter().map(|c| {
            sum += c;
            sum / rows
        });
        running.collect()
    }

    /// The masses at the maximum.
    fn maximum(&self) -> Result<Vec<f64>, StatsError> {
        let mut mass = vec![1.0 / self.len as f64; self.len];
        for _ in 0..MOST_ITERATIONS {
            let gradient = self.gradient(&mass);
            let excess = gradient.iter().fold(f64::NEG_INFINITY, |most, g| most.max(g - 1.0));
            let slack = mass.iter().zip(&gradient).map(|(m, g)| m * (g - 1.0).abs());
            if excess <= TOLERANCE && slack.fold(0.0, f64::max) <= TOLERANCE {
                return Ok(mass);
            }
            for (m, g) in mass.iter_mut().zip(&gradient) {
                *m *= g;
            }
            normalise(&mut mass);
            self.convex_minorant(&mut mass);
        }
        Err(StatsError::NoConvergence { what: "Turnbull's estimator".to_owned() })
    }

    /// One step of the iterative convex minorant: Newton's method on the distribution function with
    /// the diagonal of the Hessian only, made monotone by weighted isotonic regression; halved
    /// until the likelihood grows.
    fn convex_minorant(&self, mass: &mut Vec<f64>) {
        // The distribution function after each interval but the last.
        let inner = self.len - 1;
        let mut slope = vec![0.0; inner];
        let mut curvature = vec![0.0; inner];
        for (span, p) in self.spans.iter().zip(self.probabilities(mass)) {
            let (first, second) = (span.rows / p, span.rows / (p * p));
            if span.to <= inner {
                slope[span.to - 1] += first;
                curvature[span.to - 1] += second;
            }
            if span.from > 0 {
                slope[span.from - 1] -= first;
                curvature[span.from - 1] += second;
            }
        }
        let mut below = 0.0;
        let target: Vec<f64> = (0..inner)
            .map(|j| {
                below += mass[j];
                below + slope[j] / curvature[j]
            })
            .collect();
        let monotone = isotonic(&target, &curvature);
        let value = self.log_likelihood(mass);
        let aim: Vec<f64> = (0..self.len)
            .map(|j| {
                let at = |j: usize| monotone.get(j).map_or(1.0, |f| f.clamp(0.0, 1.0));
                at(j) - if j == 0 { 0.0 } else { at(j - 1) }
            })
            .collect();
        let mut part = 1.0;
        while part > 1e-3 {
            let mut trial: Vec<f64> =
                mass.iter().zip(&aim).map(|(m, a)| (m + part * (a - m)).max(0.0)).collect();
            normalise(&mut trial);
            // A row of probability zero makes it −∞ or NaN, and neither is more.
            if self.log_likelihood(&trial) > value {
                *mass = trial;
                return;
            }
            part *= 0.5;
        }
    }
}

fn normalise(mass: &mut [f64]) {
    let sum: f64 = mass.iter().sum();
    for m in mass {
        *m /= sum;
    }
}

/// Weighted least-squares fit that never falls, by pooling adjacent violators: Barlow, Bartholomew,
/// Bremner & Brunk (1972), Statistical Inference under Order Restrictions.
fn isotonic(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let mut blocks: Vec<(f64, f64, usize)> = Vec::with_capacity(values.len());
    for (&value, &weight) in values.iter().zip(weights) {
        let mut block = (value, weight, 1);
        while let Some(&(before, w, count)) = blocks.last() {
            if before < block.0 {
                break;
            }
            blocks.pop();
            let all = w + block.1;
            block = ((before * w + block.0 * block.1) / all, all, count + block.2);
        }
        blocks.push(block);
    }
    blocks.iter().flat_map(|&(value, _, count)| std::iter::repeat_n(value, count)).collect()
}

#[cfg(test)]
#[path = "turnbull_tests.rs"]
mod tests;
