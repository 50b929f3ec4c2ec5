//! The days of a log without dates.

use crate::error::IngestError;
use crate::log::facts::preamble;
use crate::log::finding::{Finding, Findings};
use crate::log::finished::TimeBase;
use crate::log::options::SheetHint;
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use crate::log::shown::date;
use crate::time::{self, DAY_MS};
use crate::zone;
use columns::Packed;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// A log that begins nearer to zero than this may be one that starts again, ms (10 min).
const FAR_FROM_ZERO_MS: i64 = 600_000;
/// A clock goes back by at least this at midnight, ms (23 h): nobody's lines are an hour apart.
const PAST_MIDNIGHT_MS: i64 = 23 * 3_600_000;

/// Gives the lines of a log without dates their days: the clock runs on over midnights in the
/// order of the lines, and the first day is known from elsewhere.
///
/// # Errors
/// [`Asks::FirstDay`].
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    if plan.format.is_elapsed() && rows.series.iter().any(|s| pass_midnight(&s.ms)) {
        rows.of_the_day = true;
        rows.time = TimeBase::Absolute;
    }
    if !rows.of_the_day {
        return Ok(findings);
    }
    run_on(&mut rows.series);
    let times = || rows.series.iter().flat_map(|series| series.ms.iter());
    let (Some(first), Some(last)) = (times().min(), times().max()) else {
        return Ok(findings);
    };
    let Some((day, because)) = first_day(plan, rows, first, last) else {
        let file = plan.shown_as.rsplit('/').next().unwrap_or(plan.shown_as).to_owned();
        let place = rows.place_of_first();
        let named = day_in_name(&file);
        let mut days: Vec<(Date, bool)> =
            plan.options.sheet.dates.iter().map(|day| (*day, false)).collect();
        days.retain(|(day, _)| Some(*day) != named);
        days.sort_unstable();
        days.dedup();
        // The likeliest first.
        days.splice(0..0, named.map(|day| (day, true)));
        return Err(Question { place, asks: Asks::FirstDay { file, days } }.into());
    };
    for series in &mut rows.series {
        series.ms.map(|_, ms| day * DAY_MS + ms);
    }
    findings.note(Finding::FirstDay { date: date(day * DAY_MS, "%Y-%m-%d"), because });
    Ok(findings)
}

/// Makes the clock times of a log's rows run on over midnights, in the order of their lines, or
/// against it in a log that was turned round.
fn run_on(series: &mut [Series]) {
    let mut clock = Midnights::default();
    if let [only] = series {
        only.ms.map(|_, ms| clock.run_on(ms));
        return;
    }
    let mut places: Vec<(u32, usize, usize)> = Vec::new();
    for (index, series) in series.iter().enumerate() {
        places.extend(series.line.iter().enumerate().map(|(row, line)| (line, index, row)));
    }
    places.sort_unstable();
    if series.iter().any(|series| series.line.first() > series.line.last()) {
        places.reverse();
    }
    let mut times: Vec<Vec<i64>> = series.iter().map(|series| series.ms.to_vec()).collect();
    for (_, index, row) in places {
        times[index][row] = clock.run_on(times[index][row]);
    }
    for (series, times) in series.iter_mut().zip(times) {
        series.ms = times.into();
    }
}

/// Whether numbers that were taken for elapsed times are those of a clock: within a day all of them,
/// begun far from zero, and going back from a day's end to its beginning as they pass midnight.
fn pass_midnight(times: &Packed<i64>) -> bool {
    let within = times.iter().all(|ms| (0..DAY_MS).contains(&ms));
    let begins_far = times.first().is_some_and(|first| first > FAR_FROM_ZERO_MS);
    within && begins_far && times.pairs().any(|(one, next)| one - next > PAST_MIDNIGHT_MS)
}

/// The day on which a log without dates begins, in days since 1970-01-01: the layout's, the
/// settings', the answer's, the preamble's, or the one on which the log would hold the sheet's meat-on.
fn first_day(plan: &Plan<'_>, rows: &Rows<'_>, first: i64, last: i64) -> Option<(i64, Reason)> {
    let layout = || {
        let start = plan.layout.time.start.as_deref()?.as_bytes();
        let whole = time::parse_iso(start).map(|stamp| stamp.ms.div_euclid(DAY_MS));
        Some((whole.or_else(|| time::parse_iso_date(start))?, Reason::Layout))
    };
    let settings = || {
        let day = days_of(plan.options.date_of(plan.shown_as)?)?;
        Some((day, Reason::DatesOfSettings))
    };
    let answer = || Some((days_of(plan.options.answered.day?)?, Reason::Answer));
    let preamble = || {
        let day = preamble::day(plan.preamble.iter().chain(&rows.remarks))?;
        Some((day.day, Reason::PreambleDay { line: day.text }))
    };
    layout()
        .or_else(settings)
        .or_else(answer)
        .or_else(preamble)
        .or_else(|| Some((day_of_the_sheet(plan, first, last)?, Reason::SheetHasCook)))
}

/// The one day on which the log, begun there, holds a meat-on of the sheet, or (where the sheet
/// has no instant, and the log no midnight) the sheet's date.
fn day_of_the_sheet(plan: &Plan<'_>, first: i64, last: i64) -> Option<i64> {
    let hint = &plan.options.sheet;
    let mut days: Vec<i64> = Vec::new();
    for &instant in &hint.meat_on_ms {
        let local = zone::local_ms(&plan.options.zone, instant);
        let day = local.div_euclid(DAY_MS);
        days.extend(
            (day - 2..=day)
                .filter(|day| (day * DAY_MS + first..=day * DAY_MS + last).contains(&local)),
        );
    }
    if hint.meat_on_ms.is_empty() && last < DAY_MS {
        days.extend(hint.dates.iter().filter_map(|&date| days_of(date)));
    }
    days.sort_unstable();
    days.dedup();
    if days.len() > 1 && !hint.meat_on_ms.is_empty() {
        days = days_of_long_log(hint, &plan.options.zone, &days, first, last);
    }
    match days[..] {
        [only] => Some(only),
        _ => None,
    }
}

