//! A measured log to phases with intervals.
//!
//! Cleaning, then the state-space smoother of `stats` onto the grid of the definition, then
//! [`judge`](crate::judge). Intervals come from curves drawn from what the readings leave possible
//! (module `intervals`), each judged anew.
//!
//! In one thing a measured log is judged otherwise than a noise-free curve would be: a push of at most
//! 45 min between two stalls is joined to them where the core's rate nowhere in it rises over the
//! threshold by half of its own standard deviation. The definition would split the stall on noise
//! alone. `docs/accuracy.md` says what that costs.

use crate::borrow::BorrowedReference;
use crate::clean::{CleaningReport, clean_core, clean_pit};
use crate::definition::{CookBounds, Judgement, MIDDLE, NotJudged, judge_turning};
use crate::error::PhasesError;
use crate::heating::GridCurves;
use crate::samples::{OwnedSamples, Samples};
use crate::sparse::LATE_CORE_C;
use cook::PhaseDefinition;
use grid::Grid;
use stats::{Smoother, SmootherOptions};

mod apart;
mod grid;
pub(crate) mod intervals;
mod silence;

/// Readings further apart than this are listed as a gap, ms (20 min): the slope window of the
/// definition finds nothing to lean on in the middle.
pub const LONGEST_GAP_MS: i64 = 1_200_000;
/// Gaps longer than this are not judged across, ms (2 h): a stall that begins or ends in one may do
/// so anywhere in it. Shorter ones are bridged by the smoother, and how little it knows there goes
/// into the intervals.
const LONGEST_BRIDGED_MS: i64 = 7_200_000;
/// A first reading at most this long after meat-on is a slow logger, not a late log, ms (10 min).
pub const LATE_AFTER_MS: i64 = 600_000;
/// Fewest core readings that are smoothed.
const FEWEST_READINGS: usize = 10;
/// Core readings are gathered into blocks of this length, s: a twentieth of the slope window; into
/// longer ones where their noise hangs together over it.
const BLOCK_S: f64 = 60.0;
/// Share of a reading's step that a boundary is left open by: see [`Estimate::grain_ms`]. Set on
/// cooks with known truth.
const GRAIN: f64 = 0.1;
/// How late a probe may show what the meat does, ms: half a minute for the thickest, half of that on
/// average. Common practice, no source.
const PROBE_LAG_MS: f64 = 15_000.0;
/// A push between two stalls is doubted up to this length, ms (45 min) …
const LONGEST_DOUBTFUL_MS: i64 = 2_700_000;
/// … where its rate is over the threshold by less than so many of its standard deviations. Set on
/// cooks with known truth.
const DOUBTFUL: f64 = 0.5;
/// Half width of the stretches whose roughness is fitted by itself, s.
const ROUGHNESS_WINDOW_S: f64 = 2_400.0;

/// One cook's measured curves, and its wraps.
#[derive(Debug, Clone, Copy)]
pub struct CookCurves<'a> {
    /// Readings of the core.
    pub core: Samples<'a>,
    /// Readings of the pit; empty where there is none.
    pub pit: Samples<'a>,
    /// Wraps, ms UTC.
    pub wraps_ms: &'a [i64],
}

/// How to segment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SegmentOptions {
    /// Constants of the definition.
    pub definition: PhaseDefinition,
    /// Curves to draw for the intervals; 0 gives none.
    pub draws: u32,
    /// Seed of the draws: same seed, same answer.
    pub seed: u64,
    /// A reference from other cooks, used where this one has none of its own.
    pub borrowed: Option<BorrowedReference>,
}

/// An interval; `None` is an open end.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub lo: Option<f64>,
    /// Upper end.
    pub hi: Option<f64>,
}

/// The 90 % interval of an instant, ms UTC; `None` is an open end.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct BoundaryInterval {
    /// Lower end.
    pub lo_ms: Option<i64>,
    /// Upper end.
    pub hi_ms: Option<i64>,
}

