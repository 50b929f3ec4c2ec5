//! One treatment against one outcome.

use super::outcomes::Asked;
use super::scores::{Classes, MOST_CLASSES, ScoreFit, TESTED_CLASSES, odds_ratio};
use super::treatments::Treatment;
use crate::contrast::{self, Change};
use crate::drivers::{keep_common_levels, step, too_few_levels};
use crate::error::StudyError;
use crate::grouped::Grouped;
use crate::inference::{self, Combination, Inference};
use crate::regression::{self, Data, NotFitted, Regression, TERM_LEVEL};
use crate::result::cost::{
    CostAnswer, CostEffect, CostOutcome, Finding, LevelCount, Standing, WithoutOneFire,
};
use crate::result::{Model, finite};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use columns::measures;
use stats::{Design, Estimate, Interval, Ordinal, StatsError, describe, multiple};
use std::collections::BTreeSet;

/// Beyond this many fires none is left out: no single one could weigh much.
const MOST_LEFT_OUT: usize = 300;

/// An interval that leaves zero out is believed where the adjusted p value is below this.
const BELIEVED_BELOW: f64 = 0.05;

pub(super) fn answer(
    table: &MeasureTable,
    asked: &Asked,
    treatment: &Treatment,
    adjusters: &[Covariate],
) -> Result<CostAnswer, StudyError> {
    let by = &treatment.by;
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    for (reason, aside) in &asked.set_aside {
        rows.keep(reason, |row| !aside[row]);
    }
    rows.keep_outcome(&asked.column, &asked.outcome);
    let known = |adjuster: &&Covariate| {
        !same_matter(adjuster.name(), by.name()) && (0..table.len()).any(|r| adjuster.is_present(r))
    };
    let mut adjusters: Vec<&Covariate> = adjusters.iter().filter(known).collect();
    for adjuster in &adjusters {
        rows.keep(&format!("no `{}`", adjuster.name()), |row| adjuster.is_present(row));
    }
    let levels = match by {
        Covariate::Factor(..) => keep_common_levels(table, &mut rows, by),
        Covariate::Numeric(..) => {
            rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
            Vec::new()
        }
    };
    adjusters.retain(|adjuster| !adjuster.is_constant(&rows));
    let base = treatment.base(&levels);
    let mut found = CostAnswer {
        outcome: asked.column.clone(),
        kind: asked.kind,
        better: asked.better,
        treatment: by.name().to_owned(),
        standing: treatment.standing,
        base: None,
        effects: Vec::new(),
        levels: counts(table, asked, by, &levels, &rows)?,
        adjusted_for: adjusters.iter().map(|adjuster| adjuster.name().to_owned()).collect(),
        reason: None,
        n: rows.used.len(),
        fires: rows.fires(table),
        censored: rows.censored(&asked.outcome),
        left_out: rows.left_out.clone(),
        proportional_odds_p: None,
        without_one_fire: None,
        notes: asked.notes.clone(),
        models: Vec::new(),
    };
    let question = Question { table, asked, treatment, adjusters, rows, levels, base };
    match question.ask(&mut found) {
        Ok(()) => Ok(found),
        Err(NotFitted::Refused(reason)) => {
            found.effects.clear();
            found.reason = Some(reason);
            Ok(found)
        }
        Err(NotFitted::Failed(error)) => Err(error),
    }
}

/// Whether an adjuster is the treatment itself or would take away what it does: a weight for a
/// weight, a pit temperature for a pit temperature.
fn same_matter(adjuster: &str, treatment: &str) -> bool {
    let matter = |column: &str| {
        (column.ends_with("weight_kg"), column.starts_with("pit_") && column.ends_with("_c"))
    };
    let (a, b) = (matter(adjuster), matter(treatment));
    adjuster == treatment || (a.0 && b.0) || (a.1 && b.1)
}

fn counts(
    table: &MeasureTable,
    asked: &Asked,
    by: &Covariate,
    levels: &[String],
    rows: &Rows,
) -> Result<Vec<LevelCount>, StudyError> {
    let Covariate::Factor(_, values) = by else { return Ok(Vec::new()) };
    let count = |level: &String| {
        let of: Vec<usize> =
            rows.used.iter().copied().filter(|&row| values[row].as_ref() == Some(level)).collect();
        let outcomes: Vec<f64> = of.iter().filter_map(|&row| asked.outcome.values[row]).collect();
        Ok(LevelCount {
            level: level.clone(),
            cooks: of.len(),
            fires: of.iter().map(|&row| table.fires()[row]).collect::<BTreeSet<_>>().len(),
            median: describe::median(&outcomes)?,
        })
    };
    levels.iter().map(count).collect()
}

