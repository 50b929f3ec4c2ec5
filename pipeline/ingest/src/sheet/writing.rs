//! How one sheet writes dates and numbers, where that is not said: decided by all its
//! cells together, and asked where they do not tell.

use super::code::SheetCode;
use super::row::GridRow;
use crate::number;
use crate::time::TimeFormat;
use crate::time::{self, Stamp};
use cook::Evidence;

/// What a sheet's cells show together.
#[derive(Debug, Clone, Default)]
pub(super) struct Writing {
    /// `4/5/2025` is the fourth of May, or the fifth of April.
    order: Option<TimeFormat>,
    /// Likewise of `4.5.2025`: a sheet that two hands wrote has both.
    dotted: Option<TimeFormat>,
    /// The year of all dates that have one: `May 3` is of it.
    year: Option<i16>,
    /// Decimals are parted by a comma, or by a point.
    decimal: Option<u8>,
    /// What was decided, and by which cells.
    pub(super) evidence: Vec<Evidence>,
}

/// The two ways to read a date of two small numbers and a year.
const ORDERS: [TimeFormat; 2] = [TimeFormat::DayFirst, TimeFormat::MonthFirst];

/// A text and the line it stands on.
type Written<'t> = (u64, &'t str);

impl Writing {
    /// By the texts in columns of dates and times, with what typed cells there (`typed`) show, and in columns of
    /// numbers.
    pub(super) fn of<'t>(
        dates: impl Iterator<Item = Written<'t>>,
        typed: &'t [(u64, String)],
        numbers: impl Iterator<Item = Written<'t>>,
    ) -> Self {
        let mut writing = Self::default();
        let dates: Vec<Written<'t>> = dates.collect();
        // A typed date has a year as a written one has: the same table in another file says the same.
        let typed = typed.iter().map(|(line, text)| (*line, text.as_str()));
        let years = dates.iter().copied().chain(typed);
        let years = years.filter_map(|(line, text)| Some((year_of(text)?, line, text)));
        writing.year = decide(years.clone()).map(|(year, ..)| year);
        let lacks_year = |text: &str| year_of(text).is_none() && with_year(text, 2000).is_some();
        if let (Some((year, line, text)), true) =
            (decide(years), dates.iter().any(|(_, text)| lacks_year(text)))
        {
            let setting = "write dates as 2025-05-03";
            writing.tell("year of dates without one", &year.to_string(), line, text, setting);
        }
        let orders =
            dates.into_iter().filter_map(|(line, text)| Some((order_of(text)?, line, text)));
        let (dotted, others): (Vec<_>, Vec<_>) = orders.partition(|(.., text)| is_dotted(text));
        let of_all = decide(others.iter().chain(&dotted).copied());
        writing.dotted = of_all.or(decide(dotted.into_iter())).map(|(order, ..)| order);
        if let Some((order, line, text)) = of_all.or(decide(others.into_iter())) {
            writing.order = Some(order);
            let word = if order == TimeFormat::DayFirst { "day first" } else { "month first" };
            writing.tell("order of day and month", word, line, text, "write dates as 2025-05-03");
        }
        let decimal =
            decide(numbers.filter_map(|(line, text)| Some((decimal_of(text)?, line, text))));
        if let Some((decimal, line, text)) = decimal {
            writing.decimal = Some(decimal);
            if decimal == b',' {
                let setting = "write numbers with a decimal point";
                writing.tell("decimal sign", "comma", line, text, setting);
            }
        }
        writing
    }

    /// Fixes the order of day and month.
    pub(super) fn set_order(&mut self, order: TimeFormat) {
        self.order = Some(order);
        self.dotted = Some(order);
    }

    fn tell(&mut self, what: &str, taken_as: &str, line: u64, text: &str, setting: &str) {
        self.evidence.push(Evidence {
            what: what.to_owned(),
            taken_as: taken_as.to_owned(),
            because: format!("`{text}` on line {line} can only be so, and no cell says otherwise"),
            setting: setting.to_owned(),
        });
    }

    /// A date, as days since 1970-01-01; the time that some exports add to it is left out.
    pub(super) fn date(&self, text: &str) -> Result<i64, SheetCode> {
        let bytes = text.as_bytes();
        let whole = |format| {
            let (days, rest) = time::parse_date(format, bytes)?;
            rest.is_empty().then_some(days)
        };
        if let Some(day) = time::parse_iso_date(bytes).or_else(|| whole(TimeFormat::MonthName)) {
            return Ok(day);
        }
        match self.choose(text, ORDERS.map(whole)) {
            Err(SheetCode::BadDate) => {
                if let Some(dated) = self.year.and_then(|year| with_year(text, year)) {
                    return self.date(&dated);
                }
                let moment = self.moment(text).map_err(|code| match code {
                    SheetCode::AmbiguousDate => code,
                    _ => SheetCode::BadDate,
                })?;
                Ok(moment.ms.div_euclid(time::DAY_MS))
            }
            other => other,
        }
    }

    /// A date and time.
    pub(super) fn moment(&self, text: &str) -> Result<Stamp, SheetCode> {
        let bytes = text.as_bytes();
        let named = || time::parse(TimeFormat::MonthName, bytes, None);
        if let Some(stamp) = time::parse_iso(bytes).or_else(named) {
            return Ok(stamp);
        }
        self.choose(text, ORDERS.map(|format| time::parse(format, bytes, None)))
    }

    fn choose<T: PartialEq + Copy>(
        &self,
        text: &str,
        read: [Option<T>; 2],
    ) -> Result<T, SheetCode> {
        let order = if is_dotted(text) { self.dotted } else { self.order };
        match (read, order) {
            ([None, None], _) => Err(SheetCode::BadDate),
            ([Some(only), None] | [None, Some(only)], _) => Ok(only),
            ([Some(one), Some(other)], _) if one == other => Ok(one),
            ([Some(day_first), _], Some(TimeFormat::DayFirst)) => Ok(day_first),
            ([_, Some(month_first)], Some(_)) => Ok(month_first),
            _ => Err(SheetCode::AmbiguousDate),
        }
    }

    /// A number with the sheet's decimal sign, perhaps with thousands marks of the other
    /// sign. Where a single mark with three digits behind it could be either, the sheet's
    /// other numbers decide.
    pub(super) fn number(&self, text: &str) -> Result<f64, SheetCode> {
        let bytes = text.as_bytes();
        let plain = |sign| number::parse(bytes, sign);
        let grouped = |mark: u8| {
            let other = if mark == b',' { b'.' } else { b',' };
            let parts: Vec<u8> = bytes.iter().copied().filter(|byte| *byte != mark).collect();
            is_grouped(bytes, mark).then(|| number::parse(&parts, other)).flatten()
        };
        match (plain(b'.'), plain(b',')) {
            (Some(value), Some(_)) => Ok(value),
            (Some(value), None) => match (grouped(b'.'), self.decimal) {
                (Some(thousands), Some(b',')) => Ok(thousands),
                _ => Ok(value),
            },
            (None, Some(value)) => match (grouped(b','), self.decimal) {
                (None, _) | (Some(_), Some(b',')) => Ok(value),
                (Some(thousands), Some(_)) => Ok(thousands),
                (Some(_), None) => Err(SheetCode::AmbiguousNumber),
            },
            (None, None) => grouped(b',').or_else(|| grouped(b'.')).ok_or(SheetCode::BadNumber),
        }
    }
}