/// The phases of one measured cook.
#[derive(Debug, Clone, PartialEq)]
pub struct Segmentation {
    /// What the definition says of the smoothed curves.
    pub judgement: Judgement,
    /// The bounds it was judged in.
    pub bounds: CookBounds,
    /// What cleaning did.
    pub cleaning: CleaningReport,
    /// Scale of the noise of one core reading, rounding aside, °C: Student's t with 4 degrees of
    /// freedom.
    pub noise_sd_c: f64,
    /// 90 % interval of the stall length, min; the upper end is open where the log ends in a
    /// stall. `None` without draws or where no stall was judged.
    pub stall_min_90: Option<Interval>,
    /// 90 % interval of the stall delay, min; the upper end is open where the finish was not
    /// reached. `None` without draws or where there is no stall delay.
    pub stall_delay_90: Option<Interval>,
    /// 90 % intervals of start and end of each phase, parallel to the judgement's phases;
    /// empty without draws. Marks and the log's end have open intervals.
    pub boundaries: Vec<(BoundaryInterval, BoundaryInterval)>,
    /// The core's cleaned readings from the pull on.
    pub core_after_pull: OwnedSamples,
    /// Whether the core was read by hand a few times: the curves are then drawn from a model of what
    /// meat does, and what lies between two readings was seen by nobody.
    pub by_hand: bool,
    /// Whether set-points stand for a pit that no probe logged.
    pub pit_from_setpoint: bool,
}

/// Segments one cook.
///
/// `curves` hold usable readings with offsets applied, in any part around the cook.
///
/// # Errors
/// Constants that contradict each other; readings out of order; a pull that is not after
/// meat-on; fewer than 10 usable core readings between them.
pub fn segment(
    curves: &CookCurves<'_>,
    bounds: &CookBounds,
    options: &SegmentOptions,
) -> Result<Segmentation, PhasesError> {
    Smoothed::new(curves, bounds, &options.definition)?.segmented(options)
}

/// One cook's curves, cleaned, smoothed and laid on the grid: all of a segmentation that neither the
/// reference nor a constant of the stall definition enters, and nearly all of what it costs.
#[derive(Debug)]
pub(crate) struct Smoothed {
    estimate: Estimate,
    cleaning: CleaningReport,
    core_after_pull: OwnedSamples,
    /// The core's readings in use.
    core: OwnedSamples,
    /// Core and pit on the grid of the definition, °C; not a number in long gaps.
    core_c: Vec<f64>,
    pit_c: Vec<f64>,
}

/// What a definition says of a cook, and the definition that said it: that which was asked with a
/// longer `join_gap_s` where a push between two stalls rests on noise.
pub(crate) struct Judged {
    pub(crate) judgement: Judgement,
    definition: PhaseDefinition,
}

impl Smoothed {
    /// Cleans and smooths. Of `definition` only the grid's step is used.
    ///
    /// # Errors
    /// As [`segment`].
    pub(crate) fn new(
        curves: &CookCurves<'_>,
        bounds: &CookBounds,
        definition: &PhaseDefinition,
    ) -> Result<Self, PhasesError> {
        check(definition)?;
        curves.core.check("core")?;
        curves.pit.check("pit")?;
        if bounds.pull_ms <= bounds.meat_on_ms {
            return Err(PhasesError::PullBeforeMeatOn {
                meat_on_ms: bounds.meat_on_ms,
                pull_ms: bounds.pull_ms,
            });
        }
        let mut cleaning = CleaningReport::default();
        let inside = curves.core.within(bounds.meat_on_ms, bounds.pull_ms);
        let core = clean_core(inside, curves.wraps_ms, LONGEST_GAP_MS, &mut cleaning);
        if core.at_ms.len() < FEWEST_READINGS {
            return Err(PhasesError::TooFewReadings {
                found: core.at_ms.len(),
                needed: FEWEST_READINGS,
            });
        }
        // The pit before meat-on is as true as after it, and tells where the lag begins.
        let around = curves.pit.within(bounds.meat_on_ms - LATE_AFTER_MS, bounds.pull_ms + 1);
        let pit = clean_pit(around, LONGEST_GAP_MS, &mut cleaning);
        let estimate = Estimate::new(&core, pit, bounds, &cleaning, definition)?;
        let (core_c, pit_c) = estimate.curves(estimate.grid.step_ms)?;
        Ok(Self {
            estimate,
            cleaning,
            core_after_pull: after_pull(curves.core, bounds),
            core,
            core_c,
            pit_c,
        })
    }

