//! The whole way for one cook: readings, card and events in, phases out.

use crate::borrow::BorrowedReference;
use crate::channels::{Channel, Channels};
use crate::clean::{CleaningReport, Exchange, clean_core};
use crate::definition::Judgement;
use crate::error::PhasesError;
use crate::lead::{LeadChoice, lead_channel};
use crate::marks::{MarkProblem, Marks, find_marks, wrap_check};
use crate::meats::{MeatComparison, compare};
use crate::samples::OwnedSamples;
use crate::segment::{
    CookCurves, LATE_AFTER_MS, LONGEST_GAP_MS, SegmentOptions, Segmentation, Smoothed,
};
use crate::sparse::{LATE_CORE_C, SparseCook, pit_from_setpoints};
use cook::{Card, CookReadings, Event, EventKind, LeadReason, PhaseDefinition, SpotReading};

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
    /// Meat channels whose probe was put in late, and its first reading in the meat, ms UTC.
    pub put_in_ms: Vec<(String, i64)>,
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
    curves: Curves,
    pit: OwnedSamples,
    core_after_slice: OwnedSamples,
    exchanges: Vec<Exchange>,
    put_in_ms: Vec<(String, i64)>,
    rest_cleaning: CleaningReport,
}

/// The curves of a cook, as far as its readings tell them.
#[derive(Debug)]
enum Curves {
    Logged(Box<Smoothed>),
    ByHand(SparseCook),
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
    let Channels { pit, meats, by_hand, exchanges, put_in_ms } = Channels::of(readings, card);
    let by_hand = if meats.is_empty() { by_hand } else { read_before(&meats, by_hand) };
    if !by_hand.is_empty() {
        return prepare_by_hand(pit, by_hand, exchanges, card, events, definition);
    }
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
        curves: Curves::Logged(Box::new(smoothed)),
        exchanges,
        put_in_ms,
        rest_cleaning,
        meats,
    })
}

/// Prepares a cook whose core no probe logged.
///
/// The core is the place that was read most often, with the readings of which nobody wrote the place.
/// Where no pit was logged either, its set-points stand for it.
fn prepare_by_hand(
    pit: Option<Channel>,
    by_hand: Vec<Channel>,
    exchanges: Vec<Exchange>,
    card: &Card,
    events: &[Event],
    definition: &PhaseDefinition,
) -> Result<PreparedCook, PhasesError> {
    let (core, because) = core_by_hand(by_hand);
    let pit_name = pit.as_ref().map(|channel| channel.name.clone());
    let logged_pit = pit.map(|channel| channel.samples).unwrap_or_default();
    let span = with_stated_ends(&core.samples, card, events);
    let mut marks = find_marks(&card.marks, events, span.view(), logged_pit.view())?;
    // A hand that reads now and then is not late.
    marks.problems.retain(|problem| {
        !matches!(problem, MarkProblem::LogBeginsLate { .. } | MarkProblem::AfterLog { .. })
    });
    let from_setpoint = logged_pit.at_ms.is_empty();
    let pit =
        if from_setpoint { pit_from_setpoints(card, events, &marks.bounds) } else { logged_pit };
    let sparse = SparseCook::new(
        core.samples.view(),
        (pit.view(), from_setpoint),
        (&marks.bounds, &marks.wraps_ms),
        card,
        definition,
    )?;
    let inside = pit.view().within(marks.bounds.meat_on_ms, marks.bounds.pull_ms);
    let pit = OwnedSamples { at_ms: inside.at_ms.to_vec(), temp_c: inside.temp_c.to_vec() };
    Ok(PreparedCook {
        lead: LeadChoice {
            index: 0,
            name: core.name.clone(),
            reason: LeadReason::OnlyOne,
            highest_c: None,
            because,
        },
        pit_channel: pit_name,
        // Set-points are no readings of the pit: nothing is to be seen in them.
        pit: if from_setpoint { OwnedSamples::default() } else { pit },
        core_after_slice: OwnedSamples::default(),
        marks,
        curves: Curves::ByHand(sparse),
        exchanges,
        put_in_ms: Vec::new(),
        rest_cleaning: CleaningReport::default(),
        meats: vec![core],
    })
}

/// The longest time that a logged core leaves out where it joins readings by hand, ms (20 min).
const THINNED_MS: i64 = 1_200_000;

/// Readings by hand joined by the log of a probe that went in late, thinned to as few as they are;
/// empty where the log needs no such help or nobody read before.
fn read_before(meats: &[Channel], by_hand: Vec<Channel>) -> Vec<Channel> {
    let Some(logged) = meats.iter().max_by_key(|channel| channel.samples.at_ms.len()) else {
        return by_hand;
    };
    let (at_ms, temp_c) = (&logged.samples.at_ms, &logged.samples.temp_c);
    let late = temp_c.first().is_some_and(|first_c| *first_c >= LATE_CORE_C);
    let before = |channel: &Channel| channel.samples.at_ms[0] < at_ms[0] - LATE_AFTER_MS;
    if !late || !by_hand.iter().any(before) {
        return Vec::new();
    }
    let (mut core, _) = core_by_hand(by_hand);
    let early = core.samples.at_ms.partition_point(|read_ms| *read_ms < at_ms[0]);
    core.samples.at_ms.truncate(early);
    core.samples.temp_c.truncate(early);
    for (at_ms, temp_c) in at_ms.iter().zip(temp_c) {
        if core.samples.at_ms.last().is_none_or(|last_ms| at_ms - last_ms >= THINNED_MS) {
            core.samples.at_ms.push(*at_ms);
            core.samples.temp_c.push(*temp_c);
        }
    }
    vec![core]
}

