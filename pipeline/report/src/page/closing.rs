//! One page to print for the closing meeting: settled, dropped, still open, what to try next.

use cook::Units;

use super::cautions;
use crate::agenda::Agenda;
use crate::data::ReportData;
use crate::document::{Block, Document, Inlines, Role, Section, agenda};
use crate::words;

/// Things to try that are printed; the report has the reasons behind all of them.
const MOST_TO_TRY: usize = 8;

/// The page.
pub(crate) fn closing_page(data: &ReportData, units: Units) -> Document {
    let agenda = Agenda::new(data, units);
    let seasons = words::listed(&data.seasons);
    let [settled, dropped, open] = agenda.answered(
        [
            "Nothing is settled yet: a verdict settles once it is judged on cooks that came after the claim was written down.",
            "Nothing to drop.",
            "Nothing is open.",
        ],
        units,
    );
    Document {
        title: format!("{}: closing meeting", data.team),
        kicker: if seasons.is_empty() {
            "For the closing meeting".to_owned()
        } else {
            format!("For the closing meeting, {seasons}")
        },
        name: data.team.clone(),
        subtitle: subtitle(data),
        caution: Some(cautions::short(None)),
        sections: vec![settled, dropped, open, next(&agenda.next)],
        is_sheet: true,
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

fn next(lines: &[String]) -> Section {
    let more = lines.len().saturating_sub(MOST_TO_TRY);
    let mut said: Vec<Inlines> =
        lines.iter().take(MOST_TO_TRY).map(|line| Inlines::with_code(line)).collect();
    if more > 0 {
        let more = words::plural(more, "further suggestion");
        said.push(format!("{more} in the season report’s Markdown form.").into());
    }
    let decided = Block::Paragraph(Role::ToFillIn, "Decided at the meeting:".into());
    let none = "The season leaves no gap that the program could name.";
    Section::new("next", "What to try next", vec![agenda(said, none), decided])
}

fn subtitle(data: &ReportData) -> String {
    let s = &data.summary;
    let cooks = words::cooks_on_fires(s.cooks, s.fires);
    let dates = words::dates(s.first_day.as_deref(), s.last_day.as_deref());
    std::iter::once(cooks).chain(dates).collect::<Vec<_>>().join(" · ")
}
