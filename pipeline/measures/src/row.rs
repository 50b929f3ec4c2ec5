//! The row of measures: its columns, in order, each with unit and meaning.

use crate::column::{Value, columns};

columns! {
    /// The measures of one cook, and what its card says.
    ///
    /// `None` is not stated, not measured or not judged; beside what is judged stands a
    /// column with the reason. Columns that only this team's sheet has follow in
    /// [`MeasureRow::columns`] under their own names.
    struct Named, docs COLUMN_DOCS;
    /// Unique name of the cook.
    cook: String, "";
    /// Season.
    season: String, "";
    /// One lighting of one pit; cooks of one fire are not independent.
    fire: String, "";
    /// Local date of meat-on, ISO 8601.
    date: Option<String>, "";
    /// practice or contest.
    kind: Option<String>, "";
    /// Cut of meat.
    cut: Option<String>, "";
    /// Which pit.
    pit: Option<String>, "";
    /// Type of cooker.
    cooker: Option<String>, "";
    /// Weight as bought.
    raw_weight_kg: Option<f64>, "kg";
    /// Weight as it goes on.
    trimmed_weight_kg: Option<f64>, "kg";
    /// Thickness at the thickest part.
    thickness_mm: Option<f64>, "mm";
    /// Set-point of the pit, from the card.
    pit_setpoint_c: Option<f64>, "°C";
    /// Mean pit temperature from meat-on to clock zero.
    pit_early_c: Option<f64>, "°C";
    /// Mean pit temperature from meat-on to the pull.
    pit_mean_c: Option<f64>, "°C";
    /// Standard deviation of the pit temperature from meat-on to the pull.
    pit_sd_c: Option<f64>, "°C";
    /// What it was wrapped in; none if it was not.
    wrap_method: Option<String>, "";
    /// Core temperature at the first wrap.
    wrap_at_core_c: Option<f64>, "°C";
    /// False where it was wrapped, or may have been, and nobody wrote when.
    wrap_time_known: bool, "";
    /// From clock zero to the first wrap, 0 if it was wrapped before; null if unwrapped while it cooked, or unknown.
    clock_to_wrap_min: Option<f64>, "min";
    /// From clock zero to the finish, or to the last observation before the pull where the finish was not reached.
    clock_to_finish_min: Option<f64>, "min";
    /// Whether the finish was reached; false makes `clock_to_finish_min` a lower bound.
    finish_reached: Option<bool>, "";
    /// Why the cook ended: finish, tender, out-of-time, fire, log-end or unstated.
    end_reason: String, "";
    /// Core temperature at meat-on; null where the log begins later.
    start_core_c: Option<f64>, "°C";
    /// From meat-on to the first stall, or to the pull without one; null where the log ends first.
    ramp_min: Option<f64>, "min";
    /// Reference heating coefficient that stalls are judged against.
    k_ref_per_h: Option<f64>, "1/h";
    /// Whether the reference is borrowed from this team's other cooks of the same cut and pit.
    k_ref_borrowed: Option<bool>, "";
    /// Number of stalls.
    stalls: Option<i64>, "";
    /// Minutes in stalls inside the log, 0 without a stall; null where not judged.
    stall_min: Option<f64>, "min";
    /// Whether the log ends in a stall, which makes `stall_min` a lower bound; null where not judged.
    stall_min_censored: Option<bool>, "";
    /// Lower end of the 90 % interval of the whole cook's minutes in stalls.
    stall_min_lo90: Option<f64>, "min";
    /// Upper end of that interval; null with `stall_min_censored` is an open end.
    stall_min_hi90: Option<f64>, "min";
    /// Core temperature where the first stall begins.
    stall_start_core_c: Option<f64>, "°C";
    /// Core temperature where the last stall ends; null where the log ends in it.
    stall_end_core_c: Option<f64>, "°C";
    /// Minutes from the core's first 60 °C to its first 88 °C beyond those that steady heating at the reference would need.
    stall_delay_min: Option<f64>, "min";
    /// Whether the finish was not reached, which makes `stall_delay_min` a lower bound; null where there is none.
    stall_delay_censored: Option<bool>, "";
    /// Sum of the pushes: from each stall's end to the next stall or the pull; null where the log ends first.
    push_min: Option<f64>, "min";
    /// From meat-on to the pull; a lower bound where `total_min_censored`.
    total_min: Option<f64>, "min";
    /// `total_min` by the weight it went on with (trimmed, else as bought); null where the pull is not known.
    min_per_kg: Option<f64>, "min/kg";
    /// Core temperature at the pull.
    pull_core_c: Option<f64>, "°C";
    /// Highest core after the pull less the core at the pull; null where the probe was taken out or too little was logged.
    carryover_c: Option<f64>, "°C";
    /// From the pull to the slice, or to the log's end where `rest_min_censored`.
    rest_min: Option<f64>, "min";
    /// Weight as it came off by weight as bought; with the weight as served where it was not weighed coming off.
    yield_fraction: Option<f64>, "";
    /// cooked or served: which weight the yield rests on.
    yield_basis: Option<String>, "";
    /// Whether the pull is not known, which makes `total_min` a lower bound.
    total_min_censored: Option<bool>, "";
    /// Whether the slice is not known, which makes `rest_min` a lower bound.
    rest_min_censored: Option<bool>, "";
    /// Why no stall was judged: a short word, or the sentence of what kept the log from being segmented.
    not_judged_reason: Option<String>, "";
    /// Why there is no stall delay: a short word.
    stall_delay_reason: Option<String>, "";
    /// own or borrowed.
    k_ref_source: Option<String>, "";
    /// How many cooks the reference is borrowed from.
    k_ref_cooks: Option<i64>, "";
    /// From meat-on to clock zero, the core's first 55 °C; null where the log does not show it.
    clock_zero_min: Option<f64>, "min";
    /// Standard deviation of the core's reading noise.
    core_noise_sd_c: Option<f64>, "°C";
    /// Core readings used, from meat-on to the pull.
    core_readings: Option<i64>, "";
    /// Spikes removed from core and pit.
    spikes_removed: Option<i64>, "";
    /// Dips of the core that were bridged.
    dips_bridged: Option<i64>, "";
    /// Gaps of core and pit too long to judge across.
    gaps: Option<i64>, "";
    /// Where meat-on comes from: card, events, log or log-start (the log's first reading).
    meat_on_source: Option<String>, "";
    /// Where the pull comes from: card, events, log or log-end (not known).
    pull_source: Option<String>, "";
    /// Meat on, ms since 1970 UTC.
    meat_on_ms: Option<i64>, "ms";
    /// The meat channel taken as the core.
    lead_channel: Option<String>, "";
    /// Minutes from meat-on to the pull that the core was at 4.4 to 60 °C (40 to 140 °F), long gaps bridged by a straight line.
    core_4_to_60_c_min: Option<f64>, "min";
    /// Whether the log begins late or ends inside that range, which makes `core_4_to_60_c_min` a lower bound.
    core_4_to_60_c_censored: Option<bool>, "";
    /// Come-up time: from the core's first 10 °C (50 °F) to its first 54.4 °C (130 °F).
    come_up_min: Option<f64>, "min";
    /// Whether the core was above 10 °C from the start or never reached 54.4 °C, which makes `come_up_min` a lower bound.
    come_up_censored: Option<bool>, "";
    /// Decimal reductions of Salmonella that the core's heat up to the pull adds up to by the law fitted to FSIS Appendix A (1999): nothing counts below 54.4 °C (130 °F), above 69.4 °C (157 °F) the heat counts as there.
    lethality_log10: Option<f64>, "";
    /// Whether the log misses some of the time to the pull, which makes `lethality_log10` a lower bound.
    lethality_censored: Option<bool>, "";
    /// From meat-on to where that sum reaches the table's 6.5; null where it does not.
    lethality_6_5_log10_min: Option<f64>, "min";
    /// Lowest core from the pull to the slice, or to the log's end, as far as the probe was in the meat.
    hold_lowest_core_c: Option<f64>, "°C";
    /// Minutes of that time with the core below 57.2 °C (135 °F).
    hold_below_57_c_min: Option<f64>, "min";
    /// Minutes of that time with the core below 60 °C (140 °F).
    hold_below_60_c_min: Option<f64>, "min";
    /// Minutes of that time that were logged with the probe in the meat.
    hold_observed_min: Option<f64>, "min";
    /// Why the hold is not known, or not to its end: not-logged, probe-out-at-the-pull or probe-out-before-the-slice.
    hold_reason: Option<String>, "";
    /// From the core's 57.2 °C (135 °F) after the pull to its 21.1 °C (70 °F).
    cooling_to_21_c_min: Option<f64>, "min";
    /// Whether the log ends first, which makes it a lower bound.
    cooling_to_21_c_censored: Option<bool>, "";
    /// From the core's 57.2 °C (135 °F) after the pull to its 5 °C (41 °F).
    cooling_to_5_c_min: Option<f64>, "min";
    /// Whether the log ends first, which makes it a lower bound.
    cooling_to_5_c_censored: Option<bool>, "";
    /// Why the cooling is not known: slice-not-known, not-logged, stayed-hot, or when the probe came out.
    cooling_reason: Option<String>, "";
    /// Dew point of the pit's air.
    pit_dew_point_c: Option<f64>, "°C";
    /// card or assumed (`season.toml`): where the dew point comes from.
    pit_dew_point_source: Option<String>, "";
    /// Mean pit temperature in the stalls, or to the pull where there is none.
    pit_stall_c: Option<f64>, "°C";
    /// Thermodynamic wet bulb of air of that temperature and dew point, at the altitude's standard pressure (sea level where none is given).
    pit_wet_bulb_c: Option<f64>, "°C";
    /// Which contest.
    contest: Option<String>, "";
    /// Turn-in time, ms since 1970 UTC.
    turn_in_ms: Option<i64>, "ms";
    /// Planned pull, ms since 1970 UTC.
    planned_pull_ms: Option<i64>, "ms";
    /// Where it was cooked.
    place: Option<String>, "";
    /// Quality grade.
    grade: Option<String>, "";
    /// Supplier.
    supplier: Option<String>, "";
    /// Lot.
    lot: Option<String>, "";
    /// Cost of the meat, in the season's currency.
    cost: Option<f64>, "";
    /// Weight as it came off.
    cooked_weight_kg: Option<f64>, "kg";
    /// Weight as served.
    served_weight_kg: Option<f64>, "kg";
    /// Correction added to every meat reading.
    meat_offset_c: Option<f64>, "°C";
    /// Correction added to every pit reading.
    pit_offset_c: Option<f64>, "°C";
    /// What the meat probe read in melting ice.
    meat_ice_c: Option<f64>, "°C";
    /// What the meat probe read in boiling water.
    meat_boiling_c: Option<f64>, "°C";
    /// What the pit probe read in melting ice.
    pit_ice_c: Option<f64>, "°C";
    /// What the pit probe read in boiling water.
    pit_boiling_c: Option<f64>, "°C";
    /// Wood.
    wood: Option<String>, "";
    /// Fuel burnt.
    fuel_kg: Option<f64>, "kg";
    /// Whether a water pan was in the pit.
    water_pan: Option<bool>, "";
    /// Altitude of the place.
    altitude_m: Option<f64>, "m";
    /// Weather in words.
    weather: Option<String>, "";
    /// How it was held.
    hold_kind: Option<String>, "";
    /// Core temperature at which it was to be pulled.
    target_core_c: Option<f64>, "°C";
    /// Whether the last probe test found it tender.
    last_probe_test_tender: Option<bool>, "";
    /// Probe tests that say what was felt.
    probe_tests: Option<i64>, "";
    /// Core temperature at the last probe test that found it not tender; null where the first found it tender.
    tender_above_c: Option<f64>, "°C";
    /// Core temperature at the first probe test after it that found it tender; null where none did.
    tender_by_c: Option<f64>, "°C";
    /// Why neither is known: no-probe-test, not-segmented, core-not-known or core-fell-between.
    tender_reason: Option<String>, "";
    /// Arm of a randomised trial.
    arm: Option<String>, "";
    /// Block of a randomised trial.
    block: Option<String>, "";
    /// Why the cook is left out of the analysis; null where it is not.
    exclude: Option<String>, "";
}

