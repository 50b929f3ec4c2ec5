//! Logs that count from their own zero, which was taken for meat-on, and whose curves show meat-on later.
//!
//! Whether a logger is switched on with the meat or while the pit comes up is a habit: it is asked once a
//! sheet, from the first log that shows it, whether or not its card says when the meat went on. A log that
//! shows nothing is not believed to differ from its siblings.

use super::groups::{Context, GroupResult, Parts, Picks, uses_of};
use super::unchanged::ELAPSED;
use cook::{Answer, Answers, MarkTimes, Question, QuestionCode, Units};
use crosscheck::Curve;
use ingest::{CardRow, ElapsedAnchor, FoundLog, SheetReading};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use store::CookRecord;

/// A meat-on that is seen this soon after a log's zero is that zero, ms (5 min): the lid is closed by then.
/// Common practice, no source.
const SOON_MS: i64 = 300_000;
/// A pull that is seen this much later than it is stated is so by the log's zero, ms (20 min): a hand is
/// not as late. Common practice, no source.
const PULL_OFF_MS: i64 = 1_200_000;
/// No logger is switched on longer before the meat goes on, ms (3 h). Common practice, no source.
const LONGEST_MS: i64 = 10_800_000;
/// Meat out of a cold room is colder than this when it goes on, °C: a probe that reads more lies in the air,
/// or in meat that has been on. Common practice, no source.
const RAW_C: f64 = 15.0;
const MINUTE_MS: i64 = 60_000;

/// The answers.
const CURVE: &str = "curve";
const ZERO: &str = "zero";

/// What a curve says of a zero that is taken for meat-on.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sign {
    /// The meat went on so much later, ms.
    Later(i64),
    /// No raw meat is on at the zero: the core's level there, °C.
    NotRaw(f64),
}

/// What a log shows of its zero, which was taken to lie at an instant.
#[derive(Debug, Clone, Copy)]
struct Shown {
    zero_ms: i64,
    /// Whether a card states that instant as meat-on.
    stated: bool,
    sign: Sign,
}

impl Shown {
    /// How much of its zero is known by it.
    fn rank(&self) -> (bool, bool) {
        (self.stated, matches!(self.sign, Sign::Later(_)))
    }
}

/// What a curve says of a zero that is taken for the stated meat-on; `stated` is whether it is.
fn sign(curve: &Curve, marks: &MarkTimes, stated: bool) -> Option<Sign> {
    let zero_ms = marks.meat_on_ms?;
    if let Some(seen_ms) = curve.meat_on_ms.filter(|_| curve.dense) {
        return Some(Sign::Later(seen_ms - zero_ms));
    }
    let pull = marks.pull_ms.zip(curve.pull_ms).filter(|_| stated && curve.dense);
    if let Some(late_ms) = pull.map(|(said, seen)| seen - said)
        && (PULL_OFF_MS..=LONGEST_MS).contains(&late_ms)
    {
        return Some(Sign::Later(late_ms));
    }
    curve.core_at(curve.first_ms).filter(|core| *core >= RAW_C).map(Sign::NotRaw)
}

/// Asks once for all such cooks where their logs began, and puts the zero of each where its curve shows
/// it if that is answered. What is open is noted as well: the cooks are then looked at again at the next
/// run.
pub(super) fn before_meat_on(
    anchors: &mut BTreeMap<String, ElapsedAnchor>,
    sheet: &SheetReading,
    logs: &BTreeMap<&str, ingest::Log>,
    (parts, picks): (&Parts, &Picks),
    context: &Context<'_>,
    answers: &mut BTreeMap<String, String>,
    result: &mut GroupResult,
) {
    // When each log began, by the first cook that shows it.
    let mut signs: BTreeMap<&str, Shown> = BTreeMap::new();
    let is_taken = |anchor: &&ElapsedAnchor| anchor.is_meat_on || anchor.is_assumed;
    for card in &sheet.cards {
        let Some(anchor) = anchors.get(&card.cook).filter(is_taken) else { continue };
        let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        let uses = uses_of(&card.cook, found, logs, parts, picks);
        let Ok(assembled) = ingest::assemble(card, Some(anchor), &uses) else { continue };
        let marks = MarkTimes { meat_on_ms: Some(anchor.zero_ms), ..card.marks };
        let sign = Curve::of_packed(&assembled.readings, card)
            .and_then(|curve| sign(&curve, &marks, anchor.is_meat_on));
        for (log, sign) in uses.iter().filter_map(|used| Some((used.shown_as, sign?))) {
            let shown = Shown { zero_ms: anchor.zero_ms, stated: anchor.is_meat_on, sign };
            let known = signs.entry(log).or_insert(shown);
            if shown.rank() > known.rank() {
                *known = shown;
            }
        }
    }
    for (card, row) in sheet.cards.iter().zip(&sheet.rows) {
        let Some(anchor) = anchors.get_mut(&card.cook).filter(|anchor| is_taken(&&**anchor)) else {
            continue;
        };
        let found = context.uses.get(&card.cook).map(Vec::as_slice).unwrap_or_default();
        let shown = found.iter().find_map(|found| {
            let log = found.file.shown_as.as_str();
            signs.get(log).map(|shown| (log, *shown))
        });
        let Some((log, shown)) = shown else { continue };
        // Of two meats in a log the zero is the same; each card's meat-on is its own. A card's date alone
        // tells nothing of another's.
        let sign = match shown.sign {
            Sign::Later(late_ms) if shown.stated && anchor.is_meat_on => {
                Sign::Later(anchor.zero_ms - shown.zero_ms + late_ms)
            }
            sign => sign,
        };
        if matches!(sign, Sign::Later(late_ms) if late_ms < SOON_MS) {
            continue;
        }
        let question = question(card.cook.as_str(), row, sign, context.options.units)
            .at(format!("{}:{} meat_on", row.sheet, row.line))
            .at(log);
        let answer = context.options.answers.to(&question).unwrap_or_default();
        answers.insert(question.id.clone(), answer.to_owned());
        if answer.is_empty() {
            result.questions.push(Question { used: Some(ZERO.to_owned()), ..question });
        } else if let (Sign::Later(late_ms), true) =
            (sign, shown.stated && answer.eq_ignore_ascii_case(CURVE))
        {
            anchor.zero_ms -= late_ms;
            anchor.because = format!("its curve shows meat-on {} after the zero", minutes(late_ms));
        }
    }
}

