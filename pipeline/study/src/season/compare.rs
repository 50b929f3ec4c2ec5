//! Seasons against the season before, and teams against each other: described, not caused.
//!
//! Each outcome is modelled by season (or team), weight and pit, with standard errors clustered by
//! fire and lower bounds as such ([`crate::regression`]); the difference is a contrast of that model.
//! Beside it stands the difference of the cooks as they are, whose mix of weights and pits changes.
//! Seasons are adjusted for which pit it was; teams have pits of their own, so they are adjusted for
//! the early pit temperature.
//!
//! Many outcomes are compared at once. The p values of all adjusted differences of one table are
//! adjusted together: Holm (1979), "A simple sequentially rejective multiple test procedure",
//! Scandinavian Journal of Statistics 6, 65–70. A difference is told where that p is below 0.05;
//! intervals are of 95 % each.

use crate::analysis::teams::TEAM;
use crate::drivers::weight;
use crate::error::StudyError;
use crate::inference::{Combination, Inference};
use crate::outcome::Outcome;
use crate::regression::{self, Data, FIRES_PER_LEVEL, NotFitted, Regression, TERM_LEVEL};
use crate::result::compare::{ComparedDifference, Comparison, Comparisons, Told};
use crate::result::finite;
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use columns::{derived, measures, names};
use stats::{Design, Estimate, StatsError};
use std::collections::{BTreeMap, BTreeSet};

/// Outcomes that are compared, besides the scores and [`LATE`].
const OUTCOMES: [&str; 5] = [
    measures::STALL_DELAY_MIN.name,
    measures::STALL_MIN.name,
    measures::CLOCK_TO_FINISH_MIN.name,
    measures::PIT_SD_C.name,
    measures::YIELD_FRACTION.name,
];
/// Minutes from the planned pull to the pull; it has no column of its own.
const LATE: &str = derived::LATE_MIN.name;
/// A difference is told where its adjusted p value is below this.
const TOLD_BELOW: f64 = 0.05;
/// Who is compared with whom.
const SEASON: &str = measures::SEASON.name;

/// Compares seasons, and teams, where there are two or more.
pub(super) fn comparisons(table: &MeasureTable) -> Result<Vec<Comparisons>, StudyError> {
    let mut found = Vec::new();
    for by in [SEASON, TEAM] {
        found.extend(Asked::read(table, by)?.map(|asked| asked.compare()).transpose()?);
    }
    Ok(found)
}

/// What is compared by, and what is held fixed.
struct Asked<'a> {
    table: &'a MeasureTable,
    by: &'static str,
    of: Vec<Option<String>>,
    /// In their order.
    levels: Vec<String>,
    included: Rows,
    adjusters: Vec<Covariate>,
}

impl<'a> Asked<'a> {
    /// `None` where there are not two to compare.
    fn read(table: &'a MeasureTable, by: &'static str) -> Result<Option<Self>, StudyError> {
        let of = table.texts_or_missing(by)?;
        let mut included = Rows::all(table);
        included.keep_included(table)?;
        let levels: BTreeSet<&String> =
            included.used.iter().filter_map(|&row| of[row].as_ref()).collect();
        if levels.len() < 2 {
            return Ok(None);
        }
        let levels = in_order(table, &included, &of, levels.into_iter().cloned().collect())?;
        let mut adjusters = vec![weight(table)?];
        if by == SEASON {
            let pits = table.texts_or_missing(measures::PIT.name)?;
            let known = pits.iter().flatten().collect::<BTreeSet<_>>().len();
            // Pits belong to one team each: where they are known, the team is as well.
            adjusters.push(if known > 0 {
                Covariate::Factor(measures::PIT.name.into(), pits)
            } else {
                Covariate::Factor(TEAM.into(), table.texts_or_missing(TEAM)?)
            });
        } else {
            let early = table.numbers_or_missing(measures::PIT_EARLY_C.name)?;
            adjusters.push(Covariate::Numeric(measures::PIT_EARLY_C.name.into(), early));
        }
        Ok(Some(Self { table, by, of, levels, included, adjusters }))
    }

    fn compare(&self) -> Result<Comparisons, StudyError> {
        let mut scores: Vec<&str> =
            self.table.column_names().filter(|name| name.starts_with("score_")).collect();
        scores.sort_unstable();
        let mut rows = Vec::new();
        for outcome in OUTCOMES.into_iter().chain(scores).chain([LATE]) {
            rows.extend(self.outcome(outcome)?);
        }
        let p: Vec<f64> = rows.iter().filter_map(|row| row.p).collect();
        let family = p.len();
        let holm = if p.is_empty() { Vec::new() } else { stats::multiple::holm(&p)? };
        for (row, adjusted) in rows.iter_mut().filter(|row| row.p.is_some()).zip(holm) {
            row.p_adjusted = finite(adjusted);
            let more = row.adjusted.is_some_and(|found| found.estimate > 0.0);
            row.told = match (adjusted < TOLD_BELOW, row.p.is_some_and(|p| p < TOLD_BELOW)) {
                (true, _) if more => Told::More,
                (true, _) => Told::Less,
                (false, true) => Told::HintOnly,
                (false, false) => Told::CannotBeTold,
            };
        }
        Ok(Comparisons {
            by: self.by.to_owned(),
            heading: format!("by {}: described, not caused", self.by),
            level: TERM_LEVEL,
            family,
            rows,
        })
    }

