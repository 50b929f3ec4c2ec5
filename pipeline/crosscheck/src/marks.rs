//! Meat-on, wraps and pull of one cook against its curve.
//!
//! A mark of which the curve shows nothing is a warning of the phases, no contradiction: a quick hand
//! leaves no sign. Here are marks of which the curve shows another time.

use crate::curve::{Curve, LEVEL_MS};
use crate::finding::{Change, Finding};
use crate::say::{self, HOUR_MS, MINUTE_MS};
use crate::shifts::Moved;
use crate::{Cook, Season};
use columns::card;
use cook::{Answer, EventKind, Mark, Question, QuestionCode};
use phases::marks::signs::{
    CARRY_OVER_C, COOLED_OFF_C, FAR_OFF_MS, LIT_ABOVE_C, SUDDEN_C as IN_AIR_C, TOO_RAW_C, WARMED_C,
};
use std::collections::BTreeSet;

/// In a pit with a fire the core of any roast has begun to rise after this, ms (2½ h): heat reaches the
/// middle of 10 cm of meat (diffusivity 0.13 mm²/s) within half an hour.
const ASLEEP_MS: i64 = 150 * MINUTE_MS;
/// Frozen meat waits at its melting point, °C: below this nothing is said of a core that sleeps.
const THAWED_C: f64 = 3.0;
/// The core of meat that waits in a kitchen warms by less than this in an hour or two, °C. Common practice,
/// no source.
const WARMING_C: f64 = 5.0;
/// A core that begins below this is raw meat, not a probe in the air of a room, °C …
const RAW_C: f64 = 15.0;
/// … and warms by less than this in the twenty minutes after it has begun to rise, °C: a probe that is put
/// into meat late leaps.
const LEAP_C: f64 = 12.0;
/// A core that goes on rising after a pull by so much more than the heat in the meat can make, °C, …
const CLEARLY_C: f64 = 3.0;
/// … rises by as much still once that has come through, ms (75 min), and in no step of ten minutes by more
/// than this, °C: a probe that is left in the pit leaps, and the core of a roast warms by 25 °C an hour.
const CARRIED_OVER_MS: i64 = 75 * MINUTE_MS;
const STEP_C: f64 = 8.0;
/// A pull that nothing shows is doubted from this long before the one that the curve shows on, ms (25 min),
/// …
const LET_RUN_MS: i64 = 25 * MINUTE_MS;
/// … if the core goes on at this share of its pace until then: meat out of the pit warms on through its
/// middle for a quarter of an hour, and slower from then on (diffusivity 0.13 mm²/s, 6 cm of meat).
const KEEPS_PACE: f64 = 0.75;
/// A pit that is this much colder forty minutes later has been shut down, °C.
const SHUT_DOWN_C: f64 = 25.0;
/// A core that rises by this in twenty minutes is being cooked, °C.
const STILL_RISES_C: f64 = 0.4;
/// A core below this has not been cooked yet, °C.
const WARMED_RAW_C: f64 = 35.0;
/// No meat is hotter than boiling water, °C: what was is a probe in the air.
const BOILS_C: f64 = 101.0;
/// A core that has cooled by this in a pit without a fire came off before, °C.
const COOLING_C: f64 = 3.0;
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
    /// `None` where it cannot be as stated, and nothing tells when it was.
    seen: Option<i64>,
    why: String,
    /// Whether the phases take the curve's time already.
    curve_is_used: bool,
}

