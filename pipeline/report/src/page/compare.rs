//! Seasons and teams against each other.

use cook::Units;
use maud::{Markup, html};

use super::Numbering;
use super::table::{Notes, numbers, table, text};
use crate::data::Comparisons;
use crate::units::{count, number};

/// One table for seasons, one for teams, each with what can be told of it in sentences.
pub(super) fn comparisons(data: &[Comparisons], units: Units, numbering: &Numbering) -> Markup {
    html! { @for compared in data { (one(compared, units, numbering)) } }
}

fn one(data: &Comparisons, units: Units, numbering: &Numbering) -> Markup {
    let notes = Notes::default();
    let heads = [
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
    let rows: Vec<Vec<Markup>> = data
        .rows
        .iter()
        .map(|row| {
            let shown = |ends: Option<[Option<f64>; 3]>| ends.and_then(|e| row.shown(e, units));
            let p =
                row.p_adjusted.map(|p| if p < 0.001 { "< 0.001".to_owned() } else { number(p, 3) });
            let [first, second] = row.cooks;
            vec![
                html! { (row.outcome) },
                html! { (row.pair()) },
                html! { (count(first)) " / " (count(second)) },
                html! { (count(row.censored)) },
                notes.or_missing(shown(row.plain), None),
                notes.or_missing(shown(row.adjusted), row.reason.as_deref()),
                html! { (row.unit(units)) },
                notes.or_missing(p, None),
                html! { (row.told_in_words()) },
            ]
        })
        .collect();
    html! {
        h3 id={ "compared-" (data.by) } { (data.heading()) }
        @for sentence in data.sentences(units) { p { (sentence) } }
        (table(
            numbering,
            &format!("{}: difference of the first from the second, with its interval", data.heading()),
            &heads,
            &rows,
            &notes,
            Some(&data.about()),
        ))
    }
}
