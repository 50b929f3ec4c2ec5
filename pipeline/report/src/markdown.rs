//! The season report for a wiki: the same findings as text and tables in Markdown (GitHub's tables).

mod cost;

use std::fmt::Write as _;

use cook::Units;

use crate::agenda::{Agenda, answer};
use crate::data::{ClaimReport, Glance, MedianRange, ReportData};
use crate::units::{Quantity, count, number, signed};
use crate::words::{self, plural};

/// Cooks in the table of cooks; all of them are in the data files.
const MOST_COOKS: usize = 200;

/// The report as Markdown.
pub(crate) fn season(data: &ReportData, units: Units) -> String {
    let mut page = String::new();
    let seasons = words::listed(&data.seasons);
    let s = &data.summary;
    heading(&mut page, 1, &format!("{}: {seasons}", data.team));
    paragraph(
        &mut page,
        &format!(
            "{}, {} hours on the pit{}.",
            words::cooks_on_fires(s.cooks, s.fires),
            number(s.cooking_hours, 0),
            words::dates(s.first_day.as_deref(), s.last_day.as_deref())
                .map_or(String::new(), |dates| format!(", {dates}"))
        ),
    );
    paragraph(
        &mut page,
        "**Caution.** Undercooked or badly held meat makes people ill, fire burns, and carbon monoxide kills. This page describes \
         curves of past cooks; it does not find any food fit to eat. Local food codes and licensed practice decide.",
    );
    let agenda = Agenda::new(data, units);
    for (title, claims) in
        [("Settled", &agenda.settled), ("Dropped", &agenda.dropped), ("Still open", &agenda.open)]
    {
        heading(&mut page, 2, title);
        list(&mut page, claims, units);
    }
    heading(&mut page, 2, "What to try next");
    for line in &agenda.next {
        let _ = writeln!(page, "- {}", escaped(line));
    }
    page.push('\n');
    if !data.glance.is_empty() {
        heading(&mut page, 2, "The season at a glance");
        glance(&mut page, &data.glance, units);
    }
    if !data.charts.is_empty() {
        heading(&mut page, 2, "How steady it was");
        for chart in &data.charts {
            let outside = chart.points.iter().filter(|p| p.outside).count();
            let shifts: Vec<String> = chart
                .shifts
                .iter()
                .map(|shift| {
                    format!(
                        "{} to {} with the fire of {}",
                        chart.quantity.show(shift.before, units),
                        chart.quantity.show(shift.after, units),
                        shift.day
                    )
                })
                .collect();
            let shifts = if shifts.is_empty() {
                "no shift of the mean that the data support".to_owned()
            } else {
                format!("the mean shifts from {}", words::listed(&shifts))
            };
            let _ = writeln!(
                page,
                "- {}: mean {}, limits {} to {}, {} of {} outside; {}.",
                escaped(&chart.name),
                chart.quantity.show(chart.centre, units),
                chart.quantity.show(chart.lower, units),
                chart.quantity.show(chart.upper, units),
                count(outside),
                plural(chart.points.len(), "fire"),
                shifts
            );
        }
        page.push('\n');
    }
    for compared in &data.comparisons {
        heading(&mut page, 2, compared.heading());
        for sentence in compared.sentences(units) {
            let _ = writeln!(page, "- {}", escaped(&sentence));
        }
        let _ = writeln!(page, "\n{}\n", escaped(&compared.about()));
    }
    cost::cost(&mut page, &data.cost, units);
    if !data.levers.is_empty() {
        heading(&mut page, 2, "Other levers");
        for lever in &data.levers {
            let said = escaped(&words::lever_sentence(lever));
            let _ = writeln!(page, "- **{}.** {said}", escaped(&lever.name));
        }
        page.push('\n');
        paragraph(
            &mut page,
            "As far as the logs show what the team went by: habits that no log shows may still stand behind it.",
        );
    }
    cooks(&mut page, data, units);
    left_out(&mut page, data);
    heading(&mut page, 2, "Making this again");
    paragraph(
        &mut page,
        &format!(
            "Version {}, settings `{}`, seed `{}`. Figures, methods, sources and the account of every line are in `report.html`, the \
             numbers in `data/`.",
            data.stamp.version, data.stamp.settings_hash, data.stamp.seed
        ),
    );
    page
}

fn heading(page: &mut String, level: usize, text: &str) {
    let _ = writeln!(page, "{} {}\n", "#".repeat(level), escaped(text));
}

fn paragraph(page: &mut String, text: &str) {
    let _ = writeln!(page, "{text}\n");
}

/// Text that means itself in Markdown and in HTML within it, on one line.
fn escaped(text: &str) -> String {
    let mut said = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | '`' | '*' | '_' | '[' | ']' | '|' | '#' | '~' => {
                said.push('\\');
                said.push(letter);
            }
            '<' => said.push_str("&lt;"),
            '>' => said.push_str("&gt;"),
            '&' => said.push_str("&amp;"),
            letter if letter.is_control() => said.push(' '),
            letter => said.push(letter),
        }
    }
    said
}

fn list(page: &mut String, claims: &[&ClaimReport], units: Units) {
    if claims.is_empty() {
        paragraph(page, "Nothing.");
        return;
    }
    for claim in claims {
        let _ =
            writeln!(page, "- **“{}”** {}", escaped(&claim.says), escaped(&answer(claim, units)));
    }
    page.push('\n');
}

