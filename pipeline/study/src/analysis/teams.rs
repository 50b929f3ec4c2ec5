//! One claim in several teams.
//!
//! Each team's cooks are asked by themselves, with the estimator of the claim: every team has its own intercept,
//! its own slopes of what is adjusted for, and its own effect. The effects are then taken to scatter around a mean
//! ([`stats::meta::RandomEffects`]): restricted maximum likelihood for the variance between teams, Hartung and
//! Knapp's interval for the mean, Higgins, Thompson and Spiegelhalter's for a team that is not among them. The
//! standard errors are taken as known, which those of a team of few fires are not.

use super::standing::ClaimStanding;
use super::{Depth, Evidence, effect, judged_as};
use crate::claims::Claim;
use crate::error::StudyError;
use crate::inference;
use crate::result::teams::{NewTeam, TeamEffect, TeamLeftOut, Teams, WithoutTeam};
use crate::result::{ClaimResult, Effect, finite};
use crate::table::MeasureTable;
use crate::verdict::{Direction, Verdict};
use columns::names;
use stats::Estimate;
use stats::meta::RandomEffects;
use std::collections::{BTreeMap, BTreeSet};

/// The column that says whose a cook is, where seasons were merged.
pub(crate) const TEAM: &str = "team";

/// Below this many teams nothing is left to combine once one is left out.
const FEWEST_TO_LEAVE_ONE_OUT: usize = 3;

/// The claim in each team of a merged season; `None` where there is one team, where the claim compares teams, or
/// where no team carries an effect.
pub(super) fn of_season(
    table: &MeasureTable,
    claim: &Claim,
    standing: &ClaimStanding,
    evidence: Evidence<'_>,
    own: &ClaimResult,
) -> Result<Option<Teams>, StudyError> {
    if claim.by.as_deref() == Some(TEAM) {
        return Ok(None);
    }
    let whose = table.texts_or_missing(TEAM)?;
    let mut teams: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    for (position, team) in whose.iter().enumerate() {
        let is_judged = standing.judged.as_ref().is_none_or(|judged| judged.contains(&position));
        if let Some(team) = team.as_deref().filter(|_| is_judged) {
            teams.entry(team).or_default().insert(position);
        }
    }
    if teams.len() < 2 {
        return Ok(None);
    }
    let (mut effects, mut left_out) = (Vec::new(), Vec::new());
    for (team, cooks) in teams {
        let standing = ClaimStanding { judged: Some(cooks), ..standing.clone() };
        let found = judged_as(table, claim, &standing, Depth::Verdict, evidence)?;
        let estimated = found.effect.as_ref().and_then(|effect| {
            Some((effect.estimate, effect.std_error?, effect.df))
                .filter(|(_, error, _)| *error > 0.0)
        });
        let team = team.to_owned();
        match estimated {
            Some((estimate, std_error, df)) => effects.push(TeamEffect {
                team,
                estimate,
                std_error,
                df,
                lo: None,
                hi: None,
                n: found.n,
                fires: found.fires,
                weight: None,
            }),
            None => left_out.push(TeamLeftOut {
                team,
                reason: found.reason.unwrap_or_else(|| "its effect has no standard error".into()),
            }),
        }
    }
    if effects.is_empty() {
        return Ok(None);
    }
    combine(claim, effects, left_out, own.level()).map(Some)
}

/// What the effects of teams say together, at a level; each team's own interval is worked out here.
///
/// # Errors
/// Effects or standard errors that are no numbers.
pub(crate) fn combine(
    claim: &Claim,
    mut effects: Vec<TeamEffect>,
    left_out: Vec<TeamLeftOut>,
    level: f64,
) -> Result<Teams, StudyError> {
    effects.sort_by(|a, b| a.team.cmp(&b.team));
    for team in &mut effects {
        let (estimate, std_error) = (team.estimate, team.std_error);
        let own = Estimate { estimate, std_error, df: team.df.unwrap_or(f64::INFINITY) };
        let interval = inference::by_t(own, level)?.interval;
        (team.lo, team.hi) = (finite(interval.lo), finite(interval.hi));
    }
    let mut teams = Teams {
        mean: None,
        verdict: Verdict::Refused,
        direction: Direction::Unclear,
        spread: None,
        new_team: None,
        without: Vec::new(),
        effects,
        left_out,
        method: method(level),
    };
    if teams.effects.len() < 2 {
        return Ok(teams);
    }
    let found = fit(&teams.effects)?;
    let (mean, verdict, direction) = judged(claim, &found, level)?;
    (teams.mean, teams.verdict, teams.direction) = (Some(mean), verdict, direction);
    teams.spread = finite(found.tau());
    teams.new_team = found.new_study(level)?.map(|new| NewTeam { lo: new.lo, hi: new.hi });
    for (team, weight) in teams.effects.iter_mut().zip(&found.weights) {
        team.weight = finite(*weight);
    }
    if teams.effects.len() >= FEWEST_TO_LEAVE_ONE_OUT {
        for left in 0..teams.effects.len() {
            let mut others = teams.effects.clone();
            let team = others.remove(left).team;
            let (mean, verdict, _) = judged(claim, &fit(&others)?, level)?;
            let Effect { estimate, lo, hi, .. } = mean;
            teams.without.push(WithoutTeam { team, estimate, lo, hi, verdict });
        }
    }
    Ok(teams)
}

fn fit(effects: &[TeamEffect]) -> Result<RandomEffects, StudyError> {
    let estimates: Vec<f64> = effects.iter().map(|team| team.estimate).collect();
    let errors: Vec<f64> = effects.iter().map(|team| team.std_error).collect();
    Ok(RandomEffects::fit(&estimates, &errors)?)
}

fn judged(
    claim: &Claim,
    found: &RandomEffects,
    level: f64,
) -> Result<(Effect, Verdict, Direction), StudyError> {
    let mean = found.mean;
    let interval = mean.interval(level)?;
    let (lo, hi) = effect::in_favour(claim, interval);
    let verdict = effect::verdict(claim, mean.estimate, interval).unwrap_or(Verdict::Refused);
    let effect = Effect {
        estimate: mean.estimate + 0.0,
        lo: finite(interval.lo),
        hi: finite(interval.hi),
        level,
        unit: names::unit(&claim.outcome).to_owned(),
        std_error: finite(mean.std_error),
        df: finite(mean.df),
        d: claim.sign() * mean.estimate + 0.0,
    };
    Ok((effect, verdict, Direction::of(lo, hi)))
}

fn method(level: f64) -> String {
    format!(
        "each team by itself (its own intercept and slopes), their effects as scattered around a mean: restricted maximum \
         likelihood for the variance between teams, Hartung and Knapp's interval with t of one less than the teams, never \
         narrower than without that variance; a new team by t of two less (Higgins, Thompson and Spiegelhalter 2009); {:.1} %",
        100.0 * level
    )
}

#[cfg(test)]
mod tests;
