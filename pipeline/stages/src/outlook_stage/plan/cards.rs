//! Which cooks are to be planned, and what their sheets leave open of them.

use super::PlanRequest;
use crate::error::StageError;
use crate::ingest_stage::{IngestRequest, read_sheets};
use crate::outlook_stage::asked::open;
use crate::outlook_stage::words::usage;
use cook::{Answers, Card, Question, Season};
use ingest::CardRow;
use jiff::tz::TimeZone;
use std::path::PathBuf;

/// The column of the turn-in.
const TURN_IN: &str = columns::card::TURN_IN_AT.stated_as();

/// What is to be planned.
pub(super) struct ToPlan {
    pub(super) cards: Vec<Card>,
    /// What the sheets leave open of them.
    pub(super) notes: Vec<String>,
    /// Whether a cook has a turn-in to come that cannot be placed.
    pub(super) left_out: bool,
}

/// The cooks to plan: those named, the one typed, else those of the sheets with a turn-in to come.
pub(super) fn cards(
    request: &PlanRequest,
    season: &Season,
    answers: &Answers,
    now_ms: i64,
    zone: &TimeZone,
) -> Result<ToPlan, StageError> {
    let typed = request.weight.is_some() || request.setpoint.is_some();
    if request.cooks.is_empty() && typed {
        let cards = vec![Card { cook: "typed".into(), ..Card::default() }];
        return Ok(ToPlan { cards, notes: Vec::new(), left_out: false });
    }
    let sheets = read_sheets(&IngestRequest {
        base: request.folder.clone(),
        logs: Vec::new(),
        sheets: request.sheets.clone(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: PathBuf::new(),
        season: season.clone(),
        answers: answers.clone(),
        whole: true,
        prune: false,
    })?;
    let rows = || sheets.cards.cards.iter().zip(&sheets.cards.rows);
    let today = jiff::Timestamp::from_millisecond(now_ms)
        .map_or_else(|_| String::new(), |at| at.to_zoned_datetime(zone.clone()).date().to_string());
    // A turn-in that is written and not known: a clock time without a meat-on to count from, or no time.
    let unplaced = |card: &Card, row: &CardRow| {
        let is_it = |cell: &&ingest::StatedCell| cell.field == TURN_IN;
        let cell = row.cells().iter().find(is_it).map(|cell| &cell.text);
        let refused = sheets.cards.rejected.iter().find(|rejected| {
            rejected.source == row.sheet
                && rejected.line == row.line
                && rejected.column.as_deref() == Some(TURN_IN)
        });
        let text = cell.or(refused.map(|rejected| &rejected.text));
        let text = text.filter(|_| card.turn_in_ms.is_none())?;
        let why = match ingest::WrittenTime::parse(text, zone) {
            Some(ingest::WrittenTime::Instant(_)) => {
                "does not fit its `meat_on`: mend one of them".to_owned()
            }
            _ => format!(
                "cannot be placed: write date and time, such as {} 12:00",
                card.date.as_deref().unwrap_or(&today)
            ),
        };
        Some(format!("cook `{}`: its `{TURN_IN}` `{text}` {why}", card.cook))
    };
    let mut plan = ToPlan { cards: Vec::new(), notes: Vec::new(), left_out: false };
    let mut take = |card: &Card, row: &CardRow| {
        plan.cards.push(card.clone());
        let place = format!("{}:{} ", row.sheet, row.line);
        let own = |question: &&Question| question.places.iter().any(|at| at.starts_with(&place));
        plan.notes.extend(sheets.cards.questions.iter().filter(own).map(open));
        let own = sheets
            .cards
            .rejected
            .iter()
            .filter(|rejected| rejected.source == row.sheet && rejected.line == row.line);
        plan.notes.extend(own.filter_map(|rejected| sheets.cards.explain(rejected)));
    };
    if request.cooks.is_empty() {
        let mut left_out = Vec::new();
        for (card, row) in rows() {
            if card.turn_in_ms.is_some_and(|at_ms| at_ms > now_ms) {
                take(card, row);
            } else if card.date.as_ref().is_none_or(|date| *date >= today) {
                left_out.extend(unplaced(card, row));
            }
        }
        plan.left_out = !left_out.is_empty();
        if plan.cards.is_empty() {
            let first = left_out.into_iter().next();
            return Err(usage(first.unwrap_or_else(|| {
                "no cook of the sheets has a `turn_in_at` to come: name cooks with --turn-in, or type --weight, --setpoint and --turn-in".into()
            })));
        }
        plan.notes.extend(left_out);
        return Ok(plan);
    }
    for name in &request.cooks {
        let named = rows().find(|(card, _)| card.cook == *name);
        let Some((card, row)) = named else {
            return Err(usage(format!("no row of a season sheet names the cook `{name}`")));
        };
        if let Some(why) = unplaced(card, row).filter(|_| request.turn_in.is_none()) {
            return Err(usage(why));
        }
        take(card, row);
    }
    Ok(plan)
}
