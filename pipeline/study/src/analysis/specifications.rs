//! How much an answer depends on choices that others might have made otherwise.
//!
//! The claim is asked under every combination of the choices that stand in it or behind it: the
//! constants of the stall definition, the outcome (stall delay and stall length for each other),
//! what is adjusted for, and whether outlying outcomes are kept. Simonsohn, Simmons & Nelson
//! (2020), "Specification curve analysis", Nature Human Behaviour 4, 1208–1214. It describes; the
//! verdict rests on the claim as it was written.

use super::standing::ClaimStanding;
use super::{Depth, Evidence, judged_as};
use crate::claims::Claim;
use crate::error::StudyError;
use crate::history::History;
use crate::result::ClaimResult;
use crate::result::specification::{Specification, SpecificationCurve};
use crate::table::MeasureTable;
use columns::measures;
use std::collections::BTreeSet;

/// The definition that the claim is asked under as it stands.
pub(super) const AS_DEFINED: &str = "as defined";

/// Outcomes that the constants of the stall definition move, each standing for the other.
const STALL_OUTCOMES: [&str; 2] = [measures::STALL_DELAY_MIN.name, measures::STALL_MIN.name];

/// What a cautious reader would adjust a stall or a time for.
const USUAL_ADJUSTERS: [&str; 2] = [measures::TRIMMED_WEIGHT_KG.name, measures::PIT_EARLY_C.name];

/// An outcome is outlying beyond this many robust standard deviations from the median: the rule
/// of Hampel (1974), Journal of the American Statistical Association 69, 383–393.
const OUTLYING: f64 = 3.0;

/// The median absolute deviation of a normal variable by its standard deviation, inverted.
const MAD_TO_SD: f64 = 1.4826;

/// The cooks under another stall definition.
#[derive(Debug, Clone)]
pub struct Definition {
    /// Which constant was moved, and to what.
    pub name: String,
    /// Their measures.
    pub measures: MeasureTable,
    /// Their history on the study clock, which claims about wrap timing need.
    pub history: Option<History>,
}

/// Asks the claim under every specification; `None` where there is no choice to make.
pub(super) fn curve(
    table: &MeasureTable,
    evidence: Evidence<'_>,
    claim: &Claim,
    standing: &ClaimStanding,
    own: &ClaimResult,
) -> Result<Option<SpecificationCurve>, StudyError> {
    let Some(own_effect) = &own.effect else { return Ok(None) };
    let as_defined = (AS_DEFINED, table);
    let plain = Evidence { history: None, definitions: &[], ..evidence };
    let moved = evidence
        .definitions
        .iter()
        .filter(|moved| moved.measures.cooks() == table.cooks())
        .map(|moved| (moved.name.as_str(), &moved.measures));
    let mut curve = SpecificationCurve::default();
    for outcome in outcomes(table, claim) {
        let is_moved = STALL_OUTCOMES.contains(&outcome);
        for (definition, table) in std::iter::once(as_defined).chain(moved.clone()) {
            if definition != AS_DEFINED && !(is_moved && table.has(outcome)) {
                continue;
            }
            let kept = within_reach(table, outcome, standing)?;
            for adjust in adjusters(table, claim, outcome) {
                for without_outliers in [false, true] {
                    // Nothing outlies: the same cooks again.
                    let Some(standing) =
                        (if without_outliers { kept.as_ref() } else { Some(standing) })
                    else {
                        continue;
                    };
                    let asked = Claim {
                        outcome: outcome.to_owned(),
                        adjust: adjust.clone(),
                        ..claim.clone()
                    };
                    let found = judged_as(table, &asked, standing, Depth::Verdict, plain)?;
                    let Some(effect) = found.effect else {
                        curve.not_fitted += 1;
                        continue;
                    };
                    curve.same_verdict += usize::from(found.verdict == own.verdict);
                    curve.same_side +=
                        usize::from(effect.estimate.signum() == own_effect.estimate.signum());
                    curve.specifications.push(Specification {
                        definition: definition.to_owned(),
                        outcome: outcome.to_owned(),
                        as_written: definition == AS_DEFINED
                            && outcome == claim.outcome
                            && adjust == claim.adjust
                            && !without_outliers,
                        adjust: adjust.clone(),
                        without_outliers,
                        wrap_timing: None,
                        effect,
                        n: found.n,
                        verdict: found.verdict,
                    });
                }
            }
        }
    }
    // The sort is stable, so that equal estimates stay in the order of the choices.
    curve.specifications.sort_by(|a, b| a.effect.estimate.total_cmp(&b.effect.estimate));
    Ok((curve.specifications.len() > 1).then_some(curve))
}

fn outcomes<'a>(table: &MeasureTable, claim: &'a Claim) -> Vec<&'a str> {
    let own = claim.outcome.as_str();
    let taken = |name: &str| {
        claim.by.as_deref() == Some(name) || claim.adjust.iter().any(|adjuster| adjuster == name)
    };
    let mut outcomes = vec![own];
    if STALL_OUTCOMES.contains(&own) {
        outcomes.extend(
            STALL_OUTCOMES
                .into_iter()
                .filter(|name| *name != own && table.has(name) && !taken(name)),
        );
    }
    outcomes
}

