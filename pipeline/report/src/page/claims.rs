//! Claims and verdicts.

use cook::Units;
use study::claims::ClaimKind;
use study::result::ClaimResult;
use study::{Direction, Standing, Verdict};

use super::pace::pace;
use super::slug;
use super::wrap_timing::wrap_timing;
use crate::document::{Block, Figure, FigureForm, Inlines, Role, inlines, note, paragraph, strong};
use crate::figure::{interval, specifications};
use crate::names::name_within;
use crate::units::count;
use crate::words::{self, ShownEffect};

/// The section's content: what a verdict is, then one entry a claim.
pub(super) fn claims(claims: &[ClaimResult], units: Units) -> Vec<Block> {
    if claims.is_empty() {
        return vec![paragraph(
            "No claim was written down for these cooks. A claim is an argument to settle, written down before looking.",
        )];
    }
    let what = paragraph(
        "A claim is an argument to settle, written down before looking. Its verdict comes from where the \
         whole interval of the effect lies against zero and against the smallest difference that anyone would act on.",
    );
    let entries = claims.iter().enumerate().map(|(place, claim)| entry(place, claim, units));
    std::iter::once(what).chain(entries).collect()
}

/// The address of a claim in full, by its place among the claims.
pub(super) fn anchor(place: usize, claim: &ClaimResult) -> String {
    format!("claim-{}-{}", place + 1, slug(&claim.id))
}

fn entry(place: usize, claim: &ClaimResult, units: Units) -> Block {
    let id = anchor(place, claim);
    let shown = ShownEffect::of_claim(claim, units);
    let mut blocks = vec![verdict(claim, units)];
    if let Some(effect) = &shown {
        let drawing = interval(&format!("{id}-fig"), claim, effect, units);
        blocks.push(Figure::block(FigureForm::Interval, drawing, caption(claim, effect, units)));
    }
    blocks.push(Block::Facts(facts(claim, shown.as_ref(), units)));
    if let Some(teams) = claim.teams.as_ref().filter(|teams| !teams.effects.is_empty()) {
        blocks.push(super::pool::table(&claim.asked, teams, units));
    }
    blocks.extend(claim.g_formula.as_ref().map(|found| pace(&id, claim, found, units)));
    let by_weights = claim.g_formula.as_ref().is_none_or(|found| found.judges().is_none());
    blocks.extend(
        claim.wrap_timing.as_ref().map(|found| wrap_timing(found, &claim.models, by_weights)),
    );
    if let Some(curve) = &claim.specifications {
        let drawing = specifications(&format!("{id}-ways"), claim, curve, units);
        let caption = words::specifications_caption(claim, curve, units);
        blocks.push(Block::Details {
            summary: words::specifications_headline(curve).into(),
            open: false,
            blocks: vec![Figure::block(FigureForm::Plot, drawing, caption)],
        });
    }
    blocks.extend(words::remarks(claim).map(|remarks| note(Inlines::with_code(&remarks))));
    Block::Article { id, heading: format!("“{}”", claim.says), blocks }
}

fn verdict(claim: &ClaimResult, units: Units) -> Block {
    let said = match (claim.verdict, &claim.reason) {
        (Verdict::Refused, Some(reason)) => Inlines::with_code(reason),
        (Verdict::Refused, None) => words::verdict_meaning(claim.verdict).into(),
        _ => {
            let meaning = words::verdict_meaning(claim.verdict);
            format!("{} {meaning}", words::plain_finding(claim, units)).into()
        }
    };
    let word = strong(format!("{}.", claim.verdict.heading()));
    Block::Paragraph(Role::Verdict, inlines![word, " ", said])
}

