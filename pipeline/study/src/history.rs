//! The history of each cook on the study clock: what was known of it, every ten minutes.

use crate::error::StudyError;
use columns::history;
use columns::{Column, Table};
use std::collections::HashMap;

/// The history table, cook by cook.
#[derive(Debug, Clone, Default)]
pub struct History {
    courses: HashMap<String, Course>,
}

/// One cook's course on the study clock.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Course {
    /// Minutes since clock zero, in order.
    minute: Vec<f64>,
    core_c: Vec<f64>,
    k_per_h: Vec<f64>,
    pit_c: Vec<f64>,
    /// Not a number where the table does not say.
    lagged_pit_c: Vec<f64>,
    in_stall: Vec<Option<bool>>,
    setpoint_c: Vec<Option<f64>>,
    handled: Vec<Handled>,
}

/// What was done between a row and the next; `None` where the table does not say.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Handled {
    /// Sprays written down.
    pub(crate) spritzes: Option<f64>,
    /// Minutes that the lid stood open, as written down.
    pub(crate) lid_noted_min: Option<f64>,
    /// Openings that the pit's readings show.
    pub(crate) lid_falls: Option<f64>,
    /// How far the pit fell in the deepest of them, °C.
    pub(crate) lid_fall_c: Option<f64>,
    /// How long after its beginning half of that was made up, min.
    pub(crate) lid_back_min: Option<f64>,
}

/// What was known at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Moment {
    pub(crate) core_c: f64,
    pub(crate) k_per_h: f64,
    pub(crate) pit_c: f64,
    pub(crate) in_stall: bool,
}

impl History {
    /// Takes the history table (columns `cook`, `minute`, `core_c`, `k_per_h`, `pit_c`,
    /// `in_stall`, `setpoint_c`), in whatever order of rows. Rows without a core are skipped; a
    /// heating coefficient or pit temperature that is missing is taken as the last one known. What was
    /// done between rows (`spritzes`, `lid_noted_min`, `lid_falls`, `lid_fall_c`,
    /// `lid_back_min`) may be missing, as in tables of older stores.
    ///
    /// # Errors
    /// A missing column, or one of another type.
    pub fn new(frame: &Table) -> Result<Self, StudyError> {
        let cooks = texts(frame, history::COOK.name)?;
        let [minutes, core, k, pit, setpoint] = [
            history::MINUTE,
            history::CORE_C,
            history::K_PER_H,
            history::PIT_C,
            history::SETPOINT_C,
        ]
        .map(|column| numbers(frame, column.name));
        let (minutes, core, k, pit, setpoint) = (minutes?, core?, k?, pit?, setpoint?);
        let in_stall = numbers(frame, history::IN_STALL.name)?;
        let lagged = match frame.column(history::LAGGED_PIT_C.name) {
            Some(_) => numbers(frame, history::LAGGED_PIT_C.name)?,
            None => vec![None; frame.rows()],
        };
        let handled = [
            history::SPRITZES,
            history::LID_NOTED_MIN,
            history::LID_FALLS,
            history::LID_FALL_C,
            history::LID_BACK_MIN,
        ];
        let [spritzes, noted, falls, fall_c, back] =
            handled.map(|column| match frame.column(column.name) {
                Some(_) => numbers(frame, column.name),
                None => Ok(vec![None; frame.rows()]),
            });
        let (spritzes, noted) = (spritzes?, noted?);
        let (falls, fall_c, back) = (falls?, fall_c?, back?);
        let mut rows: Vec<usize> = (0..frame.rows())
            .filter(|&row| cooks[row].is_some() && minutes[row].is_some() && core[row].is_some())
            .collect();
        rows.sort_by(|&a, &b| {
            let minute = |row: usize| minutes[row].unwrap_or_default();
            (&cooks[a], minute(a)).partial_cmp(&(&cooks[b], minute(b))).unwrap_or_else(|| a.cmp(&b))
        });
        let mut courses: HashMap<String, Course> = HashMap::new();
        for row in rows {
            let (Some(cook), Some(minute), Some(core_c)) = (&cooks[row], minutes[row], core[row])
            else {
                continue;
            };
            let course = courses.entry(cook.clone()).or_default();
            course.minute.push(minute);
            course.core_c.push(core_c);
            course.k_per_h.push(k[row].unwrap_or(f64::NAN));
            course.pit_c.push(pit[row].unwrap_or(f64::NAN));
            course.lagged_pit_c.push(lagged[row].unwrap_or(f64::NAN));
            course.in_stall.push(in_stall[row].map(|flag| flag > 0.5));
            course.setpoint_c.push(setpoint[row]);
            course.handled.push(Handled {
                spritzes: spritzes[row],
                lid_noted_min: noted[row],
                lid_falls: falls[row],
                lid_fall_c: fall_c[row],
                lid_back_min: back[row],
            });
        }
        for course in courses.values_mut() {
            carry_forward(&mut course.k_per_h);
            carry_forward(&mut course.pit_c);
            carry_forward(&mut course.lagged_pit_c);
        }
        Ok(Self { courses })
    }

