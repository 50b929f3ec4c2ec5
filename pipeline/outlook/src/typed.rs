//! A cook from a few readings typed by hand.

use crate::course::{About, Course, STEP_MIN};
use crate::error::OutlookError;
use cook::{PhaseDefinition, WrapMethod};

/// Readings typed by hand; times are minutes since meat-on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Typed {
    /// The pit, °C.
    pub pit_c: Option<f64>,
    /// Its set-point, °C.
    pub setpoint_c: Option<f64>,
    /// Core readings: when, °C.
    pub core: Vec<(f64, f64)>,
    /// Wraps: when, and into what.
    pub wraps: Vec<(f64, WrapMethod)>,
    /// What is known of the meat.
    pub about: About,
}

impl Typed {
    /// The course of these readings, on straight lines between them; its meat-on is instant 0.
    ///
    /// # Errors
    /// No core reading; neither pit nor set-point.
    pub fn course(&self, definition: &PhaseDefinition) -> Result<Course, OutlookError> {
        let mut core = self.core.clone();
        core.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (Some(first), Some(last)) = (core.first(), core.last()) else {
            return Err(OutlookError::NoCore);
        };
        let pit_c = self.pit_c.or(self.setpoint_c).ok_or(OutlookError::NoPit)?;
        // The grid ends with the last reading: what lies between it and the step is a few minutes.
        let steps = (last.0 / STEP_MIN).round() as usize + 1;
        let first_step = (first.0 / STEP_MIN).round() as usize;
        let value = |step: usize| {
            if step < first_step {
                return f64::NAN;
            }
            let minute = step as f64 * STEP_MIN;
            let after = core.partition_point(|reading| reading.0 < minute);
            match (after.checked_sub(1).map(|at| core[at]), core.get(after)) {
                (Some((from, a)), Some((to, b))) if *to > from => {
                    a + (minute - from) / (to - from) * (b - a)
                }
                (_, Some((_, b))) => *b,
                (Some((_, a)), None) => a,
                (None, None) => f64::NAN,
            }
        };
        let mut wraps = self.wraps.clone();
        wraps.sort_by(|a, b| a.0.total_cmp(&b.0));
        let course = Course {
            about: self.about.clone(),
            core_c: (0..steps).map(value).collect(),
            pit_c: vec![pit_c; steps],
            setpoints: self.setpoint_c.map(|to| (f64::NEG_INFINITY, to)).into_iter().collect(),
            wraps,
            typed: true,
            ..Course::empty()
        };
        Ok(course.completed(definition))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_lie_on_straight_lines_and_nothing_is_made_of_what_came_before() {
        let typed = Typed {
            pit_c: Some(120.0),
            core: vec![(245.0, 78.0), (190.0, 74.0)],
            wraps: vec![(100.0, WrapMethod::Foil)],
            ..Typed::default()
        };
        let course = typed.course(&PhaseDefinition::default()).unwrap();
        assert_eq!(course.last_step(), 49);
        assert!(course.core_c[37].is_nan());
        assert_eq!(course.core_c[38], 74.0);
        assert!((course.core_c[49] - 78.0).abs() < 1e-12);
        assert_eq!(course.reference, None);
        let blind = Typed { core: vec![(60.0, 20.0)], ..Typed::default() };
        assert_eq!(blind.course(&PhaseDefinition::default()), Err(OutlookError::NoPit));
    }
}
