//! What a file leaves open, judged from the file alone.

use super::page::{Body, Page};
use super::truth::{Content, LineKind, Open, Question};
use super::{DateOrder, DateStyle, Dialect, ElapsedStyle, Header, TimeStyle, UnitPlace, local};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use simulate::measured::ReadingSet;

/// Steps between rows from which on a reading of the dates is absurd, days.
const ABSURD_STEP_DAYS: i32 = 20;
/// Lines that only one order can read from which on that order is proven: one corrupt line
/// must not decide how all others are read.
const PROOF_LINES: usize = 3;

impl Dialect {
    /// Instant of a log's zero where the file does not say it.
    pub(super) fn unsaid_zero(&self, set: &ReadingSet) -> Option<i64> {
        match self.time {
            TimeStyle::Elapsed { start_told: false, .. } => {
                set.rows.first().map(|row| row.clock_ms)
            }
            _ => None,
        }
    }

    /// What the file leaves open.
    pub(super) fn questions(
        &self,
        page: &Page,
        set: &ReadingSet,
        zone: &TimeZone,
    ) -> Vec<Question> {
        let mut questions = Vec::new();
        let mut ask = |about: Open, hinted: bool| questions.push(Question { about, hinted });
        let headless = self.header == Header::None;
        let in_header = matches!(self.unit, UnitPlace::Header | UnitPlace::Row);
        if self.unit == UnitPlace::Nowhere || (headless && in_header) {
            ask(Open::Unit(set.unit), false);
        }
        match self.time {
            TimeStyle::Elapsed { unit, told, .. } if !told || headless => match unit {
                // It begins at zero; a log that begins at midnight would, too.
                ElapsedStyle::Hms => ask(Open::ClockOrElapsed { elapsed: true }, true),
                unit => ask(Open::ElapsedUnit(unit), false),
            },
            TimeStyle::ClockOnly { date_told, .. } => {
                if !date_told {
                    ask(Open::Date, false);
                } else if headless {
                    ask(Open::ClockOrElapsed { elapsed: false }, true);
                }
            }
            TimeStyle::Calendar { date, .. } => {
                if let Some(hinted) = order_is_open(date, page, set, zone) {
                    ask(Open::DateOrder(date.order), hinted);
                }
            }
            _ => {}
        }
        if let Some(hinted) = self.decimal_is_open(page) {
            ask(Open::Decimal { comma: self.number.decimal_comma }, hinted);
        }
        questions
    }

    /// `1,104` among numbers without decimals: over a thousand, or a little over one? `None`
    /// where it is told; else whether numbers that are no temperatures hint at it.
    fn decimal_is_open(&self, page: &Page) -> Option<bool> {
        let mark = self.number.thousands.filter(|mark| matches!(mark, ',' | '.'))?;
        let decimal = if mark == ',' { '.' } else { ',' };
        let (mut marked, mut measured, mut hinted) = (false, false, false);
        for line in page.lines.iter().filter(|line| line.kind == LineKind::Data) {
            let Body::Cells(cells) = &line.body else { continue };
            for cell in cells {
                match &cell.truth {
                    Some(truth) if matches!(truth.content, Content::Spoilt(_)) => {}
                    Some(_) if cell.text.contains(decimal) => return None,
                    Some(truth) if cell.text.contains(mark) => {
                        marked = true;
                        measured |= matches!(truth.content, Content::Celsius(_));
                    }
                    Some(_) => {}
                    None => hinted |= cell.number && cell.text.contains(decimal),
                }
            }
        }
        marked.then_some(hinted || !measured)
    }
}

/// A date as it is written: three numbers and whether each has four digits.
fn parts(style: DateStyle, date: Date) -> [(i16, bool); 3] {
    let year = if style.two_digit_year {
        (date.year().rem_euclid(100), false)
    } else {
        (date.year(), true)
    };
    let (month, day) = ((i16::from(date.month()), false), (i16::from(date.day()), false));
    match style.order {
        DateOrder::DayMonthYear => [day, month, year],
        DateOrder::MonthDayYear => [month, day, year],
        _ => [year, month, day],
    }
}

/// The date that parts are in an order. Years are written with two digits at least.
fn read(order: DateOrder, padded: bool, [a, b, c]: [(i16, bool); 3]) -> Option<Date> {
    let (year, month, day) = match order {
        DateOrder::DayMonthYear => (c, b, a),
        DateOrder::MonthDayYear => (c, a, b),
        _ => (a, b, c),
    };
    if month.1 || day.1 || (!padded && year.0 < 10) {
        return None;
    }
    let year = if year.1 { year.0 } else { 2000 + year.0 };
    Date::new(year, i8::try_from(month.0).ok()?, i8::try_from(day.0).ok()?).ok()
}

/// `None` where the order of the parts is told by the dates; else whether it is hinted at.
fn order_is_open(style: DateStyle, page: &Page, set: &ReadingSet, zone: &TimeZone) -> Option<bool> {
    let names = matches!(style.order, DateOrder::DayMonthName | DateOrder::MonthNameDay);
    // A year of four digits in front is ISO 8601.
    let iso = style.order == DateOrder::YearMonthDay && !style.two_digit_year;
    if names || iso {
        return None;
    }
    let dates: Vec<Date> = page
        .lines
        .iter()
        .filter(|line| line.kind == LineKind::Data)
        .filter_map(|line| set.rows.get(line.row?))
        .filter_map(|row| Some(local(row.clock_ms, zone).ok()?.date()))
        .collect();
    let absurd = |dates: &[Date]| {
        dates.windows(2).any(|pair| {
            pair[0].until(pair[1]).map_or(0, |s| s.get_days()).abs() >= ABSURD_STEP_DAYS
        })
    };
    // Years of two digits are read as years of this century.
    let own: Vec<Date> = dates
        .iter()
        .filter_map(|&date| read(style.order, style.padded, parts(style, date)))
        .collect();
    let own_is_absurd = absurd(&own);
    let mut open = None;
    for order in [DateOrder::DayMonthYear, DateOrder::MonthDayYear, DateOrder::YearMonthDay] {
        if order == style.order {
            continue;
        }
        let other: Vec<Option<Date>> =
            dates.iter().map(|&date| read(order, style.padded, parts(style, date))).collect();
        let unread = other.iter().filter(|date| date.is_none()).count();
        if unread >= PROOF_LINES || unread == dates.len() {
            continue;
        }
        let other: Vec<Date> = other.into_iter().flatten().collect();
        if unread == 0 && other == own {
            continue;
        }
        // Midnights that are steps of minutes are proof enough.
        if !own_is_absurd && absurd(&other) {
            continue;
        }
        // Dates with dots are written day first wherever dots are usual (Unicode CLDR).
        let dots_tell = style.separator == '.' && style.order == DateOrder::DayMonthYear;
        let hinted = dots_tell || unread > 0;
        open = Some(open.unwrap_or(true) && hinted);
    }
    open
}