/// `asked` are marks that are asked about already, by cook.
pub(crate) fn find(
    season: &Season<'_>,
    moved: &Moved,
    asked: &BTreeSet<(usize, Mark)>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let Some(curve) = cook.curve.filter(|_| !moved.settled.contains(&at)) else { continue };
        if cook.zero_is_in_doubt() {
            continue;
        }
        let by_ms = moved.by.iter().find(|(cook, _)| *cook == at).map_or(0, |(_, by_ms)| *by_ms);
        let found = against(cook, curve, by_ms, season);
        for against in found.into_iter().filter(|found| !asked.contains(&(at, found.mark))) {
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
    let from = marks.meat_on_ms.unwrap_or(curve.first_ms);
    on || marks.pull_ms.is_some_and(|said| outside(said) || pull(curve, from, said).is_some())
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
            MeatOn::Warming => format!(
                "the core has warmed to {} over the lit pit by then",
                told(curve.core_at(said))
            ),
            MeatOn::Asleep => "the core lies still for hours after it".to_owned(),
            MeatOn::StillRaw(core) => format!(
                "the log begins {} later, and the core is raw still, at {}",
                say::span(curve.first_ms - said),
                say::temperature(core, season.units)
            ),
        };
        let curve_is_used = matches!(reason, MeatOn::InAir | MeatOn::LongOn);
        found.push(Against { mark: Mark::MeatOn, said, seen, why, curve_is_used });
    }
    let stated_pull = marks.pull_ms.map(|ms| ms + by_ms);
    if let Some(said) = stated_pull {
        let from = marks.meat_on_ms.map_or(curve.first_ms, |ms| ms + by_ms);
        if let Some((seen, reason)) = pull(curve, from, said) {
            let why = match reason {
                Pull::GoesOn { to, .. } => format!(
                    "the core is at {} then, and goes on to {}",
                    told(curve.core_at(said)),
                    told(Some(to))
                ),
                Pull::LongCooled => match curve.core_at(said) {
                    Some(core) => format!(
                        "the core has cooled to {} by then",
                        say::temperature(core, season.units)
                    ),
                    None => "the core has long cooled by then".to_owned(),
                },
            };
            let is_raw = !matches!(reason, Pull::GoesOn { raw: false, .. });
            let curve_is_used = seen.is_some() && is_raw;
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used });
        } else if said > curve.last_ms + HOURS_MS
            && let Some(seen) = curve.pull_ms
        {
            let why = format!(
                "the log ends {} before, and shows the meat come off {} earlier",
                say::span(said - curve.last_ms),
                say::span(said - seen)
            );
            let seen = Some(seen);
            found.push(Against { mark: Mark::Pull, said, seen, why, curve_is_used: false });
        }
    }
    // Where meat-on or pull is in doubt, so is all that lies between them.
    if found.is_empty() {
        found.extend(wraps(cook, curve, by_ms, season));
    }
    found
}

enum MeatOn {
    InAir,
    LongOn,
    Warming,
    Asleep,
    StillRaw(f64),
}

/// When the curve shows meat-on where it cannot be as stated, if it shows it.
fn meat_on(curve: &Curve, said: i64) -> Option<(Option<i64>, MeatOn)> {
    let seen = curve.meat_on_ms.filter(|seen| (seen - said).abs() >= FAR_OFF_MS);
    let at_said = curve.core_at(said);
    if let (Some(seen), Some(at_said)) = (seen, at_said) {
        let at_seen = curve.core_at(seen)?;
        if seen > said && at_said >= at_seen + IN_AIR_C {
            return Some((Some(seen), MeatOn::InAir));
        }
        if seen < said && at_said >= at_seen + WARMED_C {
            return Some((Some(seen), MeatOn::LongOn));
        }
        if seen < said && is_warming(curve, seen, said) {
            return Some((Some(seen), MeatOn::Warming));
        }
    }
    let rises = curve.rises_ms.filter(|rises| rises - said >= ASLEEP_MS)?;
    let shown = seen.filter(|seen| *seen > said && rises - seen < ASLEEP_MS);
    if seen.is_some() != shown.is_some() {
        return None;
    }
    // A probe that lies outside until somebody puts it into warm meat leaps.
    let warms = Some((curve.core_at(rises)?, curve.core_at(rises + SIGN_WITHIN_MS)?));
    let is_slow = warms.is_some_and(|(from, to)| to - from < LEAP_C);
    match at_said {
        Some(core) if core >= THAWED_C => {
            let cold = curve.pit_at(said).is_none_or(|pit| pit < LIT_ABOVE_C);
            ((cold && shown.is_some()) || (is_slow && core < RAW_C))
                .then_some((shown, MeatOn::Asleep))
        }
        None if said < curve.first_ms - HOURS_MS && is_slow => {
            // Or its probe lies outside still, and is put into raw meat in the log.
            let put_in = shown.and_then(|seen| curve.core_at(seen + LEVEL_MS));
            let begins = [curve.core_at(curve.first_ms), put_in];
            let raw = begins.into_iter().flatten().find(|core| (THAWED_C..RAW_C).contains(core))?;
            Some((shown, MeatOn::StillRaw(raw)))
        }
        _ => None,
    }
}

