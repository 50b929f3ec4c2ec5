//! Every cook: the aligned bars, the small curves and the table.

use cook::Units;
use maud::{Markup, html};

use super::table::{Notes, numbers, table, text};
use super::{Anchors, Numbering, figure};
use crate::data::{ChannelRole, CookReport};
use crate::document::html;
use crate::figure::{CurveSize, bars, compact_bars, curve, phase_key};
use crate::units::{Quantity, count, number};
use crate::words;

/// Cooks in one figure of bars.
const BARS_PER_FIGURE: usize = 40;
/// Figures of bars that are open from the start.
const OPEN_FIGURES: usize = 3;
/// Cooks whose bars have names and numbers; more than that are drawn thin.
const MAX_FULL_BARS: usize = 200;
/// Thin bars in one figure.
const COMPACT_BARS_PER_FIGURE: usize = 250;
/// Curves that are open from the start; earlier ones are closed, so many at a time.
const OPEN_CURVES: usize = 40;
/// Curves drawn at most; the others have their row in the table and, where written, their own page.
pub(super) const MAX_CURVES: usize = 120;

/// Bars of all cooks, in figures of [`BARS_PER_FIGURE`] on one common time axis.
pub(super) fn all_bars(cooks: &[CookReport], units: Units, numbering: &Numbering) -> Markup {
    let ends = cooks.iter().flat_map(|cook| &cook.phases).map(|span| span.end_min);
    let longest = ends.fold(60.0, f64::max);
    if cooks.len() > MAX_FULL_BARS {
        return thin_bars(cooks, longest, numbering);
    }
    html! {
        (html::blocks(&[phase_key()], numbering))
        @for (part, group) in cooks.chunks(BARS_PER_FIGURE).enumerate() {
            @let from = part * BARS_PER_FIGURE + 1;
            @let caption = html! {
                "All bars start at meat-on, so the eye can follow where the stalls begin and how long they last. "
                @if cooks.len() > BARS_PER_FIGURE {
                    "Cooks " (count(from)) " to " (count(from + group.len() - 1)) " of " (count(cooks.len())) ". "
                }
                "The number behind a bar is its length; an arrowhead means that the log ended first."
            };
            @let drawn = figure(numbering, "bars", &bars(&format!("fig-bars-{}", part + 1), group, longest, units), &caption);
            @if part < OPEN_FIGURES { (drawn) } @else {
                details {
                    summary { "Cooks " (count(from)) " to " (count(from + group.len() - 1)) }
                    (drawn)
                }
            }
        }
    }
}

/// Thin bars of very many cooks.
fn thin_bars(cooks: &[CookReport], longest_min: f64, numbering: &Numbering) -> Markup {
    html! {
        p {
            "More than " (count(MAX_FULL_BARS)) " cooks: their bars are thin and carry neither names nor numbers; the table of the \
             cooks and the data files have them."
        }
        (html::blocks(&[phase_key()], numbering))
        @for (part, group) in cooks.chunks(COMPACT_BARS_PER_FIGURE).enumerate() {
            @let from = part * COMPACT_BARS_PER_FIGURE + 1;
            @let caption = html! {
                "All bars start at meat-on, in the order of the cooks’ dates: look where the stalls begin, how long they last, and \
                 whether that drifts. Cooks " (count(from)) " to " (count(from + group.len() - 1)) " of " (count(cooks.len())) "."
            };
            (figure(numbering, "bars", &compact_bars(&format!("fig-bars-{}", part + 1), group, longest_min), &caption))
        }
    }
}

/// The cooks whose curves are drawn: the last [`MAX_CURVES`] that have one.
pub(super) fn drawn_cooks(cooks: &[CookReport]) -> Vec<&CookReport> {
    let with_curve: Vec<&CookReport> = cooks.iter().filter(|cook| cook.curve.is_some()).collect();
    with_curve[with_curve.len().saturating_sub(MAX_CURVES)..].to_vec()
}

/// Small curves, one figure a cook.
pub(super) fn curves(cooks: &[CookReport], anchors: &Anchors, units: Units) -> Markup {
    let drawn = drawn_cooks(cooks);
    let without = cooks.iter().filter(|cook| cook.curve.is_none()).count();
    let with_curve = cooks.len() - without;
    html! {
        p {
            "Thick: core. Thin: pit. The strip at the foot and the ground behind show the phases; upright lines are wrap \
             and pull. Each curve keeps the lowest and the highest used reading of every short run of readings; what was left out is shown on \
             the cook’s own page."
            @if drawn.len() < with_curve {
                " Drawn are the last " (count(drawn.len())) " of " (count(with_curve))
                " cooks with a curve; the table below lists all of them."
            }
            @if without > 0 { " " (words::plural(without, "cook")) " without a curve to draw." }
        }
        (html::blocks(&[phase_key()], &Numbering::default()))
        @let (earlier, last) = drawn.split_at(drawn.len().saturating_sub(OPEN_CURVES));
        (curve_group(last, anchors, units))
        @for group in earlier.rchunks(OPEN_CURVES) {
            @if let (Some(first), Some(last)) = (group.first(), group.last()) {
                details {
                    summary { (words::plural(group.len(), "earlier curve")) ", " (first.day) " to " (last.day) }
                    (curve_group(group, anchors, units))
                }
            }
        }
    }
}

