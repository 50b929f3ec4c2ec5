//! The season as a whole: at a glance, how steady it was, contests and bests, time to the finish by
//! wrap.

use cook::Units;
use maud::{Markup, html};

use super::table::{Notes, numbers, table, text};
use super::{Anchors, Numbering, figure};
use crate::data::{ControlChart, FinishByWrap, Glance, MedianRange, ReportData};
use crate::figure::{control_chart, finish_curves};
use crate::units::{Quantity, count, number, signed};
use crate::words::{self, duration, plural};

/// Money by mass: converts like minutes by mass.
fn per_mass(value: f64, units: Units) -> String {
    number(Quantity::MinutesPerMass.value(value, units), 2)
}

fn ranged(range: Option<MedianRange>, show: &dyn Fn(f64) -> String, notes: &Notes) -> Markup {
    let Some(r) = range else { return notes.missing(None) };
    html! {
        (show(r.median))
        span.range { (show(r.min)) " to " (show(r.max)) "; " (count(r.cooks)) }
    }
}

/// The glance: one column a season.
pub(super) fn glance(data: &[Glance], units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let mut heads = vec![text("What")];
    heads
        .extend(data.iter().map(|g| numbers(g.season.clone().unwrap_or_else(|| "All".into()), "")));
    let row = |name: String, cell: &dyn Fn(&Glance) -> Markup| -> Vec<Markup> {
        std::iter::once(html! { (name) }).chain(data.iter().map(cell)).collect()
    };
    let mass = Quantity::Mass.unit(units);
    let mut rows = vec![
        row(
            "Cooks with a card, on fires".into(),
            &|g| html! { (count(g.cooks)) " on " (count(g.fires)) },
        ),
        row("Hours on the pit".into(), &|g| notes.or_missing(g.hours.map(|h| number(h, 0)), None)),
        row(format!("Fuel, {mass} (fires that state it)"), &|g| {
            notes.or_missing(
                g.fuel_kg.map(|kg| {
                    format!("{} ({})", Quantity::Mass.number(kg, units), count(g.fuel_fires))
                }),
                None,
            )
        }),
        row("Yield, %".into(), &|g| {
            ranged(g.yield_fraction, &|v| Quantity::Fraction.number(v, units), &notes)
        }),
        row(format!("Cost of the meat per served {mass}"), &|g| {
            ranged(g.cost_per_served_kg, &|v| per_mass(v, units), &notes)
        }),
    ];
    let mut names: Vec<&String> = Vec::new();
    for (name, _) in data.iter().flat_map(|g| &g.scores) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    for name in names {
        rows.push(row(name.clone(), &|g| {
            let range = g.scores.iter().find(|(other, _)| other == name).map(|(_, range)| *range);
            ranged(range, &|v| number(v, 1), &notes)
        }));
    }
    rows.push(row("Pull against plan, min (+ is late)".into(), &|g| {
        ranged(g.late_min, &|v| signed(v, 0), &notes)
    }));
    rows.push(row("Pull before turn-in, min".into(), &|g| {
        ranged(g.turn_in_margin_min, &|v| number(v, 0), &notes)
    }));
    rows.push(row("Pulled after turn-in".into(), &|g| html! { (count(g.past_turn_in)) }));
    html! {
        @if !data.is_empty() {
            (table(
                numbering,
                "The season at a glance: medians, with smallest, largest and number of cooks",
                &heads,
                &rows,
                &notes,
                Some("Cooks of one fire share its fuel, which counts once. – where no card states it."),
            ))
        }
    }
}

/// The control charts, each with the sentence of what it shows.
pub(super) fn consistency(charts: &[ControlChart], units: Units, numbering: &Numbering) -> Markup {
    html! {
        @if charts.is_empty() { p { "Too few fires for a control chart: it needs eight with a value." } } @else {
            p {
                "One point a fire, the mean over its cooks, in the order of the dates. The dashed limits are the mean ± 2.66 mean moving \
                 ranges: what the scatter from one fire to the next explains. Some 3 in 1000 points of an undisturbed normal series lie \
                 outside; of a skewed one more. A shift is told only where at most 1 % of random orders of the fires show one as large. \
                 Charts mix cuts, pits and seasons: a change of what is cooked shows as well as a change of how."
            }
            @for chart in charts {
                h3 id={ "chart-" (chart.id) } { (chart.name) }
                (figure(numbering, "large", &control_chart(&format!("fig-chart-{}", chart.id), chart, units), &caption(chart, units)))
            }
            p.sources {
                "Sources: Montgomery, Introduction to Statistical Quality Control, control chart for individual measurements; ISO 7870-2; \
                 Antoch and Hušková (2001), Statistics & Probability Letters 53, 37–46, and Vostrikova (1981) for the shifts."
            }
        }
    }
}

