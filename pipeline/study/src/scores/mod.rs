//! Scores of judges and tasters, and entries of every category.
//!
//! Judges and tasters are never pooled, nor are scores given blind and not: they answer unlike
//! questions.

mod panel;

use crate::cost_side::ScoreScales;
use crate::error::StudyError;
use crate::result::score::{AttributeMean, Category, Entry, EntryScores, Scores};
use crate::result::season::Median;
use crate::table::MeasureTable;
use columns::measures;
use cook::season::{Better, ScoreScale};
use cook::{Card, Panel, Score};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What was entered: every card, with a curve or without, and the scores sheets.
#[derive(Debug, Clone, Copy, Default)]
pub struct Entries<'a> {
    /// The cards.
    pub cards: &'a [Card],
    /// The scores.
    pub scores: &'a [Score],
}

/// The scores that count, the worst `drop` of them left out; how many were left out.
pub fn kept(values: &[f64], scale: &ScoreScale) -> (Vec<f64>, usize) {
    let mut sorted = values.to_vec();
    sorted.sort_by(|a, b| match scale.better {
        Better::Higher => a.total_cmp(b),
        Better::Lower => b.total_cmp(a),
    });
    let dropped = (scale.drop as usize).min(sorted.len());
    (sorted.split_off(dropped), dropped)
}

/// The mean of the scores that count; `None` where all are dropped.
pub fn kept_mean(values: &[f64], scale: &ScoreScale) -> Option<f64> {
    let (kept, _) = kept(values, scale);
    (!kept.is_empty()).then(|| kept.iter().sum::<f64>() / kept.len() as f64)
}

/// Panels, entries and categories. Empty where no sheet has a score, no card a rank or points, and
/// every card a curve: the season's glance says all there is then.
///
/// # Errors
/// Columns that hold something else than their name promises.
pub fn scores(
    table: &MeasureTable,
    entries: Entries<'_>,
    scales: &ScoreScales,
) -> Result<Scores, StudyError> {
    let excluded: BTreeSet<&str> = entries
        .cards
        .iter()
        .filter(|card| card.exclude.is_some())
        .map(|card| card.cook.as_str())
        .collect();
    let counts = |score: &&Score| score.cook.as_deref().is_none_or(|cook| !excluded.contains(cook));
    let given: Vec<&Score> = entries.scores.iter().filter(counts).collect();
    let mut by_entry: BTreeMap<String, Vec<&Score>> = BTreeMap::new();
    for score in &given {
        by_entry.entry(score.entry()).or_default().push(score);
    }
    let pulls = pulls(table)?;
    let mut all: Vec<Entry> = Vec::new();
    for card in entries.cards.iter().filter(|card| card.exclude.is_none()) {
        let own = by_entry.remove(&card.cook).unwrap_or_default();
        all.push(of_card(card, &own, &pulls, scales));
    }
    all.extend(by_entry.into_iter().filter_map(|(name, own)| without_card(name, &own, scales)));
    all.sort_by(|a, b| {
        (&a.season, &a.contest, &a.category, &a.entry).cmp(&(
            &b.season,
            &b.contest,
            &b.category,
            &b.entry,
        ))
    });
    let says_more = |entry: &Entry| {
        !entry.has_curve
            || !entry.given.is_empty()
            || entry.contest_rank.is_some()
            || entry.contest_points.is_some()
    };
    if !all.iter().any(says_more) {
        return Ok(Scores::default());
    }
    let categories = categories(&all)?;
    Ok(Scores {
        panels: panel::panels(&given),
        categories,
        entries: all.into_iter().filter(says_more).collect(),
    })
}

/// When each cook with a curve was pulled, ms; null where its log ended first.
fn pulls(table: &MeasureTable) -> Result<HashMap<&str, Option<f64>>, StudyError> {
    let meat_on = if table.has(measures::MEAT_ON_MS.name) {
        table.numbers(measures::MEAT_ON_MS.name)?
    } else {
        vec![None; table.len()]
    };
    let total = table.numbers_or_missing(measures::TOTAL_MIN.name)?;
    let open = if table.has(measures::TOTAL_MIN_CENSORED.name) {
        table.flags(measures::TOTAL_MIN_CENSORED.name)?
    } else {
        vec![None; table.len()]
    };
    let pull = |row: usize| {
        (open[row] != Some(true)).then_some(())?;
        Some(meat_on[row]? + 60_000.0 * total[row]?)
    };
    // A card without a log has a row too, in which nothing is measured.
    let with_curve = table.cooks().iter().enumerate().filter(|(row, _)| total[*row].is_some());
    Ok(with_curve.map(|(row, cook)| (cook.as_str(), pull(row))).collect())
}

