//! Heating rate, lagged pit and heating coefficient on a regular grid.

use cook::PhaseDefinition;

/// Milliseconds in an hour.
const MS_PER_HOUR: f64 = 3_600_000.0;

/// Curves on a regular grid, both in °C and of one length.
///
/// A value that is not finite means "nothing observed here" (a long gap of the log): such
/// a sample is undecidable and gives no slope, and the instants at which the core reaches
/// a temperature are taken on the straight line across the gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridCurves<'a> {
    /// Instant of the first sample, ms UTC.
    pub start_ms: i64,
    /// Step of the grid, ms.
    pub step_ms: i64,
    /// Core temperature, °C.
    pub core_c: &'a [f64],
    /// Pit temperature, °C.
    pub pit_c: &'a [f64],
}

/// The heating curves over the samples in `[meat_on, pull)`: columns of one length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeatingCurves {
    /// Instant of the first sample, ms UTC.
    pub start_ms: i64,
    /// Step of the grid, ms.
    pub step_ms: i64,
    /// Core temperature, °C; unobserved samples are filled by the straight line between
    /// their neighbours.
    pub core_c: Vec<f64>,
    /// Pit temperature, °C; unobserved samples are filled likewise.
    pub pit_c: Vec<f64>,
    /// Whether both core and pit were observed.
    pub observed: Vec<bool>,
    /// Heating rate, °C/h; not a number where no slope can be formed.
    pub rate_c_per_h: Vec<f64>,
    /// Lagged pit, °C.
    pub lagged_pit_c: Vec<f64>,
    /// Heating coefficient, 1/h; not a number where there is no rate.
    pub k_per_h: Vec<f64>,
    /// Whether the sample is decided on its own (and not held from the last that is).
    pub decidable: Vec<bool>,
    /// Whether the sample lies inside a stall, after joining and the minimum length.
    pub in_stall: Vec<bool>,
}

impl HeatingCurves {
    /// Number of samples.
    pub fn len(&self) -> usize {
        self.core_c.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.core_c.is_empty()
    }

    /// Instant of sample `index`, ms UTC.
    pub fn at_ms(&self, index: usize) -> i64 {
        self.start_ms + index as i64 * self.step_ms
    }

    /// The sample at or before `at_ms`, if the curves cover it.
    pub fn index_at(&self, at_ms: i64) -> Option<usize> {
        let index =
            usize::try_from((at_ms - self.start_ms).div_euclid(self.step_ms.max(1))).ok()?;
        (index < self.len()).then_some(index)
    }

    /// The first sample whose core is at or above `temp_c`.
    pub fn first_index_at(&self, temp_c: f64) -> Option<usize> {
        self.core_c.iter().position(|&core| core >= temp_c)
    }

    /// The first instant, ms UTC, at which the core is at or above `temp_c`.
    pub fn first_reaches_ms(&self, temp_c: f64) -> Option<i64> {
        self.first_index_at(temp_c).map(|index| self.at_ms(index))
    }

    /// Computes rate, lagged pit and coefficient; no sample is in stall yet.
    ///
    /// `start_ms` is the instant of the first sample. Costs O(n): the slope is kept in
    /// running sums.
    pub(crate) fn compute(
        start_ms: i64,
        step_ms: i64,
        core: &[f64],
        pit: &[f64],
        definition: &PhaseDefinition,
    ) -> Self {
        let observed: Vec<bool> =
            core.iter().zip(pit).map(|(t, p)| t.is_finite() && p.is_finite()).collect();
        let core_c = filled(core);
        let pit_c = filled(pit);
        let half = (definition.slope_half_window_s * 1000.0 / step_ms as f64).round() as usize;
        let rate_c_per_h = slopes(core, half, step_ms as f64 / MS_PER_HOUR);
        let lagged_pit_c = lagged(&pit_c, step_ms, definition.pit_lag_min);
        let mut k_per_h = Vec::with_capacity(core.len());
        let mut decidable = Vec::with_capacity(core.len());
        for index in 0..core.len() {
            let gap = lagged_pit_c[index] - core_c[index];
            let k = rate_c_per_h[index] / gap.max(definition.minimum_gap_c);
            k_per_h.push(k);
            decidable.push(
                observed[index]
                    && k.is_finite()
                    && gap > definition.minimum_gap_c
                    && (pit_c[index] - lagged_pit_c[index]).abs()
                        <= definition.maximum_pit_change_c,
            );
        }
        let in_stall = vec![false; core.len()];
        Self {
            start_ms,
            step_ms,
            core_c,
            pit_c,
            observed,
            rate_c_per_h,
            lagged_pit_c,
            k_per_h,
            decidable,
            in_stall,
        }
    }
}

/// The values with unobserved stretches on the straight line between their neighbours, and
/// level beyond the first and last observed one.
fn filled(values: &[f64]) -> Vec<f64> {
    let mut out = values.to_vec();
    let mut last: Option<usize> = None;
    for index in 0..=out.len() {
        if index < out.len() && !out[index].is_finite() {
            continue;
        }
        let gap_start = last.map_or(0, |seen| seen + 1);
        if index > gap_start {
            let after = out.get(index).copied();
            let before = last.map(|seen| out[seen]);
            for (offset, slot) in out[gap_start..index].iter_mut().enumerate() {
                *slot = match (before, after) {
                    (Some(b), Some(a)) => {
                        let share = (offset + 1) as f64 / (index - gap_start + 1) as f64;
                        b + share * (a - b)
                    }
                    (Some(only), None) | (None, Some(only)) => only,
                    (None, None) => f64::NAN,
                };
            }
        }
        last = Some(index);
    }
    out
}

