//! Probes that were in each other's sockets, told by their behaviour.
//!
//! Two channels exchanged in mid-log change places between one row and the next: the pair is
//! continuous if the two are exchanged and leaps if they are not. Which of two orders is the right
//! one is told by heat (the pit is hotter than the meat for most of a cook) or, between two meats,
//! by the names at the beginning.

use crate::samples::Samples;

/// A step of both channels together that is less than this is no exchange, °C …
const LEAST_LEAP_C: f64 = 1.0;
/// … nor one of less than so many steps of the logger, or standard deviations of the noise.
const LEAST_LEAP_QUANTA: f64 = 4.0;
const LEAST_LEAP_NOISE: f64 = 7.0;
/// Exchanged, what is left of the leap between levels is at most this share of it …
const LEFT_OVER: f64 = 0.3;
/// … and of that between two rows, which have all of the noise, at most this.
const LEFT_OVER_OF_ROWS: f64 = 0.5;
/// Rows further apart than this tell nothing of an exchange, ms (15 min).
const NEAR_MS: i64 = 900_000;
/// Rows whose median stands for the level on either side.
const LEVEL_ROWS: usize = 5;
/// The pit is taken for exchanged as a whole if the meat is hotter than it by this in the median,
/// °C: a resting core stays above a dying pit for a while, but not by so much for half of a log.
const HOTTER_C: f64 = 15.0;

/// A stretch in which two channels were exchanged.
#[derive(Debug, Clone, PartialEq)]
pub struct Exchange {
    /// The channels' names.
    pub channels: (String, String),
    /// First reading that belongs to the other channel, ms UTC.
    pub start_ms: i64,
    /// First reading that is right again, ms UTC; the log's end where none is.
    pub end_ms: i64,
    /// What speaks for it, as a sentence for people.
    pub because: String,
}

/// Stretches `[start, end)` in ms in which two meats are exchanged, which have the names of the
/// beginning.
///
/// Probes are often plugged in anew when a meat is wrapped, and its own probe dips from then on: there
/// the rows on either side tell the exchange, and the level of the other one.
pub fn exchanged_meats(a: Samples<'_>, b: Samples<'_>) -> Vec<(i64, i64)> {
    find_where(a, b, false, |rows, index, least| {
        leaps(rows, index, least) || leaps_into_dip(rows, index, least)
    })
}

/// Stretches `[start, end)` in ms UTC in which `a` and `b` are exchanged. `a_is_pit` where `a` is
/// the pit and `b` a meat.
pub(crate) fn find(a: Samples<'_>, b: Samples<'_>, a_is_pit: bool) -> Vec<(i64, i64)> {
    find_where(a, b, a_is_pit, leaps)
}

/// A row: instant, value of the one, value of the other.
type Row = (i64, f64, f64);

fn find_where(
    a: Samples<'_>,
    b: Samples<'_>,
    a_is_pit: bool,
    changes_places: impl Fn(&[Row], usize, f64) -> bool,
) -> Vec<(i64, i64)> {
    let rows = shared(a, b);
    if rows.len() < 2 * LEVEL_ROWS {
        return Vec::new();
    }
    let quantum = stats::quantum(b.temp_c).max(stats::quantum(a.temp_c));
    let noise = super::dips::noise_sd(a).max(super::dips::noise_sd(b));
    let least = LEAST_LEAP_C.max(LEAST_LEAP_QUANTA * quantum).max(LEAST_LEAP_NOISE * noise);
    // Rows at which the pair changes places.
    let mut changes = Vec::new();
    for index in 1..rows.len() {
        let settled = changes.last().is_none_or(|last| index - last >= LEVEL_ROWS);
        let near = rows[index].0 - rows[index - 1].0 <= NEAR_MS;
        if settled && near && changes_places(&rows, index, least) {
            changes.push(index);
        }
    }
    let Some(&(end_ms, ..)) = rows.last() else { return Vec::new() };
    let mut exchanged = false;
    if a_is_pit {
        // The order in which the pit is hotter for most of the log.
        let mut state = false;
        let mut next = changes.iter().peekable();
        let mut differences: Vec<f64> = rows
            .iter()
            .enumerate()
            .map(|(index, row)| {
                if next.next_if(|change| **change == index).is_some() {
                    state = !state;
                }
                if state { row.2 - row.1 } else { row.1 - row.2 }
            })
            .collect();
        differences.sort_by(f64::total_cmp);
        let median = differences[differences.len() / 2];
        // Both ways of reading a log with changes are equal but for this sign.
        exchanged = if changes.is_empty() { median < -HOTTER_C } else { median < 0.0 };
    }
    let mut out = Vec::new();
    let mut start = exchanged.then_some(i64::MIN);
    for change in changes {
        let at_ms = rows[change].0;
        match start.take() {
            Some(start_ms) => out.push((start_ms, at_ms)),
            None => start = Some(at_ms),
        }
    }
    if let Some(start_ms) = start {
        out.push((start_ms, end_ms.saturating_add(1)));
    }
    out
}