/// Whether raw meat that is seen to go on had begun to warm over a lit pit long before a stated meat-on.
fn is_warming(curve: &Curve, seen: i64, said: i64) -> bool {
    let raw = curve.core_at(seen + LEVEL_MS);
    let warmed = raw.zip(curve.core_at(said)).is_some_and(|(raw, core)| core - raw >= WARMING_C);
    let lit = curve.pit_between(seen, said).iter().all(|pit| *pit >= LIT_ABOVE_C);
    let rises = curve.rises_ms.is_some_and(|rises| rises > seen && said - rises >= SIGN_WITHIN_MS);
    raw.is_some_and(|raw| raw < RAW_C) && warmed && lit && rises
}

enum Pull {
    GoesOn { raw: bool, to: f64 },
    LongCooled,
}

/// When the curve shows the pull where it cannot be as stated, if it shows it. `on` is meat-on.
fn pull(curve: &Curve, on: i64, said: i64) -> Option<(Option<i64>, Pull)> {
    match curve.pull_ms {
        Some(seen) if (seen - said).abs() < FAR_OFF_MS => {
            let to = before_fall(curve, seen)?;
            let raw = curve.core_at(said)? < TOO_RAW_C;
            let ran_on = keeps_pace(curve, said, seen) && is_unsigned(curve, said, seen);
            ran_on.then_some((Some(seen), Pull::GoesOn { raw, to }))
        }
        Some(seen) => {
            let against =
                pull_against_seen(curve, said, seen).or_else(|| pull_by_core(curve, on, said));
            Some((Some(seen), against?))
        }
        None => Some((None, pull_by_core(curve, on, said)?)),
    }
}

fn pull_against_seen(curve: &Curve, said: i64, seen: i64) -> Option<Pull> {
    let highest = curve.highest_core()?;
    let at_said = curve.core_at(said).or_else(|| {
        // After the log's end the core is what it was at the end.
        (said > curve.last_ms).then(|| curve.core_at(curve.last_ms)).flatten()
    })?;
    if seen < said {
        let is_out = curve.pit_at(said).is_some_and(|pit| pit < LIT_ABOVE_C);
        let cooled = highest - at_said;
        let cooled_in_the_dead_pit = is_out && said - seen >= HOURS_MS && cooled > COOLING_C;
        return (cooled > COOLED_OFF_C || cooled_in_the_dead_pit).then_some(Pull::LongCooled);
    }
    // The probe comes out of meat that cooked on at its pace, whatever lid was opened in between.
    let cooks_on = is_taken_out(curve, seen) && keeps_pace(curve, said, seen);
    let cooks_on =
        cooks_on && seen - said >= LET_RUN_MS && rises_by(curve, said, seen - LEVEL_MS, CLEARLY_C);
    if cooks_on || is_unsigned(curve, said, seen) {
        let to = before_fall(curve, seen).unwrap_or(highest);
        return Some(Pull::GoesOn { raw: at_said < TOO_RAW_C, to });
    }
    if highest - at_said <= CARRY_OVER_C {
        return None;
    }
    if at_said < TOO_RAW_C {
        return Some(Pull::GoesOn { raw: true, to: highest });
    }
    // A team may pull the meat, look, and put it back: that opens the lid.
    let unseen = curve.dense && !opened_near(curve, said);
    (seen - said >= HOURS_MS && unseen).then_some(Pull::GoesOn { raw: false, to: highest })
}

