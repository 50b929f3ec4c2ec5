//! Page 4: the phases of every cook by pit, a map of the cooks, the stall in a few lines, cautions.

use columns::measures;
use cook::Units;

use crate::data::ReportData;
use crate::document::{
    Block, Figure, FigureForm, Inlines, agenda, bold, heading, inlines, paragraph,
};
use crate::figure::{cook_map, kinds, left_out_of_panels, phase_key, phases_by_pit, sign_key};
use crate::page::cautions;
use crate::units::{Quantity, count};
use crate::words::{plural, spoken};
use study::result::summary::Spread;

pub(super) fn blocks(data: &ReportData, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    let pits = kinds(data.cooks.iter().filter_map(|cook| cook.card.pit.as_deref()));
    if let Some(drawing) = phases_by_pit("sum-phases", &data.cooks, &pits) {
        let left_out = match left_out_of_panels(&data.cooks, &pits) {
            0 => String::new(),
            cooks => format!(" Not drawn: {} of no such pit.", plural(cooks, "cook")),
        };
        blocks.push(phase_key());
        blocks.push(Figure::block(
            FigureForm::Column,
            drawing,
            format!(
                "A bar a cook, the shortest first, all started at meat-on. Upright ticks: wraps. Look where the stalls begin and what a wrap does to them.{left_out}"
            ),
        ));
    }
    let wraps = kinds(data.cooks.iter().filter_map(|cook| cook.measures.wrap_method.as_deref()));
    let stall = stall(data, units);
    let map = cook_map("sum-map", &data.cooks, &wraps, units).map(|drawing| {
        let figure = Figure::block(
            FigureForm::Column,
            drawing,
            "A sign a cook, hotter pits at the right, longer cooks above.",
        );
        vec![sign_key("Key to the wraps", &wraps), figure]
    });
    match map {
        Some(map) => blocks.push(Block::Beside(vec![map, stall])),
        None if !data.cooks.is_empty() => blocks.extend(stall),
        None => {}
    }
    if !blocks.is_empty() {
        blocks.extend([heading("Before anything else"), paragraph(cautions::short(None).text)]);
    }
    blocks
}

/// What a stall is, and what it was like here.
fn stall(data: &ReportData, units: Units) -> Vec<Block> {
    let own = |column: &str| data.spread.get(column).filter(|spread| spread.cooks > 0);
    let degrees = |c: f64| Quantity::Temperature.show(c, units);
    let ranged = |spread: &Spread, show: &dyn Fn(f64) -> String| {
        let all = format!("{} to {} in all", show(spread.min), show(spread.max));
        match spread.median {
            Some(median) => format!("{} in the middle cook, {all}", show(median)),
            None => all,
        }
    };
    let mut lines: Vec<Inlines> = vec![
        "Wet meat sweats. At some point the sweat cools it as fast as the pit heats it, and the core all but stops: the stall.".into(),
    ];
    if let Some(spread) = own(measures::STALL_START_CORE_C.name) {
        lines.push(inlines![
            bold("It begins"),
            format!(" at a core of {}.", ranged(spread, &degrees))
        ]);
    }
    if let Some(spread) = own(measures::STALL_MIN.name) {
        lines.push(inlines![bold("It lasts"), format!(" {}.", ranged(spread, &spoken))]);
    }
    if let Some(median) = own(measures::STALL_END_CORE_C.name).and_then(|own| own.median) {
        lines.push(inlines![
            bold("It ends"),
            format!(" at {}, once the surface is dry or wrapped.", degrees(median))
        ]);
    }
    let judged = data.cooks.iter().filter(|cook| cook.measures.stalls.is_some()).count();
    let without = data.cooks.iter().filter(|cook| cook.measures.stalls == Some(0)).count();
    if judged > 0 {
        lines.push(
            format!("{} of {} cooks had none, which is no fault.", count(without), count(judged))
                .into(),
        );
    }
    lines.push("A dying fire does not count as a stall, nor a hotter pit as its end.".into());
    vec![heading("The stall"), agenda(lines, "")]
}
