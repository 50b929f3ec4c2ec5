//! A comparison of wrapping strategies: three answers beside each other, and what they rest on.

use maud::{Markup, html};

use super::Numbering;
use super::table::{Notes, numbers, table, text};
use crate::data::{WrapArmReport, WrapTimingReport};
use crate::units::{count, number, signed};
use crate::words;

/// Tables and words under the claim.
pub(super) fn wrap_timing(found: &WrapTimingReport, numbering: &Numbering) -> Markup {
    html! {
        details open {
            summary { "How the strategies were compared" }
            p {
                "Cooks cannot be sorted by how they turned out: who is wrapped late has lasted until then, and is wrapped \
                 because of how the stall was going. So each cook was copied into both strategies; a copy was taken out where its \
                 cook did something else; and the copies left were weighted, so that they stand for those taken out. \
                 Times run from a core of 55\u{a0}°C to 88\u{a0}°C, at most " (number(found.horizon_min, 0)) " min."
            }
            (answers(found, numbering))
            @if let Some([naive, immortal, confounding, left]) = found.naive_parts {
                p {
                    "The naive difference of " (minutes(naive)) " is made of " (minutes(immortal))
                    " that come of sorting cooks by what happened to them later (immortal time), " (minutes(confounding))
                    " of who is wrapped when, and " (minutes(left)) " that the strategies themselves make, as far as the log shows \
                     what the team went by."
                }
            }
            @for ratio in &found.hazard_ratios {
                p {
                    "Association only: once " (ratio.term) ", a cook finished " (number(ratio.ratio, 2))
                    " times as readily as one not wrapped at the same minute (95\u{a0}% interval " (number(ratio.lo, 2)) " to "
                    (number(ratio.hi, 2)) "; time-varying Cox model)."
                }
            }
            (arms(&found.arms, numbering))
            (at_risk(&found.arms, numbering))
            p.note {
                (count(found.wraps_with_bump.1)) " of " (count(found.wraps_with_bump.0))
                " wraps came with a raised set-point."
                @if let Some(reason) = &found.setpoint_reason { " With the set-point unchanged nothing is said: " (reason) "." }
                " The weights rest on models of what the team decided: " (found.decisions) "."
            }
        }
    }
}

fn minutes(value: f64) -> String {
    format!("{} min", signed(value, 0))
}

fn answers(found: &WrapTimingReport, numbering: &Numbering) -> Markup {
    let rows: Vec<Vec<Markup>> = found
        .answers
        .iter()
        .map(|answer| {
            let end = |value: Option<f64>| value.map_or("–".into(), |v| signed(v, 0));
            vec![
                html! { (answer.name) },
                html! { (signed(answer.estimate, 0)) },
                html! { (end(answer.lo)) " to " (end(answer.hi)) },
            ]
        })
        .collect();
    let heads = [text("Answer"), numbers("Difference", "min"), numbers("95 % interval", "min")];
    let caption = "Mean time to the finish, first strategy minus second";
    let remark = "Negative: the first finishes sooner. Intervals from a bootstrap over fires.";
    table(numbering, caption, &heads, &rows, &Notes::default(), Some(remark))
}

fn arms(arms: &[WrapArmReport], numbering: &Numbering) -> Markup {
    let percent = |share: f64| format!("{} %", number(100.0 * share, 0));
    let rows: Vec<Vec<Markup>> = arms
        .iter()
        .map(|arm| {
            let left: Vec<String> =
                arm.left.iter().map(|l| format!("{} {}", l.label, count(l.count))).collect();
            vec![
                html! { (arm.strategy) },
                html! { (count(arm.stayed)) " of " (count(arm.copies)) },
                html! { (number(arm.effective, 1)) },
                html! { (count(arm.finishes)) },
                html! { (percent(arm.probability)) },
                html! {
                    @for (place, weight) in arm.weights.iter().enumerate() {
                        @if place > 0 { ", " }
                        (number(*weight, 1))
                    }
                },
                html! { (number(arm.mean_min, 0)) },
                html! {
                    (percent(arm.incidence[0])) ", " (percent(arm.incidence[1])) ", " (percent(arm.incidence[2]))
                },
                html! { @if left.is_empty() { "none" } @else { (words::listed(&left)) } },
            ]
        })
        .collect();
    let heads = [
        text("Strategy"),
        numbers("Copies that stayed", ""),
        numbers("Effective", ""),
        numbers("Finishes", ""),
        numbers("Would follow it", ""),
        numbers("Weights", ""),
        numbers("Mean time", "min"),
        numbers("Finished, tender, out of time", ""),
        text("Taken out because"),
    ];
    let remark = "Weights: median, 95th and 99th percentile, and the largest, which was cut to the 99th. Effective: how many \
                  equally weighted cooks the copies that stayed are worth. Tender pulls before 88 °C count as finishes in the \
                  mean time; the last shares are of all copies, weighted, by the end of the clock.";
    table(numbering, "What each strategy rests on", &heads, &rows, &Notes::default(), Some(remark))
}

fn at_risk(arms: &[WrapArmReport], numbering: &Numbering) -> Markup {
    let at = arms.first().map_or(&[][..], |arm| &arm.at_risk);
    let heads: Vec<_> = std::iter::once(text("Strategy"))
        .chain(at.iter().map(|(minute, ..)| numbers(format!("{} min", number(*minute, 0)), "")))
        .collect();
    let rows: Vec<Vec<Markup>> = arms
        .iter()
        .map(|arm| {
            let cells = arm.at_risk.iter().map(|(_, copies, effective)| {
                html! { (count(*copies)) " (" (number(*effective, 1)) ")" }
            });
            std::iter::once(html! { (arm.strategy) }).chain(cells).collect()
        })
        .collect();
    let caption =
        "Copies under observation, and their effective number, by minute of the study clock";
    table(numbering, caption, &heads, &rows, &Notes::default(), None)
}
