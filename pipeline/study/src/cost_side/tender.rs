//! The core temperature at which probe tests found meat to be tender.
//!
//! A test says tender or not, so each cook bounds its own temperature between two tests; where the
//! first test found it tender, or none did, on one side only. The distribution over the cooks is
//! estimated twice: by Turnbull's estimator, which assumes no shape, with percentile intervals from
//! a bootstrap over fires, and as a normal distribution by maximum likelihood with standard errors
//! clustered by fire. Both take it that when a cook tests tells nothing of the temperature at which
//! the meat was tender but that it lies between the tests.
//!
//! Feel decides, not the number, and one probe reads one place: this describes what the hands of
//! this team found. It says nothing on whether food may be eaten.

use crate::drivers::keep_common_levels;
use crate::error::StudyError;
use crate::inference::{self, Inference};
use crate::regression::{self, NotFitted, TERM_LEVEL, model_terms};
use crate::result::tender::{
    TenderDifference, TenderGroup, TenderInterval, TenderQuantile, TenderStep, TenderTemperature,
    Turnbull,
};
use crate::result::{Model, finite};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use columns::measures;
use stats::bootstrap::Bootstrap;
use stats::{CensoredGaussian, CensoredTimes, Design, Estimate, LikelihoodErrors, StatsError};
use std::collections::HashMap;

const ABOVE: &str = measures::TENDER_ABOVE_C.name;
const BY: &str = measures::TENDER_BY_C.name;

/// Shares of the cooks that quantiles are told for.
const SHARES: [f64; 3] = [0.1, 0.5, 0.9];

/// Resamples of the bootstrap over fires.
const RESAMPLES: usize = 400;

/// Stands for a quantile that lies beyond the last test, or before the first, °C: no core is.
const BEYOND_C: f64 = 1e6;

/// The bounds of every cook, −∞ and ∞ where there is none.
struct Bounds {
    above: Vec<f64>,
    by: Vec<f64>,
}

impl Bounds {
    fn read(table: &MeasureTable) -> Result<Self, StudyError> {
        let bound = |column: &str, open: f64| -> Result<Vec<f64>, StudyError> {
            let values = table.numbers_or_missing(column)?;
            Ok(values.into_iter().map(|value| value.unwrap_or(open)).collect())
        };
        Ok(Self { above: bound(ABOVE, f64::NEG_INFINITY)?, by: bound(BY, f64::INFINITY)? })
    }

    fn of(&self, rows: &[usize]) -> Result<CensoredTimes, StatsError> {
        let pick = |values: &[f64]| rows.iter().map(|&row| values[row]).collect::<Vec<f64>>();
        CensoredTimes::intervals(&pick(&self.above), &pick(&self.by))
    }
}

pub(super) fn tender_temperature(
    table: &MeasureTable,
    seed: u64,
) -> Result<TenderTemperature, StudyError> {
    let mut found = TenderTemperature::default();
    if !table.has(ABOVE) && !table.has(BY) {
        found.reason = Some(format!("the table has neither `{ABOVE}` nor `{BY}`"));
        return Ok(found);
    }
    let bounds = Bounds::read(table)?;
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let reasons = table.texts_or_missing(measures::TENDER_REASON.name)?;
    for (word, reason) in [
        ("no-probe-test", "no probe test"),
        ("not-segmented", "the log could not be segmented"),
        ("core-not-known", "the core at the probe tests is not known"),
        ("core-fell-between", "the core fell between the probe tests"),
    ] {
        rows.keep(reason, |row| reasons[row].as_deref() != Some(word));
    }
    rows.keep("no probe test", |row| bounds.above[row].is_finite() || bounds.by[row].is_finite());
    rows.keep("the core fell between the probe tests", |row| bounds.above[row] <= bounds.by[row]);
    found.left_out.clone_from(&rows.left_out);
    found.intervals = rows
        .used
        .iter()
        .map(|&row| TenderInterval {
            cook: table.cooks()[row].clone(),
            above_c: finite(bounds.above[row]),
            by_c: finite(bounds.by[row]),
        })
        .collect();
    if rows.used.is_empty() {
        found.reason = Some("no cook has a probe test that bounds it".into());
        return Ok(found);
    }
    found.groups.push(group(table, &bounds, &rows, None, seed)?);
    let mut columns = Vec::new();
    for (column, base) in [(measures::WRAP_METHOD.name, "none"), (measures::CUT.name, "")] {
        let by = Covariate::Factor(column.into(), table.texts_or_missing(column)?);
        let mut of_column = rows.clone();
        let levels = keep_common_levels(table, &mut of_column, &by);
        let Covariate::Factor(_, values) = &by else { continue };
        for level in &levels {
            let mut of_level = of_column.clone();
            of_level.used.retain(|&row| values[row].as_ref() == Some(level));
            found.groups.push(group(table, &bounds, &of_level, Some((column, level)), seed)?);
        }
        if levels.len() >= 2 {
            let base = levels.iter().find(|level| *level == base).unwrap_or(&levels[0]).clone();
            columns.push(Column { name: column, values: values.clone(), levels, base });
        }
    }
    differences(table, &bounds, rows, &columns, &mut found)?;
    Ok(found)
}

