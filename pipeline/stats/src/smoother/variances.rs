//! Noise and process variance by maximum likelihood, and the weights of outlying observations.

use super::kalman::{Series, filter, smooth};
use crate::describe::{MAD_TO_NORMAL_SD, median, median_absolute_deviation};

/// The variances, in relative units of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Variances {
    /// Process variance per typical gap over noise variance.
    pub(super) ratio: f64,
    /// Noise variance σ², squared unit of the values.
    pub(super) noise: f64,
}

/// Rows above which variances are estimated on a thinned series.
const MOST_ROWS: usize = 20_000;
/// Rows on which the whole range of ratios is searched coarsely.
const COARSE_ROWS: usize = 2_000;
/// ln of the largest ratio: the curve then meets each reading to about 1e-8 of the bend between
/// readings.
const LARGEST_LN_RATIO: f64 = 19.0;
const COARSE_STEP: f64 = 2.5;
const FINE_STEP: f64 = 0.02;
const MOST_ROUNDS: usize = 12;
/// Change of a weight, and of ln σ², at which reweighting stops.
const SETTLED: f64 = 0.01;

/// Estimates the variances and sets the noise of each observation of `series` to runᵢ/wᵢ.
///
/// `student_df` is that of the noise, none for normal noise.
pub(super) fn estimate(
    series: &mut Series,
    minimum_noise: f64,
    student_df: Option<f64>,
) -> Variances {
    let runs = run_lengths(&series.values, minimum_noise);
    series.noise.clone_from(&runs);
    let scale = series.values.iter().fold(0.0, |size: f64, v| size.max(v.abs()));
    if on_a_line(series, scale) {
        series.noise.fill(1.0);
        return Variances { ratio: 0.0, noise: minimum_noise };
    }
    let stride = series.values.len().div_ceil(MOST_ROWS);
    if stride == 1 {
        return fit(series, &runs, minimum_noise, student_df);
    }
    let mut thinned = thin(series, stride);
    let thinned_runs = run_lengths(&thinned.values, minimum_noise);
    thinned.noise.clone_from(&thinned_runs);
    if on_a_line(&thinned, scale) {
        // Only the readings between say that it is no line.
        return fit(series, &runs, minimum_noise, student_df);
    }
    let found = fit(&mut thinned, &thinned_runs, minimum_noise, student_df);
    if let Some(df) = student_df {
        for _ in 0..MOST_ROUNDS {
            if reweigh(series, &runs, found, df) <= SETTLED {
                break;
            }
        }
    }
    found
}

/// Alternates between the variances given the weights and the weights given the variances, which is
/// the EM algorithm for Student noise of Lange, Little & Taylor (1989), "Robust statistical
/// modeling using the t distribution", Journal of the American Statistical Association 84, 881–896.
fn fit(
    series: &mut Series,
    runs: &[f64],
    minimum_noise: f64,
    student_df: Option<f64>,
) -> Variances {
    if let Some(df) = student_df {
        weigh_by_neighbours(series, runs, minimum_noise, df);
    }
    let mut ln_ratio = coarse_search(series, minimum_noise);
    let mut found = fine_search(series, minimum_noise, &mut ln_ratio);
    let Some(df) = student_df else {
        return found;
    };
    for _ in 0..MOST_ROUNDS {
        let change = reweigh(series, runs, found, df);
        let before = found.noise;
        found = fine_search(series, minimum_noise, &mut ln_ratio);
        if change <= SETTLED && (found.noise / before).ln().abs() <= SETTLED {
            break;
        }
    }
    found
}

/// Length of the run of equal readings that each reading stands in, or all ones where readings are
/// not rounded (no minimum of noise). The rounding errors within a run are one error, not many, so
/// each reading of it counts for one part.
fn run_lengths(values: &[f64], minimum_noise: f64) -> Vec<f64> {
    if minimum_noise == 0.0 {
        return vec![1.0; values.len()];
    }
    values
        .chunk_by(|a, b| a == b)
        .flat_map(|run| std::iter::repeat_n(run.len() as f64, run.len()))
        .collect()
}

fn thin(series: &Series, stride: usize) -> Series {
    let take = |values: &[f64]| values.iter().copied().step_by(stride).collect();
    Series { times: take(&series.times), values: take(&series.values), noise: take(&series.noise) }
}

fn on_a_line(series: &Series, scale: f64) -> bool {
    let plain = Series { noise: vec![1.0; series.values.len()], ..series.clone() };
    let squares = filter(&plain, 0.0, |_| {}).squares;
    (squares / series.values.len() as f64).sqrt() <= 1e-13 * scale
}

/// −2 × log-likelihood at a ratio, less a constant, with the noise variance that maximises it: the
/// scale is profiled out, but never below the minimum. The first two observations determine the
/// diffuse state and tell nothing of the variances.
fn criterion(series: &Series, minimum_noise: f64, ln_ratio: f64) -> (f64, f64) {
    let found = filter(series, ln_ratio.exp(), |_| {});
    let count = (series.values.len() - 2) as f64;
    let noise = (found.squares / count).max(minimum_noise).max(f64::MIN_POSITIVE);
    (count * noise.ln() + found.squares / noise + found.ln_variances, noise)
}

