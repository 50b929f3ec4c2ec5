//! What the study found, as the report shows it: claims, lines, strips, effects, groups.

use super::questioned;
use super::row::Row;
use super::wrap_timing::wrap_timing;
use columns::{Description, Kind, Shown, measures};
use report::data::{
    ClaimReport, Counted, Direction, Effect, EffectRow, FittedLine, GroupColumn, GroupRow,
    GroupTable, GroupValue, LinePoint, Scatter, ScatterPoint, Standing, Strip, StripGroup,
    StripPoint, SummaryRow, Verdict,
};
use report::names::{covariate, name_of, name_within, quantity_of};
use std::collections::BTreeMap;
use store::Table;
use study::claims::{Claim, Strategy};
use study::result::driver::{CookSet, Driver, DriverEffect, DriverLine};
use study::result::{ClaimResult, LeftOut, StudyResult};

/// Fewest values for a median to be told.
const FEWEST_FOR_A_MEDIAN: usize = 3;

pub(super) fn claims(study: &StudyResult) -> Vec<ClaimReport> {
    study.claims.iter().map(claim).collect()
}

fn claim(result: &ClaimResult) -> ClaimReport {
    let asked = &result.asked;
    let mut notes = result.notes.clone();
    if !result.left_out.is_empty() {
        let left_out: Vec<String> = result
            .left_out
            .iter()
            .map(|left| format!("{} ({})", left.cooks, left.reason))
            .collect();
        notes.push(format!("Cooks left out: {}.", left_out.join(", ")));
    }
    ClaimReport {
        id: result.id.clone(),
        says: result.says.clone(),
        kind: asked.kind.as_str().into(),
        outcome_name: name_within(&asked.outcome),
        contrast: contrast(asked),
        adjusted_for: asked.adjust.iter().map(|column| name_within(column)).collect(),
        verdict: verdict_of(result.verdict),
        standing: match result.standing {
            study::Standing::Confirmed => Standing::Confirmed,
            study::Standing::AfterTheFact => Standing::AfterTheFact {
                confirming: result.confirming_cooks,
                needed: result.judge_after_cooks,
            },
        },
        direction: match result.direction {
            study::Direction::For => Direction::For,
            study::Direction::Against => Direction::Against,
            study::Direction::Unclear => Direction::Unclear,
        },
        reason: result.reason.clone(),
        effect: result
            .effect
            .as_ref()
            .map(|e| claim_effect(result, (e.estimate, e.lo, e.hi), e.level, result.n)),
        other_ways: questioned::other_ways(result),
        without_one_fire: questioned::without_one_fire(result),
        specification_curve: questioned::specification_curve(result),
        matters: asked.matters,
        positive_favours: asked.sign() > 0.0,
        family_size: result.family_size,
        cooks: result.n,
        fires: result.fires,
        // None are needed once it is decided: nothing to tell.
        cooks_still_needed: result.cooks_still_needed.filter(|cooks| *cooks > 0),
        note: (!notes.is_empty()).then(|| sentences(&notes)),
        wrap_timing: result.wrap_timing.as_ref().map(|found| wrap_timing(found, &result.models)),
    }
}

pub(super) fn verdict_of(verdict: study::Verdict) -> Verdict {
    match verdict {
        study::Verdict::Yes => Verdict::Yes,
        study::Verdict::Reverse => Verdict::Reverse,
        study::Verdict::TooSmallToMatter => Verdict::TooSmallToMatter,
        study::Verdict::No => Verdict::No,
        study::Verdict::Open => Verdict::Open,
        study::Verdict::Refused => Verdict::Refused,
    }
}

/// An effect of a claim with its ends. The study tells a trend per its own step; the report wants
/// it per one unit.
pub(super) fn claim_effect(
    result: &ClaimResult,
    (estimate, lo, hi): (f64, Option<f64>, Option<f64>),
    level: f64,
    cooks: usize,
) -> Effect {
    let asked = &result.asked;
    let step = asked.step();
    Effect {
        estimate: estimate / step,
        lo: lo.map(|x| x / step),
        hi: hi.map(|x| x / step),
        level,
        outcome: quantity_of(&asked.outcome),
        per: asked.per.and(asked.by.as_ref()).map(|column| covariate(column, asked.per)),
        cooks,
        fires: result.fires,
    }
}

