//! The season as a whole: at a glance, how steady it was, contests and bests, time to the finish by
//! wrap.

use cook::Units;

use super::Anchors;
use crate::data::ReportData;
use crate::document::{
    Block, Cell, Figure, FigureForm, Inlines, Mark, Table, heading_at, inlines, link, list, marked,
    numbers, paragraph, sources, text,
};
use crate::figure::{control_chart, finish_curves};
use crate::names::{name_of, quantity_of};
use crate::units::{Quantity, count, number, signed};
use crate::words::{self, duration, plural};
use std::collections::HashMap;
use study::result::chart::ControlChart;
use study::result::finish::FinishByWrap;
use study::result::season::{Glance, Median};

/// Fires outside the limits that a sentence names.
const MOST_NAMED: usize = 6;

/// Money by mass: converts like minutes by mass.
pub(super) fn per_mass(value: f64, units: Units) -> String {
    number(Quantity::MinutesPerMass.value(value, units), 2)
}

/// The median, with its range behind it.
pub(super) fn ranged(range: Option<Median>, show: &dyn Fn(f64) -> String) -> Cell {
    let text = range.map(|r| {
        let range = format!("{} to {}; {}", show(r.min), show(r.max), count(r.cooks));
        inlines![show(r.median), marked(Mark::Range, range)]
    });
    text.into()
}

/// The glance: one column a season.
pub(super) fn glance(data: &[Glance], units: Units) -> Option<Block> {
    let mass = Quantity::Mass.unit(units);
    let columns = std::iter::once(text("What"))
        .chain(data.iter().map(|g| numbers(g.season.as_deref().unwrap_or("All"), "")));
    let row = |name: String, cell: &dyn Fn(&Glance) -> Cell| -> Vec<Cell> {
        std::iter::once(name.into()).chain(data.iter().map(cell)).collect()
    };
    let fuel = |g: &Glance| {
        let kg = Quantity::Mass.number(g.fuel_kg?, units);
        Some(format!("{kg} ({})", count(g.fuel_fires)))
    };
    let mut rows = vec![
        row("Cooks with a card, on fires".into(), &|g| {
            format!("{} on {}", count(g.cooks), count(g.fires)).into()
        }),
        row("Hours on the pit".into(), &|g| g.hours.map(|h| number(h, 0)).into()),
        row(format!("Fuel, {mass} (fires that state it)"), &|g| fuel(g).into()),
        row("Yield, %".into(), &|g| {
            ranged(g.yield_fraction, &|v| Quantity::Fraction.number(v, units))
        }),
        row(format!("Cost of the meat per served {mass}"), &|g| {
            ranged(g.cost_per_served_kg, &|v| per_mass(v, units))
        }),
    ];
    let mut scores: Vec<&str> = Vec::new();
    for score in data.iter().flat_map(|g| &g.scores) {
        if !scores.contains(&score.score.as_str()) {
            scores.push(&score.score);
        }
    }
    for score in scores {
        rows.push(row(name_of(score), &|g| ranged(g.points(score), &|v| number(v, 1))));
    }
    rows.push(row("Pull against plan, min (+ is late)".into(), &|g| {
        ranged(g.late_min, &|v| signed(v, 0))
    }));
    rows.push(row("Pull before turn-in, min".into(), &|g| {
        ranged(g.turn_in_margin_min, &|v| number(v, 0))
    }));
    rows.push(row("Pulled after turn-in".into(), &|g| count(g.past_turn_in).into()));
    let caption = "The season at a glance: medians, with smallest, largest and number of cooks";
    let remark = "Cooks of one fire share its fuel, which counts once. – where no card states it.";
    let table = Table::new(caption, columns.collect::<Vec<_>>(), rows).remark(remark);
    (!data.is_empty()).then(|| table.into())
}

