//! Written times to instants.

use super::order;
use super::resets::{self, Reset};
use crate::code::Code;
use crate::error::IngestError;
use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::reason::Reason;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use crate::log::words;
use crate::time;
use crate::zone::{self, Trouble, Zone};

/// What written times are to be made of.
enum Clock<'z> {
    /// They count from the log's zero, which lies at this instant (0 where unknown).
    Elapsed(i64),
    /// Times without an offset have this one, ms east of UTC.
    Offset(i64),
    /// Times without an offset are of this zone.
    Zone(&'z jiff::tz::TimeZone),
}

/// Gives every row its instant, or rejects it. A clock that started anew is put right, and dates
/// far from all others are rejected, before the zone is asked: it would make nonsense of both.
///
/// # Errors
/// [`Asks::HourTwice`] and [`Asks::HourSkipped`].
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let elapsed = plan.format.is_elapsed() && !rows.of_the_day;
    let own = zone_of_log(plan, rows);
    let (clock, because) = if elapsed {
        (Clock::Elapsed(rows.zero_ms.unwrap_or(0)), Reason::OwnOffsets)
    } else {
        match &own {
            Some((LogZone::Offset(offset), because)) => (Clock::Offset(*offset), because.clone()),
            Some((LogZone::Zone(zone), because)) => (Clock::Zone(zone), because.clone()),
            None => (Clock::Zone(&plan.options.zone), Reason::SeasonZone),
        }
    };
    let mut findings = Findings::default();
    let is_local = rows.series.iter().any(|series| series.local.contains(&true));
    if is_local && !elapsed && own.is_none() && !plan.options.zone_known {
        return Err(Question { place: rows.place_of_first(), asks: Asks::TimeZone }.into());
    }
    if let Some(finding) = zone_finding(&clock, because, is_local) {
        findings.note(finding);
    }
    let mut resets: Vec<Vec<Reset>> = if elapsed {
        vec![Vec::new(); rows.series.len()]
    } else {
        rows.series.iter().map(resets::resets).collect()
    };
    resets::agree(&mut resets);
    for (index, resets) in resets.iter().enumerate() {
        let times = instants(&mut rows.series[index], &clock, resets)
            .map_err(|question| ask(plan, rows, &rows.series[index], question))?;
        rows.series[index].at_ms = times;
    }
    Ok(findings)
}

/// The zone that a log's own times have.
enum LogZone {
    /// ms east of UTC.
    Offset(i64),
    Zone(jiff::tz::TimeZone),
}

/// What a layout, an answer, the time column's name or a line of the preamble says of the zone of
/// times without an offset.
fn zone_of_log(plan: &Plan<'_>, rows: &Rows<'_>) -> Option<(LogZone, Reason)> {
    let parse = |text: &str| {
        let offset = time::parse_offset(text.trim().as_bytes())?;
        Some(LogZone::Offset(i64::from(offset) * 1000))
    };
    let layout = plan.layout.time.utc_offset.as_deref().and_then(parse);
    if let Some(offset) = layout {
        return Some((offset, Reason::Layout));
    }
    if let Some(offset) = plan.options.answered.offset.as_deref().and_then(parse) {
        return Some((offset, Reason::Answer));
    }
    let is_utc = |column: &&usize| words::is_utc(&plan.names[**column]);
    if let Some(&column) = plan.time.iter().find(is_utc) {
        let name = plan.names[column].clone();
        return Some((LogZone::Offset(0), Reason::NameSaysZone { name }));
    }
    let remarks = plan.preamble.iter().chain(&rows.remarks);
    remarks.filter(|(key, _)| words::is_zone(key)).find_map(|(key, value)| {
        let named = || jiff::tz::TimeZone::get(value.trim()).ok().map(LogZone::Zone);
        let because = Reason::Preamble { key: key.clone(), value: value.clone() };
        Some((parse(value).or_else(named)?, because))
    })
}

/// Which zone the times are of.
fn zone_finding(clock: &Clock<'_>, because: Reason, is_local: bool) -> Option<Finding> {
    let (name, because) = match clock {
        Clock::Elapsed(_) => return None,
        _ if !is_local => ("as written".to_owned(), Reason::OwnOffsets),
        Clock::Offset(offset) => (time::offset_text(*offset), because),
        Clock::Zone(zone) => (zone.iana_name().unwrap_or("the season's").to_owned(), because),
    };
    Some(Finding::Zone { name, because })
}

/// The instant of each row, `None` where it is rejected.
fn instants(
    series: &mut Series,
    clock: &Clock<'_>,
    resets: &[Reset],
) -> Result<Vec<Option<i64>>, zone::Question> {
    let mut times = series.known_times();
    let mended = resets::mend(series, resets, &mut times);
    series.retimed.extend(mended);
    for row in order::strays(&times) {
        times[row] = None;
        series.out.push((row, Code::StrayTime));
    }
    match *clock {
        Clock::Elapsed(zero) => times.iter_mut().flatten().for_each(|ms| *ms += zero),
        Clock::Offset(offset) => {
            for (time, &local) in times.iter_mut().zip(&series.local) {
                if local && let Some(ms) = time {
                    *ms -= offset;
                }
            }
        }
        Clock::Zone(zone) => {
            let is_local = |&i: &usize| series.local[i] && times[i].is_some();
            let local = || (0..times.len()).filter(is_local).filter_map(|i| times[i]);
            let (Some(first), Some(last)) = (local().min(), local().max()) else {
                return Ok(times);
            };
            let offsets = Zone::over(zone, first, last);
            if let Some(offset) = offsets.only() {
                for (time, local) in times.iter_mut().zip(&series.local) {
                    if *local && let Some(ms) = time {
                        *ms -= offset;
                    }
                }
                return Ok(times);
            }
            let rows: Vec<usize> = (0..times.len()).filter(is_local).collect();
            let local: Vec<i64> = local().collect();
            let resolved = zone::resolve(&offsets, &local).map_err(|question| match question {
                zone::Question::Fold(at, both) => zone::Question::Fold(rows[at], both),
                zone::Question::Gap(at) => zone::Question::Gap(rows[at]),
            })?;
            for (row, instant) in rows.into_iter().zip(resolved) {
                times[row] = instant.ok();
                if let Err(trouble) = instant {
                    let code = match trouble {
                        Trouble::Gap => Code::TimeInGap,
                        Trouble::Twice => Code::AmbiguousTime,
                    };
                    series.out.push((row, code));
                }
            }
        }
    }
    Ok(times)
}

fn ask(plan: &Plan<'_>, rows: &Rows<'_>, series: &Series, question: zone::Question) -> Question {
    let (row, asks) = match question {
        zone::Question::Fold(row, both) => {
            let offset = |at_ms: i64| time::offset_text(series.ms[row] - at_ms);
            (row, Asks::HourTwice(both.map(|at_ms| (at_ms, offset(at_ms)))))
        }
        zone::Question::Gap(row) => {
            // A day before and after: no zone changes its offset twice in so short a time.
            let near = |days: i64| series.ms[row] + days * time::DAY_MS;
            let offset =
                |local: i64| time::offset_text(local - zone::instant_of(&plan.options.zone, local));
            (row, Asks::HourSkipped([offset(near(-1)), offset(near(1))]))
        }
    };
    Question { place: rows.place_of(series, row), asks }
}
