//! When to put it on, so that it is done in time.

use crate::course::{Course, first_at};
use crate::error::OutlookError;
use crate::local::Range;
use crate::past::{Past, PastCook};
use crate::wrap::WrapClass;
use stats::Ridge;
use stats::conformal::weighted_quantile;

/// Bundled cooks together weigh at most as much as so many of the team's own.
const BUNDLED_VOTES: f64 = 10.0;
/// Weight of a cook of another cut beside one of the same, and of another pit.
const OTHER_CUT: f64 = 0.2;
const OTHER_PIT: f64 = 0.7;
/// A set-point counts by how far it lies above this, °C: what the meat comes to before it stalls.
const ABOVE_C: f64 = 55.0;
/// Weight of the cook that is planned among the errors of the others.
const OWN_ERROR_WEIGHT: f64 = 0.6;
/// Slopes: weight by the square of a length (2/3), the set-point's heat on offer (−1), foil, paper, foil by
/// set-point, own cooks; and how strongly each is held.
const SLOPES: [f64; 6] = [0.667, -1.0, -0.1, 0.0, 0.0, 0.0];
const PENALTIES: [f64; 6] = [3.0, 3.0, 4.0, 4.0, 8.0, 2.0];

/// Fewer cooks of the team's own than this do not say when a core is reached.
const FEWEST_SHARES: usize = 5;

/// A cook that is planned.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Planned {
    /// Weight as it goes on, kg; `None` is the past's mean.
    pub weight_kg: Option<f64>,
    /// Set-point, °C; `None` is the past's mean.
    pub setpoint_c: Option<f64>,
    /// Into what it will be wrapped; `None` is as the team usually does.
    pub wrap: Option<WrapClass>,
    /// At which core, °C.
    pub wrap_core_c: Option<f64>,
    /// The cut.
    pub cut: Option<String>,
    /// Which pit.
    pub pit: Option<String>,
}

/// The hours of a planned cook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hours {
    /// From meat-on to the finish.
    pub finish: Range,
    /// From meat-on to the core of the wrap, where one is planned and past cooks tell.
    pub wrap: Option<Range>,
    /// From meat-on to the pull.
    pub pull: Range,
    /// Hours from meat-on to the pull that are not exceeded with the certainty asked for.
    pub pull_by: f64,
}

impl Past {
    /// Hours from meat-on to finish and pull of a planned cook, ranges at `level`, and those not exceeded
    /// with `certainty` (0.5 to 1).
    ///
    /// # Errors
    /// No past cook with a finish; more certainty than so few cooks can promise.
    pub fn hours(
        &self,
        planned: &Planned,
        level: f64,
        certainty: f64,
        without_fire: Option<usize>,
    ) -> Result<Hours, OutlookError> {
        let total = Total::fit(self, planned, without_fire)?;
        total.can_promise(certainty)?;
        let wrap = planned.wrap.unwrap_or(WrapClass::Open);
        let finish = total.range(level)?;
        let pull = finish.then(self.to_pull(wrap, None, level)?);
        let sure = 2.0 * certainty - 1.0;
        let pull_by = total.range(sure)?.then(self.to_pull(wrap, None, sure)?).hi;
        let share =
            planned.wrap_core_c.and_then(|core_c| self.share_to(core_c, level, without_fire));
        Ok(Hours { finish, wrap: share.map(|share| finish.share(share)), pull, pull_by })
    }

    /// Which share of the time to the finish is over at a core that is still open, as `hours` of a range: of
    /// the team's own cooks where five tell, else of all.
    fn share_to(&self, core_c: f64, level: f64, without_fire: Option<usize>) -> Option<Range> {
        let shares = |with_bundled: bool| -> Vec<f64> {
            let cooks = self.cooks.iter().filter(|cook| Some(cook.fire) != without_fire);
            cooks
                .filter(|cook| with_bundled || !cook.bundled)
                .filter_map(|cook| {
                    let at = first_at(&cook.course.core_c, core_c)?;
                    let is_open = cook.course.wrap_at(at - 1.0).0 == WrapClass::Open;
                    (is_open && cook.finish_min > at).then_some(at / cook.finish_min)
                })
                .collect()
        };
        let own = shares(false);
        let shares = if own.len() >= FEWEST_SHARES { own } else { shares(true) };
        let tail = 0.5 - 0.5 * level;
        let at = |probability| stats::describe::quantile(&shares, probability).ok();
        Some(Range { hours: at(0.5)?, lo: at(tail)?, hi: at(1.0 - tail)? })
    }

