//! What a panel gave, with its judges as draws from all judges of the kind.

use crate::result::score::{JudgeModel, PanelScores};
use cook::{Panel, Score};
use stats::{Design, Grouping, LinearMixed, StatsError};
use std::collections::BTreeMap;

/// Level of the interval of a mean.
const LEVEL: f64 = 0.95;

/// Judges before tasters, blind first; by category and attribute.
pub(super) fn panels(given: &[&Score]) -> Vec<PanelScores> {
    type Kind<'a> = (Panel, std::cmp::Reverse<Option<bool>>, Option<&'a str>, &'a str);
    let mut by_kind: BTreeMap<Kind<'_>, Vec<&Score>> = BTreeMap::new();
    for score in given {
        let blind = std::cmp::Reverse(score.blind);
        let kind = (score.panel, blind, score.category.as_deref(), score.attribute.as_str());
        by_kind.entry(kind).or_default().push(score);
    }
    by_kind.into_values().filter_map(|own| panel(&own)).collect()
}

fn panel(own: &[&Score]) -> Option<PanelScores> {
    let first = own.first()?;
    let values: Vec<f64> = own.iter().map(|score| score.value).collect();
    let entries = Labels::of(own.iter().map(|score| Some(score.entry())));
    let judges = Labels::of(own.iter().map(|score| score.judge_label()));
    let (model, reason) = match model(&values, &entries, &judges) {
        Ok(model) => (Some(model), None),
        Err(reason) => (None, Some(reason)),
    };
    Some(PanelScores {
        panel: first.panel,
        blind: first.blind,
        category: first.category.clone(),
        attribute: first.attribute.clone(),
        scores: own.len(),
        entries: entries.groups,
        judges: judges.groups,
        mean: values.iter().sum::<f64>() / values.len() as f64,
        lowest: values.iter().copied().fold(f64::INFINITY, f64::min),
        highest: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        model,
        reason,
    })
}

/// The group of each row.
struct Labels {
    of_row: Vec<usize>,
    groups: usize,
    /// Rows that have none.
    missing: usize,
}

impl Labels {
    fn of(names: impl Iterator<Item = Option<String>>) -> Self {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let (mut of_row, mut missing) = (Vec::new(), 0);
        for name in names {
            let next = known.len();
            match name {
                Some(name) => of_row.push(*known.entry(name).or_insert(next)),
                None => missing += 1,
            }
        }
        Self { of_row, groups: known.len(), missing }
    }

    /// Whether each has one row alone.
    fn are_single(&self) -> bool {
        self.groups == self.of_row.len()
    }
}

/// The mean with entries and judges as random draws, by restricted maximum likelihood
/// ([`LinearMixed`]). Judges that each scored once are in the scatter.
fn model(values: &[f64], entries: &Labels, judges: &Labels) -> Result<JudgeModel, String> {
    if judges.missing > 0 {
        return Err(format!("{} of {} scores name no judge", judges.missing, values.len()));
    }
    if entries.groups < 2 {
        return Err("a single entry: nothing says how entries differ".to_owned());
    }
    let of_entries = Grouping { name: "entry", labels: &entries.of_row };
    let of_judges = Grouping { name: "judge", labels: &judges.of_row };
    let groupings =
        if judges.are_single() { vec![of_entries] } else { vec![of_entries, of_judges] };
    let fit = Design::new(values.len())
        .intercept()
        .and_then(|design| LinearMixed::fit(&design, values, &groupings))
        .map_err(|error| in_words(&error))?;
    let mean = fit.estimates.terms().first().map(|term| term.coefficient);
    let mean = mean.ok_or_else(|| "no mean could be fitted".to_owned())?;
    let interval = mean.interval(LEVEL).map_err(|error| in_words(&error))?;
    let entry = fit.random[0].variance;
    let judge = fit.random.get(1).map(|judge| judge.variance);
    let whole = entry + judge.unwrap_or(0.0) + fit.residual_variance;
    Ok(JudgeModel {
        mean: mean.estimate,
        lo: interval.lo,
        hi: interval.hi,
        entry_sd: entry.sqrt(),
        judge_sd: judge.map(f64::sqrt),
        scatter_sd: fit.residual_variance.sqrt(),
        reliability: entry / whole,
    })
}

fn in_words(error: &StatsError) -> String {
    format!("entries and judges cannot be told apart: {error}")
}
