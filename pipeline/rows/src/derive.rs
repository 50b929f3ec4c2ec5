//! From a cook's readings to all its rows, cleaned and smoothed once.

use crate::cleaning::{cleaning_of, cleaning_unsegmented};
use crate::cleaning_rows::{CookCleaning, channels_to_table, flags_to_table, warnings_to_table};
use crate::cook_input::{CookInput, Rules};
use crate::measured::{Measured, MeasuredTables, measured};
use crate::phase_rows::{CookPhases, NOT_SEGMENTED, PhaseRow, phases_to_table};
use crate::unsegmented::{in_words, unsegmented};
use columns::Table;
use cook::{CookReadings, PhaseKind};
use phases::{
    BorrowedReference, Interval, NotJudged, PhasesError, PreparedCook, SegmentedCook,
    moved_judgements, prepare_cook,
};

/// What is wanted of a cook.
#[derive(Debug, Clone, Copy)]
pub enum Want<'a> {
    /// Its phases and what cleaning made of its readings.
    Phases,
    /// Its measures, history and moved constants beside these phases, which are there already: the
    /// interval of the stall's length is theirs, and nothing is drawn again.
    Measures(&'a CookPhases),
    /// All.
    All,
}

/// The rows of one cook.
#[derive(Debug)]
pub struct Derived {
    /// Phases and cleaning, where they were wanted.
    pub phases: Option<(CookPhases, CookCleaning)>,
    /// The rest, where it was wanted.
    pub measured: Option<Measured>,
}

impl Derived {
    /// The rows as tables, by the name that each has in a store.
    pub fn tables(self) -> Vec<(&'static str, Table)> {
        let mut tables = Vec::new();
        if let Some((phases, cleaning)) = self.phases {
            let cleaning = [cleaning];
            tables.push(("phases", phases_to_table(&[phases])));
            tables.push(("flags", flags_to_table(&cleaning)));
            tables.push(("channels", channels_to_table(&cleaning)));
            tables.push(("warnings", warnings_to_table(&cleaning)));
        }
        if let Some(measured) = self.measured {
            let of = MeasuredTables::of(vec![measured]);
            tables.push(("measures", of.measures));
            tables.push(("history", of.history));
            tables.push(("degrees", of.degrees));
            tables.push(("moved", of.moved));
            tables.push(("moved_history", of.moved_history));
        }
        tables
    }
}

/// A cook cleaned and smoothed, that may have to wait for what others lend.
#[derive(Debug)]
pub struct Started<'a> {
    cook: CookInput<'a>,
    rules: &'a Rules,
    readings: CookReadings,
    prepared: Result<PreparedCook, PhasesError>,
    own_reference: Option<f64>,
    asks: bool,
}

impl<'a> Started<'a> {
    /// Cleans and smooths a cook and looks whether it has a reference of its own.
    pub fn new(cook: CookInput<'a>, readings: CookReadings, rules: &'a Rules) -> Self {
        let prepared = prepare_cook(&readings, cook.card, cook.events, &rules.definition);
        let judged = prepared.as_ref().ok().and_then(|p| p.judged(&rules.definition, None).ok());
        let by_hand = prepared.as_ref().is_ok_and(PreparedCook::is_by_hand);
        let own_reference = judged
            .as_ref()
            .filter(|_| !by_hand)
            .and_then(|judgement| Some(judgement.reference?.k_per_h));
        let reason = judged.and_then(|judgement| judgement.not_judged);
        let asks = !by_hand
            && reason.is_some_and(|r| {
                !matches!(
                    r,
                    NotJudged::NoCore | NotJudged::NoPit | NotJudged::LateCore | NotJudged::Silent
                )
            });
        Self { cook, rules, readings, prepared, own_reference, asks }
    }

    /// The cook's own reference heating coefficient, 1/h, which it may lend.
    pub fn own_reference(&self) -> Option<f64> {
        self.own_reference
    }

    /// Whether a reference of other cooks could help: the cook has core and pit, but no reference of
    /// its own.
    pub fn asks_for_reference(&self) -> bool {
        self.asks
    }

