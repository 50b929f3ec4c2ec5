//! The codes of rejected rows and cells of sheets: what each means, and what to do.

use std::fmt;

/// Why a row or cell of a sheet was not used. [`SheetCode::as_str`] is what stands in
/// `rejected.parquet`; `docs/codes/` has a page for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SheetCode {
    /// A row without the name of its cook.
    NoCook,
    /// A score without what was scored.
    NoAttribute,
    /// A score of something that has no scale.
    NoScale,
    /// A score that nobody gave points to.
    NoScore,
    /// A score of which nobody says when it was.
    NoSeason,
    /// An event of a cook that no season sheet has.
    UnknownCook,
    /// An event without a word for what happened.
    NoEvent,
    /// A word that is no event.
    UnknownEvent,
    /// An event without a time.
    NoTime,
    /// A time that cannot be read.
    BadTime,
    /// A date that cannot be read.
    BadDate,
    /// A date whose day and month could be either way round.
    AmbiguousDate,
    /// The date and the date of meat-on differ.
    DateDisagreesWithMeatOn,
    /// A clock time of meat-on without a date.
    ClockWithoutDate,
    /// A meat-on that counts from the log's zero, without a date.
    ElapsedWithoutDate,
    /// A meat-on that counts from the log's zero, and a log that has dates.
    ElapsedButLogHasDates,
    /// A mark that counts from a meat-on that nobody wrote down.
    NoMeatOn,
    /// A mark before the one it follows.
    BeforeTheMarkBefore,
    /// A word that the column does not have.
    BadValue,
    /// A number that cannot be read.
    BadNumber,
    /// A comma that parts either thousands or decimals.
    AmbiguousNumber,
    /// A number that cannot be.
    OutOfRange,
    /// An ice or boiling test that no usable probe gives.
    ProbeTestFarOff,
    /// One quantity in two units, and they differ.
    UnitsDisagree,
    /// A wrap that is `none` by the card and one by the events.
    WrapContradictsEvents,
    /// A formula's error.
    FormulaError,
    /// A row with more cells than the header has names.
    TooManyCells,
    /// A quote that is never closed.
    UnclosedQuote,
}

/// What there is to say of a code.
struct Entry {
    code: &'static str,
    /// What is wrong, and what is wanted instead, to be read behind the cell.
    rule: &'static str,
    cause: &'static str,
    done: &'static str,
    cure: &'static str,
}

const CELL_LEFT_OUT: &str = "The cell was rejected; the rest of the row was used.";
const ROW_LEFT_OUT: &str = "The whole row was rejected.";

impl SheetCode {
    /// Every code.
    pub const ALL: [Self; 28] = [
        Self::NoCook,
        Self::NoAttribute,
        Self::NoScale,
        Self::NoScore,
        Self::NoSeason,
        Self::UnknownCook,
        Self::NoEvent,
        Self::UnknownEvent,
        Self::NoTime,
        Self::BadTime,
        Self::BadDate,
        Self::AmbiguousDate,
        Self::DateDisagreesWithMeatOn,
        Self::ClockWithoutDate,
        Self::ElapsedWithoutDate,
        Self::ElapsedButLogHasDates,
        Self::NoMeatOn,
        Self::BeforeTheMarkBefore,
        Self::BadValue,
        Self::BadNumber,
        Self::AmbiguousNumber,
        Self::OutOfRange,
        Self::ProbeTestFarOff,
        Self::UnitsDisagree,
        Self::WrapContradictsEvents,
        Self::FormulaError,
        Self::TooManyCells,
        Self::UnclosedQuote,
    ];

