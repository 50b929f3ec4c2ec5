//! Whether the clocks of two loggers agree, by the course of what both measured.

use crate::log::{Log, LogChannel, TimeBase};
use cook::Role;

/// Grid on which two courses are compared, ms.
const STEP_MS: i64 = 20_000;
/// Clocks further apart than this are not recognised, in steps of the grid: 30 minutes.
const FURTHEST: usize = 90;
/// Trends slower than this, in steps (30 minutes), are taken out: every pit warms up.
const TREND: usize = 90;
/// Readings further apart than this leave a hole, ms.
const LONGEST_GAP_MS: i64 = 600_000;
/// Both must have run together for so long, in steps: two hours.
const LEAST_TOGETHER: usize = 360;
/// A course that moves less than this (standard deviation, °C) has nothing to compare.
const LEAST_MOVEMENT_C: f64 = 0.3;
/// Courses that correlate less are of different things.
const LEAST_CORRELATION: f64 = 0.8;
/// Another peak of the correlation that comes this close makes it ambiguous: a pit that
/// swings in a steady rhythm looks the same a period later.
const AMBIGUOUS: f64 = 0.9;

/// How far the second clock is behind the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lag {
    /// In the first part of the time that both ran, s.
    pub(crate) at_start_s: f64,
    /// In the last part, s.
    pub(crate) at_end_s: f64,
    /// The smaller correlation of both.
    pub(crate) correlation: f64,
}

/// Compares the clocks of two logs by a channel that both have: their pits, or channels of
/// one role and name. `None` where nothing tells.
///
/// Both courses are brought on one grid, their slow trends taken out, and the lag of the
/// greatest normalised cross-correlation is found for the first and the last half of the
/// common time, refined by the parabola through the peak and its neighbours.
pub(crate) fn compare<'l>(
    first: &'l Log,
    second: &'l Log,
) -> Option<(&'l LogChannel, &'l LogChannel, Lag)> {
    if first.time != TimeBase::Absolute || second.time != TimeBase::Absolute {
        return None;
    }
    let shared = |a: &LogChannel, b: &LogChannel| {
        a.role == b.role && (a.role == Role::Pit || a.name.eq_ignore_ascii_case(&b.name))
    };
    let mut best: Option<(&LogChannel, &LogChannel, Lag)> = None;
    for a in &first.channels {
        for b in second.channels.iter().filter(|b| shared(a, b)) {
            let Some(lag) = lag(a, b) else { continue };
            if best.is_none_or(|(_, _, other)| lag.correlation > other.correlation) {
                best = Some((a, b, lag));
            }
        }
    }
    best
}

fn lag(a: &LogChannel, b: &LogChannel) -> Option<Lag> {
    let from = a.at_ms.first()?.max(b.at_ms.first()?);
    let to = a.at_ms.last()?.min(b.at_ms.last()?);
    let length = usize::try_from((to - from) / STEP_MS).ok()?;
    if length < LEAST_TOGETHER {
        return None;
    }
    let course = |channel: &LogChannel| without_trend(&on_grid(channel, from, length));
    let (a, b) = (course(a), course(b));
    let half = length / 2;
    let (start, one) = best_lag(&a[..half], &b[..half])?;
    let (end, other) = best_lag(&a[half..], &b[half..])?;
    let seconds = STEP_MS as f64 / 1000.0;
    Some(Lag { at_start_s: start * seconds, at_end_s: end * seconds, correlation: one.min(other) })
}

/// Readings on a grid, by straight lines between them; NaN in holes.
fn on_grid(channel: &LogChannel, from: i64, length: usize) -> Vec<f64> {
    let mut next = 0;
    (0..length)
        .map(|i| {
            let at = from + i as i64 * STEP_MS;
            while next < channel.len() && channel.at_ms.at(next) < at {
                next += 1;
            }
            let Some(after) = channel.at_ms.get(next) else { return f64::NAN };
            let above = f64::from(channel.temp_c.at(next));
            if after == at {
                return above;
            }
            let Some(before) = next.checked_sub(1) else { return f64::NAN };
            let gap = after - channel.at_ms.at(before);
            if gap > LONGEST_GAP_MS {
                return f64::NAN;
            }
            let below = f64::from(channel.temp_c.at(before));
            below + (above - below) * (at - channel.at_ms.at(before)) as f64 / gap as f64
        })
        .collect()
}

/// A course less its running mean.
fn without_trend(course: &[f64]) -> Vec<f64> {
    let mut sums = vec![(0.0, 0_u32)];
    for &value in course {
        let (sum, count) = sums[sums.len() - 1];
        sums.push(if value.is_nan() { (sum, count) } else { (sum + value, count + 1) });
    }
    (0..course.len())
        .map(|i| {
            let (low, high) = (i.saturating_sub(TREND / 2), (i + TREND / 2 + 1).min(course.len()));
            let count = sums[high].1 - sums[low].1;
            course[i] - (sums[high].0 - sums[low].0) / f64::from(count.max(1))
        })
        .collect()
}