fn group(
    table: &MeasureTable,
    bounds: &Bounds,
    rows: &Rows,
    of: Option<(&str, &String)>,
    seed: u64,
) -> Result<TenderGroup, StudyError> {
    let count = |open: &dyn Fn(usize) -> bool| rows.used.iter().filter(|row| open(**row)).count();
    let mut found = TenderGroup {
        by: of.map(|(column, _)| column.to_owned()),
        level: of.map(|(_, level)| level.clone()),
        n: rows.used.len(),
        fires: rows.fires(table),
        tender_at_first: count(&|row| bounds.above[row].is_infinite()),
        never_tender: count(&|row| bounds.by[row].is_infinite()),
        turnbull: None,
        normal: Vec::new(),
        reason: None,
        model: None,
    };
    match estimated(table, bounds, rows, seed, &mut found) {
        Ok(()) => Ok(found),
        Err(NotFitted::Refused(reason)) => {
            found.reason = Some(reason);
            Ok(found)
        }
        Err(NotFitted::Failed(error)) => Err(error),
    }
}

fn estimated(
    table: &MeasureTable,
    bounds: &Bounds,
    rows: &Rows,
    seed: u64,
    found: &mut TenderGroup,
) -> Result<(), NotFitted> {
    let fires = rows.fires_used(table);
    let explain = |error| regression::explain(error, &[]);
    // The mean and the spread.
    regression::require_fires(2, &fires)?;
    let turnbull = turnbull(bounds, &rows.used, &fires, seed);
    found.turnbull = Some(turnbull.map_err(explain)?);
    let design = Design::new(rows.used.len()).intercept().map_err(explain)?;
    let fit = normal(bounds, &rows.used, &design, &fires).map_err(explain)?;
    for share in SHARES {
        let quantile = fit.quantile(&[1.0], share).map_err(explain)?;
        let interval = inference::by_t(quantile, TERM_LEVEL).map_err(explain)?.interval;
        found.normal.push(TenderQuantile {
            share,
            core_c: finite(quantile.estimate),
            lo_c: finite(interval.lo),
            hi_c: finite(interval.hi),
        });
    }
    found.model = Some(model(&fit).map_err(explain)?);
    Ok(())
}

fn normal(
    bounds: &Bounds,
    rows: &[usize],
    design: &Design,
    fires: &[usize],
) -> Result<CensoredGaussian, StatsError> {
    let times = bounds.of(rows)?;
    CensoredGaussian::fit(design, &times, LikelihoodErrors::Jackknife(fires))
}

fn model(fit: &CensoredGaussian) -> Result<Model, StatsError> {
    Ok(Model {
        name: "interval-censored-normal".into(),
        method: format!(
            "normal distribution of outcomes known to lie between two tests, by maximum \
             likelihood, standard errors clustered by fire ({} fires, left out one at a time)",
            fit.clusters.unwrap_or(0)
        ),
        n: fit.n,
        events: fit.exact,
        log_likelihood: finite(fit.estimates.log_likelihood()),
        residual_variance: finite(fit.sigma * fit.sigma),
        random: Vec::new(),
        terms: model_terms(&fit.estimates)?,
    })
}