    /// The code as it is stored and printed.
    pub fn as_str(self) -> &'static str {
        self.entry().code
    }

    /// The code of a word; `None` for one of the logs' own.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|code| code.as_str() == word)
    }

    /// What is wrong, and what is wanted instead, in half a sentence.
    pub fn rule(self) -> &'static str {
        self.entry().rule
    }

    /// The page of `docs/codes/` for this code, in Markdown.
    pub fn page(self) -> String {
        let Entry { code, rule, cause, done, cure } = self.entry();
        format!(
            "# `{code}`\n\nIn a sheet: {rule}.\n\n## Cause\n\n{cause}\n\n## What was done\n\n{done}\n\n## Cure\n\n{cure}\n"
        )
    }

    fn entry(self) -> Entry {
        let (code, rule, cause, done, cure) = match self {
            Self::NoCook => (
                "no-cook",
                "the row has no name of a cook",
                "A remark or a sum below the table, or a row whose cook's cell is merged with the one above.",
                ROW_LEFT_OUT,
                "Write the cook's name into the row; begin a remark with `#`.",
            ),
            Self::NoAttribute => (
                "no-attribute",
                "the row does not say what was scored",
                "A row that was begun and not finished.",
                ROW_LEFT_OUT,
                "Write the score's name, such as `taste`, into `attribute`.",
            ),
            Self::NoScale => (
                "no-scale",
                "season.toml has no scale `[scores.NAME]` of this name",
                "A misspelt name, or a score whose scale nobody wrote down: without it nobody knows whether 8 is good.",
                ROW_LEFT_OUT,
                "Spell it as in season.toml, or add `[scores.NAME]` there with `lowest`, `highest` and `better`.",
            ),
            Self::NoScore => (
                "no-score",
                "the row has no points",
                "A row that was begun and not finished.",
                ROW_LEFT_OUT,
                "Write the points into `value`, or delete the row.",
            ),
            Self::NoSeason => (
                "no-season",
                "the row has neither a cook, a date nor a season",
                "An entry without a card whose row does not say when it was.",
                ROW_LEFT_OUT,
                "Fill in `date`, or `season`.",
            ),
            Self::UnknownCook => (
                "unknown-cook",
                "no season sheet has this cook",
                "A name that is spelt otherwise in the season sheet, or a cook without a card.",
                ROW_LEFT_OUT,
                "Spell it as in the season sheet, or add the cook there.",
            ),
            Self::NoEvent => (
                "no-event",
                "the row does not say what happened",
                "A row that was begun and not finished.",
                ROW_LEFT_OUT,
                "Write the event, such as `wrap` or `spritz`.",
            ),
            Self::UnknownEvent => (
                "unknown-event",
                "no event is called so",
                "A word of one's own, or a misspelt one.",
                ROW_LEFT_OUT,
                "Use one of lit, meat_on, spritz, wrap, unwrap, setpoint, lid, fuel, probe_moved, probe_test, pull, slice; anything else goes into `note`.",
            ),
            Self::NoTime => (
                "no-time",
                "the row does not say when",
                "A row that was begun and not finished.",
                ROW_LEFT_OUT,
                "Write the time; a guess is better than nothing if the note says so.",
            ),
            Self::BadTime => (
                "bad-time",
                "a time is a date and time (2025-05-03 22:10), a clock time (7:15, 5:40 pm) or the time since meat-on (+6:30)",
                "A time written in another way, a date alone, or a number whose cell lost its format.",
                "In a season sheet the cell was rejected, and a cook with an unreadable `meat_on` waits until it is corrected; in an events sheet the whole row was rejected.",
                "Write it in one of these ways.",
            ),
            Self::BadDate => (
                "bad-date",
                "a date is written 2025-05-03, or with the month's name",
                "A date that does not exist, or is written in another way.",
                CELL_LEFT_OUT,
                "Write year, month and day, or make the cell a date in the spreadsheet.",
            ),
            Self::AmbiguousDate => (
                "ambiguous-date",
                "day and month could be either way round, and the sheet's other dates do not agree on one",
                "A date such as 4/5/2025 in a sheet where no date has a day over 12, or where some are one way and some the other.",
                CELL_LEFT_OUT,
                "Write the year first: 2025-05-04.",
            ),
            Self::DateDisagreesWithMeatOn => (
                "date-disagrees-with-meat-on",
                "`date` is not the date of `meat_on`",
                "A cook that went on after midnight, or a date that was copied from the row above. What is two days or more apart is asked about (`marks-of-another`).",
                "The date of `meat_on` was used.",
                "Correct the one that is wrong; `date` is the local date of meat-on.",
            ),
            Self::ClockWithoutDate => (
                "clock-without-date",
                "a clock time of `meat_on` needs the row's `date`",
                "A row without a date.",
                "The cell was rejected: nobody knows on which day.",
                "Fill in `date`, or write date and time into `meat_on`.",
            ),
            Self::ElapsedWithoutDate => (
                "elapsed-without-date",
                "a `meat_on` that counts from the log's zero needs the row's `date`",
                "A log without dates and a row without one.",
                CELL_LEFT_OUT,
                "Fill in `date`, or write date and time into `meat_on`.",
            ),
            Self::ElapsedButLogHasDates => (
                "elapsed-but-log-has-dates",
                "`meat_on` counts from a log's zero, and the cook's log has dates",
                "A `+` before a time that was meant as a clock time.",
                CELL_LEFT_OUT,
                "Write a clock time, or date and time.",
            ),
            Self::NoMeatOn => (
                "no-meat-on",
                "the mark counts from a meat-on that is not known: fill in `meat_on`, or write date and time here",
                "`meat_on` is empty or was rejected, no event says it, and nothing in the log tells on which day, or in which half of it, the clock time lies.",
                "The mark was rejected.",
                "Fill in `meat_on`, or write date and time here.",
            ),
            Self::BeforeTheMarkBefore => (
                "before-the-mark-before",
                "the mark lies before the one that it follows (meat-on, wrap, pull, slice): correct the one that is wrong, its date too",
                "A wrong day, or two marks that were exchanged.",
                CELL_LEFT_OUT,
                "Correct the one that is wrong.",
            ),
            Self::BadValue => (
                "bad-value",
                "the column does not have this value",
                "Another word, a misspelt one, or a temperature or mass without its unit.",
                CELL_LEFT_OUT,
                "Use one of the column's words. In events: `setpoint` wants 275 F or 135 C, `fuel` 2 kg or 4 lb, `lid` open, close or seconds, `probe_test` tender or not, `core` 165F or 74C and perhaps the place behind it, `bark` not-yet, nearly, set or 1 to 5.",
            ),
            Self::BadNumber => (
                "bad-number",
                "a number is wanted, in the unit that the column's name says",
                "A word, another unit, a range, or two numbers in one cell.",
                CELL_LEFT_OUT,
                "Write the number alone; a remark goes into a column of its own.",
            ),
            Self::AmbiguousNumber => (
                "ambiguous-number",
                "the comma or point may part thousands or decimals, and no other number of the sheet tells",
                "A number such as 1,234.",
                CELL_LEFT_OUT,
                "Write 1234 or 1.234.",
            ),
            Self::OutOfRange => (
                "out-of-range",
                "the number cannot be true in this column's unit: correct it, or move it to the column of its unit",
                "The other unit's column, a lost decimal point, or a negative weight.",
                CELL_LEFT_OUT,
                "Correct the number, or move it to the column of its unit.",
            ),
            Self::ProbeTestFarOff => (
                "probe-test-far-off",
                "a probe in melting ice reads within 8 °C (14 °F) of 0 °C (32 °F), in boiling water of the boiling point at the card's altitude",
                "The other unit's column, ice and boiling exchanged, a test in ice without water, or a card without its altitude.",
                "The cell was rejected and the probe is not corrected by it; the rest of the row was used.",
                "Correct the number, fill in `altitude_m` or `altitude_ft`, or make the test anew: ice with a little water, stirred; water at a rolling boil.",
            ),
            Self::UnitsDisagree => (
                "units-disagree",
                "the quantity is given in two units that differ by more than rounding",
                "One of the two columns was changed and not the other.",
                "Both cells were rejected: nobody knows which is right.",
                "Correct one, or empty it.",
            ),
            Self::WrapContradictsEvents => (
                "wrap-contradicts-events",
                "the card says `none`, and the events have a wrap",
                "A card that was filled in beforehand.",
                "The events were believed.",
                "Correct `wrap_method` or delete the event.",
            ),
            Self::FormulaError => (
                "formula-error",
                "the cell holds the error of a formula",
                "A formula that refers to a deleted cell or divides by nothing. `#N/A` is taken as an empty cell instead.",
                CELL_LEFT_OUT,
                "Mend the formula, or write the value.",
            ),
            Self::TooManyCells => (
                "too-many-cells",
                "the row has more cells than the header has names",
                "A comma in a text without quotes, or a note beside the table.",
                ROW_LEFT_OUT,
                "Put the text into quotes, or give the column a name.",
            ),
            Self::UnclosedQuote => (
                "unclosed-quote",
                "a quote begins in the row and does not end",
                "An inch mark at the start of a cell.",
                ROW_LEFT_OUT,
                "Remove or double the quote.",
            ),
        };
        Entry { code, rule, cause, done, cure }
    }
}