    /// What a definition says of the curves. Its grid's step must be the one that they were laid on.
    ///
    /// # Errors
    /// Constants that contradict each other.
    pub(crate) fn judged(
        &self,
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
    ) -> Result<Judged, PhasesError> {
        check(definition)?;
        let step_ms = self.estimate.grid.step_ms;
        let judge = |definition: &PhaseDefinition| {
            self.estimate.judge(step_ms, &self.core_c, &self.pit_c, definition, borrowed)
        };
        let judgement = judge(definition);
        if self.estimate.begins_late() {
            return Ok(Judged {
                judgement: judgement.withheld(NotJudged::LateCore),
                definition: *definition,
            });
        }
        let joined = self.estimate.joining_doubtful_pushes(&judgement, definition)?;
        let judgement =
            if joined.join_gap_s > definition.join_gap_s { judge(&joined) } else { judgement };
        let judgement = if silence::may_hide_a_stall(&judgement, &joined) {
            judgement.withheld(NotJudged::Silent)
        } else {
            judgement
        };
        Ok(Judged { judgement, definition: joined })
    }

    /// The whole segmentation.
    ///
    /// # Errors
    /// As [`segment`].
    pub(crate) fn segmented(self, options: &SegmentOptions) -> Result<Segmentation, PhasesError> {
        let Judged { judgement, definition } =
            self.judged(&options.definition, options.borrowed.as_ref())?;
        let Self { estimate, cleaning, core_after_pull, .. } = self;
        let mut segmentation = Segmentation {
            noise_sd_c: estimate.smoother.noise_sd(),
            stall_min_90: None,
            stall_delay_90: None,
            boundaries: Vec::new(),
            core_after_pull,
            bounds: estimate.bounds,
            cleaning,
            by_hand: false,
            pit_from_setpoint: false,
            judgement,
        };
        if options.draws > 0 && segmentation.judgement.not_judged.is_none() {
            // The draws join the same pushes.
            let options = SegmentOptions { definition, ..options.clone() };
            intervals::add(&mut segmentation, &estimate, &options)?;
        }
        Ok(segmentation)
    }

    /// The core on the grid of the definition, the sides of each instant of `cuts_ms` smoothed apart;
    /// `None` where none of them is among the readings.
    pub(crate) fn core_apart(&self, cuts_ms: &[i64]) -> Option<Vec<f64>> {
        let at_ms = &self.core.at_ms;
        let (first, last) = (*at_ms.first()?, *at_ms.last()?);
        let grid = &self.estimate.grid;
        let inside = cuts_ms.iter().filter(|cut_ms| (first + 1..=last).contains(*cut_ms));
        let mut cuts: Vec<f64> = inside.map(|cut_ms| grid.seconds(*cut_ms)).collect();
        if cuts.is_empty() {
            return None;
        }
        cuts.sort_by(f64::total_cmp);
        let times: Vec<f64> = at_ms.iter().map(|at_ms| grid.seconds(*at_ms)).collect();
        let steps = grid.times(grid.step_ms);
        let quantum = self.estimate.quantum;
        Some(apart::smoothed((&times, &self.core), quantum, &cuts, &steps, &self.core_c))
    }

    pub(crate) fn cleaning(&self) -> &CleaningReport {
        &self.cleaning
    }
}

fn check(definition: &PhaseDefinition) -> Result<(), PhasesError> {
    definition.problem().map_or(Ok(()), |problem| Err(PhasesError::Definition { problem }))
}

/// The curves of one cook as far as the readings tell them.
#[derive(Debug)]
struct Estimate {
    grid: Grid,
    bounds: CookBounds,
    smoother: Smoother,
    /// What core readings are rounded to, °C.
    quantum: f64,
    first_core_c: f64,
    /// Typical time between core readings, ms.
    interval_ms: f64,
    pit: OwnedSamples,
    core_gaps: Vec<(i64, i64)>,
    pit_gaps: Vec<(i64, i64)>,
}