fn facts(
    claim: &ClaimResult,
    shown: Option<&ShownEffect>,
    units: Units,
) -> Vec<(&'static str, Vec<Inlines>)> {
    let mut facts: Vec<(&str, Vec<Inlines>)> = vec![("Asked as", vec![asked_as(claim).into()])];
    if let Some(effect) = shown {
        let (headline, interval) = (effect.headline(), effect.interval());
        let effect_said = format!("{headline}, {} {interval}", effect.interval_name());
        let matters = effect.with_unit(ShownEffect::matters(&claim.asked, units));
        let direction = match claim.direction {
            Direction::For => "for the claim: the interval leaves out zero",
            Direction::Against => "against the claim: the interval leaves out zero",
            Direction::Unclear => "unclear: zero lies in the interval",
        };
        facts.push(("Effect", vec![effect_said.into()]));
        facts.push(("Matters from", vec![matters.into()]));
        facts.push(("Direction", vec![direction.into()]));
    }
    // Further cooks do not join those that a confirmed claim is judged on.
    let waits = claim.standing == Standing::AfterTheFact;
    let more = words::more_cooks(claim).filter(|_| waits).map_or_else(String::new, |more| {
        format!("; about {} more may be needed for a verdict of all cooks", count(more))
    });
    facts.push(("Cooks", vec![(words::cooks_on_fires(claim.n, claim.fires) + &more).into()]));
    if !claim.other_ways.is_empty() {
        let others = claim.other_ways.iter();
        let others = others.map(|other| words::other_way(other, claim, units).into());
        facts.push(("Asked otherwise", others.collect()));
    }
    if let Some(without) = &claim.leave_one_fire_out {
        let said = words::without_one_fire(without, claim, units);
        facts.push(("What would change it", vec![said.into()]));
    }
    facts.push(("Standing", vec![words::standing(claim).into()]));
    if let Some(all) = words::of_all_cooks(claim) {
        let effect = ShownEffect::of_claim(&all, units).map_or_else(String::new, |effect| {
            format!(": {}, {} {}", effect.headline(), effect.interval_name(), effect.interval())
        });
        let said = format!(
            "{}{effect}; {}",
            all.verdict.heading(),
            words::cooks_on_fires(all.n, all.fires)
        );
        facts.push(("All cooks, after the fact", vec![said.into()]));
    }
    if let Some(teams) = &claim.teams {
        let said = words::teams_sentences(&claim.asked, teams, units);
        facts.push(("In several teams", said.into_iter().map(Into::into).collect()));
    }
    if let Some(reason) = claim.reason.as_ref().filter(|_| claim.verdict != Verdict::Refused) {
        facts.push(("Reason", vec![Inlines::with_code(reason)]));
    }
    if claim.family_size > 1 {
        let family = count(claim.family_size);
        let said = format!(
            "one of {family} claims written down together; the interval is widened for that"
        );
        facts.push(("Family", vec![said.into()]));
    }
    facts
}

fn asked_as(claim: &ClaimResult) -> String {
    let asked = &claim.asked;
    let kind = match claim.kind {
        ClaimKind::Compare => "a comparison",
        ClaimKind::Trend => "a trend",
        ClaimKind::WrapTiming => "a comparison of wrapping strategies",
    };
    let adjusted: Vec<String> = asked.adjust.iter().map(|column| name_within(column)).collect();
    let adjusted = if adjusted.is_empty() {
        String::new()
    } else {
        format!(", adjusted for {}", words::listed(&adjusted))
    };
    format!("{kind}, outcome {}{adjusted}", name_within(&asked.outcome))
}

fn caption(claim: &ClaimResult, effect: &ShownEffect, units: Units) -> String {
    let sees = match claim.verdict {
        Verdict::Yes => "The bar lies clear of the hatched band, on the claim’s side.",
        Verdict::Reverse => "The bar lies clear of the hatched band, on the other side.",
        Verdict::TooSmallToMatter => "The bar lies inside the hatched band.",
        Verdict::No => "The bar stays short of the claim’s side of the hatched band.",
        Verdict::Open => "The bar crosses the edge of the hatched band on the claim’s side.",
        Verdict::Refused => "The bar is shown for what it is worth; no verdict was drawn from it.",
    };
    format!(
        "{sees} Dot: estimate; bar: {}; hatched: differences below {}, which do not matter; dashed: no difference.",
        effect.interval_name(),
        effect.with_unit(ShownEffect::matters(&claim.asked, units))
    )
}
