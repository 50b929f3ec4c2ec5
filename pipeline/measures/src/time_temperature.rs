//! Times and temperatures of the core that food rules speak of: how long it was in
//! 4.4–60 °C, how long it took to come up, what the heat adds up to against Salmonella, how it
//! was held and how it cooled.
//!
//! Figures only. One probe in one place knows neither the surface nor the coldest part, and no
//! figure here says that anything may be eaten.

use cook::{Celsius, Seconds};
use phases::{HeatingCurves, OwnedSamples, Samples, Segmentation};
use physics::exposure::{first_at_or_below, time_between};
use physics::{HistoryPoint, LogLinearDeath};

use columns::measures::Measures;

/// 40 and 140 °F: the range in which consumer advice lets food stand for 2 h at most (FSIS fact
/// sheet "Danger Zone (40 °F – 140 °F)").
const DANGER_ZONE_F: (f64, f64) = (40.0, 140.0);
/// Come-up is counted from 50 to 130 °F, as guidelines for makers of cooked meat count it. The text of
/// their limit could not be read for this project, so none stands here.
const COME_UP_F: (f64, f64) = (50.0, 130.0);
/// The rows of FSIS Appendix A (1999) that state a time. Below them nothing is counted, above
/// them the heat counts as at the last of them: the law was fitted between.
const TIMED_ROWS_F: (f64, f64) = (130.0, 157.0);
/// What the table's column stands for, decimal reductions.
const REDUCTIONS_OF_THE_TABLE: f64 = 6.5;
/// Hot holding: 135 °F (FDA Food Code 3-501.16), 140 °F (FSIS consumer advice).
const HOLD_F: (f64, f64) = (135.0, 140.0);
/// Cooling: from 135 °F to 70 °F and to 41 °F (FDA Food Code 3-501.14, both counted from 135 °F).
const COOLING_F: (f64, f64, f64) = (135.0, 70.0, 41.0);
/// A thick piece cannot cool this much, °C, …
const FALL_C: f64 = 10.0;
/// … within this time, ms (10 min): the probe is out of the meat. Common practice, no source.
const FALL_WITHIN_MS: i64 = 600_000;
/// Readings further apart than this are not joined, ms (20 min).
const LONGEST_GAP_MS: i64 = 1_200_000;
/// Cooling is judged only where the meat was logged at least this long after the slice, ms.
const COOLING_LOGGED_MS: i64 = 1_800_000;
/// A log that begins later than this after meat-on misses some of the climb, ms.
const LATE_MS: i64 = 600_000;

fn celsius(fahrenheit: f64) -> Celsius {
    Celsius::from_fahrenheit(fahrenheit)
}

/// Fills in every column of the row that this module knows.
pub(crate) fn add(row: &mut Measures, segmentation: &Segmentation, after_slice: Samples<'_>) {
    climb(row, segmentation);
    if segmentation.bounds.pull_known {
        let held = believed(&segmentation.core_after_pull, segmentation.bounds.pull_ms);
        hold(row, segmentation, &held);
        cooling(row, segmentation, &held, after_slice);
    }
}

/// The core from the log's start to the pull, on its regular grid.
fn grid(heating: &HeatingCurves) -> Vec<HistoryPoint> {
    (0..heating.len())
        .filter(|&index| heating.core_c[index].is_finite())
        .map(|index| (seconds(heating.at_ms(index)), Celsius(heating.core_c[index])))
        .collect()
}

fn seconds(at_ms: i64) -> Seconds {
    Seconds(at_ms as f64 / 1000.0)
}

