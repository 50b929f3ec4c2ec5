//! Two cooks whose marks lie in their logs, and of which each one's curve bears the other's out.
//!
//! A mark that the curve shows some way off is a late hand, or a sign that was taken for another. Where
//! another cook's curve shows all of a cook's marks to within minutes, and that cook's own marks fit it
//! as little, they stand in each other's row.

use crate::finding::Finding;
use crate::say::HOUR_MS;
use crate::strays::{MARKS, exchanged, has_no_marks, of, on_its_day};
use crate::{Cook, Season};
use columns::card;
use std::collections::BTreeSet;

/// A mark is written, and seen in a curve, to within this, ms (10 min). Common practice, no source.
pub(crate) const NEAR_MS: i64 = 600_000;
/// A mark that its curve shows this far off is perhaps not its own, ms (20 min).
pub(crate) const OFF_MS: i64 = 1_200_000;
/// Half of a day's clock, ms.
const HALF_DAY_MS: i64 = 12 * HOUR_MS;
/// So many marks of both must be borne out by the other's curve.
const BORNE_OUT: usize = 3;

type Marks = [Option<i64>; 4];

/// How a curve bears marks out.
#[derive(Debug, Clone, Copy, Default)]
struct Fit {
    /// So many marks are seen where they are stated.
    near: usize,
    /// So many of meat-on and pull are seen elsewhere, …
    off: usize,
    /// … or neither where they are stated nor far from there.
    between: usize,
    /// Whether meat-on is among those that are seen elsewhere.
    on_is_off: bool,
}

impl Fit {
    fn add(&mut self, off_ms: i64) {
        match off_ms.abs() {
            ..=NEAR_MS => self.near += 1,
            OFF_MS.. => self.off += 1,
            _ => self.between += 1,
        }
    }
}

/// How a cook's curve bears marks out. Where its log hangs on its meat-on, marks count from that.
/// Where others are on the pit as well, it falls when the last of them comes off: a pull before that, at an opened
/// lid, is neither borne out nor spoken against.
fn fit(cook: &Cook<'_>, marks: &Marks, has_company: bool) -> Option<Fit> {
    let curve = cook.curve.filter(|curve| curve.dense)?;
    let [on, wrap, off, _] = *marks;
    let seen_on = on.zip(curve.meat_on_ms).map(|(said, seen)| seen - said);
    let seen_off = off.zip(curve.pull_ms).map(|(said, seen)| seen - said);
    let mut fit = Fit::default();
    let by_ms = if cook.zero_is_meat_on {
        let by_ms = seen_on.or(seen_off)?;
        if seen_on.is_some() {
            fit.near += 1;
        }
        by_ms
    } else {
        if let Some(off_ms) = seen_on {
            fit.add(off_ms);
        }
        fit.on_is_off = fit.off > 0;
        0
    };
    let is_seen = |ms: i64| curve.opened_ms.iter().any(|seen| (seen - ms - by_ms).abs() <= NEAR_MS);
    if let Some(off_ms) = seen_off.map(|off_ms| off_ms - by_ms) {
        let is_before_the_last = has_company && off_ms > NEAR_MS && off.is_some_and(is_seen);
        if !is_before_the_last {
            fit.add(off_ms);
        }
    }
    fit.near += usize::from(wrap.is_some_and(is_seen));
    Some(fit)
}

fn own(cook: &Cook<'_>) -> Marks {
    MARKS.map(|mark| of(&cook.card.marks, mark))
}

/// Whether a cook's own marks may be another's: its curve shows one of them elsewhere, or it has none.
fn is_open(season: &Season<'_>, at: usize) -> bool {
    let cook = &season.cooks[at];
    let fit = fit(cook, &own(cook), has_company(season, at));
    has_no_marks(cook) || fit.is_some_and(|fit| fit.off > 0)
}

/// Whether others are in the same log.
fn has_company(season: &Season<'_>, cook: usize) -> bool {
    let own = &season.cooks[cook].logs;
    let others = season.cooks.iter().enumerate().filter(|(at, _)| *at != cook);
    others.flat_map(|(_, other)| &other.logs).any(|log| own.contains(log))
}

/// Whether a cook's curve bears out all of another's marks that it shows, two at least.
pub(crate) fn bears_out(cook: &Cook<'_>, marks: &Marks) -> bool {
    fit(cook, marks, false).is_some_and(|fit| fit.off + fit.between == 0 && fit.near >= 2)
}