/// Of several days on which a log of more than a day holds a meat-on, that on which it holds all of
/// them within its first day and every pull: nobody lets a logger run for a day before the meat goes
/// on.
fn days_of_long_log(
    hint: &SheetHint,
    zone: &TimeZone,
    days: &[i64],
    first: i64,
    last: i64,
) -> Vec<i64> {
    let since = |instant: &i64, day: &i64| zone::local_ms(zone, *instant) - day * DAY_MS - first;
    let soon = |day: &&i64| {
        hint.meat_on_ms.iter().all(|on| (0..DAY_MS).contains(&since(on, day)))
            && hint.pull_ms.iter().all(|pull| (0..=last - first).contains(&since(pull, day)))
    };
    days.iter().filter(soon).copied().collect()
}

/// The day in a file's name: eight digits, year first, perhaps with signs between (`2026-06-06`).
fn day_in_name(file: &str) -> Option<Date> {
    let bytes = file.as_bytes();
    (0..bytes.len()).find_map(|at| {
        let digits = |from: usize, count: usize| -> Option<i16> {
            let part = bytes.get(from..from + count)?;
            part.iter()
                .all(u8::is_ascii_digit)
                .then(|| std::str::from_utf8(part).ok()?.parse().ok())?
        };
        let is_digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
        if at > 0 && is_digit(at - 1) {
            return None;
        }
        let gap = usize::from(matches!(bytes.get(at + 4), Some(b'-' | b'_' | b'.')));
        let year = digits(at, 4).filter(|year| (1990..2100).contains(year))?;
        let month = digits(at + 4 + gap, 2)?;
        let end = at + 8 + 2 * gap;
        let day = digits(end - 2, 2).filter(|_| !is_digit(end))?;
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    })
}

/// A date in days since 1970-01-01.
fn days_of(date: Date) -> Option<i64> {
    time::days_of(date.year().into(), date.month().into(), date.day().into())
}

/// Makes clock times of consecutive rows run on over midnights: a step back of more than
/// half a day begins a new day; a step on of more than half a day is a row of the day
/// before that came late.
#[derive(Default)]
struct Midnights {
    day: i64,
    previous: Option<i64>,
}

impl Midnights {
    /// The time of the next row, from the first day's beginning.
    fn run_on(&mut self, ms: i64) -> i64 {
        let mut own = self.day;
        if let Some(previous) = self.previous {
            if previous - ms > DAY_MS / 2 {
                self.day += 1;
                own = self.day;
            } else if ms - previous > DAY_MS / 2 && self.day > 0 {
                own = self.day - 1;
            }
        }
        if own == self.day {
            self.previous = Some(ms);
        }
        ms + own * DAY_MS
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_log_begins_where_its_meat_goes_on_within_a_day_and_comes_off_within_it() {
        // From 18:00 on for 40 hours; the meat goes on at 20:00 of day 100.
        let (first, last) = (18 * HOUR_MS, 58 * HOUR_MS);
        let at = |day: i64, hour: i64| day * DAY_MS + hour * HOUR_MS;
        let hint = |pull: i64| SheetHint {
            meat_on_ms: vec![at(100, 20)],
            pull_ms: vec![pull],
            ..SheetHint::default()
        };
        let found =
            |pull: i64| days_of_long_log(&hint(pull), &TimeZone::UTC, &[99, 100], first, last);
        assert_eq!(found(at(101, 12)), [100]);
        // A pull beyond the log is none of it.
        assert_eq!(found(at(103, 12)), [0_i64; 0]);
    }

    const HOUR_MS: i64 = 3_600_000;

    #[test]
    fn numbers_that_go_back_at_midnight_are_of_a_clock() {
        let steps = |from: i64, count: i64| (0..count).map(move |i| (from + i * 60_000) % DAY_MS);
        let times = |from, count| steps(from, count).collect::<Packed<i64>>();
        assert!(pass_midnight(&times(20 * HOUR_MS, 600)));
        assert!(!pass_midnight(&times(8 * HOUR_MS, 600)));
        // Two logs from zero; a log of more than a day.
        assert!(!pass_midnight(&times(0, 600).iter().chain(&times(0, 600)).collect()));
        let long: Packed<i64> = (0..2000).map(|i| i * 60_000).collect();
        assert!(!pass_midnight(&long));
    }

    #[test]
    fn days_in_names_of_files() {
        let day = Some(jiff::civil::date(2026, 6, 6));
        for name in ["night_2026-06-06.csv", "20260606.csv", "2026_06_06 flat.csv"] {
            assert_eq!(day_in_name(name), day, "{name}");
        }
        for name in ["night.csv", "120260606.csv", "2026-13-06.csv", "202606061.csv", "x-2026-6-6"]
        {
            assert_eq!(day_in_name(name), None, "{name}");
        }
    }

    #[test]
    fn clocks_run_on_over_midnight() {
        // The third is a row of the day before.
        let mut clock = Midnights::default();
        let read = [23 * HOUR_MS, HOUR_MS, 23 * HOUR_MS + 1, 2 * HOUR_MS];
        assert_eq!(
            read.map(|ms| clock.run_on(ms)),
            [23 * HOUR_MS, 25 * HOUR_MS, 23 * HOUR_MS + 1, 26 * HOUR_MS]
        );
    }
}