    /// How often plans at a certainty would have been on time on the team's own past, each cook planned
    /// without its own fire: how many of how many, and the median wait in hours of those on time.
    ///
    /// # Errors
    /// As [`Past::hours`].
    pub fn check_plans(&self, certainty: f64) -> Result<(usize, usize, f64), OutlookError> {
        self.check_plans_of(certainty, None)
    }

    /// [`Past::check_plans`] of some: `only` are places among the past cooks, in their order.
    pub(crate) fn check_plans_of(
        &self,
        certainty: f64,
        only: Option<&[usize]>,
    ) -> Result<(usize, usize, f64), OutlookError> {
        let (mut on_time, mut all, mut waits) = (0, 0, Vec::new());
        let asked = |place: &usize| only.is_none_or(|only| only.binary_search(place).is_ok());
        for (_, cook) in
            self.cooks.iter().enumerate().filter(|(place, cook)| !cook.bundled && asked(place))
        {
            let Some(pull_min) = cook.course.pull_min else { continue };
            let planned = Planned::of(&cook.course);
            let hours = self.hours(&planned, 0.8, certainty, Some(cook.fire))?;
            // One that ended before the finish would have come later than its pull.
            let took_h = pull_min.max(cook.finish_min) / 60.0;
            all += 1;
            if took_h <= hours.pull_by {
                on_time += 1;
                waits.push(hours.pull_by - took_h);
            }
        }
        let wait = stats::describe::median(&waits).unwrap_or(0.0);
        Ok((on_time, all, wait))
    }
}

impl Planned {
    /// A past cook as it could have been planned.
    pub fn of(course: &Course) -> Self {
        let wrap = course.next_wrap(0.0).map_or(WrapClass::Open, |(_, class)| class);
        Self {
            weight_kg: course.about.weight_kg,
            setpoint_c: course.setpoint_at(0.0),
            wrap: Some(wrap),
            wrap_core_c: None,
            cut: course.about.cut.clone(),
            pit: course.about.pit.clone(),
        }
    }
}

impl Range {
    /// A share of a span, both uncertain: their relative errors add in quadrature.
    fn share(self, share: Self) -> Self {
        let hours = self.hours * share.hours;
        let off = |end: f64, of: f64| 1.0 - end / of;
        let below = off(self.lo, self.hours).hypot(off(share.lo, share.hours)).min(1.0);
        let above = off(self.hi, self.hours).hypot(off(share.hi, share.hours));
        Self { hours, lo: hours * (1.0 - below), hi: hours * (1.0 + above) }
    }
}

/// The regression of the logarithm of the total.
struct Total {
    fit: Ridge,
    ask: Vec<f64>,
    errors: Vec<(f64, f64)>,
}