impl fmt::Display for SheetCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::path::PathBuf;

    /// Codes that logs have too; their pages are written with those of the logs.
    const SHARED: [SheetCode; 4] = [
        SheetCode::BadTime,
        SheetCode::BadNumber,
        SheetCode::TooManyCells,
        SheetCode::UnclosedQuote,
    ];

    /// `UPDATE_CODES=1 cargo test -p ingest --lib code` writes the pages.
    #[test]
    fn every_code_has_its_page() {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/codes");
        let own = || SheetCode::ALL.into_iter().filter(|code| !SHARED.contains(code));
        if std::env::var_os("UPDATE_CODES").is_some() {
            std::fs::create_dir_all(&folder).unwrap();
            for code in own() {
                std::fs::write(folder.join(format!("{code}.md")), code.page()).unwrap();
            }
        }
        for code in own() {
            let page = std::fs::read_to_string(folder.join(format!("{code}.md")))
                .unwrap_or_else(|error| panic!("docs/codes/{code}.md: {error}"));
            assert_eq!(page, code.page(), "docs/codes/{code}.md is not current");
        }
    }

    #[test]
    fn codes_are_distinct_and_read_back() {
        let codes: BTreeSet<&str> = SheetCode::ALL.iter().map(|code| code.as_str()).collect();
        assert_eq!(codes.len(), SheetCode::ALL.len());
        assert!(SheetCode::ALL.iter().all(|code| SheetCode::parse(code.as_str()) == Some(*code)));
    }
}