fn turnbull(
    bounds: &Bounds,
    rows: &[usize],
    fires: &[usize],
    seed: u64,
) -> Result<Turnbull, StatsError> {
    let fit = stats::Turnbull::fit(&bounds.of(rows)?)?;
    let mut quantiles = Vec::new();
    // The same resamples for every share, so each is fitted once.
    let mut fits: HashMap<Vec<usize>, stats::Turnbull> = HashMap::new();
    for share in SHARES {
        let at = |drawn: &[usize]| {
            if let Some(known) = fits.get(drawn) {
                return Ok(middle(known.quantile(share)?));
            }
            let rows: Vec<usize> = drawn.iter().map(|&place| rows[place]).collect();
            let fit = stats::Turnbull::fit(&bounds.of(&rows)?)?;
            let quantile = middle(fit.quantile(share)?);
            fits.insert(drawn.to_vec(), fit);
            Ok(quantile)
        };
        let bootstrap = Bootstrap::clusters(fires, RESAMPLES, seed, at)?;
        let interval = bootstrap.percentile_interval(TERM_LEVEL)?;
        let seen = |core_c: f64| (core_c.abs() < BEYOND_C / 1e3).then_some(core_c);
        quantiles.push(TenderQuantile {
            share,
            core_c: seen(bootstrap.estimate()),
            lo_c: seen(interval.lo),
            hi_c: seen(interval.hi),
        });
    }
    let steps = fit.intervals.iter().filter(|own| own.mass > 1e-9).map(|own| TenderStep {
        above_c: finite(own.lower),
        by_c: finite(own.upper),
        share: own.mass,
    });
    Ok(Turnbull { steps: steps.collect(), quantiles, log_likelihood: finite(fit.log_likelihood) })
}

/// The middle of an innermost interval; of an open one what stands for beyond.
fn middle(interval: stats::Interval) -> f64 {
    if interval.hi.is_infinite() {
        BEYOND_C
    } else if interval.lo.is_infinite() {
        -BEYOND_C
    } else {
        f64::midpoint(interval.lo, interval.hi)
    }
}

/// A column whose levels are set against its base.
struct Column {
    name: &'static str,
    values: Vec<Option<String>>,
    levels: Vec<String>,
    base: String,
}

/// All columns in one normal model; a note where it cannot be fitted.
fn differences(
    table: &MeasureTable,
    bounds: &Bounds,
    mut rows: Rows,
    columns: &[Column],
    found: &mut TenderTemperature,
) -> Result<(), StudyError> {
    if columns.is_empty() {
        return Ok(());
    }
    for Column { name, values, levels, .. } in columns {
        rows.keep(&format!("no common `{name}`"), |row| {
            values[row].as_ref().is_some_and(|level| levels.contains(level))
        });
    }
    let fires = rows.fires_used(table);
    let others = |column: &Column| -> Vec<String> {
        column.levels.iter().filter(|level| **level != column.base).cloned().collect()
    };
    let fitted = || -> Result<_, NotFitted> {
        let explain = |error| regression::explain(error, &[]);
        let terms: usize = columns.iter().map(|column| others(column).len()).sum();
        regression::require_fires(terms + 2, &fires)?;
        let mut design = Design::new(rows.used.len()).intercept().map_err(explain)?;
        for column in columns {
            for level in others(column) {
                let is =
                    |&row: &usize| f64::from(u8::from(column.values[row].as_ref() == Some(&level)));
                let values: Vec<f64> = rows.used.iter().map(is).collect();
                let term = format!("{}[{level}]", column.name);
                design = design.numeric(&term, &values).map_err(explain)?;
            }
        }
        let fit = normal(bounds, &rows.used, &design, &fires).map_err(explain)?;
        let model = model(&fit).map_err(explain)?;
        Ok((fit, model))
    };
    let (fit, model) = match fitted() {
        Ok(fitted) => fitted,
        Err(NotFitted::Refused(reason)) => {
            found.notes.push(format!("wraps and cuts are not set against each other: {reason}"));
            return Ok(());
        }
        Err(NotFitted::Failed(error)) => return Err(error),
    };
    for column in columns {
        for level in others(column) {
            let difference: Estimate = fit.estimates.term(&format!("{}[{level}]", column.name))?;
            let Inference { interval, p } = inference::by_t(difference, TERM_LEVEL)?;
            found.differences.push(TenderDifference {
                by: column.name.to_owned(),
                level,
                base: column.base.clone(),
                estimate: difference.estimate,
                lo: finite(interval.lo),
                hi: finite(interval.hi),
                p,
            });
        }
    }
    found.model = Some(model);
    Ok(())
}
