//! Measures and history of every cook of a store.

use crate::error::StageError;
use crate::hash::Fingerprint;
use crate::phases_stage::TableSummary;
use crate::progress::Progress;
use crate::segmenting::{OwnReferences, events_by_cook, segment_record};
use crate::stamps::{MEASURES_FROM, Stamps, check_phases, tables_hash};
use columns::history::{self, HistoryRow};
use columns::tables::COMPUTED_FROM;
use columns::{Description, Kind, Value};
use cook::{Celsius, Event, EventKind, Season};
use measures::{HistoryInput, MeasureInput, MeasureRow};
use phases::{Interval, MovedConstant, Samples};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;
use store::{Column, CookPhases, CookRecord, Store, Table, TableName};

/// Measures every cook of a store.
///
/// # Errors
/// No store, or one whose phases are not there yet.
pub fn measures(
    store: &Path,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let store = Store::open(store)?;
    let _lock = store.lock()?;
    measures_of_store(&store, season, progress)
}

/// One cook, measured.
struct Measured {
    row: MeasureRow,
    history: Vec<HistoryRow>,
    computed_from: String,
}

pub(crate) fn measures_of_store(
    store: &Store,
    season: &Season,
    progress: &dyn Progress,
) -> Result<TableSummary, StageError> {
    let phases = store.read_phases()?;
    check_phases(store)?;
    let tables = tables_hash(store, &MEASURES_FROM);
    let mut hash = Fingerprint::new("measures");
    hash.json(&season.phases);
    hash.json(&season.assume);
    hash.part(tables.as_bytes());
    let hash = hash.finish();
    let mut stamps = Stamps::read(store);
    if stamps.is_current("measures", &hash)
        && let Ok(table) = store.read_table(TableName::Measures)
    {
        return Ok(TableSummary {
            cooks: table.rows(),
            table,
            computed: 0,
            changed: false,
            notes: Vec::new(),
        });
    }

    let cooks = StoredCooks::read(store, &phases)?;
    progress.begin("measures", cooks.records.len() as u64);
    let measured = cooks.measure(store, season, progress)?;
    progress.end();

    let rows = measured.iter().map(|m| m.row.columns()).collect();
    let mut table = to_table(&known_columns(), rows);
    let hashes = measured.iter().map(|m| Some(m.computed_from.clone()));
    table.push(COMPUTED_FROM, Column::Text(hashes.collect()));
    let mut changed = store.write_table(TableName::Measures, &table)?;

    let mut history = history_table(&measured);
    let hashes =
        measured.iter().flat_map(|m| m.history.iter().map(move |_| Some(m.computed_from.clone())));
    history.push(COMPUTED_FROM, Column::Text(hashes.collect()));
    changed |= store.write_table(TableName::History, &history)?;
    let outputs = [TableName::Measures, TableName::History];
    let outputs = outputs.into_iter().map(|name| store.table_path(name)).collect();
    stamps.set("measures", hash, tables, outputs)?;
    Ok(TableSummary {
        table,
        computed: measured.len(),
        cooks: measured.len(),
        changed,
        notes: Vec::new(),
    })
}

/// A day, ms.
const DAY_MS: i64 = 86_400_000;

/// What was noted around one cook.
struct CookEvents<'a> {
    own: &'a [Event],
    /// Set-points and lids that other cooks on its fire noted.
    on_fire: Vec<Event>,
}

/// What the measures of a store are computed from.
struct StoredCooks<'a> {
    records: Vec<CookRecord>,
    events: BTreeMap<String, Vec<Event>>,
    /// The cooks of a season and fire.
    on_fire: HashMap<(String, String), Vec<String>>,
    phases: HashMap<&'a str, &'a CookPhases>,
    references: OwnReferences,
}

