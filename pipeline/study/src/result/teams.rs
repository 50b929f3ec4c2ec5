//! One claim in several teams: the mean of their effects, how much teams differ, what a new team may expect.

use super::Effect;
use super::rows::{Rows, word};
use crate::verdict::{Direction, Verdict};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One claim in several teams.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Teams {
    /// The mean of the teams' true effects; null where fewer than two teams carry one.
    pub mean: Option<Effect>,
    /// The verdict of that mean; `refused` without one.
    pub verdict: Verdict,
    /// Where its interval lies against zero.
    pub direction: Direction,
    /// Standard deviation of the true effects between teams, in the effect's unit; null without a mean.
    pub spread: Option<f64>,
    /// Where the true effect of a team lies that is not among them, at the level of the mean; null below three
    /// teams, which say nothing of a further one.
    pub new_team: Option<NewTeam>,
    /// The mean without each team in turn; empty below three teams.
    pub without: Vec<WithoutTeam>,
    /// The teams whose effects are in it, by name.
    pub effects: Vec<TeamEffect>,
    /// Teams that carry no effect, by name.
    pub left_out: Vec<TeamLeftOut>,
    /// How it was combined, in words.
    pub method: String,
}

/// Where the true effect of a further team lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NewTeam {
    /// Lower end, raw sign.
    pub lo: f64,
    /// Upper end, raw sign.
    pub hi: f64,
}

/// The mean without one team.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithoutTeam {
    /// The team that is left out.
    pub team: String,
    /// The mean of the others, raw sign.
    pub estimate: f64,
    /// Lower end of its interval, of the level of the mean; null is open.
    pub lo: Option<f64>,
    /// Upper end; null is open.
    pub hi: Option<f64>,
    /// The verdict without it.
    pub verdict: Verdict,
}

/// One team's effect.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TeamEffect {
    /// The team.
    pub team: String,
    /// The effect among its cooks, raw sign.
    pub estimate: f64,
    /// Its standard error.
    pub std_error: f64,
    /// Degrees of freedom of that error.
    pub df: Option<f64>,
    /// Lower end of its own interval by Student's t, at the level of the mean.
    pub lo: Option<f64>,
    /// Upper end.
    pub hi: Option<f64>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Its share in the mean, 0 to 1; null without a mean.
    pub weight: Option<f64>,
}

/// A team without an effect.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TeamLeftOut {
    /// The team.
    pub team: String,
    /// Why.
    pub reason: String,
}

impl Teams {
    /// A row a team of each claim, the mean and a new team among them.
    pub(super) fn rows<'a>(claims: impl Iterator<Item = (&'a str, &'a Self)>) -> Table {
        let rows: Vec<Row<'a>> = claims.flat_map(|(claim, teams)| teams.told(claim)).collect();
        Rows::of(&rows)
            .text("claim", |row| Some(row.claim.to_owned()))
            .text("row", |row| Some(row.kind.to_owned()))
            .text("team", |row| row.team.map(str::to_owned))
            .float("estimate", |row| row.estimate)
            .float("std_error", |row| row.std_error)
            .float("lo", |row| row.lo)
            .float("hi", |row| row.hi)
            .float("weight", |row| row.weight)
            .count("cooks", |row| row.cooks)
            .count("fires", |row| row.fires)
            .text("verdict", |row| row.verdict.as_ref().and_then(word))
            .text("reason", |row| row.reason.map(str::to_owned))
            .table()
    }

    fn told<'a>(&'a self, claim: &'a str) -> Vec<Row<'a>> {
        let blank = Row { claim, ..Row::default() };
        let teams = self.effects.iter().map(|team| Row {
            kind: "team",
            team: Some(&team.team),
            estimate: Some(team.estimate),
            std_error: Some(team.std_error),
            lo: team.lo,
            hi: team.hi,
            weight: team.weight,
            cooks: Some(team.n),
            fires: Some(team.fires),
            ..blank.clone()
        });
        let left_out = self.left_out.iter().map(|team| Row {
            kind: "left out",
            team: Some(&team.team),
            reason: Some(&team.reason),
            ..blank.clone()
        });
        let mean = self.mean.iter().map(|mean| Row {
            kind: "mean",
            estimate: Some(mean.estimate),
            std_error: mean.std_error,
            lo: mean.lo,
            hi: mean.hi,
            verdict: Some(self.verdict),
            ..blank.clone()
        });
        let new = self.new_team.iter().map(|new| Row {
            kind: "a new team",
            lo: Some(new.lo),
            hi: Some(new.hi),
            ..blank.clone()
        });
        let without = self.without.iter().map(|own| Row {
            kind: "mean without",
            team: Some(&own.team),
            estimate: Some(own.estimate),
            lo: own.lo,
            hi: own.hi,
            verdict: Some(own.verdict),
            ..blank.clone()
        });
        teams.chain(left_out).chain(mean).chain(new).chain(without).collect()
    }
}

/// A row of the table.
#[derive(Debug, Clone, Default)]
struct Row<'a> {
    claim: &'a str,
    kind: &'static str,
    team: Option<&'a str>,
    estimate: Option<f64>,
    std_error: Option<f64>,
    lo: Option<f64>,
    hi: Option<f64>,
    weight: Option<f64>,
    cooks: Option<usize>,
    fires: Option<usize>,
    verdict: Option<Verdict>,
    reason: Option<&'a str>,
}
