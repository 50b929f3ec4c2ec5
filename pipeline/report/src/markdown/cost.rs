//! What faster costs, in Markdown.

use std::fmt::Write as _;

use cook::Units;

use super::{escaped, heading, paragraph, table};
use crate::data::CostReport;
use crate::units::{Quantity, count};
use crate::words::{
    ShownEffect, capitalised, contrast_label, cost_difference, cost_finding, cost_standing,
    trade_sentence, with_ends,
};

pub(super) fn cost(page: &mut String, data: &CostReport, units: Units) {
    let answered = || data.treatments.iter().filter(|own| !own.contrasts.is_empty());
    if answered().next().is_none() && data.tender.rows.is_empty() {
        return;
    }
    heading(page, 2, "What it costs");
    for treatment in answered() {
        let title =
            format!("{} ({})", capitalised(&treatment.name), cost_standing(treatment.standing));
        heading(page, 3, &title);
        for contrast in &treatment.contrasts {
            let _ = writeln!(page, "- {}", escaped(&trade_sentence(contrast, units)));
        }
        page.push('\n');
        let heads = ["What", "Outcome", "Difference", "95 % interval", "Answer", "Cooks, fires"];
        let rows: Vec<Vec<String>> = treatment
            .contrasts
            .iter()
            .flat_map(|contrast| {
                contrast.outcomes.iter().map(move |difference| {
                    let shown = cost_difference(difference, units);
                    vec![
                        escaped(&contrast_label(contrast, units)),
                        escaped(&difference.outcome_name),
                        shown.headline(),
                        shown.interval(),
                        cost_finding(difference.finding).to_owned(),
                        format!(
                            "{}, {}",
                            count(difference.effect.cooks),
                            count(difference.effect.fires)
                        ),
                    ]
                })
            })
            .collect();
        table(page, &heads.map(str::to_owned), &rows);
    }
    let tender = &data.tender;
    if tender.rows.is_empty() {
        return;
    }
    heading(page, 3, "At what core temperature meat was felt to be tender");
    paragraph(
        page,
        "**Feel decides, not the number.** One probe reads one place. This describes what this team’s hands found; it says nothing on \
         whether food may be eaten, and is no target to pull at.",
    );
    let unit = Quantity::Temperature.unit(units);
    let heads = [
        "Cooks".to_owned(),
        "Cooks, fires".to_owned(),
        format!("Half by, {unit}, no shape assumed"),
        format!("10 % by, {unit}"),
        format!("Half by, {unit}"),
        format!("90 % by, {unit}"),
    ];
    let rows: Vec<Vec<String>> = tender
        .rows
        .iter()
        .map(|row| {
            let shown = |quantile: Option<&[Option<f64>; 3]>| {
                quantile.map_or_else(
                    || "–".to_owned(),
                    |ends| {
                        let ends = ends.map(|end| Some(Quantity::Temperature.value(end?, units)));
                        with_ends(ends, 0)
                    },
                )
            };
            let mut cells = vec![
                escaped(&row.label),
                format!("{}, {}", count(row.cooks), count(row.fires)),
                shown(row.turnbull.get(1)),
            ];
            cells.extend((0..3).map(|place| shown(row.normal.get(place))));
            cells
        })
        .collect();
    table(page, &heads, &rows);
    for (label, effect) in &tender.differences {
        let shown = ShownEffect::new(effect, units);
        let _ = writeln!(page, "- {}: {}, described, not caused", escaped(label), shown.sentence());
    }
    page.push('\n');
}