/// What is asked, of whom.
struct Question<'a> {
    table: &'a MeasureTable,
    asked: &'a Asked,
    treatment: &'a Treatment,
    adjusters: Vec<&'a Covariate>,
    rows: Rows,
    levels: Vec<String>,
    base: Option<String>,
}

/// The model that answers.
enum Fitted {
    Linear(Box<Regression>),
    Score(Box<ScoreFit>),
}

impl Question<'_> {
    fn ask(&self, found: &mut CostAnswer) -> Result<(), NotFitted> {
        let refuse = |reason: String| Err(NotFitted::Refused(reason));
        let by = &self.treatment.by;
        if matches!(by, Covariate::Factor(..)) && self.levels.len() < 2 {
            return refuse(too_few_levels(by.name()));
        }
        if self.rows.used.is_empty() {
            return refuse("no cook has every value that this needs".into());
        }
        if by.is_constant(&self.rows) {
            return refuse(format!("`{}` is the same in all usable cooks", by.name()));
        }
        let cooks = self.rows.cooks(self.table);
        let names: Vec<&str> = cooks.iter().map(String::as_str).collect();
        let explain = |error: StatsError| regression::explain(error, &names);
        let design = self.design().map_err(explain)?;
        let raw = self.rows.take(&self.asked.outcome.values);
        let linear = Data::new(
            &design,
            if self.asked.kind == CostOutcome::Cost {
                raw.iter().map(|cost| cost.ln()).collect()
            } else {
                raw.clone()
            },
            self.rows.observed(&self.asked.outcome),
            self.rows.fires_used(self.table),
            cooks.clone(),
        );
        let turned: Vec<f64> = raw.iter().map(|score| self.asked.sign() * score).collect();
        let classes =
            (self.asked.kind == CostOutcome::Score).then(|| Classes::new(&turned, MOST_CLASSES));
        let data = Data {
            y: classes.as_ref().map_or_else(|| linear.y.clone(), |own| own.of_cook.clone()),
            ..linear.clone()
        };
        let (fitted, model) = fit(&data, classes.as_ref())?;
        found.models.push(model);
        self.beside(&linear, found)?;
        found.base.clone_from(&self.base);
        found.effects = self.effects(&design, &fitted, classes.as_ref(), found).map_err(explain)?;
        if matches!(&fitted, Fitted::Score(fit) if matches!(**fit, ScoreFit::Ordinal(_))) {
            let coarse = Classes::new(&turned, TESTED_CLASSES).of_cook;
            let test = Ordinal::test_proportional_odds(&design, &coarse, None);
            found.proportional_odds_p = test.ok().and_then(|test| finite(test.p_value));
        }
        if self.treatment.standing != Standing::Association && found.fires <= MOST_LEFT_OUT {
            found.without_one_fire =
                Some(self.without_one_fire(&data, &fitted, classes.as_ref())?);
        }
        Ok(())
    }

    /// Intercept, treatment, adjusters.
    fn design(&self) -> Result<Design, StatsError> {
        let mut design = Design::new(self.rows.used.len()).intercept()?;
        match &self.treatment.by {
            Covariate::Numeric(name, values) => {
                design = design.numeric(name, &self.rows.take(values))?;
            }
            Covariate::Factor(name, values) => {
                for level in self.others() {
                    let is_level = |&row: &usize| {
                        f64::from(u8::from(values[row].as_deref() == Some(level.as_str())))
                    };
                    let column: Vec<f64> = self.rows.used.iter().map(is_level).collect();
                    design = design.numeric(&format!("{name}[{level}]"), &column)?;
                }
            }
        }
        for adjuster in &self.adjusters {
            design = adjuster.add_to(design, &self.rows)?;
        }
        Ok(design)
    }

    /// The levels but the base.
    fn others(&self) -> impl Iterator<Item = &String> {
        self.levels.iter().filter(|level| Some(*level) != self.base.as_ref())
    }

    /// Positions of the treatment's terms in the design.
    fn positions(&self) -> Vec<usize> {
        (1..=self.others().count().max(1)).collect()
    }

    /// The linear model beside that of scores, and the one with a random intercept of the fire.
    fn beside(&self, linear: &Data, found: &mut CostAnswer) -> Result<(), NotFitted> {
        if found.kind == CostOutcome::Score {
            match linear.fit() {
                Ok(regression) => found.models.push(regression.model),
                Err(NotFitted::Refused(reason)) => {
                    found.notes.push(format!("`least-squares` is left out: {reason}"));
                }
                Err(failed) => return Err(failed),
            }
        }
        if linear.observed.contains(&false) {
            found.notes.push(regression::no_mixed_for_bounds(&linear.observed));
            return Ok(());
        }
        let grouped =
            Grouped::new(self.table, &self.rows, linear, &[measures::FIRE.name.to_owned()])?;
        let mixed = grouped.mixed(&mut found.notes)?;
        found.models.extend(mixed.map(|(_, model, _)| model));
        Ok(())
    }

    fn effects(
        &self,
        design: &Design,
        fitted: &Fitted,
        classes: Option<&Classes>,
        found: &CostAnswer,
    ) -> Result<Vec<CostEffect>, StatsError> {
        let rows = regression::rows(design)?;
        let positions = self.positions();
        let is_factor = matches!(self.treatment.by, Covariate::Factor(..));
        let per = if is_factor { 1.0 } else { self.treatment.per };
        let sign = self.asked.sign();
        let mut effects = Vec::new();
        for &position in &positions {
            let term = &design.terms()[position];
            let change = if is_factor { Change::Level(&positions) } else { Change::Step(per) };
            let pairs = contrast::pairs(&rows, position, change);
            let test = fitted.better(term, sign)?;
            let inferred = fitted.infer(&test)?;
            let (estimate, interval, odds, good) = match (fitted, classes) {
                (Fitted::Score(fit), Some(classes)) => {
                    let expected = fit.expected(&pairs)?;
                    let (estimate, interval) = match expected {
                        Some(expected) => turned(expected, sign)?,
                        None => beside_it(&found.models, term, per),
                    };
                    let odds = odds_ratio(scaled(test.estimate, per))?;
                    (estimate, interval, Some(odds), Some(fit.good_score(&pairs, classes, sign)?))
                }
                (Fitted::Linear(regression), _) if self.asked.kind == CostOutcome::Cost => {
                    let found = contrast::medians(&regression.estimates, &pairs)?;
                    let interval = regression.infer(&found, TERM_LEVEL)?.interval;
                    (found.estimate.estimate, interval, None, None)
                }
                _ => {
                    let found = test.clone().times(per * sign);
                    let interval = fitted.infer(&found)?.interval;
                    (found.estimate.estimate, interval, None, None)
                }
            };
            let p = inferred.p;
            if !(estimate.is_finite() && p.is_finite()) {
                continue;
            }
            effects.push(CostEffect {
                term: term.clone(),
                level: is_factor.then(|| {
                    let name = term.trim_end_matches(']');
                    name[self.treatment.by.name().len() + 1..].to_owned()
                }),
                per: (!is_factor).then_some(per),
                per_unit: (!is_factor).then(|| step(term).1.to_owned()),
                estimate: estimate + 0.0,
                lo: finite(interval.lo),
                hi: finite(interval.hi),
                unit: self.asked.unit.clone(),
                odds_ratio: odds,
                good_score: good,
                p,
                p_adjusted: p,
                finding: match side(inferred) {
                    1 => Finding::PerhapsBetter,
                    -1 => Finding::PerhapsWorse,
                    _ => Finding::CannotTell,
                },
            });
        }
        Ok(effects)
    }

    fn without_one_fire(
        &self,
        data: &Data,
        fitted: &Fitted,
        classes: Option<&Classes>,
    ) -> Result<WithoutOneFire, NotFitted> {
        let sides = |fitted: &Fitted| -> Result<Vec<i8>, StudyError> {
            let positions = self.positions();
            let terms = positions.iter().map(|&position| &data.terms[position]);
            terms
                .map(|term| Ok(side(fitted.infer(&fitted.better(term, self.asked.sign())?)?)))
                .collect()
        };
        let own = sides(fitted)?;
        let fires = data.by_fire();
        let mut found = WithoutOneFire { fires: fires.len(), not_fitted: 0, changing: Vec::new() };
        for fire in &fires {
            let kept: Vec<usize> = (0..data.y.len()).filter(|row| !fire.contains(row)).collect();
            match fit(&data.take(&kept), classes) {
                Ok((without, _)) => {
                    if sides(&without)? != own {
                        found.changing.push(fire.iter().map(|&r| data.cooks[r].clone()).collect());
                    }
                }
                Err(NotFitted::Refused(_)) => found.not_fitted += 1,
                Err(failed) => return Err(failed),
            }
        }
        Ok(found)
    }
}

