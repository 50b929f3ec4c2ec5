//! Meat-on, wraps and pull of one cook against its curve.
//!
//! A mark of which the curve shows nothing is a warning of the phases, no contradiction: a quick hand
//! leaves no sign. Here are marks of which the curve shows another time.

use crate::curve::Curve;
use crate::finding::{Change, Finding};
use crate::say::{self, HOUR_MS, MINUTE_MS};
use crate::shifts::Moved;
use crate::{Cook, Season};
use columns::card;
use cook::{Answer, EventKind, Mark, Question, QuestionCode};

/// A stated mark is not doubted within this of what the curve shows, ms (45 min), as in the phases.
const FAR_OFF_MS: i64 = 45 * MINUTE_MS;
/// A probe in the air is so much warmer than in the raw meat, °C, and meat that has long been on so much
/// warmer than raw, °C; both as in the phases.
const IN_AIR_C: f64 = 15.0;
const WARMED_C: f64 = 10.0;
/// A core rises by no more than this after a pull, °C; a core below is raw for a pull, °C; one this far
/// below its highest came off long before, °C. As in the phases.
const CARRY_OVER_C: f64 = 9.0;
const TOO_RAW_C: f64 = 62.0;
const COOLED_OFF_C: f64 = 8.0;
/// In a pit with a fire the core of any roast has begun to rise after this, ms (2½ h): heat reaches the
/// middle of 10 cm of meat (diffusivity 0.13 mm²/s) within half an hour.
const ASLEEP_MS: i64 = 150 * MINUTE_MS;
/// Frozen meat waits at its melting point, °C: below this nothing is said of a core that sleeps.
const THAWED_C: f64 = 3.0;
/// A pit below this has no fire, °C.
const LIT_ABOVE_C: f64 = 50.0;
/// A lid or a dip this near to a mark is its sign, ms (20 min).
const SIGN_WITHIN_MS: i64 = 20 * MINUTE_MS;
/// A mark without a sign is another time's if the only sign that nobody noted is this far off, ms …
const HOURS_MS: i64 = 90 * MINUTE_MS;
/// … while the core is in what people wrap at, °C. Common practice, no source.
const WRAPPED_AT_C: (f64, f64) = (50.0, 92.0);
/// Half of a day's clock, ms.
const HALF_DAY_MS: i64 = 12 * HOUR_MS;

/// What the curve says against a stated mark, and when it shows it.
struct Against {
    mark: Mark,
    said: i64,
    seen: i64,
    why: String,
    /// Whether the phases take the curve's time already.
    curve_is_used: bool,
}

pub(crate) fn find(season: &Season<'_>, moved: &Moved) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let Some(curve) = cook.curve.filter(|_| !moved.settled.contains(&at)) else { continue };
        let by_ms = moved.by.iter().find(|(cook, _)| *cook == at).map_or(0, |(_, by_ms)| *by_ms);
        for against in against(cook, curve, by_ms, season) {
            findings.push(finding(season, at, against, by_ms));
        }
    }
    findings
}

/// Whether meat-on or pull cannot be where it is stated.
pub(crate) fn is_impossible(cook: &Cook<'_>) -> bool {
    let Some(curve) = cook.curve else { return false };
    let marks = &cook.card.marks;
    let outside = |ms: i64| ms < curve.first_ms - FAR_OFF_MS || ms > curve.last_ms + FAR_OFF_MS;
    let on = marks.meat_on_ms.is_some_and(|said| outside(said) || meat_on(curve, said).is_some());
    on || marks.pull_ms.is_some_and(|said| outside(said) || pull(curve, said).is_some())
}

