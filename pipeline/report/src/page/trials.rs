//! What lots have settled: above all that was observed.

use cook::Units;
use study::result::Effect;
use study::result::trial::{LotState, TrialResult, TrialState};
use study::{Direction, Verdict};

use crate::document::{
    Block, Cell, Figure, FigureForm, Inlines, Section, Table, heading_at, list, note, numbers,
    paragraph, text,
};
use crate::figure::pairs;
use crate::names::{name_within, quantity_of};
use crate::units::{count, number, with_unit};
use crate::words::{level, plural};

/// The section.
pub(super) fn trials(trials: &[TrialResult], units: Units) -> Section {
    let mut blocks = vec![paragraph(
        "Here lots decided who got what, so the difference is caused by it and by nothing that came along with it. It \
         weighs more than everything below that was only observed.",
    )];
    for (place, trial) in trials.iter().enumerate() {
        blocks.extend(one(place, trial, units));
    }
    blocks.push(caution());
    Section::new("randomised", "Settled by lots", blocks)
}

fn one(place: usize, trial: &TrialResult, units: Units) -> Vec<Block> {
    let id = anchor(place);
    let mut blocks = vec![
        heading_at(id.clone(), trial.says.clone()),
        paragraph(Inlines::with_code(&told(trial, units))),
    ];
    if let Some(drawing) = pairs(&format!("{id}-pairs"), trial, units) {
        let open = if trial.lots.iter().any(|lot| lot.censored) {
            " Open circles: cooks that ended before the outcome was reached, known only to have taken longer."
        } else {
            ""
        };
        let caption = format!(
            "Each line is one draw: lines that fall or rise together are the answer.{open} As drawn, whatever was done."
        );
        blocks.push(Figure::block(FigureForm::Plot, drawing, caption));
    }
    blocks.extend(looks(trial, units));
    let sentences = trial.notes.iter().map(|said| Inlines::with_code(&format!("{said}.")));
    blocks.extend(list(sentences));
    blocks
}

/// Where a trial stands in the page.
pub(super) fn anchor(place: usize) -> String {
    format!("trial-{}", place + 1)
}

/// The answer, or how far it has come.
pub(super) fn told(trial: &TrialResult, units: Units) -> String {
    let lost = trial.lots.iter().filter(|lot| lot.state == LotState::Lost).count();
    let lots = format!(
        "{} of {} planned are complete; {} drawn, {} lost.",
        count(trial.complete),
        plural(trial.planned, "draw"),
        plural(trial.lots.len(), "lot"),
        count(lost)
    );
    if let Some(reason) = &trial.reason {
        return format!("It decides nothing: {reason}. {lots}");
    }
    let Some(effect) = trial.effect.as_ref() else {
        let next = trial.next_look_at.unwrap_or(trial.planned);
        return format!(
            "It goes on; the first look is after {}, and nothing is told before. {lots}",
            count(next)
        );
    };
    let verdict = match trial.verdict {
        Verdict::Yes => "Yes.",
        Verdict::Reverse => "No: it is the other way round.",
        Verdict::TooSmallToMatter => "Whatever the difference is, it is too small to matter.",
        Verdict::No => "No: a difference that matters is ruled out.",
        Verdict::Open | Verdict::Refused => "Still open.",
    };
    let leans = match (trial.verdict, trial.direction) {
        (Verdict::Open, Direction::For) => " There is a difference, and it favours what is said.",
        (Verdict::Open, Direction::Against) => {
            " There is a difference, and it goes against what is said."
        }
        _ => "",
    };
    let state = match trial.state {
        TrialState::Stopped => " It stopped early; the estimate is corrected for that.",
        TrialState::Finished => " Its last look was taken.",
        TrialState::Running => " It goes on.",
    };
    let done = trial
        .as_done
        .as_ref()
        .filter(|done| Some(done.estimate) != trial.effect.as_ref().map(|e| e.estimate))
        .filter(|_| trial.state != TrialState::Running)
        .map_or_else(String::new, |done| format!(" As done: {}.", difference(trial, done, units)));
    format!(
        "{verdict}{leans} As drawn, {} under {} less under {} is {}.{done}{state} {lots}",
        name_within(&trial.outcome),
        trial.arms[0],
        trial.arms[1],
        difference(trial, effect, units)
    )
}

fn difference(trial: &TrialResult, effect: &Effect, units: Units) -> String {
    let quantity = quantity_of(&trial.outcome);
    let shown = |value: f64| {
        let value = quantity.difference(value, units);
        number(value, usize::from(value.abs() < 10.0))
    };
    let range = match (effect.lo, effect.hi) {
        (Some(lo), Some(hi)) => format!("{} to {}", shown(lo), shown(hi)),
        (Some(lo), None) => format!("{} or more", shown(lo)),
        (None, Some(hi)) => format!("{} or less", shown(hi)),
        (None, None) => "anything".to_owned(),
    };
    format!("{} ({range})", with_unit(&shown(effect.estimate), quantity.unit(units)))
}

fn looks(trial: &TrialResult, units: Units) -> Option<Block> {
    let quantity = quantity_of(&trial.outcome);
    let shown = |value: f64| number(quantity.difference(value, units), 1);
    let open = "the lots are too few to rule anything out on this side";
    let rows: Vec<Vec<Cell>> = trial
        .looks
        .iter()
        .map(|look| {
            vec![
                count(look.units).into(),
                shown(look.estimate).into(),
                Cell::or_missing(look.lo.map(shown), Some(open)),
                Cell::or_missing(look.hi.map(shown), Some(open)),
                look.verdict.heading().into(),
            ]
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let unit = quantity.unit(units);
    let columns = [
        numbers("After draws", ""),
        numbers("Difference", unit),
        numbers("From", unit),
        numbers("To", unit),
        text("Verdict"),
    ];
    let mut said = "Ranges of all looks hold together".to_owned();
    if let Some(effect) = &trial.effect {
        said += &format!(", {} of the time", level(effect.level));
    }
    let table = Table::new(format!("The looks of “{}”", trial.says), columns, rows);
    Some(table.remark(format!("{said}.")).into())
}

/// That nothing is told of lots between looks.
fn caution() -> Block {
    note(
        "Lots show what was drawn and what came of it. Who redraws, or looks before the time, shows in the lock; nothing can prevent it.",
    )
}
