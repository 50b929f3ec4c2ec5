//! Page 1: a verdict in a sentence each, what to do, what is open and what would settle it, and what
//! the cooks show so far.

use columns::measures;
use cook::Units;

use super::Behind;
use crate::agenda::Agenda;
use crate::data::ReportData;
use crate::document::{Block, Inlines, agenda, bold, heading, inlines};
use crate::page::answers;
use crate::units::{Quantity, count};
use study::Verdict;
use study::result::ClaimResult;

use crate::words::{self, decisions, half_by, listed, settles, spoken};

/// Claims with a sentence of their own; the report has all.
const MOST_CLAIMS: usize = 10;
/// Open ones that are told what would settle them.
const MOST_OPEN: usize = 6;

pub(super) fn blocks(data: &ReportData, behind: Behind<'_>, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    blocks.extend(answers::answers(data, MOST_CLAIMS, behind, units));
    let mut part = |title: &'static str, items: Vec<Inlines>| {
        if !items.is_empty() {
            blocks.extend([heading(title), agenda(items, "")]);
        }
    };
    part(
        "What to do",
        decisions(&data.study.cost_side, units).into_iter().map(Into::into).collect(),
    );
    part("What is open, and what would settle it", open(data, behind, units));
    part("What our cooks show so far", shown(data, units));
    blocks
}

/// Every open claim with what would settle it; claims that the same would settle are told together.
fn open(data: &ReportData, behind: Behind<'_>, units: Units) -> Vec<Inlines> {
    let agenda = Agenda::new(data, units);
    let is_open = |claim: &&&ClaimResult| matches!(claim.verdict, Verdict::Open | Verdict::Refused);
    let mut told: Vec<(Vec<String>, String)> = Vec::new();
    for claim in agenda.open.iter().filter(is_open) {
        let Some(said) = settles(claim) else { continue };
        let says = format!("“{}”", claim.says);
        match told.iter_mut().find(|(_, known)| *known == said) {
            Some((claims, _)) => claims.push(says),
            None => told.push((vec![says], said)),
        }
    }
    let more = told.len().saturating_sub(MOST_OPEN);
    let shown = told.into_iter().take(MOST_OPEN);
    let shown = shown.map(|(claims, said)| {
        inlines![bold(format!("{}:", listed(&claims))), " ", Inlines::with_code(&said)]
    });
    let more = (more > 0).then(|| format!("And {} more, {}.", count(more), behind.rest()).into());
    shown.chain(more).collect()
}

/// What past cooks look like, whatever it is worth as proof.
fn shown(data: &ReportData, units: Units) -> Vec<Inlines> {
    let mut said = Vec::new();
    if let Some(found) = &data.study.season.finish_by_wrap {
        let mut curves: Vec<_> = found
            .curves
            .iter()
            .filter_map(|curve| Some((curve.median_min?, &curve.wrap)))
            .collect();
        curves.sort_by(|a, b| a.0.total_cmp(&b.0));
        let half: Vec<String> = curves
            .into_iter()
            .map(|(min, wrap)| {
                let wrap = if wrap == "none" { "no wrap" } else { wrap };
                format!("{wrap} {}", spoken(min))
            })
            .collect();
        if !half.is_empty() {
            let degrees = |c: f64| Quantity::Temperature.show(c, units);
            let (from, to) = (degrees(words::CLOCK_ZERO_C), degrees(words::FINISH_C));
            said.push(inlines![
                bold(format!("Half done by: {}.", listed(&half))),
                format!(" From a core of {from} to {to}, as these cooks were wrapped; that alone is no proof of what a wrap does.")
            ]);
        }
    }
    let middle = |column: &str| Some(spoken(data.spread.get(column)?.median?));
    let pit = middle(measures::TOTAL_MIN.name);
    if let Some(pit) = pit {
        let parts = [
            (measures::STALL_MIN.name, "in the stall"),
            (measures::REST_MIN.name, "at rest after the pull"),
        ];
        let parts: Vec<String> = parts
            .into_iter()
            .filter_map(|(column, what)| Some(format!("{} {what}", middle(column)?)))
            .collect();
        let parts = if parts.is_empty() { String::new() } else { format!("; {}", listed(&parts)) };
        said.push(inlines![bold("The middle cook:"), format!(" {pit} on the pit{parts}.")]);
    }
    let tender = data.study.cost_side.tender.groups.iter().find(|group| group.by.is_none());
    if let Some(core) = tender.and_then(half_by).and_then(|half| half.core_c) {
        let core = Quantity::Temperature.show(core, units);
        said.push(inlines![
            bold(format!("Half were tender by {core}.")),
            " Feel it; the number alone does not tell."
        ]);
    }
    said
}
