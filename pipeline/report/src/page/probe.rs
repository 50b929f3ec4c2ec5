//! What one probe tells of times and temperatures, with the limits that food rules name beside the
//! figures, and what a single probe cannot know.

use columns::Description;
use columns::measures::{self as column, Measures};
use cook::Units;

use super::Anchors;
use crate::data::ReportData;
use crate::document::{Block, Cell, Table, inlines, link, list, numbers, paragraph, sources, text};
use crate::names::quantity_of;
use crate::units::{Quantity, count, number};
use crate::words::{duration, plural};

/// Lists of cooks longer than this are closed at first.
const MAX_OPEN: usize = 12;
/// Sums above this say nothing more than that they are large: the law was fitted to a table that
/// stops at 6.5.
const LARGEST_TOLD_LOG10: f64 = 100.0;
/// What the table's column stands for, decimal reductions.
const TABLE_LOG10: f64 = 6.5;
/// Cooling limits of FDA Food Code 3-501.14, minutes, both counted from 135 °F.
const COOLING_LIMITS_MIN: (f64, f64) = (120.0, 360.0);

fn degrees(fahrenheit: f64, units: Units) -> String {
    Quantity::Temperature.show((fahrenheit - 32.0) / 1.8, units)
}

/// The figures over the cooks, each with its name in the reader's units.
fn figures_over_the_cooks(units: Units) -> [(Description, String); 8] {
    let f = |fahrenheit: f64| degrees(fahrenheit, units);
    [
        (column::CORE_4_TO_60_C_MIN, format!("Core between {} and {}", f(40.0), f(140.0))),
        (column::COME_UP_MIN, format!("Come-up, {} to {}", f(50.0), f(130.0))),
        (column::LETHALITY_6_5_LOG10_MIN, "6.5 decimal reductions of Salmonella after".to_owned()),
        (column::HOLD_LOWEST_CORE_C, "Lowest core while held".to_owned()),
        (column::HOLD_BELOW_60_C_MIN, format!("Held below {}", f(140.0))),
        (column::HOLD_BELOW_57_C_MIN, format!("Held below {}", f(135.0))),
        (column::COOLING_TO_21_C_MIN, format!("Cooling, {} to {}", f(135.0), f(70.0))),
        (column::COOLING_TO_5_C_MIN, format!("Cooling, {} to {}", f(135.0), f(41.0))),
    ]
}

/// Why a figure is not known, in words.
fn in_words(reason: &str) -> &str {
    match reason {
        "not-logged" => "not logged",
        "probe-out-at-the-pull" => "the probe came out at the pull",
        "probe-out-before-the-slice" => "the probe came out before the slice",
        "probe-out-after-the-slice" => "the probe came out after the slice",
        "slice-not-known" => "the slice is not known",
        "stayed-hot" => "the core stayed hot to the end of the log",
        other => other,
    }
}

/// Whether the log shows none of the figures.
fn shows_nothing(own: &Measures) -> bool {
    own.core_4_to_60_c_min.is_none()
        && own.come_up_min.is_none()
        && own.lethality_log10.is_none()
        && own.hold_observed_min.is_none()
        && own.cooling_to_21_c_min.is_none()
}

fn bound(at_least: bool) -> &'static str {
    if at_least { "≥\u{a0}" } else { "" }
}

fn lethality(own: &Measures) -> Option<String> {
    own.lethality_log10.map(|sum| {
        if sum > LARGEST_TOLD_LOG10 {
            format!(">\u{a0}{}", number(LARGEST_TOLD_LOG10, 0))
        } else {
            format!("{}{}", bound(own.is_bound(&column::LETHALITY_LOG10)), number(sum, 1))
        }
    })
}

/// The section of a cook's page.
pub(super) fn of_cook(own: &Measures, units: Units) -> Vec<Block> {
    let mut blocks = vec![if shows_nothing(own) {
        paragraph("The log does not show the core well enough for any of these figures.")
    } else {
        figures(own, units)
    }];
    blocks.extend(list(cautions(own, units)));
    blocks.extend(limits(units));
    blocks
}

