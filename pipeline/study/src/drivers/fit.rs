//! Fitting lines, contrasts and the joint model.

use super::{checks, further};
use crate::error::StudyError;
use crate::grouped::Grouped;
use crate::inference;
use crate::outcome::Outcome;
use crate::regression::{self, Data, FIRES_PER_LEVEL, NotFitted, Regression, TERM_LEVEL};
use crate::result::driver::{
    Contrasts, CookSet, Driver, DriverEffect, DriverLine, JointModel, LinePoint, Point, WaldTest,
};
use crate::result::{Model, finite};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use columns::{measures, names};
use stats::{CubicSpline, Design, StatsError, Value, quantile_knots};
use std::collections::{BTreeMap, BTreeSet};

/// Places on the grid of a fitted line.
const GRID: usize = 41;

/// Cooks that a curve of four knots takes at least: Harrell (2015), Regression Modeling
/// Strategies, 2nd ed., section 2.4.6, takes three below 30.
const FEWEST_FOR_A_CURVE: usize = 30;

/// A line will not do where the test of linearity has a p value below this.
const CURVED_BELOW: f64 = 0.05;

const TRIMMED: &str = measures::TRIMMED_WEIGHT_KG.name;
const RAW: &str = measures::RAW_WEIGHT_KG.name;
const PIT: &str = measures::PIT_EARLY_C.name;
const THICKNESS: &str = measures::THICKNESS_MM.name;
const UNSTEADINESS: &str = measures::PIT_SD_C.name;
const WRAP: &str = measures::WRAP_METHOD.name;

/// Step that a slope is told per, and its unit: by the unit that the column's name promises.
pub(crate) fn step(column: &str) -> (f64, &'static str) {
    match names::unit(column) {
        "°C" => (5.0, "°C"),
        "mm" => (10.0, "mm"),
        "m" => (100.0, "m"),
        unit => (1.0, unit),
    }
}

/// What the drivers are looked for among.
pub(super) struct Inputs<'a> {
    pub(super) table: &'a MeasureTable,
    pub(super) weight: Covariate,
    pub(super) pit: Covariate,
    wrap: Covariate,
    /// Numbers that are plotted by themselves besides weight and pit.
    others: Vec<Covariate>,
}

impl<'a> Inputs<'a> {
    pub(super) fn read(table: &'a MeasureTable) -> Result<Self, StudyError> {
        let others = [THICKNESS, UNSTEADINESS].into_iter().filter(|column| table.has(column));
        Ok(Self {
            table,
            weight: weight(table)?,
            pit: Covariate::Numeric(PIT.into(), table.numbers_or_missing(PIT)?),
            wrap: Covariate::Factor(WRAP.into(), table.texts_or_missing(WRAP)?),
            others: others
                .map(|column| Ok(Covariate::Numeric(column.into(), table.numbers(column)?)))
                .collect::<Result<_, StudyError>>()?,
        })
    }
}

/// The weight to use: the trimmed one, or the raw one where more than half of the weighed
/// cooks have no trimmed weight. One or the other for all cooks: a raw weight among trimmed
/// ones is heavier by its trimmings, and a single one bends the line.
pub(crate) fn weight(table: &MeasureTable) -> Result<Covariate, StudyError> {
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
    let inputs = Inputs::read(table)?;
    [
        (measures::STALL_DELAY_MIN.name, CookSet::All),
        (measures::STALL_MIN.name, CookSet::All),
        (measures::STALL_MIN.name, CookSet::Stalled),
        (measures::CLOCK_TO_FINISH_MIN.name, CookSet::All),
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
    let held = [&inputs.weight, &inputs.pit];
    let lines = held.into_iter().chain(&inputs.others);
    Ok(Driver {
        outcome: column.to_owned(),
        cooks,
        unit: names::unit(column).to_owned(),
        lines: lines.map(|by| asked.line(&rows, by, held)).collect::<Result<_, _>>()?,
        wrap: asked.contrasts(&rows, &inputs.wrap)?,
        joint: asked.joint(&rows, [&inputs.weight, &inputs.pit], &inputs.wrap, &mut notes)?,
        further: further::drivers(inputs, &asked, &rows)?,
        notes,
    })
}

/// The outcome that is asked about.
pub(super) struct Asked<'a> {
    pub(super) table: &'a MeasureTable,
    pub(super) outcome: &'a Outcome,
    column: &'a str,
}

