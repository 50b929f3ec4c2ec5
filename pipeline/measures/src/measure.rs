//! From card and segmentation to the row of measures.

use crate::clock::StudyClock;
use crate::history::wrap_time_known;
use crate::row::MeasureRow;
use crate::{handling, tender, time_temperature, wet_bulb};
use columns::measures::Measures;
use cook::{Card, Celsius, EndReason, Event, Kilograms, PhaseDefinition, PhaseKind, WrapMethod};
use phases::{Judgement, LeadChoice, MarkSource, Marks, Samples, Segmentation, stall_delay};

/// A log that begins later than this after meat-on does not show the core at meat-on, ms (10 min).
const LATE_MS: i64 = 600_000;
/// A probe that falls at least this far within 10 min of the pull was taken out of the meat,
/// °C. Common practice, no source.
const TAKEN_OUT_C: f64 = 10.0;
/// A note of the bark this long before the wrap still tells what it looked like then, ms (1 h).
const BARK_MS: i64 = 3_600_000;
/// Readings of which the median makes the maximum after the pull: one reading makes none.
const MEDIAN_OF: usize = 5;

/// What a row is made of.
#[derive(Debug, Clone, Copy)]
pub struct MeasureInput<'a> {
    /// The card.
    pub card: &'a Card,
    /// The segmentation, or why there is none.
    pub segmentation: Result<&'a Segmentation, &'a str>,
    /// The marks, where they were found.
    pub marks: Option<&'a Marks>,
    /// The lead meat channel, where one was chosen.
    pub lead: Option<&'a LeadChoice>,
    /// What happened to it.
    pub events: &'a [Event],
    /// The constants of the definition.
    pub definition: &'a PhaseDefinition,
    /// The core's usable readings from the slice on; empty where there are none.
    pub core_after_slice: Samples<'a>,
    /// Dew point of the pit's air where the card gives none.
    pub assumed_pit_dew_point: Option<Celsius>,
}

/// Measures one cook. Without a segmentation the row holds what the card says, the reason
/// and nothing else.
pub fn measure(input: &MeasureInput) -> MeasureRow {
    let mut measured = MeasureRow::of(input.card);
    let row = &mut measured.known;
    add_card(row, input.card);
    if let Some(marks) = input.marks {
        row.meat_on_source = Some(marks.meat_on.source.as_str().to_owned());
        row.pull_source = Some(marks.pull.source.as_str().to_owned());
        row.meat_on_ms = Some(marks.meat_on.at_ms);
        row.wrap_time_known = wrap_time_known(input.card, marks);
    }
    if let Some(lead) = input.lead {
        row.lead_channel = Some(lead.name.clone());
    }
    match input.segmentation {
        Err(reason) => {
            row.not_judged_reason = Some(reason.to_owned());
            row.stall_delay_reason = Some(phases::NoStallDelay::NotJudged.as_str().to_owned());
        }
        Ok(segmentation) => {
            add_durations(row, input, segmentation);
            add_pit(row, input, segmentation);
            add_stalls(row, input, segmentation);
            add_clock(row, input, segmentation);
            add_cleaning(row, segmentation);
            // A core that nobody saw is none to count germs by.
            if !segmentation.by_hand {
                time_temperature::add(row, segmentation, input.core_after_slice);
            }
            wet_bulb::add(row, input, segmentation);
        }
    }
    tender::add(row, input, input.segmentation.ok());
    if row.end_reason.is_empty() {
        row.end_reason = String::from(end_reason(input, row.finish_reached).as_str());
    }
    if let Ok(segmentation) = input.segmentation {
        tender::add_clock(row, input, segmentation);
    }
    add_noted(row, input);
    measured
}

/// What follows from the card alone.
fn add_card(row: &mut Measures, card: &Card) {
    row.turn_in_ms = card.turn_in_ms;
    row.planned_pull_ms = card.planned_pull_ms;
    row.wrap_time_known =
        card.marks.wrap_ms.is_some() || card.wrap_method == Some(WrapMethod::None);
    let raw = card.raw_weight.map(Kilograms::value).filter(|weight| *weight > 0.0);
    let (after, basis) = match (card.cooked_weight, card.served_weight) {
        (Some(cooked), _) => (Some(cooked), Some("cooked")),
        (None, Some(served)) => (Some(served), Some("served")),
        (None, None) => (None, None),
    };
    row.yield_fraction = after.zip(raw).map(|(after, raw)| after.value() / raw);
    row.yield_basis = row.yield_fraction.and(basis).map(str::to_owned);
}

/// Minutes of all phases of a kind; `None` where not judged or one is cut off by the log.
fn whole_minutes(judgement: &Judgement, kind: PhaseKind) -> Option<f64> {
    judgement.minutes_of(kind).filter(|_| judgement.phases_of(kind).all(|span| span.complete))
}

