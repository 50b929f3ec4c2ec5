//! A clock that was put forward while the log ran on.
//!
//! It looks like a gap. But meat that warms before a gap and after it has warmed within it as well: where
//! it goes on from where it was, no time has passed, and the clock was put forward.

use super::steps::{interval, runs_on};
use crate::error::IngestError;
use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use columns::Packed;
use std::ops::Range;

const MINUTE_MS: i64 = 60_000;
/// The shortest gap that is looked at, ms.
const SHORTEST_MS: i64 = 20 * MINUTE_MS;
/// And in usual steps of the log.
const FEWEST_STEPS: i64 = 10;
/// The longest: no clock is wrong by more without its date being so, ms.
const LONGEST_MS: i64 = 24 * 60 * MINUTE_MS;
/// How much of a log on either side tells how fast meat warms, ms, and how many rows at least.
const BESIDE_MS: i64 = 20 * MINUTE_MS;
const FEWEST_ROWS: usize = 8;
/// What meat would have warmed within the gap, at least, for its standing still to tell, °C.
const LEAST_WARMED_C: f64 = 5.0;
/// The share of that which it may have warmed.
const STOOD_STILL: f64 = 0.2;

/// The answer says which clock was right, and the other's rows are moved, or that it is a gap; without it the
/// log is refused.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    let mut jumps: Vec<(i64, i64, u32)> = Vec::new();
    for series in &rows.series {
        for (row, on_ms) in put_on(series) {
            let at_ms = series.at_ms.at(row).unwrap_or_default();
            if jumps.iter().any(|(known, ..)| *known == at_ms) {
                continue;
            }
            if plan.options.answered.put_on.iter().all(|(known, _)| *known != at_ms) {
                let place = rows.place_of(series, row);
                return Err(Question { place, asks: Asks::ClockPutOn { at_ms, on_ms } }.into());
            }
            jumps.push((at_ms, on_ms, series.line.at(row)));
        }
    }
    let mut moves: Vec<(i64, i64, bool)> = Vec::new();
    for (at_ms, on_ms, line) in jumps {
        let answered = plan.options.answered.put_on.iter().find(|(known, _)| *known == at_ms);
        let first_is_right = match answered.map(|(_, answer)| answer.as_str()) {
            Some("first-is-right") => true,
            Some("last-is-right") => false,
            _ => continue,
        };
        moves.push((at_ms, on_ms, first_is_right));
        findings.note(Finding::ClockPutOn { line, on_ms, first_is_right });
    }
    // All by the times as logged: what one jump moves is not held against the next.
    for series in rows.series.iter_mut().filter(|_| !moves.is_empty()) {
        let retimed = &mut series.retimed;
        series.at_ms.map(|row, time| {
            let was = time?;
            let by_ms: i64 = moves
                .iter()
                .map(|(at_ms, on_ms, first_is_right)| match (was >= *at_ms, first_is_right) {
                    (true, true) => -on_ms,
                    (false, false) => *on_ms,
                    _ => 0,
                })
                .sum();
            if by_ms != 0 {
                retimed.push(row);
            }
            Some(was + by_ms)
        });
    }
    Ok(findings)
}

