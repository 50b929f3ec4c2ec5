//! The history: one row a cook and ten minutes of the study clock.

use crate::Quantity::{Count, HeatingCoefficient, Minutes, Temperature, TemperatureDifference};
use crate::card;
use crate::describe::{number, plain, row};

row! {
    /// One cook at one instant of the study clock.
    struct HistoryRow;
    COOK cook: String = card::COOK.column;
    MINUTE minute: i64 = number(Minutes, "Minute of the study clock", "Minutes since clock zero.");
    CORE_C core_c: f64 = number(Temperature, "Core", "Core temperature.");
    K_PER_H k_per_h: f64 = number(HeatingCoefficient, "Heating coefficient",
        "Heating coefficient; null where it cannot be formed.");
    PIT_C pit_c: f64 = number(Temperature, "Pit", "Pit temperature; null where there is none.");
    LAGGED_PIT_C lagged_pit_c: f64 = number(Temperature, "Pit behind its lag",
        "Pit temperature behind its lag; null where there is none.");
    IN_STALL in_stall: Option<bool> = plain("In a stall",
        "Whether the meat is in a stall; null where not judged.");
    WRAPPED wrapped: Option<bool> = plain("Wrapped",
        "Whether the meat is wrapped; null where a wrap's time is not known.");
    SETPOINT_C setpoint_c: Option<f64> = number(Temperature, "Set-point",
        "Set-point of the pit: the last event's, else the card's.");
    LID_OPEN lid_open: bool = plain("Lid open", "Whether the lid is open, by the events.");
    BARK bark: Option<String> = plain("Bark as last noted",
        "not-yet, nearly or set: what the last note up to then says of the bark; null before the first.");
    SPRITZES spritzes: i64 = number(Count, "Sprays",
        "Sprays written down after this row, up to the next.");
    LID_NOTED_MIN lid_noted_min: f64 = number(Minutes, "Lid open, as noted",
        "How long the lid stood open after this row, up to the next, by the events.");
    LID_FALLS lid_falls: Option<i64> = number(Count, "Lid openings that the pit shows",
        "Lid openings that the pit shows to begin after this row, up to the next; null without a pit.");
    LID_FALL_C lid_fall_c: Option<f64> = number(TemperatureDifference, "Fall of the pit",
        "How far the pit fell in the deepest of them; null without one.");
    LID_BACK_MIN lid_back_min: Option<f64> = number(Minutes, "Half of the fall made up",
        "How long after its beginning half of that was made up; null without one.");
}
