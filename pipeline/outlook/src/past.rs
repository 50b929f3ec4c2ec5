//! Past cooks, as moments to stand beside.

use crate::course::{Course, STEP_MIN};
use crate::local::{Counted, Local};
use crate::moment::Moment;
use cook::PhaseDefinition;
use std::collections::BTreeMap;

/// A past cook.
#[derive(Debug, Clone)]
pub(crate) struct PastCook {
    pub(crate) course: Course,
    /// A moment a step up to the finish; `None` where none can be told.
    pub(crate) moments: Vec<Option<Moment>>,
    /// The finish; where the cook ended before it, when it would have come.
    pub(crate) finish_min: f64,
    /// Number of its fire.
    pub(crate) fire: usize,
    /// Of the bundled simulated cooks.
    pub(crate) bundled: bool,
}

/// Past cooks: this team's and the bundled ones.
#[derive(Debug, Clone, Default)]
pub struct Past {
    pub(crate) cooks: Vec<PastCook>,
    pub(crate) definition: PhaseDefinition,
    own: usize,
}

impl Past {
    /// Takes past courses, the team's own and bundled ones.
    ///
    /// A cook that ended before the finish would make the others look faster than cooks are if it were
    /// left out: it is taken to have gone on as those that finished did from where it ended.
    pub fn new(own: &[Course], bundled: &[Course], definition: &PhaseDefinition) -> Self {
        let mut fires: BTreeMap<(bool, &str), usize> = BTreeMap::new();
        let mut past = Self { cooks: Vec::new(), definition: *definition, own: 0 };
        let mut ended: Vec<PastCook> = Vec::new();
        for (course, bundled) in
            own.iter().map(|course| (course, false)).chain(bundled.iter().map(|c| (c, true)))
        {
            let next = fires.len();
            let fire = *fires.entry((bundled, course.about.fire.as_str())).or_insert(next);
            let finish_min = course.finish_min;
            let last = finish_min.map_or(course.last_step(), |at| (at / STEP_MIN) as usize);
            let moments: Vec<Option<Moment>> = (0..=last.min(course.last_step()))
                .map(|step| Moment::at(course, step, definition).ok())
                .collect();
            let cook = PastCook {
                course: course.clone(),
                moments,
                finish_min: finish_min.unwrap_or_default(),
                fire,
                bundled,
            };
            match finish_min {
                Some(_) if cook.moments.iter().any(Option::is_some) => past.cooks.push(cook),
                Some(_) => {}
                None => ended.push(cook),
            }
        }
        let carried: Vec<PastCook> =
            ended.into_iter().filter_map(|cook| past.carried_on(cook)).collect();
        past.cooks.extend(carried);
        past.own = past.cooks.iter().filter(|cook| !cook.bundled).count();
        past
    }

    /// A cook that ended before the finish, with the finish that it would have had.
    fn carried_on(&self, mut cook: PastCook) -> Option<PastCook> {
        let last = cook.moments.iter().rposition(Option::is_some)?;
        let moment = cook.moments[last].as_ref()?;
        // From far below nothing is learnt of the finish but what the others say anyway.
        if moment.core_c < self.definition.delay_from_c {
            return None;
        }
        let local = Local::usual(self, moment, &cook.course, None, None).ok()?;
        cook.finish_min = moment.minute + 60.0 * local.range(0.8).ok()?.hours;
        Some(cook)
    }

    /// The course of a past cook that counts.
    pub fn course_of(&self, counted: &Counted) -> Option<&Course> {
        let is_it = |cook: &&PastCook| {
            cook.bundled == counted.bundled && cook.course.about.cook == counted.cook
        };
        self.cooks.iter().find(is_it).map(|cook| &cook.course)
    }

    /// The courses of the team's own cooks.
    pub fn own_courses(&self) -> impl Iterator<Item = &Course> {
        self.cooks.iter().filter(|cook| !cook.bundled).map(|cook| &cook.course)
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.cooks.is_empty()
    }

    /// How many are the team's own.
    pub fn own(&self) -> usize {
        self.own
    }

    /// The number of a team's own fire, where a past cook has it.
    pub fn fire_of(&self, fire: &str) -> Option<usize> {
        self.cooks
            .iter()
            .find(|cook| !cook.bundled && cook.course.about.fire == fire)
            .map(|c| c.fire)
    }
}
