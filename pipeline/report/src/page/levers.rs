//! The levers beside the wrap: what they buy and what they cost.

use cook::Units;
use maud::{Markup, html};

use super::Numbering;
use super::table::{Notes, numbers, table, text};
use crate::data::{LeverMeasure, LeverReport};
use crate::units::{Quantity, count, number, signed};
use crate::words::{self, lever_sentence, plural};

/// The section.
pub(super) fn levers(data: &[LeverReport], units: Units, numbering: &Numbering) -> Markup {
    html! {
        @if data.is_empty() {
            p { "No log here shows the course of a cook, so nothing is said of set-point, sprays and lid." }
        } @else {
            p {
                "Each of these is done because of how the cook goes: the core stands, the clock runs. A cook that takes long has \
                 time for more of it. So cooks with it are not set against cooks without; at every ten minutes, cooks in \
                 which it was done are set against cooks alike up to then in which it was not. An effect is told as far as the \
                 logs show what the team went by: habits that no log shows, whose hands, how wet a spray, a lid opened and not \
                 written down, may still stand behind it. On simulated seasons of 100 cooks what a spray costs came out too low by 4 to 9 min a \
                 spray, what a raised set-point buys too high by a third, a minute of open lid right."
            }
            ul { @for lever in data { li { b { (lever.name) ". " } (lever_sentence(lever)) } } }
            (used(data, units, numbering))
            (buys(data, units, numbering))
            (strategies(data))
            (costs(data, units, numbering))
            @for lever in data { @for note in &lever.notes { p.note { (lever.name) ": " (note) "." } } }
            @if let Some(first) = data.first().filter(|lever| !lever.left_out.is_empty()) {
                p.note { "Left out: " (left_out(first)) "." }
            }
            p.sources {
                "Sources: g-estimation of a structural nested mean model, Robins (1994), Communications in Statistics – Theory and \
                 Methods 23, 2379–2412, and Vansteelandt and Joffe (2014), Statistical Science 29, 707–731; Hernán and Robins (2020), \
                 Causal Inference: What If, sections 14.5 and 21.4. Standard errors are clustered by fire."
            }
        }
    }
}

fn left_out(lever: &LeverReport) -> String {
    let reasons = lever.left_out.iter();
    let told = reasons.map(|left| format!("{} ({})", plural(left.count, "cook"), left.label));
    words::listed(&told.collect::<Vec<_>>())
}

/// `median (lower to upper)`.
fn middle(values: Option<[f64; 3]>, show: &dyn Fn(f64) -> String, notes: &Notes) -> Markup {
    let told = values.map(|[lower, median, upper]| {
        format!("{} ({} to {})", show(median), show(lower), show(upper))
    });
    notes.or_missing(told, None)
}

fn used(data: &[LeverReport], units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let percent = |share: f64| number(100.0 * share, 0);
    let rows: Vec<Vec<Markup>> = data
        .iter()
        .map(|lever| {
            vec![
                html! { (lever.name) },
                html! { (count(lever.cooks_with)) " of " (count(lever.cooks)) },
                html! { (number(lever.doses, 0)) },
                middle(lever.per_cook, &|v| number(v, 0), &notes),
                middle(lever.minute, &|v| number(v, 0), &notes),
                middle(lever.core_c, &|v| Quantity::Temperature.number(v, units), &notes),
                notes.or_missing(
                    lever
                        .in_stall
                        .map(|[then, ever]| format!("{}; {}", percent(then), percent(ever))),
                    None,
                ),
            ]
        })
        .collect();
    let heads = [
        text("What is done"),
        numbers("Cooks with it", ""),
        numbers("Times or minutes", ""),
        numbers("A cook", ""),
        numbers("On the study clock", "min"),
        numbers("At a core of", Quantity::Temperature.unit(units)),
        numbers("In stall; all time in stall", "%"),
    ];
    let remark = format!(
        "Medians, with the middle half in brackets, between a core of {} and the finish. The set-point counts as raised once it \
         stands more than {} above the first that is known.",
        Quantity::Temperature.show(55.0, units),
        Quantity::TemperatureDifference.show(8.0, units)
    );
    table(numbering, "How the levers are used: described", &heads, &rows, &notes, Some(&remark))
}

