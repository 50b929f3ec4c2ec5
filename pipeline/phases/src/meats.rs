//! The other meat channels of a cook against its lead.

use crate::channels::Channel;
use crate::samples::Samples;
use crate::segment::Segmentation;
use cook::PhaseDefinition;

/// Other readings are compared with the lead's curve every so many ms (5 min).
const EVERY_MS: i64 = 300_000;
/// Fewest comparisons that say anything.
const FEWEST: usize = 12;
/// Two parts of one piece of meat in one pit warm alike: their rates over the ramp go together.
/// Below this correlation a channel reads unlike the lead. Common practice, no source.
const ALIKE: f64 = 0.5;
/// A raw piece's parts begin within this of each other, °C. Common practice, no source.
const BEGIN_WITHIN_C: f64 = 15.0;
/// A meat this near to the pit for most of a cook is a probe in the air, °C.
const IN_AIR_C: f64 = 12.0;

/// One meat channel beside the lead.
#[derive(Debug, Clone, PartialEq)]
pub struct MeatComparison {
    /// Its name.
    pub name: String,
    /// Mean of channel − lead from meat-on to the pull, °C.
    pub mean_difference_c: f64,
    /// When it arrives at the finish, min after the lead (negative: before); `None` where either
    /// does not arrive.
    pub finish_after_lead_min: Option<f64>,
    /// Correlation of its five-minute changes with the lead's below the stall; `None` where too
    /// little is seen.
    pub likeness: Option<f64>,
    /// Why it reads unlike a probe in the same meat, as a sentence for people; `None` where it does
    /// not.
    pub unlike: Option<String>,
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
            Some(MeatComparison {
                name: channel.name.clone(),
                mean_difference_c: mean,
                finish_after_lead_min,
                likeness,
                unlike: unlike(&channel.name, &rows, likeness),
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

fn unlike(name: &str, rows: &[Row], likeness: Option<f64>) -> Option<String> {
    let near_pit = rows.iter().filter(|row| (row.pit - row.other).abs() < IN_AIR_C).count();
    let first = &rows[0];
    if near_pit * 2 > rows.len() {
        return Some(format!("`{name}` follows the pit: its probe may be in the air."));
    }
    if (first.other - first.lead).abs() > BEGIN_WITHIN_C {
        return Some(format!(
            "`{name}` begins at {:.0} °C, the lead at {:.0} °C: it may be in another piece of meat.",
            first.other, first.lead
        ));
    }
    let rise = |pick: fn(&Row) -> f64| pick(&rows[rows.len() - 1]) - pick(first);
    if rise(|row| row.other) < 0.3 * rise(|row| row.lead) {
        return Some(format!("`{name}` hardly warms while the lead does."));
    }
    likeness.filter(|likeness| *likeness < ALIKE).map(|likeness| {
        format!(
            "`{name}` does not warm as the lead does (correlation {likeness:.2} over the ramp)."
        )
    })
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
        assert_eq!(unlike("Point", &rows, likeness), None);
    }

    #[test]
    fn air_another_piece_and_a_dead_probe_are_said_to_be() {
        let said = |rows: &[Row]| unlike("B", rows, likeness(rows, 55.0)).unwrap_or_default();
        assert!(said(&rows_of(|i| 118.0 + (i % 3) as f64)).contains("in the air"));
        assert!(said(&rows_of(|i| 45.0 + 0.5 * i as f64)).contains("another piece"));
        assert!(said(&rows_of(|_| 6.0)).contains("hardly warms"));
    }
}