/// What the core alone says against a pull: it goes on rising as meat in a pit does, or had long cooled.
fn pull_by_core(curve: &Curve, on: i64, said: i64) -> Option<Pull> {
    let mut before = curve.core_between(on, said + 1);
    // What was warm before it was raw was a probe in the air.
    if let Some(raw) = before.iter().rposition(|(_, level)| *level < WARMED_RAW_C) {
        before.drain(..raw);
    }
    // A probe that is taken out at the pull shows no core from then on.
    let at_said = before.iter().rev().take(2).map(|level| level.1).reduce(f64::max)?;
    let &(highest_ms, highest) = before.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if highest - at_said > COOLED_OFF_C && said - highest_ms >= FAR_OFF_MS && highest <= BOILS_C {
        return Some(Pull::LongCooled);
    }
    let rise = rise_after(curve, said, at_said);
    let goes_on = rise.to - at_said > CARRY_OVER_C + CLEARLY_C && rise.late >= CLEARLY_C;
    goes_on.then_some(Pull::GoesOn { raw: at_said < TOO_RAW_C, to: rise.to })
}

/// How the core of this meat goes on after an instant.
struct Rise {
    /// To what it rises, °C.
    to: f64,
    /// How far it rises once what was in the meat has come through, °C.
    late: f64,
}

fn rise_after(curve: &Curve, said: i64, at_said: f64) -> Rise {
    let (mut before, mut to, mut early) = (at_said, at_said, at_said);
    for (ms, level) in curve.core_between(said, i64::MAX) {
        // What leaps is no longer the core of this meat; what goes on in another place, an oven, is no
        // contradiction to its pull.
        let leaps = level - before > STEP_C;
        if leaps || curve.pit_at(ms).is_some_and(|pit| pit < level) {
            break;
        }
        before = level;
        to = to.max(level);
        if ms - said <= CARRIED_OVER_MS {
            early = early.max(level);
        }
    }
    Rise { to, late: to - early }
}

/// A pull of which nothing shows where it is stated, and all where it is seen: the lid opens there or the
/// pit begins to fall, and until then the core rises on.
fn is_unsigned(curve: &Curve, said: i64, seen: i64) -> bool {
    let shows = |ms: i64| opened_near(curve, ms);
    let around = (curve.pit_at(seen - 2 * LEVEL_MS), curve.pit_at(seen + 2 * LEVEL_MS));
    let falls = matches!(around, (Some(before), Some(after)) if before - after >= SHUT_DOWN_C);
    seen - said >= LET_RUN_MS
        && curve.dense
        && !shows(said)
        && (shows(seen) || falls)
        && rises_by(curve, said, seen, CLEARLY_C)
        && rises_by(curve, seen - 3 * LEVEL_MS, seen - LEVEL_MS, STILL_RISES_C)
}

fn rises_by(curve: &Curve, from: i64, to: i64, least: f64) -> bool {
    let pair = curve.core_at(from).zip(curve.core_at(to));
    pair.is_some_and(|(from, to)| to - from >= least)
}

/// The core where the meat is seen to come off; the level there may hold what the probe read after it.
fn before_fall(curve: &Curve, seen: i64) -> Option<f64> {
    let levels = [curve.core_at(seen), curve.core_at(seen - LEVEL_MS)];
    levels.into_iter().flatten().reduce(f64::max)
}

/// Whether the core falls at once where the meat is seen to come off: the probe is taken out.
fn is_taken_out(curve: &Curve, seen: i64) -> bool {
    rises_by(curve, seen + 2 * LEVEL_MS, seen - LEVEL_MS, IN_AIR_C)
}

