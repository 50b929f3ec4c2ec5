//! Noise, roughness, the weights of outlying observations and the sites of rounded ones.
//!
//! All are found together by fixed-point iteration on the marginal likelihood: with u = d/(its
//! variance) the residual of an observation from all others and g one over that variance, the
//! likelihood is stationary in the noise where Σu² = Σg, and in the process variance of a stretch
//! where Σr′Qr = Σtr(NQ) (the scores of de Jong & Shephard 1995, "The simulation smoother for time
//! series models", Biometrika 82, 339–350; solved as by `MacKay` 1992, "Bayesian interpolation",
//! Neural Computation 4, 415–447).

use super::chain::{self, Ahead, Matrix, Node, Smoothed, Vector};
use super::{Observation, Rounding, SmootherOptions};
use statrs::function::erf::erfc;

/// Rounds of the fixed point at most.
const MOST_ROUNDS: usize = 16;
/// Rounds in which one roughness is fitted to the whole series.
const WHOLE_ROUNDS: usize = 4;
/// Change of a logarithm at which the fixed point is reached.
const SETTLED: f64 = 0.03;
/// Observations of the series on which the first value of the roughness is searched.
const SEARCHED_ON: usize = 250;
/// Effective observations that the whole series weighs in the roughness of a stretch.
const PRIOR_WEIGHT: f64 = 1.0;
/// Share of the fitted roughness that is used. The likelihood is ruled by the few bends of a series;
/// slopes between them come out better with less. Set on cooks with known truth.
const USED_SHARE: f64 = 0.3;
/// Least noise against the spread of the values.
const LEAST_NOISE: f64 = 1e-7;

/// What is estimated.
#[derive(Debug, Clone)]
pub(super) struct Fitted {
    /// One node an observation, with the variances that the fit gave.
    pub(super) nodes: Vec<Node>,
    /// Process variance of the gap after each node.
    pub(super) q: Vec<f64>,
    /// Variance of the noise of one reading.
    pub(super) noise: f64,
    /// First state.
    pub(super) first: (Vector, Matrix),
    /// How many effective observations the noise rests on.
    pub(super) noise_weight: f64,
}

/// A state so vague that it says nothing: ten times the spread of the values.
fn vague(observations: &[Observation], spread: f64) -> (Vector, Matrix) {
    let variance = (10.0 * spread).powi(2);
    let mut cov = [[0.0; 3]; 3];
    for (i, row) in cov.iter_mut().enumerate() {
        row[i] = variance;
    }
    ([observations[0].value, 0.0, 0.0], cov)
}

/// Fits a series with times in units of the chain; `window` is the half width of a stretch.
pub(super) fn fit(
    observations: &[Observation],
    times: &[f64],
    window: Option<f64>,
    options: &SmootherOptions,
) -> Fitted {
    let low = observations.iter().fold(f64::INFINITY, |v, o| v.min(o.value));
    let high = observations.iter().fold(f64::NEG_INFINITY, |v, o| v.max(o.value));
    let spread = (high - low).max(1e-3 * low.abs().max(high.abs())).max(f64::MIN_POSITIVE * 1e20);
    let least = (LEAST_NOISE * spread).powi(2);
    let first = vague(observations, spread);
    let mut noise = first_noise(observations).max(least);
    let mut weights = vec![1.0; observations.len()];
    let mut nodes: Vec<Node> = observations
        .iter()
        .zip(times)
        .map(|(o, &time)| Node { time, value: o.value, variance: 0.0 })
        .collect();
    let mut outside: Option<Vec<(f64, f64)>> = None;
    set_nodes(&mut nodes, observations, noise, &weights, None);
    let mut level = search(&nodes, first);
    let mut q = vec![level; nodes.len()];
    let mut noise_weight = 1.0;
    let mut ahead: Vec<Ahead> = Vec::with_capacity(nodes.len());
    for round in 0..MOST_ROUNDS {
        set_nodes(&mut nodes, observations, noise, &weights, outside.as_deref());
        ahead.clear();
        chain::filter(&nodes, &q, first, |a| ahead.push(a));
        let smoothed = chain::smooth(&nodes, &q, &ahead);
        // What all other observations say of each: mean and variance of the value.
        let others: Vec<(f64, f64)> = nodes
            .iter()
            .zip(&smoothed)
            .map(|(node, s)| {
                let (u, d) = s.left_out;
                (node.value - u / d, (1.0 / d - node.variance).max(0.0))
            })
            .collect();
        let (squares, precisions) = noise_score(observations, &others, noise, &weights);
        noise_weight = precisions * noise;
        let noise_ratio = (squares / precisions).clamp(0.1, 10.0);
        let noise_ratio = if noise_ratio.is_finite() { noise_ratio } else { 1.0 };
        let new_noise = (noise * noise_ratio).max(least);
        let change = reweigh(observations, &smoothed, new_noise, options.student_df, &mut weights);
        // The roughness of stretches is asked for once that of the whole is about right.
        let local = window.filter(|_| round >= WHOLE_ROUNDS);
        let moved = roughen(&nodes, &smoothed, local, &mut q, &mut level);
        let settled = (new_noise / noise).ln().abs() < SETTLED && moved < SETTLED && change < 0.05;
        noise = new_noise;
        outside = Some(others);
        if settled && round > WHOLE_ROUNDS {
            break;
        }
    }
    if window.is_some() {
        for q in &mut q {
            *q *= USED_SHARE;
        }
    }
    set_nodes(&mut nodes, observations, noise, &weights, outside.as_deref());
    Fitted { nodes, q, noise, first, noise_weight }
}