/// Whether the pair changes places between the row before `index` and this one while one of the two
/// begins to dip: the rows themselves are exchanged, one goes on at the other's level, and the other
/// falls.
fn leaps_into_dip(rows: &[Row], index: usize, least: f64) -> bool {
    let (before, after) = (rows[index - 1], rows[index]);
    let plain = step((before.1, before.2), (after.1, after.2));
    let left = step((before.1, before.2), (after.2, after.1));
    let both = (before.1 - after.1).abs().min((before.2 - after.2).abs()) >= 0.25 * plain;
    if plain < least || left > LEFT_OVER * plain || !both {
        return false;
    }
    let was = level(&rows[index.saturating_sub(LEVEL_ROWS)..index]);
    let is = level(&rows[index..(index + LEVEL_ROWS).min(rows.len())]);
    let goes_on = |level: f64, of: f64| (level - of).abs() <= 0.5 * LEFT_OVER * plain;
    let falls = |level: f64, from: f64| level < from - 0.5 * LEFT_OVER * plain;
    (goes_on(is.0, was.1) && falls(is.1, was.0)) || (goes_on(is.1, was.0) && falls(is.0, was.1))
}

fn step(x: (f64, f64), y: (f64, f64)) -> f64 {
    (x.0 - y.0).abs() + (x.1 - y.1).abs()
}

