//! Cooks with known truth, and what a logger records of them.
//!
//! Nobody can publish the truth of a real stall, but a physical model has one. This crate
//! simulates fires and the meat on them ([`run_fire`]), says where the phases truly lie, and
//! records readings as a logger would ([`measured`]). It writes no file: `samples` does that.
//!
//! Every draw comes from a seeded `ChaCha` stream: same seed, same bytes. The wander of the pit
//! and each cook's habit have streams of their own, so that one fire can be run again under
//! another [`Strategy`] with the same meat, weather, wander and latent draws.
//!
//! | module | its one job |
//! |---|---|
//! | [`meat`] | a piece of meat: size, composition, moisture, and how readily it dries |
//! | [`material`] | its heat against temperature and conductivity |
//! | [`conduction`] | heat inside it, by finite volumes |
//! | `moisture` | where its water is |
//! | [`surface`] | heat and water crossing its surface |
//! | [`wrapping`] | what each wrap does to that |
//! | [`pit`] | the air and walls of the pit |
//! | [`weather`] | the air outside |
//! | [`rest`] | counter, cooler, holding box |
//! | [`decision`] | what is planned for a piece of meat: wraps, bumps, pull, rest |
//! | [`habit`] | how likely a team is to wrap, raise the set-point or open the lid, from moment to moment |
//! | [`strategy`] | what is done whatever the habit: the counterfactual |
//! | [`fire`] | one fire and all cooks on it, step by step |
//! | [`team`] | a team that cooks seasons: meat, pits, habits, weather, randomised blocks |
//! | [`truth`] | the curves, marks and true phases that come out |
//! | [`measured`] | readings as a logger records them |
//!
//! What is realistic and what is not: `docs/simulator.md`.

pub mod conduction;
pub mod decision;
pub mod error;
pub mod fire;
pub mod habit;
pub mod material;
pub mod measured;
pub mod meat;
mod moisture;
pub mod pit;
pub mod rest;
pub mod strategy;
pub mod surface;
pub mod team;
pub mod truth;
pub mod weather;
pub mod wrapping;

pub use decision::{CookPlan, Trigger, WrapStep};
pub use error::SimulateError;
pub use fire::{run_fire, run_marks};
pub use habit::{BumpHabit, Habit, RateHabit, Restlessness, Spray, WrapHabit};
pub use measured::{Logger, Probe, ReadingSet};
pub use meat::{Cut, LatentHeat, Meat};
pub use pit::{Pit, PitChange};
pub use rest::{Rest, RestPlace};
pub use strategy::{BumpStep, BumpWhen, SetpointRule, Strategy, WrapRule};
pub use team::{TeamCook, TeamFire, TeamModel};
pub use truth::{CookMarks, CookTruth, FireTruth};
pub use weather::Weather;

/// Step of every simulated curve, s.
pub const GRID_STEP_S: i64 = 10;
