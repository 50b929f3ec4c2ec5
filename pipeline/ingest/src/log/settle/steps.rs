//! Steps between neighbouring rows, in time and in temperature.

use crate::log::rows::series::Series;
use columns::Packed;
use std::collections::BTreeMap;

/// Temperatures step by no more than this, °C, where a log ran on while its clock was set or
/// started anew: a pit's ripple, and more than meat warms in several minutes.
const STEP_C: f32 = 5.0;

/// The usual step between neighbouring rows, ms.
pub(crate) fn interval(times: &Packed<Option<i64>>) -> i64 {
    let known = || times.iter().flatten();
    // Loggers know few steps.
    let mut counts: BTreeMap<i64, usize> = BTreeMap::new();
    let steps = known().zip(known().skip(1)).map(|(one, next)| next - one);
    steps.filter(|step| *step > 0).for_each(|step| *counts.entry(step).or_default() += 1);
    let mut before_middle = counts.values().sum::<usize>() / 2;
    for (step, count) in counts {
        if before_middle < count {
            return step;
        }
        before_middle -= count;
    }
    60_000
}

/// Whether temperatures go on from one row to another without a step, in at least this
/// many channels (or in the only one): a step is more than [`STEP_C`] and than half again
/// what all but a few steps of the channel are.
pub(crate) fn runs_on(series: &Series, one: usize, other: usize, least: usize) -> bool {
    let steps: Vec<(f32, &Packed<f32>)> = series
        .values
        .iter()
        .map(|values| ((values.at(one) - values.at(other)).abs(), values))
        .filter(|(step, _)| !step.is_nan())
        .collect();
    steps.len() >= series.values.len().min(least)
        && steps.iter().all(|(step, values)| *step <= STEP_C || *step <= 1.5 * large_step(values))
}

/// The step that nineteen of twenty steps of a channel do not exceed.
fn large_step(values: &Packed<f32>) -> f32 {
    let known: Vec<f32> = values.iter().filter(|value| !value.is_nan()).collect();
    let mut steps: Vec<f32> = known.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len().saturating_sub(1) * 19 / 20).copied().unwrap_or(0.0)
}

/// Whether two rows have the same values where both have one.
pub(crate) fn same_values(series: &Series, one: usize, other: usize) -> bool {
    series.values.iter().all(|values| {
        let (one, other) = (values.at(one), values.at(other));
        one.is_nan() || other.is_nan() || one == other
    })
}