/// The control charts, each with the sentence of what it shows.
pub(super) fn consistency(
    charts: &[ControlChart],
    days: &HashMap<&str, &str>,
    units: Units,
) -> Vec<Block> {
    if charts.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![paragraph(
        "One point a fire, the mean over its cooks, in the order of the dates. The dashed limits are the mean ± 2.66 mean moving \
         ranges: what the scatter from one fire to the next explains. Some 3 in 1000 points of an undisturbed normal series lie \
         outside; of a skewed one more. A shift is told only where at most 1 % of random orders of the fires show one as large. \
         Charts mix cuts, pits and seasons: a change of what is cooked shows as well as a change of how.",
    )];
    for chart in charts {
        let id = format!("chart-{}", chart.measure.replace('_', "-"));
        let drawing = control_chart(&format!("fig-{id}"), chart, days, units);
        blocks.push(heading_at(id, name_of(&chart.measure)));
        blocks.push(Figure::block(FigureForm::Large, drawing, caption(chart, days, units)));
    }
    blocks.push(sources(
        "Sources: Montgomery, Introduction to Statistical Quality Control, control chart for individual measurements; ISO 7870-2; \
         Antoch and Hušková (2001), Statistics & Probability Letters 53, 37–46, and Vostrikova (1981) for the shifts.",
    ));
    blocks
}

/// What a chart shows, in a sentence or two.
fn caption(chart: &ControlChart, days: &HashMap<&str, &str>, units: Units) -> String {
    let shown = |si: f64| quantity_of(&chart.measure).show(si, units);
    let day = |cook: &str| days.get(cook).copied().unwrap_or_default();
    let outside: Vec<String> = chart
        .points
        .iter()
        .filter(|p| p.outside)
        .map(|p| format!("{} on {}", shown(p.value), day(&p.cook)))
        .collect();
    let mut said = String::new();
    for shift in &chart.shifts {
        said += &format!(
            "The mean shifts from {} to {} with the fire of {} (p {}). ",
            shown(shift.before),
            shown(shift.after),
            day(&shift.cook),
            small_p(shift.p)
        );
    }
    said += if chart.shifts.is_empty() {
        "No lasting change over the season. "
    } else {
        "Bars: the means between shifts. "
    };
    said += &if outside.is_empty() {
        "No fire lies outside the limits".to_owned()
    } else {
        format!(
            "{} outside the limits (diamonds): {}{}",
            plural(outside.len(), "fire"),
            words::listed(&outside[..outside.len().min(MOST_NAMED)]),
            if outside.len() > MOST_NAMED { " and others" } else { "" }
        )
    };
    said + &format!(
        ". Mean {}, limits {} to {}, {}.",
        shown(chart.centre),
        shown(chart.lower),
        shown(chart.upper),
        plural(chart.points.len(), "fire")
    )
}

fn small_p(p: f64) -> String {
    if p < 0.001 { "< 0.001".to_owned() } else { format!("= {}", number(p, 3)) }
}

/// The charts in a line each, for a page without drawings.
pub(super) fn consistency_in_brief(
    charts: &[ControlChart],
    days: &HashMap<&str, &str>,
    units: Units,
) -> Option<Block> {
    list(charts.iter().map(|chart| {
        let shown = |si: f64| quantity_of(&chart.measure).show(si, units);
        let day = |cook: &str| days.get(cook).copied().unwrap_or_default();
        let shifts: Vec<String> = chart
            .shifts
            .iter()
            .map(|shift| {
                let (before, after) = (shown(shift.before), shown(shift.after));
                format!("{before} to {after} with the fire of {}", day(&shift.cook))
            })
            .collect();
        let shifts = if shifts.is_empty() {
            "no lasting change over the season".to_owned()
        } else {
            format!("the mean shifts from {}", words::listed(&shifts))
        };
        format!(
            "{}: mean {}, limits {} to {}, {} of {} outside; {shifts}.",
            name_of(&chart.measure),
            shown(chart.centre),
            shown(chart.lower),
            shown(chart.upper),
            count(chart.points.iter().filter(|p| p.outside).count()),
            plural(chart.points.len(), "fire"),
        )
    }))
}

