//! 90 % intervals by curves drawn from what the readings leave possible.
//!
//! Each draw takes a core from the smoother's posterior, with a noise and a roughness of their own
//! from the uncertainty of both; an error of calibration and a drift of the core's probe; a pit with
//! its noise and an error of calibration; and, where the reference is borrowed, another cook's
//! reference. It is judged by the definition like the estimate itself.

use super::{Estimate, Interval, SegmentOptions, Segmentation, smoothing};
use crate::borrow::BorrowedReference;
use crate::definition::{CookBounds, Judgement, MIDDLE};
use crate::error::PhasesError;
use crate::samples::OwnedSamples;
use crate::segment::BoundaryInterval;
use crate::stall_delay::stall_delay;
use cook::{PhaseKind, PhaseSpan};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};

/// Drawn curves are judged on a grid this coarse, ms: half a minute moves no boundary that noise
/// does not move further.
const DRAW_STEP_MS: i64 = 30_000;
/// Longest stretch of a draw without an exact node, s.
const LONGEST_NODE_GAP_S: f64 = 300.0;
/// Standard deviation of the calibration of a core probe that is left after the card's correction,
/// °C, of its drift, °C/h, and of the calibration of a pit probe, °C. Common practice, no source.
const CORE_OFFSET_SD_C: f64 = 0.3;
/// What is added to the first for each °C of the logger's step.
const COARSE_OFFSET_SD_C: f64 = 1.0;
const CORE_DRIFT_SD_C_PER_H: f64 = 0.04;
const PIT_OFFSET_SD_C: f64 = 0.75;
/// Draws take turns at these multiples of the fitted roughness: no series tells how it bends where
/// its noise hides the bend. Set on cooks with known truth.
const ROUGHNESS_FACTORS: [f64; 3] = [0.7, 2.1, 6.3];
/// Share of the draws in which a boundary must be there for an interval to be given.
const LEAST_SHARE: f64 = 0.2;

/// Adds the intervals to a segmentation.
pub(super) fn add(
    segmentation: &mut Segmentation,
    estimate: &Estimate,
    options: &SegmentOptions,
) -> Result<(), PhasesError> {
    let step_ms = estimate.grid.step_ms.max(DRAW_STEP_MS);
    let times = estimate.grid.times(step_ms);
    // Everything is compared with the estimate on the same coarse grid.
    let (core_c, pit_c) = estimate.curves(step_ms)?;
    let borrowed = options.borrowed.as_ref();
    let middle = estimate.judge(step_ms, &core_c, &pit_c, &options.definition, borrowed);
    let noise_spread = estimate.smoother.log_noise_spread();
    let mut samplers = ROUGHNESS_FACTORS
        .into_iter()
        .zip([0.0, -1.0, 1.0])
        .map(|(roughness, z)| {
            estimate.smoother.sampler(
                estimate.grid.span(),
                LONGEST_NODE_GAP_S,
                roughness,
                (z * noise_spread).exp(),
            )
        })
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| smoothing(&error))?;
    let pit_noise = pit_noise_sd(&estimate.pit);
    // A logger that counts whole degrees is no better calibrated than it counts.
    let coarse = estimate.quantum.min(1.0);
    let offset_sd = CORE_OFFSET_SD_C + COARSE_OFFSET_SD_C * coarse;
    let drift_sd = CORE_DRIFT_SD_C_PER_H * (1.0 + coarse);
    let mut rng = ChaCha8Rng::seed_from_u64(options.seed);
    let mut drawn = Vec::with_capacity(options.draws as usize);
    let mut core = Vec::with_capacity(times.len());
    // In blocks a dense log costs no more than one that is read twice a step.
    let (blocks, counts) = estimate.pit.view().blocks(DRAW_STEP_MS / 2);
    let block_noise: Vec<f64> =
        counts.iter().map(|count| pit_noise / (*count as f64).sqrt()).collect();
    let mut noisy_pit = blocks.clone();
    for index in 0..options.draws {
        let sampler = &mut samplers[index as usize % ROUGHNESS_FACTORS.len()];
        sampler.draw(&times, || rng.sample(StandardNormal), &mut core);
        let offset = offset_sd * rng.sample::<f64, _>(StandardNormal);
        let drift = drift_sd / 3600.0 * rng.sample::<f64, _>(StandardNormal);
        let mut curve: Vec<f64> =
            core.iter().zip(&times).map(|(c, t)| c + offset + drift * t).collect();
        let pit_offset = PIT_OFFSET_SD_C * rng.sample::<f64, _>(StandardNormal);
        let values = blocks.temp_c.iter().zip(&block_noise);
        for (noisy, (value, sd)) in noisy_pit.temp_c.iter_mut().zip(values) {
            *noisy = value + pit_offset + sd * rng.sample::<f64, _>(StandardNormal);
        }
        let mut pit = estimate.grid.pit(step_ms, noisy_pit.view());
        estimate.hide_gaps(step_ms, &mut curve, &mut pit);
        let borrowed = options.borrowed.map(|other| another(&other, &mut rng));
        // Nothing tells where in a long gap a stall began or ended.
        let turn = if estimate.has_hidden() { rng.random() } else { MIDDLE };
        drawn.push(estimate.judge_turning(
            step_ms,
            (&curve, &pit),
            &options.definition,
            borrowed.as_ref(),
            turn,
        ));
    }
    let past_stalls = segmentation.judgement.first_reaches_ms(options.definition.stall_until_c);
    let bounds = &segmentation.bounds;
    let all_seen = bounds.pull_known || past_stalls.is_some();
    let fine = &segmentation.judgement;
    let delay =
        |judgement: &Judgement| stall_delay(judgement, &options.definition, bounds.pull_ms).ok();
    let stall_delay_90 = delay_interval(delay(fine), delay(&middle), drawn.iter().map(delay));
    let grain = |at_ms: i64| estimate.grain_ms(fine, at_ms, &options.definition);
    let stall_min_90 = stall_interval(fine, &middle, &drawn, all_seen, &grain);
    let boundaries = boundary_intervals(&fine.phases, &middle, &drawn, bounds, &grain);
    segmentation.stall_min_90 = stall_min_90;
    segmentation.stall_delay_90 = stall_delay_90;
    segmentation.boundaries = boundaries;
    Ok(())
}

