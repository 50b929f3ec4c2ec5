//! The phase definition: reference, stalls and phases from curves on a regular grid.
//!
//! The definition itself is stated in words at [`cook::PhaseDefinition`]. [`judge`] is a
//! pure function and costs O(n) in the samples.

use crate::borrow::BorrowedReference;
use crate::heating::{GridCurves, HeatingCurves};
use cook::{PhaseDefinition, PhaseKind, PhaseSpan};
use std::fmt;

/// Half of a stretch without readings.
pub(crate) const MIDDLE: f64 = 0.5;

/// Where a cook begins and ends, ms UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CookBounds {
    /// Meat on; the log's first reading where the meat had been on before and nobody says since when.
    pub meat_on_ms: i64,
    /// False in that case: what counts from meat-on is a lower bound.
    pub meat_on_known: bool,
    /// Pull, or the log's end where the log ends first.
    pub pull_ms: i64,
    /// Slice, or the log's end; before that where the log falls silent for hours or a next fire comes up.
    pub end_ms: i64,
    /// False where the log ends before the pull.
    pub pull_known: bool,
    /// False where `end_ms` is not the slice.
    pub slice_known: bool,
}

/// The heating coefficient that a cook's stalls are judged against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Its value, 1/h.
    pub k_per_h: f64,
    /// The other cooks it was borrowed from; `None` where it is the cook's own.
    pub borrowed: Option<BorrowedReference>,
}

/// Why no stall was judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NotJudged {
    /// No core sample lies between meat-on and pull.
    NoCore,
    /// The log has no pit channel, or no pit sample between meat-on and pull.
    NoPit,
    /// The log begins after meat-on, with the core too warm for a reference of its own.
    LateLog,
    /// The probe went in when a stall may have been over.
    LateCore,
    /// A stretch without readings may hide a stall.
    Silent,
    /// The core was too warm at meat-on for a reference of its own.
    WarmStart,
    /// No sample of the reference span lies far enough below the lagged pit.
    NoReferenceSpan,
    /// The reference came out at or below zero.
    ReferenceNotPositive,
}

impl NotJudged {
    /// Every reason.
    pub const ALL: [Self; 8] = [
        Self::NoCore,
        Self::NoPit,
        Self::LateLog,
        Self::LateCore,
        Self::Silent,
        Self::WarmStart,
        Self::NoReferenceSpan,
        Self::ReferenceNotPositive,
    ];

    /// A short stable word for files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NoCore => "no-core",
            Self::NoPit => "no-pit",
            Self::LateLog => "late-log",
            Self::LateCore => "late-core",
            Self::Silent => "silent",
            Self::WarmStart => "warm-start",
            Self::NoReferenceSpan => "no-reference-span",
            Self::ReferenceNotPositive => "reference-not-positive",
        }
    }

    /// A sentence for people.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::NoCore => "No core reading lies between meat-on and pull.",
            Self::NoPit => {
                "There is no pit reading between meat-on and pull, so the heat on offer is unknown."
            }
            Self::LateLog => {
                "The log begins after meat-on with a core already too warm for a reference of its own, and there are too few other cooks of this cut and pit to borrow one from."
            }
            Self::LateCore => {
                "The probe went in at a core of 62 °C (144 °F) or more, when a stall may have been under way or over. Core readings by hand before it (`core` events) would tell."
            }
            Self::Silent => {
                "A stretch without readings lies where meat stalls, and the core rose so little over it that a stall may be hidden there."
            }
            Self::WarmStart => {
                "The core was too warm at meat-on for a reference of its own, and there are too few other cooks of this cut and pit to borrow one from."
            }
            Self::NoReferenceSpan => {
                "The core never passed through the reference span with the pit well above it, so there is no reference to judge a stall against."
            }
            Self::ReferenceNotPositive => {
                "The core did not warm over the reference span, so there is no reference to judge a stall against."
            }
        }
    }
}