/// Remarks as one paragraph of sentences.
fn sentences(remarks: &[String]) -> String {
    let sentence = |remark: &String| {
        let mut letters = remark.trim().trim_end_matches('.').chars();
        letters.next().map_or(String::new(), |first| {
            first.to_uppercase().chain(letters).collect::<String>() + "."
        })
    };
    remarks.iter().map(sentence).collect::<Vec<_>>().join(" ")
}

fn contrast(asked: &Claim) -> Option<(String, String)> {
    match (asked.levels.as_slice(), asked.strategies.as_slice()) {
        ([first, second], _) => {
            let by = asked.by.as_deref().map(name_within).unwrap_or_default();
            // "Yes" alone does not say what.
            let level = |level: &String| match level.as_str() {
                "yes" | "no" if !by.is_empty() => format!("{by} “{level}”"),
                level => level.to_owned(),
            };
            Some((level(first), level(second)))
        }
        (_, [first, second]) => Some((strategy(first), strategy(second))),
        _ => None,
    }
}

fn strategy(strategy: &Strategy) -> String {
    if strategy.never {
        return "never wrapped".into();
    }
    let Some(method) = strategy.method.as_ref() else { return "as this team does".into() };
    match (strategy.at_core_f, strategy.at_core_c) {
        (Some(fahrenheit), _) => format!("{method} at {fahrenheit} °F"),
        (None, Some(celsius)) => format!("{method} at {celsius} °C"),
        (None, None) => method.to_string(),
    }
}

fn counted(left_out: &[LeftOut]) -> Vec<Counted> {
    left_out.iter().map(|left| Counted { label: left.reason.clone(), count: left.cooks }).collect()
}

pub(super) fn set_of(driver: &Driver) -> &'static str {
    match driver.cooks {
        CookSet::All => "",
        CookSet::Stalled => ", stalled cooks",
    }
}

fn method_of(line: Option<&study::result::Model>) -> String {
    match line.map(|model| model.name.as_str()) {
        Some("censored-gaussian") => "censored Gaussian".into(),
        _ => "least squares".into(),
    }
}

pub(super) fn scatters(study: &StudyResult) -> Vec<Scatter> {
    study
        .drivers
        .iter()
        .flat_map(|driver| driver.lines.iter().map(move |line| scatter(driver, line)))
        .collect()
}

fn scatter(driver: &Driver, line: &DriverLine) -> Scatter {
    let set = match driver.cooks {
        CookSet::All => "",
        CookSet::Stalled => "-stalled",
    };
    let id = format!("{}{set}-by-{}", driver.outcome, line.by).replace('_', "-");
    Scatter {
        id,
        x_name: name_of(&line.by),
        x: quantity_of(&line.by),
        y_name: name_of(&driver.outcome) + set_of(driver),
        y: quantity_of(&driver.outcome),
        points: line
            .points
            .iter()
            .map(|p| ScatterPoint { cook: p.cook.clone(), x: p.x, y: p.y, censored: p.censored })
            .collect(),
        line: (!line.line.is_empty()).then(|| FittedLine {
            method: if line.curved {
                format!("{}, restricted cubic spline", method_of(line.model.as_ref()))
            } else {
                method_of(line.model.as_ref())
            },
            level: 0.95,
            points: line
                .line
                .iter()
                .map(|p| LinePoint {
                    x: p.x,
                    y: p.y,
                    lo: p.lo.unwrap_or(p.y),
                    hi: p.hi.unwrap_or(p.y),
                })
                .collect(),
        }),
        effect: line
            .effect
            .as_ref()
            .map(|effect| slope(&driver.outcome, effect, &line.by, line.n, line.fires)),
        left_out: counted(&line.left_out),
        note: line.reason.clone(),
    }
}

