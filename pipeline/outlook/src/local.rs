//! Regression of the hours to go on past moments that stand alike, and the range from its errors.

use crate::course::Course;
use crate::error::OutlookError;
use crate::moment::{COLUMNS, Moment, PlannedWrap};
use crate::past::{Past, PastCook};
use crate::wrap::WrapClass;
use stats::Ridge;
use stats::conformal::weighted_quantile;

/// Bundled cooks together weigh at most as much as so many of the team's own.
const BUNDLED_VOTES: f64 = 10.0;
/// Weight of a cook of another cut, or another pit, beside one of the same.
const OTHER_CUT: f64 = 0.3;
const OTHER_PIT: f64 = 0.7;
/// A moment of less weight is left out.
const LEAST_WEIGHT: f64 = 0.01;
/// A moment of at least this weight stands alike.
const ALIKE: f64 = 0.3;
/// Fewer of the team's own cooks alike than this, among at least three times as many, and it is unlike
/// them.
const FEWEST_ALIKE: f64 = 3.0;
/// Weight of a cook that was not wrapped as planned beside one that was.
const NOT_AS_PLANNED: f64 = 0.3;
/// Penalty of how the team's own cooks differ from the bundled ones. Without any, it widens the range.
const OWN_PENALTY: f64 = 2.5;
/// A cook that dwells where the ask is counts at most so many times one that does so for as long as most.
const MOST_DWELLING: f64 = 2.5;
/// Penalty of the column of a planned wrap.
const PLAN_PENALTY: f64 = 4.0;
/// Weight of the cook that is asked about among the errors of the others.
const OWN_ERROR_WEIGHT: f64 = 0.6;

/// Hours to go with a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The middle.
    pub hours: f64,
    /// Lower end.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
}

/// How much one past cook counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// The cook.
    pub cook: String,
    /// Whether it is one of the bundled.
    pub bundled: bool,
    /// Its weight; 1 stands at the very same moment.
    pub weight: f64,
    /// Hours it had to go from there.
    pub hours: f64,
    /// Minutes after meat-on of the moment that stands alike.
    pub minute: f64,
}

/// A local regression about one moment.
#[derive(Debug, Clone)]
pub(crate) struct Local {
    fit: Ridge,
    ask: Vec<f64>,
    /// Columns in use, and the means that stand for what a row lacks.
    used: Vec<usize>,
    with_reference: bool,
    planned: bool,
    /// Standardised errors without the own fire, with weights.
    errors: Vec<(f64, f64)>,
    middle: f64,
    pub(crate) counted: Vec<Counted>,
    pub(crate) own_weight: f64,
    pub(crate) bundled_weight: f64,
    pub(crate) own_alike: usize,
    own_cooks: usize,
}

/// One past moment beside the one asked about.
struct Row<'a> {
    cook: &'a PastCook,
    moment: &'a Moment,
    hours: f64,
    weight: f64,
    plan: Option<f64>,
}

impl Local {
    /// As past cooks went on from such a moment, whatever was done to them.
    pub(crate) fn usual(
        past: &Past,
        ask: &Moment,
        course: &Course,
        planned: Option<PlannedWrap>,
        without_fire: Option<usize>,
    ) -> Result<Self, OutlookError> {
        let planned = planned.filter(|_| ask.wrap == WrapClass::Open);
        let mut rows = Vec::new();
        // How long each cook was at moments alike, against its nearest.
        let mut dwellings = Vec::new();
        for cook in others(past, without_fire) {
            let mut nearest: Option<(f64, &Moment)> = None;
            let mut dwelt = 0.0;
            for moment in cook.moments.iter().flatten() {
                let Some(distance) = ask.distance(moment) else { continue };
                dwelt += (-0.5 * distance).exp();
                if nearest.is_none_or(|(least, _)| distance < least) {
                    nearest = Some((distance, moment));
                }
            }
            let Some((distance, moment)) = nearest else { continue };
            let hours = (cook.finish_min - moment.minute) / 60.0;
            let mut weight = (-0.5 * distance).exp() * likeness(cook, course);
            dwellings.push((dwelt / (-0.5 * distance).exp(), weight));
            let mut plan = None;
            if let Some(planned) = planned {
                let next = cook.course.next_wrap(moment.minute).filter(|n| n.1 == planned.class());
                plan = next.map(|(at, _)| match planned {
                    PlannedWrap::AtCore(..) => {
                        let step = (at / crate::course::STEP_MIN) as usize;
                        cook.course.core_c.get(step).copied().unwrap_or(ask.core_c) / 5.0
                    }
                    PlannedWrap::In(..) => ((at - moment.minute) / 60.0 + 0.5).ln(),
                });
                if plan.is_none() {
                    weight *= NOT_AS_PLANNED;
                }
            }
            rows.push(Row { cook, moment, hours, weight, plan });
        }
        // Whoever asks at a moment such as this is the likelier to be in a cook that dwells there.
        let (sum, total) =
            dwellings.iter().fold((0.0, 0.0), |sums, (d, w)| (sums.0 + d * w, sums.1 + w));
        for (row, (dwelt, _)) in rows.iter_mut().zip(&dwellings) {
            let share: f64 = dwelt * total / sum;
            row.weight *= share.clamp(1.0 / MOST_DWELLING, MOST_DWELLING);
        }
        let at = planned.map(|planned| match planned {
            PlannedWrap::AtCore(_, core) => core / 5.0,
            PlannedWrap::In(_, hours) => (hours.max(0.0) + 0.5).ln(),
        });
        Self::fit(rows, ask, at)
    }

