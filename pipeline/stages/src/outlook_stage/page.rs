//! Cooks that are on, as their page shows them.

use super::asked::Asked;
use super::rows::{self, Row};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use outlook::course::STEP_MIN;
use outlook::{Answer, Course, Past};
use report::{OutlookCook, OutlookFan};

/// Past cooks that are drawn; more would be a grey field.
const MOST_ALIKE: usize = 20;

/// What the page is made with.
pub(super) struct Drawn<'a> {
    pub(super) past: &'a Past,
    pub(super) zone: &'a TimeZone,
    pub(super) level: u8,
    pub(super) finish_c: f64,
}

impl Drawn<'_> {
    /// One cook from its rows.
    pub(super) fn cook(&self, asked: &Asked, rows: &[Row], answer: Option<&Answer>) -> OutlookCook {
        let facts = rows.iter().flat_map(|row| rows::facts(row, self.zone, self.level)).collect();
        let mut cook = OutlookCook {
            name: asked.name.clone(),
            facts,
            finish_c: self.finish_c,
            ..OutlookCook::default()
        };
        let Ok(course) = &asked.course else { return cook };
        let day_min = self.minute_of_day(course.meat_on_ms);
        let local = |at_ms: i64| day_min + (at_ms - course.meat_on_ms) as f64 / 60_000.0;
        cook.core = curve(course, 0).map(|(minute, core)| (day_min + minute, core)).collect();
        let row = rows.first();
        cook.turn_in = row.and_then(|row| row.turn_in_ms).map(local);
        let now = cook.core.last().map_or(day_min, |point| point.0);
        cook.finish = row.and_then(|row| row.finish).map(|finish| {
            let at = |hours: f64| now + 60.0 * hours;
            let (lo, middle, hi) = (at(finish.lo), at(finish.hours), at(finish.hi));
            OutlookFan { lo, middle, hi, level: self.level }
        });
        cook.alike = answer.into_iter().flat_map(|answer| self.alike(answer, now)).collect();
        cook
    }

    fn alike(&self, answer: &Answer, now: f64) -> Vec<Vec<(f64, f64)>> {
        let curves = answer.counted.iter().take(MOST_ALIKE).filter_map(|counted| {
            let course = self.past.course_of(counted)?;
            let moved = curve(course, (counted.minute / STEP_MIN) as usize)
                .take_while(|point| point.1 <= self.finish_c + 1.0)
                .map(|(minute, core)| (now + minute - counted.minute, core));
            Some(moved.collect::<Vec<_>>())
        });
        curves.filter(|curve| curve.len() > 1).collect()
    }

    fn minute_of_day(&self, at_ms: i64) -> f64 {
        Timestamp::from_millisecond(at_ms).map_or(0.0, |at| {
            let at = at.to_zoned_datetime(self.zone.clone());
            f64::from(at.hour()) * 60.0 + f64::from(at.minute())
        })
    }
}

/// The core of a course from a step on: minutes since meat-on, °C.
fn curve(course: &Course, from: usize) -> impl Iterator<Item = (f64, f64)> {
    let steps = course.core_c.iter().enumerate().skip(from);
    steps.filter(|(_, core)| core.is_finite()).map(|(step, core)| (step as f64 * STEP_MIN, *core))
}