/// Noise of one reading to begin with, from second differences of the observations.
fn first_noise(observations: &[Observation]) -> f64 {
    let squares: Vec<f64> = observations
        .windows(3)
        .map(|w| {
            let share = (w[1].time - w[0].time) / (w[2].time - w[0].time).max(f64::MIN_POSITIVE);
            let off = w[1].value - (w[0].value + share * (w[2].value - w[0].value));
            off * off * w[1].count / 1.5
        })
        .collect();
    crate::describe::median(&squares).map_or(0.0, |m| m / 0.455)
}

/// Roughness to begin with: the best of a coarse row of values on a thinned series.
fn search(nodes: &[Node], first: (Vector, Matrix)) -> f64 {
    let thinned: Vec<Node> =
        nodes.iter().copied().step_by(nodes.len().div_ceil(SEARCHED_ON)).collect();
    let n = thinned.len();
    let span = thinned[n - 1].time - thinned[0].time;
    let noise = thinned.iter().map(|node| node.variance).sum::<f64>() / n as f64;
    // From bends that the whole series hardly shows to bends that pass through each reading.
    let smallest = noise / span.powi(5);
    let gap = span / n as f64;
    let largest = (first.1[0][0] / gap.powi(5)).max(smallest * 10.0);
    let steps = ((largest / smallest).log10().ceil() as usize).clamp(4, 30);
    let mut best = (f64::NEG_INFINITY, smallest);
    let mut falls = 0;
    for index in 0..=steps {
        let value = smallest * (largest / smallest).powf(index as f64 / steps as f64);
        let found = chain::filter(&thinned, &vec![value; n], first, |_| ());
        if found > best.0 {
            best = (found, value);
            falls = 0;
        } else {
            falls += 1;
            if falls > 6 {
                break;
            }
        }
    }
    best.1
}

/// Sets what each node observes.
fn set_nodes(
    nodes: &mut [Node],
    observations: &[Observation],
    noise: f64,
    weights: &[f64],
    others: Option<&[(f64, f64)]>,
) {
    for (i, (node, o)) in nodes.iter_mut().zip(observations).enumerate() {
        let own = noise / (o.count * weights[i]);
        match o.rounding {
            Rounding::Independent { variance } => {
                // A twentieth of the quantum is left of rounding however many are averaged.
                node.variance = own + variance / o.count + 0.03 * variance;
            }
            Rounding::Within { low, high } => {
                let site =
                    others.and_then(|others| site_of(low, high, own, others[i].0, others[i].1));
                let width = high - low;
                (node.value, node.variance) =
                    site.unwrap_or((0.5 * (low + high), own + width * width / 12.0));
            }
        }
    }
}

/// Probability that the value with its noise lies between `low` and `high` under a normal belief:
/// first derivative of its logarithm in the belief's mean, and the second with its sign turned.
fn within(low: f64, high: f64, noise: f64, mean: f64, variance: f64) -> Option<(f64, f64)> {
    const ROOT_TWO_PI: f64 = 2.506_628_274_631_000_5;
    let sd = (variance + noise).sqrt();
    let (a, b) = ((low - mean) / sd, (high - mean) / sd);
    // Mirrored so that both tails are small numbers.
    let (lo, hi, sign) = if a + b > 0.0 { (a, b, 1.0) } else { (-b, -a, -1.0) };
    let root = std::f64::consts::FRAC_1_SQRT_2;
    let probability = 0.5 * (erfc(lo * root) - erfc(hi * root));
    if probability < 1e-10 {
        return None;
    }
    let density = |x: f64| (-0.5 * x * x).exp() / ROOT_TWO_PI;
    let (p, q) = (density(lo), density(hi));
    let first = sign * (p - q) / (probability * sd);
    let second = first * first + (hi * q - lo * p) / (probability * sd * sd);
    (first.is_finite() && second > 0.0).then_some((first, second))
}

