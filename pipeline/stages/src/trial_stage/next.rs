//! `trial next`: the cook is written in, then its lot is shown.

use super::{Looking, Trials, empty_table, goes_on, instant, page, result, usage, words};
use crate::csv_sheet::CsvSheet;
use crate::error::StageError;
use crate::folder::QUESTIONS;
use crate::ingest_stage::{IngestRequest, read_sheets};
use crate::study_stage::definition_hash;
use cook::{Card, Kilograms, Questions};
use jiff::tz::TimeZone;
use outlook::trial::{Wanted, draw};
use std::path::PathBuf;
use store::Table;
use study::MeasureTable;
use study::lock::{LockedTrial, Lot, TrialKind};

/// What to draw for.
#[derive(Debug, Clone)]
pub struct TrialNextRequest {
    /// The season folder.
    pub folder: PathBuf,
    /// The claim, where there are several trials.
    pub claim: Option<String>,
    /// The cooks.
    pub cooks: Vec<String>,
    /// Local date of cooks that no sheet has yet; today where it is not said.
    pub date: Option<String>,
    /// One printed sheet to write.
    pub page: Option<PathBuf>,
    /// The instant taken for now, ms since 1970.
    pub now_ms: Option<i64>,
}

/// What was drawn.
#[derive(Debug, Clone)]
pub struct TrialDrawn {
    /// One row a lot.
    pub table: Table,
    /// What there is to say, line by line.
    pub lines: Vec<String>,
}

/// Draws the lots of cooks. Cooks that have theirs are shown it again.
///
/// # Errors
/// No trial, one that has ended or whose files were changed, cooks that are on already, that are none of one
/// fire, or too many or few of them: nothing is drawn then.
pub fn trial_next(request: &TrialNextRequest) -> Result<TrialDrawn, StageError> {
    let mut trials = Trials::open(&request.folder)?;
    let place = trials.place(request.claim.as_deref())?;
    let at = instant(request.now_ms);
    let problems = trials.keys.problems(&trials.lock.trials[place]);
    if let Some(problem) = problems.first() {
        return Err(usage(problem.clone()));
    }
    let trial = trials.lock.trials[place].clone();
    let Some(key) = trials.keys.of(&trial) else {
        return Err(usage(format!(
            "{}: has no key of the trial `{}`, and no lot can be drawn without; put the file back beside season.toml",
            trials.keys.path().display(),
            trial.id
        )));
    };
    let known: Vec<&Lot> =
        trial.lots.iter().filter(|lot| request.cooks.contains(&lot.cook)).collect();
    if !known.is_empty() && known.len() == request.cooks.len() {
        let mut lines = vec!["Drawn before; a lot is drawn once.".to_owned()];
        lines.extend(write_page(request, &trial, &known)?);
        return Ok(TrialDrawn { table: words::lot_rows(&known), lines });
    }
    may_draw(&mut trials, place, &at.to_string())?;
    // Tried first, so that what is refused leaves no row in the sheet.
    let named = request.cooks.iter();
    let named: Vec<Wanted> =
        named.map(|cook| Wanted { cook: cook.clone(), stratum: String::new() }).collect();
    draw(&mut trial.clone(), &key, &named, &at.to_string())?;

    let mut cards = cards(&trials)?;
    let mut lines = Vec::new();
    let zone = zone(&trials)?;
    let mut sheet = newest_sheet(&trials)?;
    let date = match &request.date {
        Some(date) => date
            .parse::<jiff::civil::Date>()
            .map_err(|_| usage(format!("`{date}` is no date; write one such as 2026-05-02")))?,
        None => at.to_zoned_datetime(zone).date(),
    };
    let known: Vec<&Card> =
        cards.iter().filter(|card| request.cooks.contains(&card.cook)).collect();
    check_cards(&known, &trial, at.as_millisecond())?;
    for cook in &request.cooks {
        if cook.trim().is_empty() || cook.contains(['\n', '\r']) {
            return Err(usage("a cook needs a name of one line"));
        }
        if cards.iter().any(|card| card.cook == *cook) {
            continue;
        }
        let Some(sheet) = &mut sheet else {
            return Err(usage(format!(
                "no sheet has the cook `{cook}` yet, and none of them is a CSV file in UTF-8 with a column `cook`, which alone is written to: add its row and save, then draw"
            )));
        };
        sheet.append(&[("cook", cook), ("date", &date.to_string())]);
        sheet.write()?;
        lines.push(format!("{cook} was written into {}.", sheet.path().display()));
        let date = Some(date.to_string());
        cards.push(Card { cook: cook.clone(), date, ..Card::default() });
    }
    let of_cooks: Vec<&Card> = request
        .cooks
        .iter()
        .filter_map(|cook| cards.iter().find(|card| card.cook == *cook))
        .collect();
    check_cards(&of_cooks, &trial, at.as_millisecond())?;
    let wanted: Vec<Wanted> = of_cooks
        .iter()
        .map(|card| Wanted { cook: card.cook.clone(), stratum: stratum(card, &trial) })
        .collect();
    let own = &mut trials.lock.trials[place];
    let before = own.lots.len();
    draw(own, &key, &wanted, &at.to_string())?;
    let drawn = own.clone();
    // The lock first: with a lot of which the key's file knows nothing the next draw stops and says so.
    trials.write_lock()?;
    trials.keys.keep(&drawn, &key)?;
    let lots: Vec<&Lot> = drawn.lots[before..].iter().collect();
    lines.extend(write_cells(&mut trials, &lots)?);
    lines.extend(words::open_lots(&drawn, before, &trials.cards));
    lines.extend(write_page(request, &drawn, &lots)?);
    Ok(TrialDrawn { table: words::lot_rows(&lots), lines })
}

