//! The figures: SVG drawn by plotters through a backend that writes CSS classes, so that colours,
//! dashes and patterns follow the page (light, dark, print).

mod answers;
mod axis;
mod bars;
mod canvas;
mod contest;
mod control;
mod course;
mod curve;
mod fan;
mod finish;
mod heating;
mod interval;
mod map;
mod over;
mod pace;
mod pairs;
mod pen;
mod pits;
mod scatter;
mod season;
mod sign;
mod small;
mod specifications;
mod stretches;
mod strip;
mod tender;
mod text;
mod trade;

pub(crate) use answers::{answer_interval, reach};
pub(crate) use bars::{bars, compact_bars, phase_key};
pub(crate) use contest::{ContestLine, contest_line};
pub(crate) use control::control_chart;
pub(crate) use course::{core_courses, shared_fires};
pub(crate) use curve::{CurveSize, curve};
pub(crate) use fan::fan;
pub(crate) use finish::finish_curves;
pub(crate) use heating::heating;
pub(crate) use interval::interval;
pub(crate) use map::cook_map;
pub(crate) use over::over;
pub(crate) use pace::pace;
pub(crate) use pairs::pairs;
pub(crate) use pits::{left_out_of_panels, phases_by_pit};
pub(crate) use scatter::{MAX_NAMED_POINTS, scatter};
pub(crate) use season::season_strips;
pub(crate) use sign::{kinds, sign_key};
pub(crate) use small::small_chart;
pub(crate) use specifications::specifications;
pub(crate) use strip::{Strip, StripGroup, strip};
pub(crate) use tender::tender;
pub(crate) use trade::trade;

use canvas::Pen;
use cook::PhaseKind;

/// The patterns that the stylesheet fills with, once per page.
pub(crate) const PATTERNS: &str = include_str!("figure/patterns.svg");

/// The pen that fills a phase.
fn phase_pen(phase: PhaseKind) -> Pen {
    match phase {
        PhaseKind::Ramp => Pen::Ramp,
        PhaseKind::Stall => Pen::Stall,
        PhaseKind::Push => Pen::Push,
        PhaseKind::Rest => Pen::Rest,
        PhaseKind::Unknown => Pen::Unknown,
    }
}