impl Estimate {
    fn new(
        core: &OwnedSamples,
        pit: OwnedSamples,
        bounds: &CookBounds,
        cleaning: &CleaningReport,
        definition: &PhaseDefinition,
    ) -> Result<Self, PhasesError> {
        let grid = Grid::new(core, bounds, definition.grid_step_s);
        let times: Vec<f64> = core.at_ms.iter().map(|&at| grid.seconds(at)).collect();
        let quantum = stats::quantum(&core.temp_c);
        let gaps: Vec<f64> = core.at_ms.windows(2).map(|pair| (pair[1] - pair[0]) as f64).collect();
        let block_s = stats::independent_block(&times, &core.temp_c, quantum, BLOCK_S);
        let observations = stats::gather(&times, &core.temp_c, quantum, block_s);
        let smoother = Smoother::fit(
            &observations,
            &SmootherOptions {
                roughness_window: Some(ROUGHNESS_WINDOW_S),
                ..SmootherOptions::default()
            },
        )
        .map_err(|error| smoothing(&error))?;
        let too_long = |gaps: &[crate::clean::Gap]| {
            gaps.iter()
                .map(|gap| (gap.start_ms, gap.end_ms))
                .filter(|(start, end)| end - start > LONGEST_BRIDGED_MS)
                .collect()
        };
        Ok(Self {
            grid,
            bounds: *bounds,
            smoother,
            quantum,
            first_core_c: core.temp_c.first().copied().unwrap_or(f64::NAN),
            interval_ms: stats::describe::median(&gaps).unwrap_or(0.0),
            pit,
            core_gaps: too_long(&cleaning.core_gaps),
            pit_gaps: too_long(&cleaning.pit_gaps),
        })
    }

    /// Whether the probe went in when a stall may have been over.
    fn begins_late(&self) -> bool {
        let late = self.grid.start_ms - self.bounds.meat_on_ms > LATE_AFTER_MS;
        (late || !self.bounds.meat_on_known) && self.first_core_c >= LATE_CORE_C
    }

    /// The definition with a longer `join_gap_s` where a short push between two stalls rests on
    /// noise: the core's rate nowhere in it rises over the threshold by [`DOUBTFUL`] of the rate's
    /// own standard deviations. A push that is beyond doubt stays, and so does every longer one.
    fn joining_doubtful_pushes(
        &self,
        judgement: &Judgement,
        definition: &PhaseDefinition,
    ) -> Result<PhaseDefinition, PhasesError> {
        let stalls: Vec<(i64, i64)> = judgement
            .phases_of(cook::PhaseKind::Stall)
            .map(|span| (span.start_ms, span.end_ms))
            .collect();
        let Some(reference) = judgement.reference.filter(|_| stalls.len() > 1) else {
            return Ok(*definition);
        };
        let heating = &judgement.heating;
        let threshold = definition.stall_fraction * reference.k_per_h;
        let (mut doubtful_ms, mut certain_ms) = (0, i64::MAX);
        for pair in stalls.windows(2) {
            let (from, until) = (pair[0].1, pair[1].0);
            let inside = (0..heating.len())
                .filter(|&i| heating.decidable[i] && (from..until).contains(&heating.at_ms(i)));
            let fastest = inside.max_by(|&a, &b| heating.k_per_h[a].total_cmp(&heating.k_per_h[b]));
            let Some(fastest) = fastest else { continue };
            let at = self.grid.seconds(heating.at_ms(fastest));
            let point = self.smoother.at(&[at]).map_err(|error| smoothing(&error))?[0];
            let gap = heating.lagged_pit_c[fastest] - heating.core_c[fastest];
            let above = (heating.k_per_h[fastest] - threshold) * gap / 3600.0;
            if until - from <= LONGEST_DOUBTFUL_MS && above < DOUBTFUL * point.slope_variance.sqrt()
            {
                doubtful_ms = doubtful_ms.max(until - from);
            } else {
                certain_ms = certain_ms.min(until - from);
            }
        }
        let join_ms = doubtful_ms.min(certain_ms.saturating_sub(heating.step_ms));
        let join_gap_s = definition.join_gap_s.max(join_ms as f64 / 1000.0);
        Ok(PhaseDefinition { join_gap_s, ..*definition })
    }