/// Refuses where the trial has ended, or more were drawn than it can need.
fn may_draw(trials: &mut Trials, place: usize, at: &str) -> Result<(), StageError> {
    let empty = empty_table();
    let measures = trials.measures.as_ref().filter(|table| table.column("cook").is_some());
    let table = MeasureTable::new(measures.unwrap_or(&empty))?;
    let mut trial = trials.lock.trials[place].clone();
    let looking = Looking {
        claims: &trials.claims,
        table: &table,
        cards: &trials.cards,
        keys: &trials.keys,
        definition: &definition_hash(&trials.season),
        at: Some(at),
    };
    let found = result(&mut trial, looking)?;
    if let Some(reason) = &found.reason {
        return Err(usage(format!("the trial `{}` decides nothing: {reason}", trial.id)));
    }
    if !goes_on(&found) {
        return Err(usage(format!(
            "the trial `{}` has ended: `cookstudy trial look` says how",
            trial.id
        )));
    }
    let planned = trial.design.planned;
    let size = trial.design.kind.lots();
    // A quarter more, in place of those that are lost.
    let most = (planned + planned.div_ceil(4)) * size;
    if trial.lots.len() >= most {
        return Err(usage(format!(
            "{} lots were drawn, and the trial `{}` takes {}: cook those that wait, then `cookstudy run`",
            trial.lots.len(),
            trial.id,
            planned * size
        )));
    }
    Ok(())
}