/// A slope per one SI unit.
pub(super) fn slope(
    outcome: &str,
    effect: &DriverEffect,
    by: &str,
    cooks: usize,
    fires: usize,
) -> Effect {
    let step = effect.per.unwrap_or(1.0);
    Effect {
        estimate: effect.estimate / step,
        lo: effect.lo.map(|x| x / step),
        hi: effect.hi.map(|x| x / step),
        level: effect.level,
        outcome: quantity_of(outcome),
        per: effect.per.is_some().then(|| covariate(by, None)),
        cooks,
        fires,
    }
}

/// Rows of the effects table: the joint models, and wrap against its base.
pub(super) fn effects(study: &StudyResult) -> Vec<EffectRow> {
    let mut rows = Vec::new();
    for driver in &study.drivers {
        let outcome_name = name_of(&driver.outcome) + set_of(driver);
        let parts = [
            (&driver.joint.effects, &driver.joint.model, driver.joint.n, driver.joint.fires, true),
            (&driver.wrap.effects, &driver.wrap.model, driver.wrap.n, driver.wrap.fires, false),
        ];
        for (effects, model, cooks, fires, joint) in parts {
            for effect in effects {
                let is_wrap = effect.per.is_none();
                rows.push(EffectRow {
                    outcome_name: outcome_name.clone(),
                    term: term_in_words(effect, driver.wrap.base.as_deref()),
                    effect: slope(&driver.outcome, effect, &effect.term, cooks, fires),
                    model: format!(
                        "{}, {}",
                        if joint { "joint" } else { "alone" },
                        method_of(model.as_ref())
                    ),
                    note: is_wrap.then(|| "described, not caused".into()),
                    p_adjusted: None,
                });
            }
        }
    }
    rows
}

pub(super) fn term_in_words(effect: &DriverEffect, base: Option<&str>) -> String {
    match effect.term.split_once('[') {
        Some((column, level)) => {
            let level = level.trim_end_matches(']');
            let against = base.map_or(String::new(), |base| format!(" against {base}"));
            format!("{}: {level}{against}", name_within(column))
        }
        None => name_within(&effect.term),
    }
}

/// Outcome by wrap, one point a cook.
pub(super) fn strips(study: &StudyResult, measures: &Table) -> Vec<Strip> {
    let mut strips = Vec::new();
    for column in [measures::STALL_MIN, measures::STALL_DELAY_MIN] {
        let outcome = column.name;
        let mut by_level: BTreeMap<String, (Vec<StripPoint>, Vec<String>)> = BTreeMap::new();
        let (mut without_wrap, mut without_outcome) = (0, 0);
        for row in Row::all(measures).filter(|row| row.text(measures::EXCLUDE.name).is_none()) {
            let Some(level) = row.text(measures::WRAP_METHOD.name) else {
                without_wrap += 1;
                continue;
            };
            let Some(y) = row.float(outcome) else {
                without_outcome += 1;
                continue;
            };
            let (points, fires) = by_level.entry(level.to_owned()).or_default();
            let flag = column.bound.and_then(|bound| Some(bound.is_bound(row.flag(bound.by)?)));
            let censored = flag.unwrap_or(false);
            points.push(StripPoint {
                cook: row.text(measures::COOK.name).unwrap_or_default().into(),
                y,
                censored,
            });
            fires.push(row.text(measures::FIRE.name).unwrap_or_default().into());
        }
        let groups = by_level
            .into_iter()
            .map(|(label, (points, mut fires))| {
                fires.sort();
                fires.dedup();
                let median = study
                    .groups
                    .iter()
                    .filter(|table| table.by == measures::WRAP_METHOD.name)
                    .flat_map(|table| &table.rows)
                    .filter(|row| row.level.as_deref() == Some(label.as_str()))
                    .flat_map(|row| &row.outcomes)
                    .find(|o| o.outcome == outcome && !o.stalled_only)
                    .filter(|o| o.n >= FEWEST_FOR_A_MEDIAN)
                    .and_then(|o| o.median);
                StripGroup {
                    label,
                    cooks: points.len(),
                    fires: fires.len(),
                    points,
                    median: median.map(|m| m.value),
                    median_at_least: median.is_some_and(|m| m.at_least),
                }
            })
            .collect();
        let left_out = [("wrap not stated", without_wrap), ("not judged", without_outcome)]
            .into_iter()
            .filter(|(_, count)| *count > 0)
            .map(|(label, count)| Counted { label: label.into(), count })
            .collect();
        strips.push(Strip {
            id: format!("{outcome}-by-wrap").replace('_', "-"),
            y_name: name_of(outcome),
            y: quantity_of(outcome),
            by: "wrap".into(),
            groups,
            left_out,
            note: Some(
                "Who wraps late has a long stall behind them already: these groups say what was, not what a wrap does."
                    .into(),
            ),
        });
    }
    strips
}

