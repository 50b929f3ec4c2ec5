//! The core's courses: how long each side takes from where they part to each temperature, and which
//! side was the sooner on the fires that both shared.

use crate::claims::{Claim, ClaimKind, Claims};
use crate::error::StudyError;
use crate::history::{Course, History};
use crate::outcome::Outcome;
use crate::result::course::{CoreCourses, CorePoint, CoreSide, SharedFire};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::measures;
use stats::{Followup, KaplanMeier, describe};
use std::collections::BTreeMap;

/// Fewest cooks of a side for a course.
const FEWEST: usize = 5;
/// Core at which the study clock starts and the history begins, °C.
const CLOCK_ZERO_C: f64 = 55.0;
/// Core at which it ends, °C.
const FINISH_C: f64 = 88.0;
const OUTCOME: &str = measures::CLOCK_TO_FINISH_MIN.name;

/// Cooks in use, with what a course needs of each.
struct Cooks<'a> {
    table: &'a MeasureTable,
    history: &'a History,
    rows: Rows,
    outcome: Outcome,
    wrapped_at_c: Vec<Option<f64>>,
    fires: Vec<Option<String>>,
}

/// Courses of the sides of each claim that compares times to the finish, in the order of the claims,
/// then those of the wraps that cooks ended up in.
pub(crate) fn courses(
    table: &MeasureTable,
    history: &History,
    claims: &Claims,
) -> Result<Vec<CoreCourses>, StudyError> {
    if !table.has(OUTCOME) {
        return Ok(Vec::new());
    }
    let mut rows = Rows::all(table);
    rows.keep_included(table)?;
    let outcome = Outcome::read(table, OUTCOME)?;
    rows.keep_outcome(OUTCOME, &outcome);
    let fires = table.texts_or_missing(measures::FIRE.name)?;
    let wrapped_at_c = table.numbers_or_missing(measures::WRAP_AT_CORE_C.name)?;
    let cooks = Cooks { table, history, rows, outcome, wrapped_at_c, fires };
    let mut found = Vec::new();
    for claim in claims.claims.iter().filter(|claim| compares_times(claim)) {
        let Some(by) = &claim.by else { continue };
        found.extend(cooks.beside(Some(claim.id.clone()), by, claim.levels.clone())?);
    }
    let by_wrap = measures::WRAP_METHOD.name;
    if table.has(by_wrap) {
        let wraps = cooks.wraps(by_wrap)?;
        found.extend(cooks.beside(None, by_wrap, wraps)?);
    }
    Ok(found)
}

fn compares_times(claim: &Claim) -> bool {
    claim.kind == ClaimKind::Compare && claim.outcome == OUTCOME && claim.levels.len() == 2
}

