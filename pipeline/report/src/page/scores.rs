//! Entries of every category, and what judges and tasters gave.

use cook::{Panel, Units};

use super::whole::{per_mass, ranged};
use crate::document::{Block, Cell, Table, heading_at, list, numbers, paragraph, sources, text};
use crate::names::name_of;
use crate::units::{Quantity, count, number, signed};
use study::result::score::{Category, Entry, PanelScores, Scores};

/// Nothing where the contests' table and the glance say all there is.
pub(super) fn scores(found: &Scores, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    if !found.entries.is_empty() {
        blocks.push(heading_at("entries", "Entries of every category"));
        blocks.push(paragraph(
            "Meat that no probe was in counts here as well: its scores, its times on the card and its cost need no curve.",
        ));
        blocks.push(categories(&found.categories, units));
        blocks.push(entries(&found.entries));
    }
    if !found.panels.is_empty() {
        blocks.push(heading_at("panels", "Judges and tasters"));
        blocks.push(paragraph(
            "Judges and your own tasters are never taken together, nor are scores given blind and scores given knowing \
             whose meat it is. A judge is a draw from many: the interval of a mean allows for other judges and other \
             entries of the same kind.",
        ));
        blocks.push(panels(&found.panels));
        blocks.extend(list(found.panels.iter().filter_map(|panel| {
            let reason = panel.reason.as_ref()?;
            Some(format!("No interval for {}: {reason}.", told(panel)))
        })));
        blocks.push(sources(
            "Restricted maximum likelihood with random entries and judges: Patterson and Thompson (1971), Biometrika 58, \
             545–554; reliability of one judge as ICC(2,1): Shrout and Fleiss (1979), Psychological Bulletin 86, 420–428.",
        ));
    }
    blocks
}

/// The score's name without the word.
fn attribute(name: &str) -> String {
    name_of(&format!("{}{name}", columns::names::SCORE))
}

fn who(panel: Panel) -> &'static str {
    match panel {
        Panel::Judges => "Judges",
        Panel::Tasters => "Own tasters",
    }
}

/// A panel in words, for a sentence.
fn told(panel: &PanelScores) -> String {
    let who = who(panel.panel).to_lowercase();
    let category = panel.category.as_deref().unwrap_or("category not said");
    let score = attribute(&panel.attribute).to_lowercase();
    format!("{who}, {category}, {score}")
}

fn categories(found: &[Category], units: Units) -> Block {
    let mass = Quantity::Mass.unit(units);
    let columns = vec![
        text("Category"),
        numbers("Entries", ""),
        numbers("With a curve", ""),
        numbers("Pull against plan", "min"),
        numbers("Pull before turn-in", "min"),
        numbers("Pulled after turn-in", ""),
        numbers(format!("Cost per served {mass}"), ""),
    ];
    let rows = found.iter().map(|category| {
        vec![
            Cell::from(category.category.as_ref()),
            count(category.entries).into(),
            count(category.with_curve).into(),
            ranged(category.late_min, &|v| signed(v, 0)),
            ranged(category.turn_in_margin_min, &|v| number(v, 0)),
            count(category.past_turn_in).into(),
            ranged(category.cost_per_served_kg, &|v| per_mass(v, units)),
        ]
    });
    let remark = "Medians, with smallest, largest and number. + is late. – where no card says it.";
    Table::new("Categories, with a curve and without", columns, rows.collect())
        .remark(remark)
        .into()
}

fn entries(found: &[Entry]) -> Block {
    let columns = vec![
        text("Entry"),
        text("Season"),
        text("Contest"),
        text("Category"),
        text("Curve"),
        numbers("Rank", ""),
        numbers("Points of the contest", ""),
        numbers("Points by judges", ""),
        numbers("Points by own tasters", ""),
    ];
    let rows = found.iter().map(|entry| {
        let points = |panel| entry.of(panel).and_then(|given| given.points);
        vec![
            Cell::from(&entry.entry),
            (&entry.season).into(),
            entry.contest.as_ref().into(),
            entry.category.as_ref().into(),
            (if entry.has_curve { "yes" } else { "no" }).into(),
            entry.contest_rank.map(|rank| number(rank, 0)).into(),
            entry.contest_points.map(|points| number(points, 1)).into(),
            points(Panel::Judges).map(|points| number(points, 1)).into(),
            points(Panel::Tasters).map(|points| number(points, 1)).into(),
        ]
    });
    let remark = "Points: means after dropped scores, times the weights of season.toml, summed; – where a score with a weight is missing.";
    Table::new("Entries with scores, a rank or no curve", columns, rows.collect())
        .remark(remark)
        .into()
}

fn panels(found: &[PanelScores]) -> Block {
    let columns = vec![
        text("Who"),
        text("Blind"),
        text("Category"),
        text("Score"),
        numbers("Scores", ""),
        numbers("Entries", ""),
        numbers("Judges", ""),
        numbers("Mean", ""),
        numbers("95 % interval", ""),
        numbers("Between entries", ""),
        numbers("Between judges", ""),
        numbers("Scatter", ""),
        numbers("Reliability of one judge", ""),
    ];
    let rows = found.iter().map(|panel| {
        let model = panel.model.as_ref();
        let blind = match panel.blind {
            Some(true) => "yes",
            Some(false) => "no",
            None => "not said",
        };
        vec![
            Cell::from(who(panel.panel)),
            blind.into(),
            panel.category.as_ref().into(),
            attribute(&panel.attribute).into(),
            count(panel.scores).into(),
            count(panel.entries).into(),
            count(panel.judges).into(),
            number(model.map_or(panel.mean, |model| model.mean), 2).into(),
            model.map(|m| format!("{} to {}", number(m.lo, 2), number(m.hi, 2))).into(),
            model.map(|m| number(m.entry_sd, 2)).into(),
            model.and_then(|m| Some(number(m.judge_sd?, 2))).into(),
            model.map(|m| number(m.scatter_sd, 2)).into(),
            model.map(|m| number(m.reliability, 2)).into(),
        ]
    });
    let remark = "Standard deviations in points. Where every judge scored once, the scatter holds how judges differ.";
    Table::new("What judges and tasters gave", columns, rows.collect()).remark(remark).into()
}