    /// One outcome: the pairs of which either has a value.
    fn outcome(&self, column: &str) -> Result<Vec<Comparison>, StudyError> {
        let outcome = if column == LATE {
            let values = super::minutes_late(self.table, measures::PLANNED_PULL_MS.name)?;
            let censored = vec![Some(false); values.len()];
            Outcome { values, censored, flag: None, missing_flag: None }
        } else if self.table.has(column) {
            Outcome::read(self.table, column)?
        } else {
            return Ok(Vec::new());
        };
        let mut rows = self.included.clone();
        rows.keep_outcome(column, &outcome);
        rows.keep("no level", |row| self.of[row].is_some());
        if rows.used.is_empty() {
            return Ok(Vec::new());
        }
        // Levels with too few fires are not compared, and tell nothing of the others.
        let mut fires: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
        for &row in &rows.used {
            let level = self.of[row].as_deref().unwrap_or_default();
            fires.entry(level).or_default().insert(self.table.fires()[row]);
        }
        let enough = |level: &str| fires.get(level).is_some_and(|f| f.len() >= FIRES_PER_LEVEL);
        let counted = rows.clone();
        rows.keep("too few fires", |row| self.of[row].as_deref().is_some_and(&enough));
        let compared: Vec<&str> =
            self.levels.iter().map(String::as_str).filter(|level| enough(level)).collect();

        let plain = self.model(&outcome, &rows, &compared, &[])?;
        let (adjusters, adjusted_rows) = self.adjusters(&rows);
        let adjusted = if adjusters.is_empty() {
            Err("nothing to adjust for is known of these cooks".to_owned())
        } else {
            self.model(&outcome, &adjusted_rows, &compared, &adjusters)?
        };
        let names: Vec<String> = adjusters.iter().map(|a| a.name().to_owned()).collect();
        self.pairs(&compared)
            .into_iter()
            .map(|(first, second)| {
                let is = |row: &&usize, level: &str| self.of[**row].as_deref() == Some(level);
                let of_first: Vec<&usize> =
                    counted.used.iter().filter(|row| is(row, first)).collect();
                let of_second: Vec<&usize> = match second {
                    Some(second) => counted.used.iter().filter(|row| is(row, second)).collect(),
                    None => counted.used.iter().filter(|row| !is(row, first)).collect(),
                };
                let both = of_first.iter().chain(&of_second);
                let censored = both.filter(|row| outcome.censored[***row] == Some(true)).count();
                let few = std::iter::once(first).chain(second).find(|level| !enough(level));
                let few = few.map(|level| {
                    let known = fires.get(level).map_or(0, BTreeSet::len);
                    format!("{level} has values from {known} fires, {FIRES_PER_LEVEL} are needed")
                });
                let contrast = |model: &Result<Regression, String>| match (&few, model) {
                    (Some(few), _) => Ok(Err(few.clone())),
                    (None, Err(reason)) => Ok(Err(reason.clone())),
                    (None, Ok(model)) => {
                        self.contrast(model, &compared, first, second).map(Ok::<_, String>)
                    }
                };
                let found = contrast(&adjusted)?;
                Ok(Comparison {
                    outcome: column.to_owned(),
                    unit: names::unit(column).to_owned(),
                    first: first.to_owned(),
                    second: second.map(str::to_owned),
                    first_cooks: of_first.len(),
                    second_cooks: of_second.len(),
                    censored,
                    as_they_are: contrast(&plain)?.ok().map(difference),
                    p: found.as_ref().ok().and_then(|found| finite(found.1.p)),
                    adjusted_cooks: found.as_ref().map_or(0, |_| adjusted_rows.used.len()),
                    adjusted_for: names.clone(),
                    reason: found.as_ref().err().cloned(),
                    adjusted: found.ok().map(difference),
                    p_adjusted: None,
                    told: Told::CannotBeTold,
                })
            })
            .collect()
    }

    /// Who is compared with whom.
    fn pairs<'l>(&'l self, compared: &[&'l str]) -> Vec<(&'l str, Option<&'l str>)> {
        let levels: Vec<&str> = self.levels.iter().map(String::as_str).collect();
        if self.by == SEASON {
            return levels.windows(2).map(|pair| (pair[1], Some(pair[0]))).collect();
        }
        match compared {
            [] | [_] => levels.windows(2).map(|pair| (pair[0], Some(pair[1]))).collect(),
            [first, second] => vec![(*first, Some(*second))],
            many => many.iter().map(|level| (*level, None)).collect(),
        }
    }