fn add_durations(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let bounds = &segmentation.bounds;
    let judgement = &segmentation.judgement;
    let heating = &judgement.heating;
    // A pull that the card gives counts even where the logger was switched off before.
    let stated_pull_ms = input
        .marks
        .filter(|marks| matches!(marks.pull.source, MarkSource::Card | MarkSource::Events))
        .map(|marks| marks.pull.at_ms);
    let pull_ms = bounds.pull_known.then_some(bounds.pull_ms).or(stated_pull_ms);
    let total_min = (pull_ms.unwrap_or(bounds.pull_ms) - bounds.meat_on_ms) as f64 / 60_000.0;
    row.meat_on_ms = Some(bounds.meat_on_ms);
    row.total_min = Some(total_min);
    row.total_min_censored = Some(pull_ms.is_none() || !bounds.meat_on_known);
    let weight = row.trimmed_weight_kg.or(row.raw_weight_kg).filter(|weight| *weight > 0.0);
    let whole = pull_ms.filter(|_| bounds.meat_on_known);
    row.min_per_kg = whole.and(weight).map(|weight| total_min / weight);
    let from_meat_on = bounds.meat_on_known && heating.start_ms - bounds.meat_on_ms <= LATE_MS;
    if from_meat_on && !segmentation.by_hand {
        row.start_core_c = heating.core_c.first().copied();
    }
    // From meat-on, though the log may begin later: the ramp is meat-on to the first stall.
    let ramp_end = judgement.phases_of(PhaseKind::Ramp).last();
    row.ramp_min = match ramp_end {
        Some(ramp) if judgement.not_judged.is_none() && ramp.complete && bounds.meat_on_known => {
            Some((ramp.end_ms - bounds.meat_on_ms) as f64 / 60_000.0)
        }
        _ => None,
    };
    if !judgement.stall_min_censored {
        row.push_min = whole_minutes(judgement, PhaseKind::Push);
    }
    if bounds.pull_known {
        row.rest_min = judgement.minutes_of(PhaseKind::Rest);
        row.rest_min_censored = Some(!bounds.slice_known);
        if !segmentation.by_hand {
            row.pull_core_c = heating.core_c.last().copied();
            row.carryover_c = carryover(segmentation);
        }
    }
}

/// Highest core after the pull less the core at the pull.
///
/// The maximum is that of medians of five readings, and not below the core at the pull.
fn carryover(segmentation: &Segmentation) -> Option<f64> {
    let at_pull = *segmentation.judgement.heating.core_c.last()?;
    let after = segmentation.core_after_pull.view();
    let pull_ms = segmentation.bounds.pull_ms;
    let soon = after.within(pull_ms, pull_ms + LATE_MS);
    if soon.temp_c.iter().any(|core| *core < at_pull - TAKEN_OUT_C) {
        return None;
    }
    let medians = after.temp_c.windows(MEDIAN_OF).map(|window| {
        let mut sorted = window.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted[MEDIAN_OF / 2]
    });
    medians.max_by(f64::total_cmp).map(|highest| highest.max(at_pull) - at_pull)
}