/// Adds the intervals to a segmentation of draws that are judged already, on the grid of the estimate.
pub(crate) fn of_draws(
    segmentation: &mut Segmentation,
    drawn: &[Judgement],
    definition: &cook::PhaseDefinition,
) {
    let bounds = segmentation.bounds;
    let estimate = &segmentation.judgement;
    let past_stalls = estimate.first_reaches_ms(definition.stall_until_c);
    let all_seen = bounds.pull_known || past_stalls.is_some();
    let delay = |judgement: &Judgement| stall_delay(judgement, definition, bounds.pull_ms).ok();
    let exact = |_: i64| 0;
    let stall_min_90 = stall_interval(estimate, estimate, drawn, all_seen, &exact);
    let stall_delay_90 = delay_interval(delay(estimate), delay(estimate), drawn.iter().map(delay));
    let boundaries = boundary_intervals(&estimate.phases, estimate, drawn, &bounds, &exact);
    segmentation.stall_min_90 = stall_min_90;
    segmentation.stall_delay_90 = stall_delay_90;
    segmentation.boundaries = boundaries;
}

/// Another cook of the kind that the reference is borrowed from: its logarithm is Student-t about
/// the median's, since the spread is known from few cooks only.
fn another(other: &BorrowedReference, rng: &mut ChaCha8Rng) -> BorrowedReference {
    let cooks = other.cooks as f64;
    let t = StudentT::new((cooks - 1.0).max(1.0)).map_or(0.0, |t| t.sample(rng));
    let factor = (other.spread_log * (1.0 + 1.0 / cooks).sqrt() * t).clamp(-2.0, 2.0).exp();
    BorrowedReference { median_per_h: other.median_per_h * factor, ..*other }
}

/// Noise of one pit reading, °C, quanta included.
fn pit_noise_sd(pit: &OwnedSamples) -> f64 {
    let rounding = stats::quantum(&pit.temp_c) / 12.0_f64.sqrt();
    crate::clean::dips::noise_sd(pit.view()).max(rounding.min(1.0))
}

/// Ends of the central 90 % of values.
fn central_90(values: &[f64]) -> Option<(f64, f64)> {
    let ends = stats::describe::quantiles(values, &[0.05, 0.95]).ok()?;
    Some((ends[0], ends[1]))
}

