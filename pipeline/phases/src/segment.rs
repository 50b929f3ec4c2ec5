//! A measured log to phases with intervals.
//!
//! Cleaning, then the state-space smoother of `stats` onto the grid of the definition, then
//! [`judge`]. Intervals come from curves drawn from what the readings leave possible
//! ([`stats::Smoother::draw`]), each judged anew: they hold the noise of the core and the
//! spread of a borrowed reference, not an offset or drift of the probe.

use crate::borrow::BorrowedReference;
use crate::clean::{CleaningReport, Gap, clean_core, clean_pit};
use crate::definition::{CookBounds, Judgement, judge};
use crate::error::PhasesError;
use crate::heating::GridCurves;
use crate::samples::{OwnedSamples, Samples};
use cook::{PhaseDefinition, PhaseSpan};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;
use stats::{Smoother, SmootherOptions};

/// Readings further apart than this are not judged across, ms (20 min): the slope window of
/// the definition then finds nothing to lean on in the middle.
pub const LONGEST_GAP_MS: i64 = 1_200_000;
/// A first reading at most this long after meat-on is a slow logger, not a late log, ms (10 min).
pub const LATE_AFTER_MS: i64 = 600_000;
/// Fewest core readings that are smoothed.
const FEWEST_READINGS: usize = 10;
/// Drawn curves are judged on a grid this coarse, ms: a minute moves no boundary that noise
/// does not move further, and costs a sixth.
const DRAW_STEP_MS: i64 = 60_000;
/// Draws of which a boundary's interval is formed at least, as a share of all.
const LEAST_SHARE: f64 = 0.5;

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
    /// Scale of the core's noise, °C: Student's t with 4 degrees of freedom.
    pub noise_sd_c: f64,
    /// 90 % interval of the stall length, min; the upper end is open where the log ends in a
    /// stall. `None` without draws or where no stall was judged.
    pub stall_min_90: Option<Interval>,
    /// 90 % intervals of start and end of each phase, parallel to the judgement's phases;
    /// empty without draws. Marks and the log's end have open intervals.
    pub boundaries: Vec<(BoundaryInterval, BoundaryInterval)>,
    /// The core's cleaned readings from the pull on.
    pub core_after_pull: OwnedSamples,
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
    if let Some(problem) = options.definition.problem() {
        return Err(PhasesError::Definition { problem });
    }
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

    let (core_gaps, pit_gaps) = (cleaning.core_gaps.clone(), cleaning.pit_gaps.clone());
    let grid = Grid::new(&core, bounds, options.definition.grid_step_s);
    let seconds = |at_ms: i64| (at_ms - bounds.meat_on_ms) as f64 / 1000.0;
    let times: Vec<f64> = core.at_ms.iter().map(|&at| seconds(at)).collect();
    let minimum_noise_sd = quantum(&core.temp_c) / 12.0_f64.sqrt();
    let smoother = Smoother::fit(
        &times,
        &core.temp_c,
        &SmootherOptions { minimum_noise_sd, ..SmootherOptions::default() },
    )
    .map_err(|error| PhasesError::Smoothing { what: "core", problem: error.to_string() })?;

    let judged = |step_ms: i64, core_c: &[f64], borrowed: Option<&BorrowedReference>| {
        let pit_c = grid.pit(step_ms, &pit, &pit_gaps);
        let on_grid = GridCurves { start_ms: grid.start_ms, step_ms, core_c, pit_c: &pit_c };
        judge(&on_grid, bounds, &options.definition, borrowed)
    };
    let at = |step_ms: i64| -> Vec<f64> { grid.instants(step_ms).map(seconds).collect() };
    let smoothing = |error: stats::StatsError| PhasesError::Smoothing {
        what: "core",
        problem: error.to_string(),
    };
    let fine: Vec<f64> =
        smoother.at(&at(grid.step_ms)).map_err(smoothing)?.iter().map(|p| p.value).collect();
    let fine = grid.without_gaps(grid.step_ms, fine, &core_gaps);
    let judgement = judged(grid.step_ms, &fine, options.borrowed.as_ref());

    let mut segmentation = Segmentation {
        noise_sd_c: smoother.noise_sd(),
        stall_min_90: None,
        boundaries: Vec::new(),
        core_after_pull: after_pull(curves.core, bounds),
        bounds: *bounds,
        cleaning,
        judgement,
    };
    if options.draws == 0 || segmentation.judgement.not_judged.is_some() {
        return Ok(segmentation);
    }
    let coarse_step = grid.step_ms.max(DRAW_STEP_MS);
    let coarse_at = at(coarse_step);
    let middle: Vec<f64> =
        smoother.at(&coarse_at).map_err(smoothing)?.iter().map(|p| p.value).collect();
    let middle = judged(
        coarse_step,
        &grid.without_gaps(coarse_step, middle, &core_gaps),
        options.borrowed.as_ref(),
    );
    let mut rng = ChaCha8Rng::seed_from_u64(options.seed);
    let mut drawn = Vec::with_capacity(options.draws as usize);
    for _ in 0..options.draws {
        let curve = smoother.draw(&coarse_at, || rng.sample(StandardNormal)).map_err(smoothing)?;
        let borrowed = options.borrowed.map(|other| BorrowedReference {
            median_per_h: other.median_per_h
                * (other.spread_log * rng.sample::<f64, _>(StandardNormal)).exp(),
            ..other
        });
        let curve = grid.without_gaps(coarse_step, curve, &core_gaps);
        drawn.push(judged(coarse_step, &curve, borrowed.as_ref()));
    }
    let past_stalls = segmentation.judgement.first_reaches_ms(options.definition.stall_until_c);
    let all_seen = bounds.pull_known || past_stalls.is_some();
    segmentation.stall_min_90 = stall_interval(&segmentation.judgement, &middle, &drawn, all_seen);
    segmentation.boundaries =
        boundary_intervals(&segmentation.judgement.phases, &middle.phases, &drawn, bounds);
    Ok(segmentation)
}