fn coarse_search(series: &Series, minimum_noise: f64) -> f64 {
    let thinned = thin(series, series.values.len().div_ceil(COARSE_ROWS));
    let n = thinned.values.len();
    let span = thinned.times[n - 1] - thinned.times[0];
    // Below this the curve is a straight line within its own error.
    let smallest = -3.0 * span.ln() - 7.0;
    let steps = ((LARGEST_LN_RATIO - smallest) / COARSE_STEP).ceil() as usize;
    let mut best = (f64::INFINITY, 0.0);
    for step in 0..=steps {
        let ln_ratio = LARGEST_LN_RATIO - step as f64 * COARSE_STEP;
        let (value, _) = criterion(&thinned, minimum_noise, ln_ratio);
        if value < best.0 {
            best = (value, ln_ratio);
        }
    }
    best.1
}

/// Walks downhill to a bracket, then golden-section search within it.
fn fine_search(series: &Series, minimum_noise: f64, ln_ratio: &mut f64) -> Variances {
    let at = |x: f64| criterion(series, minimum_noise, x).0;
    let mut step = 0.5;
    let mut middle = (*ln_ratio, at(*ln_ratio));
    let walk = |from: (f64, f64), step: f64| {
        let x = (from.0 + step).clamp(-150.0, LARGEST_LN_RATIO);
        (x, at(x))
    };
    let mut below = walk(middle, -step);
    let mut above = walk(middle, step);
    for _ in 0..20 {
        step *= 1.6;
        if below.1 < middle.1 {
            (above, middle) = (middle, below);
            below = walk(middle, -step);
        } else if above.1 < middle.1 {
            (below, middle) = (middle, above);
            above = walk(middle, step);
        } else {
            break;
        }
    }
    let golden = 0.5 * (3.0 - 5f64.sqrt());
    while above.0 - below.0 > FINE_STEP {
        let upward = above.0 - middle.0 > middle.0 - below.0;
        let side = if upward { above } else { below };
        let x = middle.0 + golden * (side.0 - middle.0);
        let trial = (x, at(x));
        if trial.1 < middle.1 {
            if upward {
                below = middle;
            } else {
                above = middle;
            }
            middle = trial;
        } else if upward {
            above = trial;
        } else {
            below = trial;
        }
    }
    *ln_ratio = middle.0;
    let (_, noise) = criterion(series, minimum_noise, *ln_ratio);
    Variances { ratio: ln_ratio.exp(), noise }
}

/// First weights, before any curve is there: each reading against the median of the five around it.
/// Rough, but enough that a spike does not pass for signal.
fn weigh_by_neighbours(series: &mut Series, runs: &[f64], minimum_noise: f64, df: f64) {
    let values = &series.values;
    let n = values.len();
    let departures: Vec<f64> = (0..n)
        .map(|i| {
            let reach = 2.min(i).min(n - 1 - i);
            let around = &values[i - reach..=i + reach];
            values[i] - median(around).unwrap_or(values[i])
        })
        .collect();
    let spread = median_absolute_deviation(&departures).unwrap_or(0.0);
    let noise = (MAD_TO_NORMAL_SD * spread).powi(2).max(minimum_noise);
    if noise > 0.0 {
        for ((noise_of, &run), departure) in series.noise.iter_mut().zip(runs).zip(departures) {
            let square = departure * departure / noise;
            *noise_of = run * ((df + square) / (df + 1.0)).max(1.0);
        }
    }
}

/// Weights each reading by its distance from the curve, w = (ν + 1)/(ν + E u²); returns the largest
/// change of a weight.
///
/// Weights are brought to mean one, which they have at the maximum anyway: the expansion of Kent,
/// Tyler & Vardi (1994), Communications in Statistics B 23, 441–453, without which σ² settles
/// slowly.
fn reweigh(series: &mut Series, runs: &[f64], found: Variances, df: f64) -> f64 {
    let smoothed = smooth(series, found.ratio).smoothed;
    let weights: Vec<f64> = smoothed
        .iter()
        .zip(&series.values)
        .map(|(state, value)| {
            let departure = value - state.mean[0];
            // The curve's own variance, at most that of one reading.
            let square = departure * departure / found.noise + state.cov.value.min(1.0);
            (df + 1.0) / (df + square)
        })
        .collect();
    let mean = weights.iter().sum::<f64>() / weights.len() as f64;
    let mut change: f64 = 0.0;
    for ((noise, &run), weight) in series.noise.iter_mut().zip(runs).zip(weights) {
        let weight = weight / mean;
        change = change.max((weight - run / *noise).abs());
        *noise = run / weight;
    }
    change
}