impl fmt::Display for NotJudged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// What the definition says of one cook.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What the stalls were judged against; `None` where they were not judged.
    pub reference: Option<Reference>,
    /// Why no stall was judged; `None` where it was.
    pub not_judged: Option<NotJudged>,
    /// The heating curves over the samples in `[meat_on, pull)`.
    pub heating: HeatingCurves,
    /// The phases: they cover `[meat_on, end)` without gap or overlap.
    pub phases: Vec<PhaseSpan>,
    /// Number of stalls; `None` where not judged.
    pub stalls: Option<usize>,
    /// Minutes in stalls inside the log; `None` where not judged.
    pub stall_min: Option<f64>,
    /// Whether the log ends inside a stall, so that `stall_min` is a lower bound.
    pub stall_min_censored: bool,
}

impl Judgement {
    /// The phases of one kind, in order.
    pub fn phases_of(
        &self,
        kind: PhaseKind,
    ) -> impl DoubleEndedIterator<Item = &PhaseSpan> + Clone {
        self.phases.iter().filter(move |span| span.kind == kind)
    }

    /// The same curves with the phases before the pull unknown. A probe that went in too late has no reference
    /// either.
    pub(crate) fn withheld(mut self, why: NotJudged) -> Self {
        let rest = self.phases.iter().filter(|span| span.kind == PhaseKind::Rest).copied();
        let rest: Vec<PhaseSpan> = rest.collect();
        let before = self.phases.iter().filter(|span| span.kind != PhaseKind::Rest);
        let ends = before.clone().map(|span| span.end_ms).max();
        let unknown = before.map(|span| span.start_ms).min().zip(ends);
        let complete = self.phases.iter().all(|span| span.complete);
        self.phases = unknown
            .map(|(start_ms, end_ms)| PhaseSpan {
                kind: PhaseKind::Unknown,
                start_ms,
                end_ms,
                complete,
            })
            .into_iter()
            .chain(rest)
            .collect();
        self.heating.in_stall.fill(false);
        self.not_judged = Some(why);
        self.reference = self.reference.filter(|_| why != NotJudged::LateCore);
        (self.stalls, self.stall_min) = (None, None);
        self.stall_min_censored = false;
        self
    }

    /// Sum of the phases of one kind, min; `None` where stalls were not judged and the
    /// kind is one that needs them.
    pub fn minutes_of(&self, kind: PhaseKind) -> Option<f64> {
        let needs_stalls = matches!(kind, PhaseKind::Ramp | PhaseKind::Stall | PhaseKind::Push);
        if needs_stalls && self.not_judged.is_some() {
            return None;
        }
        Some(self.phases_of(kind).map(PhaseSpan::minutes).sum())
    }

    /// The first instant in `[meat_on, pull)`, ms UTC, at which the core is at or above
    /// `temp_c`.
    pub fn first_reaches_ms(&self, temp_c: f64) -> Option<i64> {
        self.heating.first_reaches_ms(temp_c)
    }

    /// The core at `at_ms`, °C: the sample at or before it in `[meat_on, pull)`.
    pub fn core_at(&self, at_ms: i64) -> Option<f64> {
        self.heating.index_at(at_ms).map(|index| self.heating.core_c[index])
    }
}

/// Judges one cook by the phase definition.
///
/// `curves` must cover the part of `[meat_on, pull)` that was logged, on a grid of
/// `step_ms` (the definition is stated for `definition.grid_step_s`); samples outside are
/// not used. A log that begins after meat-on is `unknown` until its first sample.
/// `borrowed` is used only where the cook has no reference of its own.
pub fn judge(
    curves: &GridCurves,
    bounds: &CookBounds,
    definition: &PhaseDefinition,
    borrowed: Option<&BorrowedReference>,
) -> Judgement {
    judge_turning(curves, bounds, definition, borrowed, MIDDLE)
}

/// [`judge`] where a stall that begins or ends in a stretch without readings does so at `turn`, a
/// share of the stretch. Nothing tells where: to hold the last state to the stretch's end, as for
/// a sample that cannot be decided, would give a logger's silence to the stall.
pub(crate) fn judge_turning(
    curves: &GridCurves,
    bounds: &CookBounds,
    definition: &PhaseDefinition,
    borrowed: Option<&BorrowedReference>,
    turn: f64,
) -> Judgement {
    let step = curves.step_ms.max(1);
    let count = curves.core_c.len().min(curves.pit_c.len());
    let first_at_or_after = |at_ms: i64| {
        let samples = (at_ms - curves.start_ms + step - 1).div_euclid(step);
        usize::try_from(samples).unwrap_or(0).min(count)
    };
    let begin = first_at_or_after(bounds.meat_on_ms);
    let end = first_at_or_after(bounds.pull_ms).max(begin);
    let heating = HeatingCurves::compute(
        curves.start_ms + begin as i64 * step,
        step,
        &curves.core_c[begin..end],
        &curves.pit_c[begin..end],
        definition,
    );
    judge_heating(heating, bounds, definition, borrowed, turn)
}

