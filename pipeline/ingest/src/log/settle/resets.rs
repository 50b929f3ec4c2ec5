//! Rows of a clock that started anew, among rows of one that was set.

use super::steps::{interval, runs_on};
use crate::code::Code;
use crate::log::rows::series::Series;
use columns::Packed;

/// 2005-01-01T00:00:00: a clock before it was never set (1970, 1980, 2000 … are where
/// clocks start).
pub(crate) const NEVER_SET_MS: i64 = 1_104_537_600_000;

/// Rows of a clock that started anew, among rows of one that was set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Reset {
    /// The rows, in the order of the log.
    rows: Vec<usize>,
    /// By how much they are to be moved, ms.
    shift: Option<Shift>,
}

/// How far rows are to be moved, ms, and what they are joined to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shift {
    /// The row after them.
    Before(i64),
    /// The row before them.
    Behind(i64),
}

/// The rows whose clock started anew. Where no temperature steps, the log ran on: they are
/// to be moved so that the last of them lies one usual step before the row after it, or
/// (where the clock was never set again) so that the first lies one usual step behind the
/// row before it.
pub(crate) fn resets(series: &Series) -> Vec<Reset> {
    if series.ms.iter().all(|ms| ms >= NEVER_SET_MS) {
        return Vec::new();
    }
    let times = series.known_times();
    let old = |time: Option<i64>| time.is_some_and(|ms| ms < NEVER_SET_MS);
    if !times.iter().any(old) || times.iter().flatten().all(|ms| ms < NEVER_SET_MS) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let rows: Vec<usize> = (0..times.len()).filter(|&row| times.at(row).is_some()).collect();
    let mut at = 0;
    while at < rows.len() {
        if !old(times.at(rows[at])) {
            at += 1;
            continue;
        }
        let length = rows[at..].iter().take_while(|&&row| old(times.at(row))).count();
        let run = &rows[at..at + length];
        let before = at.checked_sub(1).map(|b| rows[b]);
        let after = rows.get(at + length).copied();
        let shift = fitting_shift(series, &times, run, before, after);
        found.push(Reset { rows: run.to_vec(), shift });
        at += length;
    }
    found
}

/// Gives the channels of a long log one shift, since they have one clock: a channel that
/// lacks lines beside the run is moved by too little where it is joined to the row before,
/// and by too much where it is joined to the row after.
pub(crate) fn agree(resets: &mut [Vec<Reset>]) {
    let runs = resets.iter().map(Vec::len).max().unwrap_or(0);
    for run in 0..runs {
        if resets.iter().any(|own| !own.is_empty() && own.len() != runs) {
            return;
        }
        let shifts: Vec<Shift> = resets.iter().filter_map(|own| own.get(run)?.shift).collect();
        let before = shifts.iter().filter_map(|s| match s {
            Shift::Before(ms) => Some(*ms),
            Shift::Behind(_) => None,
        });
        let behind = shifts.iter().filter_map(|s| match s {
            Shift::Behind(ms) => Some(*ms),
            Shift::Before(_) => None,
        });
        let common = before.min().map(Shift::Before).or_else(|| behind.max().map(Shift::Behind));
        for own in resets.iter_mut().filter(|own| !own.is_empty()) {
            own[run].shift = own[run].shift.and(common);
        }
    }
}

/// Moves the rows of resets in `times`; what fits nowhere is rejected. Returns the rows
/// that were moved.
pub(crate) fn mend(
    series: &mut Series,
    resets: &[Reset],
    times: &mut Packed<Option<i64>>,
) -> Vec<usize> {
    let mut moved = Vec::new();
    for reset in resets {
        for &row in &reset.rows {
            if let (Some(Shift::Before(shift) | Shift::Behind(shift)), Some(ms)) =
                (reset.shift, times.at(row))
            {
                times.set(row, Some(ms + shift));
                moved.push(row);
            } else {
                times.set(row, None);
                let stray = reset.rows.len() <= 2;
                series.out.push((row, if stray { Code::StrayTime } else { Code::ClockReset }));
            }
        }
    }
    moved
}

/// How far a run of rows is to be moved so that it runs on to the row after it, or from
/// the row before it; `None` where it is too short, would overlap, or where temperatures
/// step, so that the log did not run on.
fn fitting_shift(
    series: &Series,
    times: &Packed<Option<i64>>,
    run: &[usize],
    before: Option<usize>,
    after: Option<usize>,
) -> Option<Shift> {
    let mut own: Vec<Option<i64>> = run.iter().map(|&row| times.at(row)).collect();
    own.sort_unstable();
    if run.len() <= 2 {
        return None;
    }
    let step = interval(&own.clone().into());
    let (first, last) = (own[0]?, own[own.len() - 1]?);
    let at = |row: Option<usize>| row.and_then(|row| times.at(row));
    if let Some(after) = after.filter(|&after| runs_on(series, run[run.len() - 1], after, 2)) {
        let shift = times.at(after)? - step - last;
        if at(before).is_none_or(|before| before < first + shift) {
            return Some(Shift::Before(shift));
        }
    }
    let before = before.filter(|&before| runs_on(series, before, run[0], 2))?;
    let shift = times.at(before)? + step - first;
    at(after).is_none_or(|after| last + shift < after).then_some(Shift::Behind(shift))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_was_set_while_the_log_ran_is_mended() {
        const GOOD: i64 = 1_777_701_600_000;
        let mended = |ms: Vec<i64>, values: Vec<f32>| {
            let mut log = Series::of(values);
            log.ms = ms.into();
            let mut times = log.known_times();
            let found = resets(&log);
            let moved = mend(&mut log, &found, &mut times);
            (times.to_vec(), moved, log.out)
        };
        let zero = || (0..5).map(|i| i * 60_000);
        let set = || (0..5).map(|i| GOOD + i * 60_000);
        let (times, moved, _) = mended(zero().chain(set()).collect(), vec![5.0; 10]);
        assert_eq!(moved, [0, 1, 2, 3, 4]);
        assert!(times.windows(2).all(|pair| pair[1].unwrap() - pair[0].unwrap() == 60_000));
        // Never set again: it ran on if the temperatures do.
        let (times, _, _) = mended(set().chain(zero()).collect(), vec![5.0; 10]);
        assert_eq!(times[5], Some(GOOD + 300_000));
        let stepped = (0..10).map(|i| if i < 5 { 5.0 } else { 25.0 }).collect();
        let (times, _, out) = mended(set().chain(zero()).collect(), stepped);
        assert_eq!(times[5..], [None; 5]);
        assert_eq!(out[0], (5, Code::ClockReset));
    }

    #[test]
    fn channels_of_one_clock_are_moved_alike() {
        let reset = |shift| vec![Reset { rows: vec![1], shift: Some(shift) }];
        let mut resets = [reset(Shift::Behind(100)), reset(Shift::Behind(40)), Vec::new()];
        agree(&mut resets);
        assert_eq!(resets[1], reset(Shift::Behind(100)));
        let mut resets = [reset(Shift::Before(100)), reset(Shift::Before(40))];
        agree(&mut resets);
        assert_eq!(resets[0], reset(Shift::Before(40)));
    }
}
