//! Set-points and targets against the pit, and against what a cook can be.

use crate::curve::median;
use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::say;
use crate::{Cell, Cook, Season};
use columns::card;
use cook::{Answer, Celsius, EventKind, Question, QuestionCode};
use std::collections::BTreeMap;

/// A pit that is held at its set-point lies within this of it, °C: a thermometer in the lid reads
/// 10 to 20 °C off the grate, and a fire of logs swings by as much. Common practice, no source.
const HELD_WITHIN_C: f64 = 20.0;
/// Further off than this for all of a cook, °C, a pit was not held at that set-point: 50 °F, two steps of
/// what people set, are 28. Common practice, no source.
const FAR_OFF_C: f64 = 25.0;
/// A pit below this has no fire yet, °C.
const LIT_ABOVE_C: f64 = 60.0;
/// So many levels of ten minutes make a course, an hour and a half; half an hour in the setting of one
/// event.
const LEVELS: usize = 9;
const LEVELS_OF_EVENT: usize = 3;
/// A pit needs this long to come to another set-point, ms (40 min). Common practice, no source.
const SETTLES_MS: i64 = 2_400_000;
/// Where no pit was logged: set-points that cook nothing, and those beyond what is smoked at, °C …
const TOO_COLD_C: f64 = 65.0;
const TOO_HOT_C: f64 = 210.0;
/// … and what is usual, °C. Common practice, no source.
const USUAL_C: (f64, f64) = (80.0, 200.0);
/// Targets of a core below and above which there is no cook, °C, and those there are: from fish at
/// 48 °C to meat at water's boiling point.
const TARGET_C: (f64, f64) = (45.0, 105.0);

/// What a value would be in the other unit.
fn in_other_unit(celsius: f64, heading_is_fahrenheit: bool) -> f64 {
    if heading_is_fahrenheit {
        Celsius(celsius).fahrenheit()
    } else {
        Celsius::from_fahrenheit(celsius).value()
    }
}

/// One value that its heading's unit does not fit.
struct Misfit<'a> {
    cook: usize,
    cell: &'a Cell<'a>,
    other_c: f64,
    because: String,
}

pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut set_points: BTreeMap<(&str, &str), Vec<Misfit<'_>>> = BTreeMap::new();
    let mut targets: BTreeMap<(&str, &str), Vec<Misfit<'_>>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        if let Some((cell, said)) =
            stated(cook, card::PIT_SETPOINT_C.column.name, cook.card.pit_setpoint)
        {
            match judge_set_point(season, cook, cell, said) {
                Judged::Fits => {}
                Judged::OtherUnit { other_c, because } => set_points
                    .entry((cell.sheet, cell.column))
                    .or_default()
                    .push(Misfit { cook: at, cell, other_c, because }),
                Judged::FarOff { because } => {
                    findings.push(far_off((at, &cook.card.cook), cell, &because));
                }
            }
        }
        if let Some((cell, said)) =
            stated(cook, card::TARGET_CORE_C.column.name, cook.card.target_core)
            && !cell.names_its_unit()
            && !(TARGET_C.0..=TARGET_C.1).contains(&said)
        {
            let other_c = in_other_unit(said, is_fahrenheit(cell));
            if (TARGET_C.0..=TARGET_C.1).contains(&other_c) {
                let because = format!(
                    "cook `{}`: a core is not cooked to {}, but to {}",
                    cook.card.cook,
                    say::temperature(said, season.units),
                    say::temperature(other_c, season.units)
                );
                targets.entry((cell.sheet, cell.column)).or_default().push(Misfit {
                    cook: at,
                    cell,
                    other_c,
                    because,
                });
            }
        }
        findings.extend(noted(season, at, cook));
    }
    findings.extend(set_points.into_values().map(|misfits| unit_of(&misfits, Change::SetPoint)));
    findings.extend(targets.into_values().map(|misfits| unit_of(&misfits, Change::Target)));
    findings
}

