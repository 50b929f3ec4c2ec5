//! A clock that was put back while the log ran on.

use super::steps::{interval, runs_on, same_values};
use crate::error::IngestError;
use crate::log::finding::{Finding, Findings};
use crate::log::plan::decide::Plan;
use crate::log::question::{Asks, Question};
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use columns::Packed;
use cook::season::ClockJump;

const HOUR_MS: i64 = 3_600_000;
/// Rows that run on behind a jump before it is taken for one.
const RUN: usize = 5;
/// Rows to each time that goes far back, below which nothing tells a clock put back from lines in no
/// order.
const FEWEST_ROWS_A_JUMP: usize = 8;
/// Places in the order of time by which neighbours that are told the wrong way round differ at
/// most.
const FAR_BACK: usize = 3;
/// Jumps back of which a log can have this many; one with more is out of order.
const MOST_JUMPS: usize = 8;

/// The setting says which clock was right, and the other's rows are moved; without it the log is
/// refused.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Result<Findings, IngestError> {
    let mut findings = Findings::default();
    for index in 0..rows.series.len() {
        let mut times = std::mem::take(&mut rows.series[index].at_ms);
        for jump in jumps(&rows.series[index], &times) {
            let series = &rows.series[index];
            let known = plan.options.answered.jump.or(plan.options.clock_jump);
            let (moved, shift) = match known {
                _ if jump.is_half_a_day(interval(&times)) => {
                    return Err(half_a_day(rows, series, jump));
                }
                Some(ClockJump::FirstIsRight) => (jump.row..times.len(), jump.back),
                Some(ClockJump::LastIsRight) => (0..jump.row, -jump.back),
                None => {
                    let at_ms = times.at(jump.row).unwrap_or_default();
                    return Err(Question {
                        place: rows.place_of(series, jump.row),
                        asks: Asks::ClockPutBack { at_ms, back_ms: jump.back },
                    }
                    .into());
                }
            };
            let line = series.line.at(jump.row);
            let known = moved.clone().filter(|&row| times.at(row).is_some());
            rows.series[index].retimed.extend(known);
            let put = |row, ms: i64| if moved.contains(&row) { ms + shift } else { ms };
            times.map(|row, time| time.map(|ms| put(row, ms)));
            findings.note(Finding::ClockPutBack {
                line,
                back_ms: jump.back,
                first_is_right: shift > 0,
            });
        }
        rows.series[index].at_ms = times;
    }
    Ok(findings)
}

/// A clock of twelve hours without AM and PM.
fn half_a_day(rows: &Rows<'_>, series: &Series, jump: Jump) -> IngestError {
    IngestError::Contradiction {
        place: rows.place_of(series, jump.row).into(),
        what: "the clock goes back by half a day: twelve hours without AM or PM".to_owned(),
        try_this: "export the log with AM and PM, or with 24 hours".to_owned(),
    }
}

/// A place at which a clock was put back while the log ran on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Jump {
    /// The first row after it.
    row: usize,
    /// How far back, ms: what to add to the rows after it so that the log runs on.
    back: i64,
}

impl Jump {
    /// Whether it is the noon or midnight of a clock of twelve hours.
    fn is_half_a_day(self, interval: i64) -> bool {
        (self.back - 12 * HOUR_MS).abs() <= interval.max(60_000)
    }
}

/// Where the clock goes back and at least five rows run on from there, through times that
/// the log has had already with other values, or from temperatures that go on without a
/// step. A row out of place, a block that fills a hole, and a block told twice are no
/// jumps.
fn jumps(series: &Series, times: &Packed<Option<i64>>) -> Vec<Jump> {
    if times.iter().flatten().is_sorted() {
        return Vec::new();
    }
    let rows: Vec<usize> = (0..times.len()).filter(|&row| times.at(row).is_some()).collect();
    let at = |i: usize| times.at(rows[i]).unwrap_or_default();
    let backs: Vec<usize> = (1..rows.len()).filter(|&i| at(i) < at(i - 1)).collect();
    if backs.is_empty() {
        return Vec::new();
    }
    let step = interval(times);
    // No clock is put back at every turn: such lines were written in no order. Far is told by
    // how many of the log's times lie between, as unordered lines tell nothing of the interval.
    let mut ordered: Vec<i64> = rows.iter().filter_map(|&row| times.at(row)).collect();
    ordered.sort_unstable();
    ordered.dedup();
    let rank = |ms: i64| ordered.partition_point(|&other| other < ms);
    let far_back = backs.iter().filter(|&&i| rank(at(i - 1)) - rank(at(i)) > FAR_BACK).count();
    if far_back * FEWEST_ROWS_A_JUMP > rows.len() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (n, &i) in backs.iter().enumerate() {
        let end = backs.get(n + 1).copied().unwrap_or(rows.len());
        let start = if n == 0 { 0 } else { backs[n - 1] };
        if end - i < RUN || i - start < RUN || stand_behind_their_place(at, start, i, end, step) {
            continue;
        }
        let (mut told, mut differing) = (0, 0);
        // Rows before the jump are in order; both walk on together.
        let mut earlier = start;
        for j in i..end {
            while earlier + 1 < i && at(earlier + 1) <= at(j) {
                earlier += 1;
            }
            let inside = at(earlier) <= at(j)
                && earlier + 1 < i
                && at(earlier + 1) - at(earlier) <= 3 * step;
            if inside {
                told += 1;
                differing += usize::from(
                    at(earlier) != at(j) || !same_values(series, rows[earlier], rows[j]),
                );
            }
        }
        // One that differs is a row out of place in a block that is told twice.
        let overlaps = told >= 3 && differing >= 2 && differing * 5 > told;
        let goes_on = told < 3
            && at(i - 1) - at(i) > 10 * step
            && at(i + RUN - 1) < at(i - 1)
            && runs_on(series, rows[i - 1], rows[i], 1)
            && !fills_a_hole(
                &rows[..i].iter().map(|&row| times.at(row)).collect::<Vec<_>>(),
                at(i),
                at(end - 1),
                step,
            );
        if overlaps || goes_on {
            found.push(Jump { row: rows[i], back: at(i - 1) + step - at(i) });
        }
    }
    if found.len() > MOST_JUMPS { Vec::new() } else { found }
}

