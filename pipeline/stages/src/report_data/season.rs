//! Contests and bests of the season.

use ::cook::CookKind;
use ::cook::season::{Better, ScoreScale};
use columns::measures;
use report::data::{Best, ContestCook, CookReport};
use report::names::{name_of, quantity_of};
use report::units::Quantity;
use std::collections::BTreeMap;

/// Contest cooks in the order of the cooks, with what the card planned.
pub(super) fn contests(cooks: &[CookReport]) -> Vec<ContestCook> {
    cooks
        .iter()
        .filter(|cook| cook.card.kind == Some(CookKind::Contest))
        .map(|cook| {
            let (card, m) = (&cook.card, &cook.measures);
            let pull_ms = m
                .total_min
                .filter(|_| m.total_min_censored != Some(true))
                .map(|minutes| cook.meat_on_ms as f64 + 60_000.0 * minutes);
            let since = |planned: Option<i64>| Some((pull_ms? - planned? as f64) / 60_000.0);
            ContestCook {
                cook: cook.id().to_owned(),
                contest: card.contest.clone(),
                turn_in_margin_min: since(card.turn_in_ms).map(|late| -late),
                late_min: since(card.planned_pull_ms),
                scores: card.scores.iter().map(|(name, score)| (name_of(name), *score)).collect(),
            }
        })
        .collect()
}

/// The best cook by each score whose scale says which way is better, and by yield, steadiness of
/// the pit and the plan.
pub(super) fn bests(cooks: &[CookReport], scales: &BTreeMap<String, ScoreScale>) -> Vec<Best> {
    let mut found = Vec::new();
    for (name, scale) in scales {
        let column = format!("score_{name}");
        let value = |cook: &CookReport| {
            let scores = &cook.card.scores;
            scores.iter().find(|(own, _)| *own == column).map(|(_, score)| *score)
        };
        let quantity = Quantity::Plain { unit: "", decimals: 1 };
        found.extend(best(
            &name_of(&column),
            cooks,
            &value,
            scale.better == Better::Higher,
            quantity,
        ));
    }
    let measure = |column: &str, of: &dyn Fn(&CookReport) -> Option<f64>, higher: bool| {
        let name = if column == measures::PIT_SD_C.name {
            "Steadiest pit".to_owned()
        } else {
            name_of(column)
        };
        best(&name, cooks, of, higher, quantity_of(column))
    };
    found.extend(measure(
        measures::YIELD_FRACTION.name,
        &|cook| cook.measures.yield_fraction,
        true,
    ));
    found.extend(measure(measures::PIT_SD_C.name, &|cook| cook.measures.pit_sd_c, false));
    found
}

/// The cooks that share the best value; none where nobody has one.
fn best(
    what: &str,
    cooks: &[CookReport],
    of: &dyn Fn(&CookReport) -> Option<f64>,
    higher: bool,
    quantity: Quantity,
) -> Option<Best> {
    let values: Vec<(&str, f64)> =
        cooks.iter().filter_map(|cook| Some((cook.id(), of(cook)?))).collect();
    let of_all = values.iter().map(|(_, value)| *value);
    let value = if higher { of_all.reduce(f64::max) } else { of_all.reduce(f64::min) }?;
    Some(Best {
        what: what.to_owned(),
        cooks: values.iter().filter(|(_, v)| *v == value).map(|(id, _)| (*id).to_owned()).collect(),
        value,
        quantity,
        of: values.len(),
    })
}
