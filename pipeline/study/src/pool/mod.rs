//! Effects of several teams, from the files that each of them gives away: read, held against each other, combined.
//!
//! Only what was asked alike is combined: the same words of a claim, the same phase definition, the same rules and
//! the same horizon. Each claim is combined by itself; that the claims of one team lean on the same fires, which its
//! covariances tell, moves no mean of one claim.

mod alike;
mod read;

pub use read::read_effects;

use crate::analysis::teams::combine;
use crate::claims::Claim;
use crate::error::StudyError;
use crate::result::InputHash;
use crate::result::effects::{ClaimEffect, Effects};
use crate::result::pool::{POOL_SCHEMA, Pool, PooledClaim};
use crate::result::teams::{TeamEffect, TeamLeftOut};
use crate::verdict::{Standing, interval_level};
use std::path::PathBuf;

/// Below so many degrees of freedom a standard error is itself hardly known (see `inference`).
const WEAK_DF: f64 = 5.0;

/// A file of effects.
#[derive(Debug, Clone)]
pub struct Given {
    /// Its name, for messages.
    pub path: PathBuf,
    /// What it holds.
    pub effects: Effects,
}

/// Combines the claims of several teams. `inputs` are the files by their hashes.
///
/// # Errors
/// Fewer than two files; a team that comes twice, under its own or another name; claims of one name that are not
/// asked alike; definitions, rules or horizons that differ; no claim that two teams share. Each names the file, what
/// differs, and what to do.
pub fn pool(
    mut given: Vec<Given>,
    version: &str,
    mut inputs: Vec<InputHash>,
) -> Result<Pool, StudyError> {
    // Nothing hangs on the order in which files are named.
    given.sort_by(|a, b| a.effects.team.cmp(&b.effects.team));
    inputs.sort_by(|a, b| a.path.cmp(&b.path));
    alike::check(&given)?;
    let asked = asked(&given);
    let level = interval_level(asked.len(), 1.0);
    let claims = asked
        .into_iter()
        .map(|claim| pooled(claim, &given, level))
        .collect::<Result<Vec<_>, _>>()?;
    let mut notes = Vec::new();
    let other = given.iter().find(|other| other.effects.version != given[0].effects.version);
    if let Some(other) = other {
        notes.push(format!(
            "the files were written by different versions of the program ({} and {}), by the same rules",
            given[0].effects.version, other.effects.version
        ));
    }
    if given[0].effects.definition.is_none() {
        notes.push(
            "the files come from tables of measures, which do not say by which phase definition they were made".into(),
        );
    }
    notes.extend(weak(&given));
    Ok(Pool {
        schema: POOL_SCHEMA.to_owned(),
        version: version.to_owned(),
        inputs,
        definition: given[0].effects.definition.clone(),
        teams: given.iter().map(|own| own.effects.team.clone()).collect(),
        claims,
        notes,
    })
}

/// The claims, each once, in the order in which the files have them.
fn asked(given: &[Given]) -> Vec<Claim> {
    let mut asked: Vec<Claim> = Vec::new();
    for own in given.iter().flat_map(|own| &own.effects.claims) {
        if !asked.iter().any(|claim| claim.id == own.asked.id) {
            asked.push(own.asked.clone());
        }
    }
    asked
}

fn pooled(claim: Claim, given: &[Given], level: f64) -> Result<PooledClaim, StudyError> {
    let (mut effects, mut left_out) = (Vec::new(), Vec::new());
    let mut standing = Standing::Confirmed;
    for Given { effects: file, .. } in given {
        let team = file.team.clone();
        let own = file.claims.iter().find(|own| own.asked.id == claim.id);
        match own {
            Some(ClaimEffect { effect: Some(effect), n, fires, standing: own, .. }) => {
                if *own != Standing::Confirmed {
                    standing = Standing::AfterTheFact;
                }
                effects.push(TeamEffect {
                    team,
                    estimate: effect.estimate,
                    std_error: effect.std_error,
                    df: Some(effect.df),
                    lo: None,
                    hi: None,
                    n: *n,
                    fires: *fires,
                    weight: None,
                });
            }
            Some(own) => left_out.push(TeamLeftOut {
                team,
                reason: format!("not answered from its {} cooks on {} fires", own.n, own.fires),
            }),
            None => left_out.push(TeamLeftOut { team, reason: "it did not claim it".into() }),
        }
    }
    if effects.is_empty() {
        standing = Standing::AfterTheFact;
    }
    Ok(PooledClaim {
        standing,
        n: effects.iter().map(|team| team.n).sum(),
        fires: effects.iter().map(|team| team.fires).sum(),
        teams: combine(&claim, effects, left_out, level)?,
        asked: claim,
    })
}

/// Teams whose standard errors are hardly known.
fn weak(given: &[Given]) -> Option<String> {
    let is_weak = |own: &ClaimEffect| own.effect.is_some_and(|effect| effect.df < WEAK_DF);
    let teams: Vec<String> = given
        .iter()
        .filter(|own| own.effects.claims.iter().any(is_weak))
        .map(|own| format!("`{}`", own.effects.team))
        .collect();
    (!teams.is_empty()).then(|| {
        format!(
            "standard errors of {} rest on so few fires (fewer than {WEAK_DF} degrees of freedom) that they are hardly \
             known, while they are combined as if they were",
            teams.join(", ")
        )
    })
}

#[cfg(test)]
mod tests;
