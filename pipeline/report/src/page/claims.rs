//! Claims and verdicts.

use cook::Units;
use maud::{Markup, html};

use super::wrap_timing::wrap_timing;
use super::{Numbering, figure, slug, with_code};
use crate::data::{ClaimReport, Direction, Verdict};
use crate::figure::{interval, specifications};
use crate::units::count;
use crate::words::{self, ShownEffect};

/// The section's content: what a verdict is, then one entry a claim.
pub(super) fn claims(claims: &[ClaimReport], units: Units, numbering: &Numbering) -> Markup {
    html! {
        @if claims.is_empty() {
            p { "No claim was written down for these cooks. A claim is an argument to settle, written down before looking." }
        } @else {
            p {
                "A claim is an argument to settle, written down before looking. Its verdict comes from where the \
                 whole interval of the effect lies against zero and against the smallest difference that anyone would act on."
            }
            @for (place, claim) in claims.iter().enumerate() {
                (entry(place, claim, units, numbering))
            }
        }
    }
}

/// The address of a claim in full, by its place among the claims.
pub(super) fn anchor(place: usize, claim: &ClaimReport) -> String {
    format!("claim-{}-{}", place + 1, slug(&claim.id))
}

fn entry(place: usize, claim: &ClaimReport, units: Units, numbering: &Numbering) -> Markup {
    let id = anchor(place, claim);
    let shown = claim.effect.as_ref().map(|effect| ShownEffect::new(effect, units));
    html! {
        article.claim id=(id) aria-labelledby={ (id) "-says" } {
            h3 id={ (id) "-says" } { "“" (claim.says) "”" }
            p.verdict {
                strong { (words::verdict(claim.verdict)) "." }
                " "
                @if claim.verdict == Verdict::Refused {
                    @if let Some(reason) = &claim.reason { (with_code(reason)) } @else { (words::verdict_meaning(claim.verdict)) }
                } @else {
                    (words::plain_finding(claim, units)) " " (words::verdict_meaning(claim.verdict))
                }
            }
            @if let Some(effect) = &shown {
                (figure(
                    numbering,
                    "interval",
                    &interval(&format!("{id}-fig"), claim, effect, units),
                    &caption(claim, effect, units),
                ))
            }
            dl.facts {
                dt { "Asked as" }
                dd {
                    @match claim.kind.as_str() {
                        "compare" => { "a comparison" },
                        "trend" => { "a trend" },
                        "wrap-timing" => { "a comparison of wrapping strategies" },
                        other => { (other) },
                    }
                    @if !claim.outcome_name.is_empty() { ", outcome " (claim.outcome_name) }
                    @if !claim.adjusted_for.is_empty() { ", adjusted for " (words::listed(&claim.adjusted_for)) }
                }
                @if let Some(effect) = &shown {
                    dt { "Effect" }
                    dd { (effect.headline()) ", " (effect.interval_name()) " " (effect.interval()) }
                    dt { "Matters from" }
                    dd { (effect.with_unit(ShownEffect::matters(claim, units))) }
                    dt { "Direction" }
                    dd {
                        @match claim.direction {
                            Direction::For => { "for the claim: the interval leaves out zero" },
                            Direction::Against => { "against the claim: the interval leaves out zero" },
                            Direction::Unclear => { "unclear: zero lies in the interval" },
                        }
                    }
                }
                dt { "Cooks" }
                dd {
                    (words::cooks_on_fires(claim.cooks, claim.fires))
                    @if let Some(more) = claim.cooks_still_needed {
                        "; about " (count(more)) " more may be needed for a verdict"
                    }
                }
                @if !claim.other_ways.is_empty() {
                    dt { "Asked otherwise" }
                    dd {
                        @for (place, other) in claim.other_ways.iter().enumerate() {
                            @if place > 0 { br; }
                            (words::other_way(other, claim.verdict, units))
                        }
                    }
                }
                @if let Some(without) = &claim.without_one_fire {
                    dt { "What would change it" }
                    dd { (words::without_one_fire(without, claim, units)) }
                }
                dt { "Standing" }
                dd { (words::standing(claim)) }
                @if claim.verdict != Verdict::Refused {
                    @if let Some(reason) = &claim.reason { dt { "Reason" } dd { (with_code(reason)) } }
                }
                @if claim.family_size > 1 {
                    dt { "Family" }
                    dd { "one of " (count(claim.family_size)) " claims written down together; the interval is widened for that" }
                }
            }
            @if let Some(found) = &claim.wrap_timing { (wrap_timing(found, numbering)) }
            @if let Some(curve) = &claim.specification_curve {
                details {
                    summary { (words::specifications_headline(curve)) }
                    (figure(
                        numbering,
                        "plot",
                        &specifications(&format!("{id}-ways"), claim, curve, units),
                        &html! { (words::specifications_caption(claim, curve, units)) },
                    ))
                }
            }
            @if let Some(note) = &claim.note { p.note { (with_code(note)) } }
        }
    }
}

fn caption(claim: &ClaimReport, effect: &ShownEffect, units: Units) -> Markup {
    let sees = match claim.verdict {
        Verdict::Yes => "The bar lies clear of the hatched band, on the claim’s side.",
        Verdict::Reverse => "The bar lies clear of the hatched band, on the other side.",
        Verdict::TooSmallToMatter => "The bar lies inside the hatched band.",
        Verdict::No => "The bar stays short of the claim’s side of the hatched band.",
        Verdict::Open => "The bar crosses the edge of the hatched band on the claim’s side.",
        Verdict::Refused => "The bar is shown for what it is worth; no verdict was drawn from it.",
    };
    html! {
        (sees) " Dot: estimate; bar: " (effect.interval_name())
        "; hatched: differences below " (effect.with_unit(ShownEffect::matters(claim, units)))
        ", which do not matter; dashed: no difference."
    }
}