    /// How far the grain of the readings alone leaves a boundary open, ms: a probe's own lag,
    /// half the time between two readings, and the time that a core at the threshold takes for [`GRAIN`] of the step or
    /// noise of a reading. Posterior draws follow the smoother's idea of how curves bend, and are too
    /// sure of themselves where that idea is wrong by less than the readings can show.
    fn grain_ms(&self, judgement: &Judgement, at_ms: i64, definition: &PhaseDefinition) -> i64 {
        let heating = &judgement.heating;
        let (Some(reference), Some(index)) = (judgement.reference, heating.index_at(at_ms)) else {
            return 0;
        };
        let gap =
            (heating.lagged_pit_c[index] - heating.core_c[index]).max(definition.minimum_gap_c);
        let rate_c_per_ms = definition.stall_fraction * reference.k_per_h * gap / 3.6e6;
        let noise = self.smoother.noise_sd();
        let step_c = (self.quantum * self.quantum + 12.0 * noise * noise).sqrt();
        // Many readings a minute average their noise away.
        let averaged = (self.interval_ms / (1000.0 * BLOCK_S)).clamp(0.0, 1.0).sqrt();
        (PROBE_LAG_MS + 0.5 * self.interval_ms + GRAIN * averaged * step_c / rate_c_per_ms) as i64
    }

    /// The estimated core and the pit on a grid of `step_ms`, °C; long gaps hidden.
    fn curves(&self, step_ms: i64) -> Result<(Vec<f64>, Vec<f64>), PhasesError> {
        let mut core_c = self
            .smoother
            .values_at(&self.grid.times(step_ms))
            .map_err(|error| smoothing(&error))?;
        let mut pit_c = self.grid.pit(step_ms, self.pit.view());
        self.hide_gaps(step_ms, &mut core_c, &mut pit_c);
        Ok((core_c, pit_c))
    }

    fn hide_gaps(&self, step_ms: i64, core_c: &mut [f64], pit_c: &mut [f64]) {
        self.grid.hide(step_ms, core_c, &self.core_gaps);
        self.grid.hide(step_ms, pit_c, &self.pit_gaps);
    }

    /// Whether some of the curves is hidden.
    fn has_hidden(&self) -> bool {
        !(self.core_gaps.is_empty() && self.pit_gaps.is_empty())
    }

    /// What the definition says of curves on a grid of `step_ms`.
    fn judge(
        &self,
        step_ms: i64,
        core_c: &[f64],
        pit_c: &[f64],
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
    ) -> Judgement {
        self.judge_turning(step_ms, (core_c, pit_c), definition, borrowed, MIDDLE)
    }

    /// The same where a stall that begins or ends in a long gap does so at this share of it.
    fn judge_turning(
        &self,
        step_ms: i64,
        (core_c, pit_c): (&[f64], &[f64]),
        definition: &PhaseDefinition,
        borrowed: Option<&BorrowedReference>,
        turn: f64,
    ) -> Judgement {
        let curves = GridCurves { start_ms: self.grid.start_ms, step_ms, core_c, pit_c };
        judge_turning(&curves, &self.bounds, definition, borrowed, turn)
    }
}

fn smoothing(error: &stats::StatsError) -> PhasesError {
    PhasesError::Smoothing { what: "core", problem: error.to_string() }
}

fn after_pull(core: Samples<'_>, bounds: &CookBounds) -> OwnedSamples {
    let mut report = CleaningReport::default();
    if bounds.pull_known {
        clean_core(core.within(bounds.pull_ms, bounds.end_ms + 1), &[], LONGEST_GAP_MS, &mut report)
    } else {
        OwnedSamples::default()
    }
}

#[cfg(test)]
mod tests;