/// The two dates that a date may be, as they should be written.
pub(super) fn both_dates(text: &str) -> Option<[String; 2]> {
    let day = |format| Some(time::parse_date(format, text.as_bytes())?.0);
    let [Some(one), Some(other)] = ORDERS.map(day) else { return None };
    Some([one, other].map(super::stated::date_text))
}

/// The one thing that all say; nothing where they differ or nobody says anything.
fn decide<'t, T: PartialEq + Copy>(
    mut said: impl Iterator<Item = (T, u64, &'t str)>,
) -> Option<(T, u64, &'t str)> {
    let first = said.next()?;
    said.all(|(other, ..)| other == first.0).then_some(first)
}

/// The year of a date that has one, however its day and month stand.
fn year_of(text: &str) -> Option<i16> {
    let bytes = text.as_bytes();
    let named = || Some(time::parse_date(TimeFormat::MonthName, bytes)?.0);
    let in_order = || ORDERS.iter().find_map(|order| Some(time::parse_date(*order, bytes)?.0));
    let iso = || Some(time::parse_iso(bytes)?.ms.div_euclid(time::DAY_MS));
    let days = time::parse_iso_date(bytes).or_else(iso).or_else(named).or_else(in_order)?;
    super::stated::date_text(days).get(..4)?.parse().ok()
}

