//! Seasons, and teams, against each other: described, not caused.

use cook::Units;

use crate::data::Comparisons;
use crate::document::{Block, Cell, Table, heading_at, numbers, paragraph, text};
use crate::units::{count, number};

/// One table for seasons, one for teams, each with what can be told of it in sentences.
pub(super) fn comparisons(data: &[Comparisons], units: Units) -> Vec<Block> {
    data.iter().flat_map(|compared| one(compared, units)).collect()
}

fn one(data: &Comparisons, units: Units) -> Vec<Block> {
    let columns = [
        text("Outcome"),
        text("Compared"),
        numbers("Cooks", ""),
        numbers("Lower bounds", ""),
        numbers("As they are", ""),
        numbers("Adjusted", ""),
        text("Unit"),
        numbers("p, adjusted", ""),
        text("What can be told"),
    ];
    let rows = data.rows.iter().map(|row| -> Vec<Cell> {
        let shown = |ends: Option<[Option<f64>; 3]>| ends.and_then(|e| row.shown(e, units));
        let p = row.p_adjusted.map(|p| if p < 0.001 { "< 0.001".to_owned() } else { number(p, 3) });
        let [first, second] = row.cooks;
        vec![
            (&row.outcome).into(),
            row.pair().into(),
            format!("{} / {}", count(first), count(second)).into(),
            count(row.censored).into(),
            shown(row.plain).into(),
            Cell::or_missing(shown(row.adjusted), row.reason.as_deref()),
            row.unit(units).into(),
            p.into(),
            row.told_in_words().into(),
        ]
    });
    let caption =
        format!("{}: difference of the first from the second, with its interval", data.heading());
    let table = Table::new(caption, columns, rows.collect()).remark(data.about());
    std::iter::once(heading_at(format!("compared-{}", data.by), data.heading()))
        .chain(data.sentences(units).into_iter().map(paragraph))
        .chain([table.into()])
        .collect()
}
