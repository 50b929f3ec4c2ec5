//! The four pages for a team to frame: what is settled, the argument in one picture, the season, and
//! every cook. The season report begins with the same blocks.

mod argument;
mod every_cook;
mod season;
mod verdicts;

use cook::Units;

use super::{cautions, first_look};
use crate::data::ReportData;
use crate::document::{Document, Inlines, Section, link};
use crate::words;

/// Where the report stands, for what is told there in full.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Behind<'a> {
    /// In the same file.
    Here,
    /// In a file beside this one.
    File(&'a str),
    /// Nowhere that these pages could lead to.
    Nowhere,
}

impl Behind<'_> {
    /// The address of a place in the report.
    pub(crate) fn to(self, anchor: &str) -> Option<String> {
        match self {
            Self::Here => Some(format!("#{anchor}")),
            Self::File(file) => Some(format!("{file}#{anchor}")),
            Self::Nowhere => None,
        }
    }

    /// What became of what is not told here.
    pub(super) fn rest(self) -> &'static str {
        match self {
            Self::Here | Self::File(_) => "in the report",
            Self::Nowhere => "left out here",
        }
    }
}

/// The four pages as a document of their own.
pub(crate) fn summary_page(data: &ReportData, units: Units) -> Document {
    let seasons = words::listed(&data.seasons);
    let behind = data.report_page.as_deref().map_or(Behind::Nowhere, Behind::File);
    Document {
        title: format!("{}: summary", data.team),
        kicker: if seasons.is_empty() { "Summary".into() } else { format!("Summary, {seasons}") },
        name: data.team.clone(),
        subtitle: subtitle(data),
        trail: data
            .habits_page
            .as_ref()
            .map_or_else(Inlines::default, |page| link(page, "How we cook")),
        caution: Some(cautions::line(behind.to("cautions").as_deref())),
        sections: sheets(data, behind, units),
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

/// The pages; one that has nothing to say is left out.
pub(super) fn sheets(data: &ReportData, behind: Behind<'_>, units: Units) -> Vec<Section> {
    // One log says nothing of a season.
    if first_look::is_of(data) {
        return Vec::new();
    }
    let pages = [
        ("answers", "What is settled, and what to do", verdicts::blocks(data, behind, units)),
        (
            "argument",
            argument::heading(data).unwrap_or_default(),
            argument::blocks(data, behind, units),
        ),
        ("seasons", "The season", season::blocks(data, behind, units)),
        ("every-cook", "Every cook", every_cook::blocks(data, units)),
    ]
    .map(|(id, heading, blocks)| Section::sheet(id, heading, blocks));
    pages.into_iter().filter(|page| !page.blocks.is_empty()).collect()
}

fn subtitle(data: &ReportData) -> String {
    let s = &data.summary;
    let cooks = words::cooks_on_fires(s.cooks, s.fires);
    let dates = words::dates(s.first_day.as_deref(), s.last_day.as_deref());
    std::iter::once(cooks).chain(dates).collect::<Vec<_>>().join(" · ")
}