    /// The cook's rows. `borrowed` is what others lend a cook that asks; one that does not borrows
    /// nothing.
    pub fn derive(self, borrowed: Option<BorrowedReference>, want: Want<'_>) -> Derived {
        let Self { cook, rules, readings, prepared, asks, .. } = self;
        let borrowed = borrowed.filter(|_| asks);
        let computed_from = cook.phases_from(rules, borrowed.as_ref());
        let phases_from = match want {
            Want::Measures(phases) => &phases.computed_from,
            Want::Phases | Want::All => &computed_from,
        };
        let measured_from = cook.measured_from(phases_from, rules);
        let wants_phases = !matches!(want, Want::Measures(_));
        let wants_measures = !matches!(want, Want::Phases);
        let draws = if wants_phases { rules.interval_draws } else { 0 };
        let options = rules.options(&cook.card.cook, draws, borrowed);
        let segmented = prepared.and_then(|prepared| {
            let moved = if wants_measures {
                moved_judgements(&prepared, &rules.definition, borrowed.as_ref())
            } else {
                Vec::new()
            };
            let apart = wants_measures.then(|| prepared.core_apart(cook.events)).flatten();
            Ok((prepared.segmented(&options)?, moved, apart))
        });
        let (mut found, moved, apart) = match segmented {
            Ok(found) => found,
            Err(error) => {
                let phases = wants_phases.then(|| {
                    (
                        unsegmented(&cook, in_words(&error), computed_from.clone()),
                        cleaning_unsegmented(&readings, cook.card, computed_from),
                    )
                });
                let measured = wants_measures.then(|| {
                    Measured::without_segmentation(&cook, rules, NOT_SEGMENTED, measured_from)
                });
                return Derived { phases, measured };
            }
        };
        let phases = wants_phases.then(|| {
            (
                cook_phases(&cook, &found, computed_from.clone()),
                cleaning_of(&readings, cook.card, &found, computed_from),
            )
        });
        if let Want::Measures(phases) = want {
            let (lo, hi) = phases.stall_min_90;
            found.segmentation.stall_min_90 =
                (lo.is_some() || hi.is_some()).then_some(Interval { lo, hi });
        }
        let measured = wants_measures.then(|| {
            let curves = (found, apart);
            measured(&cook, rules, curves, moved, measured_from)
        });
        Derived { phases, measured }
    }
}

fn cook_phases(cook: &CookInput<'_>, found: &SegmentedCook, computed_from: String) -> CookPhases {
    let segmentation = &found.segmentation;
    let judgement = &segmentation.judgement;
    let curves = &judgement.heating;
    // A phase ends where the next begins: at the pull the last sample before it speaks.
    let core_at = |at_ms: i64| {
        let last = curves.at_ms(curves.len().saturating_sub(1));
        let inside = at_ms <= segmentation.bounds.pull_ms;
        inside.then(|| judgement.core_at(at_ms.min(last))).flatten()
    };
    let rows = judgement.phases.iter().enumerate().map(|(index, span)| {
        let (start, end) = segmentation.boundaries.get(index).copied().unwrap_or_default();
        PhaseRow {
            span: *span,
            start_core_c: core_at(span.start_ms),
            end_core_c: core_at(span.end_ms).or_else(|| {
                let rest = segmentation.core_after_pull.view();
                (span.kind == PhaseKind::Rest).then(|| rest.at(span.end_ms)).flatten()
            }),
            start_90_ms: (start.lo_ms, start.hi_ms),
            end_90_ms: (end.lo_ms, end.hi_ms),
        }
    });
    let cleaning = &segmentation.cleaning;
    let interval = segmentation.stall_min_90.unwrap_or_default();
    CookPhases {
        cook: cook.card.cook.clone(),
        meat_on_ms: found.marks.meat_on.at_ms,
        meat_on_from: found.marks.meat_on.source.as_str().into(),
        pull_ms: segmentation.bounds.pull_known.then_some(segmentation.bounds.pull_ms),
        pull_from: found.marks.pull.source.as_str().into(),
        lead_channel: Some(found.lead.name.clone()),
        lead_because: Some(found.lead.because.clone()),
        k_ref_per_h: judgement.reference.map(|reference| reference.k_per_h),
        k_ref_borrowed: judgement.reference.is_some_and(|r| r.borrowed.is_some()),
        not_judged: judgement.not_judged.map(|reason| reason.as_str().into()),
        not_judged_reason: judgement.not_judged.map(|reason| reason.sentence().into()),
        stall_min_90: (interval.lo, interval.hi),
        spikes: (cleaning.core_spikes.len() + cleaning.pit_spikes.len()) as i64,
        dips: cleaning.dips.len() as i64,
        gaps: (cleaning.core_gaps.len() + cleaning.pit_gaps.len()) as i64,
        computed_from,
        phases: rows.collect(),
    }
}
