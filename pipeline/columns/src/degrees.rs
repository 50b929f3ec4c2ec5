//! The degrees: one row a cook and °C of core on the study clock, split where it was wrapped or
//! unwrapped.

use crate::Quantity::{Count, Fraction, Minutes, Plain, Temperature, TemperatureDifference};
use crate::card;
use crate::describe::{number, plain, row};

row! {
    /// One cook in one degree of its core, or in the part of it before or after a wrap.
    struct DegreeRow;
    COOK cook: String = card::COOK.column;
    DEGREE_C degree_c: f64 = number(Temperature, "Degree",
        "The degree that the highest core so far is in: from here to 1 °C more.");
    PIECE piece: i64 = number(Count, "Piece",
        "0, and one more after each wrap or unwrapping inside the degree.");
    START_MIN start_min: f64 = number(Minutes, "From", "Minute of the study clock at which it begins.");
    FROM_CORE_C from_core_c: f64 = number(Temperature, "Highest core so far",
        "The highest core so far at its beginning.");
    TIME_MIN time_min: f64 = number(Minutes, "Time", "How long it lasted.");
    DOSE_KH dose_kh: f64 = number(Plain { unit: "K·h", decimals: 2 }, "Heat on offer",
        "Integral of the lagged pit less the core; a pit below the core offers none.");
    GAP_C gap_c: f64 = number(TemperatureDifference, "Gap",
        "Mean of the lagged pit less the core; null where there is no pit.");
    LAGGED_PIT_C lagged_pit_c: f64 = number(Temperature, "Pit behind its lag",
        "Pit temperature behind its lag, at its beginning.");
    WRAPPED wrapped: Option<bool> = plain("Wrapped",
        "Whether the meat is wrapped; null where a wrap's time is not known.");
    METHOD method: Option<String> = plain("Wrapped in", "What it is wrapped in; null while it is not.");
    SINCE_WRAP_MIN since_wrap_min: Option<f64> = number(Minutes, "Since the wrap",
        "Minutes since it was wrapped, at its beginning; null while it is not.");
    PASSED passed: bool = plain("Passed",
        "Whether the core reached the next degree; no where a wrap, an unwrapping or the log's end cut it.");
    SEEN seen: f64 = number(Fraction, "Seen", "Share of the time in which core and pit were logged.");
    BARK bark: Option<String> = plain("Bark as last noted",
        "not-yet, nearly or set: what the last note up to its beginning says of the bark.");
}
