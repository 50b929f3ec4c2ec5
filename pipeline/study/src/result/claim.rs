//! One claim and what the data say of it.

use super::flow::FlowStep;
use super::g_formula::GFormula;
use super::rows::{Rows, word};
use super::specification::{Specification, SpecificationCurve};
use super::teams::Teams;
use super::wrap_timing::WrapTiming;
use super::{Effect, LeftOut, Model, TakenLook};
use crate::claims::{Claim, ClaimKind};
use crate::verdict::{Direction, Standing, Verdict, interval_level};
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One claim and what the data say of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimResult {
    /// The claim's name.
    pub id: String,
    /// The claim in words.
    pub says: String,
    /// The kind of question.
    pub kind: ClaimKind,
    /// The claim as it was written down, defaults filled in.
    pub asked: Claim,
    /// The verdict.
    pub verdict: Verdict,
    /// How much it is worth.
    pub standing: Standing,
    /// Confirming cooks so far: cooks of the table that were not known when the claim was
    /// written down. Cooks that the analysis must leave out count too, so that leaving one
    /// out never brings another one in.
    pub confirming_cooks: usize,
    /// Confirming cooks after which it is judged on that many of them alone.
    pub judge_after_cooks: usize,
    /// Claims of its family, withdrawn ones included: the m of `effect.level` = 1 − 0.10·s/m.
    pub family_size: usize,
    /// The family's share of its year's error: the s of that level.
    #[serde(default = "whole")]
    pub share: f64,
    /// Where the interval lies against zero.
    pub direction: Direction,
    /// Why it was refused; null otherwise.
    pub reason: Option<String>,
    /// The effect; null where it was refused.
    pub effect: Option<Effect>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
    /// Cooks left out, by reason, in the order in which reasons are looked at; each cook
    /// counts once.
    pub left_out: Vec<LeftOut>,
    /// From logs to the cooks that are used, step by step, by team: how many there are, and how many were lost
    /// before it, with reasons. What was left out by weights or runs of wrap timing alone is not told by team.
    #[serde(default)]
    pub flow: Vec<FlowStep>,
    /// What other models would answer: what would change the verdict, and what would not.
    pub other_ways: Vec<Alternative>,
    /// The answer with each fire left out in turn; null where it was refused, or where there
    /// are more than 300 fires, of which no single one weighs much.
    pub leave_one_fire_out: Option<LeaveOneFireOut>,
    /// The claim under every combination of choices that others might have made; null where it
    /// was refused or there is nothing to choose.
    pub specifications: Option<SpecificationCurve>,
    /// Further usable cooks after which all of them may be expected to give a verdict; null where it was refused,
    /// 1,000 would not do, or further cooks change nothing (`next_step`). See [`crate::analysis`].
    pub cooks_still_needed: Option<usize>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
    /// Those of the notes that tell what happened to `claims.lock`, or to what it speaks of, for who runs the
    /// study; not written down a second time.
    #[serde(skip)]
    pub lock_warnings: Vec<String>,
    /// The models that were fitted.
    pub models: Vec<Model>,
    /// What a comparison of wrapping strategies found; null for other claims, and where nothing
    /// could be weighted.
    pub wrap_timing: Option<WrapTiming>,
    /// The same on the core's clock, which the verdict rests on where it gives no reason against;
    /// null for other claims, and where there are no degrees to follow.
    #[serde(default)]
    pub g_formula: Option<GFormula>,
    /// Up to where the time to the finish is counted, min; null for other outcomes, and where
    /// every used cook was seen to its finish and the claim names no horizon.
    #[serde(default)]
    pub horizon_min: Option<f64>,
    /// Share of the used cooks whose outcome is a lower bound, 0 to 1; null for outcomes that
    /// have none.
    #[serde(default)]
    pub cut_share: Option<f64>,
    /// What all cooks say, after the fact and with the whole share of error; null where the claim is
    /// judged on all of them already.
    #[serde(default)]
    pub all_cooks: Option<AllCooks>,
    /// What can be done for a better answer.
    #[serde(default)]
    pub next_step: Option<NextStep>,
    /// Numbers of confirming cooks at which it is looked at; empty where it is judged once.
    #[serde(default)]
    pub looks: Vec<usize>,
    /// The looks that were taken, as the lock has them. The last one seals the claim where it was decided, or
    /// is the last of `looks`: that verdict stands whatever is computed later.
    #[serde(default)]
    pub looks_taken: Vec<TakenLook>,
    /// Level of the interval where a planned look decides it; null: 1 − 0.10·s/m.
    #[serde(default)]
    pub look_level: Option<f64>,
    /// The claim in each team of a merged season, and what they say together; null where there is one team.
    #[serde(default)]
    pub teams: Option<Teams>,
}

fn whole() -> f64 {
    1.0
}

/// What all cooks say of a claim that is judged on confirming cooks alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AllCooks {
    /// The verdict of all cooks.
    pub verdict: Verdict,
    /// Where the interval lies against zero.
    pub direction: Direction,
    /// Why it was refused; null otherwise.
    pub reason: Option<String>,
    /// The effect; null where it was refused.
    pub effect: Option<Effect>,
    /// Cooks used.
    pub n: usize,
    /// Fires used.
    pub fires: usize,
}