    /// What can be adjusted for in these cooks, and the cooks of which it is known: an adjuster that
    /// less than half of them state is left out rather than the others with it.
    fn adjusters(&self, rows: &Rows) -> (Vec<&Covariate>, Rows) {
        let mut rows = rows.clone();
        let mut kept = Vec::new();
        for adjuster in &self.adjusters {
            let known = rows.used.iter().filter(|&&row| adjuster.is_present(row)).count();
            if 2 * known < rows.used.len() || known == 0 {
                continue;
            }
            rows.keep(adjuster.name(), |row| adjuster.is_present(row));
            if let Covariate::Factor(name, values) = adjuster {
                // A pit of a single fire tells nothing of seasons, and takes its cooks to itself.
                let mut fires: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
                for &row in &rows.used {
                    let level = values[row].as_deref().unwrap_or_default();
                    fires.entry(level).or_default().insert(self.table.fires()[row]);
                }
                let several = |row: usize| {
                    let level = values[row].as_deref();
                    level.and_then(|level| fires.get(level)).is_some_and(|fires| fires.len() > 1)
                };
                rows.keep(name, several);
            }
            kept.push(adjuster);
        }
        kept.retain(|adjuster| !adjuster.is_constant(&rows));
        (kept, rows)
    }

    /// The outcome by level and adjusters, or why not.
    fn model(
        &self,
        outcome: &Outcome,
        rows: &Rows,
        compared: &[&str],
        adjusters: &[&Covariate],
    ) -> Result<Result<Regression, String>, StudyError> {
        if compared.len() < 2 {
            return Ok(Err(format!(
                "fewer than two of them have values from {FIRES_PER_LEVEL} fires"
            )));
        }
        let cooks = rows.cooks(self.table);
        let design = || -> Result<Design, StatsError> {
            let mut design = Design::new(rows.used.len()).intercept()?;
            for level in &compared[1..] {
                let is = |&row: &usize| f64::from(self.of[row].as_deref() == Some(level));
                let column: Vec<f64> = rows.used.iter().map(is).collect();
                design = design.numeric(&self.term(level), &column)?;
            }
            for adjuster in adjusters {
                design = adjuster.add_to(design, rows)?;
            }
            Ok(design)
        };
        let names: Vec<&str> = cooks.iter().map(String::as_str).collect();
        let fitted =
            design().map_err(|error| regression::explain(error, &names)).and_then(|design| {
                let y = rows.take(&outcome.values);
                let observed = rows.observed(outcome);
                Data::new(&design, y, observed, rows.fires_used(self.table), cooks.clone()).fit()
            });
        match fitted {
            Ok(regression) => Ok(Ok(regression)),
            Err(NotFitted::Refused(reason)) => Ok(Err(reason)),
            Err(NotFitted::Failed(error)) => Err(error),
        }
    }

    fn term(&self, level: &str) -> String {
        format!("{}[{level}]", self.by)
    }

    /// First minus second, or minus the mean of all others.
    fn contrast(
        &self,
        model: &Regression,
        compared: &[&str],
        first: &str,
        second: Option<&str>,
    ) -> Result<(Estimate, Inference), StudyError> {
        let others = compared.len() - 1;
        let weights: Vec<f64> = model
            .estimates
            .names()
            .iter()
            .map(|name| {
                let is = |level: &str| *name == self.term(level);
                match second {
                    _ if is(first) => 1.0,
                    Some(second) if is(second) => -1.0,
                    None if compared.iter().any(|level| is(level)) => -1.0 / others as f64,
                    _ => 0.0,
                }
            })
            .collect();
        let estimate = model.estimates.linear_combination(&weights)?;
        let found = Combination { estimate, weights };
        Ok((estimate, model.infer(&found, TERM_LEVEL)?))
    }
}

fn difference((found, inferred): (Estimate, Inference)) -> ComparedDifference {
    ComparedDifference {
        estimate: found.estimate + 0.0,
        lo: finite(inferred.interval.lo),
        hi: finite(inferred.interval.hi),
    }
}

/// Levels that differ by a number at their end alone by that number, others by their first meat-on
/// where that is known, else by name.
fn in_order(
    table: &MeasureTable,
    rows: &Rows,
    of: &[Option<String>],
    mut levels: Vec<String>,
) -> Result<Vec<String>, StudyError> {
    let split = |level: &str| {
        let stem = level.trim_end_matches(|c: char| c.is_ascii_digit());
        level[stem.len()..].parse::<u64>().ok().map(|number| (stem.to_owned(), number))
    };
    let numbered: Option<Vec<(String, u64)>> = levels.iter().map(|level| split(level)).collect();
    if numbered.is_some_and(|all| all.windows(2).all(|pair| pair[0].0 == pair[1].0)) {
        levels.sort_by_key(|level| split(level));
        return Ok(levels);
    }
    let dated = [measures::MEAT_ON_MS.name, "meat_on", measures::DATE.name]
        .into_iter()
        .any(|column| table.has(column));
    if dated {
        let order = table.by_meat_on()?;
        let first = |level: &String| {
            let is_of = |row: &&usize| rows.used.contains(row) && of[**row].as_ref() == Some(level);
            order.iter().position(|row| is_of(&row))
        };
        levels.sort_by_cached_key(first);
    }
    Ok(levels)
}

#[cfg(test)]
mod tests;
