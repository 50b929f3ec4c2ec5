//! What a team gives away of its claims: effects with their covariance, and counts; nothing of any cook.

use super::{Depth, Evidence, judged, standing};
use crate::claims::Claims;
use crate::error::StudyError;
use crate::lock::Lock;
use crate::result::effects::{ClaimEffect, EFFECTS_SCHEMA, Effects, GivenEffect};
use crate::result::finite;
use crate::table::MeasureTable;
use std::collections::BTreeMap;

/// By how much leaving out each fire moves an effect, by fire.
pub(super) type Pulls = BTreeMap<usize, f64>;

/// The effects of claims; `lock` must know them ([`Lock::update`]).
///
/// # Errors
/// As [`super::judge`].
pub fn effects(
    table: &MeasureTable,
    claims: &Claims,
    lock: &Lock,
    evidence: Evidence<'_>,
    (team, version): (&str, &str),
) -> Result<Effects, StudyError> {
    let mut found = Vec::new();
    let mut moved = Vec::new();
    for claim in &claims.claims {
        let standing = standing::of(table, claim, lock, evidence.definition)?;
        let (result, pulls) = judged(table, claim, &standing, Depth::Fires, evidence)?;
        let effect = result.effect.as_ref().and_then(|effect| {
            let (std_error, df) = (effect.std_error?, effect.df?);
            (std_error > 0.0).then_some(GivenEffect { estimate: effect.estimate, std_error, df })
        });
        moved.push(pulls.filter(|_| effect.is_some()));
        found.push(ClaimEffect {
            asked: claim.clone(),
            hash: claim.hash(),
            rules: claim.kind.rules(),
            standing: result.standing,
            effect,
            n: result.n,
            fires: result.fires,
            left_out: result.left_out.iter().map(|left| left.cooks).sum(),
            cut_share: result.cut_share,
            horizon_min: result.horizon_min,
        });
    }
    Ok(Effects {
        schema: EFFECTS_SCHEMA.to_owned(),
        version: version.to_owned(),
        team: team.to_owned(),
        definition: evidence.definition.map(str::to_owned),
        horizon_min: evidence.horizon_min,
        covariance: covariance(&found, &moved),
        claims: found,
    })
}

/// The correlations of the jackknife over fires times the standard errors: two claims that rest on the same fires
/// are off together.
fn covariance(claims: &[ClaimEffect], moved: &[Option<Pulls>]) -> Vec<Vec<Option<f64>>> {
    let product = |a: &Pulls, b: &Pulls| -> f64 {
        a.iter().filter_map(|(fire, pull)| Some(pull * b.get(fire)?)).sum()
    };
    let error = |place: usize| claims[place].effect.map(|effect| effect.std_error);
    let entry = |a: usize, b: usize| {
        let (error_a, error_b) = (error(a)?, error(b)?);
        if a == b {
            return finite(error_a * error_b);
        }
        let (own, other) = (moved[a].as_ref()?, moved[b].as_ref()?);
        let size = (product(own, own) * product(other, other)).sqrt();
        let correlation = if size > 0.0 { product(own, other) / size } else { return None };
        finite(correlation.clamp(-1.0, 1.0) * error_a * error_b)
    };
    (0..claims.len()).map(|a| (0..claims.len()).map(|b| entry(a, b)).collect()).collect()
}