fn add_pit(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let heating = &segmentation.judgement.heating;
    let observed: Vec<(i64, f64)> = (0..heating.len())
        .filter(|&index| heating.observed[index])
        .map(|index| (heating.at_ms(index), heating.pit_c[index]))
        .collect();
    let pit: Vec<f64> = observed.iter().map(|(_, pit)| *pit).collect();
    row.pit_mean_c = mean(&pit);
    row.pit_sd_c = row.pit_mean_c.filter(|_| pit.len() > 1).map(|mean| {
        let squares: f64 = pit.iter().map(|pit| (pit - mean).powi(2)).sum();
        (squares / (pit.len() as f64 - 1.0)).sqrt()
    });
    let clock =
        StudyClock::of(segmentation, input.definition.stall_from_c, input.definition.finish_c);
    row.pit_from_setpoint = Some(segmentation.pit_from_setpoint);
    if segmentation.pit_from_setpoint {
        row.pit_sd_c = None;
    }
    row.pit_early_c = clock.and_then(|clock| {
        let before = observed.partition_point(|(at_ms, _)| *at_ms < clock.zero_ms);
        mean(&pit[..before])
    });
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

fn add_stalls(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let judgement = &segmentation.judgement;
    row.not_judged_reason = judgement.not_judged.map(|reason| reason.as_str().to_owned());
    if let Some(reference) = judgement.reference {
        row.k_ref_per_h = Some(reference.k_per_h);
        row.k_ref_borrowed = Some(reference.borrowed.is_some());
        let source = if reference.borrowed.is_some() { "borrowed" } else { "own" };
        row.k_ref_source = Some(source.to_owned());
        row.k_ref_cooks = reference.borrowed.map(|other| other.cooks as i64);
    }
    row.stalls = judgement.stalls.map(|stalls| stalls as i64);
    row.stall_min = judgement.stall_min;
    row.stall_min_censored = judgement.stall_min.map(|_| judgement.stall_min_censored);
    if let Some(interval) = segmentation.stall_min_90 {
        row.stall_min_lo90 = interval.lo;
        row.stall_min_hi90 = interval.hi.filter(|_| !judgement.stall_min_censored);
    }
    let mut stalls = judgement.phases_of(PhaseKind::Stall);
    row.stall_start_core_c =
        stalls.clone().next().and_then(|stall| judgement.core_at(stall.start_ms));
    row.stall_end_core_c = stalls.next_back().filter(|stall| stall.complete).and_then(|stall| {
        judgement.core_at(stall.end_ms).or_else(|| judgement.heating.core_c.last().copied())
    });
    match stall_delay(judgement, input.definition, segmentation.bounds.pull_ms) {
        Ok(delay) => {
            row.stall_delay_min = Some(delay.minutes);
            row.stall_delay_censored = Some(delay.censored);
        }
        Err(reason) => row.stall_delay_reason = Some(reason.as_str().to_owned()),
    }
}

/// The first wrap that the marks or the card know, unless the card says it was never wrapped.
fn first_wrap_ms(input: &MeasureInput) -> Option<i64> {
    let unwrapped = input.card.wrap_method == Some(WrapMethod::None);
    input
        .marks
        .and_then(|marks| marks.wraps_ms.first().copied())
        .or(input.card.marks.wrap_ms)
        .filter(|_| !unwrapped)
}

/// What a hand read and an eye saw.
fn add_noted(row: &mut Measures, input: &MeasureInput) {
    let by_hand = input.events.iter().filter(|event| event.spot_reading().is_some());
    row.spot_readings = Some(by_hand.count() as i64);
    let before_wrap = first_wrap_ms(input).and_then(|wrap_ms| {
        let near = input.events.iter().filter(|event| event.at_ms >= wrap_ms - BARK_MS);
        handling::last_bark(&near.cloned().collect::<Vec<_>>(), wrap_ms)
    });
    row.bark_at_wrap = before_wrap.map(|bark| bark.to_string());
}

fn add_clock(row: &mut Measures, input: &MeasureInput, segmentation: &Segmentation) {
    let bounds = &segmentation.bounds;
    let first_wrap =
        first_wrap_ms(input).filter(|wrap| (bounds.meat_on_ms..bounds.pull_ms).contains(wrap));
    row.wrap_at_core_c = first_wrap.and_then(|wrap| segmentation.judgement.core_at(wrap));
    let clock =
        StudyClock::of(segmentation, input.definition.stall_from_c, input.definition.finish_c);
    let Some(clock) = clock else { return };
    row.clock_zero_min =
        bounds.meat_on_known.then(|| (clock.zero_ms - bounds.meat_on_ms) as f64 / 60_000.0);
    row.clock_to_finish_min = Some(clock.minutes_to(clock.end_ms()));
    row.finish_reached = Some(clock.finish_ms.is_some());
    row.clock_to_wrap_min = first_wrap.map(|wrap| clock.minutes_to(wrap).max(0.0));
}

fn add_cleaning(row: &mut Measures, segmentation: &Segmentation) {
    let cleaning = &segmentation.cleaning;
    let count = |n: usize| Some(n as i64);
    row.core_by_hand = Some(segmentation.by_hand);
    row.core_noise_sd_c = Some(segmentation.noise_sd_c).filter(|_| !segmentation.by_hand);
    row.spikes_removed = count(cleaning.core_spikes.len() + cleaning.pit_spikes.len());
    row.dips_bridged = count(cleaning.dips.len());
    row.gaps = count(cleaning.core_gaps.len() + cleaning.pit_gaps.len());
    let bridged: usize = cleaning.dips.iter().map(|dip| dip.readings).sum();
    let unused = cleaning.core_impossible_ms.len() + cleaning.core_spikes.len() + bridged;
    row.core_readings = count(cleaning.core_readings.saturating_sub(unused));
}

/// Why the cook ended, where the card does not say.
fn end_reason(input: &MeasureInput, finish_reached: Option<bool>) -> EndReason {
    let log_ends_first =
        input.segmentation.is_ok_and(|segmentation| !segmentation.bounds.pull_known);
    if finish_reached == Some(true) {
        EndReason::Finish
    } else if input.card.last_probe_test_tender == Some(true) {
        EndReason::Tender
    } else if log_ends_first {
        EndReason::LogEnd
    } else {
        EndReason::Unstated
    }
}

#[cfg(test)]
mod tests;