    /// As past cooks went on that were wrapped at such a moment.
    pub(crate) fn wrapped_now(
        past: &Past,
        ask: &Moment,
        course: &Course,
        class: WrapClass,
        without_fire: Option<usize>,
    ) -> Result<Self, OutlookError> {
        let mut rows = Vec::new();
        for cook in others(past, without_fire) {
            let Some((at, _)) = cook.course.next_wrap(0.0).filter(|next| next.1 == class) else {
                continue;
            };
            // The moment before it was wrapped.
            let step = ((at / crate::course::STEP_MIN).ceil() as usize).saturating_sub(1);
            let Some(Some(moment)) = cook.moments.get(step) else { continue };
            let hours = (cook.finish_min - at) / 60.0;
            let distance = ((moment.core_c - ask.core_c) / WRAPPED_CORE_WIDTH_C).powi(2);
            let weight = (-0.5 * distance).exp() * likeness(cook, course);
            rows.push(Row { cook, moment, hours, weight, plan: None });
        }
        Self::fit(rows, ask, None)
    }

    fn fit(mut rows: Vec<Row>, ask: &Moment, plan: Option<f64>) -> Result<Self, OutlookError> {
        rows.retain(|row| row.weight >= LEAST_WEIGHT && row.hours > 0.02);
        let bundled: f64 = rows.iter().filter(|r| r.cook.bundled).map(|r| r.weight).sum();
        let scale = (BUNDLED_VOTES / bundled.max(1e-9)).min(1.0);
        for row in rows.iter_mut().filter(|row| row.cook.bundled) {
            row.weight *= scale;
        }
        let Some(first) = rows.first().map(|row| row.cook.fire) else {
            return Err(OutlookError::NoPast);
        };
        if rows.iter().all(|row| row.cook.fire == first) {
            return Err(OutlookError::OneFire);
        }
        let with_reference = ask.log_k_ref.is_some();
        let columns = ask.columns(with_reference);
        let table: Vec<[Option<f64>; COLUMNS.len()]> =
            rows.iter().map(|row| row.moment.columns(with_reference)).collect();
        let used: Vec<usize> = (0..COLUMNS.len())
            .filter(|&j| columns[j].is_some() && table.iter().any(|row| row[j].is_some()))
            .collect();
        let mean_of = |values: &mut dyn Iterator<Item = (f64, f64)>| {
            let (sum, weight) = values.fold((0.0, 0.0), |s, (v, w)| (s.0 + v * w, s.1 + w));
            if weight > 0.0 { sum / weight } else { 0.0 }
        };
        let means: Vec<f64> = used
            .iter()
            .map(|&j| {
                let known = table.iter().zip(&rows).filter_map(|(t, r)| Some((t[j]?, r.weight)));
                mean_of(&mut known.into_iter())
            })
            .collect();
        let plan_mean = mean_of(&mut rows.iter().filter_map(|row| Some((row.plan?, row.weight))));
        let x: Vec<Vec<f64>> = table
            .iter()
            .zip(&rows)
            .map(|(row, whole)| {
                let known = used.iter().zip(&means).map(|(&j, mean)| row[j].unwrap_or(*mean));
                let own = f64::from(u8::from(!whole.cook.bundled));
                let plan = plan.map(|_| whole.plan.unwrap_or(plan_mean));
                known.chain([own]).chain(plan).collect()
            })
            .collect();
        let y: Vec<f64> = rows.iter().map(|row| row.hours.ln()).collect();
        let weights: Vec<f64> = rows.iter().map(|row| row.weight).collect();
        let rules = used.iter().map(|&j| (COLUMNS[j].slope, COLUMNS[j].penalty));
        let (target, penalty): (Vec<f64>, Vec<f64>) =
            rules.chain([(0.0, OWN_PENALTY)]).chain(plan.map(|_| (0.0, PLAN_PENALTY))).unzip();
        let fit = Ridge::fit(&x, &y, &weights, &target, &penalty)?;
        let groups: Vec<usize> = rows.iter().map(|row| row.cook.fire).collect();
        let errors: Vec<(f64, f64)> = fit
            .without_group(&groups)?
            .into_iter()
            .zip(&weights)
            .map(|((error, leverage), weight)| (error / (1.0 + leverage).sqrt(), *weight))
            .collect();
        let middle = weighted_quantile(&errors, 0.0, 0.5)?;
        let counted: Vec<Counted> = rows
            .iter()
            .map(|row| Counted {
                cook: row.cook.course.about.cook.clone(),
                bundled: row.cook.bundled,
                weight: row.weight,
                hours: row.hours,
                minute: row.moment.minute,
            })
            .collect();
        let sum = |bundled: bool| {
            counted.iter().filter(|c| c.bundled == bundled).map(|c| c.weight).sum::<f64>()
        };
        let own = || rows.iter().filter(|row| !row.cook.bundled);
        Ok(Self {
            ask: used.iter().filter_map(|&j| columns[j]).chain([1.0]).chain(plan).collect(),
            own_weight: sum(false),
            bundled_weight: sum(true),
            own_alike: own().filter(|row| row.weight >= ALIKE).count(),
            own_cooks: own().count(),
            used,
            with_reference,
            planned: plan.is_some(),
            fit,
            errors,
            middle,
            counted,
        })
    }

