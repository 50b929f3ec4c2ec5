//! The whole way for one cook: readings, card and events in, phases out.

use crate::channels::{Channel, Channels};
use crate::clean::{CleaningReport, Exchange, clean_core};
use crate::error::PhasesError;
use crate::lead::{LeadChoice, lead_channel};
use crate::marks::{Marks, find_marks, wrap_check};
use crate::meats::{MeatComparison, compare};
use crate::samples::OwnedSamples;
use crate::segment::{CookCurves, LONGEST_GAP_MS, SegmentOptions, Segmentation, segment};
use cook::{Card, CookReadings, Event};

/// One cook, segmented.
#[derive(Debug, Clone, PartialEq)]
pub struct SegmentedCook {
    /// Which meat channel is the core, and why.
    pub lead: LeadChoice,
    /// The pit channel's name; `None` where the log has none.
    pub pit_channel: Option<String>,
    /// The marks, with their sources.
    pub marks: Marks,
    /// The phases.
    pub segmentation: Segmentation,
    /// The pit's usable readings between meat-on and pull, offset applied.
    pub pit: OwnedSamples,
    /// The core's usable readings from the slice on, offset applied, not cleaned; empty where the
    /// slice is not known.
    pub core_after_slice: OwnedSamples,
    /// Channels that were exchanged and put right.
    pub exchanges: Vec<Exchange>,
    /// Every other meat channel against the lead.
    pub others: Vec<MeatComparison>,
    /// What cleaning did to the core after the pull.
    pub rest_cleaning: CleaningReport,
}

/// Segments one cook from its readings, its card and its own events.
///
/// The pit is the pit channel with the most usable readings. The lead channel is found
/// within the marks that the channel with the most readings gives.
///
/// # Errors
/// No meat channel or not the one that the card names; marks outside the log; too few
/// readings. See [`PhasesError`].
pub fn segment_cook(
    readings: &CookReadings,
    card: &Card,
    events: &[Event],
    options: &SegmentOptions,
) -> Result<SegmentedCook, PhasesError> {
    let Channels { pit, meats, exchanges } = Channels::of(readings, card);
    let no_pit = OwnedSamples::default();
    let pit_samples = pit.as_ref().map_or(no_pit.view(), |pit| pit.samples.view());
    let fullest = meats.iter().max_by_key(|channel| channel.samples.at_ms.len());
    let Some(fullest) = fullest else { return Err(PhasesError::NoMeatChannel) };
    let marks_of =
        |core: &Channel| find_marks(&card.marks, events, core.samples.view(), pit_samples);
    let first_look = marks_of(fullest)?;
    let lead = lead_channel(
        &meats,
        card.lead_channel.as_deref(),
        (first_look.bounds.meat_on_ms, first_look.bounds.pull_ms),
        options.definition.finish_c,
    )?;
    let core = meats[lead.index].samples.view();
    let mut marks = marks_of(&meats[lead.index])?;
    let curves = CookCurves { core, pit: pit_samples, wraps_ms: &marks.wraps_ms };
    let segmentation = segment(&curves, &marks.bounds, options)?;
    let unseen = wrap_check::without_sign(&marks, core, pit_samples, &segmentation.cleaning);
    marks.problems.extend(unseen);
    let mut rest_cleaning = CleaningReport::default();
    if marks.bounds.pull_known {
        let rest = core.within(marks.bounds.pull_ms, marks.bounds.end_ms + 1);
        clean_core(rest, &[], LONGEST_GAP_MS, &mut rest_cleaning);
    }
    let inside = pit_samples.within(marks.bounds.meat_on_ms, marks.bounds.pull_ms);
    let bounds = &segmentation.bounds;
    let sliced_ms = if bounds.slice_known { bounds.end_ms } else { i64::MAX };
    let after_slice = core.within(sliced_ms, i64::MAX);
    let others = compare(&meats, lead.index, &segmentation, &options.definition);
    Ok(SegmentedCook {
        lead,
        pit_channel: pit.as_ref().map(|channel| channel.name.clone()),
        pit: OwnedSamples { at_ms: inside.at_ms.to_vec(), temp_c: inside.temp_c.to_vec() },
        marks,
        core_after_slice: OwnedSamples {
            at_ms: after_slice.at_ms.to_vec(),
            temp_c: after_slice.temp_c.to_vec(),
        },
        segmentation,
        exchanges,
        others,
        rest_cleaning,
    })
}
