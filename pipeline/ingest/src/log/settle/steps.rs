//! Steps between neighbouring rows, in time and in temperature.

use crate::log::rows::series::Series;

/// Temperatures step by no more than this, °C, where a log ran on while its clock was set or
/// started anew: a pit's ripple, and more than meat warms in several minutes.
const STEP_C: f32 = 5.0;

/// The usual step between neighbouring rows, ms.
pub(crate) fn interval(times: &[Option<i64>]) -> i64 {
    let known = times.iter().flatten();
    let mut steps: Vec<i64> = known
        .clone()
        .zip(known.skip(1))
        .map(|(one, next)| next - one)
        .filter(|&step| step > 0)
        .collect();
    let middle = steps.len() / 2;
    if steps.is_empty() { 60_000 } else { *steps.select_nth_unstable(middle).1 }
}

/// Whether temperatures go on from one row to another without a step, in at least this
/// many channels (or in the only one): a step is more than [`STEP_C`] and than half again
/// what all but a few steps of the channel are.
pub(crate) fn runs_on(series: &Series, one: usize, other: usize, least: usize) -> bool {
    let steps: Vec<(f32, &Vec<f32>)> = series
        .values
        .iter()
        .map(|values| ((values[one] - values[other]).abs(), values))
        .filter(|(step, _)| !step.is_nan())
        .collect();
    steps.len() >= series.values.len().min(least)
        && steps.iter().all(|(step, values)| *step <= STEP_C || *step <= 1.5 * large_step(values))
}

/// The step that nineteen of twenty steps of a channel do not exceed.
fn large_step(values: &[f32]) -> f32 {
    let known: Vec<f32> = values.iter().copied().filter(|value| !value.is_nan()).collect();
    let mut steps: Vec<f32> = known.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len().saturating_sub(1) * 19 / 20).copied().unwrap_or(0.0)
}

/// Whether two rows have the same values where both have one.
pub(crate) fn same_values(series: &Series, one: usize, other: usize) -> bool {
    series.values.iter().all(|values| {
        values[one].is_nan() || values[other].is_nan() || values[one] == values[other]
    })
}
