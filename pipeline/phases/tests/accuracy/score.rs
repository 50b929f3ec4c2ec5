//! Scores of found phases against true ones.

use super::cooks::{Category, TrueCook};
use super::logger::Logged;
use cook::PhaseKind;

/// What a segmenter says of one cook; instants in ms.
#[derive(Debug, Clone, Default)]
pub struct Found {
    pub stalls: Vec<FoundStall>,
    /// No stall was judged.
    pub unknown: bool,
    pub stall_min_90: Option<(f64, f64)>,
    pub delay_min: Option<f64>,
    pub delay_90: Option<(f64, f64)>,
    pub pull_ms: Option<i64>,
}

/// One stall found, with the 90 % intervals of its ends where there are any.
#[derive(Debug, Clone, Default)]
pub struct FoundStall {
    pub start_ms: i64,
    pub end_ms: i64,
    /// The log ends in it.
    pub open: bool,
    pub start_90: Option<(i64, i64)>,
    pub end_90: Option<(i64, i64)>,
}

/// Sums over the cooks of one category.
#[derive(Debug, Clone, Default)]
pub struct Score {
    pub cooks: usize,
    pub with_stall: usize,
    pub without_stall: usize,
    pub start_min: Vec<f64>,
    pub end_min: Vec<f64>,
    pub length_percent: Vec<f64>,
    pub false_stalls: usize,
    pub missed: usize,
    pub true_stalls: usize,
    pub extra: usize,
    pub unknown: usize,
    /// Ends given to stalls that the log does not see the end of.
    pub invented: usize,
    pub covered: Vec<bool>,
    pub covered_length: Vec<bool>,
    pub covered_delay: Vec<bool>,
    pub width_min: Vec<f64>,
    pub delay_min: Vec<f64>,
    pub rest_min: Vec<f64>,
    pub pull_not_found: usize,
}

fn minutes(ms: i64) -> f64 {
    ms as f64 / 60_000.0
}

impl Score {
    /// Adds one cook. What the log does not show is not asked for.
    pub fn add(&mut self, truth: &TrueCook, logged: &Logged, found: &Found, with_card: bool) {
        self.cooks += 1;
        let first_ms = logged.logging.from_ms;
        let last_ms = logged.logging.until_ms;
        // A log that ends sooner than this after the pull hardly shows it.
        let shown = logged.logging.until_ms >= truth.bounds.pull_ms + 1_200_000;
        if (with_card || shown) && truth.bounds.pull_ms <= last_ms {
            match found.pull_ms {
                Some(pull_ms) => {
                    self.rest_min.push(minutes((pull_ms - truth.bounds.pull_ms).abs()));
                }
                None => self.pull_not_found += 1,
            }
        }
        if found.unknown {
            self.unknown += 1;
            return;
        }
        let seen: Vec<(i64, i64)> = truth
            .judgement
            .phases_of(PhaseKind::Stall)
            .map(|span| (span.start_ms, span.end_ms))
            // A log that ends within the shortest stall of its start cannot show it.
            .filter(|(start, _)| *start + 1_200_000 < last_ms && *start >= first_ms)
            .collect();
        self.true_stalls += seen.len();
        let whole =
            first_ms <= truth.bounds.meat_on_ms + 600_000 && last_ms >= truth.bounds.pull_ms;
        if seen.is_empty() {
            self.without_stall += 1;
            self.false_stalls += usize::from(!found.stalls.is_empty());
        } else {
            self.with_stall += 1;
        }
        let mut used = vec![false; found.stalls.len()];
        let mut length = 0;
        for &(start, end) in &seen {
            let overlap = |stall: &FoundStall| stall.end_ms.min(end) - stall.start_ms.max(start);
            let best = (0..found.stalls.len())
                .filter(|&i| !used[i] && overlap(&found.stalls[i]) > 0)
                .max_by_key(|&i| overlap(&found.stalls[i]));
            let Some(best) = best else {
                self.missed += 1;
                continue;
            };
            used[best] = true;
            let stall = &found.stalls[best];
            length += stall.end_ms - stall.start_ms;
            self.start_min.push(minutes((stall.start_ms - start).abs()));
            // From the log alone no intervals are asked for.
            if with_card {
                self.interval(stall.start_90, start, whole);
            }
            if end < last_ms {
                self.end_min.push(minutes((stall.end_ms - end).abs()));
                if with_card && end != truth.bounds.pull_ms {
                    self.interval(stall.end_90, end, whole);
                }
            } else if !stall.open {
                self.invented += 1;
            }
        }
        if !seen.is_empty() {
            self.extra += usize::from(used.iter().any(|used| !used));
        }
        let true_min = truth.judgement.stall_min.unwrap_or(0.0);
        if !seen.is_empty() && seen.iter().all(|(_, end)| *end < last_ms) && whole {
            self.length_percent.push(100.0 * (minutes(length) / true_min - 1.0).abs());
            if let Some((lo, hi)) = found.stall_min_90 {
                self.covered_length.push((lo..=hi).contains(&true_min));
            }
        }
        if let (Some(delay), Some(found_min)) =
            (truth.delay.filter(|delay| !delay.censored && whole), found.delay_min)
        {
            self.delay_min.push((found_min - delay.minutes).abs());
            if let Some((lo, hi)) = found.delay_90 {
                self.covered_delay.push((lo..=hi).contains(&delay.minutes));
            }
        }
    }

