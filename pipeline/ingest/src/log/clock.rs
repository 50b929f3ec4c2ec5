//! A logger's clock that goes wrong: rows newest first, days without a date, a clock that
//! starts anew, a clock that is put back.

use super::series::Series;
use crate::code::Code;
use crate::time::DAY_MS;

const HOUR_MS: i64 = 3_600_000;
/// 2005-01-01T00:00:00: a clock before it was never set (1970, 1980, 2000 … are where
/// clocks start).
const NEVER_SET_MS: i64 = 1_104_537_600_000;
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
/// Temperatures step by no more than this, °C, where a log ran on while its clock was set or
/// started anew: a pit's ripple, and more than meat warms in several minutes.
const STEP_C: f32 = 5.0;

/// Whether rows stand newest first: most steps go back, and the first row is the latest.
pub(super) fn newest_first(ms: &[i64]) -> bool {
    let down = ms.windows(2).filter(|pair| pair[1] < pair[0]).count();
    let up = ms.windows(2).filter(|pair| pair[1] > pair[0]).count();
    ms.len() >= 3 && down > 0 && down * 10 >= (down + up) * 9
}

/// Makes clock times of consecutive rows run on over midnights: a step back of more than
/// half a day begins a new day; a step on of more than half a day is a row of the day
/// before that came late.
pub(super) fn over_midnights<'m>(clock: impl Iterator<Item = &'m mut i64>) {
    let mut day = 0;
    let mut previous: Option<i64> = None;
    for ms in clock {
        let mut own = day;
        if let Some(previous) = previous {
            if previous - *ms > DAY_MS / 2 {
                day += 1;
                own = day;
            } else if *ms - previous > DAY_MS / 2 && day > 0 {
                own = day - 1;
            }
        }
        if own == day {
            previous = Some(*ms);
        }
        *ms += own * DAY_MS;
    }
}

/// Whether no time of a log is of a clock that was set.
pub(super) fn never_set(ms: &[i64]) -> bool {
    !ms.is_empty() && ms.iter().all(|&ms| ms < NEVER_SET_MS)
}

/// The usual step between neighbouring rows, ms.
pub(super) fn interval(times: &[Option<i64>]) -> i64 {
    let known: Vec<i64> = times.iter().flatten().copied().collect();
    let mut steps: Vec<i64> =
        known.windows(2).map(|pair| pair[1] - pair[0]).filter(|&step| step > 0).collect();
    let middle = steps.len() / 2;
    if steps.is_empty() { 60_000 } else { *steps.select_nth_unstable(middle).1 }
}

