//! The constants of the phase definition: one struct, settable in `season.toml`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Every constant of the phase definition, of the study clock and of stall delay.
///
/// The definition, in words. The *core* is the lead meat channel, the *pit* the pit
/// channel, both cleaned and in °C. The *heating rate* is the least-squares slope of the
/// core over a window of ± `slope_half_window_s`. The *lagged pit* follows the pit by a
/// first-order lag of `pit_lag_min`, since a thick cut answers its pit that late. The
/// *heating coefficient* k is the rate divided by (lagged pit − core), never by less than
/// `minimum_gap_c`. Its reference is the `reference_quantile` of k on the way from
/// `reference_from_c` to `reference_to_c`. The meat is *in stall* where k is below
/// `stall_fraction` of the reference, looked for from the first core sample at
/// `stall_from_c` to the first at `stall_until_c`. Runs at most `join_gap_s` apart are
/// joined and kept if they hold at least `minimum_stall_s` of stall samples.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct PhaseDefinition {
    /// Step of the grid that curves are judged on, s.
    pub grid_step_s: f64,
    /// Half width of the slope window, s.
    pub slope_half_window_s: f64,
    /// Time constant of the lagged pit, min.
    pub pit_lag_min: f64,
    /// Smallest driving difference that k is divided by, and that a sample is decided on, °C.
    pub minimum_gap_c: f64,
    /// Largest difference between pit and lagged pit that a sample is decided on, °C.
    pub maximum_pit_change_c: f64,
    /// Core at which the reference span begins, °C.
    pub reference_from_c: f64,
    /// Core at which the reference span ends, °C.
    pub reference_to_c: f64,
    /// Quantile of k over the reference span.
    pub reference_quantile: f64,
    /// The core must have been seen below this for a reference of its own, °C.
    pub reference_first_sample_below_c: f64,
    /// Share of the reference below which the meat is in stall.
    pub stall_fraction: f64,
    /// Core from which stalls are looked for; also zero of the study clock, °C.
    pub stall_from_c: f64,
    /// Core at which stalls are looked for no more, °C.
    pub stall_until_c: f64,
    /// Runs at most this far apart are joined, s.
    pub join_gap_s: f64,
    /// Least stall samples in a kept run, s.
    pub minimum_stall_s: f64,
    /// Core at which stall delay begins to count, °C.
    pub delay_from_c: f64,
    /// Core at which stall delay ends; also the finish of the study clock, °C.
    pub finish_c: f64,
    /// Stall delay is not judged where the model needs longer than this, h.
    pub delay_model_limit_h: f64,
}

impl Default for PhaseDefinition {
    fn default() -> Self {
        Self {
            grid_step_s: 10.0,
            slope_half_window_s: 600.0,
            pit_lag_min: 25.0,
            minimum_gap_c: 15.0,
            maximum_pit_change_c: 12.0,
            reference_from_c: 35.0,
            reference_to_c: 60.0,
            reference_quantile: 0.75,
            reference_first_sample_below_c: 40.0,
            stall_fraction: 0.40,
            stall_from_c: 55.0,
            stall_until_c: 90.0,
            join_gap_s: 900.0,
            minimum_stall_s: 1200.0,
            delay_from_c: 60.0,
            finish_c: 88.0,
            delay_model_limit_h: 48.0,
        }
    }
}

impl PhaseDefinition {
    /// Says what is wrong with the constants, if anything: which key and why.
    pub fn problem(&self) -> Option<String> {
        // Wide enough for any cook, narrow enough that a slip of the unit or of the comma is noticed.
        const CORE_C: [f64; 2] = [-20.0, 150.0];
        let bounds = [
            ("grid_step_s", self.grid_step_s, [1.0, 600.0]),
            ("slope_half_window_s", self.slope_half_window_s, [1.0, 7_200.0]),
            ("pit_lag_min", self.pit_lag_min, [0.1, 600.0]),
            ("minimum_gap_c", self.minimum_gap_c, [0.1, 100.0]),
            ("maximum_pit_change_c", self.maximum_pit_change_c, [0.1, 200.0]),
            ("reference_from_c", self.reference_from_c, CORE_C),
            ("reference_to_c", self.reference_to_c, CORE_C),
            ("reference_quantile", self.reference_quantile, [0.0, 1.0]),
            ("reference_first_sample_below_c", self.reference_first_sample_below_c, CORE_C),
            ("stall_fraction", self.stall_fraction, [0.01, 2.0]),
            ("stall_from_c", self.stall_from_c, CORE_C),
            ("stall_until_c", self.stall_until_c, CORE_C),
            ("join_gap_s", self.join_gap_s, [0.0, 86_400.0]),
            ("minimum_stall_s", self.minimum_stall_s, [1.0, 86_400.0]),
            ("delay_from_c", self.delay_from_c, CORE_C),
            ("finish_c", self.finish_c, CORE_C),
            ("delay_model_limit_h", self.delay_model_limit_h, [1.0, 240.0]),
        ];
        // NaN lies in no range.
        let outside =
            bounds.iter().find(|(_, value, [least, most])| !(*least..=*most).contains(value));
        if let Some((key, value, [least, most])) = outside {
            return Some(format!("`{key} = {value}` must lie between {least} and {most}"));
        }
        if self.grid_step_s > self.slope_half_window_s {
            return Some("`grid_step_s` must not exceed `slope_half_window_s`".into());
        }
        let rising = [
            ("reference_from_c", self.reference_from_c, "reference_to_c", self.reference_to_c),
            ("stall_from_c", self.stall_from_c, "stall_until_c", self.stall_until_c),
            ("delay_from_c", self.delay_from_c, "finish_c", self.finish_c),
        ];
        rising.iter().find(|(_, low, _, high)| low >= high).map(|(low_key, low, high_key, high)| {
            format!("`{low_key}` ({low}) must be below `{high_key}` ({high})")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_has_no_problem_and_nonsense_is_named() {
        assert_eq!(PhaseDefinition::default().problem(), None);
        let mut bad = PhaseDefinition { stall_fraction: 0.0, ..Default::default() };
        assert!(bad.problem().unwrap().contains("stall_fraction"));
        bad = PhaseDefinition { stall_until_c: 50.0, ..Default::default() };
        assert!(bad.problem().unwrap().contains("stall_until_c"));
        bad = PhaseDefinition { finish_c: f64::NAN, ..Default::default() };
        assert!(bad.problem().unwrap().contains("finish_c"));
        bad = PhaseDefinition { join_gap_s: f64::INFINITY, ..Default::default() };
        assert_eq!(bad.problem().unwrap(), "`join_gap_s = inf` must lie between 0 and 86400");
    }
}