fn figures(own: &Measures, units: Units) -> Block {
    let span = |minutes: Option<f64>, at_least: bool, reason: Option<&str>| {
        let shown = minutes.map(|minutes| format!("{}{}", bound(at_least), duration(minutes)));
        Cell::or_missing(shown, reason)
    };
    let hold = own.hold_reason.as_deref().map(in_words);
    let cooling = own.cooling_reason.as_deref().map(in_words);
    let f = |fahrenheit: f64| degrees(fahrenheit, units);
    let lowest = own.hold_lowest_core_c.map(|core| Quantity::Temperature.show(core, units));
    let logged = match (own.hold_observed_min, own.rest_min) {
        (Some(seen), Some(whole)) => {
            let (seen, whole) = (duration(seen), duration(whole));
            format!("of {seen} logged in the meat; pull to slice or log’s end {whole}")
        }
        _ => String::new(),
    };
    let rows: [(String, Cell, String); 9] = [
        (
            format!("Core between {} and {}, meat-on to pull", f(40.0), f(140.0)),
            span(own.core_4_to_60_c_min, own.is_bound(&column::CORE_4_TO_60_C_MIN), None),
            "Consumer advice: food left out stands there for 2 h at most (FSIS). It speaks of food left out, not of a cook in progress; no limit is known for a cook as such.".into(),
        ),
        (
            format!("Come-up, {} to {}", f(50.0), f(130.0)),
            span(own.come_up_min, own.is_bound(&column::COME_UP_MIN), None),
            "Guidelines for makers of cooked meat limit it; your local food code says whether one holds for you.".into(),
        ),
        (
            "Decimal reductions of Salmonella up to the pull, log₁₀".into(),
            lethality(own).into(),
            format!(
                "The table fitted here stands for 6.5. Nothing below {} counts, heat above {} counts as there.",
                f(130.0),
                f(157.0)
            ),
        ),
        (
            "That sum reaches 6.5 after".into(),
            span(own.lethality_6_5_log10_min, false, Some("not reached before the pull")),
            "counted from meat-on".into(),
        ),
        (
            "Lowest core while held, pull to slice".into(),
            Cell::or_missing(lowest, hold),
            format!(
                "Hot holding: {} or above (Food Code 3-501.16); consumer advice {}",
                f(135.0),
                f(140.0)
            ),
        ),
        (
            format!("Held below {}", f(140.0)),
            span(own.hold_below_60_c_min, hold.is_some(), hold),
            logged,
        ),
        (
            format!("Held below {}", f(135.0)),
            span(own.hold_below_57_c_min, hold.is_some(), hold),
            "4 h at most where time alone is the control (Food Code 3-501.19)".into(),
        ),
        (
            format!("Cooling, {} to {}", f(135.0), f(70.0)),
            span(own.cooling_to_21_c_min, own.is_bound(&column::COOLING_TO_21_C_MIN), cooling),
            "2 h (Food Code 3-501.14)".into(),
        ),
        (
            format!("Cooling, {} to {}", f(135.0), f(41.0)),
            span(own.cooling_to_5_c_min, own.is_bound(&column::COOLING_TO_5_C_MIN), cooling),
            "6 h in all (Food Code 3-501.14)".into(),
        ),
    ];
    let rows = rows.into_iter().map(|(name, own, rule)| vec![name.into(), own, rule.into()]);
    let columns = [text("Figure"), numbers("This cook", ""), text("What rules and advice say")];
    Table::new(
        "Times and temperatures of the core, as one probe saw them",
        columns,
        rows.collect(),
    )
    .remark("≥: the log shows only part of it. These are figures beside limits, not a finding that a limit was kept.")
    .into()
}

/// What the figures of one cook give reason to look at.
pub(super) fn cautions(own: &Measures, units: Units) -> Vec<String> {
    let mut said = Vec::new();
    let f = |fahrenheit: f64| degrees(fahrenheit, units);
    if let Some(sum) = own.lethality_log10.filter(|sum| *sum < TABLE_LOG10) {
        said.push(if own.is_bound(&column::LETHALITY_LOG10) {
            format!("The part of the climb that was logged adds up to {} decimal reductions, fewer than the 6.5 of the table.", number(sum, 1))
        } else {
            format!("The heat up to the pull adds up to {} decimal reductions, fewer than the 6.5 of the table.", number(sum, 1))
        });
    }
    if let Some(minutes) = own.hold_below_57_c_min.filter(|minutes| *minutes >= 1.0) {
        said.push(format!(
            "While it was held the core was below {} for {}.",
            f(135.0),
            duration(minutes)
        ));
    } else if let Some(minutes) = own.hold_below_60_c_min.filter(|minutes| *minutes >= 1.0) {
        said.push(format!(
            "While it was held the core was below {} for {}.",
            f(140.0),
            duration(minutes)
        ));
    }
    let coolings = [
        (own.cooling_to_21_c_min, COOLING_LIMITS_MIN.0, 70.0),
        (own.cooling_to_5_c_min, COOLING_LIMITS_MIN.1, 41.0),
    ];
    for (minutes, limit, to) in coolings {
        if let Some(minutes) = minutes.filter(|minutes| *minutes > limit) {
            said.push(format!(
                "Cooling from {} to {} took {} or more, longer than {}.",
                f(135.0),
                f(to),
                duration(minutes),
                duration(limit)
            ));
        }
    }
    said
}

