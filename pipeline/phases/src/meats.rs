//! The other meat channels of a cook against its lead.

use crate::channels::Channel;
use crate::samples::Samples;
use crate::segment::Segmentation;
use cook::{PhaseDefinition, Unlike};

/// Other readings are compared with the lead's curve every so many ms (5 min).
const EVERY_MS: i64 = 300_000;
/// Fewest comparisons that say anything.
const FEWEST: usize = 12;
/// Two parts of one piece of meat in one pit warm alike: their rates over the ramp go together.
/// Below this correlation a channel reads unlike the lead. Common practice, no source.
const ALIKE: f64 = 0.5;
/// A raw piece's parts begin within this of each other, °C. Common practice, no source.
const BEGIN_WITHIN_C: f64 = 15.0;
/// Two probes in one raw piece that differ by this much from the beginning on, °C …
const APART_C: f64 = 2.5;
/// … by the same amount all along (the middle half of the differences spans at most this share of
/// it), are not both true. Common practice, no source.
const STEADY_SHARE: f64 = 0.5;
/// A meat this near to the pit for most of a cook is a probe in the air, °C.
const IN_AIR_C: f64 = 12.0;

/// One meat channel beside the lead.
#[derive(Debug, Clone, PartialEq)]
pub struct MeatComparison {
    /// Its name.
    pub name: String,
    /// Mean of channel − lead from meat-on to the pull, °C.
    pub mean_difference_c: f64,
    /// Channel − lead where the lead first reaches the finish, °C; `None` where it does not.
    pub difference_at_finish_c: Option<f64>,
    /// When it arrives at the finish, min after the lead (negative: before); `None` where either
    /// does not arrive.
    pub finish_after_lead_min: Option<f64>,
    /// Correlation of its five-minute changes with the lead's below the stall; `None` where too
    /// little is seen.
    pub likeness: Option<f64>,
    /// How it reads unlike a probe in the same meat; `None` where it does not.
    pub unlike: Option<Unlike>,
    /// The difference that tells it, °C: its first temperature less the lead's, or the median of all.
    pub unlike_by_c: Option<f64>,
}

impl MeatComparison {
    /// How it reads unlike a probe in the same meat, as a sentence.
    pub fn unlike_sentence(&self) -> Option<String> {
        let by_c = self.unlike_by_c.unwrap_or(0.0);
        Some(match self.unlike? {
            Unlike::InAir => "It follows the pit: its probe may be in the air.".into(),
            Unlike::BeginsApart => format!(
                "It begins {:.0} °C {} than the lead: it may be in another piece of meat.",
                by_c.abs(),
                if by_c > 0.0 { "hotter" } else { "colder" }
            ),
            Unlike::HardlyWarms => "It hardly warms while the lead does.".into(),
            Unlike::SteadyDifference => format!(
                "It reads {:.1} °C {} than the lead from the beginning to the end: one of the two probes is off, test both in ice.",
                by_c.abs(),
                if by_c > 0.0 { "higher" } else { "lower" }
            ),
            Unlike::OtherCourse => format!(
                "It does not warm when the lead does (correlation {:.2} over the ramp).",
                self.likeness.unwrap_or(0.0)
            ),
        })
    }
}

/// Compares every other meat channel with the lead; those without readings in the cook are left out.
pub(crate) fn compare(
    meats: &[Channel],
    lead: usize,
    segmentation: &Segmentation,
    definition: &PhaseDefinition,
) -> Vec<MeatComparison> {
    let heating = &segmentation.judgement.heating;
    meats
        .iter()
        .enumerate()
        .filter(|(index, _)| *index != lead)
        .filter_map(|(_, channel)| {
            let bounds = &segmentation.bounds;
            let inside = channel.samples.view().within(bounds.meat_on_ms, bounds.pull_ms);
            let rows = rows(inside, segmentation);
            if rows.len() < FEWEST {
                return None;
            }
            let mean = rows.iter().map(|row| row.other - row.lead).sum::<f64>() / rows.len() as f64;
            let arrives = inside
                .temp_c
                .windows(2)
                .position(|pair| pair.iter().all(|t| *t >= definition.finish_c))
                .map(|index| inside.at_ms[index + 1]);
            let finish_after_lead_min = arrives
                .zip(heating.first_reaches_ms(definition.finish_c))
                .map(|(other, lead)| (other - lead) as f64 / 60_000.0);
            let likeness = likeness(&rows, definition.stall_from_c);
            let unlike = unlike(&rows, likeness);
            let at_finish = rows.iter().find(|row| row.lead >= definition.finish_c);
            Some(MeatComparison {
                difference_at_finish_c: at_finish.map(|row| row.other - row.lead),
                name: channel.name.clone(),
                mean_difference_c: mean,
                finish_after_lead_min,
                likeness,
                unlike: unlike.map(|(unlike, _)| unlike),
                unlike_by_c: unlike.and_then(|(_, by_c)| by_c),
            })
        })
        .collect()
}

struct Row {
    lead: f64,
    other: f64,
    pit: f64,
}

