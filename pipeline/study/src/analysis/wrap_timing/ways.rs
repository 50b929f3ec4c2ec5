//! The difference of two strategies under other choices: point estimates alone, since a bootstrap of
//! each would take as long as the claim's own.

use super::clones::{Treatment, copies};
use super::cooks::{self, FINISH};
use super::decisions::Decisions;
use super::estimate::{FINISHES, FOLDS, TRUNCATE_AT};
use super::in_words;
use crate::analysis::standing::ClaimStanding;
use crate::claims::Claim;
use crate::error::StudyError;
use crate::history::History;
use crate::result::specification::WrapTimingChoices;
use crate::rows::Rows;
use crate::table::MeasureTable;
use cook::WrapMethod;
use stats::clone_censor_weight::{CloneCensorWeight, Weighting};

/// Effective copies that must be at risk in both arms up to the horizon. Fewer than the claim itself
/// needs: these estimates are shown beside it and judge nothing.
const FEWEST_EFFECTIVE: f64 = 2.0;
/// The shorter horizon, as a part of the claim's.
const SHORTER: f64 = 0.75;

/// One estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::analysis) struct Way {
    pub(in crate::analysis) choices: WrapTimingChoices,
    /// Difference of restricted means, first minus second; `None` where the data do not bear it.
    pub(in crate::analysis) difference: Option<f64>,
    /// Cooks.
    pub(in crate::analysis) n: usize,
    /// Whether all is as the claim's own analysis does it.
    pub(in crate::analysis) as_written: bool,
}

/// The estimates of a claim as asked, for both horizons, with weights cut and not, and with tender
/// pulls as finishes or not. `grace_factor` says how its strategies were changed, `horizon_min` is
/// the claim's own.
pub(in crate::analysis) fn ways(
    table: &MeasureTable,
    history: &History,
    claim: &Claim,
    standing: &ClaimStanding,
    (grace_factor, horizon_min): (f64, f64),
) -> Result<Vec<Way>, StudyError> {
    let mut rows = Rows::all(table);
    standing.keep(&mut rows);
    let cooks = cooks::read(table, history, &claim.adjust, rows)?;
    let n = cooks.all.len();
    let fires: Vec<usize> = cooks.all.iter().map(|cook| cook.fire).collect();
    let mut found = Vec::new();
    let cut = engine(claim, &cooks, &fires);
    for truncated_at in [Some(TRUNCATE_AT), None] {
        let engine = cut.clone().and_then(|engine| engine.truncated_at(truncated_at).ok());
        let arms = engine.as_ref().map(CloneCensorWeight::weighted);
        for (part, tender_is_finish) in
            [(1.0, true), (1.0, false), (SHORTER, true), (SHORTER, false)]
        {
            let horizon = part * horizon_min;
            let counts: &[usize] = if tender_is_finish { &FINISHES } else { &[FINISH] };
            let difference = arms.as_ref().and_then(|arms| {
                let is_over = |arm: &stats::clone_censor_weight::WeightedArm<'_>| {
                    let survival = arm.survival(&FINISHES);
                    arm.last_with_effective(FEWEST_EFFECTIVE) >= horizon
                        || survival.iter().any(|(time, left)| *time <= horizon && *left < 1e-9)
                };
                let mean = |place: usize| arms[place].restricted_mean(horizon, counts);
                (arms.len() == 2 && arms.iter().all(is_over)).then(|| mean(0) - mean(1))
            });
            found.push(Way {
                choices: WrapTimingChoices {
                    grace_factor,
                    horizon_min: horizon,
                    truncated_at,
                    tender_is_finish,
                },
                difference: difference.filter(|difference| difference.is_finite()),
                n,
                as_written: part == 1.0 && tender_is_finish && truncated_at == Some(TRUNCATE_AT),
            });
        }
    }
    Ok(found)
}

/// Both strategies, weighted; `None` where this team's habits cannot be modelled so.
fn engine(claim: &Claim, cooks: &cooks::Cooks<'_>, fires: &[usize]) -> Option<CloneCensorWeight> {
    let methods: Vec<WrapMethod> =
        claim.strategies.iter().filter_map(|strategy| strategy.method.clone()).collect();
    let bumped = cooks.all.iter().any(|cook| cook.bump_min.is_some());
    let mut decisions = Decisions::new(&cooks.all, &cooks.adjusters, &methods, bumped).ok()?;
    let treatment = Treatment { weighted: true, setpoint_unchanged: claim.setpoint_unchanged };
    let arms = claim
        .strategies
        .iter()
        .map(|strategy| {
            let name = in_words(strategy);
            Some(copies(&name, &cooks.all, strategy, treatment, &mut decisions).ok()?.arm)
        })
        .collect::<Option<Vec<_>>>()?;
    let weighting = Weighting { truncate_at: Some(TRUNCATE_AT), folds: FOLDS };
    CloneCensorWeight::new(fires, decisions.models, arms, weighting).ok()
}

