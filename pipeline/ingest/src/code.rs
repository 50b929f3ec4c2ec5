//! The codes of rejected rows and cells: what each means, and what to do.

use std::fmt;

/// Why something that was read was not used. [`Code::as_str`] is what stands in
/// `rejected.parquet`; `docs/codes/` has a page for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// The time of a line cannot be read.
    BadTime,
    /// A cell is neither a number nor a word for "no value".
    BadNumber,
    /// A cell's unit is not the one that its column or line states.
    UnitConflict,
    /// A cell lacks the unit that the column's other cells carry.
    NoUnit,
    /// The unit of a reading is a word that is no unit.
    UnknownUnit,
    /// A line of a long log has no channel.
    NoChannel,
    /// A line has more cells than the header has names.
    TooManyCells,
    /// A line lacks cells, and nobody knows which.
    TooFewCells,
    /// The last line of a log breaks off between cells.
    TruncatedLine,
    /// The last cell of a log breaks off.
    TruncatedCell,
    /// A quote is never closed.
    UnclosedQuote,
    /// The same reading was told before.
    DuplicateTime,
    /// A reading of an instant differs from one that was told before.
    ConflictingTime,
    /// A date far from all others.
    StrayTime,
    /// The logger's clock started anew and nothing tells the right time.
    ClockReset,
    /// A clock time that the clock of the zone skipped.
    TimeInGap,
    /// A clock time that the clock of the zone showed twice.
    AmbiguousTime,
}

impl Code {
    /// Every code.
    pub const ALL: [Self; 17] = [
        Self::BadTime,
        Self::BadNumber,
        Self::UnitConflict,
        Self::NoUnit,
        Self::UnknownUnit,
        Self::NoChannel,
        Self::TooManyCells,
        Self::TooFewCells,
        Self::TruncatedLine,
        Self::TruncatedCell,
        Self::UnclosedQuote,
        Self::DuplicateTime,
        Self::ConflictingTime,
        Self::StrayTime,
        Self::ClockReset,
        Self::TimeInGap,
        Self::AmbiguousTime,
    ];

