//! What faster costs: scores, yield and the price of a served kilogram against the same treatments
//! as the time to the finish, and the core temperature at which meat was felt to be tender.
//!
//! # Treatments
//! The arm that lots were drawn for (caused, as far as the lots go); the wrap method and the core
//! at the wrap (described, not caused: who wraps, when and in what is decided by what the meat
//! does); the early pit temperature and every column that a claim compares by (they go along with
//! the outcome). Levels of fewer than three fires are left out.
//!
//! # Outcomes
//! - **Time to the finish**, linear, lower bounds as right-censored.
//! - **Scores**, by proportional-odds regression (`McCullagh` 1980): only their order counts for the
//!   odds ratio. Beside it stand the difference of the expected score and of the probability of a
//!   good score, averaged over the cooks. More than ten different scores are merged into ten
//!   classes of about equal numbers, which costs about 1 % of the information, Σ pⱼ³ of the shares
//!   pⱼ: Whitehead (1993), Statistics in Medicine 12, 2257–2271 (the formula from memory). Where a treatment tells scores apart without error, the
//!   odds ratio is that of a good score, by logistic regression with Firth's penalty.
//! - **Yield** (over the weight as bought) and **what is left of the trimmed weight**, linear.
//! - **Cost of a served kilogram**, linear in its logarithm, told in money: the difference of the
//!   medians that the model expects, averaged over the cooks.
//!
//! Every model is adjusted for weight and early pit temperature, with standard errors clustered by
//! fire. Scores, yields and costs are also fitted as linear mixed models with a random intercept
//! of the fire, which stand beside the answer. What would change an answer: the fires without
//! which it would be another one, and the test of proportional odds.
//!
//! # How plain the answer is
//! Many questions are asked at once, and of twenty intervals of 95 % one misses by chance. So an
//! interval that leaves zero out is called better or worse only where its p value stands after
//! allowing for all questions of the same kind (caused, described, going along): Benjamini &
//! Hochberg (1995), Journal of the Royal Statistical Society B 57, 289–300; else it is "perhaps".

mod answer;
mod outcomes;
mod scores;
mod tender;
mod treatments;

use crate::claims::Claims;
use crate::drivers::weight;
use crate::error::StudyError;
use crate::result::cost::CostSide;
use crate::rows::Covariate;
use crate::table::MeasureTable;
use columns::measures;
use cook::season::ScoreScale;
use std::collections::BTreeMap;

/// Scales of scores by the name behind `score_`.
pub type ScoreScales = BTreeMap<String, ScoreScale>;

/// Asks every outcome against every treatment. What the data cannot answer is a refusal inside the
/// result.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn cost_side(
    table: &MeasureTable,
    claims: &Claims,
    scales: &ScoreScales,
    seed: u64,
) -> Result<CostSide, StudyError> {
    let adjusters = [
        weight(table)?,
        Covariate::Numeric(
            measures::PIT_EARLY_C.name.into(),
            table.numbers_or_missing(measures::PIT_EARLY_C.name)?,
        ),
    ];
    let treatments = treatments::treatments(table, claims)?;
    let mut answers = Vec::new();
    for treatment in &treatments {
        for outcome in outcomes::outcomes(table, scales)? {
            if outcome.column != treatment.by.name() {
                answers.push(answer::answer(table, &outcome, treatment, &adjusters)?);
            }
        }
    }
    answer::allow_for_many(&mut answers)?;
    Ok(CostSide { answers, tender: tender::tender_temperature(table, seed)? })
}

#[cfg(test)]
mod tests;
