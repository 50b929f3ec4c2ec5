//! The questions asked of the measure table: drivers, claims, verdicts.
//!
//! [`study()`] takes the measure table (one row a cook, the columns of the `measures` stage
//! or of any table with the same names), the claims that were written down, and the lock
//! that says when they were; it gives a [`StudyResult`], which serialises to `study.json`.
//! The same input gives the same bytes: nothing depends on the order of rows or on time,
//! and what is drawn at random is seeded.
//!
//! Nothing here opens a file. [`Claims::parse`] and [`Lock::parse`] read text handed to
//! them.
//!
//! ```
//! use std::path::Path;
//! use study::{Claims, MeasureTable, Provenance, Question, study};
//!
//! let table = columns::table!(
//!     "cook" => ["a", "b", "c", "d", "e", "f", "g"],
//!     "pit_early_c" => [105.0, 110.0, 115.0, 120.0, 125.0, 130.0, 135.0],
//!     "stall_delay_min" => [210.0, 190.0, 185.0, 160.0, 155.0, 130.0, 120.0],
//! );
//! let path = Path::new("claims.toml");
//! let claims = Claims::parse(
//!     r#"
//!     [[claim]]
//!     id = "hotter-pit"
//!     says = "A hotter pit shortens the stall"
//!     kind = "trend"
//!     outcome = "stall_delay_min"
//!     better = "lower"
//!     by = "pit_early_c"
//!     per = 5.0
//!     matters = 10
//!     "#,
//!     path,
//! )?;
//! let provenance = Provenance::default();
//! let question = Question {
//!     claims: &claims,
//!     claims_path: path,
//!     lock: None,
//!     history: None,
//!     degrees: None,
//!     definitions: &[],
//!     horizon_min: 720.0,
//!     definition: None,
//!     scores: &Default::default(),
//!     entries: Default::default(),
//!     provenance,
//! };
//! let found = study(&MeasureTable::new(&table)?, question)?;
//! assert_eq!(found.claims[0].verdict, study::Verdict::Yes);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! | module | its job |
//! |---|---|
//! | [`claims`] | what somebody says, as written in `claims.toml` |
//! | [`lock`] | when a claim was written down, and which cooks were known then |
//! | [`verdict`] | from an interval to a word |
//! | [`analysis`] | one claim against the table |
//! | [`mod@pool`] | effects of several teams, combined |
//! | [`drivers`] | what goes with a long stall: weight, pit, wrap, and every other column |
//! | [`cost_side`] | what faster costs: scores, yield, cost; when meat was felt to be tender |
//! | [`groups`] | outcomes by wrap: described, not caused |
//! | [`History`] | the course of each cook, for wrap timing |
//! | [`Degrees`] | the same degree by degree of the core |
//! | [`mod@scores`] | scores of judges and tasters, and entries without a curve |
//! | [`mod@season`] | the season at a glance, control charts, time to the finish by wrap |
//! | [`summary`] | what was cooked |
//! | [`table`] | typed columns of the measure table |
//! | [`result`] | `study.json` |

pub mod analysis;
pub mod claims;
mod contrast;
pub mod cost_side;
mod degrees;
pub mod drivers;
mod error;
mod flow;
mod grouped;
pub mod groups;
mod history;
mod inference;
pub mod lock;
mod outcome;
pub mod pool;
mod regression;
pub mod result;
mod rows;
mod run;
pub mod scores;
pub mod season;
pub mod summary;
pub mod table;
pub mod verdict;

pub use claims::{Claim, ClaimKind, Claims, Scale, Strategy};
pub use degrees::Degrees;
pub use error::StudyError;
pub use history::History;
pub use lock::Lock;
pub use result::{Provenance, StudyResult};
pub use run::{Question, effects, study};
pub use table::MeasureTable;
pub use verdict::{Direction, Standing, Verdict};
