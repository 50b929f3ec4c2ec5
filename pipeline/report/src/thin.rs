//! Thinning of long series for drawing, keeping every extreme that a reader could see.

use crate::data::{ChannelRole, CurvePoint, CurveSeries};

/// Points that a drawn series has at most, unless gaps in the log need more.
pub const MAX_POINTS: usize = 300;

/// Points of a series in a drawing too small to show more.
const MAX_POINTS_SMALL: usize = 140;

impl CurveSeries {
    /// A series thinned to about [`MAX_POINTS`] points: the readings are cut into equal runs and
    /// each run keeps its lowest and its highest reading in time order, so that no spike or dip
    /// disappears; the first and the last reading are kept, and so is every break of the line. `of`
    /// becomes the number of readings before thinning.
    pub fn thinned(name: impl Into<String>, role: ChannelRole, readings: &[CurvePoint]) -> Self {
        let of = readings.iter().filter(|p| p.temp_c.is_some()).count();
        Self { name: name.into(), role, points: thin(readings, MAX_POINTS), of }
    }

    /// The series as a small drawing shows it, in about half of its points.
    pub(crate) fn for_small(&self) -> Self {
        let points = thin(&self.points, MAX_POINTS_SMALL);
        Self { name: self.name.clone(), role: self.role, points, of: self.of }
    }

    /// How many readings the thinned series shows.
    pub fn shown(&self) -> usize {
        self.points.iter().filter(|p| p.temp_c.is_some()).count()
    }
}

/// Keeps the lowest and highest reading of each of `max / 2` equal runs, both ends, and one point
/// per gap.
fn thin(readings: &[CurvePoint], max: usize) -> Vec<CurvePoint> {
    if readings.len() <= max {
        return readings.to_vec();
    }
    let last = readings.len() - 1;
    let runs = (max / 2).max(2) - 1;
    let mut keep = vec![0];
    for run in 0..runs {
        let (from, to) = (run * readings.len() / runs, (run + 1) * readings.len() / runs);
        let by_value = |i: &usize, j: &usize| readings[*i].temp_c.partial_cmp(&readings[*j].temp_c);
        let measured = (from..to).filter(|i| readings[*i].temp_c.is_some_and(f64::is_finite));
        let order = |i: &usize, j: &usize| by_value(i, j).unwrap_or(std::cmp::Ordering::Equal);
        keep.extend(measured.clone().min_by(order));
        keep.extend(measured.max_by(order));
        // A run of breaks needs one break; a gap that is longer than a run needs one in each.
        keep.extend((from..to).find(|i| readings[*i].temp_c.is_none()));
    }
    keep.push(last);
    keep.sort_unstable();
    keep.dedup();
    keep.into_iter().map(|i| readings[i]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(n: usize) -> Vec<CurvePoint> {
        (0..n)
            .map(|i| CurvePoint { min: i as f64, temp_c: Some((i as f64 / 50.0).sin() + 60.0) })
            .collect()
    }

    #[test]
    fn a_short_series_is_left_alone() {
        let readings = series(MAX_POINTS);
        let thinned = CurveSeries::thinned("flat", ChannelRole::Core, &readings);
        assert_eq!(thinned.points, readings);
        assert_eq!((thinned.shown(), thinned.of), (300, 300));
    }

    #[test]
    fn spikes_ends_and_gaps_survive() {
        let mut readings = series(20_000);
        readings[7_123].temp_c = Some(150.0);
        readings[7_124].temp_c = Some(-5.0);
        readings[12_000].temp_c = None;
        let thinned = CurveSeries::thinned("flat", ChannelRole::Core, &readings);
        assert_eq!(thinned.of, 19_999);
        assert!(thinned.points.len() <= MAX_POINTS, "{} points", thinned.points.len());
        let has = |i: usize| thinned.points.contains(&readings[i]);
        assert!(has(0) && has(7_123) && has(7_124) && has(12_000) && has(19_999));
        assert!(thinned.points.is_sorted_by(|a, b| a.min < b.min));
    }
}