fn fit(data: &Data, classes: Option<&Classes>) -> Result<(Fitted, Model), NotFitted> {
    if let Some(classes) = classes {
        let (fit, model) = ScoreFit::fit(data, classes)?;
        Ok((Fitted::Score(Box::new(fit)), model))
    } else {
        let regression = data.fit()?;
        let model = regression.model.clone();
        Ok((Fitted::Linear(Box::new(regression)), model))
    }
}

impl Fitted {
    /// The coefficient of a term, turned so that positive is better.
    fn better(&self, term: &str, sign: f64) -> Result<Combination, StatsError> {
        match self {
            // Scores are turned before they are fitted.
            Self::Score(fit) => {
                Ok(Combination { estimate: fit.log_odds(term)?, weights: Vec::new() })
            }
            Self::Linear(regression) => Ok(regression.term(term)?.times(sign)),
        }
    }

    fn infer(&self, found: &Combination) -> Result<Inference, StatsError> {
        match self {
            Self::Score(_) => inference::by_t(found.estimate, TERM_LEVEL),
            Self::Linear(regression) => regression.infer(found, TERM_LEVEL),
        }
    }
}

fn scaled(estimate: Estimate, by: f64) -> Estimate {
    Estimate {
        estimate: estimate.estimate * by,
        std_error: estimate.std_error * by.abs(),
        df: estimate.df,
    }
}

