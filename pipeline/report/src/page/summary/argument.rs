//! Page 2: the picture that settles the argument, and what faster costs.

use cook::Units;

use super::Behind;

use crate::data::ReportData;
use crate::document::{Block, Figure, FigureForm, Inlines, link};
use crate::figure::{core_courses, shared_fires, trade};
use crate::treatment::Treatment;
use crate::units::{Quantity, count};
use crate::words::{spoken, trade_sentence};
use study::result::cost::Standing;
use study::result::course::CoreCourses;

/// The sides that are drawn: those of a claim, else the wraps that cooks ended up in.
fn drawn(data: &ReportData) -> Option<&CoreCourses> {
    data.study.courses.first()
}

/// What the picture shows, as a title.
pub(super) fn heading(data: &ReportData) -> Option<&'static str> {
    drawn(data)
        .map(|_| "Who is faster, and what it costs")
        .or_else(|| treatment(data).map(|_| "What faster costs"))
}

/// The treatment that is told: one that was drawn by lot before one that was not.
fn treatment(data: &ReportData) -> Option<Treatment<'_>> {
    let mut all = Treatment::all(&data.study.cost_side);
    all.retain(|own| !own.contrasts.is_empty() && own.standing() != Standing::Association);
    all.sort_by_key(Treatment::standing);
    all.into_iter().next()
}

pub(super) fn blocks(data: &ReportData, behind: Behind<'_>, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    if let Some(courses) = drawn(data) {
        let figure = Figure::block(
            FigureForm::Column,
            core_courses("sum-courses", courses, units),
            courses_caption(courses, behind, units),
        );
        if courses.fires.is_empty() {
            blocks.push(figure);
        } else {
            let fires = Figure::block(
                FigureForm::Column,
                shared_fires("sum-fires", courses),
                fires_caption(courses),
            );
            blocks.push(Block::Beside(vec![vec![figure], vec![fires]]));
        }
    }
    if let Some(treatment) = treatment(data) {
        let said: Vec<String> =
            treatment.contrasts.iter().map(|own| trade_sentence(own, units)).collect();
        blocks.push(Figure::block(
            FigureForm::Column,
            trade("sum-trade", &treatment, units),
            format!(
                "{} Right of the line is better, left is worse; a bar over the line leaves it open. Each outcome has its own scale.",
                said.join(" ")
            ),
        ));
    }
    blocks
}

fn courses_caption(courses: &CoreCourses, behind: Behind<'_>, units: Units) -> Inlines {
    let from = Quantity::Temperature.show(courses.from_core_c, units);
    let ends: Vec<(&str, f64)> = courses
        .sides
        .iter()
        .filter_map(|side| Some((side.side.as_str(), side.points.last()?.median_min?)))
        .collect();
    let said = match ends[..] {
        [(first, quick), (second, slow)] if quick != slow => {
            let (first, second) = if quick < slow { (first, second) } else { (second, first) };
            format!("{first} gets there {} before {second}.", spoken((slow - quick).abs()))
        }
        _ => "The further left, the sooner.".to_owned(),
    };
    let worth = if courses.claim.is_some() {
        ""
    } else {
        " Sides are the wraps that cooks ended up in: described, not caused."
    };
    let mut caption = Inlines::from(format!(
        "{said} Lines: by when half of the cooks were at each core temperature, all clocks started at {from}, where the sides part. \
         Shaded: from the quickest quarter to three quarters. Cooks that ended early count for as long as they were seen.{worth} "
    ));
    // Alone, the pages have no data beside them.
    if behind != Behind::Nowhere {
        caption.push(link("data/courses.csv", "The numbers"));
        caption.push(".");
    }
    caption
}

fn fires_caption(courses: &CoreCourses) -> Inlines {
    let (first, told) = courses.sooner();
    let side = courses.sides.first().map_or("", |side| side.side.as_str());
    let fires = if told == 1 { "fire" } else { "fires" };
    let mut said = format!(
        "{side} was sooner in {} of {} {fires} that cooked both. A line a fire.",
        count(first),
        count(told)
    );
    if courses.fires.iter().any(|fire| fire.cut.contains(&true)) {
        said += " Open rings: not seen to finish, so at least this long.";
    }
    said.into()
}