impl Cooks<'_> {
    /// The wraps that enough cooks ended up in, the most frequent first.
    fn wraps(&self, column: &str) -> Result<Vec<String>, StudyError> {
        let texts = self.table.texts(column)?;
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for wrap in self.rows.used.iter().filter_map(|&row| texts[row].as_deref()) {
            *counts.entry(wrap).or_default() += 1;
        }
        let mut wraps: Vec<(&str, usize)> =
            counts.into_iter().filter(|(_, cooks)| *cooks >= FEWEST).collect();
        wraps.sort_by_key(|(wrap, cooks)| (usize::MAX - cooks, *wrap));
        Ok(wraps.into_iter().map(|(wrap, _)| wrap.to_owned()).collect())
    }

    /// The sides beside each other; none without two that are large enough.
    fn beside(
        &self,
        claim: Option<String>,
        by: &str,
        levels: Vec<String>,
    ) -> Result<Option<CoreCourses>, StudyError> {
        let texts = self.table.texts(by)?;
        let of = |level: &String| -> Vec<usize> {
            let used = self.rows.used.iter().copied();
            used.filter(|&row| texts[row].as_ref() == Some(level)).collect()
        };
        let sides: Vec<(String, Vec<usize>)> = levels
            .into_iter()
            .map(|level| (level.clone(), of(&level)))
            .filter(|(_, cooks)| cooks.len() >= FEWEST)
            .collect();
        if sides.len() < 2 {
            return Ok(None);
        }
        let from_core_c = self.parting_c(&sides)?;
        let fires = self.shared(&sides[0].1, &sides[1].1);
        let sides = sides
            .into_iter()
            .map(|(side, cooks)| self.side(side, &cooks, from_core_c))
            .collect::<Result<Vec<_>, _>>()?;
        // Logs may begin so late that a side has no course at all.
        let is_seen = sides.iter().all(|side| side.cooks >= FEWEST);
        Ok(is_seen.then(|| CoreCourses { claim, by: by.to_owned(), from_core_c, sides, fires }))
    }

    /// Where the sides part, in whole degrees.
    fn parting_c(&self, sides: &[(String, Vec<usize>)]) -> Result<f64, StudyError> {
        let mut least: Option<f64> = None;
        for (_, cooks) in sides {
            let wrapped: Vec<f64> =
                cooks.iter().filter_map(|&row| self.wrapped_at_c[row]).collect();
            if wrapped.len() >= FEWEST {
                let median = describe::median(&wrapped)?;
                least = Some(least.map_or(median, |known| known.min(median)));
            }
        }
        Ok(least.unwrap_or(CLOCK_ZERO_C).round().clamp(CLOCK_ZERO_C, FINISH_C - 1.0))
    }

    fn course(&self, row: usize) -> Option<&Course> {
        self.history.course(&self.table.cooks()[row])
    }

    fn side(&self, side: String, cooks: &[usize], from_c: f64) -> Result<CoreSide, StudyError> {
        let starts: Vec<(usize, &Course, f64)> = cooks
            .iter()
            .filter_map(|&row| {
                let course = self.course(row)?;
                Some((row, course, course.first_at(from_c, self.end(row))?))
            })
            .collect();
        let mut points = Vec::new();
        for degree in 0..=(FINISH_C - from_c) as usize {
            let core_c = from_c + degree as f64;
            let seen = starts.iter().filter_map(|&(row, course, start)| {
                let end = self.outcome.values[row]?;
                let (at, reached) = match course.first_at(core_c, self.end(row)) {
                    Some(at) => (at, true),
                    None => (end, false),
                };
                (at >= start).then_some((at - start, reached))
            });
            let (minutes, reached): (Vec<f64>, Vec<bool>) = seen.unzip();
            points.extend(point(core_c, degree == 0, &minutes, &reached)?);
        }
        Ok(CoreSide { side, cooks: starts.len(), points })
    }

    /// Minute and core of the finish, where it was seen.
    fn end(&self, row: usize) -> Option<(f64, f64)> {
        let is_cut = self.outcome.censored[row] == Some(true);
        Some((self.outcome.values[row].filter(|_| !is_cut)?, FINISH_C))
    }

    /// The fires that two sides shared.
    fn shared(&self, first: &[usize], second: &[usize]) -> Vec<SharedFire> {
        let mut fires: BTreeMap<&str, [Vec<usize>; 2]> = BTreeMap::new();
        for (place, rows) in [first, second].into_iter().enumerate() {
            for &row in rows {
                if let Some(fire) = &self.fires[row] {
                    fires.entry(fire).or_default()[place].push(row);
                }
            }
        }
        let both = fires.into_iter().filter(|(_, sides)| sides.iter().all(|own| !own.is_empty()));
        both.map(|(fire, sides)| {
            let minutes = sides.each_ref().map(|rows| {
                let of_cooks = rows.iter().filter_map(|&row| self.outcome.values[row]);
                of_cooks.sum::<f64>() / rows.len() as f64
            });
            let cut = sides
                .each_ref()
                .map(|rows| rows.iter().any(|&row| self.outcome.censored[row] == Some(true)));
            SharedFire {
                fire: fire.to_owned(),
                minutes,
                cut,
                first_is_sooner: first_is_sooner(minutes, cut),
            }
        })
        .collect()
    }
}

/// Which of two times is the sooner, where lower bounds leave that open to no doubt.
fn first_is_sooner([first, second]: [f64; 2], [first_cut, second_cut]: [bool; 2]) -> Option<bool> {
    if first < second && !first_cut {
        Some(true)
    } else if second < first && !second_cut {
        Some(false)
    } else {
        None
    }
}