/// The normal observation that stands for an interval next to what all others say (expectation
/// propagation: Minka 2001, "Expectation propagation for approximate Bayesian inference",
/// Uncertainty in Artificial Intelligence 17, 362–369).
pub(super) fn site_of(
    low: f64,
    high: f64,
    noise: f64,
    mean: f64,
    variance: f64,
) -> Option<(f64, f64)> {
    let (first, second) = within(low, high, noise, mean, variance)?;
    let site_variance = 1.0 / second - variance;
    let width = high - low;
    // An interval that says next to nothing.
    let most = 1e6 * (width * width + noise);
    (site_variance > 0.0).then(|| (mean + first / second, site_variance.min(most)))
}

/// Sums of u² and of g over the observations, each by its share of the noise.
fn noise_score(
    observations: &[Observation],
    others: &[(f64, f64)],
    noise: f64,
    weights: &[f64],
) -> (f64, f64) {
    let (mut squares, mut precisions) = (0.0, 0.0);
    for (i, (o, &(mean, variance))) in observations.iter().zip(others).enumerate() {
        let share = 1.0 / (o.count * weights[i]);
        let own = noise * share;
        let found = match o.rounding {
            Rounding::Independent { variance: rounding } => {
                let total = variance + own + rounding / o.count + 0.03 * rounding;
                Some(((o.value - mean) / total, 1.0 / total))
            }
            Rounding::Within { low, high } => within(low, high, own, mean, variance),
        };
        if let Some((first, second)) = found {
            squares += share * first * first;
            precisions += share * second;
        }
    }
    (squares, precisions)
}

/// Student weights w = (ν + 1)/(ν + E u²): Lange, Little & Taylor (1989). Gives the largest change.
fn reweigh(
    observations: &[Observation],
    smoothed: &[Smoothed],
    noise: f64,
    student_df: Option<f64>,
    weights: &mut [f64],
) -> f64 {
    let Some(df) = student_df else { return 0.0 };
    let mut change = 0.0_f64;
    let mut sum = 0.0;
    let fresh: Vec<f64> = observations
        .iter()
        .zip(smoothed)
        .map(|(o, s)| {
            let own = noise / o.count;
            let weight = match o.rounding {
                Rounding::Independent { variance } => {
                    let scale = own + variance / o.count + 0.03 * variance;
                    let off = o.value - s.mean[0];
                    let square = (off * off + s.cov[0][0].min(scale)) / scale;
                    (df + 1.0) / (df + square)
                }
                Rounding::Within { low, high } => {
                    // How far outside its interval.
                    let off = (low - s.mean[0]).max(s.mean[0] - high).max(0.0);
                    (df + 1.0) / (df + 1.0 + off * off / own)
                }
            };
            sum += weight;
            weight
        })
        .collect();
    let mean = sum / fresh.len() as f64;
    for (weight, fresh) in weights.iter_mut().zip(fresh) {
        let fresh = fresh / mean;
        change = change.max((*weight - fresh).abs());
        *weight = fresh;
    }
    change
}

/// Moves the process variance of each gap to that of the stretch around it; the series as a whole
/// weighs as [`PRIOR_WEIGHT`] observations in each. Gives the change of the level's logarithm.
fn roughen(
    nodes: &[Node],
    smoothed: &[Smoothed],
    window: Option<f64>,
    q: &mut [f64],
    level: &mut f64,
) -> f64 {
    let n = nodes.len();
    let total: f64 = smoothed.iter().map(|s| s.gap.1).sum();
    let energy: f64 = smoothed.iter().map(|s| s.gap.0).sum();
    let ratio = if total > 0.0 { (energy / total).clamp(0.1, 30.0) } else { 1.0 };
    let before = *level;
    let Some(window) = window else {
        *level *= ratio;
        q.fill(*level);
        return (*level / before).ln().abs();
    };
    // The level is the typical roughness: the mean of the logarithms, each by what is known of it.
    let mut sums = (0.0, 0.0);
    for (s, q) in smoothed.iter().zip(q.iter()) {
        sums.0 += s.gap.1 * q.ln();
        sums.1 += s.gap.1;
    }
    *level = if sums.1 > 0.0 { (sums.0 / sums.1).exp() } else { *level };
    let old: Vec<f64> = q.to_vec();
    let middle = |i: usize| 0.5 * (nodes[i].time + nodes[(i + 1).min(n - 1)].time);
    let (mut from, mut to) = (0, 0);
    let (mut found, mut known) = (0.0, 0.0);
    let mut largest = 0.0_f64;
    for i in 0..n {
        let here = middle(i);
        while to < n && middle(to) <= here + window {
            found += old[to] * smoothed[to].gap.0;
            known += smoothed[to].gap.1;
            to += 1;
        }
        while from < i && middle(from) < here - window {
            found -= old[from] * smoothed[from].gap.0;
            known -= smoothed[from].gap.1;
            from += 1;
        }
        let wanted = (found.max(0.0) + PRIOR_WEIGHT * *level) / (known.max(0.0) + PRIOR_WEIGHT);
        q[i] = wanted.clamp(0.1 * old[i], 30.0 * old[i]);
        largest = largest.max((q[i] / old[i]).ln().abs());
    }
    largest / 5.0
}