/// A date without a year (`May 3`, `3. May`, `5/3`), with one.
fn with_year(text: &str, year: i16) -> Option<String> {
    let text = text.trim().trim_end_matches(['.', ',']);
    let named = format!("{text} {year}");
    let bytes = named.as_bytes();
    if time::parse_date(TimeFormat::MonthName, bytes).is_some_and(|(_, rest)| rest.is_empty()) {
        return Some(named);
    }
    let sign = text.chars().find(|c| matches!(c, '/' | '.' | '-'))?;
    let numbered = format!("{text}{sign}{year}");
    let is_date = |order: &TimeFormat| {
        time::parse_date(*order, numbered.as_bytes()).is_some_and(|(_, rest)| rest.is_empty())
    };
    (text.matches(sign).count() == 1 && ORDERS.iter().any(is_date)).then_some(numbered)
}

/// Whether a date is written with points: `4.5.2025`.
fn is_dotted(text: &str) -> bool {
    text.bytes().filter(|byte| *byte == b'.').count() >= 2
}

/// The only order in which a date can be read.
pub(super) fn order_of(text: &str) -> Option<TimeFormat> {
    if time::parse_iso_date(text.as_bytes()).is_some() || time::parse_iso(text.as_bytes()).is_some()
    {
        return None;
    }
    match ORDERS.map(|format| time::parse_date(format, text.as_bytes())) {
        [Some(_), None] => Some(TimeFormat::DayFirst),
        [None, Some(_)] => Some(TimeFormat::MonthFirst),
        _ => None,
    }
}

/// The only decimal sign with which a number can be read.
fn decimal_of(text: &str) -> Option<u8> {
    let read = |sign| number::parse(text.as_bytes(), sign).is_some();
    let groups = |mark| is_grouped(text.as_bytes(), mark);
    match (read(b'.'), read(b',')) {
        (true, false) if !groups(b'.') => Some(b'.'),
        (false, true) if !groups(b',') => Some(b','),
        (false, false) if groups(b',') && text.contains('.') => Some(b'.'),
        (false, false) if groups(b'.') && text.contains(',') => Some(b','),
        _ => None,
    }
}

/// Whether a mark parts groups of three digits, as in `1,234` and `12,345.6`.
fn is_grouped(text: &[u8], mark: u8) -> bool {
    let text = text.strip_prefix(b"-").unwrap_or(text);
    let other = if mark == b',' { b'.' } else { b',' };
    let whole = text.split(|&byte| byte == other).next().unwrap_or_default();
    let mut groups = whole.split(|&byte| byte == mark);
    let first = groups.next().unwrap_or_default();
    let mut rest = groups.peekable();
    let digits = |group: &[u8]| group.iter().all(u8::is_ascii_digit);
    rest.peek().is_some()
        && (1..=3).contains(&first.len())
        && first[0] != b'0'
        && digits(first)
        && rest.all(|group| group.len() == 3 && digits(group))
}

/// What the typed cells of some columns show, with their lines.
pub(super) fn typed(rows: &[GridRow], columns: &[usize]) -> Vec<(u64, String)> {
    let cells = rows.iter().flat_map(|row| {
        columns.iter().filter_map(move |&column| Some((row.line, row.cells.get(column)?)))
    });
    cells
        .filter(|(_, cell)| !matches!(cell, super::cell::Cell::Text(_)))
        .map(|(line, cell)| (line, cell.text()))
        .collect()
}