#[cfg(test)]
mod tests {
    use super::super::tests::{claim, season};
    use super::*;
    use crate::analysis::{Definition, Evidence, judge};
    use crate::claims::Claims;
    use crate::lock::Lock;

    #[test]
    fn a_claim_is_asked_in_every_way_and_its_own_is_among_them() {
        let (measures, history) = season(120);
        let table = MeasureTable::new(&measures).unwrap();
        let claim = claim("{ any = true }, { never = true }");
        let lock = Lock::update(None, &Claims { claims: vec![claim.clone()] }, table.cooks());
        // The same cooks under another name: a constant that moves nothing.
        let definitions = [Definition {
            name: "smoothing_min 40".into(),
            measures: table.clone(),
            history: Some(history.clone()),
        }];
        let evidence = Evidence {
            history: Some(&history),
            definitions: &definitions,
            seed: 1,
            ..Evidence::default()
        };
        let result = judge(&table, &claim, &lock, evidence).unwrap();
        let (found, curve) = (result.wrap_timing.unwrap(), result.specifications.unwrap());
        // Two definitions; weights that know the weight of the meat (all that is usual here) and
        // such that do not; two horizons, weights cut or not, tender pulls as finishes or not.
        assert_eq!(curve.specifications.len() + curve.not_fitted, 2 * 2 * 2 * 2 * 2);
        assert!(curve.own_error && curve.not_fitted < 8, "{}", curve.not_fitted);
        let written: Vec<_> = curve.specifications.iter().filter(|s| s.as_written).collect();
        assert_eq!(written.len(), 1);
        assert_eq!(Some(&written[0].effect), result.effect.as_ref());
        assert!(curve.specifications.iter().all(|s| s.as_written || s.effect.lo.is_none()));
        let of = |definition: &str| -> Vec<f64> {
            let rows = curve.specifications.iter().filter(|s| s.definition == definition);
            rows.map(|s| s.effect.estimate).collect()
        };
        assert_eq!(of("as defined"), of("smoothing_min 40"));
        // Each of them is what the claim's own analysis says of it, where it does.
        let tender = curve.specifications.iter().find(|s| {
            let choices = s.wrap_timing.unwrap();
            s.adjust == claim.adjust
                && choices.horizon_min == found.horizon_min
                && choices.truncated_at == Some(TRUNCATE_AT)
                && !choices.tender_is_finish
        });
        let off = tender.unwrap().effect.estimate - found.tender_censored.estimate;
        assert!(off.abs() < 1e-9, "{off}");
        let uncut = curve.specifications.iter().find(|s| {
            let choices = s.wrap_timing.unwrap();
            choices.truncated_at.is_none() && choices.horizon_min == found.horizon_min
        });
        assert_ne!(uncut.unwrap().effect.estimate, found.weighted.estimate);
    }

    #[test]
    fn another_grace_is_another_strategy() {
        let (measures, history) = season(200);
        let table = MeasureTable::new(&measures).unwrap();
        let standing = ClaimStanding {
            standing: crate::Standing::AfterTheFact,
            judged: None,
            withheld: std::collections::BTreeSet::new(),
            confirming_cooks: 0,
            family_size: 1,
            share: 1.0,
            looks: Vec::new(),
            looks_taken: Vec::new(),
            look_level: None,
            warnings: Vec::new(),
            notes: Vec::new(),
        };
        let estimates = |grace: f64| {
            let text = format!(
                "{{ method = \"paper\", at_core_c = 60, grace_min = {grace} }}, {{ never = true }}"
            );
            let asked = claim(&text);
            let found = ways(&table, &history, &asked, &standing, (1.0, 200.0)).unwrap();
            assert!(found.iter().all(|way| way.difference.is_some()), "{found:?}");
            found.iter().map(|way| way.difference).collect::<Vec<_>>()
        };
        assert_eq!(estimates(60.0), estimates(60.0));
        assert_ne!(estimates(60.0), estimates(120.0));
    }
}
