//! Fitting lines, contrasts and the joint model.

use super::types::{
    Contrasts, CookSet, Driver, DriverEffect, DriverLine, JointModel, LinePoint, Point,
};
use crate::error::StudyError;
use crate::names::unit_of;
use crate::outcome::Outcome;
use crate::regression::{self, FIRES_PER_LEVEL, NotFitted, Regression, TERM_LEVEL};
use crate::result::finite;
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use stats::{Design, StatsError, Value};
use std::collections::{BTreeMap, BTreeSet};

/// Places on the grid of a fitted line.
const GRID: usize = 41;

const TRIMMED: &str = "trimmed_weight_kg";
const RAW: &str = "raw_weight_kg";
const PIT: &str = "pit_early_c";
const WRAP: &str = "wrap_method";

/// Step that a slope is told per, and its unit.
fn step(column: &str) -> (f64, &'static str) {
    match column {
        TRIMMED | RAW => (1.0, "kg"),
        PIT => (5.0, "°C"),
        _ => (1.0, ""),
    }
}

/// What the drivers are looked for among.
struct Inputs<'a> {
    table: &'a MeasureTable,
    weight: Covariate,
    pit: Covariate,
    wrap: Covariate,
}

/// The weight to use: the trimmed one, or the raw one where more than half of the weighed
/// cooks have no trimmed weight. One or the other for all cooks: a raw weight among trimmed
/// ones is heavier by its trimmings, and a single one bends the line.
fn weight(table: &MeasureTable) -> Result<Covariate, StudyError> {
    let trimmed = table.numbers_or_missing(TRIMMED)?;
    let raw = table.numbers_or_missing(RAW)?;
    let weighed = trimmed.iter().zip(&raw).filter(|(t, r)| t.is_some() || r.is_some()).count();
    let with_trimmed = trimmed.iter().flatten().count();
    Ok(if 2 * with_trimmed >= weighed {
        Covariate::Numeric(TRIMMED.into(), trimmed)
    } else {
        Covariate::Numeric(RAW.into(), raw)
    })
}

/// Looks for what goes with a long stall; see the module's documentation. Too few cooks are
/// a refusal inside the result.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn drivers(table: &MeasureTable) -> Result<Vec<Driver>, StudyError> {
    let inputs = Inputs {
        table,
        weight: weight(table)?,
        pit: Covariate::Numeric(PIT.into(), table.numbers_or_missing(PIT)?),
        wrap: Covariate::Factor(WRAP.into(), table.texts_or_missing(WRAP)?),
    };
    [
        ("stall_delay_min", CookSet::All),
        ("stall_min", CookSet::All),
        ("stall_min", CookSet::Stalled),
    ]
    .into_iter()
    .filter(|(outcome, _)| table.has(outcome))
    .map(|(outcome, cooks)| driver(&inputs, outcome, cooks))
    .collect()
}

fn driver(inputs: &Inputs<'_>, column: &str, cooks: CookSet) -> Result<Driver, StudyError> {
    let table = inputs.table;
    let outcome = Outcome::read(table, column)?;
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    rows.keep_outcome(column, &outcome);
    if cooks == CookSet::Stalled {
        rows.keep("no stall", |row| outcome.values[row].is_some_and(|minutes| minutes > 0.0));
    }
    let mut notes: Vec<String> = outcome.note(column).into_iter().collect();
    if rows.censored(&outcome) > 0 {
        notes.push(format!(
            "{} of {} values are lower bounds, analysed as right-censored",
            rows.censored(&outcome),
            rows.used.len()
        ));
    }
    let asked = Asked { table, outcome: &outcome, column };
    Ok(Driver {
        outcome: column.to_owned(),
        cooks,
        unit: unit_of(column).to_owned(),
        lines: vec![asked.line(&rows, &inputs.weight)?, asked.line(&rows, &inputs.pit)?],
        wrap: asked.contrasts(&rows, &inputs.wrap)?,
        joint: asked.joint(&rows, [&inputs.weight, &inputs.pit], &inputs.wrap, &mut notes)?,
        notes,
    })
}