/// The grid of one cook, ms: from meat-on (or a late log's first reading) to the pull.
#[allow(clippy::struct_field_names, reason = "the unit belongs in the name")]
struct Grid {
    start_ms: i64,
    end_ms: i64,
    step_ms: i64,
}

impl Grid {
    fn new(core: &OwnedSamples, bounds: &CookBounds, step_s: f64) -> Self {
        let first = core.at_ms.first().copied().unwrap_or(bounds.meat_on_ms);
        let late = first - bounds.meat_on_ms > LATE_AFTER_MS;
        let start_ms = if late { first } else { bounds.meat_on_ms };
        let step_ms = ((step_s * 1000.0).round() as i64).max(1);
        Self { start_ms, end_ms: bounds.pull_ms, step_ms }
    }

    fn instants(&self, step_ms: i64) -> impl Iterator<Item = i64> {
        (self.start_ms..self.end_ms).step_by(usize::try_from(step_ms).unwrap_or(1))
    }

    /// The pit on the grid, on the straight line between readings; not a number in gaps and
    /// where there is no pit at all.
    fn pit(&self, step_ms: i64, pit: &OwnedSamples, gaps: &[Gap]) -> Vec<f64> {
        let mut after = 0;
        let values = self
            .instants(step_ms)
            .map(|at| {
                while after < pit.at_ms.len() && pit.at_ms[after] < at {
                    after += 1;
                }
                let near = Samples {
                    at_ms: &pit.at_ms[after.saturating_sub(1)..(after + 1).min(pit.at_ms.len())],
                    temp_c: &pit.temp_c[after.saturating_sub(1)..(after + 1).min(pit.at_ms.len())],
                };
                near.at(at).unwrap_or(f64::NAN)
            })
            .collect();
        self.without_gaps(step_ms, values, gaps)
    }

