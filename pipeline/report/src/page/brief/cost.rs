//! What faster costs, in brief.

use cook::Units;

use crate::document::{Block, Cell, Table, bold, heading, inlines, list, paragraph, text};
use crate::treatment::Treatment;
use crate::units::{Quantity, count};
use crate::words::{
    capitalised, contrast_label, cost_difference, cost_finding, cost_standing, half_by,
    tender_difference, tender_label, tender_quantile, trade_sentence,
};
use study::result::cost::CostSide;
use study::result::tender::{TenderQuantile, TenderTemperature};

/// Nothing where no treatment has an answer and no meat was felt.
pub(super) fn cost(data: &CostSide, units: Units) -> Vec<Block> {
    let treatments = Treatment::all(data);
    let answered = treatments.iter().filter(|own| !own.contrasts.is_empty());
    answered
        .flat_map(|own| treatment(own, units))
        .chain(
            (!data.tender.groups.is_empty())
                .then(|| tender(&data.tender, units))
                .into_iter()
                .flatten(),
        )
        .collect()
}

fn treatment(own: &Treatment<'_>, units: Units) -> Vec<Block> {
    let title = format!("{} ({})", capitalised(&own.name()), cost_standing(own.standing()));
    let columns = ["What", "Outcome", "Difference", "95 % interval", "Answer", "Cooks, fires"];
    let rows = own.contrasts.iter().flat_map(|contrast| {
        contrast.differences.iter().map(move |difference| -> Vec<Cell> {
            let shown = cost_difference(difference, units);
            let (cooks, fires) = (difference.answer.n, difference.answer.fires);
            vec![
                contrast_label(contrast, units).into(),
                difference.outcome_name().into(),
                shown.headline().into(),
                shown.interval().into(),
                cost_finding(difference.effect.finding).into(),
                format!("{}, {}", count(cooks), count(fires)).into(),
            ]
        })
    });
    let mut blocks = vec![heading(title)];
    blocks.extend(list(own.contrasts.iter().map(|contrast| trade_sentence(contrast, units))));
    blocks.push(Table::new("", columns.map(text), rows.collect()).into());
    blocks
}

fn tender(data: &TenderTemperature, units: Units) -> Vec<Block> {
    let unit = Quantity::Temperature.unit(units);
    let columns = [
        text("Cooks"),
        text("Cooks, fires"),
        text(format!("Half by, {unit}, no shape assumed")),
        text(format!("10 % by, {unit}")),
        text(format!("Half by, {unit}")),
        text(format!("90 % by, {unit}")),
    ];
    let shown = |quantile: Option<&TenderQuantile>| -> Cell {
        quantile.map(|quantile| tender_quantile(quantile, units)).into()
    };
    let rows = data.groups.iter().map(|row| {
        let mut cells: Vec<Cell> = vec![
            tender_label(row).into(),
            format!("{}, {}", count(row.n), count(row.fires)).into(),
            shown(half_by(row)),
        ];
        cells.extend((0..3).map(|place| shown(row.normal.get(place))));
        cells
    });
    let mut blocks = vec![
        heading("At what core temperature meat was felt to be tender"),
        paragraph(inlines![
            bold("Feel decides, not the number."),
            " One probe reads one place. This describes what this team’s hands found; it says nothing on \
             whether food may be eaten, and is no target to pull at."
        ]),
        Table::new("", columns, rows.collect()).into(),
    ];
    blocks.extend(list(
        data.differences
            .iter()
            .map(|own| format!("{}, described, not caused", tender_difference(own, data, units))),
    ));
    blocks
}