/// The outcome that is asked about.
struct Asked<'a> {
    table: &'a MeasureTable,
    outcome: &'a Outcome,
    column: &'a str,
}

impl Asked<'_> {
    fn line(&self, rows: &Rows, by: &Covariate) -> Result<DriverLine, StudyError> {
        let mut rows = rows.clone();
        rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
        let x = match by {
            Covariate::Numeric(_, values) => rows.take(values),
            Covariate::Factor(..) => Vec::new(),
        };
        let y = rows.take(&self.outcome.values);
        let points = rows
            .used
            .iter()
            .zip(x.iter().zip(&y))
            .map(|(&row, (&x, &y))| Point {
                cook: self.table.cooks()[row].clone(),
                x,
                y,
                censored: self.outcome.censored[row] == Some(true),
            })
            .collect();
        let mut line = DriverLine {
            by: by.name().to_owned(),
            effect: None,
            reason: None,
            n: rows.used.len(),
            fires: rows.fires(self.table),
            censored: rows.censored(self.outcome),
            left_out: rows.left_out.clone(),
            points,
            line: Vec::new(),
            model: None,
        };
        match self.fit(&rows, &[by]) {
            Ok((regression, design)) => {
                line.effect = self.effect(&regression, by.name())?;
                line.line = grid(&design, &regression, by.name(), &x)?;
                line.model = Some(regression.model);
            }
            Err(NotFitted::Refused(reason)) => line.reason = Some(reason),
            Err(NotFitted::Failed(error)) => return Err(error),
        }
        Ok(line)
    }

    fn contrasts(&self, rows: &Rows, by: &Covariate) -> Result<Contrasts, StudyError> {
        let mut rows = rows.clone();
        let levels = keep_common_levels(self.table, &mut rows, by);
        let mut contrasts = Contrasts {
            by: by.name().to_owned(),
            base: None,
            effects: Vec::new(),
            reason: None,
            n: rows.used.len(),
            fires: rows.fires(self.table),
            censored: rows.censored(self.outcome),
            left_out: rows.left_out.clone(),
            model: None,
        };
        if levels.len() < 2 {
            contrasts.reason = Some(too_few_levels(by.name()));
            return Ok(contrasts);
        }
        match self.fit(&rows, &[by]) {
            Ok((regression, _)) => {
                contrasts.base = levels.first().cloned();
                contrasts.effects = self.effects(&regression)?;
                contrasts.model = Some(regression.model);
            }
            Err(NotFitted::Refused(reason)) => contrasts.reason = Some(reason),
            Err(NotFitted::Failed(error)) => return Err(error),
        }
        Ok(contrasts)
    }

    fn joint(
        &self,
        rows: &Rows,
        numbers: [&Covariate; 2],
        wrap: &Covariate,
        notes: &mut Vec<String>,
    ) -> Result<JointModel, StudyError> {
        let mut rows = rows.clone();
        for by in numbers {
            rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
        }
        let mut with_wrap = rows.clone();
        let mut covariates = numbers.to_vec();
        if keep_common_levels(self.table, &mut with_wrap, wrap).len() >= 2 {
            rows = with_wrap;
            covariates.push(wrap);
        } else {
            notes.push(format!("the joint model is without wrap: {}", too_few_levels(wrap.name())));
        }
        let mut joint = JointModel {
            effects: Vec::new(),
            reason: None,
            n: rows.used.len(),
            fires: rows.fires(self.table),
            censored: rows.censored(self.outcome),
            left_out: rows.left_out.clone(),
            model: None,
        };
        match self.fit(&rows, &covariates) {
            Ok((regression, _)) => {
                joint.effects = self.effects(&regression)?;
                joint.model = Some(regression.model);
            }
            Err(NotFitted::Refused(reason)) => joint.reason = Some(reason),
            Err(NotFitted::Failed(error)) => return Err(error),
        }
        Ok(joint)
    }

    fn fit(&self, rows: &Rows, by: &[&Covariate]) -> Result<(Regression, Design), NotFitted> {
        if rows.used.is_empty() {
            return Err(NotFitted::Refused("no cook has every value that this needs".into()));
        }
        if let Some(constant) = by.iter().find(|covariate| covariate.is_constant(rows)) {
            return Err(NotFitted::Refused(format!(
                "`{}` is the same in all usable cooks",
                constant.name()
            )));
        }
        let cooks: Vec<&str> =
            rows.used.iter().map(|&row| self.table.cooks()[row].as_str()).collect();
        let fires: Vec<usize> = rows.used.iter().map(|&row| self.table.fires()[row]).collect();
        let design = || {
            let mut design = Design::new(rows.used.len()).intercept()?;
            for covariate in by {
                design = covariate.add_to(design, rows)?;
            }
            Ok(design)
        };
        let design = design().map_err(|error: StatsError| regression::explain(error, &cooks))?;
        let fitted = regression::fit(
            &design,
            &rows.take(&self.outcome.values),
            &rows.observed(self.outcome),
            &fires,
            &cooks,
        )?;
        Ok((fitted, design))
    }

    /// Every term but the intercept.
    fn effects(&self, regression: &Regression) -> Result<Vec<DriverEffect>, StudyError> {
        let mut effects = Vec::new();
        for name in regression.estimates.names().iter().filter(|name| *name != stats::INTERCEPT) {
            effects.extend(self.effect(regression, name)?);
        }
        Ok(effects)
    }

    fn effect(
        &self,
        regression: &Regression,
        term: &str,
    ) -> Result<Option<DriverEffect>, StudyError> {
        let (per, unit) = step(term);
        let coefficient = regression.estimates.term(term)?;
        let interval = coefficient.interval(TERM_LEVEL)?;
        let is_slope = !unit.is_empty();
        Ok(finite(coefficient.estimate * per).map(|estimate| DriverEffect {
            term: term.to_owned(),
            per: is_slope.then_some(per),
            per_unit: is_slope.then(|| unit.to_owned()),
            estimate,
            lo: finite(interval.lo * per),
            hi: finite(interval.hi * per),
            level: TERM_LEVEL,
            unit: unit_of(self.column).to_owned(),
        }))
    }
}

