//! The measures: one row a cook, in order, what its card says among them.
//!
//! To add one, add its entry here and its computation in the room `measures`.

use crate::Quantity::{
    self, Count, Fraction, HeatingCoefficient, Minutes, MinutesPerMass, Plain, Temperature,
    TemperatureDifference,
};
use crate::Shown::{CookPage, Probe};
use crate::describe::{number, plain, row};
use crate::{Description, card};

/// Milliseconds since 1970 UTC.
const EPOCH_MS: Quantity = Plain { unit: "ms", decimals: 0 };

row! {
    /// The measures of one cook, and what its card says.
    ///
    /// `None` is not stated, not measured or not judged; beside what is judged stands a
    /// column with the reason.
    struct Measures;
    COOK cook: String = card::COOK.column;
    SEASON season: String = card::SEASON.column;
    FIRE fire: String = card::FIRE.column;
    DATE date: Option<String> = card::DATE.column;
    KIND kind: Option<String> = card::KIND.column;
    CUT cut: Option<String> = card::CUT.column;
    PIT pit: Option<String> = card::PIT.column;
    COOKER cooker: Option<String> = card::COOKER.column;
    RAW_WEIGHT_KG raw_weight_kg: Option<f64> =
        card::RAW_WEIGHT_KG.column.shown(&[CookPage]);
    TRIMMED_WEIGHT_KG trimmed_weight_kg: Option<f64> =
        card::TRIMMED_WEIGHT_KG.column.shown(&[CookPage]);
    THICKNESS_MM thickness_mm: Option<f64> =
        card::THICKNESS_MM.column.shown(&[CookPage]);
    PIT_SETPOINT_C pit_setpoint_c: Option<f64> =
        card::PIT_SETPOINT_C.column.shown(&[CookPage]);
    PIT_EARLY_C pit_early_c: Option<f64> = number(Temperature, "Early pit temperature",
        "Mean pit temperature from meat-on to clock zero.")
        .shown(&[CookPage]);
    PIT_MEAN_C pit_mean_c: Option<f64> = number(Temperature, "Mean pit temperature",
        "Mean pit temperature from meat-on to the pull.")
        .shown(&[CookPage]);
    PIT_SD_C pit_sd_c: Option<f64> = number(TemperatureDifference, "Pit unsteadiness",
        "Standard deviation of the pit temperature from meat-on to the pull.")
        .shown(&[CookPage]);
    WRAP_METHOD wrap_method: Option<String> =
        card::WRAP_METHOD.column.shown(&[CookPage]);
    WRAP_AT_CORE_C wrap_at_core_c: Option<f64> = number(Temperature, "Core at the wrap",
        "Core temperature at the first wrap.")
        .shown(&[CookPage]);
    WRAP_TIME_KNOWN wrap_time_known: bool = plain("Time of the wrap known",
        "False where it was wrapped, or may have been, and nobody wrote when.");
    CLOCK_TO_WRAP_MIN clock_to_wrap_min: Option<f64> = number(Minutes, "Time to wrap",
        "From clock zero to the first wrap, 0 if it was wrapped before; null if unwrapped while it cooked, or unknown.")
        .shown(&[CookPage]);
    CLOCK_TO_FINISH_MIN clock_to_finish_min: Option<f64> = number(Minutes, "Time to finish",
        "From clock zero to the finish, or to the last observation before the pull where the finish was not reached.")
        .bound(FINISH_REACHED, false).shown(&[CookPage]);
    FINISH_REACHED finish_reached: Option<bool> = plain("Finish reached",
        "Whether the finish was reached; false makes `clock_to_finish_min` a lower bound.");
    END_REASON end_reason: String = plain("Why it ended",
        "Why the cook ended: finish, tender, out-of-time, fire, log-end or unstated.")
        .shown(&[CookPage]);
    START_CORE_C start_core_c: Option<f64> = number(Temperature, "Core at the start",
        "Core temperature at meat-on; null where the log begins later.")
        .shown(&[CookPage]);
    RAMP_MIN ramp_min: Option<f64> = number(Minutes, "Ramp",
        "From meat-on to the first stall, or to the pull without one; null where the log ends first.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    K_REF_PER_H k_ref_per_h: Option<f64> = number(HeatingCoefficient, "Reference heating coefficient",
        "Reference heating coefficient that stalls are judged against.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    K_REF_BORROWED k_ref_borrowed: Option<bool> = plain("Reference borrowed",
        "Whether the reference is borrowed from this team's other cooks of the same cut and pit.");
    STALLS stalls: Option<i64> = number(Count, "Stalls",
        "Number of stalls.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    STALL_MIN stall_min: Option<f64> = number(Minutes, "Stall length",
        "Minutes in stalls inside the log, 0 without a stall; null where not judged.")
        .bound(STALL_MIN_CENSORED, true).because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    STALL_MIN_CENSORED stall_min_censored: Option<bool> = plain("Stall cut off by the log",
        "Whether the log ends in a stall, which makes `stall_min` a lower bound; null where not judged.");
    STALL_MIN_LO90 stall_min_lo90: Option<f64> = number(Minutes, "Stall length, lower end",
        "Lower end of the 90 % interval of the whole cook's minutes in stalls.");
    STALL_MIN_HI90 stall_min_hi90: Option<f64> = number(Minutes, "Stall length, upper end",
        "Upper end of that interval; null with `stall_min_censored` is an open end.");
    STALL_START_CORE_C stall_start_core_c: Option<f64> = number(Temperature, "Core where the first stall begins",
        "Core temperature where the first stall begins.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    STALL_END_CORE_C stall_end_core_c: Option<f64> = number(Temperature, "Core where the last stall ends",
        "Core temperature where the last stall ends; null where the log ends in it.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    STALL_DELAY_MIN stall_delay_min: Option<f64> = number(Minutes, "Stall delay",
        "Minutes from the core's first 60 °C to its first 88 °C beyond those that steady heating at the reference would need.")
        .bound(STALL_DELAY_CENSORED, true).because(&[STALL_DELAY_REASON.name, NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    STALL_DELAY_CENSORED stall_delay_censored: Option<bool> = plain("Stall delay cut off",
        "Whether the finish was not reached, which makes `stall_delay_min` a lower bound; null where there is none.");
    PUSH_MIN push_min: Option<f64> = number(Minutes, "Push",
        "Sum of the pushes: from each stall's end to the next stall or the pull; null where the log ends first.")
        .because(&[NOT_JUDGED_REASON.name]).shown(&[CookPage]);
    TOTAL_MIN total_min: Option<f64> = number(Minutes, "Time on the pit",
        "From meat-on to the pull; a lower bound where `total_min_censored`.")
        .bound(TOTAL_MIN_CENSORED, true).shown(&[CookPage]);
    MIN_PER_KG min_per_kg: Option<f64> = number(MinutesPerMass, "Time per weight",
        "`total_min` by the weight it went on with (trimmed, else as bought); null where `total_min` is a lower bound.")
        .shown(&[CookPage]);
    PULL_CORE_C pull_core_c: Option<f64> = number(Temperature, "Core at the pull",
        "Core temperature at the pull.")
        .shown(&[CookPage]);
    CARRYOVER_C carryover_c: Option<f64> = number(TemperatureDifference, "Carry-over",
        "Highest core after the pull less the core at the pull; null where the probe was taken out or too little was logged.")
        .shown(&[CookPage]);
    REST_MIN rest_min: Option<f64> = number(Minutes, "Rest",
        "From the pull to the slice; where `rest_min_censored`, to the log's end, or until it falls silent for hours or shows the next fire.")
        .bound(REST_MIN_CENSORED, true).shown(&[CookPage]);
    YIELD_FRACTION yield_fraction: Option<f64> = number(Fraction, "Yield of the raw weight",
        "Weight as it came off by weight as bought; with the weight as served where it was not weighed coming off.")
        .shown(&[CookPage]);
    YIELD_BASIS yield_basis: Option<String> = plain("Weight that the yield rests on",
        "cooked or served: which weight the yield rests on.");
    TOTAL_MIN_CENSORED total_min_censored: Option<bool> = plain("Meat-on or pull not known",
        "Whether the pull is not known, or the meat had been on before a log whose sheet does not say since when, which makes `total_min` a lower bound.");
    REST_MIN_CENSORED rest_min_censored: Option<bool> = plain("Slice not known",
        "Whether the slice is not known, which makes `rest_min` a lower bound.");
    NOT_JUDGED_REASON not_judged_reason: Option<String> = plain("Why no stall was judged",
        "Why no stall was judged: a short word, or the sentence of what kept the log from being segmented.");
    STALL_DELAY_REASON stall_delay_reason: Option<String> = plain("Why there is no stall delay",
        "Why there is no stall delay: a short word.");
    K_REF_SOURCE k_ref_source: Option<String> = plain("Whose reference",
        "own or borrowed.");
    K_REF_COOKS k_ref_cooks: Option<i64> = number(Count, "Cooks of the reference",
        "How many cooks the reference is borrowed from.");
    CLOCK_ZERO_MIN clock_zero_min: Option<f64> = number(Minutes, "Meat-on to zero of the study clock",
        "From meat-on to clock zero, the core's first 55 °C; null where the log does not show it.");
    CORE_NOISE_SD_C core_noise_sd_c: Option<f64> = number(TemperatureDifference, "Noise of the core",
        "Standard deviation of the core's reading noise.");
    CORE_READINGS core_readings: Option<i64> = number(Count, "Core readings used",
        "Core readings used, from meat-on to the pull.");
    SPIKES_REMOVED spikes_removed: Option<i64> = number(Count, "Spikes removed",
        "Spikes removed from core and pit.");
    DIPS_BRIDGED dips_bridged: Option<i64> = number(Count, "Dips bridged",
        "Dips of the core that were bridged.");
    GAPS gaps: Option<i64> = number(Count, "Gaps",
        "Gaps of core and pit too long to judge across.");
    MEAT_ON_SOURCE meat_on_source: Option<String> = plain("Source of meat-on",
        "Where meat-on comes from: card, events, log or log-start (the log's first reading).");
    PULL_SOURCE pull_source: Option<String> = plain("Source of the pull",
        "Where the pull comes from: card, events, log or log-end (not known).");
    MEAT_ON_MS meat_on_ms: Option<i64> = number(EPOCH_MS, "Meat on",
        "Meat on, ms since 1970 UTC.");
    LEAD_CHANNEL lead_channel: Option<String> = plain("Channel of the core",
        "The meat channel taken as the core.");
    CORE_4_TO_60_C_MIN core_4_to_60_c_min: Option<f64> = number(Minutes, "Core at 4.4 to 60 °C",
        "Minutes from meat-on to the pull that the core was at 4.4 to 60 °C (40 to 140 °F), long gaps bridged by a straight line.")
        .bound(CORE_4_TO_60_C_CENSORED, true).shown(&[Probe]);
    CORE_4_TO_60_C_CENSORED core_4_to_60_c_censored: Option<bool> = plain("Core at 4.4 to 60 °C cut off",
        "Whether the log begins late or ends inside that range, which makes `core_4_to_60_c_min` a lower bound.");
    COME_UP_MIN come_up_min: Option<f64> = number(Minutes, "Come-up time",
        "Come-up time: from the core's first 10 °C (50 °F) to its first 54.4 °C (130 °F).")
        .bound(COME_UP_CENSORED, true).shown(&[Probe]);
    COME_UP_CENSORED come_up_censored: Option<bool> = plain("Come-up cut off",
        "Whether the core was above 10 °C from the start or never reached 54.4 °C, which makes `come_up_min` a lower bound.");
    LETHALITY_LOG10 lethality_log10: Option<f64> = number(Plain { unit: "", decimals: 1 }, "Decimal reductions of Salmonella",
        "Decimal reductions of Salmonella that the core's heat up to the pull adds up to by the law fitted to FSIS Appendix A (1999): nothing counts below 54.4 °C (130 °F), above 69.4 °C (157 °F) the heat counts as there.")
        .bound(LETHALITY_CENSORED, true);
    LETHALITY_CENSORED lethality_censored: Option<bool> = plain("Decimal reductions cut off",
        "Whether the log misses some of the time to the pull, which makes `lethality_log10` a lower bound.");
    LETHALITY_6_5_LOG10_MIN lethality_6_5_log10_min: Option<f64> = number(Minutes, "Meat-on to 6.5 decimal reductions",
        "From meat-on to where that sum reaches the table's 6.5; null where it does not.")
        .shown(&[Probe]);
    HOLD_LOWEST_CORE_C hold_lowest_core_c: Option<f64> = number(Temperature, "Lowest core in the hold",
        "Lowest core from the pull to the slice, or to the log's end, as far as the probe was in the meat.")
        .because(&[HOLD_REASON.name]).shown(&[Probe]);
    HOLD_BELOW_57_C_MIN hold_below_57_c_min: Option<f64> = number(Minutes, "Hold below 57.2 °C",
        "Minutes of that time with the core below 57.2 °C (135 °F).")
        .because(&[HOLD_REASON.name]).shown(&[Probe]);
    HOLD_BELOW_60_C_MIN hold_below_60_c_min: Option<f64> = number(Minutes, "Hold below 60 °C",
        "Minutes of that time with the core below 60 °C (140 °F).")
        .because(&[HOLD_REASON.name]).shown(&[Probe]);
    HOLD_OBSERVED_MIN hold_observed_min: Option<f64> = number(Minutes, "Hold logged",
        "Minutes of that time that were logged with the probe in the meat.");
    HOLD_REASON hold_reason: Option<String> = plain("Why the hold is not known",
        "Why the hold is not known, or not to its end: not-logged, probe-out-at-the-pull or probe-out-before-the-slice.");
    COOLING_TO_21_C_MIN cooling_to_21_c_min: Option<f64> = number(Minutes, "Cooling to 21.1 °C",
        "From the core's 57.2 °C (135 °F) after the pull to its 21.1 °C (70 °F).")
        .bound(COOLING_TO_21_C_CENSORED, true).because(&[COOLING_REASON.name]).shown(&[Probe]);
    COOLING_TO_21_C_CENSORED cooling_to_21_c_censored: Option<bool> = plain("Cooling to 21.1 °C cut off",
        "Whether the log ends first, which makes it a lower bound.");
    COOLING_TO_5_C_MIN cooling_to_5_c_min: Option<f64> = number(Minutes, "Cooling to 5 °C",
        "From the core's 57.2 °C (135 °F) after the pull to its 5 °C (41 °F).")
        .bound(COOLING_TO_5_C_CENSORED, true).because(&[COOLING_REASON.name]).shown(&[Probe]);
    COOLING_TO_5_C_CENSORED cooling_to_5_c_censored: Option<bool> = plain("Cooling to 5 °C cut off",
        "Whether the log ends first, which makes it a lower bound.");
    COOLING_REASON cooling_reason: Option<String> = plain("Why the cooling is not known",
        "Why the cooling is not known: slice-not-known, not-logged, stayed-hot, or when the probe came out.");
    PIT_DEW_POINT_C pit_dew_point_c: Option<f64> = number(Temperature, "Dew point in the pit",
        "Dew point of the pit's air.");
    PIT_DEW_POINT_SOURCE pit_dew_point_source: Option<String> = plain("Source of the dew point",
        "card or assumed (`season.toml`): where the dew point comes from.");
    PIT_STALL_C pit_stall_c: Option<f64> = number(Temperature, "Pit temperature in the stalls",
        "Mean pit temperature in the stalls, or to the pull where there is none.");
    PIT_WET_BULB_C pit_wet_bulb_c: Option<f64> = number(Temperature, "Wet bulb in the pit",
        "Thermodynamic wet bulb of air of that temperature and dew point, at the altitude's standard pressure (sea level where none is given).");
    CONTEST contest: Option<String> = card::CONTEST.column;
    TURN_IN_MS turn_in_ms: Option<i64> = number(EPOCH_MS, "Turn-in",
        "Turn-in time, ms since 1970 UTC.");
    PLANNED_PULL_MS planned_pull_ms: Option<i64> = number(EPOCH_MS, "Planned pull",
        "Planned pull, ms since 1970 UTC.");
    PLACE place: Option<String> = card::PLACE.column;
    GRADE grade: Option<String> = card::GRADE.column;
    SUPPLIER supplier: Option<String> = card::SUPPLIER.column;
    LOT lot: Option<String> = card::LOT.column;
    COST cost: Option<f64> = card::COST.column;
    COOKED_WEIGHT_KG cooked_weight_kg: Option<f64> = card::COOKED_WEIGHT_KG.column;
    SERVED_WEIGHT_KG served_weight_kg: Option<f64> = card::SERVED_WEIGHT_KG.column;
    MEAT_OFFSET_C meat_offset_c: Option<f64> = card::MEAT_OFFSET_C.column;
    PIT_OFFSET_C pit_offset_c: Option<f64> = card::PIT_OFFSET_C.column;
    MEAT_ICE_C meat_ice_c: Option<f64> = card::MEAT_ICE_C.column;
    MEAT_BOILING_C meat_boiling_c: Option<f64> = card::MEAT_BOILING_C.column;
    PIT_ICE_C pit_ice_c: Option<f64> = card::PIT_ICE_C.column;
    PIT_BOILING_C pit_boiling_c: Option<f64> = card::PIT_BOILING_C.column;
    WOOD wood: Option<String> = card::WOOD.column;
    FUEL_KG fuel_kg: Option<f64> = card::FUEL_KG.column;
    WATER_PAN water_pan: Option<bool> = card::WATER_PAN.column;
    ALTITUDE_M altitude_m: Option<f64> = card::ALTITUDE_M.column;
    WEATHER weather: Option<String> = card::WEATHER.column;
    HOLD_KIND hold_kind: Option<String> = card::HOLD_KIND.column;
    TARGET_CORE_C target_core_c: Option<f64> = card::TARGET_CORE_C.column;
    LAST_PROBE_TEST_TENDER last_probe_test_tender: Option<bool> = card::LAST_PROBE_TEST_TENDER.column;
    PROBE_TESTS probe_tests: Option<i64> = number(Count, "Probe tests",
        "Probe tests that say what was felt.");
    TENDER_ABOVE_C tender_above_c: Option<f64> = number(Temperature, "Core when last not tender",
        "Core temperature at the last probe test that found it not tender; null where the first found it tender.");
    TENDER_BY_C tender_by_c: Option<f64> = number(Temperature, "Core when first tender",
        "Core temperature at the first probe test after it that found it tender; null where none did.");
    TENDER_REASON tender_reason: Option<String> = plain("Why tenderness is not known",
        "Why neither is known: no-probe-test, not-segmented, core-not-known or core-fell-between.");
    CLOCK_TO_TENDER_MIN clock_to_tender_min: Option<f64> = number(Minutes, "Time to tender",
        "From clock zero to the first probe test that found it tender, or to the pull of a cook that ended tender; else to the last observation.")
        .bound(TENDER_REACHED, false).shown(&[CookPage]);
    TENDER_REACHED tender_reached: Option<bool> = plain("Tender reached",
        "Whether it was found tender, without which `clock_to_tender_min` is a lower bound.");
    CORE_BY_HAND core_by_hand: Option<bool> = plain("Core read by hand",
        "Whether no probe logged the core: its curve is then drawn through the readings by hand, by what meat does, and its intervals are wide.");
    PIT_FROM_SETPOINT pit_from_setpoint: Option<bool> = plain("Pit from its set-point",
        "Whether set-points stand for a pit that no probe logged.");
    SPOT_READINGS spot_readings: Option<i64> = number(Count, "Readings by hand",
        "Readings of the core by hand (`core` events) that have a temperature.");
    BARK_AT_WRAP bark_at_wrap: Option<String> = plain("Bark at the wrap",
        "not-yet, nearly or set: the last note of the bark in the hour before the first wrap; null without one.")
        .shown(&[CookPage]);
    ARM arm: Option<String> = card::ARM.column;
    BLOCK block: Option<String> = card::BLOCK.column;
    EXCLUDE exclude: Option<String> = card::EXCLUDE.column;
}

/// The columns of the measure table that every season has: these, then what the card says besides.
pub fn columns() -> impl Iterator<Item = Description> {
    ALL.iter().copied().chain(from_card().map(|field| field.column))
}

/// The fields of the card that follow the row because it has none of their name.
pub fn from_card() -> impl Iterator<Item = &'static card::CardField> {
    card::FIELDS
        .iter()
        .filter(|field| field.measured && !ALL.iter().any(|own| own.name == field.column.name))
}
