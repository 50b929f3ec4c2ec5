//! Runs of one value that no core can have had, and numbers that stand for "no reading".
//!
//! A core on a plateau under a coarse logger gives long runs of one value too. What gives a stuck
//! probe away is that it comes back with a leap, past the next step of the logger; or that the noise
//! which moves all other readings is silent.

use crate::samples::{OwnedSamples, Samples};

/// Shortest stuck run, readings and ms (8 min).
const FEWEST: usize = 3;
const SHORTEST_MS: i64 = 480_000;
/// A run that ends with a leap of at least this many steps of the logger was stuck.
const LEAP_QUANTA: f64 = 1.6;
/// … and of at least so many standard deviations of the noise.
const LEAP_NOISE: f64 = 4.0;
/// Readings whose median is the level that a run comes back to.
const LEVEL_READINGS: usize = 3;
/// Probability below which noise is not that silent by chance.
const SILENT: f64 = 1e-5;
/// A constant this far from the readings around it stands for "no reading", °C.
const FAR_C: f64 = 15.0;

/// A run of equal readings that were not used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StuckRun {
    /// First reading not used, ms UTC.
    pub start_ms: i64,
    /// First reading used again, ms UTC; just after the last one where none is.
    pub end_ms: i64,
    /// The value, °C.
    pub temp_c: f64,
    /// Number of readings not used.
    pub readings: usize,
    /// Whether the value lies far off the readings around it, as a number does that stands for
    /// "no reading"; else it is a probe that stuck.
    pub far_off: bool,
}

/// Readings without stuck runs, whose first reading is kept: it was true when it stuck.
pub fn remove(samples: Samples, runs: &mut Vec<StuckRun>) -> OwnedSamples {
    let quantum = stats::quantum(samples.temp_c);
    let noise = super::dips::noise_sd(samples);
    // The noise under the quanta, if it is enough to move readings at all.
    let moving = (mean_square_noise(samples) - quantum * quantum / 12.0).max(0.0).sqrt();
    let repeats = if moving > 0.3 * quantum { stays(0.5 * quantum / moving) } else { 1.0 };
    take_out(samples, runs, |run| {
        let (start, end) = run;
        let count = end - start;
        let lasted = samples.at_ms[end - 1] - samples.at_ms[start];
        if count < FEWEST || lasted < SHORTEST_MS {
            return None;
        }
        let silent = repeats < 1.0 && repeats.powi(count as i32) < SILENT;
        let leap = leap_after(samples, end)
            .is_some_and(|leap| leap.abs() >= (LEAP_QUANTA * quantum).max(LEAP_NOISE * noise));
        // The leap back must be more than the course of the readings makes of one interval.
        (silent || (leap && !steep_after(samples, run))).then_some((start + 1, false))
    })
}

/// Readings without constants far off the readings around them, as a logger writes for "no
/// reading" and an importer may miss.
pub fn remove_far_off(samples: Samples, runs: &mut Vec<StuckRun>) -> OwnedSamples {
    take_out(samples, runs, |(start, end)| {
        if end - start < 2 {
            return None;
        }
        let value = samples.temp_c[start];
        let level = |range: std::ops::Range<usize>| median(&samples.temp_c[range]);
        let before = (start > 0).then(|| level(start.saturating_sub(LEVEL_READINGS)..start));
        let after =
            (end < samples.len()).then(|| level(end..(end + LEVEL_READINGS).min(samples.len())));
        let far = |other: f64| (other - value).abs() >= FAR_C;
        let off = match (before, after) {
            (Some(before), Some(after)) => {
                far(before) && far(after) && (before - value).signum() == (after - value).signum()
            }
            // At an end of the log only a value that no probe in use can show.
            (Some(other), None) | (None, Some(other)) => {
                far(other) && end - start >= 5 && (value <= 0.0 || value >= 150.0)
            }
            (None, None) => false,
        };
        off.then_some((start, true))
    })
}

/// Walks over the runs of equal readings; `judge` gives the first reading to leave out.
fn take_out(
    samples: Samples,
    runs: &mut Vec<StuckRun>,
    judge: impl Fn((usize, usize)) -> Option<(usize, bool)>,
) -> OwnedSamples {
    let mut out = OwnedSamples {
        at_ms: Vec::with_capacity(samples.len()),
        temp_c: Vec::with_capacity(samples.len()),
    };
    let mut start = 0;
    while start < samples.len() {
        let value = samples.temp_c[start];
        let mut end = start + 1;
        while end < samples.len() && samples.temp_c[end] == value {
            end += 1;
        }
        let used_to = match judge((start, end)) {
            Some((from, far_off)) => {
                runs.push(StuckRun {
                    start_ms: samples.at_ms[from],
                    end_ms: samples.at_ms.get(end).copied().unwrap_or(samples.at_ms[end - 1] + 1),
                    temp_c: value,
                    readings: end - from,
                    far_off,
                });
                from
            }
            None => end,
        };
        out.at_ms.extend_from_slice(&samples.at_ms[start..used_to]);
        out.temp_c.extend_from_slice(&samples.temp_c[start..used_to]);
        start = end;
    }
    out
}