/// Whether the core warms on from a stated pull to the seen one as it did before, as in a pit.
fn keeps_pace(curve: &Curve, said: i64, seen: i64) -> bool {
    let pace = |from: i64, to: i64| {
        let rise = curve.core_on_line(to)? - curve.core_on_line(from)?;
        Some(rise / (to - from) as f64)
    };
    let before = pace(said - 3 * LEVEL_MS, said);
    let last = pace(seen - 2 * LEVEL_MS, seen - LEVEL_MS / 2);
    before.zip(last).is_some_and(|(before, last)| before > 0.0 && last >= KEEPS_PACE * before)
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
    let unsigned: Vec<i64> = stated
        .into_iter()
        .filter(|said| (curve.first_ms..curve.last_ms).contains(said) && !opened_near(curve, *said))
        .collect();
    let in_second_pass = unsigned.iter().find_map(|&said| {
        let second = say::second_pass(said, season.zone)?;
        opened_near(curve, second).then_some((said, second))
    });
    if let Some((said, second)) = in_second_pass {
        let why =
            "the clock showed that time twice in that night, and the lid opens the second time";
        let (mark, seen, why) = (Mark::Wrap, Some(second), why.to_owned());
        return vec![Against { mark, said, seen, why, curve_is_used: false }];
    }
    let [seen] = free[..] else {
        return unsigned
            .into_iter()
            .filter_map(|said| around_raw(curve, on, said, season))
            .collect();
    };
    let mut without: Vec<i64> =
        unsigned.into_iter().filter(|said| (seen - said).abs() >= HOURS_MS).collect();
    let Some(said) = without.pop().filter(|_| without.is_empty()) else { return Vec::new() };
    let why = format!(
        "nothing shows at the stated time, and at {} the lid opens and the core dips, which nobody noted",
        say::instant(seen, season.zone)
    );
    vec![Against { mark: Mark::Wrap, said, seen: Some(seen), why, curve_is_used: false }]
}

/// A wrap without a sign around meat that had just begun to warm, where others were wrapped when it was
/// cooked.
fn around_raw(curve: &Curve, on: i64, said: i64, season: &Season<'_>) -> Option<Against> {
    let core = curve.core_at(said).filter(|core| *core < WRAPPED_AT_C.0)?;
    // Who wraps meat as it goes on means it.
    (said - on >= FAR_OFF_MS).then(|| Against {
        mark: Mark::Wrap,
        said,
        seen: None,
        why: format!(
            "the core is at {} then, and neither a lid nor a dip shows",
            say::temperature(core, season.units)
        ),
        curve_is_used: false,
    })
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
    // In the hour that a clock is put back, the time of day alone does not tell two instants apart.
    let is_twice = seen.is_some_and(|seen| {
        seen != said && say::instant(seen, season.zone) == say::instant(said, season.zone)
    });
    let say = if is_twice { say::instant_in_zone } else { say::instant };
    let told = |ms: i64| say(ms, season.zone);
    let word = mark.as_str();
    let mut answers = Vec::new();
    let mut answered = Vec::new();
    if let Some(seen) = seen {
        let half = (seen - said).abs() - HALF_DAY_MS;
        let half = if half.abs() <= FAR_OFF_MS {
            ": morning and afternoon were taken for each other"
        } else {
            ""
        };
        let then = format!("{word} at {}, as the curve shows it{half}", told(seen));
        answers.push(Answer::new("curve", then));
        let change = Change::Mark { mark, was: said - by_ms, now: Some(seen - by_ms) };
        answered.push(("curve", vec![(at, change)]));
    }
    answers.push(Answer::new("leave-out", format!("no {word} is stated")));
    answered.push(("leave-out", vec![(at, Change::Mark { mark, was: said - by_ms, now: None })]));
    // Where the phases cannot judge a cook by what is stated, that is no answer.
    if !curve_is_used {
        answers.push(Answer::new("as-written", format!("{word} at {}", told(said))));
    }
    let used = if curve_is_used { "curve" } else { "as-written" };
    let text = cook.cell(column(mark)).map_or_else(|| told(said), |cell| cell.text.to_owned());
    let asks = match seen {
        Some(seen) => {
            format!("{place}: is `{text}` right? The curve shows {word} at {}", told(seen))
        }
        None => format!("{place}: is `{text}` right? The curve does not bear it out"),
    };
    let question = Question::new(
        QuestionCode::MarkAgainstCurve,
        &[&cook.card.cook, word, &text, &(said / MINUTE_MS).to_string()],
        asks,
        format!("cook `{}`: {why}", cook.card.cook),
        answers,
    )
    .at(place);
    let question = cook.at_logs(question);
    Finding {
        question: Question { used: Some(used.to_owned()), ..question },
        answered,
        open: Vec::new(),
    }
}
