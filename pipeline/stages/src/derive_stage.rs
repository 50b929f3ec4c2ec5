//! The pass over the cooks of a store that makes all their rows: each cook is cleaned and smoothed at
//! most once, and not at all where its rows hold.
//!
//! First come the cooks that have a reference heating coefficient of their own, and those that cannot
//! use one: they are finished at once. The others wait until it is known what the first lend.

use crate::error::StageError;
use crate::progress::Progress;
use crate::stamps::{WholeReadings, check_phases, expect_whole};
use cook::{Event, Season};
use phases::BorrowedReference;
use rayon::prelude::*;
use rows::{
    CookCleaning, CookInput, CookPhases, Lent, Measured, MeasuredCooks, MeasuredTables, NotedCooks,
    Rules, Started, Want,
};
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use store::stamps::{Derived, Reason, Stage, Stamps};
use store::{Store, TableName};

/// Cooks that are held in memory while they wait for a reference: readings, corrected curves and
/// smoother, about a megabyte for a day's log at a reading in ten seconds. Further ones are read and
/// smoothed anew when it is their turn, so that memory has a bound.
const HELD: usize = 512;

/// Which rows are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Asked {
    /// Phases and what cleaning made of the readings.
    Phases,
    /// Measures, history and moved constants, beside the phases that the store has.
    Measures,
    /// All.
    All,
}

/// What a pass did for one stage.
#[derive(Debug, Default)]
pub(crate) struct StageDone {
    /// Why it was done; `None` where everything held.
    pub(crate) reason: Option<Reason>,
    /// Cooks whose rows were computed …
    pub(crate) computed: usize,
    /// … of so many that have rows; 0 where nothing was looked at.
    pub(crate) cooks: usize,
    /// Whether any file changed.
    pub(crate) changed: bool,
}

/// What a pass found.
#[derive(Debug)]
pub(crate) struct Pass {
    pub(crate) phases: StageDone,
    pub(crate) measures: StageDone,
    pub(crate) all_phases: Vec<CookPhases>,
    pub(crate) all_cleaning: Vec<CookCleaning>,
    /// The tables that were made; `None` where those of the store hold.
    pub(crate) measured: Option<MeasuredTables>,
    /// Stages whose rows another number of theirs had made.
    pub(crate) notes: Vec<String>,
}

/// Brings the rows of every cook up to date.
///
/// # Errors
/// A store without cooks, or for [`Asked::Measures`] one whose phases are not those of its cooks.
pub(crate) fn derive(
    store: &Store,
    season: &Season,
    asked: Asked,
    progress: &dyn Progress,
) -> Result<Pass, StageError> {
    let rules = &Rules::of(season);
    let mut stamps = Stamps::read(store);
    expect_whole(store, Derived::Phases.reads())?;
    if asked == Asked::Measures {
        store.read_table(TableName::Phases)?;
        check_phases(store)?;
    }
    let (for_phases, for_measures) = (asked != Asked::Measures, asked != Asked::Phases);
    let mut notes = Vec::new();
    let mut done = |stage: Derived, wanted: bool| {
        let inputs = stage.inputs(store, rules);
        let reason = wanted.then(|| stamps.why(stage.stage(), &inputs)).flatten();
        notes.extend(reason.as_ref().and_then(|reason: &Reason| reason.said(stage.stage())));
        StageDone { reason, ..StageDone::default() }
    };
    let mut phases = done(Derived::Phases, for_phases);
    let mut measures = done(Derived::Measures, for_measures);
    if phases.reason.is_none() && measures.reason.is_none() {
        let (all_phases, all_cleaning) = (store.read_phases()?, store.read_cleaning()?);
        return Ok(Pass { phases, measures, all_phases, all_cleaning, measured: None, notes });
    }

    // What was damaged since could still pass for a cook's rows, so none of it is taken over.
    let is_whole = |done: &StageDone| done.reason.as_ref().is_none_or(Reason::leaves_rows);
    let last = LastRun::read(store, is_whole(&phases), for_measures && is_whole(&measures));
    let cooks = NotedCooks::new(store.read_cooks()?, store.read_events()?);
    let records = cooks.records().iter();
    let on_fire: Vec<Vec<Event>> =
        records.map(|record| cooks.on_fire(&record.card, record.log_ms())).collect();
    let measured = last.measured.as_ref().and_then(|tables| tables.by_cook().ok());
    let work = Work {
        store,
        whole: WholeReadings::new(Stamps::read(store)),
        rules,
        asked,
        segmented: &last.segmented,
        measured,
        progress,
        waiting: AtomicUsize::new(0),
    };
    let name = if for_phases { Stage::Phases } else { Stage::Measures };
    progress.begin(name.as_str(), cooks.records().len() as u64);
    let rows = work.rows_of(&cooks, &on_fire)?;
    progress.end();

    let (mut all_phases, mut all_cleaning, mut all_measured) = (vec![], vec![], vec![]);
    for cook in rows {
        phases.computed += usize::from(cook.phases_computed);
        measures.computed += usize::from(cook.measures_computed);
        if let Some(Segmented { phases, cleaning }) = cook.segmented {
            all_phases.push(phases);
            all_cleaning.push(cleaning);
        }
        all_measured.extend(cook.measured);
    }
    phases.cooks = all_phases.len();
    measures.cooks = all_measured.len();
    if for_phases {
        phases.changed = stamps.write_derived(store, Derived::Phases, rules, || {
            Ok(store.write_phases(&all_phases)? | store.write_cleaning(&all_cleaning)?)
        })?;
    }
    let measured = for_measures.then(|| MeasuredTables::of(all_measured));
    if let Some(tables) = &measured {
        measures.changed = stamps
            .write_derived(store, Derived::Measures, rules, || store.write_measured(tables))?;
    }
    Ok(Pass { phases, measures, all_phases, all_cleaning, measured, notes })
}