fn stated<'a>(
    cook: &'a Cook<'a>,
    field: &str,
    value: Option<Celsius>,
) -> Option<(&'a Cell<'a>, f64)> {
    Some((cook.cell(field)?, value?.value()))
}

/// Whether a cell was read in °F where it names no unit.
fn is_fahrenheit(cell: &Cell<'_>) -> bool {
    cell.read_as.ends_with("_f")
}

enum Judged {
    Fits,
    OtherUnit { other_c: f64, because: String },
    FarOff { because: String },
}

fn judge_set_point(season: &Season<'_>, cook: &Cook<'_>, cell: &Cell<'_>, said: f64) -> Judged {
    let other_c = in_other_unit(said, is_fahrenheit(cell));
    let may_be_other = !cell.names_its_unit();
    let told = |celsius: f64| say::temperature(celsius, season.units);
    let levels = pit_of_set_point(cook);
    if levels.len() >= LEVELS
        && let Some(level) = median(levels.clone())
    {
        let near = |celsius: f64| {
            levels.iter().filter(|level| (*level - celsius).abs() <= HELD_WITHIN_C).count()
        };
        // A fire that died after an hour at its set-point was held there.
        if (level - said).abs() <= FAR_OFF_C || near(said) * 10 >= levels.len() {
            return Judged::Fits;
        }
        let because = format!(
            "cook `{}`: the pit ran at {}, and the set-point is read as {}",
            cook.card.cook,
            told(level),
            told(said)
        );
        if may_be_other && (level - other_c).abs() <= HELD_WITHIN_C {
            return Judged::OtherUnit { other_c, because };
        }
        return Judged::FarOff { because };
    }
    let usual = (USUAL_C.0..=USUAL_C.1).contains(&other_c);
    if may_be_other && usual && !(TOO_COLD_C..=TOO_HOT_C).contains(&said) {
        let because = format!(
            "cook `{}`: a pit is not run at {}, but often at {}",
            cook.card.cook,
            told(said),
            told(other_c)
        );
        return Judged::OtherUnit { other_c, because };
    }
    Judged::Fits
}

/// The pit's lit levels while the card's set-point was its own: between the marks as far as they lie
/// in the log, until the first event that sets another.
fn pit_of_set_point(cook: &Cook<'_>) -> Vec<f64> {
    let Some(curve) = cook.curve else { return Vec::new() };
    let inside = |ms: &i64| (curve.first_ms..=curve.last_ms).contains(ms);
    let from = cook.card.marks.meat_on_ms.filter(inside).unwrap_or(curve.first_ms);
    let until = cook.card.marks.pull_ms.filter(inside).unwrap_or(curve.last_ms);
    let changed = cook
        .events
        .iter()
        .find(|event| event.kind == EventKind::Setpoint && event.at_ms > from + SETTLES_MS);
    let until = changed.map_or(until, |event| event.at_ms.min(until));
    let mut levels = curve.pit_between(from, until);
    levels.retain(|level| *level >= LIT_ABOVE_C);
    levels
}

