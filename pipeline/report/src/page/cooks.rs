//! Every cook: the aligned bars, the small curves and the table.

use cook::Units;
use std::collections::HashSet;

use super::Anchors;
use crate::data::{ChannelRole, CookReport};
use crate::document::{
    Block, Cell, Figure, FigureForm, Inlines, Mark, Table, bold, inlines, link, link_aside, marked,
    numbers, paragraph, text,
};
use crate::figure::{CurveSize, bars, compact_bars, curve, phase_key};
use crate::units::{Quantity, count, number};
use crate::{MOST_COOK_PAGES, words};

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
pub(super) fn all_bars(cooks: &[CookReport], units: Units) -> Vec<Block> {
    let ends = cooks.iter().flat_map(|cook| &cook.phases).map(|span| span.end_min);
    let longest = ends.fold(60.0, f64::max);
    if cooks.len() > MAX_FULL_BARS {
        return thin_bars(cooks, longest);
    }
    let mut blocks = vec![phase_key()];
    for (part, group) in cooks.chunks(BARS_PER_FIGURE).enumerate() {
        let from = part * BARS_PER_FIGURE + 1;
        let range = format!("Cooks {} to {}", count(from), count(from + group.len() - 1));
        let which = if cooks.len() > BARS_PER_FIGURE {
            format!("{range} of {}. ", count(cooks.len()))
        } else {
            String::new()
        };
        let drawing = bars(&format!("fig-bars-{}", part + 1), group, longest, units);
        let figure = Figure::block(
            FigureForm::Bars,
            drawing,
            format!(
                "All bars start at meat-on, so the eye can follow where the stalls begin and how long they last. {which}\
                 The number behind a bar is its length; an arrowhead means that the log ended first."
            ),
        );
        blocks.push(if part < OPEN_FIGURES {
            figure
        } else {
            Block::Details { summary: range.into(), open: false, blocks: vec![figure] }
        });
    }
    blocks
}

/// Thin bars of very many cooks.
fn thin_bars(cooks: &[CookReport], longest_min: f64) -> Vec<Block> {
    let said = paragraph(format!(
        "More than {} cooks: their bars are thin and carry neither names nor numbers; the table of the \
         cooks and the data files have them.",
        count(MAX_FULL_BARS)
    ));
    let figures = cooks.chunks(COMPACT_BARS_PER_FIGURE).enumerate().map(|(part, group)| {
        let from = part * COMPACT_BARS_PER_FIGURE + 1;
        let drawing = compact_bars(&format!("fig-bars-{}", part + 1), group, longest_min);
        Figure::block(
            FigureForm::Bars,
            drawing,
            format!(
                "All bars start at meat-on, in the order of the cooks’ dates: look where the stalls begin, how long they last, and \
                 whether that drifts. Cooks {} to {} of {}.",
                count(from),
                count(from + group.len() - 1),
                count(cooks.len())
            ),
        )
    });
    [said, phase_key()].into_iter().chain(figures).collect()
}

/// The cooks whose curves are drawn: the last [`MAX_CURVES`] that have one.
pub(super) fn drawn_cooks(cooks: &[CookReport]) -> Vec<&CookReport> {
    let with_curve: Vec<&CookReport> = cooks.iter().filter(|cook| cook.curve.is_some()).collect();
    with_curve[with_curve.len().saturating_sub(MAX_CURVES)..].to_vec()
}

/// Small curves, one figure a cook.
pub(super) fn curves(cooks: &[CookReport], anchors: &Anchors, units: Units) -> Vec<Block> {
    let drawn = drawn_cooks(cooks);
    let without = cooks.iter().filter(|cook| cook.curve.is_none()).count();
    let with_curve = cooks.len() - without;
    let mut said = "Thick: core. Thin: pit. The strip at the foot and the ground behind show the phases; upright lines are wrap \
                    and pull. Each curve keeps the lowest and the highest used reading of every short run of readings; what was left out is shown on \
                    the cook’s own page."
        .to_owned();
    if drawn.len() < with_curve {
        let (drawn, all) = (count(drawn.len()), count(with_curve));
        said += &format!(
            " Drawn are the last {drawn} of {all} cooks with a curve; the table below lists all of them."
        );
    }
    if without > 0 {
        said += &format!(" {} without a curve to draw.", words::plural(without, "cook"));
    }
    let gallery = |cooks: &[&CookReport]| {
        Block::Gallery(cooks.iter().map(|cook| small_curve(cook, anchors, units)).collect())
    };
    let (earlier, last) = drawn.split_at(drawn.len().saturating_sub(OPEN_CURVES));
    let mut blocks = vec![paragraph(said), phase_key(), gallery(last)];
    for group in earlier.rchunks(OPEN_CURVES) {
        if let (Some(first), Some(last)) = (group.first(), group.last()) {
            let curves = words::plural(group.len(), "earlier curve");
            blocks.push(Block::Details {
                summary: format!("{curves}, {} to {}", first.day, last.day).into(),
                open: false,
                blocks: vec![gallery(group)],
            });
        }
    }
    blocks
}

