//! Scores of judges and tasters, and entries of every category, with a curve or without.

use super::rows::{Rows, word};
use super::season::Median;
use columns::Table;
use cook::Panel;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the scores sheets say, and what was entered without a curve.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scores {
    /// Judges and tasters apart, blind and not apart; by category and attribute.
    pub panels: Vec<PanelScores>,
    /// Cooks with scores of the sheets, a rank or points, or without a curve, and entries without a
    /// card; by season, contest, category and name.
    pub entries: Vec<Entry>,
    /// Every category over all cards and entries; empty where [`Self::entries`] is.
    pub categories: Vec<Category>,
}

/// Scores of one attribute that one kind of panel gave in one category.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PanelScores {
    /// Who gave them.
    pub panel: Panel,
    /// Whether they were given blind; null where the sheet does not say.
    pub blind: Option<bool>,
    /// What was judged; null where the sheet does not say.
    pub category: Option<String>,
    /// What was scored.
    pub attribute: String,
    /// Scores.
    pub scores: usize,
    /// Entries.
    pub entries: usize,
    /// Judges or tasters that are named.
    pub judges: usize,
    /// Plain mean, points.
    pub mean: f64,
    /// Lowest score.
    pub lowest: f64,
    /// Highest score.
    pub highest: f64,
    /// The mean with judges as random draws; null where refused.
    pub model: Option<JudgeModel>,
    /// Why there is no such model; null where there is.
    pub reason: Option<String>,
}

/// score = mean + entry + judge + scatter, entries and judges drawn at random (restricted maximum
/// likelihood).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JudgeModel {
    /// Mean over entries and judges of the kind, points.
    pub mean: f64,
    /// Lower end of its 95 % interval.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// Standard deviation between entries, points.
    pub entry_sd: f64,
    /// Standard deviation between judges, points; null where every judge scored once, and the scatter
    /// holds it.
    pub judge_sd: Option<f64>,
    /// Standard deviation of what is left, points.
    pub scatter_sd: f64,
    /// Share of the variance of one judge's score that lies between entries, 0 to 1: how far a single
    /// judge can be relied on (Shrout and Fleiss's ICC(2,1)).
    pub reliability: f64,
}

/// What one kind of panel gave an entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EntryScores {
    /// Who gave it.
    pub panel: Panel,
    /// Means after those dropped, by attribute.
    pub means: Vec<AttributeMean>,
    /// Sum of the means times their weights; null where an attribute with a weight has none.
    pub points: Option<f64>,
}

/// The mean of one attribute.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AttributeMean {
    /// What was scored.
    pub attribute: String,
    /// Mean of the scores kept; null where all were dropped.
    pub mean: Option<f64>,
    /// Scores kept.
    pub scores: usize,
    /// The worst ones, left out by `drop`.
    pub dropped: usize,
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The cook, else contest, date and category.
    pub entry: String,
    /// Season.
    pub season: String,
    /// Contest.
    pub contest: Option<String>,
    /// Category, else the card's cut.
    pub category: Option<String>,
    /// Whether it is a cook with a curve.
    pub has_curve: bool,
    /// From the planned pull to the pull, min; positive is late.
    pub late_min: Option<f64>,
    /// From the pull to turn-in, min; negative would be too late.
    pub turn_in_margin_min: Option<f64>,
    /// Cost of the meat by the weight served, in the season's currency per kg.
    pub cost_per_served_kg: Option<f64>,
    /// Placing in the contest.
    pub contest_rank: Option<f64>,
    /// Points of the contest.
    pub contest_points: Option<f64>,
    /// Scores, judges before tasters.
    pub given: Vec<EntryScores>,
}

/// One category, with a curve or without.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Category {
    /// The category; null where nobody says it.
    pub category: Option<String>,
    /// Entries, cooks that were never judged included.
    pub entries: usize,
    /// Those with a curve.
    pub with_curve: usize,
    /// From the planned pull to the pull, min; positive is late.
    pub late_min: Option<Median>,
    /// From the pull to turn-in, min.
    pub turn_in_margin_min: Option<Median>,
    /// Entries pulled after their turn-in.
    pub past_turn_in: usize,
    /// Cost of the meat by the weight served, per kg.
    pub cost_per_served_kg: Option<Median>,
}

impl Scores {
    /// One row a panel, category and attribute.
    pub(super) fn panel_rows(&self) -> Table {
        Rows::of(&self.panels)
            .text("panel", |p| word(&p.panel))
            .flag("blind", |p| p.blind)
            .text("category", |p| p.category.clone())
            .text("attribute", |p| Some(p.attribute.clone()))
            .count("scores", |p| Some(p.scores))
            .count("entries", |p| Some(p.entries))
            .count("judges", |p| Some(p.judges))
            .float("mean", |p| Some(p.mean))
            .float("lowest", |p| Some(p.lowest))
            .float("highest", |p| Some(p.highest))
            .float("model_mean", |p| Some(p.model.as_ref()?.mean))
            .float("model_lo95", |p| Some(p.model.as_ref()?.lo))
            .float("model_hi95", |p| Some(p.model.as_ref()?.hi))
            .float("entry_sd", |p| Some(p.model.as_ref()?.entry_sd))
            .float("judge_sd", |p| p.model.as_ref()?.judge_sd)
            .float("scatter_sd", |p| Some(p.model.as_ref()?.scatter_sd))
            .float("reliability", |p| Some(p.model.as_ref()?.reliability))
            .text("reason", |p| p.reason.clone())
            .table()
    }

    /// One row an entry.
    pub(super) fn entry_rows(&self) -> Table {
        let points = |panel| move |entry: &Entry| entry.of(panel)?.points;
        Rows::of(&self.entries)
            .text("entry", |e| Some(e.entry.clone()))
            .text("season", |e| Some(e.season.clone()))
            .text("contest", |e| e.contest.clone())
            .text("category", |e| e.category.clone())
            .flag("has_curve", |e| Some(e.has_curve))
            .float("late_min", |e| e.late_min)
            .float("turn_in_margin_min", |e| e.turn_in_margin_min)
            .float("cost_per_served_kg", |e| e.cost_per_served_kg)
            .float("contest_rank", |e| e.contest_rank)
            .float("contest_points", |e| e.contest_points)
            .float("judges_points", points(Panel::Judges))
            .float("tasters_points", points(Panel::Tasters))
            .table()
    }
}

impl Entry {
    /// What one kind of panel gave it.
    pub fn of(&self, panel: Panel) -> Option<&EntryScores> {
        self.given.iter().find(|given| given.panel == panel)
    }
}