/// The rows before which the clock was put forward, and by how much, ms.
fn put_on(series: &Series) -> Vec<(usize, i64)> {
    let known = || series.at_ms.iter().flatten();
    let mut steps = known().zip(known().skip(1)).map(|(one, next)| next - one);
    if !steps.any(|step| step > SHORTEST_MS) {
        return Vec::new();
    }
    let is_known = |(row, time): (usize, Option<i64>)| time.map(|_| row);
    let rows: Packed<usize> = series.at_ms.iter().enumerate().filter_map(is_known).collect();
    let at = |i: usize| series.at_ms.at(rows.at(i)).unwrap_or_default();
    let step = interval(&series.at_ms);
    let is_gap = |i: &usize| {
        let gap = at(*i) - at(*i - 1);
        gap > SHORTEST_MS.max(FEWEST_STEPS * step) && gap <= LONGEST_MS
    };
    let gaps: Vec<usize> = (1..rows.len()).filter(is_gap).collect();
    let mut found = Vec::new();
    for (n, &i) in gaps.iter().enumerate() {
        let start = if n == 0 { 0 } else { gaps[n - 1] };
        let end = gaps.get(n + 1).copied().unwrap_or(rows.len());
        let from = (start..i).find(|&j| at(i - 1) - at(j) <= BESIDE_MS).unwrap_or(i);
        let to = (i..end).rev().find(|&j| (0..=BESIDE_MS).contains(&(at(j) - at(i)))).unwrap_or(i);
        let stood_still = series.values.iter().any(|values| {
            let before = line(values, series, &rows, from..i, at(i - 1));
            let after = line(values, series, &rows, i..to + 1, at(i));
            before.zip(after).is_some_and(|(before, after)| {
                let slope = before.slope.min(after.slope);
                let warmed = slope * (at(i) - at(i - 1)) as f64;
                let stepped = after.value - before.value - slope * step as f64;
                slope > 0.5 * before.slope.max(after.slope)
                    && warmed >= LEAST_WARMED_C
                    && stepped.abs() <= STOOD_STILL * warmed
            })
        });
        if stood_still && runs_on(series, rows.at(i - 1), rows.at(i), 1) {
            found.push((rows.at(i), at(i) - at(i - 1) - step));
        }
    }
    found
}

/// A straight line through values: its slope, °C/ms, and its value at an instant.
struct Line {
    slope: f64,
    value: f64,
}

fn line(
    values: &Packed<f32>,
    series: &Series,
    rows: &Packed<usize>,
    part: Range<usize>,
    at_ms: i64,
) -> Option<Line> {
    let points: Vec<(f64, f64)> = part
        .filter_map(|i| {
            let row = rows.at(i);
            let value = f64::from(values.at(row));
            (!value.is_nan()).then_some(((series.at_ms.at(row)? - at_ms) as f64, value))
        })
        .collect();
    if points.len() < FEWEST_ROWS {
        return None;
    }
    let n = points.len() as f64;
    let (x, y) = points.iter().fold((0.0, 0.0), |(x, y), point| (x + point.0, y + point.1));
    let (x, y) = (x / n, y / n);
    let (mut xx, mut xy) = (0.0, 0.0);
    for point in &points {
        xx += (point.0 - x).powi(2);
        xy += (point.0 - x) * (point.1 - y);
    }
    let slope = xy / xx;
    (xx > 0.0).then_some(Line { slope, value: y - slope * x })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A log whose meat warms by 0.3 °C a minute, with minutes and values of its own behind the 60th.
    fn log(minutes: impl Fn(i64) -> i64, meat: impl Fn(i64) -> f32) -> Series {
        let mut log = Series::of((0..120).map(meat).collect());
        log.at_ms = (0..120).map(|row| Some(minutes(row) * MINUTE_MS)).collect();
        log
    }

    #[test]
    fn meat_that_stood_still_in_a_gap_tells_a_clock_that_was_put_forward() {
        let gap = |row: i64| if row < 60 { row } else { row + 60 };
        let warming = |row: i64| 20.0 + 0.3 * row as f32;
        assert_eq!(put_on(&log(gap, warming)), [(60, 60 * MINUTE_MS)]);
        // A true gap, in which it warmed on; a stall, which tells nothing; no gap at all.
        let warmed = |row: i64| 20.0 + 0.3 * gap(row) as f32;
        assert!(put_on(&log(gap, warmed)).is_empty());
        assert!(put_on(&log(gap, |_| 68.0)).is_empty());
        assert!(put_on(&log(|row| row, warming)).is_empty());
        // Meat that cooled in the gap, as under an open lid, and a push that began in it.
        assert!(
            put_on(&log(gap, |row| warming(row) - if row < 60 { 0.0 } else { 9.0 })).is_empty()
        );
        let pushed = |row: i64| if row < 60 { 68.0 } else { 50.0 + 0.3 * row as f32 };
        assert!(put_on(&log(gap, pushed)).is_empty());
    }
}