impl Asked<'_> {
    fn line(
        &self,
        rows: &Rows,
        by: &Covariate,
        held: [&Covariate; 2],
    ) -> Result<DriverLine, StudyError> {
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
            adjusted: self.beside(&rows, by, held)?,
            reason: None,
            n: rows.used.len(),
            fires: rows.fires(self.table),
            censored: rows.censored(self.outcome),
            left_out: rows.left_out.clone(),
            points,
            line: Vec::new(),
            curved: false,
            linearity: None,
            model: None,
        };
        match self.fit(&rows, &[by]) {
            Ok((regression, design, _)) => {
                line.effect = self.effect(&regression, by.name())?;
                line.line = grid(&design, &regression, by.name(), &x)?;
                line.model = Some(regression.model);
                if let Some((test, points)) = self.curve(&rows, by.name(), &x)? {
                    line.linearity = Some(test);
                    line.curved = test.p < CURVED_BELOW;
                    if line.curved {
                        line.line = points;
                    }
                }
            }
            Err(NotFitted::Refused(reason)) => line.reason = Some(reason),
            Err(NotFitted::Failed(error)) => return Err(error),
        }
        Ok(line)
    }

    /// The slope with what is held fixed beside it; `None` where that cannot be fitted.
    fn beside(
        &self,
        rows: &Rows,
        by: &Covariate,
        held: [&Covariate; 2],
    ) -> Result<Option<DriverEffect>, StudyError> {
        let others = held.into_iter().filter(|other| other.name() != by.name());
        let terms: Vec<&Covariate> = std::iter::once(by).chain(others).collect();
        let mut rows = rows.clone();
        for term in &terms {
            rows.keep(&format!("no `{}`", term.name()), |row| term.is_present(row));
        }
        match self.fit(&rows, &terms) {
            Ok((regression, ..)) => self.effect(&regression, by.name()),
            Err(NotFitted::Refused(_)) => Ok(None),
            Err(NotFitted::Failed(error)) => Err(error),
        }
    }

    /// The test of linearity and the curve; `None` with too few cooks for one, or too few
    /// different values.
    fn curve(
        &self,
        rows: &Rows,
        name: &str,
        x: &[f64],
    ) -> Result<Option<(WaldTest, Vec<LinePoint>)>, StudyError> {
        if x.len() < FEWEST_FOR_A_CURVE {
            return Ok(None);
        }
        let Ok(knots) = quantile_knots(x, 4) else { return Ok(None) };
        let spline = CubicSpline::restricted(&knots)?;
        let design = Design::new(x.len()).intercept()?.spline(name, &spline, x)?;
        let data = self.data(rows, &design);
        let regression = match data.fit() {
            Ok(regression) => regression,
            Err(NotFitted::Refused(_)) => return Ok(None),
            Err(NotFitted::Failed(error)) => return Err(error),
        };
        let bent: Vec<&str> = design.terms().iter().skip(2).map(String::as_str).collect();
        let Ok(test) = regression.estimates.joint_test(&bent) else { return Ok(None) };
        Ok(Some((WaldTest::of(&test), grid(&design, &regression, name, x)?)))
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
            Ok((regression, ..)) => {
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
            mixed: None,
            fixed: None,
            checks: None,
            influential: Vec::new(),
        };
        match self.fit(&rows, &covariates) {
            Ok((regression, _, data)) => {
                joint.effects = self.effects(&regression)?;
                joint.checks = checks::residuals(&data, &regression)?;
                joint.influential = checks::influential(&data, &regression)?;
                (joint.mixed, joint.fixed) = self.grouped(&rows, &data, notes)?;
                joint.model = Some(regression.model);
            }
            Err(NotFitted::Refused(reason)) => joint.reason = Some(reason),
            Err(NotFitted::Failed(error)) => return Err(error),
        }
        Ok(joint)
    }

    /// The models with random intercepts of fire and pit, and with the pits as fixed effects.
    fn grouped(
        &self,
        rows: &Rows,
        data: &Data,
        notes: &mut Vec<String>,
    ) -> Result<(Option<Model>, Option<Model>), StudyError> {
        let columns: Vec<String> = [measures::FIRE.name, measures::PIT.name]
            .into_iter()
            .filter(|column| *column == measures::FIRE.name || self.table.has(column))
            .map(str::to_owned)
            .collect();
        let grouped = Grouped::new(self.table, rows, data, &columns)?;
        let or_error = |error| match error {
            NotFitted::Refused(reason) => StudyError::Unexpected { message: reason },
            NotFitted::Failed(error) => error,
        };
        let mixed = if data.observed.contains(&false) {
            notes.push(regression::no_mixed_for_bounds(&data.observed));
            None
        } else {
            grouped.mixed(notes).map_err(or_error)?.map(|(_, model, _)| model)
        };
        let fixed = grouped.fixed(&[], notes).map_err(or_error)?;
        Ok((mixed, fixed.map(|(_, fitted, _)| fitted.model)))
    }

    fn data(&self, rows: &Rows, design: &Design) -> Data {
        Data::new(
            design,
            rows.take(&self.outcome.values),
            rows.observed(self.outcome),
            rows.fires_used(self.table),
            rows.cooks(self.table),
        )
    }

    pub(super) fn fit(
        &self,
        rows: &Rows,
        by: &[&Covariate],
    ) -> Result<(Regression, Design, Data), NotFitted> {
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
        let design = || {
            let mut design = Design::new(rows.used.len()).intercept()?;
            for covariate in by {
                design = covariate.add_to(design, rows)?;
            }
            Ok(design)
        };
        let design = design().map_err(|error: StatsError| regression::explain(error, &cooks))?;
        let data = self.data(rows, &design);
        Ok((data.fit()?, design, data))
    }

    /// Every term but the intercept.
    fn effects(&self, regression: &Regression) -> Result<Vec<DriverEffect>, StudyError> {
        let mut effects = Vec::new();
        for name in regression.estimates.names().iter().filter(|name| *name != stats::INTERCEPT) {
            effects.extend(self.effect(regression, name)?);
        }
        Ok(effects)
    }

    pub(super) fn effect(
        &self,
        regression: &Regression,
        term: &str,
    ) -> Result<Option<DriverEffect>, StudyError> {
        let (per, unit) = step(term);
        let found = regression.term(term)?;
        let (coefficient, interval) =
            (found.estimate, regression.infer(&found, TERM_LEVEL)?.interval);
        // A level has its base, a number without a unit is told per 1.
        let is_slope = !term.ends_with(']');
        Ok(finite(coefficient.estimate * per).map(|estimate| DriverEffect {
            term: term.to_owned(),
            per: is_slope.then_some(per),
            per_unit: is_slope.then(|| unit.to_owned()),
            estimate,
            lo: finite(interval.lo * per),
            hi: finite(interval.hi * per),
            level: TERM_LEVEL,
            unit: names::unit(self.column).to_owned(),
        }))
    }
}

/// Leaves out cooks without a level and those of levels with too few fires; gives the
/// levels that remain, sorted.
pub(crate) fn keep_common_levels(
    table: &MeasureTable,
    rows: &mut Rows,
    by: &Covariate,
) -> Vec<String> {
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

pub(crate) fn too_few_levels(column: &str) -> String {
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
            let band = inference::by_t(mean, TERM_LEVEL)?.interval;
            Ok(LinePoint { x, y: mean.estimate, lo: finite(band.lo), hi: finite(band.hi) })
        })
        .collect()
}
