//! What goes with the stall: scatter plots, strip plots, the table of effects and the tables by
//! group.

use cook::Units;
use maud::{Markup, html};

use super::table::{Head, Notes, numbers, table, text};
use super::{Numbering, figure};
use crate::data::{Counted, EffectRow, GroupTable, ReportData, Scatter, Strip};
use crate::figure::{MAX_NAMED_POINTS, scatter, strip};
use crate::units::count;
use crate::words::{self, ShownEffect, plural};

/// One scatter plot under its own heading.
pub(super) fn scatter_figure(data: &Scatter, units: Units, numbering: &Numbering) -> Markup {
    let open = data.points.iter().filter(|point| point.censored).count();
    let caption = html! {
        @match &data.effect {
            Some(effect) => { (data.y_name) ": " (ShownEffect::new(effect, units).sentence()) ". " },
            None => { "Too few cooks for a slope. " },
        }
        "Each dot is one cook"
        @if open > 0 {
            ", each open triangle a cook of which only a lower bound is known (" (plural(open, "cook")) ": the log or the \
             cook ended first)"
        }
        "."
        @if let Some(line) = &data.line {
            " Line: " (line.method) "; band: its " (words::level(line.level)) " interval."
        }
        (too_many(data.points.len()))
        (left_out(&data.left_out))
        @if let Some(note) = &data.note { " " (note) }
    };
    html! {
        h3 id={ "plot-" (data.id) } { (data.y_name) " against " (data.x_name.to_lowercase()) }
        (figure(numbering, "plot", &scatter(&format!("fig-{}", data.id), data, units), &caption))
    }
}

/// One strip plot under its own heading.
pub(super) fn strip_figure(data: &Strip, units: Units, numbering: &Numbering) -> Markup {
    let open = data.groups.iter().flat_map(|g| &g.points).filter(|p| p.censored).count();
    let caption = html! {
        "The upright bar is the median of its group, the dots are single cooks"
        @if open > 0 { ", open triangles lower bounds (" (plural(open, "cook")) ")" }
        ". Read it as what happened: the " (data.by.to_lowercase())
        " was chosen during the cook, often because of how the stall was going, so a difference between the groups is not \
         what the choice did."
        (too_many(data.groups.iter().map(|g| g.points.len()).sum()))
        (left_out(&data.left_out))
        @if let Some(note) = &data.note { " " (note) }
    };
    html! {
        h3 id={ "plot-" (data.id) } { (data.y_name) " by " (data.by.to_lowercase()) ": described, not caused" }
        (figure(numbering, "plot", &strip(&format!("fig-{}", data.id), data, units), &caption))
    }
}

/// Says where points carry no names for want of room in the file.
fn too_many(points: usize) -> Markup {
    html! {
        @if points > MAX_NAMED_POINTS {
            " Over " (count(MAX_NAMED_POINTS)) " points carry no names here; the data files have every cook’s."
        }
    }
}

fn left_out(reasons: &[Counted]) -> Markup {
    let reasons: Vec<String> =
        reasons.iter().map(|r| format!("{} ({})", plural(r.count, "cook"), r.label)).collect();
    html! { @if !reasons.is_empty() { " Left out: " (words::listed(&reasons)) "." } }
}

/// The table of effects.
pub(super) fn effects(rows: &[EffectRow], units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Outcome"),
        text("Term"),
        numbers("Effect", ""),
        numbers("Interval", ""),
        numbers("Level", ""),
        numbers("Cooks", ""),
        numbers("Fires", ""),
        text("Model"),
    ];
    let remarks = rows.iter().any(|row| row.note.is_some());
    let heads: Vec<Head> = heads.into_iter().chain(remarks.then(|| text("Remark"))).collect();
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = rows
        .iter()
        .map(|row| {
            let shown = ShownEffect::new(&row.effect, units);
            let mut cells = vec![
                html! { (row.outcome_name) },
                html! { (row.term) },
                html! { (shown.headline()) },
                html! { (shown.interval()) },
                html! { (words::level(row.effect.level)) },
                html! { (count(row.effect.cooks)) },
                html! { (count(row.effect.fires)) },
                html! { (row.model) },
            ];
            if remarks {
                cells.push(html! { @if let Some(note) = &row.note { (note) } });
            }
            cells
        })
        .collect();
    html! {
        @if rows.is_empty() {
            p { "No effect was estimated: too few cooks were judged." }
        } @else {
            (table(
                numbering,
                "Effects with their intervals. An interval that holds zero leaves the direction open.",
                &heads,
                &rows,
                &notes,
                None,
            ))
        }
    }
}

