//! Seasons, and teams, against each other: described, not caused.

use cook::Units;

use crate::document::{Block, Cell, Table, heading_at, numbers, paragraph, text};
use crate::units::{count, number};
use crate::words::Compared;
use crate::words::compared::{about, heading, sentences};
use study::result::compare::{ComparedDifference, Comparisons};

/// One table for seasons, one for teams, each with what can be told of it in sentences.
pub(super) fn comparisons(data: &[Comparisons], units: Units) -> Vec<Block> {
    told(data).flat_map(|compared| one(compared, units)).collect()
}

/// The comparisons in which anything could be compared.
pub(super) fn told(data: &[Comparisons]) -> impl Iterator<Item = &Comparisons> {
    let is_compared = |own: &&Comparisons| {
        own.rows.iter().any(|row| row.as_they_are.is_some() || row.adjusted.is_some())
    };
    data.iter().filter(is_compared)
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
        let compared = Compared::new(row);
        let shown = |own: Option<ComparedDifference>| own.map(|own| compared.shown(own, units));
        let p = row.p_adjusted.map(|p| if p < 0.001 { "< 0.001".to_owned() } else { number(p, 3) });
        vec![
            compared.outcome().into(),
            compared.pair().into(),
            format!("{} / {}", count(row.first_cooks), count(row.second_cooks)).into(),
            count(row.censored).into(),
            shown(row.as_they_are).into(),
            Cell::or_missing(shown(row.adjusted), row.reason.as_deref()),
            compared.unit(units).into(),
            p.into(),
            compared.told_in_words().into(),
        ]
    });
    let caption =
        format!("{}: difference of the first from the second, with its interval", heading(data));
    let table = Table::new(caption, columns, rows.collect()).remark(about(data));
    std::iter::once(heading_at(format!("compared-{}", data.by), heading(data)))
        .chain(sentences(data, units).into_iter().map(paragraph))
        .chain([table.into()])
        .collect()
}
