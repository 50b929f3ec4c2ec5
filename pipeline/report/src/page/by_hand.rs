//! What a report can and cannot say of cooks whose core was read by hand.

use crate::data::ReportData;
use crate::document::{Block, paragraph};
use crate::units::count;
use crate::words::plural;

/// The sentences, where there is such a cook.
pub(super) fn told(data: &ReportData) -> Vec<Block> {
    let (cooks, from_setpoint) = (data.summary.by_hand, data.summary.pit_from_setpoint);
    if cooks == 0 {
        return Vec::new();
    }
    let who = if cooks == data.summary.cooks {
        "Every core was read by hand".to_owned()
    } else if cooks == 1 {
        "The core of 1 cook was read by hand".to_owned()
    } else {
        format!("The cores of {} were read by hand", plural(cooks, "cook"))
    };
    let mut said = format!(
        "{who}, not logged. What lies between two readings is drawn by what meat on a pit does, so stall, finish and the core at the wrap are told within wide ranges. Not told at all, because nobody saw it: the core at the start and at the pull, carry-over, and the times and temperatures that food rules speak of."
    );
    if from_setpoint > 0 {
        let whose = if from_setpoint == cooks { "their".to_owned() } else { count(from_setpoint) };
        let pits = if from_setpoint == cooks { "pits" } else { "of their pits" };
        said += &format!(
            " No probe logged {whose} {pits}: the set-point stands for the pit, and how steady it was is not known."
        );
    }
    vec![paragraph(said)]
}