/// What a single probe cannot know.
fn limits(units: Units) -> [Block; 2] {
    [
        paragraph(format!(
            "What one probe cannot know: the temperature of the surface; that of the thinnest and of the coldest part; what \
             happened outside the log; whether the meat was injected, pierced, tenderised or stuffed, which carries what \
             lived on the surface to the inside; and whether the probe itself reads true. The table behind the reductions holds \
             for beef in moist heat, or in ovens with the humidity and temperature that it names: a dry pit below {} is outside of it. \
             Fewer Salmonella say nothing of spores, nor of toxins made before. \
             Local food codes and licensed practice decide; these figures decide nothing.",
            degrees(250.0, units)
        )),
        sources(
            "Sources: FSIS Appendix A (1999), Compliance Guidelines for Meeting Lethality Performance Standards, 6.5-log₁₀ column, \
             by least squares of log₁₀ D on temperature (D = 1.77 min at 60 °C, z = 5.56 °C); FDA Food Code 3-401.11, 3-501.14, \
             3-501.16 and 3-501.19 as adopted by states; FSIS fact sheet “Danger Zone”.",
        ),
    ]
}

/// The section of the season report: the spread over cooks, and the cooks to look at.
pub(super) fn of_season(data: &ReportData, anchors: &Anchors, units: Units) -> Vec<Block> {
    let f = |fahrenheit: f64| degrees(fahrenheit, units);
    let mut blocks = vec![
        paragraph(format!(
            "Figures that food rules speak of, taken from the core’s probe of each cook: time between {} and {}, \
             come-up, what the heat adds up to against Salmonella, how warm the meat was held and how fast it cooled where that was logged. \
             Each cook’s page has its own.",
            f(40.0),
            f(140.0)
        )),
        over_the_cooks(data, units),
    ];
    let noticed = data.cooks.iter().filter_map(|cook| {
        let said = cautions(&cook.measures, units);
        let name = link(format!("#{}", anchors.of(cook.id())), cook.id());
        (!said.is_empty()).then(|| inlines![name, format!(": {}", said.join(" "))])
    });
    let noticed: Vec<_> = noticed.collect();
    let cooks = noticed.len();
    blocks.push(list(noticed).map_or_else(
        || {
            paragraph(
                "No figure lies beyond a limit that it was held against; that is not a finding that any limit was kept.",
            )
        },
        |said| Block::Details {
            summary: format!("{} with a figure to look at", plural(cooks, "cook")).into(),
            open: cooks <= MAX_OPEN,
            blocks: vec![said],
        },
    ));
    blocks.extend(limits(units));
    blocks
}

fn over_the_cooks(data: &ReportData, units: Units) -> Block {
    let rows: Vec<Vec<Cell>> = figures_over_the_cooks(units)
        .into_iter()
        .filter_map(|(column, name)| {
            let row = data.spread.get(column.name)?;
            let quantity = quantity_of(column.name);
            let shown = |value: f64| quantity.number(value, units);
            Some(vec![
                name.into(),
                quantity.unit(units).into(),
                row.median.map(|median| format!("{}{}", bound(row.at_least), shown(median))).into(),
                shown(row.min).into(),
                shown(row.max).into(),
                count(row.cooks).into(),
            ])
        })
        .collect();
    if rows.is_empty() {
        return paragraph("No log shows them.");
    }
    let columns = [
        text("Figure"),
        text("Unit"),
        numbers("Median", ""),
        numbers("Smallest", ""),
        numbers("Largest", ""),
        numbers("Cooks", ""),
    ];
    Table::new("Times and temperatures of the core over the cooks", columns, rows).into()
}