/// Time to the finish by wrap, with numbers at risk.
pub(super) fn finish(data: &FinishByWrap) -> Vec<Block> {
    let mut columns = vec![
        text("Wrap"),
        numbers("Cooks", ""),
        numbers("Finished", ""),
        numbers("Half finished by", ""),
        numbers("Interval", ""),
    ];
    columns.extend(
        data.risk_at_min.iter().map(|min| numbers(format!("{} h", number(min / 60.0, 0)), "")),
    );
    let rows: Vec<Vec<Cell>> = data
        .curves
        .iter()
        .map(|curve| {
            let interval = curve.median_lo_min.map(|lo| match curve.median_hi_min {
                Some(hi) => format!("{} to {}", duration(lo), duration(hi)),
                None => format!("{} or more", duration(lo)),
            });
            let mut cells: Vec<Cell> = vec![
                (&curve.wrap).into(),
                count(curve.cooks).into(),
                count(curve.finished).into(),
                curve.median_min.map(duration).into(),
                interval.into(),
            ];
            cells.extend(curve.at_risk.iter().map(|n| Cell::from(count(*n))));
            cells
        })
        .collect();
    let mut caption = Inlines::from(
        "Share of cooks whose core has not reached the finish, on the study clock (zero: the core’s first 55 °C). Upright ticks: cooks \
         whose log or fire ended first. A cook counts from zero under the wrap that it ended up in, and it had to last until that wrap \
         to be counted there: the curves describe these cooks and do not say what a wrap does.",
    );
    if data.too_few > 0 {
        let left_out = plural(data.too_few, "cook");
        caption.push(format!(" Left out: {left_out} of wraps with fewer than five."));
    }
    let table = Table::new(
        "Cooks still at risk at each hour, and by when half had finished: described, not caused",
        columns,
        rows,
    );
    let remark = format!(
        "Kaplan and Meier’s estimate; intervals of {} on the log–log scale (Brookmeyer and Crowley 1982), as if each cook had its own fire.",
        words::level(data.level)
    );
    vec![
        heading_at("plot-finish-by-wrap", "Time to the finish by wrap: described, not caused"),
        Figure::block(FigureForm::Plot, finish_curves("fig-finish-by-wrap", data), caption),
        table.remark(remark).into(),
    ]
}

/// Contests and bests.
pub(super) fn contests(data: &ReportData, anchors: &Anchors, units: Units) -> Vec<Block> {
    let mut names: Vec<&String> = Vec::new();
    for (name, _) in data.contests.iter().flat_map(|c| &c.scores) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let to_cook = |cook: &str| link(format!("#{}", anchors.of(cook)), cook);
    let mut columns = vec![
        text("Cook"),
        text("Contest"),
        numbers("Pull before turn-in", "min"),
        numbers("Pull against plan", "min"),
    ];
    columns.extend(names.iter().map(|name| numbers(name.as_str(), "")));
    let rows: Vec<Vec<Cell>> = data
        .contests
        .iter()
        .map(|cook| {
            let mut cells: Vec<Cell> = vec![
                to_cook(&cook.cook).into(),
                cook.contest.as_ref().into(),
                cook.turn_in_margin_min.map(|m| number(m, 0)).into(),
                cook.late_min.map(|m| signed(m, 0)).into(),
            ];
            cells.extend(names.iter().map(|name| {
                let score = cook.scores.iter().find(|(other, _)| other == *name);
                Cell::from(score.map(|(_, score)| number(*score, 1)))
            }));
            cells
        })
        .collect();
    let mut blocks = vec![if rows.is_empty() {
        paragraph("No contest among these cooks.")
    } else {
        let remark = "– where the card or the log does not say.";
        Table::new("Contest cooks", columns, rows).remark(remark).into()
    }];
    if !data.bests.is_empty() {
        let bests = data.bests.iter().map(|best| {
            let mut cooks = Inlines::default();
            for (place, cook) in best.cooks.iter().enumerate() {
                cooks.push((place > 0).then_some(", "));
                cooks.push(to_cook(cook));
            }
            vec![
                (&best.what).into(),
                best.quantity.show(best.value, units).into(),
                cooks.into(),
                count(best.of).into(),
            ]
        });
        let columns =
            [text("In what"), numbers("Value", ""), text("Cook"), numbers("Of cooks", "")];
        let remark = "The best of many is partly luck: the next cook done alike will most likely be nearer the middle.";
        blocks.push(
            Table::new("Bests of the season", columns, bests.collect()).remark(remark).into(),
        );
    }
    blocks
}