/// What the store keeps of one segmented cook.
#[derive(Debug, Clone)]
struct Segmented {
    phases: CookPhases,
    cleaning: CookCleaning,
}

/// What the last run found. What cannot be read is made anew like what is missing.
struct LastRun {
    segmented: HashMap<String, Segmented>,
    measured: Option<MeasuredTables>,
}

impl LastRun {
    fn read(store: &Store, with_phases: bool, with_measures: bool) -> Self {
        let mut cleaning: HashMap<String, CookCleaning> = store
            .read_cleaning()
            .unwrap_or_default()
            .into_iter()
            .map(|cook| (cook.cook.clone(), cook))
            .collect();
        let phases = with_phases.then(|| store.read_phases().ok()).flatten().unwrap_or_default();
        let segmented = phases.into_iter().filter_map(|phases| {
            let cleaning = cleaning.remove(&phases.cook)?;
            let both = phases.computed_from == cleaning.computed_from;
            both.then(|| (phases.cook.clone(), Segmented { phases, cleaning }))
        });
        let segmented = segmented.collect();
        let measured = with_measures.then(|| store.read_measured().ok()).flatten();
        Self { segmented, measured }
    }
}

/// The rows of one cook after the pass.
struct CookRows {
    /// `None` for a cook without readings.
    segmented: Option<Segmented>,
    /// `None` where measures were not asked for.
    measured: Option<Measured>,
    phases_computed: bool,
    measures_computed: bool,
}

/// A cook after the first of the two passes.
enum First<'a> {
    Done(Box<CookRows>),
    /// It asks for a reference of other cooks.
    Waits {
        /// Its rows of the last run, which hold if it is lent the same again.
        kept: Option<&'a Segmented>,
        started: Option<Box<Started<'a>>>,
    },
}

struct Work<'a> {
    store: &'a Store,
    whole: WholeReadings,
    rules: &'a Rules,
    asked: Asked,
    segmented: &'a HashMap<String, Segmented>,
    measured: Option<MeasuredCooks<'a>>,
    progress: &'a dyn Progress,
    waiting: AtomicUsize,
}