    /// The code as it is stored and printed.
    pub fn as_str(self) -> &'static str {
        self.entry().0
    }

    /// The code of a word; `None` for one of the sheets' own.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|code| code.as_str() == word)
    }

    /// What it means, in a sentence.
    pub fn meaning(self) -> &'static str {
        self.entry().1
    }

    /// The page of `docs/codes/` for this code, in Markdown.
    pub fn page(self) -> String {
        let (code, what, cause, done, cure, example) = self.entry();
        format!(
            "# `{code}`\n\n{what}\n\n## Cause\n\n{cause}\n\n## What was done\n\n{done}\n\n## Cure\n\n{cure}\n\n## Example\n\n```text\n{example}\n```\n"
        )
    }

    /// Code, what it means, cause, what was done, cure, example.
    #[allow(clippy::type_complexity)]
    fn entry(
        self,
    ) -> (&'static str, &'static str, &'static str, &'static str, &'static str, &'static str) {
        match self {
            Self::BadTime => (
                "bad-time",
                "The time of a line cannot be read in the way in which the log writes its times.",
                "A line that was overwritten or cut, a remark between the readings, or a log whose times change their writing halfway.",
                "The whole line was rejected. Lines of words after the last reading count as footer instead.",
                "Look at the line. If many lines are rejected for this, `cookstudy inspect` shows which format was taken; a layout with `time.format` says another.",
                "Time,Pit (F)\n2026-05-02 06:00,225\n2026-05-0x 06:01,226   <- bad-time",
            ),
            Self::BadNumber => (
                "bad-number",
                "A cell of a temperature column is neither a number nor a known word for \"no value\".",
                "Line noise, a decimal comma in a log of decimal points, or a logger's own word for a missing probe.",
                "The cell was rejected, and the line's other cells were used. A line without any other value was rejected whole.",
                "A word of the logger's own goes into `sentinels` of a layout; another decimal sign into `decimal`.",
                "Time,Pit (F),Flat (F)\n2026-05-02 06:00,2z5,41   <- bad-number in `Pit (F)`",
            ),
            Self::UnitConflict => (
                "unit-conflict",
                "A value carries a unit, and its column or line states the other one.",
                "The logger was switched between °F and °C while it ran, or a header was edited by hand.",
                "The cell was rejected (in a long log, the line): nobody knows which of the two is right.",
                "Set the column's unit in a layout's `[units]` where the header is wrong; else correct the log.",
                "Time,Pit (F)\n2026-05-02 06:00,107.2 C   <- unit-conflict",
            ),
            Self::NoUnit => (
                "no-unit",
                "A cell lacks the unit that nearly all others of the log carry beside their values.",
                "A cell that lost its end, with its line or without.",
                "The cell was rejected: its digits may have lost something, too.",
                "Correct the cell if you know what it was.",
                "Time,Pit\n2026-05-02 06:00,225F\n2026-05-02 06:01,22   <- no-unit",
            ),
            Self::UnknownUnit => (
                "unknown-unit",
                "The unit column of a long log has a word that is no unit of temperature.",
                "The log also has readings of something else, such as percent or hectopascal.",
                "The line was rejected.",
                "Nothing, if the reading is no temperature; else correct the word to F or C.",
                "time,channel,value,unit\n2026-05-02 06:00,Fan,35,%   <- unknown-unit",
            ),
            Self::NoChannel => (
                "no-channel",
                "A line of a long log has a time and no channel.",
                "A cut or edited line.",
                "The line was rejected.",
                "Write the channel's name into the line if you know it.",
                "time,channel,value,unit\n2026-05-02 06:00,,225,F   <- no-channel",
            ),
            Self::TooManyCells => (
                "too-many-cells",
                "A line has more cells than the header has names.",
                "A decimal comma between comma-parted cells, an unquoted delimiter in a remark, or two lines run into one.",
                "The whole line was rejected: any cell may be out of place.",
                "Export with another delimiter or a decimal point, or correct the line.",
                "Time,Pit (C)\n2026-05-02 06:00,107,5   <- too-many-cells",
            ),
            Self::TooFewCells => (
                "too-few-cells",
                "A line lacks cells that other lines have, and nobody knows which.",
                "A line that lost a piece. Lines that end early at a usual width lack trailing values only and are used.",
                "The whole line was rejected: what is left may stand under the wrong names.",
                "Correct the line if you know what it lost.",
                "Time,Pit (F),Flat (F),Point (F)\n2026-05-02 06:00,225,41   <- too-few-cells",
            ),
            Self::TruncatedLine => (
                "truncated-line",
                "The last line of the log breaks off between cells.",
                "The logger lost power, or the copy was stopped.",
                "The line was rejected.",
                "Copy or export the log again if the end matters.",
                "2026-05-02 06:00,225,41\n2026-05-02 06:01,22   <- truncated-line (end of file)",
            ),
            Self::TruncatedCell => (
                "truncated-cell",
                "The last cell of a line breaks off: it has fewer decimals than nearly all others, or the log ends in it and what is left is less than half the value above.",
                "The logger lost power, or the copy was stopped, or a line was overwritten.",
                "The cell was rejected; the line's other cells were used.",
                "Copy or export the log again if the end matters.",
                "2026-05-02 06:00,225,141.5\n2026-05-02 06:01,225,14   <- truncated-cell (end of file)",
            ),
            Self::UnclosedQuote => (
                "unclosed-quote",
                "A quoted cell begins in this line and does not end.",
                "A stray inch mark at the start of a cell, or a cut line.",
                "The line was rejected; the quote was not followed into the lines after it.",
                "Remove or double the quote.",
                "Time,Note,Pit (F)\n2026-05-02 06:00,\"lid off,225   <- unclosed-quote",
            ),
            Self::DuplicateTime => (
                "duplicate-time",
                "The same reading of the same instant was told before.",
                "A log that was exported twice into one file, or two logs of one cook that overlap.",
                "The first telling was used, the later one rejected. No value is lost.",
                "Nothing; or remove the copy.",
                "2026-05-02 06:00,225,41\n2026-05-02 06:00,225,41   <- duplicate-time",
            ),
            Self::ConflictingTime => (
                "conflicting-time",
                "A reading of an instant differs from one of the same channel that was told before.",
                "Two readings within the resolution of the logger's clock, or two logs that both claim the channel.",
                "The first in the log was used, the later one rejected.",
                "If the later one is right, remove the earlier; if the log has readings within a minute, export it with seconds.",
                "2026-05-02 06:00,225,41\n2026-05-02 06:00,226,41   <- conflicting-time",
            ),
            Self::StrayTime => (
                "stray-time",
                "One or two lines have dates more than 30 days from all others.",
                "A corrupt date, or a clock that was not yet set when the logger began.",
                "The lines were rejected.",
                "Correct the dates if you know them.",
                "2000-01-01 00:00,225,41   <- stray-time\n2026-05-02 06:00,225,41\n2026-05-02 06:01,225,41",
            ),
            Self::ClockReset => (
                "clock-reset",
                "The logger's clock started anew (at 1970, 2000 or another date long past), and the lines do not run on from or to their neighbours: a temperature steps, or they would overlap.",
                "The logger lost power, and was without it so long that the temperatures moved. How long is not in the log.",
                "The lines were rejected. Where the temperatures run on without a step, the lines are placed one usual step before the line after them (or behind the line before them) instead, and flagged `retimed`.",
                "Split the log before the first such line and give the piece a layout with `time.start`, if you know when it began.",
                "2026-05-02 06:00,225,41\n2000-01-01 00:00,224,41   <- clock-reset\n2000-01-01 00:01,224,41   <- clock-reset",
            ),
            Self::TimeInGap => (
                "time-in-gap",
                "The clock of the time zone never showed this time: it lies in the hour that daylight saving skips.",
                "A corrupt time, or a logger whose clock does not follow daylight saving.",
                "The line was rejected. A log that runs through the whole hour is refused with a question instead.",
                "A layout with `time.utc_offset` for a clock that keeps one offset; `time_zone` in season.toml if the zone is wrong.",
                "2026-03-08 01:58,225,41\n2026-03-08 02:30,225,41   <- time-in-gap (America/Chicago)",
            ),
            Self::AmbiguousTime => (
                "ambiguous-time",
                "The clock of the time zone showed this time twice, and the lines around it are too mixed up to tell which is meant.",
                "The hour that daylight saving repeats, in a log whose lines are out of order.",
                "The line was rejected.",
                "An export with offsets, or in UTC.",
                "2026-11-01 01:30,225,41\n2026-11-01 01:05,225,41   <- ambiguous-time (America/Chicago)",
            ),
        }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::PathBuf;

    /// `UPDATE_CODES=1 cargo test -p ingest --lib code` writes the pages.
    #[test]
    fn every_code_has_its_page() {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/codes");
        if std::env::var_os("UPDATE_CODES").is_some() {
            std::fs::create_dir_all(&folder).unwrap();
            for code in Code::ALL {
                std::fs::write(folder.join(format!("{code}.md")), code.page()).unwrap();
            }
        }
        for code in Code::ALL {
            let page = std::fs::read_to_string(folder.join(format!("{code}.md")))
                .unwrap_or_else(|error| panic!("docs/codes/{code}.md: {error}"));
            assert_eq!(page, code.page(), "docs/codes/{code}.md is not current");
        }
    }

    #[test]
    fn codes_are_distinct() {
        let mut codes = Code::ALL.map(Code::as_str).to_vec();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), Code::ALL.len());
    }
}