/// Medians of both.
fn level(rows: &[Row]) -> (f64, f64) {
    let median = |pick: fn(&Row) -> f64| {
        let mut values: Vec<f64> = rows.iter().map(pick).collect();
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    (median(|row| row.1), median(|row| row.2))
}

/// Whether the pair changes places between the row before `index` and this one.
fn leaps(rows: &[Row], index: usize, least: f64) -> bool {
    let (before, after) = (rows[index - 1], rows[index]);
    let plain = step((before.1, before.2), (after.1, after.2));
    let left = step((before.1, before.2), (after.2, after.1));
    if plain < LEFT_OVER_OF_ROWS * least || left > LEFT_OVER_OF_ROWS * plain {
        return false;
    }
    // Both must leap, and stay there: one row may be a spike.
    let was = level(&rows[index.saturating_sub(LEVEL_ROWS)..index]);
    let is = level(&rows[index..(index + LEVEL_ROWS).min(rows.len())]);
    let plain = step(was, is);
    plain >= least
        && step(was, (is.1, is.0)) <= LEFT_OVER * plain
        && (was.0 - is.0).abs().min((was.1 - is.1).abs()) >= 0.25 * plain
}

/// Rows that both channels have: instant, value of `a`, value of `b`.
fn shared(a: Samples<'_>, b: Samples<'_>) -> Vec<Row> {
    let mut rows = Vec::with_capacity(a.len().min(b.len()));
    let mut j = 0;
    for (&at_ms, &value) in a.at_ms.iter().zip(a.temp_c) {
        while j < b.len() && b.at_ms[j] < at_ms {
            j += 1;
        }
        if j < b.len() && b.at_ms[j] == at_ms {
            rows.push((at_ms, value, b.temp_c[j]));
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find_in(a: &[f64], b: &[f64], a_is_pit: bool) -> Vec<(i64, i64)> {
        let at_ms: Vec<i64> = (0..a.len() as i64).map(|i| i * 60_000).collect();
        find(Samples { at_ms: &at_ms, temp_c: a }, Samples { at_ms: &at_ms, temp_c: b }, a_is_pit)
    }

    #[test]
    fn a_pit_and_a_meat_that_change_places_are_found() {
        let mut pit = vec![120.0; 300];
        let mut meat: Vec<f64> = (0..300).map(|i| 5.0 + 0.25 * f64::from(i)).collect();
        assert_eq!(find_in(&pit, &meat, true), []);
        for i in 100..180 {
            std::mem::swap(&mut pit[i], &mut meat[i]);
        }
        assert_eq!(find_in(&pit, &meat, true), [(100 * 60_000, 180 * 60_000)]);
        // The other way round it is the rest of the log that is exchanged.
        let end = 299 * 60_000 + 1;
        assert_eq!(find_in(&meat, &pit, true), [(i64::MIN, 100 * 60_000), (180 * 60_000, end)]);
    }

    #[test]
    fn two_meats_that_change_places_keep_the_names_of_the_beginning() {
        let mut flat: Vec<f64> = (0..300).map(|i| 5.0 + 0.25 * f64::from(i)).collect();
        let mut point: Vec<f64> = flat.iter().map(|t| t + 6.0).collect();
        for i in 200..300 {
            std::mem::swap(&mut flat[i], &mut point[i]);
        }
        assert_eq!(find_in(&flat, &point, false), [(200 * 60_000, 299 * 60_000 + 1)]);
    }

    #[test]
    fn two_meats_that_are_hardly_apart_are_told_by_their_levels() {
        // 0.7 °C apart under a tenth of a degree of noise that repeats every five rows.
        let noise = [0.1, -0.08, 0.02, -0.1, 0.06];
        let value = |i: usize, shift: usize| 60.0 + 0.02 * i as f64 + noise[(i + shift) % 5];
        let mut flat: Vec<f64> = (0..300).map(|i| value(i, 0)).collect();
        let mut point: Vec<f64> = (0..300).map(|i| value(i, 2) + 0.7).collect();
        assert_eq!(find_in(&flat, &point, false), []);
        for i in 120..180 {
            std::mem::swap(&mut flat[i], &mut point[i]);
        }
        assert_eq!(find_in(&flat, &point, false), [(120 * 60_000, 180 * 60_000)]);
    }

    #[test]
    fn meats_that_change_places_at_a_wrap_are_told_though_one_dips() {
        let core = |minute: usize, rate: f64| 5.0 + rate * minute as f64;
        let dip = |minute: usize| {
            if minute <= 200 { 0.0 } else { 14.0 * (-((minute - 201) as f64) / 8.0).exp() }
        };
        let (wrapped, other) = (|m| core(m, 0.27) - dip(m), |m| core(m, 0.31));
        let exchanged = |m: usize| (200..290).contains(&m);
        let one: Vec<f64> =
            (0..300).map(|m| if exchanged(m) { other(m) } else { wrapped(m) }).collect();
        let two: Vec<f64> =
            (0..300).map(|m| if exchanged(m) { wrapped(m) } else { other(m) }).collect();
        let at_ms: Vec<i64> = (0..300).map(|i| i * 60_000).collect();
        let samples = |temp_c| Samples { at_ms: &at_ms, temp_c };
        let found = exchanged_meats(samples(&one), samples(&two));
        assert_eq!(found, [(200 * 60_000, 290 * 60_000)]);
        // A dip of the one, and none of them where the other's is.
        let (one, two): (Vec<f64>, Vec<f64>) = (0..300).map(|m| (wrapped(m), other(m))).unzip();
        assert_eq!(exchanged_meats(samples(&one), samples(&two)), []);
    }

    #[test]
    fn an_open_lid_and_a_pulled_probe_are_no_exchange() {
        let mut pit = vec![120.0; 300];
        let mut meat: Vec<f64> = (0..300).map(|i| 5.0 + 0.25 * f64::from(i)).collect();
        for i in 150..160 {
            pit[i] -= 40.0;
            meat[i] -= 15.0;
        }
        assert_eq!(find_in(&pit, &meat, true), []);
    }
}