    fn interval(&mut self, interval: Option<(i64, i64)>, truth: i64, whole: bool) {
        if let Some((lo, hi)) = interval {
            self.covered.push((lo..=hi).contains(&truth));
            if whole {
                self.width_min.push(minutes(hi.saturating_sub(lo)));
            }
        } else {
            self.covered.push(false);
        }
    }

    /// Puts the cooks of another score beside these.
    pub fn merge(&mut self, other: &Self) {
        self.cooks += other.cooks;
        self.with_stall += other.with_stall;
        self.without_stall += other.without_stall;
        self.start_min.extend(&other.start_min);
        self.end_min.extend(&other.end_min);
        self.length_percent.extend(&other.length_percent);
        self.false_stalls += other.false_stalls;
        self.missed += other.missed;
        self.true_stalls += other.true_stalls;
        self.extra += other.extra;
        self.unknown += other.unknown;
        self.invented += other.invented;
        self.covered.extend(&other.covered);
        self.covered_length.extend(&other.covered_length);
        self.covered_delay.extend(&other.covered_delay);
        self.width_min.extend(&other.width_min);
        self.delay_min.extend(&other.delay_min);
        self.rest_min.extend(&other.rest_min);
        self.pull_not_found += other.pull_not_found;
    }
}

/// Quantile by linear interpolation; not a number for no value.
pub fn quantile(values: &[f64], q: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let rank = last as f64 * q;
    let low = rank.floor() as usize;
    sorted[low] + (rank - low as f64) * (sorted[(low + 1).min(last)] - sorted[low])
}

/// Share of `true`, %; not a number for no value.
pub fn percent(values: &[bool]) -> f64 {
    100.0 * values.iter().filter(|v| **v).count() as f64 / values.len() as f64
}

fn cell(value: f64, digits: usize) -> String {
    if value.is_finite() { format!("{value:.digits$}") } else { "–".into() }
}

/// The head of a table of scores.
pub const HEAD: &str = "| category | cooks | unknown | start, min (p50 / p90) | end, min (p50 / p90) | length, % (p50) | false | missed | extra | invented ends | coverage, % | width, min (p50) | length covered, % | delay, min (p50 / p90) | delay covered, % | rest start, min (p50 / p90) | pull not found |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n";

/// One line of the table.
pub fn line(name: &str, score: &Score) -> String {
    let pair = |values: &[f64]| {
        format!("{} / {}", cell(quantile(values, 0.5), 1), cell(quantile(values, 0.9), 1))
    };
    format!(
        "| {name} | {} | {} | {} | {} | {} | {} of {} | {} of {} | {} of {} | {} | {} | {} | {} | {} | {} | {} | {} |\n",
        score.cooks,
        score.unknown,
        pair(&score.start_min),
        pair(&score.end_min),
        cell(quantile(&score.length_percent, 0.5), 1),
        score.false_stalls,
        score.without_stall,
        score.missed,
        score.true_stalls,
        score.extra,
        score.with_stall,
        score.invented,
        cell(percent(&score.covered), 0),
        cell(quantile(&score.width_min, 0.5), 1),
        cell(percent(&score.covered_length), 0),
        pair(&score.delay_min),
        cell(percent(&score.covered_delay), 0),
        pair(&score.rest_min),
        score.pull_not_found,
    )
}

/// Whether a category belongs to a sum.
type Belongs = fn(Category) -> bool;

/// The table of scores by category, the noisy ones, those of either generator, and all of them.
pub fn table(scores: &[(Category, Score)]) -> String {
    let mut text = HEAD.to_owned();
    for (category, score) in scores {
        text += &line(category.name(), score);
    }
    let sums: [(&str, Belongs); 4] = [
        ("noisy ones together", Category::is_noisy),
        ("simulated ones together", Category::is_simulated),
        ("profiles together", Category::is_profile),
        ("all together", |_| true),
    ];
    for (name, belongs) in sums {
        text += &line(&format!("**{name}**"), &sum(scores, belongs));
    }
    text
}

/// The cooks of some categories together.
pub fn sum(scores: &[(Category, Score)], belongs: impl Fn(Category) -> bool) -> Score {
    let mut sum = Score::default();
    for (_, score) in scores.iter().filter(|(category, _)| belongs(*category)) {
        sum.merge(score);
    }
    sum
}