/// The part of [`judge`] after the heating curves.
fn judge_heating(
    mut heating: HeatingCurves,
    bounds: &CookBounds,
    definition: &PhaseDefinition,
    borrowed: Option<&BorrowedReference>,
    turn: f64,
) -> Judgement {
    let own = own_reference(&heating, bounds, definition);
    let reference = match (own, borrowed) {
        (Ok(k_per_h), _) => Ok(Reference { k_per_h, borrowed: None }),
        (Err(NotJudged::NoCore | NotJudged::NoPit), _) | (Err(_), None) => {
            own.map(|k_per_h| Reference { k_per_h, borrowed: None })
        }
        (Err(_), Some(other)) => {
            Ok(Reference { k_per_h: other.median_per_h, borrowed: Some(*other) })
        }
    };
    let runs = reference
        .as_ref()
        .map_or_else(|_| Vec::new(), |found| stall_runs(&heating, found.k_per_h, definition, turn));
    for &(start, end) in &runs {
        heating.in_stall[start..end].fill(true);
    }
    let phases = spans(&heating, bounds, &runs, reference.is_ok());
    let judged = reference.is_ok();
    let stall_ms: i64 = phases
        .iter()
        .filter(|span| span.kind == PhaseKind::Stall)
        .map(|span| span.end_ms - span.start_ms)
        .sum();
    let last_run_reaches_end = runs.last().is_some_and(|run| run.1 == heating.len());
    Judgement {
        reference: reference.ok(),
        not_judged: reference.err(),
        stalls: judged.then_some(runs.len()),
        stall_min: judged.then_some(stall_ms as f64 / 60_000.0),
        stall_min_censored: judged && last_run_reaches_end && !bounds.pull_known,
        heating,
        phases,
    }
}

/// The cook's own reference (step 4 of the definition), or why it has none.
fn own_reference(
    heating: &HeatingCurves,
    bounds: &CookBounds,
    definition: &PhaseDefinition,
) -> Result<f64, NotJudged> {
    let Some(&first) = heating.core_c.first().filter(|core| core.is_finite()) else {
        return Err(NotJudged::NoCore);
    };
    if heating.pit_c.first().is_none_or(|pit| !pit.is_finite()) {
        return Err(NotJudged::NoPit);
    }
    if first >= definition.reference_first_sample_below_c {
        let late = heating.start_ms - bounds.meat_on_ms >= heating.step_ms;
        return Err(if late { NotJudged::LateLog } else { NotJudged::WarmStart });
    }
    let from = heating.first_index_at(definition.reference_from_c);
    let Some(from) = from else { return Err(NotJudged::NoReferenceSpan) };
    let to = heating.first_index_at(definition.reference_to_c).unwrap_or(heating.len());
    let mut span: Vec<f64> = (from..to.max(from))
        .filter(|&index| {
            heating.observed[index]
                && heating.k_per_h[index].is_finite()
                && heating.lagged_pit_c[index] - heating.core_c[index] > definition.minimum_gap_c
        })
        .map(|index| heating.k_per_h[index])
        .collect();
    let k_ref = quantile_in_place(&mut span, definition.reference_quantile)
        .ok_or(NotJudged::NoReferenceSpan)?;
    if k_ref > 0.0 { Ok(k_ref) } else { Err(NotJudged::ReferenceNotPositive) }
}

/// Quantile by linear interpolation between order statistics at rank (n − 1)·q (definition
/// 7 of Hyndman and Fan, "Sample quantiles in statistical packages", The American
/// Statistician 50, 1996), by selection in O(n). `None` for no value.
fn quantile_in_place(values: &mut [f64], q: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let rank = (values.len() - 1) as f64 * q;
    let low = (rank.floor() as usize).min(values.len() - 1);
    let (_, at_low, above) = values.select_nth_unstable_by(low, f64::total_cmp);
    let at_low = *at_low;
    let next = above.iter().copied().min_by(f64::total_cmp);
    Some(next.map_or(at_low, |next| at_low + (rank - low as f64) * (next - at_low)))
}