/// The cards of the season's sheets as they stand now.
fn cards(trials: &Trials) -> Result<Vec<Card>, StageError> {
    let season = &trials.season;
    let answers = Questions::read(&trials.folder.join(QUESTIONS))?.answers();
    let sheets = season
        .sheets
        .iter()
        .filter(|name| trials.folder.join(name.split('#').next().unwrap_or(name)).is_file());
    let sheets = read_sheets(&IngestRequest {
        base: trials.folder.clone(),
        logs: Vec::new(),
        sheets: sheets.cloned().collect(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: PathBuf::new(),
        season: season.clone(),
        answers,
        whole: true,
        prune: false,
    })?;
    Ok(sheets.cards.cards)
}

fn zone(trials: &Trials) -> Result<TimeZone, StageError> {
    let answers = Questions::read(&trials.folder.join(QUESTIONS))?.answers();
    Ok(trials.season.zone(&answers).unwrap_or_else(TimeZone::system))
}

/// The last sheet of the settings, in which new cooks stand, if it can be written to.
fn newest_sheet(trials: &Trials) -> Result<Option<CsvSheet>, StageError> {
    let Some(name) = trials.season.sheets.last() else { return Ok(None) };
    let path = trials.folder.join(name);
    if crate::note::is_spreadsheet(name) || !path.is_file() {
        return Ok(None);
    }
    CsvSheet::read(path)
}

fn check_cards(cards: &[&Card], trial: &LockedTrial, now_ms: i64) -> Result<(), StageError> {
    for card in cards {
        let marks = &card.marks;
        let over = [marks.wrap_ms, marks.pull_ms, marks.slice_ms].iter().any(Option::is_some)
            || card.cooked_weight.is_some()
            || !card.scores.is_empty();
        if over || marks.meat_on_ms.is_some_and(|on| on <= now_ms) {
            return Err(usage(format!(
                "the sheet says that {} is on already, or over: a lot is drawn before, else what was seen may choose it",
                card.cook
            )));
        }
        if let Some(arm) = &card.arm {
            return Err(usage(format!(
                "{} has the arm `{arm}` in the sheet already, from no lot of this trial: clear the cell, or draw for another cook",
                card.cook
            )));
        }
    }
    if let (TrialKind::Pairs, [first, second]) = (trial.design.kind, cards) {
        for of in [|card: &Card| card.date.clone(), |card: &Card| card.pit.clone()] {
            if let (Some(one), Some(other)) = (of(first), of(second))
                && one != other
            {
                return Err(usage(format!(
                    "{} is on `{one}` and {} on `{other}`: the two of a pair share one fire",
                    first.cook, second.cook
                )));
            }
        }
    }
    Ok(())
}

/// Pit and weight class of a cook.
fn stratum(card: &Card, trial: &LockedTrial) -> String {
    let pit = card.pit.as_deref().unwrap_or("any pit");
    let weight = card.trimmed_weight.or(card.raw_weight).map(Kilograms::value);
    match (weight, trial.design.heavy_from_kg) {
        (Some(kg), Some(heavy)) if kg >= heavy => format!("{pit}/heavy"),
        (Some(_), Some(_)) => format!("{pit}/light"),
        _ => pit.to_owned(),
    }
}

/// Writes arm, block and place into the sheets that have the cooks; says what a hand must fill in.
fn write_cells(trials: &mut Trials, lots: &[&Lot]) -> Result<Vec<String>, StageError> {
    let mut lines = Vec::new();
    let mut left: Vec<&&Lot> = lots.iter().collect();
    for name in &trials.season.sheets {
        let path = trials.folder.join(name);
        if crate::note::is_spreadsheet(name) || !path.is_file() {
            continue;
        }
        let Some(mut sheet) = CsvSheet::read(path)? else { continue };
        let (here, elsewhere): (Vec<&&Lot>, Vec<&&Lot>) =
            left.into_iter().partition(|lot| sheet.has(&lot.cook));
        for lot in &here {
            sheet.set(&lot.cook, "arm", &lot.arm)?;
            sheet.set(&lot.cook, "block", &lot.block)?;
            if let Some(position) = &lot.position {
                sheet.set(&lot.cook, "pit_position", position)?;
            }
        }
        if !here.is_empty() {
            sheet.write()?;
        }
        left = elsewhere;
    }
    for lot in left {
        let position = lot.position.as_ref();
        let position = position.map_or_else(String::new, |at| format!(", pit_position = {at}"));
        lines.push(format!(
            "Fill in for {}: arm = {}, block = {}{position} (a spreadsheet is not written to).",
            lot.cook, lot.arm, lot.block
        ));
    }
    Ok(lines)
}

fn write_page(
    request: &TrialNextRequest,
    trial: &LockedTrial,
    lots: &[&Lot],
) -> Result<Option<String>, StageError> {
    let Some(path) = &request.page else { return Ok(None) };
    store::write_page(path, &page::page(trial, lots))?;
    Ok(Some(format!("The sheet to print is {}.", path.display())))
}