/// An estimate turned back, with its interval.
fn turned(estimate: Estimate, sign: f64) -> Result<(f64, Interval), StatsError> {
    let turned = scaled(estimate, sign);
    Ok((turned.estimate, inference::by_t(turned, TERM_LEVEL)?.interval))
}

/// The difference of the mean score from the linear model beside.
fn beside_it(models: &[Model], term: &str, per: f64) -> (f64, Interval) {
    let linear = models.iter().find(|model| model.name == "least-squares");
    let own = linear.and_then(|model| model.terms.iter().find(|own| own.term == term));
    let scaled = |value: Option<f64>, open: f64| value.map_or(open, |value| value * per);
    own.map_or((f64::NAN, Interval { lo: f64::NAN, hi: f64::NAN }), |own| {
        let interval =
            Interval { lo: scaled(own.lo, f64::NEG_INFINITY), hi: scaled(own.hi, f64::INFINITY) };
        (scaled(own.estimate, f64::NAN), interval)
    })
}

/// 1 where the interval lies above zero, −1 where it lies below, 0 where it holds zero.
fn side(inferred: Inference) -> i8 {
    i8::from(inferred.interval.lo > 0.0) - i8::from(inferred.interval.hi < 0.0)
}

/// Adjusts the p values for all questions of the same standing, and believes what still stands.
pub(super) fn allow_for_many(answers: &mut [CostAnswer]) -> Result<(), StudyError> {
    for standing in [Standing::Randomised, Standing::Described, Standing::Association] {
        let mut effects: Vec<&mut CostEffect> = answers
            .iter_mut()
            .filter(|answer| answer.standing == standing)
            .flat_map(|answer| &mut answer.effects)
            .collect();
        if effects.is_empty() {
            continue;
        }
        let p: Vec<f64> = effects.iter().map(|effect| effect.p).collect();
        for (effect, adjusted) in effects.iter_mut().zip(multiple::benjamini_hochberg(&p)?) {
            effect.p_adjusted = adjusted;
            if adjusted < BELIEVED_BELOW {
                effect.finding = match effect.finding {
                    Finding::PerhapsBetter => Finding::Better,
                    Finding::PerhapsWorse => Finding::Worse,
                    other => other,
                };
            }
        }
    }
    Ok(())
}
