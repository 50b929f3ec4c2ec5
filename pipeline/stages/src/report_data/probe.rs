//! Times and temperatures of the core, and the wet bulb, as the report shows them.

use super::row::Row;
use super::study::summary_row;
use report::data::{ProbeFigure, ProbePanel, SummaryRow, WetBulb};
use store::Table;

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
        core_4_to_60_c_min: row.float("core_4_to_60_c_min"),
        core_4_to_60_c_at_least: flag("core_4_to_60_c_censored"),
        come_up_min: row.float("come_up_min"),
        come_up_at_least: flag("come_up_censored"),
        lethality_log10: row.float("lethality_log10"),
        lethality_at_least: flag("lethality_censored"),
        lethality_6_5_log10_min: row.float("lethality_6_5_log10_min"),
        hold_lowest_core_c: row.float("hold_lowest_core_c"),
        hold_below_57_c_min: row.float("hold_below_57_c_min"),
        hold_below_60_c_min: row.float("hold_below_60_c_min"),
        hold_observed_min: row.float("hold_observed_min"),
        hold_min: row.float("rest_min"),
        hold_reason: reason("hold_reason"),
        cooling_to_21_c_min: row.float("cooling_to_21_c_min"),
        cooling_to_21_c_at_least: flag("cooling_to_21_c_censored"),
        cooling_to_5_c_min: row.float("cooling_to_5_c_min"),
        cooling_to_5_c_at_least: flag("cooling_to_5_c_censored"),
        cooling_reason: reason("cooling_reason"),
    }
}

pub(super) fn wet_bulb(row: Row<'_>) -> Option<WetBulb> {
    Some(WetBulb {
        temp_c: row.float("pit_wet_bulb_c")?,
        dew_point_c: row.float("pit_dew_point_c")?,
        assumed: row.text("pit_dew_point_source") != Some("card"),
        pit_c: row.float("pit_stall_c")?,
        altitude_m: row.float("altitude_m"),
    })
}

/// The spread of the figures over the cooks.
pub(super) fn rows(measures: &Table) -> Vec<(ProbeFigure, SummaryRow)> {
    [
        (ProbeFigure::CoreInRange, "core_4_to_60_c_min", Some("core_4_to_60_c_censored")),
        (ProbeFigure::ComeUp, "come_up_min", Some("come_up_censored")),
        (ProbeFigure::Reductions, "lethality_6_5_log10_min", None),
        (ProbeFigure::HoldLowest, "hold_lowest_core_c", None),
        (ProbeFigure::HoldBelow60, "hold_below_60_c_min", None),
        (ProbeFigure::HoldBelow57, "hold_below_57_c_min", None),
        (ProbeFigure::CoolingTo21, "cooling_to_21_c_min", Some("cooling_to_21_c_censored")),
        (ProbeFigure::CoolingTo5, "cooling_to_5_c_min", Some("cooling_to_5_c_censored")),
    ]
    .into_iter()
    .filter_map(|(figure, column, flag)| Some((figure, summary_row(measures, column, flag)?)))
    .collect()
}
