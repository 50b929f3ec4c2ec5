//! What the phases stage writes.

use crate::Quantity::{self, Count, Minutes, Plain, Temperature, TemperatureDifference};
use crate::describe::{list, number, plain, row};
use crate::value::Instant;

/// Seconds since meat-on.
const SECONDS: Quantity = Plain { unit: "s", decimals: 0 };
/// A plain ratio.
const RATIO: Quantity = Plain { unit: "1", decimals: 3 };

/// Phases: a row a phase; what they were judged against is repeated in each.
pub mod phases {
    use super::{Count, Instant, SECONDS, Temperature, list, number, plain};

    list! {
        COOK cook: String = crate::card::COOK.column;
        PHASE phase: String = plain("Phase", "ramp, stall, push, rest or unknown.");
        START_S start_s: f64 = number(SECONDS, "From", "Its start since meat-on.");
        END_S end_s: f64 = number(SECONDS, "To", "Its end since meat-on.");
        START_AT start_at: Instant = plain("From", "Its start.");
        END_AT end_at: Instant = plain("To", "Its end.");
        START_CORE_C start_core_c: f64 = number(Temperature, "Core at start", "Core at its start.");
        END_CORE_C end_core_c: f64 = number(Temperature, "Core at end", "Core at its end.");
        COMPLETE complete: bool = plain("Complete", "False where the log ends in it.");
        START_AT_LO90 start_at_lo90: Instant = plain("From, lower end",
            "Lower end of the 90 % interval of its start; null is open.");
        START_AT_HI90 start_at_hi90: Instant = plain("From, upper end",
            "Upper end of the 90 % interval of its start; null is open.");
        END_AT_LO90 end_at_lo90: Instant = plain("To, lower end",
            "Lower end of the 90 % interval of its end; null is open.");
        END_AT_HI90 end_at_hi90: Instant = plain("To, upper end",
            "Upper end of the 90 % interval of its end; null is open.");
        MEAT_ON_AT meat_on_at: Instant = plain("Meat on", "When the meat went on.");
        MEAT_ON_FROM meat_on_from: String = plain("Source of meat-on",
            "card, events, log or log-start (the log's first reading).");
        PULL_AT pull_at: Instant = plain("Pull", "When the meat came off; null where the log ends first.");
        PULL_FROM pull_from: String = plain("Source of the pull",
            "card, events, log or log-end (not known).");
        LEAD_CHANNEL lead_channel: String = crate::measures::LEAD_CHANNEL;
        LEAD_BECAUSE lead_because: String = plain("Why this channel",
            "Why this meat channel is the core.");
        K_REF_PER_H k_ref_per_h: f64 = crate::measures::K_REF_PER_H;
        K_REF_BORROWED k_ref_borrowed: bool = crate::measures::K_REF_BORROWED;
        NOT_JUDGED not_judged: String = plain("Not judged", "Short word for why no stall was judged.");
        NOT_JUDGED_REASON not_judged_reason: String = crate::measures::NOT_JUDGED_REASON;
        STALL_MIN_LO90 stall_min_lo90: f64 = crate::measures::STALL_MIN_LO90;
        STALL_MIN_HI90 stall_min_hi90: f64 = crate::measures::STALL_MIN_HI90;
        SPIKES spikes: i64 = number(Count, "Spikes removed", "Spikes removed from core and pit.");
        DIPS dips: i64 = number(Count, "Dips bridged", "Dips of the core that were bridged.");
        GAPS gaps: i64 = crate::measures::GAPS;
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// Flags: stretches of a channel of which there is something to know.
pub mod flags {
    use super::{Count, Instant, TemperatureDifference, number, plain, row};

    row! {
        /// One stretch of a channel of which there is something to know.
        struct FlagRow;
        COOK cook: String = crate::card::COOK.column;
        CHANNEL channel: String = plain("Channel", "The channel that the readings stand in.");
        USED_AS used_as: String = plain("Used as", "The channel that they were used for.");
        FLAG flag: cook::FlagKind = plain("Flag", "What is to be known: spike, lid-open, gap and the like.");
        REMOVED removed: bool = plain("Removed", "Whether the readings were left out.");
        START_AT start_at: Instant = plain("From", "First reading; of a gap the last one before it.");
        END_AT end_at: Instant = plain("To", "Last reading; of a gap the first one after it.");
        READINGS readings: i64 = number(Count, "Readings", "Readings in it; none in a gap.");
        SIZE_C size_c: Option<f64> = number(TemperatureDifference, "Size", "How far they lie off their course.");
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// Channels: each cook's channels, their corrections, and how they compare with the lead.
pub mod channels {
    use super::{Count, Minutes, RATIO, Temperature, TemperatureDifference, number, plain, row};

    row! {
        /// One channel of a cook: its part, its correction, and how it compares with the lead.
        struct ChannelRow;
        COOK cook: String = crate::card::COOK.column;
        CHANNEL channel: String = plain("Channel", "Its name in the log.");
        ROLE role: String = plain("Role", "What it measures: pit, meat, ambient or other.");
        PART part: cook::ChannelPart = plain("Part", "lead, pit, other-meat or not-used.");
        LEAD_REASON lead_reason: Option<cook::LeadReason> = plain("Why it leads", "Why it is the lead, in a word.");
        HIGHEST_C highest_c: Option<f64> = number(Temperature, "Highest",
            "Its highest reading where that is why it leads.");
        READINGS readings: i64 = number(Count, "Readings", "Readings in the store.");
        CALIBRATION calibration: cook::CalibrationSource = plain("Correction", "What its correction rests on.");
        OFFSET_C offset_c: f64 = number(TemperatureDifference, "Correction at 0 °C",
            "Correction of a reading of 0 °C.");
        SLOPE slope: f64 = number(RATIO, "Slope of the correction",
            "Change of the correction per °C of reading.");
        ICE_C ice_c: Option<f64> = number(Temperature, "In ice",
            "What the probe read in melting ice, where that was used.");
        BOILING_C boiling_c: Option<f64> = number(Temperature, "In boiling water",
            "What it read in boiling water, where that was used.");
        BOILS_C boils_c: Option<f64> = number(Temperature, "Boiling point",
            "Where water boils at the card's altitude.");
        MEAN_DIFFERENCE_C mean_difference_c: Option<f64> = number(TemperatureDifference, "Mean difference",
            "Mean of this channel less the lead.");
        DIFFERENCE_AT_FINISH_C difference_at_finish_c: Option<f64> = number(TemperatureDifference,
            "Difference at the finish",
            "This channel less the lead where the lead reaches the finish.");
        FINISH_AFTER_LEAD_MIN finish_after_lead_min: Option<f64> = number(Minutes, "Finish after the lead",
            "When it reaches the finish, after the lead.");
        LIKENESS likeness: Option<f64> = number(RATIO, "Likeness",
            "Correlation of its warming with the lead's over the ramp.");
        UNLIKE unlike: Option<cook::Unlike> = plain("Unlike", "Word for how it reads unlike the lead.");
        UNLIKE_BY_C unlike_by_c: Option<f64> = number(TemperatureDifference, "Unlike by",
            "The difference that tells it.");
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// Warnings: what is odd about a cook.
pub mod warnings {
    use super::{plain, row};

    row! {
        /// Something odd that a person should look at.
        struct WarningRow;
        COOK cook: String = crate::card::COOK.column;
        CODE code: String = plain("Code", "Short stable word.");
        ABOUT about: String = plain("About", "The mark or the channels it is about.");
        SENTENCE sentence: String = plain("Sentence", "As a sentence.");
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// What each moved constant of the phase definition makes of a cook: when it stalls, and the measures
/// that the constants can move.
pub mod moved {
    use super::{Instant, RATIO, list, number, plain};

    list! {
        COOK cook: String = crate::card::COOK.column;
        CONSTANT constant: String = plain("Moved constant", "The constant of the definition that is moved.");
        MOVED_TO moved_to: f64 = number(RATIO, "Moved to", "What it is moved to.");
        STALL_START_AT stall_start_at: Instant = plain("Stall from", "Start of the first stall.");
        STALL_END_AT stall_end_at: Instant = plain("Stall to", "End of the last stall.");
        RAMP_MIN ramp_min: f64 = crate::measures::RAMP_MIN;
        PUSH_MIN push_min: f64 = crate::measures::PUSH_MIN;
        NOT_JUDGED_REASON not_judged_reason: String = crate::measures::NOT_JUDGED_REASON;
        K_REF_PER_H k_ref_per_h: f64 = crate::measures::K_REF_PER_H;
        K_REF_BORROWED k_ref_borrowed: bool = crate::measures::K_REF_BORROWED;
        K_REF_SOURCE k_ref_source: String = crate::measures::K_REF_SOURCE;
        K_REF_COOKS k_ref_cooks: i64 = crate::measures::K_REF_COOKS;
        STALLS stalls: i64 = crate::measures::STALLS;
        STALL_MIN stall_min: f64 = crate::measures::STALL_MIN;
        STALL_MIN_CENSORED stall_min_censored: bool = crate::measures::STALL_MIN_CENSORED;
        STALL_MIN_LO90 stall_min_lo90: f64 = crate::measures::STALL_MIN_LO90;
        STALL_MIN_HI90 stall_min_hi90: f64 = crate::measures::STALL_MIN_HI90;
        STALL_START_CORE_C stall_start_core_c: f64 = crate::measures::STALL_START_CORE_C;
        STALL_END_CORE_C stall_end_core_c: f64 = crate::measures::STALL_END_CORE_C;
        STALL_DELAY_MIN stall_delay_min: f64 = crate::measures::STALL_DELAY_MIN;
        STALL_DELAY_CENSORED stall_delay_censored: bool = crate::measures::STALL_DELAY_CENSORED;
        STALL_DELAY_REASON stall_delay_reason: String = crate::measures::STALL_DELAY_REASON;
        PIT_STALL_C pit_stall_c: f64 = crate::measures::PIT_STALL_C;
        PIT_WET_BULB_C pit_wet_bulb_c: f64 = crate::measures::PIT_WET_BULB_C;
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// The rows of the history under each moved constant of the phase definition. The share of the
/// reference moves no heating coefficient.
pub mod moved_history {
    use super::list;

    list! {
        COOK cook: String = crate::card::COOK.column;
        MINUTE minute: i64 = crate::history::MINUTE;
        IN_STALL_STALL_FRACTION_0_35 in_stall_stall_fraction_0_35: bool = under(crate::history::IN_STALL);
        IN_STALL_STALL_FRACTION_0_45 in_stall_stall_fraction_0_45: bool = under(crate::history::IN_STALL);
        IN_STALL_PIT_LAG_MIN_20 in_stall_pit_lag_min_20: bool = under(crate::history::IN_STALL);
        K_PER_H_PIT_LAG_MIN_20 k_per_h_pit_lag_min_20: f64 = under(crate::history::K_PER_H);
        IN_STALL_PIT_LAG_MIN_30 in_stall_pit_lag_min_30: bool = under(crate::history::IN_STALL);
        K_PER_H_PIT_LAG_MIN_30 k_per_h_pit_lag_min_30: f64 = under(crate::history::K_PER_H);
        IN_STALL_SMOOTHING_MIN_10 in_stall_smoothing_min_10: bool = under(crate::history::IN_STALL);
        K_PER_H_SMOOTHING_MIN_10 k_per_h_smoothing_min_10: f64 = under(crate::history::K_PER_H);
        IN_STALL_SMOOTHING_MIN_40 in_stall_smoothing_min_40: bool = under(crate::history::IN_STALL);
        K_PER_H_SMOOTHING_MIN_40 k_per_h_smoothing_min_40: f64 = under(crate::history::K_PER_H);
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }

    /// A column of the history under the setting that another name says.
    const fn under(mut column: crate::Description) -> crate::Description {
        column.name = "";
        column
    }
}
