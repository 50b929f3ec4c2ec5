//! What ingest writes.

use crate::Quantity::{self, Count, Plain, Score as SCALE_POINTS, Temperature};
use crate::describe::{list, number, plain};
use crate::value::Instant;

/// A place in a file, counted from its start.
const PLACE: Quantity = Plain { unit: "", decimals: 0 };
/// Milliseconds of a span.
const MS: Quantity = Plain { unit: "ms", decimals: 0 };

/// Cooks: the fields of the card ([`crate::card::FIELDS`]), these, then scores and a team's own.
pub mod cooks {
    use super::{Instant, list, plain};

    list! {
        LOG_START_AT log_start_at: Instant = plain("Log begins", "First reading of any channel.");
        LOG_END_AT log_end_at: Instant = plain("Log ends", "Last reading of any channel.");
        COMPUTED_FROM computed_from: String = super::super::COMPUTED_FROM;
    }
}

/// Events: the events sheets, normalised.
pub mod events {
    use super::{Instant, list, plain};

    list! {
        COOK cook: String = crate::card::COOK.column;
        AT at: Instant = plain("At", "When it happened.");
        EVENT event: String = plain("Event", "What happened.");
        VALUE value: String = plain("Value",
            "wrap: the method; setpoint: a temperature; fuel: a mass; lid: open, close or seconds; probe_test: tender or not.");
        NOTE note: String = plain("Note", "A remark.");
    }
}

/// Scores: the scores sheets, a row a score.
pub mod scores {
    use super::{SCALE_POINTS, list, number, plain};

    list! {
        TEAM team: String = plain("Team", "Whose meat it was; null but in a merged store.");
        SEASON season: String = crate::card::SEASON.column;
        CONTEST contest: String = crate::card::CONTEST.column;
        DATE date: String = plain("Date", "Local date on which it was given.");
        CATEGORY category: String = plain("Category", "What was judged: brisket, chicken and the like.");
        COOK cook: String = plain("Cook", "The cook whose meat it was; null where no card has it.");
        ENTRY entry: String = plain("Entry", "What was judged as one: the cook, else contest, date and category.");
        PANEL panel: String = plain("Panel", "judges or tasters, which are never taken together.");
        JUDGE judge: String = plain("Judge", "Who gave it; a bare number names one of that contest alone.");
        ATTRIBUTE attribute: String = plain("Attribute", "What was scored: NAME of score_NAME.");
        POINTS points: f64 = number(SCALE_POINTS, "Points", "The points, on the scale in season.toml.");
        BLIND blind: bool = plain("Blind", "Whether it was given without knowing whose meat it was.");
        NOTE note: String = plain("Note", "A remark.");
    }
}

/// Readings: a row a reading, as logged.
pub mod readings {
    use super::{Instant, MS, PLACE, Temperature, list, number, plain};

    list! {
        COOK cook: String = crate::card::COOK.column;
        CHANNEL channel: String = plain("Channel", "The channel's name in the log.");
        ROLE role: String = plain("Role", "What it measures: pit, meat, ambient or other.");
        AT at: Instant = plain("At", "When it was read.");
        ELAPSED_MS elapsed_ms: i64 = number(MS, "Elapsed", "Since the cook's first reading.");
        TEMP_C temp_c: f64 = number(Temperature, "Temperature", "As read, without correction.");
        FLAG flag: String = plain("Flag", "good, or what ingest found odd about it.");
        SOURCE source: String = plain("Source", "The log that it stands in.");
        LINE line: i64 = number(PLACE, "Line", "Line of that log, from 1.");
    }
}

/// Rejected: what could not be used.
pub mod rejected {
    use super::{PLACE, list, number, plain};

    list! {
        SOURCE source: String = plain("Source", "The file, as shown.");
        LINE line: i64 = number(PLACE, "Line", "Line of the file, from 1.");
        BYTE byte: i64 = number(PLACE, "Byte", "Byte of the file at which it begins, from 0.");
        COLUMN column: String = plain("Column", "The column; null where it is the whole row.");
        CODE code: String = plain("Code", "Short word for why.");
        TEXT text: String = plain("Text", "What stands there.");
    }
}

/// Sources: how each log was read, and the account of its lines.
pub mod sources {
    use super::{Count, list, number, plain};

    list! {
        PATH path: String = plain("Path", "The log, relative to the season's folder.");
        CONTENT_HASH content_hash: String = plain("Content hash", "SHA-256 of its bytes.");
        LAYOUT layout: String = plain("Layout", "The layout that it was read by; detected without one.");
        EVIDENCE evidence: String = plain("Evidence", "What was decided about it and why, as JSON.");
        LINES lines: i64 = number(Count, "Lines", "Lines of the file.");
        PREAMBLE_LINES preamble_lines: i64 = number(Count, "Preamble", "Lines before the header.");
        HEADER_LINES header_lines: i64 = number(Count, "Header", "Lines of headers.");
        BLANK_LINES blank_lines: i64 = number(Count, "Blank", "Lines without content.");
        DATA_LINES data_lines: i64 = number(Count, "Data", "Lines that were read.");
        REJECTED_LINES rejected_lines: i64 = number(Count, "Rejected", "Lines that could not be used.");
        FOOTER_LINES footer_lines: i64 = number(Count, "Footer", "Lines after the data, and remarks.");
        READINGS readings: i64 = number(Count, "Readings", "Readings in the data lines.");
        MISSING_CELLS missing_cells: i64 = number(Count, "Missing", "Cells of them without a reading.");
        REJECTED_CELLS rejected_cells: i64 = number(Count, "Rejected cells",
            "Cells of them that could not be used.");
    }
}