impl Total {
    fn fit(past: &Past, planned: &Planned, without: Option<usize>) -> Result<Self, OutlookError> {
        let mut rows: Vec<(&PastCook, f64)> = past
            .cooks
            .iter()
            .filter(|cook| Some(cook.fire) != without)
            .map(|cook| (cook, likeness(cook, planned)))
            .collect();
        let bundled: f64 = rows.iter().filter(|r| r.0.bundled).map(|r| r.1).sum();
        for row in rows.iter_mut().filter(|row| row.0.bundled) {
            row.1 *= (BUNDLED_VOTES / bundled).min(1.0);
        }
        let Some(first) = rows.first().map(|row| row.0.fire) else {
            return Err(OutlookError::NoPast);
        };
        if rows.iter().all(|row| row.0.fire == first) {
            return Err(OutlookError::OneFire);
        }
        let known: Vec<[Option<f64>; 6]> = rows
            .iter()
            .map(|(cook, _)| {
                let of = Planned::of(&cook.course);
                columns(&of, !cook.bundled)
            })
            .collect();
        let mean = |column: usize| {
            let values = known.iter().zip(&rows).filter_map(|(k, r)| Some((k[column]?, r.1)));
            let (sum, weight) = values.fold((0.0, 0.0), |s, (v, w)| (s.0 + v * w, s.1 + w));
            if weight > 0.0 { sum / weight } else { 0.0 }
        };
        let means: Vec<f64> = (0..SLOPES.len()).map(mean).collect();
        let filled = |row: &[Option<f64>; 6]| -> Vec<f64> {
            row.iter().zip(&means).map(|(value, mean)| value.unwrap_or(*mean)).collect()
        };
        let x: Vec<Vec<f64>> = known.iter().map(filled).collect();
        let y: Vec<f64> = rows.iter().map(|(cook, _)| (cook.finish_min / 60.0).ln()).collect();
        let weights: Vec<f64> = rows.iter().map(|row| row.1).collect();
        let fit = Ridge::fit(&x, &y, &weights, &SLOPES, &PENALTIES)?;
        let groups: Vec<usize> = rows.iter().map(|(cook, _)| cook.fire).collect();
        let errors = fit
            .without_group(&groups)?
            .into_iter()
            .zip(&weights)
            .map(|((error, leverage), weight)| (error / (1.0 + leverage).sqrt(), *weight))
            .collect();
        let ask = filled(&columns(planned, true));
        Ok(Self { fit, ask, errors })
    }

    /// Beyond the largest error, counted with the one that is to come, nothing can be promised.
    fn can_promise(&self, certainty: f64) -> Result<(), OutlookError> {
        let weight: f64 = self.errors.iter().map(|error| error.1).sum();
        let most = weight / (weight + OWN_ERROR_WEIGHT);
        let per_cent = |share: f64| (100.0 * share + 1e-9) as u32;
        if certainty <= most {
            return Ok(());
        }
        Err(OutlookError::TooSure { asked: per_cent(certainty), most: per_cent(most) })
    }

    fn range(&self, level: f64) -> Result<Range, OutlookError> {
        let tail = 0.5 + 0.5 * level;
        let stretch = (1.0 + self.fit.leverage(&self.ask)).sqrt();
        let end = |errors: &[(f64, f64)]| -> Result<f64, OutlookError> {
            let found = weighted_quantile(errors, OWN_ERROR_WEIGHT, tail)?;
            let largest = errors.iter().map(|error| error.0).fold(0.05, f64::max);
            Ok(stretch * if found.is_finite() { found } else { 1.5 * largest })
        };
        let negated: Vec<(f64, f64)> = self.errors.iter().map(|(e, w)| (-e, *w)).collect();
        let predicted = self.fit.predict(&self.ask);
        let middle = predicted + weighted_quantile(&self.errors, 0.0, 0.5)?;
        Ok(Range {
            hours: middle.exp(),
            lo: (predicted - end(&negated)?).min(middle).exp(),
            hi: (predicted + end(&self.errors)?).max(middle).exp(),
        })
    }
}

fn columns(planned: &Planned, own: bool) -> [Option<f64>; 6] {
    let heat = planned.setpoint_c.map(|c| (c - ABOVE_C).max(15.0).ln());
    let is = |class| planned.wrap.map(|wrap| f64::from(u8::from(wrap == class)));
    let foil = is(WrapClass::Foil);
    [
        planned.weight_kg.map(f64::ln),
        heat,
        foil,
        is(WrapClass::Paper),
        foil.zip(heat).map(|(foil, heat)| foil * (heat - 4.1)),
        Some(f64::from(u8::from(own))),
    ]
}

fn likeness(cook: &PastCook, planned: &Planned) -> f64 {
    let differ = |a: &Option<String>, b: &Option<String>| a.is_some() && b.is_some() && a != b;
    let mut weight = 1.0;
    if differ(&cook.course.about.cut, &planned.cut) {
        weight *= OTHER_CUT;
    }
    if !cook.bundled && differ(&cook.course.about.pit, &planned.pit) {
        weight *= OTHER_PIT;
    }
    weight
}