pub(super) fn groups(study: &StudyResult) -> Vec<GroupTable> {
    study
        .groups
        .iter()
        .map(|table| GroupTable {
            by: name_of(&table.by),
            described_only: true,
            columns: table.rows.first().map_or(Vec::new(), |row| {
                row.outcomes
                    .iter()
                    .map(|o| GroupColumn {
                        measure: name_of(&o.outcome)
                            + if o.stalled_only { ", stalled cooks" } else { "" },
                        quantity: quantity_of(&o.outcome),
                    })
                    .collect()
            }),
            rows: table
                .rows
                .iter()
                .map(|row| GroupRow {
                    level: row.level.clone().unwrap_or_else(|| "not stated".into()),
                    cooks: row.cooks,
                    fires: row.fires,
                    values: row
                        .outcomes
                        .iter()
                        .map(|o| GroupValue {
                            median: o.median.map(|m| m.value),
                            at_least: o.median.is_some_and(|m| m.at_least),
                            cooks: o.n,
                            censored: o.censored,
                        })
                        .collect(),
                })
                .collect(),
        })
        .collect()
}

/// The small table of what was cooked, in the order shown.
const SUMMARY: [Description; 7] = [
    measures::TRIMMED_WEIGHT_KG,
    measures::PIT_MEAN_C,
    measures::TOTAL_MIN,
    measures::STALL_MIN,
    measures::STALL_DELAY_MIN,
    measures::PULL_CORE_C,
    measures::YIELD_FRACTION,
];

/// The small table of what was cooked.
pub(super) fn summary_rows(measures: &Table) -> Vec<SummaryRow> {
    SUMMARY.iter().filter_map(|column| summary_row(measures, column)).collect()
}

/// The spread of the measures that a cook's page shows, by column; a count has none.
pub(super) fn spread(measures: &Table) -> BTreeMap<String, SummaryRow> {
    let shown = measures::ALL.iter().filter(|column| column.is_shown(Shown::CookPage));
    shown
        .filter(|column| column.kind == Kind::Float)
        .filter_map(|column| Some((column.name.to_owned(), summary_row(measures, column)?)))
        .collect()
}

/// Spread of one column; none where no cook has a value.
pub(super) fn summary_row(measures: &Table, column: &Description) -> Option<SummaryRow> {
    let mut values: Vec<(f64, bool)> = Row::all(measures)
        .filter(|row| row.text(measures::EXCLUDE.name).is_none())
        .filter_map(|row| {
            let flag = column.bound.and_then(|bound| Some(bound.is_bound(row.flag(bound.by)?)));
            Some((row.float(column.name)?, flag.unwrap_or(false)))
        })
        .collect();
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let plain: Vec<f64> = values.iter().map(|(value, _)| *value).collect();
    let median = stats::describe::median(&plain).ok()?;
    Some(SummaryRow {
        measure: column.label.to_owned(),
        quantity: quantity_of(column.name),
        cooks: values.len(),
        median: Some(median),
        // A lower bound below the median may truly lie above it.
        median_at_least: values.iter().any(|(value, censored)| *censored && *value <= median),
        min: plain.first().copied(),
        max: plain.last().copied(),
        censored: values.iter().filter(|(_, censored)| *censored).count(),
    })
}