    pub(crate) fn course(&self, cook: &str) -> Option<&Course> {
        self.courses.get(cook)
    }
}

/// Fills gaps with the value before, those at the beginning with the first that is known.
fn carry_forward(values: &mut [f64]) {
    let Some(first) = values.iter().copied().find(|value| value.is_finite()) else { return };
    let mut last = first;
    for value in values {
        if value.is_finite() {
            last = *value;
        } else {
            *value = last;
        }
    }
}

fn column_error(column: &str, found: &Column) -> StudyError {
    StudyError::ColumnType {
        column: column.to_owned(),
        expected: "the values that the history table has",
        found: found.kind().to_owned(),
    }
}

fn column<'a>(frame: &'a Table, name: &str) -> Result<&'a Column, StudyError> {
    frame.column(name).ok_or_else(|| StudyError::MissingColumn {
        column: name.to_owned(),
        why: "the history table of a store has it".to_owned(),
        nearest: None,
    })
}

fn texts(frame: &Table, name: &str) -> Result<Vec<Option<String>>, StudyError> {
    match column(frame, name)? {
        Column::Text(texts) => Ok(texts.clone()),
        other => Err(column_error(name, other)),
    }
}

/// Numbers; true and false are 1 and 0; NaN is missing.
fn numbers(frame: &Table, name: &str) -> Result<Vec<Option<f64>>, StudyError> {
    let column = column(frame, name)?;
    let values = column.numbers().ok_or_else(|| column_error(name, column))?;
    Ok(values.into_iter().map(|value| value.filter(|value| value.is_finite())).collect())
}

impl Course {
    /// Whether everything that a moment needs is known somewhere.
    pub(crate) fn is_judged(&self) -> bool {
        self.k_per_h.first().is_some_and(|k| k.is_finite())
            && self.in_stall.iter().any(Option::is_some)
    }

    /// Minutes, and the lagged pit at each, °C; not numbers where the table does not say.
    pub(crate) fn lagged_pit(&self) -> (&[f64], &[f64]) {
        (&self.minute, &self.lagged_pit_c)
    }

    /// Whether there is any pit temperature.
    pub(crate) fn has_pit(&self) -> bool {
        self.pit_c.first().is_some_and(|pit| pit.is_finite())
    }

    /// What was known at a minute: between rows on the straight line, beyond the last row as
    /// there; whether it stalls as in the row before.
    pub(crate) fn at(&self, minute: f64) -> Moment {
        let after = self.minute.partition_point(|&m| m <= minute).max(1);
        let (row, next) = (after - 1, after.min(self.minute.len() - 1));
        let width = self.minute[next] - self.minute[row];
        let part =
            if width > 0.0 { ((minute - self.minute[row]) / width).clamp(0.0, 1.0) } else { 0.0 };
        let between = |values: &[f64]| values[row] + part * (values[next] - values[row]);
        Moment {
            core_c: between(&self.core_c),
            k_per_h: between(&self.k_per_h),
            pit_c: between(&self.pit_c),
            in_stall: self.in_stall[row].unwrap_or(false),
        }
    }