fn row(page: &mut String, cells: &[String]) {
    let _ = writeln!(page, "| {} |", cells.join(" | "));
}

fn table(page: &mut String, heads: &[String], rows: &[Vec<String>]) {
    row(page, heads);
    row(page, &vec!["---".to_owned(); heads.len()]);
    for cells in rows {
        row(page, cells);
    }
    page.push('\n');
}

fn ranged(range: Option<MedianRange>, show: &dyn Fn(f64) -> String) -> String {
    range.map_or("–".to_owned(), |r| {
        format!("{} ({} to {}; {})", show(r.median), show(r.min), show(r.max), count(r.cooks))
    })
}

fn glance(page: &mut String, data: &[Glance], units: Units) {
    let mass = Quantity::Mass.unit(units);
    let mut heads = vec!["What".to_owned()];
    heads.extend(data.iter().map(|g| escaped(g.season.as_deref().unwrap_or("All"))));
    let of = |name: String, cell: &dyn Fn(&Glance) -> String| -> Vec<String> {
        std::iter::once(name).chain(data.iter().map(cell)).collect()
    };
    let mut rows = vec![
        of("Cooks with a card, on fires".into(), &|g| {
            format!("{} on {}", count(g.cooks), count(g.fires))
        }),
        of("Hours on the pit".into(), &|g| g.hours.map_or("–".into(), |h| number(h, 0))),
        of(format!("Fuel, {mass}"), &|g| {
            g.fuel_kg.map_or("–".into(), |kg| Quantity::Mass.number(kg, units))
        }),
        of("Yield, %".into(), &|g| {
            ranged(g.yield_fraction, &|v| Quantity::Fraction.number(v, units))
        }),
        of(format!("Cost of the meat per served {mass}"), &|g| {
            ranged(g.cost_per_served_kg, &|v| number(Quantity::MinutesPerMass.value(v, units), 2))
        }),
        of("Pull against plan, min (+ is late)".into(), &|g| ranged(g.late_min, &|v| signed(v, 0))),
        of("Pull before turn-in, min".into(), &|g| ranged(g.turn_in_margin_min, &|v| number(v, 0))),
    ];
    let mut names: Vec<&String> = Vec::new();
    for (name, _) in data.iter().flat_map(|g| &g.scores) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    for name in names {
        rows.push(of(escaped(name), &|g| {
            let range = g.scores.iter().find(|(other, _)| other == name).map(|(_, range)| *range);
            ranged(range, &|v| number(v, 1))
        }));
    }
    paragraph(page, "Medians, with smallest, largest and number of cooks.");
    table(page, &heads, &rows);
}

fn cooks(page: &mut String, data: &ReportData, units: Units) {
    heading(page, 2, "The cooks");
    let shown = &data.cooks[data.cooks.len().saturating_sub(MOST_COOKS)..];
    if shown.len() < data.cooks.len() {
        let text = format!(
            "The last {} of {}; `data/measures.csv` has all of them.",
            count(shown.len()),
            plural(data.cooks.len(), "cook")
        );
        paragraph(page, &text);
    }
    let heads =
        ["Cook", "Date", "Cut", "Wrap", "Stall", "90 % interval, min", "Stall delay", "Total, min"];
    let dash = || "–".to_owned();
    let rows: Vec<Vec<String>> = shown
        .iter()
        .map(|cook| {
            let m = &cook.measures;
            let name = escaped(&cook.id);
            let text = |value: &Option<String>| value.as_deref().map_or_else(dash, escaped);
            vec![
                match cook.page.as_ref().filter(|page| !page.contains([' ', ')', '(', '<'])) {
                    Some(page) => format!("[{name}]({page})"),
                    None => name,
                },
                escaped(&cook.day),
                text(&cook.cut),
                text(&m.wrap_method),
                words::stall_length(m).unwrap_or_else(dash),
                words::stall_interval(m).unwrap_or_else(dash),
                words::stall_delay(m).unwrap_or_else(dash),
                m.total_min.map_or_else(dash, |minutes| {
                    let bound = if m.total_min_censored { "≥\u{a0}" } else { "" };
                    format!("{bound}{}", Quantity::Minutes.number(minutes, units))
                }),
            ]
        })
        .collect();
    table(page, &heads.map(str::to_owned), &rows);
}

fn left_out(page: &mut String, data: &ReportData) {
    heading(page, 2, "What was not used");
    if data.excluded.is_empty() && data.refused_logs.is_empty() && data.rejected_total == 0 {
        paragraph(page, "Nothing was left out.");
        return;
    }
    for cook in &data.excluded {
        let _ = writeln!(page, "- {}: {}", escaped(&cook.cook), escaped(&cook.reason));
    }
    for log in &data.refused_logs {
        let _ = writeln!(page, "- {}: {}", escaped(&log.source), escaped(&log.reason));
    }
    let _ = writeln!(
        page,
        "- Rows rejected: {}; `data/rejected.csv` has each.\n",
        count(data.rejected_total)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_means_itself() {
        assert_eq!(
            escaped("a|b *c* <d> & [e](f)\n#"),
            "a\\|b \\*c\\* &lt;d&gt; &amp; \\[e\\](f) \\#"
        );
    }
}