/// The place that was read most often, joined by what was read at no place in particular; and why.
fn core_by_hand(mut by_hand: Vec<Channel>) -> (Channel, String) {
    by_hand.sort_by_key(|channel| {
        let placeless = is_placeless(channel);
        (placeless, std::cmp::Reverse(channel.samples.at_ms.len()))
    });
    let placeless = by_hand.iter().skip(1).find(|channel| is_placeless(channel)).cloned();
    let places = by_hand.iter().filter(|channel| !is_placeless(channel)).count();
    let mut core = by_hand.swap_remove(0);
    if let Some(placeless) = placeless {
        let mut all: Vec<(i64, f64)> = [&core.samples, &placeless.samples]
            .into_iter()
            .flat_map(|samples| samples.at_ms.iter().copied().zip(samples.temp_c.iter().copied()))
            .collect();
        all.sort_by_key(|(at_ms, _)| *at_ms);
        all.dedup_by_key(|(at_ms, _)| *at_ms);
        (core.samples.at_ms, core.samples.temp_c) = all.into_iter().unzip();
    }
    let because = if places > 1 {
        format!("It was read by hand, and of {places} places this one most often.")
    } else {
        "It was read by hand.".to_owned()
    };
    (core, because)
}

fn is_placeless(channel: &Channel) -> bool {
    channel.name == SpotReading { temp: cook::Celsius(0.0), place: None }.channel()
}

/// Readings by hand, held level to the marks that the sheets state: between them the cook was there,
/// though nobody read it.
fn with_stated_ends(core: &OwnedSamples, card: &Card, events: &[Event]) -> OwnedSamples {
    let of = |kind: EventKind| events.iter().filter(move |e| e.kind == kind).map(|e| e.at_ms);
    let marks = &card.marks;
    let first_ms = marks.meat_on_ms.or(of(EventKind::MeatOn).min());
    let last_ms = of(EventKind::Pull)
        .chain(of(EventKind::Slice))
        .chain(marks.pull_ms)
        .chain(marks.slice_ms)
        .max();
    let mut out = core.clone();
    let ends = (core.at_ms.first().copied(), core.at_ms.last().copied());
    let (Some(begins_ms), Some(ends_ms)) = ends else { return out };
    if let Some(first_ms) = first_ms.filter(|first_ms| *first_ms < begins_ms) {
        out.at_ms.insert(0, first_ms);
        out.temp_c.insert(0, core.temp_c[0]);
    }
    if let Some(last_ms) = last_ms.filter(|last_ms| *last_ms > ends_ms) {
        out.at_ms.push(last_ms);
        out.temp_c.push(core.temp_c[core.temp_c.len() - 1]);
    }
    out
}

impl PreparedCook {
    /// Whether the core was read by hand: what it tells of how the meat takes heat is mostly what the
    /// model knew before, and nothing to lend to others.
    pub fn is_by_hand(&self) -> bool {
        matches!(self.curves, Curves::ByHand(_))
    }

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
        match &self.curves {
            Curves::Logged(smoothed) => Ok(smoothed.judged(definition, borrowed)?.judgement),
            Curves::ByHand(sparse) => Ok(sparse.judged(definition, borrowed)),
        }
    }

    /// The core on the grid of its heating curves, °C, the sides of each wrap and unwrapping smoothed
    /// apart, for the pace before and after; `None` where it was neither wrapped nor unwrapped under a
    /// probe, or read by hand. Not a number in long gaps.
    pub fn core_apart(&self, events: &[Event]) -> Option<Vec<f64>> {
        let Curves::Logged(smoothed) = &self.curves else { return None };
        let unwraps = events.iter().filter(|event| event.kind == EventKind::Unwrap);
        let mut cuts = self.marks.wraps_ms.clone();
        cuts.extend(unwraps.map(|event| event.at_ms));
        smoothed.core_apart(&cuts)
    }

    /// The cook, segmented by the definition that it was prepared for.
    ///
    /// # Errors
    /// Constants that contradict each other.
    pub fn segmented(self, options: &SegmentOptions) -> Result<SegmentedCook, PhasesError> {
        let segmentation = match self.curves {
            Curves::Logged(smoothed) => smoothed.segmented(options)?,
            Curves::ByHand(sparse) => sparse.segmented(options),
        };
        let others = compare(&self.meats, self.lead.index, &segmentation, &options.definition);
        Ok(SegmentedCook {
            lead: self.lead,
            pit_channel: self.pit_channel,
            marks: self.marks,
            segmentation,
            pit: self.pit,
            core_after_slice: self.core_after_slice,
            exchanges: self.exchanges,
            put_in_ms: self.put_in_ms,
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