    /// What was done in the period of a minute: from its row to the next.
    pub(crate) fn handled(&self, minute: f64) -> Handled {
        let after = self.minute.partition_point(|&m| m <= minute).max(1);
        self.handled[after - 1]
    }

    /// The first minute at which the core is at or above a temperature, on the straight line
    /// between rows; from the last row to (`end_min`, `end_c`) where the cook's end is known.
    pub(crate) fn first_at(&self, core_c: f64, end: Option<(f64, f64)>) -> Option<f64> {
        let mut before: Option<(f64, f64)> = None;
        let rows = self.minute.iter().copied().zip(self.core_c.iter().copied());
        for (minute, core) in rows.chain(end) {
            if core >= core_c {
                return Some(match before {
                    Some((m, c)) if core > c => m + (minute - m) * (core_c - c) / (core - c),
                    _ => minute,
                });
            }
            before = Some((minute, core));
        }
        None
    }

    /// The first row at which the set-point is more than `by` above the first that is known.
    pub(crate) fn first_bump(&self, by: f64) -> Option<f64> {
        let first = self.setpoint_c.iter().flatten().next()?;
        self.setpoint_c
            .iter()
            .position(|setpoint| setpoint.is_some_and(|value| value > first + by))
            .map(|row| self.minute[row])
    }

    /// Whether any set-point is stated.
    pub(crate) fn states_setpoint(&self) -> bool {
        self.setpoint_c.iter().any(Option::is_some)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    fn history() -> History {
        // Out of order, with gaps.
        let frame = table!(
            "cook" => ["a", "a", "b", "a"],
            "minute" => [20i64, 0, 0, 10],
            "core_c" => [70.0, 60.0, 55.0, 64.0],
            "k_per_h" => [None, None, Some(0.2), Some(0.1)],
            "pit_c" => [Some(120.0), Some(110.0), None, Some(f64::NAN)],
            "in_stall" => [Some(true), Some(false), None, Some(true)],
            "setpoint_c" => [Some(125.0), Some(110.0), None, Some(118.0)],
        );
        History::new(&frame).unwrap()
    }

    #[test]
    fn a_course_is_read_between_its_rows() {
        let history = history();
        let course = history.course("a").unwrap();
        let moment = course.at(5.0);
        assert_eq!((moment.core_c, moment.k_per_h, moment.in_stall), (62.0, 0.1, false));
        assert_eq!(course.at(15.0).pit_c, 115.0);
        assert_eq!(course.at(99.0).core_c, 70.0);
        assert_eq!(course.handled(14.0), Handled::default());
        assert!(course.is_judged() && course.has_pit());
        let other = history.course("b").unwrap();
        assert!(!other.is_judged() && !other.has_pit() && !other.states_setpoint());
        assert!(history.course("c").is_none());
    }

    #[test]
    fn cores_are_reached_between_rows_and_before_the_end() {
        let history = history();
        let course = history.course("a").unwrap();
        assert_eq!(course.first_at(62.0, None), Some(5.0));
        assert_eq!(course.first_at(60.0, None), Some(0.0));
        assert_eq!(course.first_at(79.0, Some((40.0, 88.0))), Some(30.0));
        assert_eq!(course.first_at(79.0, None), None);
    }

    #[test]
    fn a_bump_is_a_rise_over_the_first_set_point() {
        let history = history();
        let course = history.course("a").unwrap();
        assert_eq!(course.first_bump(8.0), Some(20.0));
        assert_eq!(course.first_bump(7.0), Some(10.0));
        assert_eq!(course.first_bump(20.0), None);
    }

    #[test]
    fn a_column_that_is_missing_is_named() {
        let error = History::new(&table!("cook" => ["a"])).unwrap_err().to_string();
        assert!(error.contains("`minute`"), "{error}");
    }
}
