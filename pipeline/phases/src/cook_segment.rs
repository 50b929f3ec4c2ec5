//! The whole way for one cook: readings, card and events in, phases out.

use crate::borrow::BorrowedReference;
use crate::channels::{Channel, Channels};
use crate::clean::{CleaningReport, Exchange, clean_core};
use crate::definition::Judgement;
use crate::error::PhasesError;
use crate::lead::{LeadChoice, lead_channel};
use crate::marks::{Marks, find_marks, wrap_check};
use crate::meats::{MeatComparison, compare};
use crate::samples::OwnedSamples;
use crate::segment::{CookCurves, LONGEST_GAP_MS, SegmentOptions, Segmentation, Smoothed};
use cook::{Card, CookReadings, Event, PhaseDefinition};

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

/// One cook, cleaned and smoothed but not judged: whatever definition it is judged by, and whatever
/// reference it borrows, it has to be prepared once only.
#[derive(Debug)]
pub struct PreparedCook {
    lead: LeadChoice,
    meats: Vec<Channel>,
    pit_channel: Option<String>,
    marks: Marks,
    smoothed: Smoothed,
    pit: OwnedSamples,
    core_after_slice: OwnedSamples,
    exchanges: Vec<Exchange>,
    rest_cleaning: CleaningReport,
}

/// Prepares one cook from its readings, its card and its own events.
///
/// The pit is the pit channel with the most usable readings. The lead channel is found
/// within the marks that the channel with the most readings gives. Of `definition` the grid's step
/// and the finish are used.
///
/// # Errors
/// No meat channel or not the one that the card names; marks outside the log; too few
/// readings; constants that contradict each other. See [`PhasesError`].
pub fn prepare_cook(
    readings: &CookReadings,
    card: &Card,
    events: &[Event],
    definition: &PhaseDefinition,
) -> Result<PreparedCook, PhasesError> {
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
        definition.finish_c,
    )?;
    let core = meats[lead.index].samples.view();
    let mut marks = marks_of(&meats[lead.index])?;
    let curves = CookCurves { core, pit: pit_samples, wraps_ms: &marks.wraps_ms };
    let smoothed = Smoothed::new(&curves, &marks.bounds, definition)?;
    let unseen = wrap_check::without_sign(&marks, core, pit_samples, smoothed.cleaning());
    marks.problems.extend(unseen);
    let mut rest_cleaning = CleaningReport::default();
    if marks.bounds.pull_known {
        let rest = core.within(marks.bounds.pull_ms, marks.bounds.end_ms + 1);
        clean_core(rest, &[], LONGEST_GAP_MS, &mut rest_cleaning);
    }
    let inside = pit_samples.within(marks.bounds.meat_on_ms, marks.bounds.pull_ms);
    let sliced_ms = if marks.bounds.slice_known { marks.bounds.end_ms } else { i64::MAX };
    let after_slice = core.within(sliced_ms, i64::MAX);
    Ok(PreparedCook {
        lead,
        pit_channel: pit.as_ref().map(|channel| channel.name.clone()),
        pit: OwnedSamples { at_ms: inside.at_ms.to_vec(), temp_c: inside.temp_c.to_vec() },
        core_after_slice: OwnedSamples {
            at_ms: after_slice.at_ms.to_vec(),
            temp_c: after_slice.temp_c.to_vec(),
        },
        marks,
        smoothed,
        exchanges,
        rest_cleaning,
        meats,
    })
}

impl PreparedCook {
    /// What a definition says of the cook. It may depart from the one that the cook was prepared for
    /// in anything but the grid's step and the finish.
    ///
    /// # Errors
    /// Constants that contradict each other.
    pub fn judged(
        &self,
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
    ) -> Result<Judgement, PhasesError> {
        Ok(self.smoothed.judged(definition, borrowed)?.judgement)
    }

    /// The cook, segmented by the definition that it was prepared for.
    ///
    /// # Errors
    /// Constants that contradict each other.
    pub fn segmented(self, options: &SegmentOptions) -> Result<SegmentedCook, PhasesError> {
        let segmentation = self.smoothed.segmented(options)?;
        let others = compare(&self.meats, self.lead.index, &segmentation, &options.definition);
        Ok(SegmentedCook {
            lead: self.lead,
            pit_channel: self.pit_channel,
            marks: self.marks,
            segmentation,
            pit: self.pit,
            core_after_slice: self.core_after_slice,
            exchanges: self.exchanges,
            others,
            rest_cleaning: self.rest_cleaning,
        })
    }
}

/// Prepares one cook and segments it.
///
/// # Errors
/// As [`prepare_cook`].
pub fn segment_cook(
    readings: &CookReadings,
    card: &Card,
    events: &[Event],
    options: &SegmentOptions,
) -> Result<SegmentedCook, PhasesError> {
    prepare_cook(readings, card, events, &options.definition)?.segmented(options)
}