/// Rows are mistaken for each other within one season's sheet: of all years together some two cooks lie
/// alike by chance, and all pairs are too many to try. Two cooks of one log see the same lids: that the meat
/// went on elsewhere must tell of both.
fn may_be_exchanged(one: &Cook<'_>, other: &Cook<'_>) -> bool {
    if one.card.season != other.card.season {
        return false;
    }
    let on_is_off = |cook: &Cook<'_>| fit(cook, &own(cook), false).is_some_and(|fit| fit.on_is_off);
    let share = one.logs.iter().any(|log| other.logs.contains(log));
    !share || (on_is_off(one) && on_is_off(other))
}

/// The marks that a cook would have of another, if its curve bears them out, and how many it does.
fn taken(season: &Season<'_>, cook: usize, of_cook: usize) -> Option<(Marks, usize)> {
    let (own, other) = (&season.cooks[cook], &season.cooks[of_cook]);
    if has_no_marks(other) {
        return Some(([None; 4], 0));
    }
    let dates = (other.card.date.as_deref(), own.card.date.as_deref());
    let ways = on_its_day(&other.card.marks, dates.0, dates.1, season.zone);
    let has_company = season
        .cooks
        .iter()
        .enumerate()
        .any(|(at, other)| at != cook && other.logs.iter().any(|log| own.logs.contains(log)));
    let borne_out = in_each_half(other, ways).into_iter().filter_map(|marks| {
        let fit = fit(own, &marks, has_company)
            .filter(|fit| fit.off + fit.between == 0 && fit.near > 0)?;
        Some((marks, fit.near))
    });
    borne_out.max_by_key(|(_, near)| *near)
}

/// Ways to read marks, and where they are of a clock without am or pm also in the other half of the day: which it is
/// was told by the log that is perhaps another's.
fn in_each_half(cook: &Cook<'_>, ways: [Marks; 2]) -> Vec<Marks> {
    let mut all = ways.to_vec();
    let fields = [card::MEAT_ON_AT, card::WRAP_AT, card::PULL_AT].map(|field| field.stated_as());
    let mut stated = fields.iter().filter_map(|field| cook.cell(field)).peekable();
    if stated.peek().is_some() && stated.all(|cell| !says_its_half(cell.text)) {
        for by_ms in [-HALF_DAY_MS, HALF_DAY_MS] {
            all.extend(ways.map(|marks| marks.map(|ms| Some(ms? + by_ms))));
        }
    }
    all
}

/// Whether a text is no time of a twelve-hour clock, or says which half of the day it means.
pub(crate) fn says_its_half(text: &str) -> bool {
    let text = text.trim();
    let hour = text.split([':', '.', 'h']).next().and_then(|hour| hour.parse::<u32>().ok());
    // What is no time at all says nothing of the others.
    let is_time = text.contains([':', '.']) && text.contains(|c: char| c.is_ascii_digit());
    is_time
        && (text.contains(|c: char| c.is_alphabetic() || matches!(c, '+' | '-' | '/' | ' '))
            || hour.is_none_or(|hour| !(1..=12).contains(&hour)))
}

/// What was found, and whose marks are not to be asked about one by one.
/// `whose_is_open` are cooks whose channel is asked about.
pub(crate) fn find(
    season: &Season<'_>,
    whose_is_open: &BTreeSet<usize>,
) -> (Vec<Finding>, BTreeSet<usize>) {
    let open: Vec<usize> = (0..season.cooks.len())
        .filter(|at| !whose_is_open.contains(at) && is_open(season, *at))
        .collect();
    let mut pairs: Vec<(usize, usize, Marks, usize, Marks)> = Vec::new();
    for (index, &one) in open.iter().enumerate() {
        for &other in &open[index + 1..] {
            if !may_be_exchanged(&season.cooks[one], &season.cooks[other]) {
                continue;
            }
            let Some((of_one, near_one)) = taken(season, one, other) else { continue };
            let Some((of_other, near_other)) = taken(season, other, one) else { continue };
            if near_one + near_other >= BORNE_OUT {
                pairs.push((near_one + near_other, one, of_one, other, of_other));
            }
        }
    }
    pairs.sort_by_key(|(near, one, _, other, _)| (std::cmp::Reverse(*near), *one, *other));
    let (mut findings, mut settled) = (Vec::new(), BTreeSet::new());
    for (_, one, of_one, other, of_other) in pairs {
        if !settled.contains(&one) && !settled.contains(&other) {
            settled.extend([one, other]);
            findings.push(exchanged(season, (one, of_one), (other, of_other), false));
        }
    }
    (findings, settled)
}
