//! The page of cooks that are on.

use cook::Units;

use super::{cautions, slug};
use crate::document::{
    Block, Document, Figure, FigureForm, Inlines, Section, inlines, list, note, paragraph, strong,
};
use crate::figure::fan;
use crate::outlook::{OutlookCook, OutlookPage};
use crate::units::Quantity;

/// A section a cook, with its figure.
pub(crate) fn outlook_page(page: &OutlookPage, units: Units) -> Document {
    let mut sections: Vec<Section> = page
        .cooks
        .iter()
        .enumerate()
        .map(|(place, cook)| {
            let id = format!("cook-{place}-{}", slug(&cook.name));
            let blocks = one(&id, cook, units);
            Section::new(id, cook.name.clone(), blocks)
        })
        .collect();
    sections.push(Section::new("notes", "To know", to_know(&page.notes)));
    Document {
        title: format!("{}: forecast", page.team),
        kicker: page.team.clone(),
        name: "When it will be done".into(),
        caution: Some(cautions::short(None)),
        sections,
        version: page.version.clone(),
        ..Document::default()
    }
}

fn one(id: &str, cook: &OutlookCook, units: Units) -> Vec<Block> {
    let figure = fan(&format!("fig-{id}"), cook, units).map(|drawing| {
        let caption = format!(
            "The core up to now, and the fan to {} within which it should get there. Grey: past cooks from the \
             moment at which they stood alike.",
            Quantity::Temperature.show(cook.finish_c, units)
        );
        Figure::block(FigureForm::Plot, drawing, caption)
    });
    let fact = |(label, text): &(String, String)| -> Inlines {
        inlines![strong(label.clone()), " ", text.as_str()]
    };
    list(cook.facts.iter().map(fact)).into_iter().chain(figure).collect()
}

fn to_know(notes: &[String]) -> Vec<Block> {
    let page = note("This page stands still: it is as old as the moment that it was asked at.");
    notes.iter().map(paragraph).chain([page]).collect()
}
