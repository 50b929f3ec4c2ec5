//! How good forecasts would have been on a team's own past, each cook foretold without its own fire.

use crate::course::STEP_MIN;
use crate::error::OutlookError;
use crate::forecast::{Ask, forecast};
use crate::past::{Past, PastCook};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeSet;
use study::result::forecast::{BacktestBand, ForecastBacktest, PlanCheck};

/// Most cooks that are foretold: with more the figures hardly move and the run takes long.
const MOST_COOKS: usize = 400;
/// Fewer fires say nothing.
const FEWEST_FIRES: usize = 5;
/// Every so many minutes from the first on, min.
const FIRST_MIN: f64 = 120.0;
const EVERY_MIN: f64 = 60.0;
/// A forecast closer to the finish than this is none.
const LAST_MIN: f64 = 10.0;
/// Level of the ranges, and certainty of the plans.
const LEVEL: f64 = 0.8;
const CERTAINTY: f64 = 0.9;
/// Bands of hours to go.
const BANDS_H: [(f64, Option<f64>); 4] =
    [(0.0, Some(1.0)), (1.0, Some(3.0)), (3.0, Some(6.0)), (6.0, None)];

/// One forecast beside what came, min.
struct Told {
    to_go: f64,
    off: f64,
    inside: bool,
    same_core_off: Option<f64>,
    by_weight_off: Option<f64>,
}

impl Past {
    /// Foretells the team's past cooks hour by hour, at most 400 of them, chosen by `seed`.
    pub fn backtest(&self, seed: u64) -> ForecastBacktest {
        let finished: Vec<usize> = (0..self.cooks.len())
            .filter(|&at| !self.cooks[at].bundled && self.cooks[at].course.finish_min.is_some())
            .collect();
        let chosen = chosen(&finished, seed);
        let fires: BTreeSet<usize> = chosen.iter().map(|&at| self.cooks[at].fire).collect();
        let mut found = ForecastBacktest {
            cooks: chosen.len(),
            fires: fires.len(),
            of_cooks: finished.len(),
            seed,
            level: LEVEL,
            ..ForecastBacktest::default()
        };
        if fires.len() < FEWEST_FIRES {
            found.reason = Some(format!(
                "{} fires have a cook with a pit and a finish; {FEWEST_FIRES} are needed",
                fires.len()
            ));
            return found;
        }
        let told: Vec<Told> = chosen.iter().flat_map(|&at| self.told(&self.cooks[at])).collect();
        let all = std::iter::once((None, None));
        let bands = BANDS_H.iter().map(|(from, to)| (Some(*from), *to));
        found.bands = bands.chain(all).filter_map(|(from, to)| band(&told, from, to)).collect();
        found.plans = self.planned(&chosen).ok().flatten();
        found
    }

    fn told(&self, cook: &PastCook) -> Vec<Told> {
        let Some(finish_min) = cook.course.finish_min else { return Vec::new() };
        let mut told = Vec::new();
        let mut minute = FIRST_MIN;
        while minute < finish_min - LAST_MIN {
            let step = (minute / STEP_MIN) as usize;
            let cut = cook.course.cut(step, &self.definition);
            let ask =
                Ask { course: &cut, planned: None, without_fire: Some(cook.fire), level: LEVEL };
            if let Ok(answer) = forecast(self, &ask) {
                let to_go = finish_min - minute;
                let off = |guess: f64| (guess - to_go).abs();
                told.push(Told {
                    to_go,
                    off: off(60.0 * answer.to_go.hours),
                    inside: (60.0 * answer.to_go.lo..=60.0 * answer.to_go.hi).contains(&to_go),
                    same_core_off: self.same_core(cook, step).map(off),
                    by_weight_off: self.by_weight(cook, minute).map(off),
                });
            }
            minute += EVERY_MIN;
        }
        told
    }

    fn own_others<'a>(&'a self, cook: &'a PastCook) -> impl Iterator<Item = &'a PastCook> {
        self.cooks.iter().filter(|other| !other.bundled && other.fire != cook.fire)
    }