fn rows(other: Samples<'_>, segmentation: &Segmentation) -> Vec<Row> {
    let heating = &segmentation.judgement.heating;
    let (Some(&first), Some(&last)) = (other.at_ms.first(), other.at_ms.last()) else {
        return Vec::new();
    };
    (0..)
        .map(|step| segmentation.bounds.meat_on_ms + step * EVERY_MS)
        .skip_while(|at| *at < first)
        .take_while(|at| *at <= last)
        .filter_map(|at| {
            let index = heating.index_at(at)?;
            // The median of the readings around, so that a spike is no difference.
            let near = other.within(at - EVERY_MS / 2, at + EVERY_MS / 2);
            let value = stats::describe::median(near.temp_c).ok()?;
            Some(Row { lead: heating.core_c[index], other: value, pit: heating.pit_c[index] })
        })
        .collect()
}

/// Correlation of changes from row to row while the lead is below `until_c`.
fn likeness(rows: &[Row], until_c: f64) -> Option<f64> {
    let changes: Vec<(f64, f64)> = rows
        .windows(2)
        .take_while(|pair| pair[1].lead < until_c)
        .map(|pair| (pair[1].lead - pair[0].lead, pair[1].other - pair[0].other))
        .collect();
    if changes.len() < FEWEST {
        return None;
    }
    let n = changes.len() as f64;
    let mean = |pick: fn(&(f64, f64)) -> f64| changes.iter().map(pick).sum::<f64>() / n;
    let (a, b) = (mean(|c| c.0), mean(|c| c.1));
    let (mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0);
    for (x, y) in &changes {
        aa += (x - a) * (x - a);
        bb += (y - b) * (y - b);
        ab += (x - a) * (y - b);
    }
    (aa > 0.0 && bb > 0.0).then(|| ab / (aa * bb).sqrt())
}

/// How a channel reads unlike the lead, and the difference that tells it, °C.
fn unlike(rows: &[Row], likeness: Option<f64>) -> Option<(Unlike, Option<f64>)> {
    let near_pit = rows.iter().filter(|row| (row.pit - row.other).abs() < IN_AIR_C).count();
    let first = &rows[0];
    if near_pit * 2 > rows.len() {
        return Some((Unlike::InAir, None));
    }
    let apart_c = first.other - first.lead;
    if apart_c.abs() > BEGIN_WITHIN_C {
        return Some((Unlike::BeginsApart, Some(apart_c)));
    }
    let rise = |pick: fn(&Row) -> f64| pick(&rows[rows.len() - 1]) - pick(first);
    if rise(|row| row.other) < 0.3 * rise(|row| row.lead) {
        return Some((Unlike::HardlyWarms, None));
    }
    if likeness.is_some_and(|likeness| likeness < ALIKE) {
        return Some((Unlike::OtherCourse, None));
    }
    steady_difference(rows).map(|by_c| (Unlike::SteadyDifference, Some(by_c)))
}

/// The median difference where it is much the same all along, the raw beginning included. Parts of
/// one piece begin alike and drift apart while they warm, each at its own depth.
fn steady_difference(rows: &[Row]) -> Option<f64> {
    let mut differences: Vec<f64> = rows.iter().map(|row| row.other - row.lead).collect();
    let beginning = differences[0];
    differences.sort_by(f64::total_cmp);
    let at = |share: f64| differences[(share * (differences.len() - 1) as f64).round() as usize];
    let median = at(0.5);
    let steady = at(0.75) - at(0.25) <= STEADY_SHARE * median.abs();
    let from_the_beginning = (beginning - median).abs() <= STEADY_SHARE * median.abs();
    (median.abs() >= APART_C && steady && from_the_beginning).then_some(median)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows_of(other: impl Fn(usize) -> f64) -> Vec<Row> {
        (0..60)
            .map(|i| {
                let x = i as f64;
                Row { lead: 5.0 + 0.02 * x * x * (1.0 - x / 120.0), other: other(i), pit: 120.0 }
            })
            .collect()
    }

    #[test]
    fn a_point_beside_a_flat_reads_alike() {
        let rows = rows_of(|i| 6.0 + 0.022 * (i * i) as f64 * (1.0 - i as f64 / 125.0));
        let likeness = likeness(&rows, 55.0);
        assert!(likeness.is_some_and(|l| l > 0.9), "{likeness:?}");
        assert_eq!(unlike(&rows, likeness), None);
    }

    #[test]
    fn air_another_piece_and_a_dead_probe_are_said_to_be() {
        let said =
            |rows: &[Row]| unlike(rows, likeness(rows, 55.0)).map(|(unlike, _)| unlike.as_str());
        assert_eq!(said(&rows_of(|i| 118.0 + (i % 3) as f64)), Some("in-air"));
        assert_eq!(said(&rows_of(|i| 45.0 + 0.5 * i as f64)), Some("begins-apart"));
        assert_eq!(said(&rows_of(|_| 6.0)), Some("hardly-warms"));
    }

    #[test]
    fn a_probe_that_is_off_by_the_same_all_along_is_said_to_be_and_another_depth_is_not() {
        let course = |i: usize| 5.0 + 0.02 * (i * i) as f64 * (1.0 - i as f64 / 120.0);
        let off = rows_of(|i| course(i) - 4.0 + 0.3 * (i % 2) as f64);
        let found = unlike(&off, likeness(&off, 55.0));
        let Some((Unlike::SteadyDifference, Some(by_c))) = found else { panic!("{found:?}") };
        assert!((by_c + 3.85).abs() < 0.2, "{by_c}");
        // A point that warms faster: apart by 6 °C in the middle, alike at the beginning.
        let deeper = rows_of(|i| course(i) + 6.0 * (i as f64 / 20.0).min(1.0));
        assert_eq!(unlike(&deeper, likeness(&deeper, 55.0)), None);
    }
}