fn against(cook: &Cook<'_>, curve: &Curve, by_ms: i64, season: &Season<'_>) -> Vec<Against> {
    let marks = &cook.card.marks;
    let told = |celsius: Option<f64>| {
        celsius.map_or_else(String::new, |celsius| say::temperature(celsius, season.units))
    };
    let mut found = Vec::new();
    if let Some(said) = marks.meat_on_ms.map(|ms| ms + by_ms)
        && let Some((seen, reason)) = meat_on(curve, said)
    {
        let why = match reason {
            MeatOn::InAir => format!(
                "the probe reads {} then, and is put into raw meat later",
                told(curve.core_at(said))
            ),
            MeatOn::LongOn => {
                format!("the core is at {} by then, and was raw before", told(curve.core_at(said)))
            }
            MeatOn::Asleep => "the core lies still for hours after it".to_owned(),
        };
        let curve_is_used = reason != MeatOn::Asleep;
        found.push(Against { mark: Mark::MeatOn, said, seen, why, curve_is_used });
    }
    let stated_pull = marks.pull_ms.map(|ms| ms + by_ms);
    if let Some(said) = stated_pull {
        if let Some((seen, reason)) = pull(curve, said) {
            let why = match reason {
                Pull::GoesOn { .. } => format!(
                    "the core is at {} then, and goes on to {}",
                    told(curve.core_at(said)),
                    told(curve.highest_core())
                ),
                Pull::LongCooled => match curve.core_at(said) {
                    Some(core) => format!(
                        "the core has cooled to {} by then",
                        say::temperature(core, season.units)
                    ),
                    None => "the core has long cooled by then".to_owned(),
                },
            };
            let curve_is_used = reason != Pull::GoesOn { raw: false };
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used });
        } else if said > curve.last_ms + FAR_OFF_MS
            && let Some(seen) = curve.pull_ms
            && (said - HALF_DAY_MS - seen).abs() <= FAR_OFF_MS
        {
            let why = "the log ends hours before, and shows the meat come off half a day earlier"
                .to_owned();
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used: false });
        }
    }
    // Where meat-on or pull is in doubt, so is all that lies between them.
    if found.is_empty() {
        found.extend(wraps(cook, curve, by_ms, season));
    }
    found
}

#[derive(PartialEq)]
enum MeatOn {
    InAir,
    LongOn,
    Asleep,
}

/// When the curve shows meat-on where it cannot be as stated.
fn meat_on(curve: &Curve, said: i64) -> Option<(i64, MeatOn)> {
    let seen = curve.meat_on_ms.filter(|seen| (seen - said).abs() >= FAR_OFF_MS)?;
    let (at_said, at_seen) = (curve.core_at(said)?, curve.core_at(seen)?);
    if seen > said && at_said >= at_seen + IN_AIR_C {
        return Some((seen, MeatOn::InAir));
    }
    if seen < said && at_said >= at_seen + WARMED_C {
        return Some((seen, MeatOn::LongOn));
    }
    let rises = curve.rises_ms?;
    let asleep = rises - said >= ASLEEP_MS && rises - seen < ASLEEP_MS && at_said >= THAWED_C;
    let cold = curve.pit_at(said).is_none_or(|pit| pit < LIT_ABOVE_C);
    (seen > said && asleep && cold).then_some((seen, MeatOn::Asleep))
}

#[derive(PartialEq)]
enum Pull {
    GoesOn { raw: bool },
    LongCooled,
}

/// When the curve shows the pull where it cannot be as stated.
fn pull(curve: &Curve, said: i64) -> Option<(i64, Pull)> {
    let seen = curve.pull_ms.filter(|seen| (seen - said).abs() >= FAR_OFF_MS)?;
    let highest = curve.highest_core()?;
    let at_said = curve.core_at(said).or_else(|| {
        // After the log's end the core is what it was at the end.
        (said > curve.last_ms).then(|| curve.core_at(curve.last_ms)).flatten()
    })?;
    if seen < said {
        return (highest - at_said > COOLED_OFF_C).then_some((seen, Pull::LongCooled));
    }
    if highest - at_said <= CARRY_OVER_C {
        return None;
    }
    if at_said < TOO_RAW_C {
        return Some((seen, Pull::GoesOn { raw: true }));
    }
    // A team may pull the meat, look, and put it back: that opens the lid.
    let unseen = curve.dense && !opened_near(curve, said);
    (seen - said >= HOURS_MS && unseen).then_some((seen, Pull::GoesOn { raw: false }))
}

fn opened_near(curve: &Curve, ms: i64) -> bool {
    curve.opened_ms.iter().any(|seen| (seen - ms).abs() <= SIGN_WITHIN_MS)
}

