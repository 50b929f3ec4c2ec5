//! Clocks that are put wrong, and daylight saving.

use super::Family;
use crate::dialect::{
    Body, Dialect, EpochUnit, Instant, LineKind, Open, Page, Question, TimeStyle, Verdict, one_of,
};
use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::{Offset, TimeZone};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::measured::ReadingSet;
use std::collections::BTreeSet;

/// What was done to a recording's clock.
pub(super) struct Disturbance {
    /// Rows from this one on are at fault.
    from_row: usize,
    /// Which instant is right for them.
    instant: Option<Instant>,
    /// A clock that does not follow daylight saving.
    pub(super) written_zone: Option<TimeZone>,
    /// What that leaves open.
    pub(super) asks: Vec<Question>,
}

/// Disturbs the clock as the families ask.
pub(super) fn disturb(
    set: &mut ReadingSet,
    families: &BTreeSet<Family>,
    dialect: &Dialect,
    zone: &TimeZone,
    random: &mut ChaCha8Rng,
) -> Disturbance {
    let mut done = Disturbance { from_row: 0, instant: None, written_zone: None, asks: Vec::new() };
    if families.contains(&Family::DaylightSaving) {
        // In spring a clock that keeps standard time writes times that the zone skips.
        let first = set.rows[0].at_ms;
        let spring = Timestamp::from_millisecond(first)
            .is_ok_and(|at| at.to_zoned_datetime(zone.clone()).month() < 6);
        if spring && random.random_bool(0.5) {
            let standard =
                Timestamp::from_millisecond(first).map_or(Offset::UTC, |at| zone.to_offset(at));
            let minutes = (standard.seconds() / 60) as i16;
            done.written_zone = Some(TimeZone::fixed(standard));
            done.asks.push(Question { about: Open::UtcOffset { minutes }, hinted: true });
        }
        return done;
    }
    if !families.contains(&Family::ClockFault) {
        return done;
    }
    let count = set.rows.len();
    let interval_ms = (set.rows[count - 1].at_ms - set.rows[0].at_ms) / (count as i64 - 1);
    let within_ms = 3 * interval_ms + 1_000;
    // Loggers start again at midnight of their own clock; one that counts seconds, at zero.
    let own = if matches!(dialect.time, TimeStyle::Epoch(EpochUnit::Seconds)) {
        &TimeZone::UTC
    } else {
        zone
    };
    let year = one_of(random, &[1970, 2000]);
    let zero_ms =
        own.to_timestamp(date(year, 1, 1).at(0, 0, 0, 0)).map_or(0, Timestamp::as_millisecond);
    let shift = |set: &mut ReadingSet, from: usize, by_ms: i64| {
        for row in &mut set.rows[from..] {
            row.clock_ms += by_ms;
        }
    };
    let middle = random.random_range(count / 4..count * 3 / 4);
    // Of numbers that begin at zero nobody could say what they count, set or not.
    let calendar = matches!(dialect.time, TimeStyle::Calendar { .. });
    match random.random_range(if calendar { 0..4 } else { 1..4 }) {
        // Never set: dates that nobody cooked on.
        0 => {
            let by_ms = zero_ms - set.rows[0].clock_ms;
            shift(set, 0, by_ms);
            done.instant = Some(Instant::Mended { within_ms: 1_000 });
            done.asks.push(Question { about: Open::Date, hinted: false });
        }
        // Starts again, as after a power cut.
        1 => {
            let by_ms = zero_ms - set.rows[middle].clock_ms;
            shift(set, middle, by_ms);
            done.from_row = middle;
            done.instant = Some(Instant::Mended { within_ms });
        }
        // Put forward: only meat that stood still while it warmed tells it from a gap.
        2 => {
            shift(set, middle, random.random_range(20..170) * 60_000);
            done.from_row = middle;
            done.instant = Some(Instant::Either { within_ms });
            done.asks.push(Question { about: Open::ClockForward, hinted: true });
        }
        // Put back, never by the hour of daylight saving, and by more than rows can be late.
        _ => {
            let minutes = one_of(random, &[20, 35, 50, 75, 110, 145]);
            shift(set, middle, -(minutes * 60_000).max(12 * interval_ms));
            done.from_row = middle;
            done.instant = Some(Instant::Mended { within_ms });
            done.asks.push(Question { about: Open::ClockBack, hinted: true });
        }
    }
    done
}

impl Disturbance {
    /// Marks the rows at fault.
    pub(super) fn mark(&self, page: &mut Page) {
        let Some(instant) = self.instant else { return };
        for line in &mut page.lines {
            if line.kind != LineKind::Data || line.row.is_none_or(|row| row < self.from_row) {
                continue;
            }
            line.verdict = Verdict::ReadOrReject;
            let Body::Cells(cells) = &mut line.body else { continue };
            for truth in cells.iter_mut().filter_map(|cell| cell.truth.as_mut()) {
                truth.instant = instant;
            }
        }
    }
}
