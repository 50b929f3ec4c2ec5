//! How long the core takes to each temperature, one side beside another: described, not caused.

use super::rows::Rows;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The sides of one argument, from the core temperature at which they part.
///
/// Each point is the median TIME AT A TEMPERATURE. The median temperature at a time would drop the
/// cooks that are done, and so turn the order of the sides round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoreCourses {
    /// The claim that sets the sides against each other; null for the wraps that cooks ended up in.
    pub claim: Option<String>,
    /// Column that says which side a cook is of.
    pub by: String,
    /// Core at which the clocks start, °C: the lower of the sides' median cores at the wrap, and 55
    /// where nobody wraps.
    pub from_core_c: f64,
    /// The sides, the claim's first one first; wraps by how often they are used.
    pub sides: Vec<CoreSide>,
    /// Fires that had cooks of the first two sides, in the order of their names.
    pub fires: Vec<SharedFire>,
}

/// One side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoreSide {
    /// Its level, as the cards say it.
    pub side: String,
    /// Cooks that reached `from_core_c`.
    pub cooks: usize,
    /// The times, by rising temperature.
    pub points: Vec<CorePoint>,
}

/// Minutes from `from_core_c` to one temperature, by Kaplan and Meier: a cook that ends before it counts
/// for as long as it was seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CorePoint {
    /// Core temperature, °C.
    pub core_c: f64,
    /// By when a quarter of the cooks was there; null where the log shows no such time.
    pub quarter_min: Option<f64>,
    /// By when half of them were.
    pub median_min: Option<f64>,
    /// By when three quarters were.
    pub three_quarters_min: Option<f64>,
    /// Cooks that were seen to get there.
    pub cooks: usize,
}

/// A fire that had cooks of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SharedFire {
    /// Its name.
    pub fire: String,
    /// Time to the finish of each side, min: the mean over its cooks.
    pub minutes: [f64; 2],
    /// Whether a cook of the side was not seen to finish, which makes its time a lower bound.
    pub cut: [bool; 2],
    /// Whether the first side was the sooner; null where the same, or where cut times leave it open.
    pub first_is_sooner: Option<bool>,
}

impl CoreCourses {
    /// Fires in which the first side was the sooner, and fires that tell which was.
    pub fn sooner(&self) -> (usize, usize) {
        let told = self.fires.iter().filter_map(|fire| fire.first_is_sooner);
        told.fold((0, 0), |(first, all), sooner| (first + usize::from(sooner), all + 1))
    }

    /// One row a side and temperature.
    pub(super) fn rows(courses: &[Self]) -> Table {
        let mut rows: Vec<(&Self, &CoreSide, &CorePoint)> = Vec::new();
        for course in courses {
            for side in &course.sides {
                rows.extend(side.points.iter().map(|point| (course, side, point)));
            }
        }
        Rows::of(&rows)
            .text("claim", |(course, ..)| course.claim.clone())
            .text("by", |(course, ..)| Some(course.by.clone()))
            .text("side", |(_, side, _)| Some(side.side.clone()))
            .float("from_core_c", |(course, ..)| Some(course.from_core_c))
            .float("core_c", |(.., point)| Some(point.core_c))
            .float("quarter_min", |(.., point)| point.quarter_min)
            .float("median_min", |(.., point)| point.median_min)
            .float("three_quarters_min", |(.., point)| point.three_quarters_min)
            .count("cooks", |(.., point)| Some(point.cooks))
            .table()
    }

    /// One row a fire that sides shared.
    pub(super) fn fire_rows(courses: &[Self]) -> Table {
        let mut rows: Vec<(&Self, &SharedFire)> = Vec::new();
        for course in courses {
            rows.extend(course.fires.iter().map(|fire| (course, fire)));
        }
        let name = |course: &Self, side: usize| course.sides.get(side).map(|own| own.side.clone());
        Rows::of(&rows)
            .text("claim", |(course, _)| course.claim.clone())
            .text("fire", |(_, own)| Some(own.fire.clone()))
            .text("first", move |(course, _)| name(course, 0))
            .text("second", move |(course, _)| name(course, 1))
            .float("first_min", |(_, own)| Some(own.minutes[0]))
            .float("second_min", |(_, own)| Some(own.minutes[1]))
            .text("first_is_sooner", |(_, own)| own.first_is_sooner.map(|told| told.to_string()))
            .table()
    }
}