/// Whether the rows from `i` on are a few out of place: behind them the log goes on from where
/// it was before them, and each of them fills a hole between the rows since `start`.
fn stand_behind_their_place(
    at: impl Fn(usize) -> i64,
    start: usize,
    i: usize,
    end: usize,
    step: i64,
) -> bool {
    let Some(on) = (i + 1..end).find(|&j| at(j) > at(i - 1)) else { return false };
    let goes_on = at(on) - at(on - 1) > 3 * step && at(on) - at(i - 1) <= 3 * step;
    // Both run on in order.
    let mut after = start;
    let mut fills_a_hole = |j: usize| {
        while after < i && at(after) < at(j) {
            after += 1;
        }
        let is_near = |other: usize| (at(other) - at(j)).abs() * 2 < step;
        let crowded = (after < i && is_near(after)) || (after > start && is_near(after - 1));
        !crowded
    };
    goes_on && (i..on).all(&mut fills_a_hole)
}

/// Whether rows from `first` to `last` fit between two neighbouring earlier rows.
fn fills_a_hole(earlier: &[Option<i64>], first: i64, last: i64, step: i64) -> bool {
    let below = earlier.iter().flatten().copied().filter(|&ms| ms < first).max();
    let above = earlier.iter().flatten().copied().filter(|&ms| ms > last).min();
    below.is_some_and(|ms| first - ms <= 3 * step) && above.is_some_and(|ms| ms - last <= 3 * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_put_back_is_told_from_rows_out_of_order() {
        let minutes = |list: &[i64]| -> Packed<Option<i64>> {
            list.iter().map(|m| Some(m * 60_000)).collect()
        };
        let forward: Vec<i64> = (0..20).collect();
        let back: Vec<i64> = (0..20).chain(10..20).collect();
        let values: Vec<f32> = (0..30).map(|i| i as f32).collect();
        let log = Series::of(values);
        assert_eq!(jumps(&log, &minutes(&back)), [Jump { row: 20, back: 600_000 }]);
        assert!(jumps(&log, &minutes(&forward)).is_empty());
        // A block in the wrong place fills a hole.
        let block: Vec<i64> = (0..10).chain(20..30).chain(10..20).collect();
        assert!(jumps(&log, &minutes(&block)).is_empty());
        // So do a few rows, one told twice, behind which the log goes on from where it was.
        let few: Vec<i64> = (0..10).chain(12..20).chain([10, 11, 11]).chain(20..29).collect();
        assert!(jumps(&log, &minutes(&few)).is_empty());
        // Where the log has had their times already, it was the clock.
        let again: Vec<i64> = (0..20).chain([10, 11, 12]).chain(20..27).collect();
        assert_eq!(jumps(&log, &minutes(&again)).len(), 1);
        // And a block told twice with a row out of place in it.
        let torn: Vec<i64> = (0..10).chain([11, 12, 13, 14, 10, 11, 12, 13, 14, 10]).collect();
        let same: Vec<f32> = torn.iter().map(|&minute| minute as f32).collect();
        assert!(jumps(&Series::of(same), &minutes(&torn)).is_empty());
        // Lines in no order are that, though two of their runs happen to be long.
        let shuffled =
            [11, 19, 7, 12, 9, 0, 1, 3, 13, 18, 22, 5, 10, 15, 17, 23, 14, 6, 2, 21, 20, 4, 8, 16];
        let values = (0..24).map(|i| (i * 17 % 24) as f32).collect();
        assert!(jumps(&Series::of(values), &minutes(&shuffled)).is_empty());
        // Far back and on without a step: the clock. With a step: another piece of the log.
        let far: Vec<i64> = (1000..1020).chain(0..10).collect();
        assert_eq!(jumps(&log, &minutes(&far)).len(), 1);
        let step = Series::of((0..30).map(|i| if i < 20 { 5.0 } else { 60.0 }).collect());
        assert!(jumps(&step, &minutes(&far)).is_empty());
        // A block told twice has the same values.
        let same: Vec<f32> = (0..20).chain(10..20).map(|i| i as f32).collect();
        assert!(jumps(&Series::of(same), &minutes(&back)).is_empty());
    }
}