    /// The same moment under another pit to come: the columns of the pit move, nothing else.
    pub(crate) fn hours_at(&self, other: &Moment) -> f64 {
        let columns = other.columns(self.with_reference);
        let mut ask: Vec<f64> = self.used.iter().filter_map(|&j| columns[j]).chain([1.0]).collect();
        if self.planned {
            ask.extend(self.ask.last());
        }
        self.middle_of(&ask).exp()
    }

    fn middle_of(&self, ask: &[f64]) -> f64 {
        // Errors of few cooks do not say where their middle is.
        let total: f64 = self.errors.iter().map(|(_, weight)| weight).sum();
        self.fit.predict(ask) + self.middle * total / (total + 5.0)
    }

    /// Hours to go with a range of a level.
    pub(crate) fn range(&self, level: f64) -> Result<Range, OutlookError> {
        let middle = self.middle_of(&self.ask);
        let (lo, hi) = self.error_range(level)?;
        let predicted = self.fit.predict(&self.ask);
        Ok(Range {
            hours: middle.exp(),
            lo: (predicted + lo).min(middle).exp(),
            hi: (predicted + hi).max(middle).exp(),
        })
    }

    /// The range of the error of the logarithm of the hours.
    fn error_range(&self, level: f64) -> Result<(f64, f64), OutlookError> {
        let tail = 0.5 + 0.5 * level;
        let stretch = (1.0 + self.fit.leverage(&self.ask)).sqrt();
        let end = |errors: &[(f64, f64)]| -> Result<f64, OutlookError> {
            let found = weighted_quantile(errors, OWN_ERROR_WEIGHT, tail)?;
            if found.is_finite() {
                return Ok(found);
            }
            // So few errors cannot promise so much: the largest, and half as much again.
            Ok(1.5 * errors.iter().map(|error| error.0).fold(0.1, f64::max))
        };
        let negated: Vec<(f64, f64)> = self.errors.iter().map(|(e, w)| (-e, *w)).collect();
        Ok((-end(&negated)? * stretch, end(&self.errors)? * stretch))
    }

    /// Standard deviation of the error of the logarithm of the hours.
    pub(crate) fn sd(&self) -> Result<f64, OutlookError> {
        let (lo, hi) = self.error_range(0.8)?;
        Ok((hi - lo) / (2.0 * 1.2816))
    }

    /// What each column in use adds to the logarithm of the hours, against the past cooks' mean.
    pub(crate) fn shares(&self) -> Vec<(&'static str, f64)> {
        let shares = self.fit.contributions(&self.ask);
        self.used.iter().zip(shares).map(|(&j, share)| (COLUMNS[j].name, share)).collect()
    }

    /// Slope of a column, and its standard error in units of the error's.
    pub(crate) fn slope(&self, column: usize) -> Option<(f64, f64)> {
        let at = self.used.iter().position(|&j| j == column)?;
        Some((self.fit.slopes()[at], self.fit.slope_variance(at).sqrt()))
    }

    /// Whether the team's own past hardly stands alike, though there is enough of it.
    pub(crate) fn unlike(&self) -> bool {
        let enough = self.own_cooks as f64 >= 3.0 * FEWEST_ALIKE;
        enough && self.own_weight < FEWEST_ALIKE
    }
}

/// Width of the kernel about the core at the wrap, °C: fewer cooks were wrapped than are alike.
const WRAPPED_CORE_WIDTH_C: f64 = 6.0;

fn others(past: &Past, without_fire: Option<usize>) -> impl Iterator<Item = &PastCook> {
    past.cooks.iter().filter(move |cook| Some(cook.fire) != without_fire)
}

/// What a cook counts beside one of the same cut and pit.
fn likeness(cook: &PastCook, ask: &Course) -> f64 {
    let differ = |a: &Option<String>, b: &Option<String>| a.is_some() && b.is_some() && a != b;
    let mut weight = 1.0;
    if differ(&cook.course.about.cut, &ask.about.cut) {
        weight *= OTHER_CUT;
    }
    if !cook.bundled && differ(&cook.course.about.pit, &ask.about.pit) {
        weight *= OTHER_PIT;
    }
    weight
}
