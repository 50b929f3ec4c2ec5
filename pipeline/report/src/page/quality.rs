//! What the readings of all cooks were like: cleaning over the cooks, and the cooks to check.

use super::Anchors;
use crate::data::{CookReport, Stretch};
use crate::document::{Block, Cell, Inlines, Table, inlines, link, list, numbers, paragraph, text};
use crate::units::{count, number};
use crate::words::{self, plural};
use cook::FlagKind;

/// Lists of cooks longer than this are closed at first.
const MAX_OPEN: usize = 12;

/// The section of the season report.
pub(super) fn of_season(cooks: &[CookReport], anchors: &Anchors) -> Vec<Block> {
    let to_check: Vec<&CookReport> =
        cooks.iter().filter(|cook| !cook.cleaning.to_check.is_empty()).collect();
    let said = list(to_check.iter().map(|cook| {
        let name = link(format!("#{}", anchors.of(cook.id())), cook.id());
        let mut said = inlines![name, ":"];
        for sentence in &cook.cleaning.to_check {
            said.push(" ");
            said.push(Inlines::with_code(sentence));
        }
        said
    }));
    let said = said.map_or_else(
        || paragraph("No cook’s log gave reason to ask its team."),
        |said| Block::Details {
            summary: format!(
                "{} with something for a person to check",
                plural(to_check.len(), "cook")
            )
            .into(),
            open: to_check.len() <= MAX_OPEN,
            blocks: vec![said],
        },
    );
    vec![
        paragraph(
            "What was done to the readings before anything was computed from them, over all cooks; each cook’s page has its own, with \
             every stretch drawn. The store keeps every reading as it was logged.",
        ),
        actions(cooks),
        said,
    ]
}

fn actions(cooks: &[CookReport]) -> Block {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for &kind in FlagKind::ALL {
        let of_cook =
            |cook: &&CookReport| cook.cleaning.stretches.iter().any(|s| s.row.flag == kind);
        let of_it: Vec<&Stretch> = cooks
            .iter()
            .flat_map(|cook| &cook.cleaning.stretches)
            .filter(|stretch| stretch.row.flag == kind)
            .collect();
        if of_it.is_empty() {
            continue;
        }
        let longest = of_it.iter().map(|s| s.end_min - s.start_min).fold(0.0, f64::max);
        rows.push(vec![
            words::stretch_action(kind).into(),
            count(cooks.iter().filter(of_cook).count()).into(),
            count(of_it.len()).into(),
            count(of_it.iter().map(|s| s.row.readings).sum::<i64>()).into(),
            number(longest, 0).into(),
        ]);
    }
    if rows.is_empty() {
        return paragraph(
            "No reading was left out, no lid was seen open, and nothing was missing.",
        );
    }
    let columns = [
        text("Action"),
        numbers("Cooks", ""),
        numbers("Times", ""),
        numbers("Readings", ""),
        numbers("Longest", "min"),
    ];
    Table::new("What cleaning did, over all cooks", columns, rows)
        .remark("Cooks that share a pit’s log share its stretches, and each counts them.")
        .into()
}