/// Quarters of the times to one temperature; none where nobody was seen on the way there.
fn point(
    core_c: f64,
    is_start: bool,
    minutes: &[f64],
    reached: &[bool],
) -> Result<Option<CorePoint>, StudyError> {
    let cooks = reached.iter().filter(|reached| **reached).count();
    if is_start {
        let zero = Some(0.0);
        let (quarter_min, median_min, three_quarters_min) = (zero, zero, zero);
        return Ok(Some(CorePoint { core_c, quarter_min, median_min, three_quarters_min, cooks }));
    }
    // A cook whose log ends where it starts says nothing of how long it took.
    let (minutes, reached): (Vec<f64>, Vec<bool>) =
        minutes.iter().copied().zip(reached.iter().copied()).filter(|(m, _)| *m > 0.0).unzip();
    if minutes.is_empty() {
        return Ok(None);
    }
    let fitted = KaplanMeier::fit(&Followup::right_censored(&minutes, &reached)?);
    let by = |share: f64| -> Result<Option<f64>, StudyError> {
        // The level is that of intervals, which are not asked for here.
        Ok(fitted.quantile(share, 0.95)?.estimate)
    };
    Ok(Some(CorePoint {
        core_c,
        quarter_min: by(0.25)?,
        median_min: by(0.5)?,
        three_quarters_min: by(0.75)?,
        cooks,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::{Table, table};
    use std::path::Path;

    const CLAIM: &str = r#"
        [[claim]]
        id = "foil-first"
        says = "Foil finishes first"
        kind = "compare"
        outcome = "clock_to_finish_min"
        better = "lower"
        by = "arm"
        levels = ["foil", "paper"]
        matters = 10
    "#;

    /// Ten cooks on five fires, which rise by one degree each two minutes (foil) or three (paper) once
    /// they are wrapped at 60 °C; before, by one each minute. The last paper cook ends at 80 °C.
    fn cooks() -> (Table, Table) {
        let n = 10;
        let arm = |i: usize| if i < 5 { "foil" } else { "paper" };
        let slow = |i: usize| if i < 5 { 2.0 } else { 3.0 };
        let last_c = |i: usize| if i == 9 { 80.0 } else { 88.0 };
        let minute =
            |i: usize, c: f64| if c <= 60.0 { c - 55.0 } else { 5.0 + slow(i) * (c - 60.0) };
        let mut history: (Vec<String>, Vec<f64>, Vec<f64>) = Default::default();
        for i in 0..n {
            for c in 55..=88 {
                let c = f64::from(c);
                if c <= last_c(i) {
                    history.0.push(format!("cook-{i}"));
                    history.1.push(minute(i, c));
                    history.2.push(c);
                }
            }
        }
        let rows = history.0.len();
        let none: Vec<Option<f64>> = vec![None; rows];
        let frame = table!(
            "cook" => (0..n).map(|i| format!("cook-{i}")).collect::<Vec<_>>(),
            "fire" => (0..n).map(|i| format!("fire-{}", i % 5)).collect::<Vec<_>>(),
            "arm" => (0..n).map(arm).collect::<Vec<_>>(),
            "wrap_method" => (0..n).map(arm).collect::<Vec<_>>(),
            "wrap_at_core_c" => vec![60.0; n],
            "clock_to_finish_min" => (0..n).map(|i| minute(i, last_c(i))).collect::<Vec<_>>(),
            "finish_reached" => (0..n).map(|i| i != 9).collect::<Vec<_>>(),
        );
        let history = table!(
            "cook" => history.0,
            "minute" => history.1,
            "core_c" => history.2,
            "k_per_h" => none.clone(),
            "pit_c" => none.clone(),
            "in_stall" => vec![None::<bool>; rows],
            "setpoint_c" => none,
        );
        (frame, history)
    }

    fn found() -> Vec<CoreCourses> {
        let (frame, history) = cooks();
        let claims = Claims::parse(CLAIM, Path::new("claims.toml")).unwrap();
        let history = History::new(&history).unwrap();
        courses(&MeasureTable::new(&frame).unwrap(), &history, &claims).unwrap()
    }

    #[test]
    fn clocks_start_where_the_sides_part_and_tell_the_time_at_each_temperature() {
        let found = found();
        let [own, wraps] = &found[..] else { panic!("{found:?}") };
        assert_eq!((own.claim.as_deref(), own.by.as_str()), (Some("foil-first"), "arm"));
        assert_eq!((wraps.claim.as_deref(), wraps.by.as_str()), (None, "wrap_method"));
        assert_eq!(own.from_core_c, 60.0);
        for (side, pace) in own.sides.iter().zip([2.0, 3.0]) {
            assert_eq!((side.cooks, side.points.len()), (5, 29));
            for point in &side.points {
                let median = point.median_min.unwrap();
                assert!((median - pace * (point.core_c - 60.0)).abs() < 1e-9, "{point:?}");
            }
        }
        // The cook that ended at 80 °C still counts: it is not dropped, nor taken as having got there.
        let [.., last] = &own.sides[1].points[..] else { panic!() };
        assert_eq!((last.cooks, last.median_min), (4, Some(84.0)));
    }

    #[test]
    fn fires_are_counted_where_lower_bounds_leave_no_doubt() {
        let found = found();
        // Paper on the last fire was cut at 65 min, when foil had finished after 61.
        assert_eq!(found[0].sooner(), (5, 5));
        assert_eq!(found[0].fires[4].cut, [false, true]);
        assert_eq!(first_is_sooner([50.0, 60.0], [true, false]), None);
        assert_eq!(first_is_sooner([70.0, 60.0], [true, false]), Some(false));
        assert_eq!(first_is_sooner([60.0, 60.0], [false, false]), None);
    }

    #[test]
    fn a_side_of_few_cooks_has_no_course() {
        let (frame, history) = cooks();
        let frame = frame.take(&(0..9).collect::<Vec<_>>());
        let history = History::new(&history).unwrap();
        let table = MeasureTable::new(&frame).unwrap();
        assert_eq!(courses(&table, &history, &Claims::default()).unwrap(), []);
    }
}
