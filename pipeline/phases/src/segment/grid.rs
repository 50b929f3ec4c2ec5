//! The regular grid that one cook is judged on.

use crate::definition::CookBounds;
use crate::samples::{OwnedSamples, Samples};
use crate::segment::LATE_AFTER_MS;

/// The estimate is not carried further than this past the last core reading, ms (2 min).
const PAST_LAST_MS: i64 = 120_000;

/// From meat-on (or a late log's first reading) to the pull, or to where the readings end.
#[derive(Debug)]
#[allow(clippy::struct_field_names, reason = "the unit belongs in the name")]
pub(super) struct Grid {
    pub(super) start_ms: i64,
    end_ms: i64,
    pub(super) step_ms: i64,
    meat_on_ms: i64,
    first_ms: i64,
}

impl Grid {
    pub(super) fn new(core: &OwnedSamples, bounds: &CookBounds, step_s: f64) -> Self {
        let first_ms = core.at_ms.first().copied().unwrap_or(bounds.meat_on_ms);
        let last_ms = core.at_ms.last().copied().unwrap_or(bounds.pull_ms);
        let late = first_ms - bounds.meat_on_ms > LATE_AFTER_MS;
        let start_ms = if late { first_ms } else { bounds.meat_on_ms };
        let step_ms = ((step_s * 1000.0).round() as i64).max(1);
        let end_ms = bounds.pull_ms.min(last_ms + PAST_LAST_MS);
        Self { start_ms, end_ms, step_ms, meat_on_ms: bounds.meat_on_ms, first_ms }
    }

    /// Seconds since meat-on.
    pub(super) fn seconds(&self, at_ms: i64) -> f64 {
        (at_ms - self.meat_on_ms) as f64 / 1000.0
    }

    /// First and last instant, s since meat-on.
    pub(super) fn span(&self) -> (f64, f64) {
        (self.seconds(self.start_ms), self.seconds(self.end_ms.max(self.start_ms + 1)))
    }

    fn instants(&self, step_ms: i64) -> impl Iterator<Item = i64> {
        (self.start_ms..self.end_ms).step_by(usize::try_from(step_ms).unwrap_or(1))
    }

    /// The grid's instants, s since meat-on. Before the first reading the core is held level.
    pub(super) fn times(&self, step_ms: i64) -> Vec<f64> {
        self.instants(step_ms).map(|at_ms| self.seconds(at_ms.max(self.first_ms))).collect()
    }

    /// Readings on the grid, on the straight line between them; not a number where there is none.
    pub(super) fn pit(&self, step_ms: i64, pit: Samples<'_>) -> Vec<f64> {
        let mut after = 0;
        self.instants(step_ms)
            .map(|at| {
                while after < pit.len() && pit.at_ms[after] < at {
                    after += 1;
                }
                let near = after.saturating_sub(1)..(after + 1).min(pit.len());
                let near = Samples { at_ms: &pit.at_ms[near.clone()], temp_c: &pit.temp_c[near] };
                near.at(at).unwrap_or(f64::NAN)
            })
            .collect()
    }

    /// Makes values inside spans (ms UTC) "not observed".
    pub(super) fn hide(&self, step_ms: i64, values: &mut [f64], spans: &[(i64, i64)]) {
        for &(start, end) in spans {
            let at = |ms: i64| {
                let steps = ((ms - self.start_ms).max(0) + step_ms - 1) / step_ms;
                usize::try_from(steps).unwrap_or(0).min(values.len())
            };
            let (from, until) = (at(start + 1), at(end));
            values[from..until.max(from)].fill(f64::NAN);
        }
    }
}