/// What every other column of the sheet adds to weight and pit.
pub(super) fn further(rows: &[EffectRow], units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Outcome"),
        text("Beside weight and pit"),
        numbers("Effect", ""),
        numbers("Interval", ""),
        numbers("Cooks", ""),
        text("Could it be chance?"),
    ];
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = rows
        .iter()
        .map(|row| {
            let shown = ShownEffect::new(&row.effect, units);
            vec![
                html! { (row.outcome_name) },
                html! { (row.term) },
                html! { (shown.headline()) },
                html! { (shown.interval()) },
                html! { (count(row.effect.cooks)) },
                html! { @if let Some(p) = row.p_adjusted { (words::chance(p)) } },
            ]
        })
        .collect();
    html! {
        (table(
            numbering,
            "What each other column of the sheet goes with, weight and pit temperature held fixed",
            &heads,
            &rows,
            &notes,
            Some("Intervals of 95 %, one column at a time. The last column allows for how many were asked: with enough of them, one will always seem to matter. Found by looking, so at best a claim to write down and confirm. What is chosen while cooking, or goes with the choice of pit or day, is described here, not caused."),
        ))
    }
}

/// One table by group.
pub(super) fn group(data: &GroupTable, units: Units, numbering: &Numbering) -> Markup {
    let mut heads = vec![text(data.by.clone()), numbers("Cooks", ""), numbers("Fires", "")];
    for column in &data.columns {
        heads.push(numbers(column.measure.clone(), column.quantity.unit(units)));
        heads.push(numbers("of cooks", ""));
    }
    let notes = Notes::default();
    let mut open_ended = false;
    let rows: Vec<Vec<Markup>> = data
        .rows
        .iter()
        .map(|row| {
            let mut cells = vec![
                html! { (row.level) },
                html! { (count(row.cooks)) },
                html! { (count(row.fires)) },
            ];
            for (value, column) in row.values.iter().zip(&data.columns) {
                let bound = if value.at_least { "≥\u{a0}" } else { "" };
                let median =
                    value.median.map(|m| format!("{bound}{}", column.quantity.number(m, units)));
                cells.push(notes.or_missing(median, None));
                open_ended |= value.censored > 0;
                cells.push(html! {
                    (count(value.cooks))
                    @if value.censored > 0 { " (" (count(value.censored)) " open)" }
                });
            }
            cells
        })
        .collect();
    let remark = match (data.described_only, open_ended) {
        (true, _) => {
            "Described, not caused: who is wrapped, and how, was decided during the cook. “Open” counts cooks of which only a lower bound is known. – where there are too few cooks for a median."
        }
        (false, true) => {
            "“Open” counts cooks of which only a lower bound is known. – where there are too few cooks for a median."
        }
        (false, false) => "– where there are too few cooks for a median.",
    };
    let caption = if data.described_only {
        format!("Medians by {}: described, not caused", data.by.to_lowercase())
    } else {
        format!("Medians by {}", data.by.to_lowercase())
    };
    table(numbering, &caption, &heads, &rows, &notes, Some(remark))
}

/// The small table of what was cooked.
pub(super) fn summary(data: &ReportData, units: Units, numbering: &Numbering) -> Markup {
    let heads = [
        text("Measure"),
        text("Unit"),
        numbers("Median", ""),
        numbers("Smallest", ""),
        numbers("Largest", ""),
        numbers("Cooks", ""),
        numbers("Open-ended", ""),
    ];
    let notes = Notes::default();
    let rows: Vec<Vec<Markup>> = data
        .summary
        .rows
        .iter()
        .map(|row| {
            let shown = |value: Option<f64>| value.map(|v| row.quantity.number(v, units));
            let bound = if row.median_at_least { "≥\u{a0}" } else { "" };
            vec![
                html! { (row.measure) },
                html! { (row.quantity.unit(units)) },
                notes.or_missing(shown(row.median).map(|m| format!("{bound}{m}")), None),
                notes.or_missing(shown(row.min), None),
                notes.or_missing(shown(row.max), None),
                html! { (count(row.cooks)) },
                html! { (count(row.censored)) },
            ]
        })
        .collect();
    html! {
        @if !rows.is_empty() {
            (table(
                numbering,
                "What was cooked, over all cooks with a value",
                &heads,
                &rows,
                &notes,
                Some("Open-ended cooks count with the lower bound that is known of them. – where nothing was stated or measured."),
            ))
        }
    }
}