/// The texts of some columns, with their lines.
pub(super) fn texts<'r>(
    rows: &'r [GridRow],
    columns: &'r [usize],
) -> impl Iterator<Item = Written<'r>> {
    rows.iter().flat_map(move |row| {
        columns.iter().filter_map(move |&column| match row.cells.get(column) {
            Some(super::cell::Cell::Text(text)) => Some((row.line, text.as_str())),
            _ => None,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn writing(dates: &[&'static str], numbers: &[&'static str]) -> Writing {
        let with_line = |texts: &[&'static str]| -> Vec<(u64, &'static str)> {
            texts.iter().map(|text| (2, *text)).collect()
        };
        Writing::of(with_line(dates).into_iter(), &[], with_line(numbers).into_iter())
    }

    fn day(writing: &Writing, text: &str) -> Result<String, SheetCode> {
        writing.date(text).map(super::super::stated::date_text)
    }

    #[test]
    fn one_date_tells_the_order_of_all() {
        let day_first = writing(&["4/5/2025", "25/12/2025"], &[]);
        assert_eq!(day(&day_first, "4/5/2025").as_deref(), Ok("2025-05-04"));
        let month_first = writing(&["4/5/2025", "5/14/2025 10:10 pm"], &[]);
        assert_eq!(day(&month_first, "4/5/2025").as_deref(), Ok("2025-04-05"));
        let of_two_hands = writing(&["4/5/2025", "5/14/2025", "25.12.2025"], &[]);
        assert_eq!(day(&of_two_hands, "4/5/2025").as_deref(), Ok("2025-04-05"));
        assert_eq!(day(&of_two_hands, "4.5.2025").as_deref(), Ok("2025-05-04"));
        for open in [writing(&["4/5/2025"], &[]), writing(&["25/12/2025", "5/14/2025"], &[])] {
            assert_eq!(day(&open, "4/5/2025"), Err(SheetCode::AmbiguousDate));
            assert_eq!(open.moment("4/5/2025 10:00"), Err(SheetCode::AmbiguousDate));
            assert_eq!(day(&open, "5/5/2025").as_deref(), Ok("2025-05-05"));
            assert_eq!(day(&open, "14/5/2025").as_deref(), Ok("2025-05-14"));
        }
        let none = Writing::default();
        for text in ["2025-05-04", "2025/5/4", "4 May 2025", "May 4, 2025", "2025-05-04 22:10"] {
            assert_eq!(day(&none, text).as_deref(), Ok("2025-05-04"), "{text}");
        }
        assert_eq!(day(&none, "2025-02-30"), Err(SheetCode::BadDate));
    }

    #[test]
    fn dates_without_a_year_are_of_the_one_that_all_others_have() {
        let one = writing(&["2026-04-11", "4/25/2026", "May 3", "5/23"], &[]);
        assert_eq!(day(&one, "May 3").as_deref(), Ok("2026-05-03"));
        assert_eq!(day(&one, "5/23").as_deref(), Ok("2026-05-23"));
        assert_eq!(one.evidence.len(), 2);
        for none in [writing(&["2025-04-11", "2026-04-25", "May 3"], &[]), Writing::default()] {
            assert_eq!(day(&none, "May 3"), Err(SheetCode::BadDate));
        }
        let another_typed = [(2, "2025-06-01".to_owned())];
        let two = Writing::of([(2, "2026-04-11")].into_iter(), &another_typed, [].into_iter());
        assert_eq!(day(&two, "May 3"), Err(SheetCode::BadDate));
        assert_eq!(day(&one, "6-7").as_deref(), Ok("2026-06-07"));
        assert_eq!(day(&one, "12.5 lb"), Err(SheetCode::BadDate));
    }

    #[test]
    fn one_number_tells_the_decimal_sign_of_all() {
        let none = Writing::default();
        let comma = writing(&[], &["14,2", "1,234"]);
        let point = writing(&[], &["14.2", "1,234"]);
        assert_eq!(none.number("1,234"), Err(SheetCode::AmbiguousNumber));
        assert_eq!((comma.number("1,234"), point.number("1,234")), (Ok(1.234), Ok(1234.0)));
        assert_eq!((comma.number("1.234"), point.number("1.234")), (Ok(1234.0), Ok(1.234)));
        for any in [&none, &comma, &point] {
            assert_eq!((any.number("14,2"), any.number("14.2")), (Ok(14.2), Ok(14.2)));
            assert_eq!(any.number("12,345.5"), Ok(12_345.5));
            assert_eq!(any.number("12.345,5"), Ok(12_345.5));
            assert_eq!(any.number("0,125"), Ok(0.125));
            assert_eq!(any.number("12 lb"), Err(SheetCode::BadNumber));
        }
        assert_eq!(
            writing(&[], &["14,2", "14.2"]).number("1,234"),
            Err(SheetCode::AmbiguousNumber)
        );
    }
}