fn of_card(
    card: &Card,
    own: &[&Score],
    pulls: &HashMap<&str, Option<f64>>,
    scales: &ScoreScales,
) -> Entry {
    let measured = pulls.get(card.cook.as_str());
    let pull_ms = card.marks.pull_ms.map(|ms| ms as f64).or_else(|| measured.copied().flatten());
    let after = |planned: Option<i64>| Some((pull_ms? - planned? as f64) / 60_000.0);
    let served = card.served_weight.map(cook::Kilograms::value).filter(|kg| *kg > 0.0);
    Entry {
        entry: card.cook.clone(),
        season: card.season.clone(),
        contest: card.contest.clone().or_else(|| own.first()?.contest.clone()),
        category: own
            .iter()
            .find_map(|score| score.category.clone())
            .or_else(|| card.cut.as_ref().map(|cut| cut.to_lowercase())),
        has_curve: measured.is_some(),
        late_min: after(card.planned_pull_ms),
        turn_in_margin_min: after(card.turn_in_ms).map(|late| -late),
        cost_per_served_kg: card.cost.zip(served).map(|(cost, kg)| cost / kg),
        contest_rank: card.contest_rank,
        contest_points: card.contest_points,
        given: given(own, scales),
    }
}

/// An entry of the scores sheet alone.
fn without_card(entry: String, own: &[&Score], scales: &ScoreScales) -> Option<Entry> {
    let first = own.first()?;
    Some(Entry {
        entry,
        season: first.season.clone(),
        contest: first.contest.clone(),
        category: first.category.clone(),
        has_curve: false,
        late_min: None,
        turn_in_margin_min: None,
        cost_per_served_kg: None,
        contest_rank: None,
        contest_points: None,
        given: given(own, scales),
    })
}

/// What each kind of panel gave an entry.
fn given(own: &[&Score], scales: &ScoreScales) -> Vec<EntryScores> {
    let mut found = Vec::new();
    for panel in [Panel::Judges, Panel::Tasters] {
        let mut by_attribute: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for score in own.iter().filter(|score| score.panel == panel) {
            by_attribute.entry(&score.attribute).or_default().push(score.value);
        }
        if by_attribute.is_empty() {
            continue;
        }
        let mut means = Vec::new();
        for (attribute, values) in by_attribute {
            let Some(scale) = scales.get(attribute) else { continue };
            let (kept, dropped) = kept(&values, scale);
            means.push(AttributeMean {
                attribute: attribute.to_owned(),
                mean: kept_mean(&values, scale),
                scores: kept.len(),
                dropped,
            });
        }
        found.push(EntryScores { panel, points: points(&means, scales), means });
    }
    found
}

/// The sum of weighted means; `None` where an attribute with a weight has none.
fn points(means: &[AttributeMean], scales: &ScoreScales) -> Option<f64> {
    let mut sum = 0.0;
    for (attribute, scale) in scales.iter().filter(|(_, scale)| scale.weight > 0.0) {
        let mean = means.iter().find(|mean| mean.attribute == *attribute)?.mean?;
        sum += scale.weight * mean;
    }
    Some(sum)
}

/// Every category over all entries.
fn categories(all: &[Entry]) -> Result<Vec<Category>, StudyError> {
    let mut by_category: BTreeMap<Option<&str>, Vec<&Entry>> = BTreeMap::new();
    for entry in all {
        by_category.entry(entry.category.as_deref()).or_default().push(entry);
    }
    let found = by_category.into_iter().map(|(category, own)| {
        let median = |of: fn(&Entry) -> Option<f64>| -> Result<Option<Median>, StudyError> {
            Median::of(&own.iter().filter_map(|entry| of(entry)).collect::<Vec<f64>>())
        };
        Ok(Category {
            category: category.map(str::to_owned),
            entries: own.len(),
            with_curve: own.iter().filter(|entry| entry.has_curve).count(),
            late_min: median(|entry| entry.late_min)?,
            turn_in_margin_min: median(|entry| entry.turn_in_margin_min)?,
            past_turn_in: own
                .iter()
                .filter(|entry| entry.turn_in_margin_min.is_some_and(|margin| margin < 0.0))
                .count(),
            cost_per_served_kg: median(|entry| entry.cost_per_served_kg)?,
        })
    });
    found.collect()
}

#[cfg(test)]
mod tests;
