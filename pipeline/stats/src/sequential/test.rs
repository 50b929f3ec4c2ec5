//! The randomisation test of each look.

use super::boundary::Spending;
use super::lots::Unit;
use crate::error::StatsError;
use crate::root::find_root;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Paths of lots up to which all are counted: sixteen pairs.
const ALL_PATHS: f64 = 65_536.0;
/// Statistics closer than this part of the largest count as equal.
const ROUNDING: f64 = 1e-11;
/// How exactly an end of an interval is found, as a part of the spread of the outcomes.
const PRECISION: f64 = 1e-7;

/// Which way an effect is tested to lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The effect is larger than the one supposed.
    Above,
    /// It is smaller.
    Below,
}

/// A look that was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Units that it looked at: the first so many.
    pub units: usize,
    /// Share of the planned information that it had, 0 to 1.
    pub information: f64,
}

/// A trial of units (pairs or blocks) looked at several times.
///
/// At each look the lots drawn so far are set against all that could have been drawn, under the
/// hypothesis that the first treatment adds the same to every outcome. Those whose sum of differences is
/// most extreme are rejected, as many as the spending function allows by then, on paths that no earlier look has
/// rejected. So the chance to be rejected at any look is at most `alpha` a side, whatever the outcomes are
/// distributed like and however few units there are; error that a small number of ways could not use
/// is left to later looks. Beyond sixteen pairs paths are drawn at random, the one that happened among them.
#[derive(Debug, Clone)]
pub struct SequentialTest<'a> {
    units: &'a [Unit],
    looks: &'a [Look],
    alpha: f64,
    spending: Spending,
    /// Ways of the units on each random path; nothing where all are counted.
    drawn: Option<Vec<Vec<u16>>>,
}

/// Sums of the differences on all paths up to each look, and which of them had been rejected.
pub(super) struct Paths {
    pub(super) sums: Vec<Vec<f64>>,
}

impl<'a> SequentialTest<'a> {
    /// A test at the one-sided level `alpha`. The units that count at a look are the first
    /// `units` of it; `planned` is their number at the end, which decides whether all paths are counted or
    /// `draws` random ones of `seed`.
    ///
    /// # Errors
    /// No looks, looks that do not rise or look at more units than there are, a level outside 0 to 1.
    pub fn new(
        units: &'a [Unit],
        looks: &'a [Look],
        alpha: f64,
        spending: Spending,
        (planned, draws, seed): (usize, usize, u64),
    ) -> Result<Self, StatsError> {
        crate::error::require_level(alpha)?;
        let rises = |row: usize| row == 0 || looks[row].units > looks[row - 1].units;
        let most = looks.last().map_or(0, |look| look.units);
        if let Some(row) = (0..looks.len()).find(|row| !rises(*row)) {
            return Err(StatsError::NotIncreasing { what: "the units of the looks".into(), row });
        }
        if most == 0 || most > units.len() {
            let what = "the last look".into();
            return Err(StatsError::TooFewRows { what, needed: most.max(1), found: units.len() });
        }
        let seen: f64 = units.iter().map(|unit| (unit.ways() as f64).ln()).sum();
        let each = seen / units.len() as f64;
        let is_all = each * planned.max(units.len()) as f64 <= ALL_PATHS.ln() + 1e-9;
        let drawn = (!is_all).then(|| {
            let one = |(place, unit): (usize, &Unit)| {
                let mut random = ChaCha8Rng::seed_from_u64(seed);
                random.set_stream(place as u64);
                let last = unit.ways() as u16;
                std::iter::once(0).chain((0..draws).map(|_| random.random_range(0..last))).collect()
            };
            units[..most].iter().enumerate().map(one).collect()
        });
        Ok(Self { units, looks, alpha, spending, drawn })
    }

    pub(super) fn looks(&self) -> &[Look] {
        self.looks
    }

    pub(super) fn alpha(&self) -> f64 {
        self.alpha
    }

    /// Sum of the weights of the units of a look.
    pub(super) fn weight(&self, look: usize) -> f64 {
        self.units[..self.looks[look].units].iter().map(Unit::weight).sum()
    }