/// One question for all values of a column that the other unit fits.
fn unit_of(misfits: &[Misfit<'_>], change: fn(Option<Celsius>) -> Change) -> Finding {
    let first = misfits[0].cell;
    let (headed, other) = if is_fahrenheit(first) { ("F", "C") } else { ("C", "F") };
    let mut texts: Vec<&str> = misfits.iter().map(|misfit| misfit.cell.text).collect();
    texts.sort_unstable();
    texts.dedup();
    let mut question = Question::new(
        QuestionCode::SetPointAgainstPit,
        &[first.sheet, first.column, "unit"],
        format!(
            "{}, column `{}`: is {} in °{headed}, as it was read, or in °{other}?",
            first.sheet,
            first.column,
            say::some_of(&texts)
        ),
        format!("{}. Until this is answered, the value is not used", misfits[0].because),
        vec![
            Answer::new(other, format!("{} °{other}", texts[0])),
            Answer::new(headed, format!("{} °{headed}, as it was read", texts[0])),
        ],
    );
    for misfit in misfits {
        question = question.at(misfit.cell.place());
    }
    let all = |of: &dyn Fn(&Misfit<'_>) -> Option<Celsius>| {
        misfits.iter().map(|misfit| (misfit.cook, change(of(misfit)))).collect::<Vec<_>>()
    };
    Finding {
        question,
        answered: vec![(other, all(&|misfit| Some(Celsius(misfit.other_c))))],
        open: all(&|_| None),
    }
}

fn far_off((at, cook): (usize, &str), cell: &Cell<'_>, because: &str) -> Finding {
    let question = Question::new(
        QuestionCode::SetPointAgainstPit,
        &[cell.sheet, cook, cell.column, cell.text],
        format!("{}: is {} the pit's set-point?", cell.place(), cell.text),
        format!("{because}. Until this is answered, the value is not used"),
        vec![
            Answer::new(LEAVE_OUT, "the cook has no set-point"),
            Answer::new(AS_WRITTEN, "the set-point stays, far off the pit"),
        ],
    )
    .at(cell.place());
    let left_out = vec![(at, Change::SetPoint(None))];
    Finding { question, answered: vec![(LEAVE_OUT, left_out.clone())], open: left_out }
}

/// Set-points that were noted with one unit's letter, and that the pit held in the other's.
fn noted(season: &Season<'_>, at: usize, cook: &Cook<'_>) -> Vec<Finding> {
    let Some(curve) = cook.curve else { return Vec::new() };
    let set: Vec<_> =
        cook.events.iter().filter(|event| event.kind == EventKind::Setpoint).collect();
    let mut findings = Vec::new();
    for (index, event) in set.iter().enumerate() {
        let (Some(said), Some(text)) = (event.temperature(), event.value.as_deref()) else {
            continue;
        };
        let next = set.get(index + 1).map(|next| next.at_ms);
        let pull = cook.card.marks.pull_ms.unwrap_or(curve.last_ms);
        let until = next.unwrap_or(pull).min(pull);
        let mut levels = curve.pit_between(event.at_ms + SETTLES_MS, until);
        levels.retain(|level| *level >= LIT_ABOVE_C);
        let Some(level) = median(levels.clone()).filter(|_| levels.len() >= LEVELS_OF_EVENT) else {
            continue;
        };
        let is_fahrenheit = text.trim_end().ends_with(['f', 'F']);
        let other_c = in_other_unit(said.value(), is_fahrenheit);
        if (level - said.value()).abs() <= FAR_OFF_C || (level - other_c).abs() > HELD_WITHIN_C {
            continue;
        }
        let (noted, other) = if is_fahrenheit { ("F", "C") } else { ("C", "F") };
        let number = text.trim().trim_end_matches(|c: char| !c.is_ascii_digit());
        let told = |celsius: f64| say::temperature(celsius, season.units);
        let place = format!(
            "events of cook `{}`, {}",
            cook.card.cook,
            say::instant(event.at_ms, season.zone)
        );
        let question = Question::new(
            QuestionCode::SetPointAgainstPit,
            &[&cook.card.cook, text, &event.at_ms.to_string()],
            format!("{place}: is the set-point `{text}` in °{noted} or in °{other}?"),
            format!(
                "the pit then ran at {}, and the set-point is read as {}",
                told(level),
                told(said.value())
            ),
            vec![
                Answer::new(other, format!("{number} °{other}")),
                Answer::new(noted, format!("{number} °{noted}, as written")),
            ],
        )
        .at(place);
        let mended = Change::NotedSetPoint(event.at_ms, format!("{number}{other}"));
        let question = Question { used: Some(noted.to_owned()), ..question };
        findings.push(Finding {
            question,
            answered: vec![(other, vec![(at, mended)])],
            open: Vec::new(),
        });
    }
    findings
}