/// The measures of one cook, what its card says, and the team's own columns.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MeasureRow {
    /// The columns with names known to everyone.
    pub named: Named,
    /// Scores by column name.
    pub scores: Vec<(String, f64)>,
    /// The sheet's other columns, as written.
    pub extra: Vec<(String, String)>,
}

impl std::ops::Deref for MeasureRow {
    type Target = Named;

    fn deref(&self) -> &Named {
        &self.named
    }
}

impl MeasureRow {
    /// Every column in a stable order: those of [`COLUMN_DOCS`], then the scores, then the
    /// sheet's other columns. A column of the sheet that has a name of [`COLUMN_DOCS`] comes
    /// under `sheet_` and its name; an empty cell is null.
    pub fn columns(&self) -> Vec<(String, Value)> {
        let mut columns: Vec<(String, Value)> =
            self.named.cells().into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
        for (name, score) in &self.scores {
            let value = if score.is_finite() { Value::Float(*score) } else { Value::Null };
            columns.push((own_name(name), value));
        }
        for (name, text) in &self.extra {
            let value =
                if text.trim().is_empty() { Value::Null } else { Value::Text(text.clone()) };
            columns.push((own_name(name), value));
        }
        columns
    }
}

fn own_name(name: &str) -> String {
    if COLUMN_DOCS.iter().any(|doc| doc.name == name) {
        format!("sheet_{name}")
    } else {
        name.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ColumnKind;

    /// The principal columns of the measure table, in the order that its readers know.
    const PRINCIPAL: &str = "cook, season, fire, date, kind, cut, pit, cooker, raw_weight_kg, \
        trimmed_weight_kg, thickness_mm, pit_setpoint_c, pit_early_c, pit_mean_c, pit_sd_c, \
        wrap_method, wrap_at_core_c, wrap_time_known, clock_to_wrap_min, clock_to_finish_min, \
        finish_reached, end_reason, start_core_c, ramp_min, k_ref_per_h, k_ref_borrowed, stalls, \
        stall_min, stall_min_censored, stall_min_lo90, stall_min_hi90, stall_start_core_c, \
        stall_end_core_c, stall_delay_min, stall_delay_censored, push_min, total_min, min_per_kg, \
        pull_core_c, carryover_c, rest_min, yield_fraction";

    #[test]
    fn the_principal_columns_come_first_and_in_order() {
        let principal: Vec<&str> = PRINCIPAL.split(", ").map(str::trim).collect();
        let names: Vec<&str> = COLUMN_DOCS.iter().map(|doc| doc.name).collect();
        assert_eq!(names[..principal.len()], principal);
    }

    #[test]
    fn columns_and_docs_agree_and_every_column_has_a_meaning() {
        let row = MeasureRow {
            named: Named { cook: "a".into(), stall_min: Some(f64::NAN), ..Named::default() },
            scores: vec![("score_taste".into(), 8.5)],
            extra: vec![("rub".into(), "dry".into()), ("gaps".into(), " ".into())],
        };
        let columns = row.columns();
        assert_eq!(columns.len(), COLUMN_DOCS.len() + 3);
        for (doc, (name, value)) in COLUMN_DOCS.iter().zip(&columns) {
            assert_eq!(doc.name, name);
            assert!(doc.meaning.len() > 3 && doc.meaning.ends_with('.'), "{name}");
            let fits = match value {
                Value::Null => true,
                Value::Bool(_) => doc.kind == ColumnKind::Bool,
                Value::Int(_) => doc.kind == ColumnKind::Int,
                Value::Float(_) => doc.kind == ColumnKind::Float,
                Value::Text(_) => doc.kind == ColumnKind::Text,
            };
            assert!(fits, "{name}: {value:?} is no {:?}", doc.kind);
        }
        let own = &columns[COLUMN_DOCS.len()..];
        assert_eq!(own[0], ("score_taste".into(), Value::Float(8.5)));
        assert_eq!(own[1], ("rub".into(), Value::Text("dry".into())));
        assert_eq!(own[2], ("sheet_gaps".into(), Value::Null));
        let mut names: Vec<&String> = columns.iter().map(|column| &column.0).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), columns.len());
    }

    #[test]
    fn a_unit_in_a_name_is_the_unit_of_the_column() {
        for (suffix, unit) in [
            ("_min", "min"),
            ("_c", "°C"),
            ("_kg", "kg"),
            ("_mm", "mm"),
            ("_per_h", "1/h"),
            ("_ms", "ms"),
        ] {
            let wrong = COLUMN_DOCS.iter().find(|doc| {
                doc.name.ends_with(suffix) && doc.unit != unit && !doc.name.starts_with("min_per")
            });
            assert_eq!(wrong, None);
        }
    }
}
