//! Times and temperatures of the core, and the wet bulb, as the report shows them.

use super::row::Row;
use columns::measures as column;
use report::data::{ProbeFigure, ProbePanel, WetBulb};
use store::Table;
use study::result::summary::Spread;
use study::summary::spread;

/// Why something is not known, in words.
fn in_words(reason: &str) -> String {
    match reason {
        "not-logged" => "not logged",
        "probe-out-at-the-pull" => "the probe came out at the pull",
        "probe-out-before-the-slice" => "the probe came out before the slice",
        "probe-out-after-the-slice" => "the probe came out after the slice",
        "slice-not-known" => "the slice is not known",
        "stayed-hot" => "the core stayed hot to the end of the log",
        other => other,
    }
    .to_owned()
}

pub(super) fn panel(row: Row<'_>) -> ProbePanel {
    let flag = |name: &str| row.flag(name).unwrap_or(false);
    let reason = |name: &str| row.text(name).map(in_words);
    ProbePanel {
        core_4_to_60_c_min: row.float(column::CORE_4_TO_60_C_MIN.name),
        core_4_to_60_c_at_least: flag(column::CORE_4_TO_60_C_CENSORED.name),
        come_up_min: row.float(column::COME_UP_MIN.name),
        come_up_at_least: flag(column::COME_UP_CENSORED.name),
        lethality_log10: row.float(column::LETHALITY_LOG10.name),
        lethality_at_least: flag(column::LETHALITY_CENSORED.name),
        lethality_6_5_log10_min: row.float(column::LETHALITY_6_5_LOG10_MIN.name),
        hold_lowest_core_c: row.float(column::HOLD_LOWEST_CORE_C.name),
        hold_below_57_c_min: row.float(column::HOLD_BELOW_57_C_MIN.name),
        hold_below_60_c_min: row.float(column::HOLD_BELOW_60_C_MIN.name),
        hold_observed_min: row.float(column::HOLD_OBSERVED_MIN.name),
        hold_min: row.float(column::REST_MIN.name),
        hold_reason: reason(column::HOLD_REASON.name),
        cooling_to_21_c_min: row.float(column::COOLING_TO_21_C_MIN.name),
        cooling_to_21_c_at_least: flag(column::COOLING_TO_21_C_CENSORED.name),
        cooling_to_5_c_min: row.float(column::COOLING_TO_5_C_MIN.name),
        cooling_to_5_c_at_least: flag(column::COOLING_TO_5_C_CENSORED.name),
        cooling_reason: reason(column::COOLING_REASON.name),
    }
}

pub(super) fn wet_bulb(row: Row<'_>) -> Option<WetBulb> {
    Some(WetBulb {
        temp_c: row.float(column::PIT_WET_BULB_C.name)?,
        dew_point_c: row.float(column::PIT_DEW_POINT_C.name)?,
        assumed: row.text(column::PIT_DEW_POINT_SOURCE.name) != Some("card"),
        pit_c: row.float(column::PIT_STALL_C.name)?,
        altitude_m: row.float(column::ALTITUDE_M.name),
    })
}

/// The spread of the figures over the cooks.
pub(super) fn rows(measures: &Table) -> Vec<(ProbeFigure, Spread)> {
    [
        (ProbeFigure::CoreInRange, column::CORE_4_TO_60_C_MIN),
        (ProbeFigure::ComeUp, column::COME_UP_MIN),
        (ProbeFigure::Reductions, column::LETHALITY_6_5_LOG10_MIN),
        (ProbeFigure::HoldLowest, column::HOLD_LOWEST_CORE_C),
        (ProbeFigure::HoldBelow60, column::HOLD_BELOW_60_C_MIN),
        (ProbeFigure::HoldBelow57, column::HOLD_BELOW_57_C_MIN),
        (ProbeFigure::CoolingTo21, column::COOLING_TO_21_C_MIN),
        (ProbeFigure::CoolingTo5, column::COOLING_TO_5_C_MIN),
    ]
    .into_iter()
    .filter_map(|(figure, column)| Some((figure, spread(measures, &column)?)))
    .collect()
}
