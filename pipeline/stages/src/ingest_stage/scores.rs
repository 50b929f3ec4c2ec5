//! Judges' means as the scores of cooks whose cards do not say them.

use cook::{Panel, Score, Season};
use ingest::{ScoresReading, SheetReading};
use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, HashMap};

/// What came of cards and scores sheets together.
#[derive(Debug, Clone, Default)]
pub(super) struct Scored {
    /// Cards (by their place) that have a score from their judges, and its column.
    completed: Vec<(usize, String)>,
    /// Scores of cards that are not those of their judges, and scores that cannot be used.
    pub(super) told: Vec<String>,
    /// Rows that say what another says.
    pub(super) warnings: Vec<String>,
}

impl Scored {
    /// Before any card is completed.
    pub(super) fn new(warnings: Vec<String>) -> Self {
        Self { warnings, ..Self::default() }
    }
}

/// Gives each card the judges' mean of a score that it does not state, the dropped ones left out.
/// What a card states stays, and is told where it is not the judges' mean as the card rounds it:
/// file, value and remedy. `before` is what an earlier call gave them, and is taken back.
pub(super) fn complete_cards(
    cards: &mut SheetReading,
    scores: &[ScoresReading],
    season: &Season,
    before: &Scored,
) -> Scored {
    for (at, column) in &before.completed {
        cards.cards[*at].scores.retain(|(name, _)| name != column);
    }
    let mut by_cook: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
    for score in scores.iter().flat_map(|reading| &reading.scores) {
        if let (Panel::Judges, Some(cook)) = (score.panel, &score.cook) {
            by_cook.entry((cook, &score.attribute)).or_default().push(score.value);
        }
    }
    let mut scored = Scored {
        completed: Vec::new(),
        told: scores.iter().flat_map(without_scale).chain(contradictions(scores)).collect(),
        warnings: before.warnings.clone(),
    };
    for (at, (card, row)) in cards.cards.iter_mut().zip(&cards.rows).enumerate() {
        for (attribute, scale) in &season.scores {
            let Some(values) = by_cook.get(&(card.cook.as_str(), attribute.as_str())) else {
                continue;
            };
            let Some(mean) = study::scores::kept_mean(values, scale) else { continue };
            let column = format!("{}{attribute}", columns::names::SCORE);
            match card.scores.iter().find(|(name, _)| *name == column) {
                None => {
                    scored.completed.push((at, column.clone()));
                    card.scores.push((column, mean));
                }
                Some((_, stated)) if is_rounded(*stated, mean) => {}
                Some((_, stated)) => scored.told.push(format!(
                    "{}:{}, column `{column}`: {stated} on the card of `{}`, {mean:.3} by {} scores of judges; the card was used: correct one of the two",
                    row.sheet, row.line, card.cook, values.len()
                )),
            }
        }
    }
    scored
}

/// Scores of attributes that have no scale: nothing tells what their points are worth.
fn without_scale(reading: &ScoresReading) -> impl Iterator<Item = String> {
    reading.without_scale().into_iter().map(|(name, (place, rows))| {
        let rows = if rows == 1 { "1 row is".to_owned() } else { format!("{rows} rows are") };
        format!(
            "{place}, column `attribute`: season.toml has no scale for `{name}`, and {rows} not used\n  try: add `[scores.{name}]` with `lowest`, `highest` and `better` to season.toml"
        )
    })
}

/// Who scored what: a named judge gives one score of each attribute to an entry.
type Given = (String, String, String, Panel, String);

fn given(score: &Score) -> Option<Given> {
    let judge = score.judge_label()?;
    let date = score.date.clone().unwrap_or_default();
    Some((score.entry(), date, score.attribute.clone(), score.panel, judge))
}

/// Counts a score once that stands twice: an entry, a judge, an attribute, and the same points.
pub(super) fn count_once(scores: &mut [ScoresReading]) -> Vec<String> {
    let mut known: HashMap<(Given, u64), String> = HashMap::new();
    let mut warnings = Vec::new();
    for reading in scores {
        let places = std::mem::take(&mut reading.places);
        let mut kept = Vec::new();
        let of_rows = std::mem::take(&mut reading.scores).into_iter().zip(places);
        for (score, place) in of_rows {
            if let Some(given) = given(&score) {
                match known.entry((given, score.value.to_bits())) {
                    Entry::Occupied(first) => {
                        warnings.push(format!(
                            "{place}: it says what {} says, and is counted once",
                            first.get()
                        ));
                        continue;
                    }
                    Entry::Vacant(entry) => {
                        entry.insert(place.clone());
                    }
                }
            }
            kept.push((score, place));
        }
        (reading.scores, reading.places) = kept.into_iter().unzip();
    }
    warnings
}

/// Two unlike scores of one judge, attribute and entry.
fn contradictions(scores: &[ScoresReading]) -> Vec<String> {
    let mut known: BTreeMap<Given, (&Score, &str)> = BTreeMap::new();
    let mut told = Vec::new();
    for reading in scores {
        let nowhere = std::iter::repeat("the store");
        let places = reading.places.iter().map(String::as_str).chain(nowhere);
        for (score, place) in reading.scores.iter().zip(places) {
            let Some(given) = given(score) else { continue };
            if let Some((first, first_place)) = known.get(&given) {
                told.push(format!(
                    "{place}: {} of {} for {} by judge {}, and {} in {first_place}; both are used: correct one of the two",
                    score.value, score.attribute, score.entry(), given.4, first.value
                ));
            } else {
                known.insert(given, (score, place));
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