fn climb(row: &mut Measures, segmentation: &Segmentation) {
    let bounds = &segmentation.bounds;
    let core = grid(&segmentation.judgement.heating);
    let (Some(first), Some(last)) = (core.first(), core.last()) else { return };
    let since_meat_on = |at: Seconds| (at.value() - bounds.meat_on_ms as f64 / 1000.0) / 60.0;
    let late = !bounds.meat_on_known || since_meat_on(first.0) * 60_000.0 > LATE_MS as f64;

    let (cold, hot) = (celsius(DANGER_ZONE_F.0), celsius(DANGER_ZONE_F.1));
    row.core_4_to_60_c_min = time_between(&core, cold, hot).ok().map(minutes);
    let still_inside = (cold.value()..hot.value()).contains(&last.1.value()) && !bounds.pull_known;
    row.core_4_to_60_c_censored = Some(late || still_inside);

    // Where the meat goes on above 50 °F, what it had behind it by then is not in the log.
    let reached = |level: f64| core.iter().find(|point| point.1.value() >= level);
    if let Some(start) = reached(celsius(COME_UP_F.0).value()) {
        let top = reached(celsius(COME_UP_F.1).value());
        let end = top.unwrap_or(last);
        row.come_up_min = Some((end.0.value() - start.0.value()) / 60.0);
        row.come_up_censored = Some(top.is_none() || std::ptr::eq(start, first));
    }

    let sums = reductions(&core);
    row.lethality_log10 = sums.last().copied();
    row.lethality_censored = Some(late || !bounds.pull_known);
    row.lethality_6_5_log10_min = sums
        .iter()
        .position(|sum| *sum >= REDUCTIONS_OF_THE_TABLE)
        .filter(|_| bounds.meat_on_known)
        .map(|place| since_meat_on(core[place].0));
}

/// Decimal reductions up to each point, counted between the timed rows of the table only.
fn reductions(core: &[HistoryPoint]) -> Vec<f64> {
    let (from, to) = (celsius(TIMED_ROWS_F.0).value(), celsius(TIMED_ROWS_F.1).value());
    let model = LogLinearDeath::SALMONELLA_IN_BEEF;
    let mut sum = 0.0;
    let mut sums = vec![0.0; core.len().min(1)];
    for pair in core.windows(2) {
        if pair.iter().all(|point| point.1.value() >= from) {
            let capped = [pair[0], pair[1]].map(|(at, core)| (at, Celsius(core.value().min(to))));
            // A temperature outside the law's range is no heat that could be counted.
            sum += model.reductions(&capped).map_or(0.0, |sums| sums[1]);
        }
        sums.push(sum);
    }
    sums
}

fn minutes(length: Seconds) -> f64 {
    length.value() / 60.0
}

/// The readings up to the first fall that no thick piece of meat can make, and whether there was one.
struct Believed {
    core: OwnedSamples,
    taken_out: bool,
}

fn believed(samples: &OwnedSamples, from_ms: i64) -> Believed {
    let view = samples.view();
    let mut start = 0;
    for index in 1..view.len() {
        let now_ms = view.at_ms[index];
        while now_ms - view.at_ms[start] > FALL_WITHIN_MS {
            start += 1;
        }
        let highest = view.temp_c[start..index].iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if view.temp_c[index] < highest - FALL_C {
            // A probe drawn out falls fastest at first: the reading before the steepest step is
            // the last that is the meat's.
            let step = |at: &usize| view.temp_c[*at] - view.temp_c[at + 1];
            let last = (start..index).max_by(|a, b| step(a).total_cmp(&step(b)));
            let until_ms = view.at_ms[last.unwrap_or(start)] + 1;
            let core = view.within(from_ms, until_ms);
            return Believed { core: owned(core), taken_out: true };
        }
    }
    Believed { core: owned(view), taken_out: false }
}

fn owned(samples: Samples<'_>) -> OwnedSamples {
    OwnedSamples { at_ms: samples.at_ms.to_vec(), temp_c: samples.temp_c.to_vec() }
}