fn minutes(ms: i64) -> String {
    format!("{} min", (ms + MINUTE_MS / 2) / MINUTE_MS)
}

fn temperature(celsius: f64, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} °F", cook::Celsius(celsius).fahrenheit()),
        Units::Metric => format!("{celsius:.0} °C"),
    }
}

fn question(cook: &str, row: &CardRow, sign: Sign, units: Units) -> Question {
    let (because, then) = match sign {
        Sign::Later(late_ms) => {
            let late = minutes(late_ms);
            (
                format!(
                    "its log shows the meat go on {late} after its zero, which is taken to be meat-on"
                ),
                format!(
                    "each log began as long before meat-on as its curve shows, this one {late}"
                ),
            )
        }
        Sign::NotRaw(core_c) => (
            format!(
                "its core reads {} at its log's zero, which is taken to be meat-on; raw meat is colder",
                temperature(core_c, units)
            ),
            "each log began as long before meat-on as its curve shows; this one does not show it"
                .to_owned(),
        ),
    };
    Question::new(
        QuestionCode::ZeroBeforeMeatOn,
        &[&row.sheet],
        "do logs that count from their own zero begin before meat-on?",
        format!("cook `{cook}`: {because}"),
        vec![Answer::new(CURVE, then), Answer::new(ZERO, "the zero of each is meat-on")],
    )
}

/// Cooks whose logs show nothing of when they began, where other logs of their sheet began before
/// meat-on: while that is asked, they are asked about as well; once it is answered, they are told.
pub(super) fn unshown<'a>(
    records: impl Iterator<Item = (&'a CookRecord, &'a Curve, &'a CardRow)>,
    uses: &HashMap<String, Vec<FoundLog>>,
    answers: &Answers,
    questions: &mut [Question],
    told: &mut Vec<String>,
) {
    let mut shown: BTreeSet<&str> = BTreeSet::new();
    let mut dark: Vec<(&CookRecord, &CardRow, &str)> = Vec::new();
    for (record, curve, row) in records {
        let found = uses.get(&record.card.cook).into_iter().flatten();
        let mut logs = found.map(|found| found.file.shown_as.as_str());
        if !record.computed_from.ends_with(ELAPSED) {
            continue;
        }
        match sign(curve, &record.card.marks, true) {
            Some(Sign::Later(_)) => shown.extend(logs),
            _ if is_borne_out(curve, &record.card.marks) => shown.extend(logs),
            _ => dark.extend(logs.next().map(|log| (record, row, log))),
        }
    }
    for (record, row, log) in dark.into_iter().filter(|(.., log)| !shown.contains(log)) {
        let asked = question(&record.card.cook, row, Sign::Later(0), Units::default());
        if let Some(open) = questions.iter_mut().find(|question| question.id == asked.id) {
            *open = open.clone().at(log);
        } else if answers.to(&asked).is_some_and(|answer| answer.eq_ignore_ascii_case(CURVE)) {
            told.push(format!(
                "cook `{}`: {log} counts from its own zero, and its curve does not show when the meat went on: its zero is taken to be meat-on\n  try: a line such as `Started: 2025-06-01 22:00` above its header, or layout `time.start`",
                record.card.cook
            ));
        }
    }
}

/// Whether a curve shows the pull where it is stated.
fn is_borne_out(curve: &Curve, marks: &MarkTimes) -> bool {
    let pull = marks.pull_ms.zip(curve.pull_ms).filter(|_| curve.dense);
    pull.is_some_and(|(said, seen)| (seen - said).abs() < SOON_MS)
}