/// From the run's value to the level after it.
fn leap_after(samples: Samples, end: usize) -> Option<f64> {
    if end >= samples.len() {
        return None;
    }
    let after = &samples.temp_c[end..(end + LEVEL_READINGS).min(samples.len())];
    // The nearer of the next reading and the level: neither a spike nor a course alone leaps.
    let value = samples.temp_c[end - 1];
    let (next, level) = (after[0] - value, median(after) - value);
    Some(if next.abs() < level.abs() { next } else { level })
}

/// Whether the readings after a run go on as fast as the leap that ended it: then it was no leap.
fn steep_after(samples: Samples, (_, end): (usize, usize)) -> bool {
    let reach = (end + 4).min(samples.len() - 1);
    if reach <= end {
        return false;
    }
    let leap = (samples.temp_c[end] - samples.temp_c[end - 1]).abs()
        / (samples.at_ms[end] - samples.at_ms[end - 1]) as f64;
    let course = (samples.temp_c[reach] - samples.temp_c[end]).abs()
        / (samples.at_ms[reach] - samples.at_ms[end]) as f64;
    course > 0.5 * leap
}

/// Mean of squared second differences over 6 (Rice 1984), outliers left out.
fn mean_square_noise(samples: Samples) -> f64 {
    let mut squares: Vec<f64> =
        samples.temp_c.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).powi(2)).collect();
    squares.sort_by(f64::total_cmp);
    let kept = squares.len() * 97 / 100;
    if kept == 0 { 0.0 } else { squares[..kept].iter().sum::<f64>() / kept as f64 / 6.0 }
}

/// Probability that a normal number stays within ±`z`, at most (by the bound 1 − φ(z)·z/(1 + z²) of
/// Gordon 1941, doubled for both tails).
fn stays(z: f64) -> f64 {
    let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    1.0 - 2.0 * density * z / (1.0 + z * z)
}

fn median(values: &[f64]) -> f64 {
    stats::describe::median(values).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(temp_c: &[f64]) -> (usize, Vec<StuckRun>) {
        let at_ms: Vec<i64> = (0..temp_c.len() as i64).map(|i| i * 60_000).collect();
        let mut runs = Vec::new();
        let kept = remove(Samples { at_ms: &at_ms, temp_c }, &mut runs);
        (kept.at_ms.len(), runs)
    }

    fn coarse(quantum: f64, rise: f64) -> Vec<f64> {
        (0..300).map(|i| ((20.0 + rise * f64::from(i)) / quantum).round() * quantum).collect()
    }

    #[test]
    fn a_run_that_comes_back_with_a_leap_was_stuck() {
        let mut curve = coarse(1.0, 0.15);
        let held = curve[100];
        curve[100..130].fill(held);
        let (kept, runs) = run(&curve);
        assert_eq!(runs.len(), 1);
        assert!(runs[0].end_ms == 130 * 60_000 && !runs[0].far_off);
        assert_eq!(kept + runs[0].readings, 300);
    }

    #[test]
    fn the_plateau_of_a_coarse_logger_is_not_stuck() {
        assert_eq!(run(&coarse(1.0, 0.01)).1, []);
        assert_eq!(run(&coarse(0.5, 0.08)).1, []);
        // A plateau that ends in a fast rise, as after a wrap.
        let wrapped: Vec<f64> =
            (0..300).map(|i| (70.0 + 0.25 * f64::from((i - 150).max(0))).round()).collect();
        assert_eq!(run(&wrapped).1, []);
    }

    #[test]
    fn a_constant_far_off_is_no_reading() {
        let mut curve = coarse(0.1, 0.15);
        curve[50..60].fill(0.0);
        let at_ms: Vec<i64> = (0..300).map(|i| i * 60_000).collect();
        let mut runs = Vec::new();
        let kept = remove_far_off(Samples { at_ms: &at_ms, temp_c: &curve }, &mut runs);
        assert_eq!((kept.at_ms.len(), runs.len()), (290, 1));
        assert!(runs[0].far_off && runs[0].temp_c == 0.0);
    }
}