    /// Rule of thumb: the median of what past cooks still took from the same core in the same wrap.
    fn same_core(&self, cook: &PastCook, step: usize) -> Option<f64> {
        let core_c = cook.course.core_c[step];
        let wrap = cook.course.wrap_at(step as f64 * STEP_MIN).0;
        let left = self.own_others(cook).filter_map(|past| {
            let finish_min = past.course.finish_min?;
            let at = past.course.core_c.iter().position(|core| *core >= core_c)?;
            let minute = at as f64 * STEP_MIN;
            (past.course.wrap_at(minute).0 == wrap).then_some((finish_min - minute).max(0.0))
        });
        stats::describe::median(&left.collect::<Vec<_>>()).ok()
    }

    /// Rule of thumb: hours by weight, the median of past cooks, less what is over.
    fn by_weight(&self, cook: &PastCook, minute: f64) -> Option<f64> {
        let by_kg = self
            .own_others(cook)
            .filter_map(|past| Some(past.course.finish_min? / past.course.about.weight_kg?));
        let by_kg = stats::describe::median(&by_kg.collect::<Vec<_>>()).ok()?;
        Some((by_kg * cook.course.about.weight_kg? - minute).max(0.0))
    }

    fn planned(&self, chosen: &[usize]) -> Result<Option<PlanCheck>, OutlookError> {
        let (on_time, cooks, wait_h) = self.check_plans_of(CERTAINTY, Some(chosen))?;
        let check = PlanCheck { certainty: CERTAINTY, cooks, on_time, wait_min: 60.0 * wait_h };
        Ok((cooks > 0).then_some(check))
    }
}

/// At most [`MOST_COOKS`] of them, in their order.
fn chosen(cooks: &[usize], seed: u64) -> Vec<usize> {
    let mut chosen = cooks.to_vec();
    if chosen.len() > MOST_COOKS {
        chosen.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
        chosen.truncate(MOST_COOKS);
        chosen.sort_unstable();
    }
    chosen
}

fn band(told: &[Told], from_h: Option<f64>, to_h: Option<f64>) -> Option<BacktestBand> {
    let inside = |told: &&Told| {
        from_h.is_none_or(|from| told.to_go >= 60.0 * from)
            && to_h.is_none_or(|to| told.to_go < 60.0 * to)
    };
    let told: Vec<&Told> = told.iter().filter(inside).collect();
    let median = |of: &dyn Fn(&Told) -> Option<f64>| {
        let values: Vec<f64> = told.iter().filter_map(|told| of(told)).collect();
        stats::describe::median(&values).ok()
    };
    Some(BacktestBand {
        from_h,
        to_h,
        moments: told.len(),
        off_min: median(&|told| Some(told.off))?,
        covered: told.iter().filter(|told| told.inside).count() as f64 / told.len() as f64,
        same_core_off_min: median(&|told| told.same_core_off),
        by_weight_off_min: median(&|told| told.by_weight_off),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_cooks_are_chosen_by_the_seed_and_few_are_all_taken() {
        let many: Vec<usize> = (0..1_000).collect();
        let first = chosen(&many, 1);
        assert_eq!(first.len(), MOST_COOKS);
        assert!(first.is_sorted());
        assert_eq!(first, chosen(&many, 1));
        assert_ne!(first, chosen(&many, 2));
        assert_eq!(chosen(&many[..10], 1), many[..10]);
    }

    #[test]
    fn a_band_has_medians_and_the_share_inside() {
        let told = |to_go: f64, off: f64, inside: bool| Told {
            to_go,
            off,
            inside,
            same_core_off: None,
            by_weight_off: Some(2.0 * off),
        };
        let told = [told(30.0, 5.0, true), told(90.0, 20.0, true), told(100.0, 40.0, false)];
        let near = band(&told, Some(0.0), Some(1.0)).unwrap();
        assert_eq!((near.moments, near.off_min, near.covered), (1, 5.0, 1.0));
        let all = band(&told, None, None).unwrap();
        assert_eq!((all.moments, all.off_min, all.by_weight_off_min), (3, 20.0, Some(40.0)));
        assert!((all.covered - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(all.same_core_off_min, None);
        assert_eq!(band(&told, Some(6.0), None), None);
    }
}
