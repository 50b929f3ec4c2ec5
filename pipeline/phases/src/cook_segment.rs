//! The whole way for one cook: readings, card and events in, phases out.

use crate::error::PhasesError;
use crate::lead::{LeadChoice, lead_channel};
use crate::marks::{Marks, find_marks};
use crate::samples::OwnedSamples;
use crate::segment::{CookCurves, SegmentOptions, Segmentation, segment};
use cook::{Card, CelsiusDifference, ChannelReadings, CookReadings, Event, Role};

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
    let of_role = |role: Role| readings.channels.iter().filter(move |c| c.role == role);
    let meat: Vec<&ChannelReadings> = of_role(Role::Meat).collect();
    let meat_offset = card.meat_offset.map_or(0.0, CelsiusDifference::value);
    let pit_offset = card.pit_offset.map_or(0.0, CelsiusDifference::value);
    let pit_channel = of_role(Role::Pit)
        .max_by_key(|channel| channel.flag.iter().filter(|flag| flag.usable()).count());
    let pit = pit_channel
        .map_or_else(OwnedSamples::default, |channel| OwnedSamples::usable(channel, pit_offset));

    let fullest = meat.iter().max_by_key(|channel| channel.len());
    let Some(fullest) = fullest else { return Err(PhasesError::NoMeatChannel) };
    let first_look = find_marks(
        &card.marks,
        events,
        OwnedSamples::usable(fullest, meat_offset).view(),
        pit.view(),
    )?;
    let lead = lead_channel(
        &meat,
        card.lead_channel.as_deref(),
        meat_offset,
        (first_look.bounds.meat_on_ms, first_look.bounds.pull_ms),
        options.definition.finish_c,
    )?;
    let core = OwnedSamples::usable(meat[lead.index], meat_offset);
    let marks = find_marks(&card.marks, events, core.view(), pit.view())?;
    let curves = CookCurves { core: core.view(), pit: pit.view(), wraps_ms: &marks.wraps_ms };
    let segmentation = segment(&curves, &marks.bounds, options)?;
    let inside = pit.view().within(marks.bounds.meat_on_ms, marks.bounds.pull_ms);
    Ok(SegmentedCook {
        lead,
        pit_channel: pit_channel.map(|channel| channel.name.clone()),
        pit: OwnedSamples { at_ms: inside.at_ms.to_vec(), temp_c: inside.temp_c.to_vec() },
        marks,
        segmentation,
    })
}
