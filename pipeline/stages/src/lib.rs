//! The stages over a season folder or a store: what is read, what is written, what is stale.
//!
//! ```text
//! logger CSVs ─┐
//!              ├─ ingest ─> store ─> phases ─> measures ─> study ─> report
//! season sheet ┘
//! ```
//!
//! Each stage reads what the stage before it wrote and can be run alone; [`run`] runs them
//! all over a season folder and does again only what changed. Everything written carries
//! the hash of what it was computed from, so the same input gives the same bytes.

mod claim_stage;
mod csv_sheet;
mod demo;
mod derive_stage;
mod diff_stage;
mod error;
mod export;
mod folder;
mod ingest_stage;
mod inspect;
mod lock_said;
mod measures_stage;
mod merge_stage;
mod note;
mod outlook_stage;
mod outside;
mod phases_stage;
mod pit;
mod pool_stage;
mod progress;
mod query_stage;
mod report_data;
mod report_stage;
mod run;
mod schemas;
mod sensitivity_stage;
mod stamps;
mod study_stage;
mod trial_stage;

pub use claim_stage::{DraftedClaim, draft_claim};
pub use demo::{demo, sample_lock};
pub use diff_stage::{StudyDiff, diff};
pub use error::StageError;
pub use export::{cell, to_csv, to_json};
pub use folder::{MadeSeason, NewSeason, QUESTIONS, is_zone, new_season, read_season};
pub use ingest::{Code as LogCode, Layout, Log};
pub use ingest_stage::{IngestRequest, IngestSummary, Refusal, Subject, ingest};
pub use inspect::{Inspection, inspect};
pub use measures_stage::measures;
pub use merge_stage::{MergeInput, MergeRequest, MergeSummary, merge};
pub use note::{NoteRequest, Noted, note, note_from};
pub use outlook_stage::{
    ForecastRequest, ForecastSummary, PlanRequest, PlanSummary, TypedReadings, bundled_prior,
    forecast, plan,
};
pub use phases_stage::{TableSummary, phases};
pub use pit::write_pit_page;
pub use pool_stage::{PoolRequest, PoolSummary, pool};
pub use progress::{Progress, Silent};
pub use query_stage::{QueryAnswer, QuerySource, query, query_tables, settings_beside};
pub use report_stage::{ReportRequest, ReportSummary, SummaryRequest, report, summary};
pub use run::{RunOptions, RunSummary, instant_ms, run, run_logs, run_with};
pub use schemas::generated_schemas;
pub use sensitivity_stage::{SensitivitySummary, phases_sensitivity};
pub use store::stamps::{Reason, Stage};
pub use store::{Column, Table, write_atomically, write_page};
pub use study::claims::arguments;
pub use study_stage::{StudyRequest, StudySource, StudySummary, give_effects, study};
pub use trial_stage::{
    TrialBegun, TrialDrawn, TrialNewRequest, TrialNextRequest, TrialSeen, trial_look, trial_new,
    trial_next,
};