/// Wraps without a sign, where the curve shows hands at the meat once, hours off, and nobody noted
/// what they did there.
fn wraps(cook: &Cook<'_>, curve: &Curve, by_ms: i64, season: &Season<'_>) -> Vec<Against> {
    if !curve.dense {
        return Vec::new();
    }
    let marks = &cook.card.marks;
    let noted = cook.events.iter().filter(|event| event.kind == EventKind::Wrap);
    let mut stated: Vec<i64> = noted.map(|event| event.at_ms).chain(marks.wrap_ms).collect();
    stated.sort_unstable();
    stated.dedup();
    let stated: Vec<i64> = stated.into_iter().map(|ms| ms + by_ms).collect();
    let on = marks.meat_on_ms.map_or(curve.first_ms, |ms| ms + by_ms);
    let off = marks.pull_ms.map_or(curve.last_ms, |ms| ms + by_ms).min(curve.last_ms);
    // Whatever was noted at a sign explains it.
    let others = cook.events.iter().map(|event| event.at_ms + by_ms);
    let explained: Vec<i64> = others.chain(stated.iter().copied()).chain([on, off]).collect();
    let free: Vec<i64> = curve
        .handled_ms
        .iter()
        .copied()
        .filter(|seen| (on + SIGN_WITHIN_MS..off - SIGN_WITHIN_MS).contains(seen))
        .filter(|seen| explained.iter().all(|ms| (ms - seen).abs() > SIGN_WITHIN_MS))
        .filter(|seen| {
            let level = curve.core_at(*seen);
            level.is_some_and(|level| (WRAPPED_AT_C.0..=WRAPPED_AT_C.1).contains(&level))
        })
        .collect();
    let [seen] = free[..] else { return Vec::new() };
    let mut without: Vec<i64> = stated
        .into_iter()
        .filter(|said| (curve.first_ms..curve.last_ms).contains(said) && !opened_near(curve, *said))
        .filter(|said| (seen - said).abs() >= HOURS_MS)
        .collect();
    let Some(said) = without.pop().filter(|_| without.is_empty()) else { return Vec::new() };
    let why = format!(
        "nothing shows at the stated time, and at {} the lid opens and the core dips, which nobody noted",
        say::instant(seen, season.zone)
    );
    vec![Against { mark: Mark::Wrap, said, seen, why, curve_is_used: false }]
}

/// The column of the sheet that states a mark.
fn column(mark: Mark) -> &'static str {
    match mark {
        Mark::MeatOn => card::MEAT_ON_AT.stated_as(),
        Mark::Wrap => card::WRAP_AT.stated_as(),
        Mark::Slice => card::SLICE_AT.stated_as(),
        Mark::Pull => card::PULL_AT.stated_as(),
    }
}

fn finding(season: &Season<'_>, at: usize, against: Against, by_ms: i64) -> Finding {
    let Against { mark, said, seen, why, curve_is_used } = against;
    let cook = &season.cooks[at];
    let place = cook.place(column(mark));
    let told = |ms: i64| say::instant(ms, season.zone);
    let word = mark.as_str();
    let mut answers = Vec::new();
    let mut answered = Vec::new();
    let by_zero = mark == Mark::MeatOn && cook.zero_is_meat_on;
    let then = if by_zero {
        format!(
            "the log began {} before meat-on: all marks lie so much later in it",
            say::span(seen - said)
        )
    } else {
        let half = (seen - said).abs() - HALF_DAY_MS;
        let half = if half.abs() <= FAR_OFF_MS {
            ": morning and afternoon were taken for each other"
        } else {
            ""
        };
        format!("{word} at {}, as the curve shows it{half}", told(seen))
    };
    answers.push(Answer::new("curve", then));
    let change = if by_zero {
        Change::Shift(seen - said)
    } else {
        Change::Mark { mark, was: said - by_ms, now: Some(seen - by_ms) }
    };
    answered.push(("curve", vec![(at, change)]));
    if !by_zero {
        answers.push(Answer::new("leave-out", format!("no {word} is stated")));
        answered
            .push(("leave-out", vec![(at, Change::Mark { mark, was: said - by_ms, now: None })]));
    }
    // Where the phases cannot judge a cook by what is stated, that is no answer.
    if !curve_is_used {
        answers.push(Answer::new("as-written", format!("{word} at {}", told(said))));
    }
    let used = if curve_is_used { "curve" } else { "as-written" };
    let text = cook.cell(column(mark)).map_or_else(|| told(said), |cell| cell.text.to_owned());
    let question = Question::new(
        QuestionCode::MarkAgainstCurve,
        &[&cook.card.cook, word, &text, &(said / MINUTE_MS).to_string()],
        format!("{place}: is `{text}` right? The curve shows {word} at {}", told(seen)),
        format!("cook `{}`: {why}", cook.card.cook),
        answers,
    )
    .at(place);
    Finding {
        question: Question { used: Some(used.to_owned()), ..question },
        answered,
        open: Vec::new(),
    }
}
