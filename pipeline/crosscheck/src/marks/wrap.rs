//! Wraps of a cook against its curve.

use super::{Against, HALF_DAY_MS, HOURS_MS, SIGN_WITHIN_MS, opened_near};
use crate::curve::Curve;
use crate::swapped::says_its_half;
use crate::{Cook, Season, say};
use columns::card;
use cook::{EventKind, Mark};
use phases::marks::signs::FAR_OFF_MS;

/// The core that people wrap at, °C. Common practice, no source.
const WRAPPED_AT_C: (f64, f64) = (50.0, 92.0);

/// Wraps without a sign, where the curve shows hands at the meat once, hours off, and nobody noted
/// what they did there.
pub(super) fn wraps(
    cook: &Cook<'_>,
    curve: &Curve,
    by_ms: i64,
    season: &Season<'_>,
) -> Vec<Against> {
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
    let other_half = stated.iter().find_map(|&said| in_other_half(cook, curve, (on, off), said));
    if let Some((said, seen)) = other_half {
        let told = |ms: i64| {
            let core = curve.core_at(ms);
            core.map_or_else(String::new, |core| say::temperature(core, season.units))
        };
        let why =
            format!("the core is at {} then, and at {} half a day later", told(said), told(seen));
        return vec![Against {
            mark: Mark::Wrap,
            said,
            seen: Some(seen),
            why,
            curve_is_used: false,
        }];
    }
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
    // Nor does the curve tell which of the two it is.
    let by_clock = cook.cell(card::WRAP_AT.stated_as()).is_some_and(|cell| is_by_clock(cell.text));
    let in_either = unsigned.iter().filter(|_| by_clock).find_map(|&said| {
        let second = say::second_pass(said, season.zone)?;
        (second < off).then_some((said, second))
    });
    if let Some((said, second)) = in_either {
        let why = "the clock showed that time twice in that night, and the lid opens neither the first time nor the second";
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

/// A wrap of a clock without am or pm, around meat that had just begun to warm, and where it would be in the other half
/// of the day: the meat is still on, warm, and the lid opens.
fn in_other_half(
    cook: &Cook<'_>,
    curve: &Curve,
    (on, off): (i64, i64),
    said: i64,
) -> Option<(i64, i64)> {
    let cell = cook.cell(card::WRAP_AT.stated_as())?;
    let seen = said + HALF_DAY_MS;
    let core = |ms: i64| curve.core_at(ms);
    let is_raw = core(said).is_some_and(|core| core < WRAPPED_AT_C.0);
    let is_warm = core(seen).is_some_and(|core| (WRAPPED_AT_C.0..=WRAPPED_AT_C.1).contains(&core));
    let is_on = said - on >= FAR_OFF_MS && seen < off;
    let is_bare = !says_its_half(cell.text) && !cell.text.trim_start().starts_with('0');
    (is_bare && is_on && is_raw && is_warm && opened_near(curve, seen)).then_some((said, seen))
}

/// Whether a text is a time of a clock, without an offset, and no span since meat-on.
fn is_by_clock(text: &str) -> bool {
    let text = text.trim();
    let has_offset = text
        .rsplit_once(['-', '/'])
        .is_some_and(|(before, last)| before.contains(':') && last.contains(':'));
    !(text.contains('+') || text.ends_with(['Z', 'z']) || has_offset)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Cell;
    use crate::curve::LEVEL_MS;

    #[test]
    fn a_wrap_around_raw_meat_is_perhaps_of_the_other_half_of_the_day() {
        let stated = cook::Card::default();
        let found = |text: &str, off: i64, opened_ms: Vec<i64>| {
            // A core that warms from 5 °C by 4.5 °C an hour.
            let core = (0..125).map(|level: i16| Some(50 + 8 * level)).collect();
            let curve = Curve { core, opened_ms, last_ms: 125 * LEVEL_MS, ..Curve::default() };
            let field = card::WRAP_AT.stated_as();
            let (sheet, column, read_as) = ("sheet.csv", "Wrapped", field);
            let cook = Cook {
                card: &stated,
                events: Vec::new(),
                curve: Some(&curve),
                cells: vec![Cell { field, sheet, line: 2, column, read_as, text }],
                noted_at: Vec::new(),
                zero_is_meat_on: false,
                logs: Vec::new(),
            };
            in_other_half(&cook, &curve, (0, off * LEVEL_MS), 8 * LEVEL_MS)
        };
        let later = 8 * LEVEL_MS + HALF_DAY_MS;
        let lids = || vec![8 * LEVEL_MS, later + 60_000];
        assert_eq!(found("7:41", 110, lids()), Some((8 * LEVEL_MS, later)));
        // It says its half, is of a 24-hour clock, the meat is off by then, or no lid opens there.
        assert_eq!(found("7:41 am", 110, lids()), None);
        assert_eq!(found("07:41", 110, lids()), None);
        assert_eq!(found("7:41", 75, lids()), None);
        assert_eq!(found("7:41", 110, vec![8 * LEVEL_MS]), None);
    }
}