/// Rows of a clock that started anew, among rows of one that was set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Reset {
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
pub(super) fn resets(series: &Series) -> Vec<Reset> {
    let times = series.known_times();
    let old = |time: Option<i64>| time.is_some_and(|ms| ms < NEVER_SET_MS);
    if !times.iter().any(|&time| old(time)) || times.iter().flatten().all(|&ms| ms < NEVER_SET_MS) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let rows: Vec<usize> = (0..times.len()).filter(|&row| times[row].is_some()).collect();
    let mut at = 0;
    while at < rows.len() {
        if !old(times[rows[at]]) {
            at += 1;
            continue;
        }
        let length = rows[at..].iter().take_while(|&&row| old(times[row])).count();
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
pub(super) fn agree(resets: &mut [Vec<Reset>]) {
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
pub(super) fn mend(series: &mut Series, resets: &[Reset], times: &mut [Option<i64>]) -> Vec<usize> {
    let mut moved = Vec::new();
    for reset in resets {
        for &row in &reset.rows {
            if let (Some(Shift::Before(shift) | Shift::Behind(shift)), Some(ms)) =
                (reset.shift, times[row])
            {
                times[row] = Some(ms + shift);
                moved.push(row);
            } else {
                times[row] = None;
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
    times: &[Option<i64>],
    run: &[usize],
    before: Option<usize>,
    after: Option<usize>,
) -> Option<Shift> {
    let mut own: Vec<Option<i64>> = run.iter().map(|&row| times[row]).collect();
    own.sort_unstable();
    if run.len() <= 2 {
        return None;
    }
    let step = interval(&own);
    let (first, last) = (own[0]?, own[own.len() - 1]?);
    let at = |row: Option<usize>| row.and_then(|row| times[row]);
    if let Some(after) = after.filter(|&after| runs_on(series, run[run.len() - 1], after, 2)) {
        let shift = times[after]? - step - last;
        if at(before).is_none_or(|before| before < first + shift) {
            return Some(Shift::Before(shift));
        }
    }
    let before = before.filter(|&before| runs_on(series, before, run[0], 2))?;
    let shift = times[before]? + step - first;
    at(after).is_none_or(|after| last + shift < after).then_some(Shift::Behind(shift))
}

/// Whether temperatures go on from one row to another without a step, in at least this
/// many channels (or in the only one): a step is more than [`STEP_C`] and than half again
/// what all but a few steps of the channel are.
fn runs_on(series: &Series, one: usize, other: usize, least: usize) -> bool {
    let steps: Vec<(f32, &Vec<f32>)> = series
        .values
        .iter()
        .map(|values| ((values[one] - values[other]).abs(), values))
        .filter(|(step, _)| !step.is_nan())
        .collect();
    steps.len() >= series.values.len().min(least)
        && steps.iter().all(|(step, values)| *step <= STEP_C || *step <= 1.5 * large_step(values))
}

/// The step that nineteen of twenty steps of a channel do not exceed.
fn large_step(values: &[f32]) -> f32 {
    let known: Vec<f32> = values.iter().copied().filter(|value| !value.is_nan()).collect();
    let mut steps: Vec<f32> = known.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    steps.sort_by(f32::total_cmp);
    steps.get(steps.len().saturating_sub(1) * 19 / 20).copied().unwrap_or(0.0)
}

/// A place at which a clock was put back while the log ran on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Jump {
    /// The first row after it.
    pub(super) row: usize,
    /// How far back, ms: what to add to the rows after it so that the log runs on.
    pub(super) back: i64,
}

impl Jump {
    /// Whether it is the noon or midnight of a clock of twelve hours.
    pub(super) fn is_half_a_day(self, interval: i64) -> bool {
        (self.back - 12 * HOUR_MS).abs() <= interval.max(60_000)
    }
}

/// Where the clock goes back and at least five rows run on from there, through times that
/// the log has had already with other values, or from temperatures that go on without a
/// step. A row out of place, a block that fills a hole, and a block told twice are no
/// jumps.
pub(super) fn jumps(series: &Series, times: &[Option<i64>]) -> Vec<Jump> {
    let rows: Vec<usize> = (0..times.len()).filter(|&row| times[row].is_some()).collect();
    let at = |i: usize| times[rows[i]].unwrap_or_default();
    let backs: Vec<usize> = (1..rows.len()).filter(|&i| at(i) < at(i - 1)).collect();
    if backs.is_empty() {
        return Vec::new();
    }
    let step = interval(times);
    // No clock is put back at every turn: such lines were written in no order. Far is told by
    // how many of the log's times lie between, as unordered lines tell nothing of the interval.
    let mut ordered: Vec<i64> = rows.iter().filter_map(|&row| times[row]).collect();
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
                &rows[..i].iter().map(|&row| times[row]).collect::<Vec<_>>(),
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

/// Whether the rows from one on tell the rows before it again, value for value, where the
/// values move so that this cannot be chance.
pub(super) fn told_again(series: &Series, row: usize) -> bool {
    let block = row.min(series.ms.len() - row);
    let moves = series
        .values
        .iter()
        .any(|values| values[..block].iter().any(|value| !value.is_nan() && *value != values[0]));
    moves
        && (0..block).all(|k| series.ms[k] == series.ms[row + k] && same_values(series, k, row + k))
}

fn same_values(series: &Series, one: usize, other: usize) -> bool {
    series.values.iter().all(|values| {
        values[one].is_nan() || values[other].is_nan() || values[one] == values[other]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(values: Vec<f32>) -> Series {
        let mut series = Series::new(1);
        series.values[0] = values;
        series
    }

    #[test]
    fn clocks_run_on_over_midnight() {
        let mut clock = [23 * HOUR_MS, HOUR_MS, 23 * HOUR_MS + 1, 2 * HOUR_MS, 22 * HOUR_MS, 0];
        // The third is a row of the day before; from 2 h to 22 h is a gap nobody can tell
        // from it, and then midnight follows.
        over_midnights(clock[..4].iter_mut());
        assert_eq!(clock[..4], [23 * HOUR_MS, 25 * HOUR_MS, 23 * HOUR_MS + 1, 26 * HOUR_MS]);
    }

    #[test]
    fn a_clock_that_was_set_while_the_log_ran_is_mended() {
        const GOOD: i64 = 1_777_701_600_000;
        let mended = |ms: Vec<i64>, values: Vec<f32>| {
            let mut log = series(values);
            log.ms = ms;
            let mut times = log.known_times();
            let found = resets(&log);
            let moved = mend(&mut log, &found, &mut times);
            (times, moved, log.out)
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

    #[test]
    fn a_clock_put_back_is_told_from_rows_out_of_order() {
        let minutes =
            |list: &[i64]| -> Vec<Option<i64>> { list.iter().map(|m| Some(m * 60_000)).collect() };
        let forward: Vec<i64> = (0..20).collect();
        let back: Vec<i64> = (0..20).chain(10..20).collect();
        let values: Vec<f32> = (0..30).map(|i| i as f32).collect();
        let log = series(values);
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
        assert!(jumps(&series(same), &minutes(&torn)).is_empty());
        // Lines in no order are that, though two of their runs happen to be long.
        let shuffled =
            [11, 19, 7, 12, 9, 0, 1, 3, 13, 18, 22, 5, 10, 15, 17, 23, 14, 6, 2, 21, 20, 4, 8, 16];
        let values = (0..24).map(|i| (i * 17 % 24) as f32).collect();
        assert!(jumps(&series(values), &minutes(&shuffled)).is_empty());
        // Far back and on without a step: the clock. With a step: another piece of the log.
        let far: Vec<i64> = (1000..1020).chain(0..10).collect();
        assert_eq!(jumps(&log, &minutes(&far)).len(), 1);
        let step = series((0..30).map(|i| if i < 20 { 5.0 } else { 60.0 }).collect());
        assert!(jumps(&step, &minutes(&far)).is_empty());
        // A block told twice has the same values.
        let same: Vec<f32> = (0..20).chain(10..20).map(|i| i as f32).collect();
        assert!(jumps(&series(same), &minutes(&back)).is_empty());
    }
}