/// What a chart shows, in a sentence or two.
pub(super) fn caption(chart: &ControlChart, units: Units) -> Markup {
    let outside: Vec<String> = chart
        .points
        .iter()
        .filter(|p| p.outside)
        .map(|p| format!("{} on {}", chart.quantity.show(p.value, units), p.day))
        .collect();
    let plus = |si: f64| chart.quantity.show(si, units);
    html! {
        @match chart.shifts.len() {
            0 => "No shift of the mean that the data support. ",
            _ => {
                @for shift in &chart.shifts {
                    "The mean shifts from " (plus(shift.before)) " to " (plus(shift.after)) " with the fire of " (shift.day)
                    " (p " (small_p(shift.p)) "). "
                }
                "Bars: the means between shifts. "
            },
        }
        @if outside.is_empty() { "No fire lies outside the limits" } @else {
            (plural(outside.len(), "fire")) " outside the limits (diamonds): "
            (words::listed(&outside[..outside.len().min(6)]))
            @if outside.len() > 6 { " and others" }
        }
        ". Mean " (plus(chart.centre)) ", limits " (plus(chart.lower)) " to " (plus(chart.upper)) ", "
        (plural(chart.points.len(), "fire")) "."
    }
}

fn small_p(p: f64) -> String {
    if p < 0.001 { "< 0.001".to_owned() } else { format!("= {}", number(p, 3)) }
}

/// Time to the finish by wrap, with numbers at risk.
pub(super) fn finish(data: &FinishByWrap, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let mut heads = vec![
        text("Wrap"),
        numbers("Cooks", ""),
        numbers("Finished", ""),
        numbers("Half finished by", ""),
        numbers("Interval", ""),
    ];
    heads.extend(
        data.risk_at_min.iter().map(|min| numbers(format!("{} h", number(min / 60.0, 0)), "")),
    );
    let rows: Vec<Vec<Markup>> = data
        .curves
        .iter()
        .map(|curve| {
            let [median, lo, hi] = curve.median_min;
            let interval = lo.map(|lo| match hi {
                Some(hi) => format!("{} to {}", duration(lo), duration(hi)),
                None => format!("{} or more", duration(lo)),
            });
            let mut cells = vec![
                html! { (curve.wrap) },
                html! { (count(curve.cooks)) },
                html! { (count(curve.finished)) },
                notes.or_missing(median.map(duration), None),
                notes.or_missing(interval, None),
            ];
            cells.extend(curve.at_risk.iter().map(|n| html! { (count(*n)) }));
            cells
        })
        .collect();
    html! {
        h3 id="plot-finish-by-wrap" { "Time to the finish by wrap: described, not caused" }
        (figure(numbering, "plot", &finish_curves("fig-finish-by-wrap", data), &html! {
            "Share of cooks whose core has not reached the finish, on the study clock (zero: the core’s first 55 °C). Upright ticks: cooks \
             whose log or fire ended first. A cook counts from zero under the wrap that it ended up in, and it had to last until that wrap \
             to be counted there: the curves describe these cooks and do not say what a wrap does."
            @if data.too_few > 0 { " Left out: " (plural(data.too_few, "cook")) " of wraps with fewer than five." }
        }))
        (table(
            numbering,
            "Cooks still at risk at each hour, and by when half had finished: described, not caused",
            &heads,
            &rows,
            &notes,
            Some(&format!(
                "Kaplan and Meier’s estimate; intervals of {} on the log–log scale (Brookmeyer and Crowley 1982), as if each cook had its own fire.",
                words::level(data.level)
            )),
        ))
    }
}

/// Contests and bests.
pub(super) fn contests(
    data: &ReportData,
    anchors: &Anchors,
    units: Units,
    numbering: &Numbering,
) -> Markup {
    let notes = Notes::default();
    let mut names: Vec<&String> = Vec::new();
    for (name, _) in data.contests.iter().flat_map(|c| &c.scores) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let mut heads = vec![
        text("Cook"),
        text("Contest"),
        numbers("Pull before turn-in", "min"),
        numbers("Pull against plan", "min"),
    ];
    heads.extend(names.iter().map(|name| numbers(name.as_str(), "")));
    let rows: Vec<Vec<Markup>> = data
        .contests
        .iter()
        .map(|cook| {
            let mut cells = vec![
                html! { a href={ "#" (anchors.of(&cook.cook)) } { (cook.cook) } },
                notes.or_missing(cook.contest.clone(), None),
                notes.or_missing(cook.turn_in_margin_min.map(|m| number(m, 0)), None),
                notes.or_missing(cook.late_min.map(|m| signed(m, 0)), None),
            ];
            cells.extend(names.iter().map(|name| {
                let score = cook.scores.iter().find(|(other, _)| other == *name);
                notes.or_missing(score.map(|(_, score)| number(*score, 1)), None)
            }));
            cells
        })
        .collect();
    let bests: Vec<Vec<Markup>> = data
        .bests
        .iter()
        .map(|best| {
            vec![
                html! { (best.what) },
                html! { (best.quantity.show(best.value, units)) },
                html! {
                    @for (i, cook) in best.cooks.iter().enumerate() {
                        @if i > 0 { ", " }
                        a href={ "#" (anchors.of(cook)) } { (cook) }
                    }
                },
                html! { (count(best.of)) },
            ]
        })
        .collect();
    html! {
        @if rows.is_empty() { p { "No contest among these cooks." } } @else {
            (table(numbering, "Contest cooks", &heads, &rows, &notes, Some("– where the card or the log does not say.")))
        }
        @if !bests.is_empty() {
            (table(
                numbering,
                "Bests of the season",
                &[text("In what"), numbers("Value", ""), text("Cook"), numbers("Of cooks", "")],
                &bests,
                &Notes::default(),
                Some("The best of many is partly luck: the next cook done alike will most likely be nearer the middle."),
            ))
        }
    }
}