    /// The sums of all paths at each look up to `last`, the path that happened first. Path p of a look
    /// comes from path p modulo their number at the look before.
    pub(super) fn paths(&self, effect: f64, last: usize) -> Paths {
        let mut sums = vec![0.0];
        if let Some(drawn) = &self.drawn {
            sums = vec![0.0; drawn[0].len()];
        }
        let mut at_looks = Vec::with_capacity(last + 1);
        let mut next = 0;
        for look in &self.looks[..=last] {
            for place in next..look.units {
                let differences = self.units[place].differences(effect);
                if let Some(drawn) = &self.drawn {
                    for (sum, way) in sums.iter_mut().zip(&drawn[place]) {
                        *sum += differences[usize::from(*way)];
                    }
                } else {
                    let before = std::mem::take(&mut sums);
                    sums.reserve(before.len() * differences.len());
                    for difference in &differences {
                        sums.extend(before.iter().map(|sum| sum + difference));
                    }
                }
            }
            next = look.units;
            at_looks.push(sums.clone());
        }
        Paths { sums: at_looks }
    }

    /// The sum of differences beyond which paths are rejected, for `side` above, at each look up to
    /// `last`: infinite where none can be.
    pub(super) fn thresholds(&self, paths: &Paths, side: Side) -> Vec<f64> {
        let sign = if side == Side::Above { 1.0 } else { -1.0 };
        let mut gone: Vec<bool> = Vec::new();
        let mut thresholds = Vec::new();
        for (sums, look) in paths.sums.iter().zip(self.looks) {
            let before = gone.len();
            let mut now: Vec<bool> =
                (0..sums.len()).map(|path| before > 0 && gone[path % before]).collect();
            let rejected = now.iter().filter(|gone| **gone).count();
            let spent = self.spending.spent(self.alpha, look.information);
            // The nudge keeps a count that is a whole number from falling to the one below it.
            let may = (spent * sums.len() as f64 + 1e-9).floor() as usize;
            let allowed = may.saturating_sub(rejected);
            let mut alive: Vec<f64> = sums
                .iter()
                .zip(&now)
                .filter(|(_, gone)| !**gone)
                .map(|(sum, _)| sign * sum)
                .collect();
            let threshold = if allowed == 0 || alive.is_empty() {
                f64::INFINITY
            } else if allowed >= alive.len() {
                f64::NEG_INFINITY
            } else {
                let (_, edge, _) = alive.select_nth_unstable_by(allowed, |a, b| b.total_cmp(a));
                let edge = *edge;
                let scale = alive.iter().fold(0.0f64, |most, sum| most.max(sum.abs()));
                edge + ROUNDING * scale
            };
            for (gone, sum) in now.iter_mut().zip(sums) {
                *gone |= sign * sum > threshold;
            }
            gone = now;
            thresholds.push(threshold);
        }
        thresholds
    }

    /// Whether the look `look` (from 0) rejects that the effect is `effect`, for one that lies on `side` of it.
    pub fn rejects(&self, effect: f64, look: usize, side: Side) -> bool {
        let sign = if side == Side::Above { 1.0 } else { -1.0 };
        let paths = self.paths(effect, look);
        let thresholds = self.thresholds(&paths, side);
        sign * paths.sums[look][0] > thresholds[look]
    }

    /// The effect that leaves no difference at a look: for observed outcomes the weighted mean of the
    /// units' differences.
    pub fn estimate(&self, look: usize) -> f64 {
        let units = &self.units[..self.looks[look].units];
        let far = self.far(look);
        let left = |effect: f64| units.iter().map(|unit| unit.differences(effect)[0]).sum::<f64>();
        find_root(-far, far, 1e-12, left)
    }

    /// An effect that no outcome leaves possible.
    pub(super) fn far(&self, look: usize) -> f64 {
        let units = &self.units[..self.looks[look].units];
        2.0 * units.iter().map(Unit::spread).fold(1e-6, f64::max)
    }

    /// The repeated confidence interval of a look: all effects that it does not reject. The chance
    /// that it misses the effect at any look is at most 2·`alpha` (Jennison & Turnbull 1989, "Interim
    /// analyses: the repeated confidence interval approach", Journal of the Royal Statistical Society
    /// B 51, 305–361). Open ends are infinite.
    pub fn interval(&self, look: usize) -> (f64, f64) {
        let middle = self.estimate(look);
        let far = self.far(look);
        let end = |side: Side| {
            let sign = if side == Side::Above { 1.0 } else { -1.0 };
            let mut outside = middle - sign * far;
            if !self.rejects(outside, look, side) {
                return -sign * f64::INFINITY;
            }
            let mut inside = middle;
            while (inside - outside).abs() > PRECISION * far {
                let between = 0.5 * (inside + outside);
                if self.rejects(between, look, side) {
                    outside = between;
                } else {
                    inside = between;
                }
            }
            outside
        };
        (end(Side::Above), end(Side::Below))
    }
}
