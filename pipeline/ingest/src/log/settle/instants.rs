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
use columns::Packed;

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
    let is_local = rows.series.iter().any(|series| series.local.iter().any(|local| local));
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
) -> Result<Packed<Option<i64>>, zone::Question> {
    let mut times = series.known_times();
    let mended = resets::mend(series, resets, &mut times);
    series.retimed.extend(mended);
    for row in order::strays(&times) {
        times.set(row, None);
        series.out.push((row, Code::StrayTime));
    }
    match *clock {
        Clock::Elapsed(zero) => times.map(|_, time| time.map(|ms| ms + zero)),
        Clock::Offset(offset) => by_offset(&mut times, &series.local, offset),
        Clock::Zone(zone) => {
            let local = || times.iter().zip(&series.local).filter(|(_, local)| *local);
            let local = || local().filter_map(|(time, _)| time);
            let (Some(first), Some(last)) = (local().min(), local().max()) else {
                return Ok(times);
            };
            let offsets = Zone::over(zone, first, last);
            if let Some(offset) = offsets.only() {
                by_offset(&mut times, &series.local, offset);
                return Ok(times);
            }
            let is_local = |(row, (time, local)): (usize, (Option<i64>, bool))| {
                time.filter(|_| local).map(|_| row)
            };
            let rows: Packed<usize> =
                times.iter().zip(&series.local).enumerate().filter_map(is_local).collect();
            let mut troubles = Vec::new();
            let resolved =
                resolve(&offsets, &local().collect(), &mut troubles).map_err(|question| {
                    match question {
                        zone::Question::Fold(at, both) => zone::Question::Fold(rows.at(at), both),
                        zone::Question::Gap(at) => zone::Question::Gap(rows.at(at)),
                    }
                })?;
            for (at, trouble) in troubles {
                let code = match trouble {
                    Trouble::Gap => Code::TimeInGap,
                    Trouble::Twice => Code::AmbiguousTime,
                };
                series.out.push((rows.at(at), code));
            }
            let (mut local, mut resolved) = (series.local.iter(), resolved.iter());
            times.map(|_, time| match (time, local.next()) {
                (Some(_), Some(true)) => resolved.next().flatten(),
                _ => time,
            });
        }
    }
    Ok(times)
}

/// Gives times without an offset this one.
fn by_offset(times: &mut Packed<Option<i64>>, local: &Packed<bool>, offset: i64) {
    let mut local = local.iter();
    times.map(|_, time| match local.next() {
        Some(true) => time.map(|ms| ms - offset),
        _ => time,
    });
}

/// [`zone::resolve`] of a long column: it is asked of the runs of times that have no instant or two, each with a row
/// that has one on either side.
fn resolve(
    zone: &Zone,
    local: &Packed<i64>,
    troubles: &mut Vec<(usize, Trouble)>,
) -> Result<Packed<Option<i64>>, zone::Question> {
    let one = |ms: i64| match zone.candidates(ms) {
        (Some(instant), None) => Some(instant),
        _ => None,
    };
    let mut out: Packed<Option<i64>> = Packed::new();
    let mut times = local.iter();
    while out.len() < local.len() {
        let at = out.len();
        if let Some(instant) = times.next().and_then(one) {
            out.push(Some(instant));
            continue;
        }
        let run = local.range(at..local.len()).take_while(|ms| one(*ms).is_none()).count();
        let from = at.saturating_sub(1);
        let part: Vec<i64> = local.range(from..(at + run + 1).min(local.len())).collect();
        let resolved = zone::resolve(zone, &part).map_err(|question| match question {
            zone::Question::Fold(place, both) => zone::Question::Fold(from + place, both),
            zone::Question::Gap(place) => zone::Question::Gap(from + place),
        })?;
        for (place, instant) in resolved.into_iter().skip(at - from).take(run).enumerate() {
            troubles.extend(instant.err().map(|trouble| (at + place, trouble)));
            out.push(instant.ok());
        }
        times = local.range(at + run..local.len());
    }
    Ok(out)
}

fn ask(plan: &Plan<'_>, rows: &Rows<'_>, series: &Series, question: zone::Question) -> Question {
    let (row, asks) = match question {
        zone::Question::Fold(row, both) => {
            let offset = |at_ms: i64| time::offset_text(series.ms.at(row) - at_ms);
            (row, Asks::HourTwice(both.map(|at_ms| (at_ms, offset(at_ms)))))
        }
        zone::Question::Gap(row) => {
            // A day before and after: no zone changes its offset twice in so short a time.
            let near = |days: i64| series.ms.at(row) + days * time::DAY_MS;
            let offset =
                |local: i64| time::offset_text(local - zone::instant_of(&plan.options.zone, local));
            (row, Asks::HourSkipped([offset(near(-1)), offset(near(1))]))
        }
    };
    Question { place: rows.place_of(series, row), asks }
}
