//! Page 3: the season as strips, its contests, and how steady it was.

use cook::{EndReason, Units};

use super::Behind;
use crate::data::{ContestCook, CookReport, ReportData};
use crate::document::{
    Block, Cell, Figure, FigureForm, Inlines, Table, agenda, bold, heading, inlines, link, numbers,
    text,
};
use crate::figure::{ContestLine, contest_line, kinds, season_strips, sign_key, small_chart};
use crate::units::number;
use crate::words::{contest_sentence, plural, spoken};

/// Contest cooks with a row; the report has all.
const MOST_ROWS: usize = 8;
/// Small lines of steadiness, in this order where they are known.
const STEADY: [&str; 3] = [
    columns::measures::PIT_SD_C.name,
    columns::derived::LATE_MIN.name,
    columns::measures::K_REF_PER_H.name,
];

pub(super) fn blocks(data: &ReportData, behind: Behind<'_>, units: Units) -> Vec<Block> {
    let mut blocks = Vec::new();
    let pits = kinds(data.cooks.iter().filter_map(|cook| cook.card.pit.as_deref()));
    if let Some(drawing) = season_strips("sum-season", &data.cooks, &pits) {
        if !pits.is_empty() {
            blocks.push(sign_key("Key to the pits", &pits));
        }
        let contests = if data.contests.is_empty() { "" } else { " Rings: contests." };
        blocks.push(Figure::block(
            FigureForm::Column,
            drawing,
            format!("A sign a cook: when it was, and its hours on the pit.{contests}"),
        ));
    }
    blocks.extend(contests(data, behind));
    blocks.extend(steadiness(data, units));
    blocks
}

/// The newest contests, a row a cook and a sentence a contest.
fn contests(data: &ReportData, behind: Behind<'_>) -> Vec<Block> {
    let from = data.contests.len().saturating_sub(MOST_ROWS);
    let shown: Vec<(&ContestCook, &CookReport)> = data.contests[from..]
        .iter()
        .filter_map(|own| Some((own, data.cooks.iter().find(|cook| cook.id() == own.cook)?)))
        .collect();
    if shown.is_empty() {
        return Vec::new();
    }
    let mut scores: Vec<&str> = Vec::new();
    for (name, _) in shown.iter().flat_map(|(own, _)| &own.scores) {
        if !scores.contains(&name.as_str()) {
            scores.push(name);
        }
    }
    let lines: Vec<Option<ContestLine>> = shown.iter().map(|(own, cook)| line(own, cook)).collect();
    let longest = lines
        .iter()
        .flatten()
        .flat_map(|line| [Some(line.pull_min), line.planned_min])
        .flatten()
        .fold(60.0, f64::max);
    let ranked = shown.iter().any(|(_, cook)| cook.card.contest_rank.is_some());
    let mut columns = vec![
        text("Cook"),
        text("Plan, pull, turn-in"),
        text("Wrap"),
        numbers("Rest", ""),
        text("Ended"),
    ];
    columns.extend(scores.iter().map(|name| numbers(*name, "")));
    if ranked {
        columns.push(numbers("Rank", ""));
    }
    let rows: Vec<Vec<Cell>> = shown
        .iter()
        .zip(&lines)
        .enumerate()
        .map(|(place, ((own, cook), line))| {
            let name: Inlines = match (&cook.page, behind) {
                (Some(page), Behind::Here | Behind::File(_)) => link(page, cook.id()),
                _ => cook.id().into(),
            };
            let drawn =
                line.map(|line| contest_line(&format!("sum-contest-{place}"), line, longest));
            let ended = EndReason::parse(&cook.measures.end_reason).map(ended);
            let mut cells: Vec<Cell> = vec![
                name.into(),
                drawn.map_or_else(|| Cell::missing(None), Cell::drawn),
                cook.measures.wrap_method.as_ref().into(),
                cook.measures.rest_min.map(spoken).into(),
                ended.into(),
            ];
            cells.extend(scores.iter().map(|name| {
                let score = own.scores.iter().find(|(other, _)| other == name);
                Cell::from(score.map(|(_, score)| number(*score, 1)))
            }));
            if ranked {
                cells.push(cook.card.contest_rank.map(|rank| rank.to_string()).into());
            }
            cells
        })
        .collect();
    let earlier = if from > 0 {
        format!(" The {} before: {}.", plural(from, "contest cook"), behind.rest())
    } else {
        String::new()
    };
    let remark = format!(
        "Lines: time runs to turn-in, the upright mark; diamond: planned pull; disc: pull; the line behind it: rest.{earlier}"
    );
    let caption = "Contests: plan, pull, rest and turn-in, the newest last";
    let mut blocks = vec![Table::new(caption, columns, rows).remark(remark).into()];
    blocks.extend(sentences(data, &shown));
    blocks
}

/// A sentence a contest, in the order of their cooks.
fn sentences(data: &ReportData, shown: &[(&ContestCook, &CookReport)]) -> Option<Block> {
    let mut told: Vec<Inlines> = Vec::new();
    let mut from = 0;
    while from < shown.len() {
        let key = |place: usize| (&shown[place].0.contest, &shown[place].1.day);
        let to = (from..shown.len()).find(|place| key(*place) != key(from)).unwrap_or(shown.len());
        let (name, day) = key(from);
        let group = &shown[from..to];
        if let Some(said) = contest_sentence(group, data.study.season.glance.last()) {
            let name = name.as_deref().unwrap_or("Contest");
            told.push(inlines![bold(format!("{name}, {day}:")), " ", said]);
        }
        from = to;
    }
    (!told.is_empty()).then(|| agenda(told, ""))
}

fn line(own: &ContestCook, cook: &CookReport) -> Option<ContestLine> {
    let pull_min = own.turn_in_margin_min?;
    Some(ContestLine {
        planned_min: own.late_min.map(|late| pull_min + late),
        pull_min,
        slice_min: cook.measures.rest_min.map(|rest| pull_min - rest),
    })
}

fn ended(reason: EndReason) -> &'static str {
    match reason {
        EndReason::Finish => "at its finish",
        EndReason::Tender => "tender",
        EndReason::OutOfTime => "out of time",
        EndReason::Fire => "the fire",
        EndReason::LogEnd => "log ends first",
        EndReason::Unstated => "not stated",
    }
}

/// Two small lines.
fn steadiness(data: &ReportData, units: Units) -> Vec<Block> {
    let charts = &data.study.season.charts;
    let known = STEADY.iter().filter_map(|name| charts.iter().find(|own| own.measure == *name));
    let figures: Vec<Figure> = known
        .take(2)
        .enumerate()
        .map(|(place, chart)| Figure {
            form: FigureForm::Curve,
            id: None,
            drawing: Some(small_chart(&format!("sum-steady-{place}"), chart, units)),
            caption: match chart.shifts.last() {
                Some(shift) => format!(
                    "A point a fire, its usual scatter between the dashed lines. It changed for good around {}.",
                    data.days().get(shift.cook.as_str()).copied().unwrap_or_default()
                ),
                None => {
                    "A point a fire, its usual scatter between the dashed lines. No lasting change over the season.".to_owned()
                }
            }
            .into(),
        })
        .collect();
    if figures.is_empty() {
        return Vec::new();
    }
    vec![heading("How steady we were, fire by fire"), Block::Gallery(figures)]
}