/// Leaves out cooks without a level and those of levels with too few fires; gives the
/// levels that remain, sorted.
fn keep_common_levels(table: &MeasureTable, rows: &mut Rows, by: &Covariate) -> Vec<String> {
    rows.keep(&format!("no `{}`", by.name()), |row| by.is_present(row));
    let Covariate::Factor(name, values) = by else {
        return Vec::new();
    };
    let mut fires: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    for &row in &rows.used {
        if let Some(level) = values[row].as_deref() {
            fires.entry(level).or_default().insert(table.fires()[row]);
        }
    }
    let mut kept = Vec::new();
    for (level, fires) in fires {
        if fires.len() >= FIRES_PER_LEVEL {
            kept.push(level.to_owned());
        } else {
            let reason = format!("`{name}` is `{level}`, in fewer than {FIRES_PER_LEVEL} fires");
            rows.keep(&reason, |row| values[row].as_deref() != Some(level));
        }
    }
    kept
}

fn too_few_levels(column: &str) -> String {
    format!("fewer than two levels of `{column}` have usable cooks from {FIRES_PER_LEVEL} fires")
}

/// The fitted mean with its pointwise band on an even grid from the smallest x to the
/// largest.
fn grid(
    design: &Design,
    regression: &Regression,
    name: &str,
    x: &[f64],
) -> Result<Vec<LinePoint>, StudyError> {
    let low = x.iter().copied().fold(f64::INFINITY, f64::min);
    let high = x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (0..GRID)
        .map(|step| {
            // Weighted ends, so that the last place is the largest x to the last digit.
            let share = step as f64 / (GRID - 1) as f64;
            let x = low * (1.0 - share) + high * share;
            let row = design.encode(&[(name, Value::Number(x))])?;
            let mean = regression.estimates.linear_combination(&row)?;
            let band = mean.interval(TERM_LEVEL)?;
            Ok(LinePoint { x, y: mean.estimate, lo: finite(band.lo), hi: finite(band.hi) })
        })
        .collect()
}
