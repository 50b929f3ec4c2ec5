//! Cleaning, heating coefficient and phases of one cook: slices in, phases out.
//!
//! The phase definition is stated in words at [`cook::PhaseDefinition`] and computed by
//! [`judge`], a pure function on a regular grid. Everything else here serves to recover on
//! a measured log what the definition would give on the undisturbed curve:
//!
//! | module | its one job |
//! |---|---|
//! | [`samples`] | readings as borrowed or owned columns |
//! | [`calibration`] | corrections from ice and boiling tests |
//! | [`channels`] | pit and meats of a cook, exchanged probes put right |
//! | [`clean`] | which readings are used, and an account of those that are not |
//! | [`flags`] | what cleaning made of the readings, stretch by stretch |
//! | [`marks`] | meat-on, pull and slice: from card, events or log, with the source |
//! | [`lead`] | which meat channel is the core |
//! | [`meats`] | the other meat channels against the lead |
//! | [`heating`] | heating rate, lagged pit and heating coefficient on a grid |
//! | [`definition`] | the definition: reference, stalls, phases |
//! | [`mod@borrow`] | a reference from the team's other cooks |
//! | [`mod@stall_delay`] | stall delay, which has no threshold |
//! | [`mod@segment`] | a measured log to phases with intervals |
//! | [`mod@sensitivity`] | how far a stall moves with the constants |
//! | `sparse` | a core that was read by hand a few times |
//! | [`cook_segment`] | the whole way for one cook's readings and card |

pub mod borrow;
pub mod calibration;
pub mod channels;
pub mod clean;
pub mod cook_segment;
pub mod definition;
pub mod error;
pub mod flags;
pub mod heating;
pub mod lead;
pub mod marks;
pub mod meats;
pub mod samples;
pub mod segment;
pub mod sensitivity;
mod sparse;
pub mod stall_delay;

pub use borrow::{BorrowedReference, borrow};
pub use calibration::{Calibration, ProbeKind};
pub use channels::{Channel, Channels};
pub use clean::exchange::exchanged_meats;
pub use clean::{CleaningReport, DipBridged, Exchange, Gap, LidOpening, SpikeRemoved, StuckRun};
pub use cook_segment::{PreparedCook, SegmentedCook, prepare_cook, segment_cook};
pub use definition::{CookBounds, Judgement, NotJudged, Reference, judge};
pub use error::PhasesError;
pub use flags::FlaggedStretch;
pub use heating::{GridCurves, HeatingCurves};
pub use lead::{LeadChoice, lead_channel};
pub use marks::{FoundMark, MarkProblem, MarkSource, Marks, SeenMarks, find_marks, seen_marks};
pub use meats::MeatComparison;
pub use samples::{OwnedSamples, Samples};
pub use segment::{BoundaryInterval, CookCurves, Interval, SegmentOptions, Segmentation, segment};
pub use sensitivity::{MovedConstant, MovedJudgement, StallSeen, moved_judgements};
pub use stall_delay::{NoStallDelay, StallDelay, stall_delay};
