//! What is weighed against: the outcomes.

use super::ScoreScales;
use crate::error::StudyError;
use crate::outcome::Outcome;
use crate::result::cost::CostOutcome;
use crate::table::MeasureTable;
use columns::{derived, measures, names};
use cook::season::Better;

/// An outcome of the cost side, one value a cook.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub(super) column: String,
    pub(super) kind: CostOutcome,
    pub(super) better: Better,
    pub(super) unit: String,
    pub(super) outcome: Outcome,
    /// Cooks set aside, with the reason.
    pub(super) set_aside: Vec<(String, Vec<bool>)>,
    pub(super) notes: Vec<String>,
}

impl Asked {
    fn new(column: &str, kind: CostOutcome, better: Better, values: Vec<Option<f64>>) -> Self {
        let censored = vec![Some(false); values.len()];
        Self {
            column: column.to_owned(),
            kind,
            better,
            unit: names::unit(column).to_owned(),
            outcome: Outcome { values, censored, flag: None, missing_flag: None },
            set_aside: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Sets the cooks aside whose value is not what it should be.
    fn only(mut self, reason: String, fits: impl Fn(f64) -> bool) -> Self {
        let values = self.outcome.values.iter();
        let unfit = values.map(|value| value.is_some_and(|value| !fits(value))).collect();
        self.set_aside.push((reason, unfit));
        self
    }

    /// +1 where more is better, −1 where less is.
    pub(super) fn sign(&self) -> f64 {
        match self.better {
            Better::Higher => 1.0,
            Better::Lower => -1.0,
        }
    }
}

/// The outcomes in the order shown.
pub(super) fn outcomes(
    table: &MeasureTable,
    scales: &ScoreScales,
) -> Result<Vec<Asked>, StudyError> {
    const FINISH: &str = measures::CLOCK_TO_FINISH_MIN.name;
    let mut found = Vec::new();
    if table.has(FINISH) {
        let outcome = Outcome::read(table, FINISH)?;
        let notes = outcome.note(FINISH).into_iter().collect();
        let asked = Asked::new(FINISH, CostOutcome::Time, Better::Lower, Vec::new());
        found.push(Asked { outcome, notes, ..asked });
    }
    let mut scores: Vec<&str> =
        table.column_names().filter(|name| name.starts_with("score_")).collect();
    scores.sort_unstable();
    for column in scores {
        found.push(score(table, column, scales)?);
    }
    found.extend(yields(table)?);
    found.extend(cost(table)?);
    Ok(found)
}

fn score(table: &MeasureTable, column: &str, scales: &ScoreScales) -> Result<Asked, StudyError> {
    let values = table.numbers(column)?;
    let name = column.trim_start_matches("score_");
    let Some(scale) = scales.get(name) else {
        let mut asked = Asked::new(column, CostOutcome::Score, Better::Higher, values);
        asked.notes.push(format!(
            "no scale is set for `{column}`, so more is taken for better: write [scores.{name}] in \
             season.toml"
        ));
        return Ok(asked);
    };
    let asked = Asked::new(column, CostOutcome::Score, scale.better, values);
    let outside = format!("`{column}` is outside its scale, {} to {}", scale.lowest, scale.highest);
    Ok(asked.only(outside, |score| (scale.lowest..=scale.highest).contains(&score)))
}

/// The yield over the weight as bought, and what is left of the weight that went on, which no
/// trimming blurs.
fn yields(table: &MeasureTable) -> Result<Vec<Asked>, StudyError> {
    let share = |asked: Asked| {
        let reason = format!("`{}` is not between 0 and 1", asked.column);
        asked.only(reason, |share| share > 0.0 && share < 1.0)
    };
    let mut found = Vec::new();
    if table.has(measures::YIELD_FRACTION.name) {
        let values = table.numbers(measures::YIELD_FRACTION.name)?;
        let kind = CostOutcome::Yield;
        let mut asked =
            share(Asked::new(measures::YIELD_FRACTION.name, kind, Better::Higher, values));
        asked.set_aside.extend(other_basis(table)?);
        found.push(asked);
    }
    if table.has(measures::TRIMMED_WEIGHT_KG.name) && table.has(measures::COOKED_WEIGHT_KG.name) {
        let on = table.numbers(measures::TRIMMED_WEIGHT_KG.name)?;
        let off = table.numbers(measures::COOKED_WEIGHT_KG.name)?;
        let values = on.into_iter().zip(off);
        let values = values.map(|(on, off)| Some(off? / on.filter(|kg| *kg > 0.0)?)).collect();
        let asked = share(Asked::new(
            derived::COOKED_OVER_TRIMMED.name,
            CostOutcome::Yield,
            Better::Higher,
            values,
        ));
        found.push(asked);
    }
    Ok(found)
}

/// Yields of cooked and of served meat are not the same thing: whichever is rarer is set aside.
fn other_basis(table: &MeasureTable) -> Result<Option<(String, Vec<bool>)>, StudyError> {
    let basis = table.texts_or_missing(measures::YIELD_BASIS.name)?;
    let count = |word: &str| basis.iter().flatten().filter(|own| *own == word).count();
    let (cooked, served) = (count("cooked"), count("served"));
    let rarer = if served <= cooked { "served" } else { "cooked" };
    let aside: Vec<bool> = basis.iter().map(|own| own.as_deref() == Some(rarer)).collect();
    let reason = format!("the yield rests on the {rarer} weight, others on another one");
    Ok((cooked.min(served) > 0).then_some((reason, aside)))
}

fn cost(table: &MeasureTable) -> Result<Option<Asked>, StudyError> {
    if !(table.has(measures::COST.name) && table.has(measures::SERVED_WEIGHT_KG.name)) {
        return Ok(None);
    }
    let (cost, served) =
        (table.numbers(measures::COST.name)?, table.numbers(measures::SERVED_WEIGHT_KG.name)?);
    let values = cost.into_iter().zip(served);
    let values = values.map(|(cost, kg)| Some(cost? / kg.filter(|kg| *kg > 0.0)?)).collect();
    let mut asked =
        Asked::new(derived::COST_PER_SERVED_KG.name, CostOutcome::Cost, Better::Lower, values);
    asked.unit = String::new();
    Ok(Some(asked.only("the meat cost nothing".into(), |cost| cost > 0.0)))
}