/// What can be done for a better answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextStep {
    /// What.
    pub kind: NextStepKind,
    /// On how many further cooks; null where that is not known.
    pub cooks: Option<usize>,
}

/// A kind of next step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NextStepKind {
    /// Leave the claim as it is written and cook on.
    Wait,
    /// Its cooks are used up, or it cannot be answered as it is asked: write it down anew.
    WriteAnew,
    /// Draw lots between the two sides before each cook, and claim it by arm.
    Randomise,
    /// Put back what was changed since it was written down (the phase definition, a cook it is judged
    /// on): its notes say what.
    PutBack,
    /// Nothing: it is answered.
    None,
}

/// What another model would answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// How it differs from the model that the verdict rests on, in words.
    pub way: String,
    /// Its estimate of the effect, in the effect's unit, raw sign.
    pub estimate: f64,
    /// Lower end of its interval, of the level of the effect; null is open.
    pub lo: Option<f64>,
    /// Upper end; null is open.
    pub hi: Option<f64>,
    /// Cooks used.
    pub n: usize,
    /// The verdict that it would give.
    pub verdict: Verdict,
}

/// The answer with each fire left out in turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeaveOneFireOut {
    /// Fires that were left out in turn.
    pub fires: usize,
    /// Lowest estimate of the effect among them, raw sign.
    pub lowest: f64,
    /// Highest.
    pub highest: f64,
    /// Fires without which the model cannot be fitted.
    pub not_fitted: usize,
    /// Fires without which the verdict is another one, in the order of their cooks.
    pub changing: Vec<ChangingFire>,
}

/// A fire without which the verdict is another one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangingFire {
    /// Its cooks.
    pub cooks: Vec<String>,
    /// The estimate without it, raw sign.
    pub estimate: f64,
    /// The verdict without it.
    pub verdict: Verdict,
}

impl ClaimResult {
    /// Level of the interval that judges it.
    pub fn level(&self) -> f64 {
        self.look_level.unwrap_or_else(|| interval_level(self.family_size, self.share))
    }

    /// The look that sealed it.
    pub fn sealed(&self) -> Option<&TakenLook> {
        self.looks_taken.iter().find(|look| look.seals(&self.looks))
    }

    /// One row a claim.
    pub fn rows(claims: &[Self]) -> Table {
        let effect = |claim: &Self| claim.effect.clone();
        let unit = |claim: &Self| effect(claim).map(|own| own.unit).filter(|unit| !unit.is_empty());
        Rows::of(claims)
            .text("claim", |c| Some(c.id.clone()))
            .text("verdict", |c| word(&c.verdict))
            .text("standing", |c| word(&c.standing))
            .text("direction", |c| word(&c.direction))
            .float("estimate", |c| Some(effect(c)?.estimate))
            .float("lo", |c| effect(c)?.lo)
            .float("hi", |c| effect(c)?.hi)
            .float("level", |c| Some(effect(c)?.level))
            .text("unit", unit)
            .count("cooks", |c| Some(c.n))
            .count("fires", |c| Some(c.fires))
            .count("confirming_cooks", |c| Some(c.confirming_cooks))
            .text("reason", |c| c.reason.clone())
            .text("says", |c| Some(c.says.clone()))
            .table()
    }

    /// Every specification of every claim, by rising estimate.
    pub(super) fn specification_rows(claims: &[Self]) -> Table {
        let rows: Vec<(&str, &Specification)> = claims
            .iter()
            .filter_map(|claim| Some((claim.id.as_str(), claim.specifications.as_ref()?)))
            .flat_map(|(id, curve)| curve.specifications.iter().map(move |row| (id, row)))
            .collect();
        Rows::of(&rows)
            .text("claim", |(id, _)| Some((*id).to_owned()))
            .text("definition", |(_, own)| Some(own.definition.clone()))
            .text("outcome", |(_, own)| Some(own.outcome.clone()))
            .text("adjusted_for", |(_, own)| Some(own.adjust.join(" + ")))
            .float("grace_factor", |(_, own)| Some(own.wrap_timing?.grace_factor))
            .float("horizon_min", |(_, own)| Some(own.wrap_timing?.horizon_min))
            .float("weights_cut_at", |(_, own)| own.wrap_timing?.truncated_at)
            .flag("tender_is_finish", |(_, own)| Some(own.wrap_timing?.tender_is_finish))
            .flag("without_outliers", |(_, own)| Some(own.without_outliers))
            .flag("as_written", |(_, own)| Some(own.as_written))
            .float("estimate", |(_, own)| Some(own.effect.estimate))
            .float("lo", |(_, own)| own.effect.lo)
            .float("hi", |(_, own)| own.effect.hi)
            .count("cooks", |(_, own)| Some(own.n))
            .text("verdict", |(_, own)| word(&own.verdict))
            .table()
    }
}