impl<'a> StoredCooks<'a> {
    fn read(store: &Store, phases: &'a [CookPhases]) -> Result<Self, StageError> {
        let records = store.read_cooks()?;
        let events = events_by_cook(store.read_events()?);
        let phases: HashMap<&str, &CookPhases> =
            phases.iter().map(|cook| (cook.cook.as_str(), cook)).collect();
        let mut references = OwnReferences::default();
        let mut on_fire: HashMap<(String, String), Vec<String>> = HashMap::new();
        for record in &records {
            let card = &record.card;
            if !card.fire.is_empty() {
                let fire = (card.season.clone(), card.fire.clone());
                on_fire.entry(fire).or_default().push(card.cook.clone());
            }
            if let Some(cook) = phases.get(record.card.cook.as_str())
                && let (Some(k_ref), false) = (cook.k_ref_per_h, cook.k_ref_borrowed)
            {
                references.add(&record.card, k_ref);
            }
        }
        Ok(Self { records, events, on_fire, phases, references })
    }

    /// The events of a cook, and what others on its fire noted of the pit while it was there. The
    /// name of a fire may come again, so a day before the log is the earliest.
    fn events_of(&self, record: &CookRecord) -> CookEvents<'_> {
        let card = &record.card;
        let of = |cook: &str| self.events.get(cook).map_or(&[][..], Vec::as_slice);
        let mut on_fire: Vec<Event> = Vec::new();
        if let (Some(start_ms), Some(end_ms)) = (record.log_start_ms, record.log_end_ms) {
            let fire = (card.season.clone(), card.fire.clone());
            let others = self.on_fire.get(&fire).map_or(&[][..], Vec::as_slice);
            let others = others.iter().filter(|other| **other != card.cook);
            let noted = others.flat_map(|other| of(other)).filter(|event| {
                matches!(event.kind, EventKind::Setpoint | EventKind::Lid)
                    && (start_ms - DAY_MS..=end_ms).contains(&event.at_ms)
            });
            on_fire.extend(noted.cloned());
        }
        on_fire.sort_by(|a, b| (a.at_ms, &a.cook).cmp(&(b.at_ms, &b.cook)));
        CookEvents { own: of(&card.cook), on_fire }
    }

    /// Every cook, by the definition of the season.
    fn measure(
        &self,
        store: &Store,
        season: &Season,
        progress: &dyn Progress,
    ) -> Result<Vec<Measured>, StageError> {
        self.records
            .par_iter()
            .map(|record| {
                let events = self.events_of(record);
                let cook = self.phases.get(record.card.cook.as_str()).copied();
                let result = measure_record(store, record, &events, cook, &self.references, season);
                progress.step(&record.card.cook);
                result
            })
            .collect()
    }
}

/// The steps of every cook on the study clock.
fn history_table(measured: &[Measured]) -> Table {
    let rows = measured
        .iter()
        .flat_map(|m| &m.history)
        .map(|row| row.cells().into_iter().map(|(column, value)| (column.into(), value)).collect());
    to_table(history::ALL, rows.collect())
}

/// The cooks under a moved constant of the stall definition.
pub(crate) struct MovedMeasures {
    /// Which constant, and to what.
    pub(crate) name: String,
    pub(crate) measures: Table,
    pub(crate) history: Table,
}

/// Measures and history under each moved constant of the stall definition; a borrowed reference is
/// kept as it is. Nothing is written: the study asks its claims of them.
pub(crate) fn measures_under_moved_constants(
    store: &Store,
    season: &Season,
    progress: &dyn Progress,
) -> Result<Vec<MovedMeasures>, StageError> {
    let phases = store.read_phases()?;
    let cooks = StoredCooks::read(store, &phases)?;
    let moved: Vec<(MovedConstant, f64)> = MovedConstant::ALL
        .into_iter()
        .flat_map(|constant| constant.range().map(|to| (constant, to)))
        .collect();
    progress.begin("other definitions", (moved.len() * cooks.records.len()) as u64);
    let tables = moved
        .into_iter()
        .map(|(constant, to)| {
            let phases = constant.moved(&season.phases, to);
            let measured = cooks.measure(store, &Season { phases, ..season.clone() }, progress)?;
            let rows = measured.iter().map(|m| m.row.columns()).collect();
            Ok(MovedMeasures {
                name: format!("{} {to}", constant.as_str()),
                measures: to_table(&known_columns(), rows),
                history: history_table(&measured),
            })
        })
        .collect::<Result<_, StageError>>()?;
    progress.end();
    Ok(tables)
}