fn curve_group(cooks: &[&CookReport], anchors: &Anchors, units: Units) -> Markup {
    html! {
        div.curves {
            @for cook in cooks {
                @let anchor = anchors.of(&cook.id);
                figure.curve id=(anchor) {
                    @if let Some(lines) = &cook.curve {
                        (curve(&format!("{anchor}-fig"), cook, lines, units, CurveSize::Small))
                    }
                    figcaption {
                        b { (leads_to_page(cook)) }
                        ", " (cook.day)
                        @if let Some(cut) = &cook.cut { ", " (cut) }
                        ". " (words::curve_sentence(cook, units)) " "
                        span.shown { (shown_points(cook, true)) }
                    }
                }
            }
        }
    }
}

/// The cook's name, leading to its page where it has one.
fn leads_to_page(cook: &CookReport) -> Markup {
    html! {
        @match cook.page.as_ref().filter(|page| is_relative(page)) {
            Some(page) => { a href=(page) { (cook.id) } },
            None => { (cook.id) },
        }
    }
}

/// `298 of 8412 core and 300 of 8400 pit readings shown.`
pub(super) fn shown_points(cook: &CookReport, main_only: bool) -> String {
    let counts: Vec<String> = cook
        .curve
        .iter()
        .flat_map(|curve| &curve.series)
        .filter(|s| !main_only || matches!(s.role, ChannelRole::Core | ChannelRole::Pit))
        .map(|series| {
            let name = match series.role {
                ChannelRole::Core => "core",
                ChannelRole::Pit => "pit",
                _ => series.name.as_str(),
            };
            let shown = if main_only { series.for_small().shown() } else { series.shown() };
            format!("{} of {} {name}", count(shown), count(series.of))
        })
        .collect();
    format!("{} readings shown.", words::listed(&counts))
}

/// The table of the cooks.
pub(super) fn cook_table(
    cooks: &[CookReport],
    anchors: &Anchors,
    units: Units,
    numbering: &Numbering,
) -> Markup {
    let degrees = Quantity::Temperature.unit(units);
    let heads = [
        text("Cook"),
        text("Date"),
        text("Cut"),
        text("Pit"),
        numbers("Weight", Quantity::Mass.unit(units)),
        numbers("Pit early", degrees),
        text("Wrap"),
        numbers("Wrap at core", degrees),
        numbers("Ramp", "min"),
        numbers("Stalls", ""),
        numbers("Stall", "min"),
        numbers("90\u{a0}% interval", "min"),
        numbers("Stall delay", "min"),
        numbers("Push", "min"),
        numbers("Total", "min"),
        numbers("Pull at core", degrees),
        numbers("Rest", "min"),
        numbers("Yield", "%"),
    ];
    let drawn: Vec<&str> = drawn_cooks(cooks).iter().map(|cook| cook.id.as_str()).collect();
    let drawn: std::collections::HashSet<&str> = drawn.into_iter().collect();
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = cooks
        .iter()
        .map(|cook| {
            let m = &cook.measures;
            let shown = |quantity: Quantity, value: Option<f64>| {
                notes.or_missing(value.map(|v| quantity.number(v, units)), None)
            };
            let minutes = |value: Option<f64>, open: bool, reason: Option<&str>| {
                let bound = if open { "≥\u{a0}" } else { "" };
                notes.or_missing(value.map(|v| format!("{bound}{}", number(v, 0))), reason)
            };
            let stall_reason = m.stall_reason.as_deref();
            vec![
                html! {
                    @if drawn.contains(cook.id.as_str()) {
                        a href={ "#" (anchors.of(&cook.id)) } { (cook.id) }
                    } @else { (cook.id) }
                    @if let Some(page) = cook.page.as_ref().filter(|p| is_relative(p)) { " " a.to-page href=(page) { "page" } }
                },
                html! { span.date { (cook.day) } },
                notes.or_missing(cook.cut.clone(), None),
                notes.or_missing(cook.pit.clone(), None),
                shown(Quantity::Mass, m.trimmed_weight_kg.or(m.raw_weight_kg)),
                shown(Quantity::Temperature, m.pit_early_c),
                notes.or_missing(m.wrap_method.clone(), None),
                match (m.wrap_at_core_c, m.wrap_time_known) {
                    (None, Some(false)) => notes.missing(Some("wrapped, but nobody wrote when")),
                    (core, _) => shown(Quantity::Temperature, core),
                },
                minutes(m.ramp_min, false, stall_reason),
                notes.or_missing(m.stalls.map(count), stall_reason),
                minutes(m.stall_min, m.stall_min_censored, stall_reason),
                notes.or_missing(words::stall_interval(m), stall_reason),
                minutes(
                    m.stall_delay_min,
                    m.stall_delay_censored,
                    m.stall_delay_reason.as_deref().or(stall_reason),
                ),
                minutes(m.push_min, false, stall_reason),
                minutes(m.total_min, m.total_min_censored, None),
                shown(Quantity::Temperature, m.pull_core_c),
                minutes(m.rest_min, false, None),
                shown(Quantity::Fraction, m.yield_fraction),
            ]
        })
        .collect();
    html! {
        div data-sortable="" {
        (table(
            numbering,
            "The cooks, one row each; a linked name leads to the curve",
            &heads,
            &rows,
            &notes,
            Some(
                "Weight is trimmed weight where stated, else raw. ≥ marks an open end: the log or the cook ended first. \
                 – without a letter: not stated on the card or not in the log.",
            ),
        ))
        }
    }
}

/// Whether an address stays within the folder of the report.
pub(super) fn is_relative(address: &str) -> bool {
    !address.starts_with('/') && !address.contains(':') && !address.contains("//")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_addresses_within_the_folder_become_links() {
        assert!(is_relative("cooks/a.html"));
        assert!(!is_relative("https://example.invalid/a"));
        assert!(!is_relative("//example.invalid/a"));
        assert!(!is_relative("/etc/passwd"));
        assert!(!is_relative("javascript:alert(1)"));
    }
}