fn buys(data: &[LeverReport], units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let rise = Quantity::TemperatureDifference;
    let rows: Vec<Vec<Markup>> = data
        .iter()
        .map(|lever| {
            let reason = lever.reason.as_deref();
            let effect = lever.effect.as_ref();
            let ends = |lo: Option<f64>, hi: Option<f64>, show: &dyn Fn(f64) -> String| {
                let end = |end: Option<f64>| end.map_or("–".to_owned(), show);
                format!("{} to {}", end(lo), end(hi))
            };
            let minutes = |value: f64| signed(value, 1);
            let degrees = |value: f64| signed(rise.difference(value, units), 2);
            vec![
                html! { (words::capitalised(&lever.dose)) },
                notes.or_missing(effect.map(|e| minutes(e.estimate)), reason),
                notes.or_missing(effect.map(|e| ends(e.lo, e.hi, &minutes)), None),
                notes.or_missing(
                    effect.map(|e| format!("{} on {}", count(e.cooks), count(e.fires))),
                    None,
                ),
                notes.or_missing(lever.naive_min.map(minutes), None),
                notes.or_missing(
                    lever.half_hour.as_ref().map(|e| {
                        format!("{} ({})", degrees(e.estimate), ends(e.lo, e.hi, &degrees))
                    }),
                    None,
                ),
                notes.or_missing(
                    lever.hazard_ratio.as_ref().map(|ratio| {
                        format!(
                            "{} ({} to {})",
                            number(ratio.ratio, 2),
                            number(ratio.lo, 2),
                            number(ratio.hi, 2)
                        )
                    }),
                    None,
                ),
            ]
        })
        .collect();
    let heads = [
        text("One dose"),
        numbers("Adds to the time to the finish", "min"),
        numbers("95 % interval", "min"),
        numbers("Cooks, fires", ""),
        numbers("Naive slope: wrong", "min"),
        numbers("Adds to the core’s rise over half an hour", rise.unit(units)),
        numbers("Hazard ratio of finishing: association", ""),
    ];
    let remark = "Negative minutes: the finish comes sooner. The naive slope sets cooks with many against cooks with few, and so \
                  takes long cooks for the work of what is done in them. The hazard ratio (time-varying Cox model, weight, \
                  heating coefficient and pit at the start of the clock as adjusters) does not know why it was done.";
    table(numbering, "What the levers buy", &heads, &rows, &notes, Some(remark))
}

fn strategies(data: &[LeverReport]) -> Markup {
    html! {
        @for lever in data {
            @if let Some(found) = &lever.strategies {
                p {
                    (words::capitalised(&found.strategies[0])) " against " (found.strategies[1]) ", as two strategies that begin at the \
                     same core, every cook copied into both and weighted: "
                    (signed(found.effect.estimate, 0)) "\u{a0}min (95\u{a0}% interval "
                    (found.effect.lo.map_or("–".into(), |v| signed(v, 0))) " to "
                    (found.effect.hi.map_or("–".into(), |v| signed(v, 0))) "), followed for at most "
                    (number(found.horizon_min, 0)) "\u{a0}min; "
                    (count(found.stayed[0].0)) " and " (count(found.stayed[1].0)) " cooks stayed in them, "
                    (number(found.stayed[0].1, 0)) " and " (number(found.stayed[1].1, 0)) " in effect."
                    @if let Some(naive) = found.naive_min { " Naive: " (signed(naive, 0)) "\u{a0}min, which is wrong." }
                }
            } @else if let Some(reason) = &lever.strategies_reason {
                p { (lever.name) ", as two strategies: refused. " (words::capitalised(reason)) "." }
            }
        }
    }
}

fn costs(data: &[LeverReport], units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let median = |measure: &LeverMeasure, of: Option<(f64, usize)>| {
        notes.or_missing(
            of.map(|(value, n)| format!("{} ({})", measure.quantity.show(value, units), count(n))),
            None,
        )
    };
    let mut rows: Vec<Vec<Markup>> = Vec::new();
    for lever in data {
        for measure in &lever.described {
            rows.push(vec![
                html! { (lever.name) },
                html! { (measure.name) },
                median(measure, measure.with),
                median(measure, measure.without),
            ]);
        }
    }
    let heads = [
        text("What is done"),
        text("Measure"),
        numbers("Cooks with it", ""),
        numbers("Cooks without", ""),
    ];
    let fall = Quantity::TemperatureDifference;
    html! {
        @if !rows.is_empty() {
            (table(
                numbering,
                "What goes with the levers: described, not caused",
                &heads,
                &rows,
                &notes,
                Some("Medians, with the number of cooks. Who sprays may cook on another pit, and a long stall invites all of them."),
            ))
        }
        ul {
            @for lever in data {
                @if let (Some([_, depth, _]), Some([_, back, _])) = (lever.pit_fall_c, lever.pit_back_min) {
                    li {
                        (lever.name) ": the pit fell by " (fall.show(depth, units)) " at the median where the log shows the lid open, \
                         and had made up half of that " (number(back, 0)) "\u{a0}min after it began to fall."
                    }
                }
            }
        }
        p {
            "Not known from these logs: fuel that a raised set-point burns where no card states it, bark and taste, and what a \
             spray does that the core does not feel."
        }
    }
}