/// As written, for nothing, without each single one, and for weight and pit.
pub(super) fn adjusters(table: &MeasureTable, claim: &Claim, outcome: &str) -> Vec<Vec<String>> {
    let mut sets: Vec<Vec<String>> = vec![claim.adjust.clone(), Vec::new()];
    if claim.adjust.len() > 1 {
        sets.extend((0..claim.adjust.len()).map(|left_out| {
            let kept = claim.adjust.iter().enumerate().filter(|(place, _)| *place != left_out);
            kept.map(|(_, name)| name.clone()).collect()
        }));
    }
    sets.push(
        USUAL_ADJUSTERS
            .into_iter()
            .filter(|name| table.has(name) && *name != outcome)
            .filter(|name| claim.by.as_deref() != Some(name))
            .map(str::to_owned)
            .collect(),
    );
    let mut seen = BTreeSet::new();
    sets.retain(|set| {
        let mut sorted = set.clone();
        sorted.sort();
        seen.insert(sorted)
    });
    sets
}

/// The standing with outlying cooks taken out; `None` where none is.
pub(super) fn within_reach(
    table: &MeasureTable,
    outcome: &str,
    standing: &ClaimStanding,
) -> Result<Option<ClaimStanding>, StudyError> {
    let values = table.numbers(outcome)?;
    let judged: Vec<(usize, f64)> = values
        .iter()
        .enumerate()
        .filter(|(row, _)| standing.judged.as_ref().is_none_or(|judged| judged.contains(row)))
        .filter_map(|(row, value)| Some((row, (*value)?)))
        .collect();
    let plain: Vec<f64> = judged.iter().map(|(_, value)| *value).collect();
    if plain.is_empty() {
        return Ok(None);
    }
    let median = stats::describe::median(&plain)?;
    let reach = OUTLYING * MAD_TO_SD * stats::describe::median_absolute_deviation(&plain)?;
    let kept: BTreeSet<usize> = judged
        .iter()
        .filter(|(_, value)| (value - median).abs() <= reach)
        .map(|(row, _)| *row)
        .collect();
    // A deviation of zero says that most values are equal, not that the others are outlying.
    if reach == 0.0 || kept.len() == judged.len() {
        return Ok(None);
    }
    Ok(Some(ClaimStanding { judged: Some(kept), ..standing.clone() }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::judge;
    use crate::{Claims, Lock};
    use columns::{Table, table};
    use std::path::Path;

    fn frame(lift: f64) -> Table {
        let n = 24_usize;
        let sign = |i: usize| if i.count_ones().is_multiple_of(2) { 1.0 } else { -1.0 };
        table!(
            "cook" => (0..n).map(|i| format!("c{i:02}")).collect::<Vec<_>>(),
            "pit_early_c" => (0..n).map(|i| 105.0 + ((i * 5) % 9) as f64).collect::<Vec<_>>(),
            "trimmed_weight_kg" => (0..n).map(|i| 4.0 + ((i * 7) % 5) as f64).collect::<Vec<_>>(),
            "stall_min" => (0..n)
                .map(|i| lift + 200.0 - 3.0 * ((i * 5) % 9) as f64 + 4.0 * sign(i))
                .collect::<Vec<_>>(),
            "stall_delay_min" => (0..n)
                .map(|i| 150.0 - 2.0 * ((i * 5) % 9) as f64 + 4.0 * sign(i)
                    + if i == 3 { 400.0 } else { 0.0 })
                .collect::<Vec<_>>(),
        )
    }

    fn claim() -> Claim {
        let text = "[[claim]]\nid = \"a\"\nsays = \"a\"\nkind = \"trend\"\n\
             outcome = \"stall_delay_min\"\nbetter = \"lower\"\nby = \"pit_early_c\"\nper = 5\n\
             adjust = [\"trimmed_weight_kg\"]\nmatters = 3\n";
        Claims::parse(text, Path::new("claims.toml")).unwrap().claims.remove(0)
    }

    #[test]
    fn every_combination_of_choices_is_asked() {
        let table = MeasureTable::new(&frame(0.0)).unwrap();
        let definition = |name: &str, frame: Table| Definition {
            name: name.into(),
            measures: MeasureTable::new(&frame).unwrap(),
            history: None,
        };
        let moved = [definition("stall_fraction 0.45", frame(10.0))];
        let found = judge(
            &table,
            &claim(),
            &Lock::default(),
            Evidence { definitions: &moved, ..Evidence::default() },
        )
        .unwrap();
        let curve = found.specifications.unwrap();
        // Two definitions; stall delay with its outlier and without, stall length without one;
        // adjusted for the weight and for nothing (weight is also all that is usual here).
        assert_eq!(curve.specifications.len(), 2 * (2 + 1) * 2);
        let written: Vec<_> = curve.specifications.iter().filter(|s| s.as_written).collect();
        assert_eq!(written.len(), 1);
        assert_eq!(Some(&written[0].effect), found.effect.as_ref());
        assert!(curve.specifications.is_sorted_by_key(|s| s.effect.estimate));
        // The outlying cook hides −2 min per °C; without it, it is there.
        let robust = curve
            .specifications
            .iter()
            .find(|s| s.outcome == "stall_delay_min" && s.without_outliers && s.adjust.is_empty())
            .unwrap();
        assert_eq!(robust.n, 23);
        assert!((robust.effect.estimate + 10.0).abs() < 2.0, "{robust:?}");
        // A table in another order of cooks, or of other cooks, is no specification.
        let others = [definition("x", frame(0.0).head(20))];
        let evidence = Evidence { definitions: &others, ..Evidence::default() };
        let found = judge(&table, &claim(), &Lock::default(), evidence).unwrap();
        assert_eq!(found.specifications.unwrap().specifications.len(), (2 + 1) * 2);
    }
}