/// The lag of `b` behind `a` (in steps) at which they correlate best, and how well.
fn best_lag(a: &[f64], b: &[f64]) -> Option<(f64, f64)> {
    let furthest = FURTHEST as i64;
    let scores: Vec<f64> = (-furthest..=furthest).map(|lag| correlation(a, b, lag)).collect();
    let (best, &peak) = scores.iter().enumerate().max_by(|x, y| x.1.total_cmp(y.1))?;
    // At an end of the range the peak may lie beyond it.
    if peak < LEAST_CORRELATION || best == 0 || best + 1 == scores.len() {
        return None;
    }
    let rival = (1..scores.len() - 1).filter(|&i| i.abs_diff(best) > 3).any(|i| {
        scores[i] >= scores[i - 1] && scores[i] >= scores[i + 1] && scores[i] > AMBIGUOUS * peak
    });
    if rival {
        return None;
    }
    let (left, right) = (scores[best - 1], scores[best + 1]);
    let curvature = left - 2.0 * peak + right;
    let shift = if curvature < 0.0 { 0.5 * (left - right) / curvature } else { 0.0 };
    Some((best as f64 - FURTHEST as f64 + shift, peak))
}

/// Pearson's correlation of `a[i]` with `b[i + lag]`; −1 where there is nothing to compare.
fn correlation(a: &[f64], b: &[f64], lag: i64) -> f64 {
    let (from_a, from_b) = ((-lag).max(0) as usize, lag.max(0) as usize);
    let pairs =
        || a.iter().skip(from_a).zip(b.iter().skip(from_b)).filter(|(x, y)| !(*x + *y).is_nan());
    let count = pairs().count() as f64;
    if count < LEAST_TOGETHER as f64 / 4.0 {
        return -1.0;
    }
    let (sum_a, sum_b) = pairs().fold((0.0, 0.0), |(s, t), (x, y)| (s + x, t + y));
    let (mean_a, mean_b) = (sum_a / count, sum_b / count);
    let (aa, bb, ab) = pairs().fold((0.0, 0.0, 0.0), |(aa, bb, ab), (x, y)| {
        let (x, y) = (x - mean_a, y - mean_b);
        (aa + x * x, bb + y * y, ab + x * y)
    });
    let still = LEAST_MOVEMENT_C * LEAST_MOVEMENT_C * count;
    if aa < still || bb < still { -1.0 } else { ab / (aa * bb).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::{ReadOptions, read_log_bytes};
    use std::fmt::Write as _;

    /// A pit that is disturbed at times without a rhythm, seen by a clock that is `behind`
    /// seconds behind and loses `ppm` more.
    fn log(behind: f64, ppm: f64, rhythm: bool) -> Log {
        let shocks: Vec<f64> = (0..40_u64).map(|i| (i * i * 7919 % 41_003) as f64).collect();
        let pit = |t: f64| -> f64 {
            if rhythm {
                return 110.0 + 5.0 * (t / 900.0 * std::f64::consts::TAU).sin();
            }
            110.0
                + shocks
                    .iter()
                    .map(|&at| if t < at { 0.0 } else { -9.0 * (-(t - at) / 400.0).exp() })
                    .sum::<f64>()
        };
        let mut text = String::from("Time,Pit (C),Meat (C)\n");
        for i in 0..720 {
            let t = f64::from(i) * 60.0;
            // What its clock shows when it is `t`.
            let shown = t - behind - t * ppm / 1e6;
            let stamp = jiff::Timestamp::from_millisecond(
                1_777_700_000_000 + (shown * 1000.0).round() as i64,
            );
            let _ = writeln!(text, "{},{:.1},20.0", stamp.unwrap(), pit(t));
        }
        read_log_bytes(text.as_bytes(), "a.csv", &ReadOptions::default()).unwrap()
    }

    #[test]
    fn a_clock_that_is_behind_and_loses_time_is_noticed() {
        let (_, _, lag) = compare(&log(0.0, 0.0, false), &log(120.0, 0.0, false)).unwrap();
        // The second logger shows the same event at an earlier time.
        assert!((lag.at_start_s + 120.0).abs() < 10.0, "{lag:?}");
        assert!((lag.at_end_s + 120.0).abs() < 10.0, "{lag:?}");
        // 5,000 ppm are 54 s at a quarter and 162 s at three quarters of twelve hours.
        let (_, _, lag) = compare(&log(0.0, 0.0, false), &log(0.0, 5000.0, false)).unwrap();
        assert!((lag.at_start_s + 54.0).abs() < 20.0, "{lag:?}");
        assert!((lag.at_end_s + 162.0).abs() < 20.0, "{lag:?}");
        let (_, _, lag) = compare(&log(0.0, 0.0, false), &log(0.0, 0.0, false)).unwrap();
        assert!(lag.at_start_s.abs() < 1.0 && lag.correlation > 0.999, "{lag:?}");
    }

    #[test]
    fn a_steady_rhythm_tells_nothing() {
        assert!(compare(&log(0.0, 0.0, true), &log(120.0, 0.0, true)).is_none());
    }
}