fn small_curve(cook: &CookReport, anchors: &Anchors, units: Units) -> Figure {
    let anchor = anchors.of(cook.id());
    let drawing = cook
        .curve
        .as_ref()
        .map(|lines| curve(&format!("{anchor}-fig"), cook, lines, units, CurveSize::Small));
    let name: Inlines =
        cook.page.as_ref().map_or_else(|| (cook.id()).into(), |page| link(page, cook.id()));
    let cut = cook.card.cut.as_ref().map(|cut| format!(", {cut}"));
    Figure {
        form: FigureForm::Curve,
        id: Some(anchor.to_owned()),
        drawing,
        caption: inlines![
            bold(name),
            format!(", {}", cook.day),
            cut,
            format!(". {} ", words::curve_sentence(cook, units)),
            marked(Mark::Shown, shown_points(cook, true))
        ],
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
pub(super) fn cook_table(cooks: &[CookReport], anchors: &Anchors, units: Units) -> Block {
    let degrees = Quantity::Temperature.unit(units);
    let columns = [
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
    let drawn: HashSet<&str> = drawn_cooks(cooks).iter().map(|cook| cook.id()).collect();
    let shown = |quantity: Quantity, value: Option<f64>| -> Cell {
        value.map(|v| quantity.number(v, units)).into()
    };
    let minutes = |value: Option<f64>, open: bool, reason: Option<&str>| {
        let bound = if open { "≥\u{a0}" } else { "" };
        Cell::or_missing(value.map(|v| format!("{bound}{}", number(v, 0))), reason)
    };
    let rows = cooks.iter().map(|cook| -> Vec<Cell> {
        let m = &cook.measures;
        let name: Inlines = if drawn.contains(cook.id()) {
            link(format!("#{}", anchors.of(cook.id())), cook.id())
        } else {
            (cook.id()).into()
        };
        let stall_reason = m.not_judged_reason.as_deref();
        let delay_reason = m.stall_delay_reason.as_deref().or(stall_reason);
        vec![
            inlines![name, cook.page.as_ref().map(|page| to_page(page))].into(),
            marked(Mark::Date, &cook.day).into(),
            cook.card.cut.as_ref().into(),
            cook.card.pit.as_ref().into(),
            shown(Quantity::Mass, m.trimmed_weight_kg.or(m.raw_weight_kg)),
            shown(Quantity::Temperature, m.pit_early_c),
            m.wrap_method.as_ref().into(),
            match (m.wrap_at_core_c, m.wrap_time_known) {
                (None, false) => Cell::missing(Some(words::NOBODY_WROTE_WHEN)),
                (core, _) => shown(Quantity::Temperature, core),
            },
            minutes(m.ramp_min, false, stall_reason),
            Cell::or_missing(
                m.stalls.map(|n| Quantity::Count.number(n as f64, units)),
                stall_reason,
            ),
            minutes(m.stall_min, m.stall_min_censored == Some(true), stall_reason),
            Cell::or_missing(words::stall_interval(m), stall_reason),
            minutes(m.stall_delay_min, m.stall_delay_censored == Some(true), delay_reason),
            minutes(m.push_min, false, stall_reason),
            minutes(m.total_min, m.total_min_censored == Some(true), None),
            shown(Quantity::Temperature, m.pull_core_c),
            minutes(m.rest_min, false, None),
            shown(Quantity::Fraction, m.yield_fraction),
        ]
    });
    let caption = "The cooks, one row each; a linked name leads to the curve";
    let on_request = if cooks.len() > MOST_COOK_PAGES {
        " `cookstudy report --cook` makes the page of a cook."
    } else {
        ""
    };
    let remark = "Weight is trimmed weight where stated, else raw. ≥ marks an open end: the log or the cook ended first. \
                  – without a letter: not stated on the card or not in the log.";
    let table =
        Table::new(caption, columns, rows.collect()).remark(format!("{remark}{on_request}"));
    Table { is_sortable: true, ..table }.into()
}

/// A link to a cook's page behind its name; nothing where it would lead elsewhere.
fn to_page(page: &str) -> Inlines {
    match link_aside(page, "page") {
        Some(link) => inlines![" ", link],
        None => Inlines::default(),
    }
}
