//! The kinds of pollution, and which of them go together.

use rand::{RngExt, seq::SliceRandom};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;
use std::fmt;

/// A kind of pollution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Not plain UTF-8.
    Encoding,
    /// Not a comma between cells.
    Delimiter,
    /// Not a line feed at line ends, or now this and now that.
    LineEnds,
    /// Compressed, or in an archive with others.
    Container,
    /// Lines before the header.
    Preamble,
    /// No header, or two rows of it.
    HeaderForm,
    /// The header again among the readings.
    RepeatedHeader,
    /// Remarks or totals after the readings.
    Footer,
    /// One row a reading.
    LongForm,
    /// Dates and clocks in another way than ISO 8601.
    DateStyle,
    /// Instants as numbers since some day.
    NumericTime,
    /// Times since the log began.
    Elapsed,
    /// Clock times without a date.
    ClockOnly,
    /// The unit in a row, beside each value, in a column, or nowhere.
    UnitPlace,
    /// Decimal commas, thousands marks.
    NumberStyle,
    /// A header in another language.
    HeaderWords,
    /// Quotes, and names that need them.
    Quotes,
    /// Words and numbers for "no value".
    Sentinels,
    /// Columns that are no temperatures.
    ExtraColumns,
    /// Empty columns at the right, rows of unequal length.
    RowEnds,
    /// A file cut in its last line, without a line end, or padded with zeros.
    FileEnd,
    /// A clock that starts again, jumps, or was never set.
    ClockFault,
    /// A log over a daylight-saving change.
    DaylightSaving,
    /// Rows that come twice.
    DuplicateRows,
    /// Rows that come too late, or the newest first.
    RowOrder,
    /// Letters in numbers and times.
    SpoiltCells,
    /// Lines cut short, or run together.
    CutLines,
    /// Bytes that are no text.
    StrayBytes,
    /// Empty lines and remarks among the readings.
    StrayLines,
}

/// Pollutions of one file.
const COUNT: std::ops::RangeInclusive<usize> = 3..=7;

impl Family {
    /// Every family.
    pub const ALL: [Self; 29] = [
        Self::Encoding,
        Self::Delimiter,
        Self::LineEnds,
        Self::Container,
        Self::Preamble,
        Self::HeaderForm,
        Self::RepeatedHeader,
        Self::Footer,
        Self::LongForm,
        Self::DateStyle,
        Self::NumericTime,
        Self::Elapsed,
        Self::ClockOnly,
        Self::UnitPlace,
        Self::NumberStyle,
        Self::HeaderWords,
        Self::Quotes,
        Self::Sentinels,
        Self::ExtraColumns,
        Self::RowEnds,
        Self::FileEnd,
        Self::ClockFault,
        Self::DaylightSaving,
        Self::DuplicateRows,
        Self::RowOrder,
        Self::SpoiltCells,
        Self::CutLines,
        Self::StrayBytes,
        Self::StrayLines,
    ];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Encoding => "encoding",
            Self::Delimiter => "delimiter",
            Self::LineEnds => "line ends",
            Self::Container => "container",
            Self::Preamble => "preamble",
            Self::HeaderForm => "header form",
            Self::RepeatedHeader => "repeated header",
            Self::Footer => "footer",
            Self::LongForm => "long form",
            Self::DateStyle => "date style",
            Self::NumericTime => "numeric time",
            Self::Elapsed => "elapsed time",
            Self::ClockOnly => "clock without date",
            Self::UnitPlace => "unit place",
            Self::NumberStyle => "number style",
            Self::HeaderWords => "header words",
            Self::Quotes => "quotes",
            Self::Sentinels => "sentinels",
            Self::ExtraColumns => "extra columns",
            Self::RowEnds => "row ends",
            Self::FileEnd => "file end",
            Self::ClockFault => "clock fault",
            Self::DaylightSaving => "daylight saving",
            Self::DuplicateRows => "duplicate rows",
            Self::RowOrder => "row order",
            Self::SpoiltCells => "spoilt cells",
            Self::CutLines => "cut lines",
            Self::StrayBytes => "stray bytes",
            Self::StrayLines => "stray lines",
        }
    }

    /// Whether two families can be in one file. Those that cannot would undo each other, or
    /// leave a file of which nobody could say what is right.
    fn goes_with(self, other: Self) -> bool {
        use Family as F;
        const TIMES: [Family; 4] = [F::DateStyle, F::NumericTime, F::Elapsed, F::ClockOnly];
        let both = |one: Family, others: &[Family]| {
            (self == one && others.contains(&other)) || (other == one && others.contains(&self))
        };
        let apart = (TIMES.contains(&self) && TIMES.contains(&other))
            || both(F::ClockFault, &[F::Elapsed, F::ClockOnly, F::DaylightSaving, F::RowOrder])
            || both(F::DaylightSaving, &[F::NumericTime, F::Elapsed, F::ClockOnly, F::RowOrder])
            || both(F::RowOrder, &[F::ClockOnly])
            || both(F::HeaderForm, &[F::LongForm]);
        !apart
    }
}

impl fmt::Display for Family {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Families of one file: at least three.
pub(super) fn draw(random: &mut ChaCha8Rng) -> BTreeSet<Family> {
    let count = random.random_range(COUNT);
    let mut order = Family::ALL;
    order.shuffle(random);
    let mut drawn = BTreeSet::new();
    for family in order {
        if drawn.len() == count {
            break;
        }
        if drawn.iter().all(|other| family.goes_with(*other)) {
            drawn.insert(family);
        }
    }
    drawn
}