    /// Values with those inside gaps made "not observed".
    fn without_gaps(&self, step_ms: i64, mut values: Vec<f64>, gaps: &[Gap]) -> Vec<f64> {
        for gap in gaps {
            for (value, at) in values.iter_mut().zip(self.instants(step_ms)) {
                if at > gap.start_ms && at < gap.end_ms {
                    *value = f64::NAN;
                }
            }
        }
        values
    }
}

/// The smallest step between readings that differ: what the logger rounds to, °C.
fn quantum(values: &[f64]) -> f64 {
    // Below this a step is the rounding of 32-bit storage, not the logger's.
    const STORAGE_C: f64 = 2e-5;
    values
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .filter(|step| *step > STORAGE_C)
        .fold(f64::INFINITY, f64::min)
        .min(2.0)
}

fn after_pull(core: Samples<'_>, bounds: &CookBounds) -> OwnedSamples {
    let mut report = CleaningReport::default();
    if bounds.pull_known {
        clean_core(core.within(bounds.pull_ms, bounds.end_ms + 1), &[], LONGEST_GAP_MS, &mut report)
    } else {
        OwnedSamples::default()
    }
}

/// Ends of the central 90 % of values.
fn central_90(values: &[f64]) -> Option<(f64, f64)> {
    let ends = stats::describe::quantiles(values, &[0.05, 0.95]).ok()?;
    Some((ends[0], ends[1]))
}

/// Draws are compared with the middle curve on the same coarse grid, and the differences laid
/// on the fine answer, so that the coarse grid itself moves nothing. The interval is that of
/// the whole cook's stall: where the log ends before the pull with a core that could still
/// stall, the upper end is open.
fn stall_interval(
    fine: &Judgement,
    middle: &Judgement,
    drawn: &[Judgement],
    all_seen: bool,
) -> Option<Interval> {
    let (fine_min, middle_min) = (fine.stall_min?, middle.stall_min?);
    let (lo, hi) = central_90(&drawn.iter().filter_map(|draw| draw.stall_min).collect::<Vec<_>>())?;
    Some(Interval {
        lo: Some((fine_min + lo - middle_min).clamp(0.0, fine_min)),
        hi: all_seen.then(|| (fine_min + hi - middle_min).max(fine_min)),
    })
}

fn boundary_intervals(
    fine: &[PhaseSpan],
    middle: &[PhaseSpan],
    drawn: &[Judgement],
    bounds: &CookBounds,
) -> Vec<(BoundaryInterval, BoundaryInterval)> {
    let kinds = |phases: &[PhaseSpan]| phases.iter().map(|span| span.kind).collect::<Vec<_>>();
    let wanted = kinds(fine);
    let alike: Vec<&[PhaseSpan]> = drawn
        .iter()
        .map(|draw| draw.phases.as_slice())
        .filter(|phases| kinds(phases) == wanted)
        .collect();
    let enough = kinds(middle) == wanted
        && alike.len() as f64 >= LEAST_SHARE * drawn.len() as f64
        && !alike.is_empty();
    let of = |index: usize, pick: fn(&PhaseSpan) -> i64| {
        let at = pick(&fine[index]);
        let stated = [bounds.meat_on_ms, bounds.pull_ms, bounds.end_ms].contains(&at);
        if !enough || stated {
            return BoundaryInterval::default();
        }
        let origin = pick(&middle[index]);
        let moved: Vec<f64> =
            alike.iter().map(|phases| (pick(&phases[index]) - origin) as f64).collect();
        central_90(&moved).map_or_else(BoundaryInterval::default, |(lo, hi)| BoundaryInterval {
            lo_ms: Some(at + lo.min(0.0) as i64),
            hi_ms: Some(at + hi.max(0.0) as i64),
        })
    };
    (0..fine.len()).map(|i| (of(i, |span| span.start_ms), of(i, |span| span.end_ms))).collect()
}

#[cfg(test)]
mod tests;