/// Stalls as half-open sample ranges (steps 5 to 8 of the definition).
fn stall_runs(
    heating: &HeatingCurves,
    k_ref: f64,
    definition: &PhaseDefinition,
    turn: f64,
) -> Vec<(usize, usize)> {
    let Some(from) = heating.first_index_at(definition.stall_from_c) else { return Vec::new() };
    let hot = heating.first_index_at(definition.stall_until_c);
    let until = hot.unwrap_or(heating.len());
    let threshold = definition.stall_fraction * k_ref;
    let join = definition.join_gap_s * 1000.0 / heating.step_ms as f64;
    let fewest = definition.minimum_stall_s * 1000.0 / heating.step_ms as f64;
    // Held samples before `from` keep the state of a decidable one before `from`, and that
    // is "not in stall" by definition: the search begins at `from`.
    let mut in_stall = false;
    // Where in the stretch without readings that is passed the state becomes that of its far side.
    let mut turns: Option<(usize, bool)> = None;
    let mut joined: Vec<(usize, usize, usize)> = Vec::new();
    for index in from..until {
        if heating.decidable[index] {
            in_stall = heating.k_per_h[index] < threshold;
            turns = None;
        } else if !heating.observed[index] && turns.is_none() {
            let silent = heating.observed[index..].iter().take_while(|seen| !**seen).count();
            let after = (index + silent..until).find(|&next| heating.decidable[next]);
            let state = after.map(|next| heating.k_per_h[next] < threshold);
            turns = state
                .or(hot.map(|_| false))
                .map(|state| (index + (turn * silent as f64) as usize, state));
        }
        if let Some((at, state)) = turns
            && index >= at
        {
            in_stall = state;
        }
        if !in_stall {
            continue;
        }
        match joined.last_mut() {
            Some(run) if (index - run.1) as f64 <= join => {
                run.1 = index + 1;
                run.2 += 1;
            }
            _ => joined.push((index, index + 1, 1)),
        }
    }
    joined
        .into_iter()
        .filter(|&(_, _, samples)| samples as f64 >= fewest)
        .map(|(start, end, _)| (start, end))
        .collect()
}

/// Phases that cover `[meat_on, end)`.
fn spans(
    heating: &HeatingCurves,
    bounds: &CookBounds,
    runs: &[(usize, usize)],
    judged: bool,
) -> Vec<PhaseSpan> {
    let pull_ms = bounds.pull_ms.max(bounds.meat_on_ms);
    let end_ms = bounds.end_ms.max(pull_ms);
    let mut spans = Vec::new();
    let mut push = |kind, start_ms: i64, span_end_ms: i64, complete| {
        if span_end_ms > start_ms {
            spans.push(PhaseSpan { kind, start_ms, end_ms: span_end_ms, complete });
        }
    };
    // Not complete is the phase that the log's end cuts off.
    let whole_to = |at_ms: i64| at_ms < pull_ms || bounds.pull_known;
    let mut cursor = bounds.meat_on_ms;
    if judged && !heating.is_empty() {
        if heating.start_ms - bounds.meat_on_ms >= heating.step_ms {
            push(PhaseKind::Unknown, cursor, heating.start_ms, true);
            cursor = heating.start_ms;
        }
        let mut between = PhaseKind::Ramp;
        for &(start, end) in runs {
            let start_ms = heating.at_ms(start).min(pull_ms);
            let stall_end_ms =
                if end == heating.len() { pull_ms } else { heating.at_ms(end).min(pull_ms) };
            push(between, cursor, start_ms, true);
            push(PhaseKind::Stall, start_ms, stall_end_ms, whole_to(stall_end_ms));
            cursor = stall_end_ms;
            between = PhaseKind::Push;
        }
        push(between, cursor, pull_ms, whole_to(pull_ms));
    } else {
        push(PhaseKind::Unknown, cursor, pull_ms, whole_to(pull_ms));
    }
    let after = if bounds.pull_known { PhaseKind::Rest } else { PhaseKind::Unknown };
    push(after, pull_ms, end_ms, bounds.slice_known);
    spans
}