/// Least-squares slope over ± `half` samples, cut at both ends, per `step` (in hours);
/// values that are not finite take no part.
///
/// With sample numbers x and values y the slope is Σ(x−x̄)(y−ȳ)/Σ(x−x̄)², formed from
/// running sums over the window. Sums are kept about the window's first sample and
/// temperature offset so that they stay small, and are formed anew every 4096 samples, so
/// that rounding cannot pile up.
fn slopes(values: &[f64], half: usize, step: f64) -> Vec<f64> {
    const RENEW_EVERY: usize = 4096;
    let mut out = Vec::with_capacity(values.len());
    let mut sums = Sums::default();
    let (mut low, mut high) = (0, 0);
    for index in 0..values.len() {
        let want_low = index.saturating_sub(half);
        let want_high = (index + half + 1).min(values.len());
        if index % RENEW_EVERY == 0 {
            sums = Sums {
                x0: want_low as f64,
                y0: values[want_low..want_high]
                    .iter()
                    .copied()
                    .find(|v| v.is_finite())
                    .unwrap_or(0.0),
                ..Sums::default()
            };
            (low, high) = (want_low, want_low);
        }
        while high < want_high {
            sums.change(high, values[high], 1.0);
            high += 1;
        }
        while low < want_low {
            sums.change(low, values[low], -1.0);
            low += 1;
        }
        out.push(sums.slope() / step);
    }
    out
}

/// Running sums of a slope window about an origin.
#[derive(Default)]
struct Sums {
    x0: f64,
    y0: f64,
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
}

impl Sums {
    fn change(&mut self, index: usize, value: f64, sign: f64) {
        if !value.is_finite() {
            return;
        }
        let x = index as f64 - self.x0;
        let y = value - self.y0;
        self.n += sign;
        self.x += sign * x;
        self.y += sign * y;
        self.xx += sign * x * x;
        self.xy += sign * x * y;
    }

    fn slope(&self) -> f64 {
        if self.n < 2.0 {
            return f64::NAN;
        }
        (self.n * self.xy - self.x * self.y) / (self.n * self.xx - self.x * self.x)
    }
}

/// The pit behind a first-order lag: L₀ = P₀, L += (1 − exp(−step/lag))·(P − L), the exact
/// solution for a pit that is level over each step.
fn lagged(pit: &[f64], step_ms: i64, lag_min: f64) -> Vec<f64> {
    let gain = 1.0 - (-(step_ms as f64) / (lag_min * 60_000.0)).exp();
    let mut level = pit.first().copied().unwrap_or(f64::NAN);
    let mut out = Vec::with_capacity(pit.len());
    for (index, &value) in pit.iter().enumerate() {
        if index > 0 {
            level += gain * (value - level);
        }
        out.push(level);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The slope from its definition, window by window.
    fn slope_by_definition(values: &[f64], index: usize, half: usize) -> f64 {
        let low = index.saturating_sub(half);
        let high = (index + half + 1).min(values.len());
        let points: Vec<(f64, f64)> = (low..high)
            .filter(|&i| values[i].is_finite())
            .map(|i| (i as f64 - index as f64, values[i]))
            .collect();
        let n = points.len() as f64;
        let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
        let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
        let cross: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
        let square: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
        cross / square
    }

    #[test]
    fn a_straight_line_has_its_slope_everywhere() {
        let line: Vec<f64> = (0..10_000).map(|i| 20.0 + 0.01 * f64::from(i)).collect();
        for slope in slopes(&line, 60, 1.0 / 360.0) {
            assert!((slope - 3.6).abs() < 1e-9, "{slope}");
        }
    }

    #[test]
    fn the_lag_answers_a_step_by_its_exponential() {
        let mut pit = vec![100.0; 1];
        pit.extend([150.0; 150]);
        let level = lagged(&pit, 10_000, 25.0);
        // 150 steps of 10 s are one time constant of 25 min: 1 - 1/e of the step is answered.
        assert!((level[150] - (100.0 + 50.0 * (1.0 - (-1.0_f64).exp()))).abs() < 1e-9);
    }

    #[test]
    fn gaps_are_filled_straight_and_level_at_the_ends() {
        let nan = f64::NAN;
        assert_eq!(filled(&[nan, 1.0, nan, nan, 4.0, nan]), [1.0, 1.0, 2.0, 3.0, 4.0, 4.0]);
        assert!(filled(&[nan]).iter().all(|v| v.is_nan()));
    }

    proptest! {
        #[test]
        fn running_sums_equal_the_definition(
            values in prop::collection::vec(prop_oneof![9 => 0.0..100.0, 1 => Just(f64::NAN)], 3..400),
            half in 1_usize..80,
        ) {
            let running = slopes(&values, half, 1.0);
            for (index, slope) in running.iter().enumerate() {
                let direct = slope_by_definition(&values, index, half);
                if direct.is_nan() {
                    prop_assert!(slope.is_nan());
                } else {
                    prop_assert!((slope - direct).abs() < 1e-7 * (1.0 + direct.abs()), "{slope} {direct}");
                }
            }
        }
    }
}