fn measure_record(
    store: &Store,
    record: &CookRecord,
    events: &CookEvents<'_>,
    cook: Option<&CookPhases>,
    references: &OwnReferences,
    season: &Season,
) -> Result<Measured, StageError> {
    let mut hash = Fingerprint::new("measures of a cook");
    hash.json(&record.card);
    hash.json(&events.own);
    hash.json(&events.on_fire);
    hash.part(cook.map_or("", |cook| cook.computed_from.as_str()).as_bytes());
    let computed_from = hash.finish();
    let input = |segmentation, marks, lead| MeasureInput {
        card: &record.card,
        segmentation,
        marks,
        lead,
        events: events.own,
        definition: &season.phases,
        core_after_slice: Samples::default(),
        assumed_pit_dew_point: season.assume.pit_dew_point_c.map(Celsius),
    };
    let Some(cook) = cook else {
        let row = measures::measure(&input(Err("no-readings"), None, None));
        return Ok(Measured { row, history: Vec::new(), computed_from });
    };
    let borrowed = cook.k_ref_borrowed.then(|| references.borrowed_for(&record.card)).flatten();
    // The curves again, without draws: the intervals are those of the phases.
    let segmented = segment_record(store, record, events.own, season, 0, borrowed)?;
    let Ok(mut segmented) = segmented else {
        let row = measures::measure(&input(Err("not-segmented"), None, None));
        return Ok(Measured { row, history: Vec::new(), computed_from });
    };
    segmented.segmentation.stall_min_90 = (cook.stall_min_90 != (None, None))
        .then_some(Interval { lo: cook.stall_min_90.0, hi: cook.stall_min_90.1 });
    let history = measures::history(HistoryInput {
        card: &record.card,
        events: events.own,
        on_fire: &events.on_fire,
        marks: &segmented.marks,
        segmentation: &segmented.segmentation,
        pit: segmented.pit.view(),
        definition: &season.phases,
    });
    let row = measures::measure(&MeasureInput {
        core_after_slice: segmented.core_after_slice.view(),
        ..input(Ok(&segmented.segmentation), Some(&segmented.marks), Some(&segmented.lead))
    });
    Ok(Measured { row, history, computed_from })
}

/// The columns of the measures that every season has.
fn known_columns() -> Vec<Description> {
    columns::measures::columns().collect()
}

/// Rows as a table: the known columns first, then the others in the order of first
/// appearance.
fn to_table(known: &[Description], rows: Vec<Vec<(String, Value)>>) -> Table {
    let mut names: Vec<String> = known.iter().map(|column| column.name.to_owned()).collect();
    let mut seen: HashSet<String> = names.iter().cloned().collect();
    for (name, _) in rows.iter().flatten() {
        if seen.insert(name.clone()) {
            names.push(name.clone());
        }
    }
    let mut cells: Vec<HashMap<String, Value>> =
        rows.into_iter().map(|row| row.into_iter().collect()).collect();
    let mut table = Table::new();
    for name in names {
        let values: Vec<Value> =
            cells.iter_mut().map(|row| row.remove(&name).unwrap_or(Value::Null)).collect();
        let kind = kind_of(known, &name, &values);
        table.push(name, kind.column(values.into_iter()));
    }
    table
}

fn kind_of(known: &[Description], name: &str, values: &[Value]) -> Kind {
    let described = known.iter().find(|column| column.name == name).map(|column| column.kind);
    described.or_else(|| values.iter().find_map(Value::kind)).unwrap_or(Kind::Text)
}
