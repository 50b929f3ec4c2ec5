//! What was noted of a cook against its card, and readings by hand against its curve.

use crate::finding::{AS_WRITTEN, Change, Finding};
use crate::say::{self, MINUTE_MS};
use crate::{Cook, Season};
use columns::card;
use cook::{Answer, Event, EventKind, Mark, Question, QuestionCode, WrapMethod};
use std::collections::BTreeSet;

/// A mark on the card and one among the events are one within this, ms (20 min): one of the two is
/// written down afterwards.
const SAME_MS: i64 = 20 * MINUTE_MS;
/// A thermometer held into the meat elsewhere than the probe reads up to half of this more or less, °C:
/// in the stall the flat of a brisket and its point are 5 to 8 °C apart. Common practice, no source.
const ELSEWHERE_C: f64 = 15.0;
/// The core is looked at for this long on either side, ms: clocks at the pit are not set to the second.
const AROUND_MS: i64 = 15 * MINUTE_MS;

/// The answers: which of the two is believed.
const CARD: &str = "card";
const EVENTS: &str = "events";
const BOTH: &str = "both";

/// Marks that card and events state unlike. Also gives those of which the card's time is not what is
/// used, or is in doubt.
pub(crate) fn find(season: &Season<'_>) -> (Vec<Finding>, BTreeSet<(usize, Mark)>) {
    let mut findings = Vec::new();
    let mut asked = BTreeSet::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        for mark in [Mark::MeatOn, Mark::Wrap, Mark::Pull, Mark::Slice] {
            let Some(finding) = unlike(season, at, cook, mark) else { continue };
            let answer = season.answers.to(&finding.question);
            if !answer.is_some_and(|answer| answer.eq_ignore_ascii_case(CARD)) {
                asked.insert((at, mark));
            }
            findings.push(finding);
        }
        findings.extend(by_hand(season, cook));
    }
    (findings, asked)
}

/// The card's time of a mark and its cell, where the card itself states it.
fn stated(cook: &Cook<'_>, mark: Mark) -> Option<(i64, String)> {
    let marks = &cook.card.marks;
    let (ms, column) = match mark {
        Mark::MeatOn => (marks.meat_on_ms, card::MEAT_ON_AT.stated_as()),
        Mark::Wrap => (marks.wrap_ms, card::WRAP_AT.stated_as()),
        Mark::Pull => (marks.pull_ms, card::PULL_AT.stated_as()),
        Mark::Slice => (marks.slice_ms, card::SLICE_AT.stated_as()),
    };
    cook.cell(column)?;
    Some((ms?, column.to_owned()))
}

