//! Wraps of a cook against its curve.

use super::{Against, HOURS_MS, SIGN_WITHIN_MS, opened_near};
use crate::curve::Curve;
use crate::{Cook, Season, say};
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