/// Draws are compared with the middle curve on the same coarse grid, and the differences laid on
/// the fine answer, so that the coarse grid itself moves nothing. The interval is that of the whole
/// cook's stall: where the log ends before the pull with a core that could still stall, the upper
/// end is open.
fn stall_interval(
    fine: &Judgement,
    middle: &Judgement,
    drawn: &[Judgement],
    all_seen: bool,
    grain: &dyn Fn(i64) -> i64,
) -> Option<Interval> {
    let (fine_min, middle_min) = (fine.stall_min?, middle.stall_min?);
    let (lo, hi) = central_90(&drawn.iter().filter_map(|draw| draw.stall_min).collect::<Vec<_>>())?;
    // The grain of all the ends, which are independent of each other.
    let squares: f64 = fine
        .phases_of(PhaseKind::Stall)
        .flat_map(|span| [span.start_ms, span.end_ms])
        .map(|at| (grain(at) as f64 / 60_000.0).powi(2))
        .sum();
    let grain_min = squares.sqrt();
    Some(Interval {
        lo: Some((fine_min + (lo - middle_min).min(0.0) - grain_min).max(0.0)),
        hi: all_seen.then(|| fine_min + (hi - middle_min).max(0.0) + grain_min),
    })
}

fn delay_interval(
    fine: Option<crate::StallDelay>,
    middle: Option<crate::StallDelay>,
    drawn: impl Iterator<Item = Option<crate::StallDelay>>,
) -> Option<Interval> {
    let (fine, middle) = (fine?, middle?);
    let minutes: Vec<f64> = drawn.flatten().map(|delay| delay.minutes).collect();
    let (lo, hi) = central_90(&minutes)?;
    Some(Interval {
        lo: Some(fine.minutes + (lo - middle.minutes).min(0.0)),
        hi: (!fine.censored).then(|| fine.minutes + (hi - middle.minutes).max(0.0)),
    })
}

/// A boundary's interval is formed over the draws in which the stall beside it is there. Marks and
/// the log's end have open intervals.
fn boundary_intervals(
    fine: &[PhaseSpan],
    middle: &Judgement,
    drawn: &[Judgement],
    bounds: &CookBounds,
    grain: &dyn Fn(i64) -> i64,
) -> Vec<(BoundaryInterval, BoundaryInterval)> {
    let stalls = |judgement: &Judgement| -> Vec<(i64, i64)> {
        judgement.phases_of(PhaseKind::Stall).map(|s| (s.start_ms, s.end_ms)).collect()
    };
    let drawn: Vec<Vec<(i64, i64)>> = drawn.iter().map(stalls).collect();
    let middle = stalls(middle);
    let best = |among: &[(i64, i64)], span: (i64, i64)| {
        among
            .iter()
            .copied()
            .map(|stall| (stall, stall.1.min(span.1) - stall.0.max(span.0)))
            .filter(|(_, overlap)| *overlap > 0)
            .max_by_key(|(_, overlap)| *overlap)
            .map(|(stall, _)| stall)
    };
    // Interval of one end of a stall.
    let of = |span: (i64, i64), end: bool| {
        let pick = |stall: (i64, i64)| if end { stall.1 } else { stall.0 };
        let at = pick(span);
        let Some(origin) = best(&middle, span).map(pick) else {
            return BoundaryInterval::default();
        };
        let found: Vec<i64> =
            drawn.iter().filter_map(|stalls| best(stalls, span)).map(pick).collect();
        if (found.len() as f64) < LEAST_SHARE * drawn.len() as f64 {
            return BoundaryInterval::default();
        }
        let moved: Vec<f64> = found.iter().map(|found| (found - origin) as f64).collect();
        let Some((lo, hi)) = central_90(&moved) else { return BoundaryInterval::default() };
        let grain = grain(at);
        let hi_ms = at + hi.max(0.0) as i64 + grain;
        // A log that ends before the pull leaves open what comes after.
        let open = end && !bounds.pull_known && hi_ms >= bounds.pull_ms - 60_000;
        BoundaryInterval {
            lo_ms: Some((at + lo.min(0.0) as i64 - grain).max(bounds.meat_on_ms)),
            hi_ms: (!open).then_some(hi_ms.min(bounds.pull_ms)),
        }
    };
    let is_mark = |at: i64| [bounds.meat_on_ms, bounds.pull_ms, bounds.end_ms].contains(&at);
    let interval = |index: usize, end: bool| {
        let span = &fine[index];
        let at = if end { span.end_ms } else { span.start_ms };
        let in_stall = span.kind == PhaseKind::Stall;
        let beside = if in_stall {
            Some((span, end))
        } else if end {
            fine.get(index + 1).map(|next| (next, false))
        } else {
            index.checked_sub(1).map(|before| (&fine[before], true))
        };
        match beside.filter(|(stall, _)| stall.kind == PhaseKind::Stall && !is_mark(at)) {
            Some((stall, stall_end)) => of((stall.start_ms, stall.end_ms), stall_end),
            None => BoundaryInterval::default(),
        }
    };
    (0..fine.len()).map(|index| (interval(index, false), interval(index, true))).collect()
}