impl<'a> Work<'a> {
    /// The rows of every cook, in the order of the records.
    fn rows_of(
        &self,
        cooks: &'a NotedCooks,
        on_fire: &'a [Vec<Event>],
    ) -> Result<Vec<CookRows>, StageError> {
        let inputs: Vec<CookInput<'a>> = cooks
            .records()
            .iter()
            .zip(on_fire)
            .map(|(record, on_fire)| CookInput {
                card: &record.card,
                read_from: &record.computed_from,
                log_ms: record.log_ms(),
                events: cooks.events_of(&record.card.cook),
                on_fire,
            })
            .collect();
        let first: Vec<(First<'a>, Option<f64>)> =
            inputs.par_iter().map(|cook| self.first(cook)).collect::<Result<_, StageError>>()?;
        let own = inputs.iter().zip(&first);
        let lent = Lent::by(own.filter_map(|(cook, (_, own))| Some((cook.card, (*own)?))));
        inputs
            .par_iter()
            .zip(first)
            .map(|(cook, (first, _))| match first {
                First::Done(rows) => Ok(*rows),
                First::Waits { kept, started } => {
                    let borrowed = lent.to(cook.card);
                    let holds = |kept: &&Segmented| {
                        self.asked == Asked::Measures
                            || kept.phases.computed_from
                                == cook.phases_from(self.rules, borrowed.as_ref())
                    };
                    self.settle(cook, kept.filter(holds), started.map(|own| *own), borrowed)
                }
            })
            .collect()
    }

    /// Finishes a cook that needs nothing of others; gives its own reference too.
    fn first(&self, cook: &CookInput<'a>) -> Result<(First<'a>, Option<f64>), StageError> {
        let last = self.segmented.get(&cook.card.cook);
        let kept = match self.asked {
            Asked::Measures => last,
            Asked::Phases | Asked::All => {
                last.filter(|last| last.phases.content() == cook.content(self.rules))
            }
        };
        let without_readings =
            cook.log_ms.is_none() || (self.asked == Asked::Measures && kept.is_none());
        if without_readings {
            return Ok((First::Done(Box::new(self.without_readings(cook))), None));
        }
        if let Some(kept) = kept {
            let own = kept.phases.own_reference();
            if kept.phases.asks_for_reference() {
                return Ok((First::Waits { kept: Some(kept), started: None }, None));
            }
            return Ok((First::Done(Box::new(self.settle(cook, Some(kept), None, None)?)), own));
        }
        let started = self.start(cook)?;
        if started.asks_for_reference() {
            let held = self.waiting.fetch_add(1, Ordering::Relaxed) < HELD;
            let started = held.then(|| Box::new(started));
            return Ok((First::Waits { kept: None, started }, None));
        }
        let own = started.own_reference();
        Ok((First::Done(Box::new(self.settle(cook, None, Some(started), None)?)), own))
    }

    fn without_readings(&self, cook: &CookInput<'a>) -> CookRows {
        let mut computed = false;
        let measured = (self.asked != Asked::Phases).then(|| {
            let from = cook.measured_from("", self.rules);
            self.kept_measures(cook, &from).unwrap_or_else(|| {
                computed = true;
                Measured::without_readings(cook, self.rules)
            })
        });
        self.progress.step(&cook.card.cook);
        CookRows { segmented: None, measured, phases_computed: false, measures_computed: computed }
    }

    fn kept_measures(&self, cook: &CookInput<'_>, computed_from: &str) -> Option<Measured> {
        self.measured.as_ref()?.kept(cook.card, computed_from)
    }

    /// Reads, cleans and smooths a cook: the one place where that is done.
    fn start(&self, cook: &CookInput<'a>) -> Result<Started<'a>, StageError> {
        let (season, name) = (&cook.card.season, &cook.card.cook);
        self.whole.expect(self.store.readings_files_of(season, name))?;
        let readings = self.store.read_readings(season, name)?;
        self.progress.segmented(&cook.card.cook);
        Ok(Started::new(*cook, readings, self.rules))
    }

    /// What holds, and what has to be computed.
    fn settle(
        &self,
        cook: &CookInput<'a>,
        kept: Option<&Segmented>,
        started: Option<Started<'a>>,
        borrowed: Option<BorrowedReference>,
    ) -> Result<CookRows, StageError> {
        let for_measures = self.asked != Asked::Phases;
        let rows = if let Some(kept) = kept {
            let from = cook.measured_from(&kept.phases.computed_from, self.rules);
            let held = for_measures.then(|| self.kept_measures(cook, &from)).flatten();
            let computed = for_measures && held.is_none();
            let measured = if computed {
                let borrowed = borrowed.filter(|_| kept.phases.k_ref_borrowed);
                self.start(cook)?.derive(borrowed, Want::Measures(&kept.phases)).measured
            } else {
                held
            };
            CookRows {
                segmented: Some(kept.clone()),
                measured,
                phases_computed: false,
                measures_computed: computed,
            }
        } else {
            let started = started.map_or_else(|| self.start(cook), Ok)?;
            let want = if for_measures { Want::All } else { Want::Phases };
            let derived = started.derive(borrowed, want);
            CookRows {
                segmented: derived.phases.map(|(phases, cleaning)| Segmented { phases, cleaning }),
                measured: derived.measured,
                phases_computed: true,
                measures_computed: for_measures,
            }
        };
        self.progress.step(&cook.card.cook);
        Ok(rows)
    }
}
