//! Cooks with known truth, measured logs and the sample season.
//!
//! Nobody can publish the truth of a real stall, but a physical model has one. This crate
//! simulates fires and the meat on them ([`run_fire`]), says where the phases truly lie,
//! records readings as a logger would ([`measured`]), writes them as text in generic
//! dialects ([`dialect`]), and makes the bundled team's seasons ([`sample_season`]).
//!
//! Every draw comes from a seeded `ChaCha` stream: same seed, same bytes. The fire draws from
//! streams of its own, so that one fire can be run again under another decision (a wrap at
//! another time, another pull) with the same weather and the same wander.
//!
//! | module | its one job |
//! |---|---|
//! | [`meat`] | a piece of meat: size, composition, moisture, and how readily it dries |
//! | [`conduction`] | heat inside it, by finite volumes |
//! | [`surface`] | heat and water crossing its surface |
//! | [`wrapping`] | what each wrap does to that |
//! | [`pit`] | the air and walls of the pit |
//! | [`decision`] | when somebody wraps, pulls, slices |
//! | [`fire`] | one fire and all cooks on it, step by step |
//! | [`truth`] | the curves, marks and true phases that come out |
//! | [`measured`] | readings as a logger records them |
//! | [`dialect`] | readings as text, with the truth of every cell beside it |
//! | [`encoding`] | text as bytes |
//! | [`archive`] | gzip, Zstandard and ZIP with the same bytes every time |
//! | [`season`] | the bundled team |
//!
//! What is realistic and what is not: `docs/simulator.md`.

pub mod archive;
pub mod conduction;
pub mod decision;
pub mod dialect;
pub mod encoding;
pub mod error;
pub mod fire;
pub mod measured;
pub mod meat;
pub mod pit;
pub mod season;
pub mod surface;
pub mod truth;
pub mod wrapping;

pub use decision::{CookPlan, Rest, Trigger, WrapStep};
pub use dialect::{Dialect, Transcript, WrittenLog};
pub use error::SimulateError;
pub use fire::run_fire;
pub use measured::{Logger, Probe, ReadingSet};
pub use meat::Meat;
pub use pit::{Pit, PitChange};
pub use season::sample_season;
pub use truth::{CookTruth, FireTruth};

/// Step of every simulated curve, s.
pub const GRID_STEP_S: i64 = 10;