/// Stretches of readings without a long gap, as histories.
fn stretches(samples: Samples<'_>) -> Vec<Vec<HistoryPoint>> {
    let mut stretches: Vec<Vec<HistoryPoint>> = Vec::new();
    let mut before_ms = None;
    for (&at_ms, &core) in samples.at_ms.iter().zip(samples.temp_c) {
        if before_ms.is_none_or(|before| at_ms - before > LONGEST_GAP_MS) {
            stretches.push(Vec::new());
        }
        before_ms = Some(at_ms);
        if let Some(stretch) = stretches.last_mut() {
            stretch.push((seconds(at_ms), Celsius(core)));
        }
    }
    stretches
}

fn hold(row: &mut Measures, segmentation: &Segmentation, held: &Believed) {
    let bounds = &segmentation.bounds;
    let inside = held.core.view().within(bounds.pull_ms, bounds.end_ms + 1);
    if inside.len() < 2 {
        let reason = if held.taken_out { "probe-out-at-the-pull" } else { "not-logged" };
        row.hold_reason = Some(reason.into());
        return;
    }
    let stretches = stretches(inside);
    let below = |fahrenheit: f64| {
        let cold = Celsius(f64::NEG_INFINITY);
        let add = |sum: f64, stretch: &Vec<HistoryPoint>| {
            time_between(stretch, cold, celsius(fahrenheit)).map(|length| sum + minutes(length))
        };
        stretches.iter().try_fold(0.0, add).ok()
    };
    row.hold_below_57_c_min = below(HOLD_F.0);
    row.hold_below_60_c_min = below(HOLD_F.1);
    row.hold_lowest_core_c = inside.temp_c.iter().copied().min_by(f64::total_cmp);
    let observed = stretches.iter().map(|stretch| match (stretch.first(), stretch.last()) {
        (Some(first), Some(last)) => last.0.value() - first.0.value(),
        _ => 0.0,
    });
    row.hold_observed_min = Some(observed.sum::<f64>() / 60.0);
    if held.taken_out {
        row.hold_reason = Some("probe-out-before-the-slice".into());
    }
}

fn cooling(
    row: &mut Measures,
    segmentation: &Segmentation,
    held: &Believed,
    after_slice: Samples<'_>,
) {
    let bounds = &segmentation.bounds;
    if !bounds.slice_known {
        row.cooling_reason = Some("slice-not-known".into());
        return;
    }
    if held.taken_out {
        row.cooling_reason = Some("probe-out-before-the-slice".into());
        return;
    }
    let mut samples = held.core.clone();
    let later = after_slice.within(samples.at_ms.last().map_or(i64::MIN, |at| at + 1), i64::MAX);
    samples.at_ms.extend(later.at_ms);
    samples.temp_c.extend(later.temp_c);
    let seen = believed(&samples, bounds.pull_ms);
    let stretch = stretches(seen.core.view()).into_iter().next().unwrap_or_default();
    let end_s = stretch.last().map_or(f64::NEG_INFINITY, |point| point.0.value());
    if end_s * 1000.0 < (bounds.end_ms + COOLING_LOGGED_MS) as f64 {
        let reason = if seen.taken_out { "probe-out-after-the-slice" } else { "not-logged" };
        row.cooling_reason = Some(reason.into());
        return;
    }
    let pull = seconds(bounds.pull_ms);
    let crossing = |fahrenheit: f64, after: Seconds| {
        first_at_or_below(&stretch, after, celsius(fahrenheit)).ok().flatten()
    };
    let Some(start) = crossing(COOLING_F.0, pull) else {
        row.cooling_reason = Some("stayed-hot".into());
        return;
    };
    let time_to = |fahrenheit: f64| {
        let end = crossing(fahrenheit, start);
        let length = end.map_or(end_s, Seconds::value) - start.value();
        (Some(length / 60.0), Some(end.is_none()))
    };
    (row.cooling_to_21_c_min, row.cooling_to_21_c_censored) = time_to(COOLING_F.1);
    (row.cooling_to_5_c_min, row.cooling_to_5_c_censored) = time_to(COOLING_F.2);
}

#[cfg(test)]
mod tests;