fn unlike(season: &Season<'_>, at: usize, cook: &Cook<'_>, mark: Mark) -> Option<Finding> {
    let kind = match mark {
        Mark::MeatOn => EventKind::MeatOn,
        Mark::Wrap => EventKind::Wrap,
        Mark::Pull => EventKind::Pull,
        Mark::Slice => EventKind::Slice,
    };
    let noted: Vec<&Event> =
        cook.events.iter().copied().filter(|event| event.kind == kind).collect();
    // Of several, the first is when the meat went on or was wrapped, the last when it came off.
    let event =
        if matches!(mark, Mark::MeatOn | Mark::Wrap) { noted.first() } else { noted.last() };
    let event = *event?;
    let said = stated(cook, mark);
    let is_same = |said: i64| noted.iter().any(|event| (event.at_ms - said).abs() <= SAME_MS);
    let time = said.as_ref().map(|(ms, _)| *ms).filter(|ms| !is_same(*ms));
    let method = (mark == Mark::Wrap).then(|| unlike_method(cook, &noted)).flatten();
    if time.is_none() && method.is_none() {
        return None;
    }

    let word = mark.as_str();
    let told = |ms: i64| say::instant(ms, season.zone);
    let in_words = |ms: Option<i64>, method: Option<&WrapMethod>| {
        let method = method.map(ToString::to_string);
        [method, ms.map(|ms| format!("at {}", told(ms)))]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let by_card = in_words(time, method.as_ref().map(|(card, _)| card));
    let by_events = in_words(time.map(|_| event.at_ms), method.as_ref().map(|(_, noted)| noted));
    let noted_at = format!("events of cook `{}`, {}", cook.card.cook, told(event.at_ms));
    let column = said.as_ref().map_or(card::WRAP_METHOD.column.name, |(_, column)| column);
    let place = match cook.cells.first() {
        Some(cell) if cook.cell(column).is_none() => {
            format!("{}:{} {column}", cell.sheet, cell.line)
        }
        _ => cook.place(column),
    };
    let mut answers = vec![
        Answer::new(CARD, format!("{word} {by_card}, as the card says")),
        Answer::new(EVENTS, format!("{word} {by_events}, as the events say")),
    ];
    let can_be_both = mark == Mark::Wrap && time.is_some();
    if can_be_both {
        answers.push(Answer::new(BOTH, "it was wrapped twice"));
    }
    let not_noted = noted.iter().map(|event| (at, Change::NoEvent(kind, event.at_ms))).collect();
    let mut as_noted = Vec::new();
    if let Some(was) = time {
        as_noted.push((at, Change::Mark { mark, was, now: Some(event.at_ms) }));
    }
    if let Some((_, method)) = &method {
        as_noted.push((at, Change::Wrapped(method.clone())));
    }
    let used = if can_be_both { BOTH } else { CARD };
    let question = Question::new(
        QuestionCode::CardAgainstEvents,
        &[&cook.card.cook, word, &by_card, &by_events],
        format!(
            "{place}: {word} {by_card} on the card, {by_events} among the events: which is right?"
        ),
        format!(
            "cook `{}`: they are further apart than two hands write one thing down",
            cook.card.cook
        ),
        answers,
    )
    .at(place)
    .at(noted_at);
    Some(Finding {
        question: Question { used: Some(used.to_owned()), ..question },
        answered: vec![(CARD, not_noted), (EVENTS, as_noted)],
        open: Vec::new(),
    })
}

/// The card's method and the first noted one, where none of those noted is the card's.
fn unlike_method(cook: &Cook<'_>, noted: &[&Event]) -> Option<(WrapMethod, WrapMethod)> {
    let card = cook.card.wrap_method.clone().filter(|method| *method != WrapMethod::None)?;
    let methods: Vec<WrapMethod> =
        noted.iter().filter_map(|event| WrapMethod::parse(event.value.as_deref()?)).collect();
    let first = methods.first()?.clone();
    (!methods.contains(&card)).then_some((card, first))
}

/// Readings by hand that the log's core is far from all around them: one question a cook.
fn by_hand(season: &Season<'_>, cook: &Cook<'_>) -> Option<Finding> {
    let curve = cook.curve?;
    let told = |celsius: f64| say::temperature(celsius, season.units);
    let mut against: Vec<(i64, String, f64, f64)> = Vec::new();
    for event in &cook.events {
        let Some(spot) = event.spot_reading() else { continue };
        let around = [event.at_ms - AROUND_MS, event.at_ms, event.at_ms + AROUND_MS];
        let around: Vec<f64> = around.into_iter().filter_map(|ms| curve.core_at(ms)).collect();
        let Some(core) = curve.core_at(event.at_ms) else { continue };
        let least = around.iter().copied().fold(core, f64::min);
        let most = around.iter().copied().fold(core, f64::max);
        let read = spot.temp.value();
        if !(least - ELSEWHERE_C..=most + ELSEWHERE_C).contains(&read) {
            against.push((event.at_ms, event.value.clone().unwrap_or_default(), read, core));
        }
    }
    let (at_ms, text, read, core) = against.first()?;
    let place =
        format!("events of cook `{}`, {}", cook.card.cook, say::instant(*at_ms, season.zone));
    let more = match against.len() - 1 {
        0 => String::new(),
        more => format!("; so is it with {more} more"),
    };
    let other =
        if text.to_lowercase().contains('f') { *read * 1.8 + 32.0 } else { (read - 32.0) / 1.8 };
    let unit =
        if (other - core).abs() <= ELSEWHERE_C { ": in the other unit it would fit" } else { "" };
    let evidence: Vec<String> =
        against.iter().map(|(ms, text, ..)| format!("{ms} {text}")).collect();
    let question = Question::new(
        QuestionCode::HandAgainstCurve,
        &[&cook.card.cook, &evidence.join(";")],
        format!("{place}: is `{text}` right? The log shows {} then", told(*core)),
        format!(
            "the reading by hand is {}{unit}{more}. It is used as written; what is wrong is to be mended in the events sheet",
            told(*read)
        ),
        vec![Answer::new(AS_WRITTEN, format!("`{text}` as written: the log's probe is elsewhere in the meat"))],
    )
    .at(place);
    Some(Finding {
        question: Question { used: Some(AS_WRITTEN.to_owned()), ..question },
        answered: Vec::new(),
        open: Vec::new(),
    })
}
