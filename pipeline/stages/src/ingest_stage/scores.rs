//! Judges' means as the scores of cooks whose cards do not say them.

use super::SheetReading;
use cook::{Panel, Score, Season};
use ingest::ScoresReading;
use std::collections::BTreeMap;

/// Gives each card the judges' mean of a score that it does not state, the dropped ones left out.
/// What a card states stays, and is told where it is not the judges' mean as the card rounds it:
/// file, value and remedy.
pub(super) fn complete_cards(
    cards: &mut SheetReading,
    scores: &[ScoresReading],
    season: &Season,
) -> Vec<String> {
    let mut by_cook: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
    for score in scores.iter().flat_map(|reading| &reading.scores) {
        if let (Panel::Judges, Some(cook)) = (score.panel, &score.cook) {
            by_cook.entry((cook, &score.attribute)).or_default().push(score.value);
        }
    }
    let mut told = Vec::new();
    for (card, row) in cards.cards.iter_mut().zip(&cards.rows) {
        for (attribute, scale) in &season.scores {
            let Some(values) = by_cook.get(&(card.cook.as_str(), attribute.as_str())) else {
                continue;
            };
            let Some(mean) = study::scores::kept_mean(values, scale) else { continue };
            let column = format!("{}{attribute}", columns::names::SCORE);
            match card.scores.iter().find(|(name, _)| *name == column) {
                None => card.scores.push((column, mean)),
                Some((_, stated)) if is_rounded(*stated, mean) => {}
                Some((_, stated)) => told.push(format!(
                    "{}:{}, column `{column}`: {stated} on the card of `{}`, {mean:.3} by {} scores of judges; the card was used: correct one of the two",
                    row.sheet, row.line, card.cook, values.len()
                )),
            }
        }
    }
    told
}

/// Whether a stated number is a mean rounded to as many places as it shows.
fn is_rounded(stated: f64, mean: f64) -> bool {
    let places = stated.to_string().split_once('.').map_or(0, |(_, places)| places.len());
    let unit = 0.1_f64.powi(i32::try_from(places).unwrap_or(i32::MAX));
    (stated - mean).abs() <= 0.5 * unit + 1e-9
}

/// The order of scores in a store.
pub(crate) fn sort_scores(scores: &mut [Score]) {
    scores.sort_by(|a, b| {
        let key = |s: &Score| {
            let texts = [&s.team, &s.contest, &s.date, &s.category, &s.cook, &s.judge, &s.note];
            (s.season.clone(), texts.map(Clone::clone), s.panel, s.attribute.clone(), s.blind)
        };
        key(a).cmp(&key(b)).then(a.value.total_cmp(&b.value))
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_card_rounds_what_the_judges_gave() {
        assert!(is_rounded(7.3, 22.0 / 3.0) && is_rounded(7.0, 7.4) && is_rounded(7.25, 7.25));
        assert!(!is_rounded(7.3, 7.4) && !is_rounded(7.33, 7.3));
    }
}
