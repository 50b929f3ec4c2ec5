//! A season's cooks; their rows from batches of readings.

use crate::errors::{argument, fault, of_store, of_table};
use crate::given::{self, Problem, Written};
use crate::table::Table;
use columns::{Column, Description, card};
use cook::Season;
use pyo3::prelude::*;
use rayon::prelude::*;
use rows::readings::{BatchCook, CooksOfBatches};
use rows::{
    Asked, BatchRows, CookPhases, CookRows, Lent, NotedCooks, Rules, cooks_from_table,
    events_from_table, phases_from_table,
};
use std::collections::HashMap;
use std::path::PathBuf;
use store::{Store, TableName};

/// Cooks of a season with what was noted of them and the settings that they are judged by.
#[pyclass(frozen, module = "cookstudy._cookstudy")]
pub(crate) struct Cooks {
    pub(crate) noted: NotedCooks,
    pub(crate) season: Season,
    rules: Rules,
}

/// Which cooks are given rows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Whom {
    /// Every cook of the season.
    All,
    /// Those whose readings come.
    Coming,
    /// Those that have no log, beside those whose readings come.
    WithoutLog,
}

/// Cooks that are worked on between two looks for an interrupt, for each thread.
const AT_ONCE: usize = 4;

#[pymethods]
impl Cooks {
    #[new]
    #[pyo3(signature = (cooks, events = None, settings = None))]
    fn new(
        py: Python<'_>,
        cooks: &Bound<'_, PyAny>,
        events: Option<&Bound<'_, PyAny>>,
        settings: Option<Written>,
    ) -> PyResult<Self> {
        let season = given::season(settings)?;
        let table = given::table(py, cooks, "cooks")?;
        let noted = events.map(|events| given::table(py, events, "events")).transpose()?;
        let records = cooks_from_table(&cards(&table)).map_err(|e| of_table("cooks", &e.into()))?;
        if let Some(row) = records.iter().position(|record| record.card.cook.is_empty()) {
            return Err(argument(format!("cooks: row {} names no cook", row + 1)));
        }
        let events = match noted {
            Some(table) => {
                let table = given::completed(&table, columns::tables::events::ALL);
                events_from_table(&table).map_err(|e| of_table("events", &e.into()))?
            }
            None => Vec::new(),
        };
        let mut seen = std::collections::HashSet::new();
        if let Some(twice) = records.iter().find(|record| !seen.insert(&record.card.cook)) {
            let name = &twice.card.cook;
            return Err(argument(format!("cooks: `{name}` is there twice: one row a cook")));
        }
        let rules = Rules::of(&season);
        Ok(Self { noted: NotedCooks::new(records, events), season, rules })
    }

    /// Names of the cooks, in order.
    #[getter]
    fn names(&self) -> Vec<&str> {
        self.noted.records().iter().map(|record| record.card.cook.as_str()).collect()
    }

    /// Names of the cooks that have a log, as far as their cards say.
    #[getter]
    fn with_log(&self) -> Vec<&str> {
        let records = self.noted.records().iter();
        records.filter(|r| r.log_ms().is_some()).map(|r| r.card.cook.as_str()).collect()
    }

    /// Tables of rows, by name; `asked` is `phases`, `measures` or `all`, `whom` is `all`, `coming` or
    /// `without-log`.
    #[pyo3(signature = (readings, asked, phases, references, whom, threads))]
    fn derive(
        &self,
        py: Python<'_>,
        readings: &Bound<'_, PyAny>,
        asked: &str,
        phases: Option<&Bound<'_, PyAny>>,
        references: Option<&Bound<'_, PyAny>>,
        whom: &str,
        threads: usize,
    ) -> PyResult<Vec<(&'static str, Table)>> {
        let whom = match whom {
            "all" => Whom::All,
            "coming" => Whom::Coming,
            "without-log" => Whom::WithoutLog,
            other => return Err(fault(&format!("nobody is called {other}"))),
        };
        let known = phases.map(|phases| phases_of(py, phases)).transpose()?;
        let lent = match (references, &known) {
            (Some(references), _) => {
                let table = given::table(py, references, "references")?;
                Some(Lent::from_table(&table).map_err(|e| of_table("references", &e.into()))?)
            }
            (None, Some(known)) => Some(Lent::of_phases(known, &self.noted)),
            (None, None) => None,
        };
        let by_cook: HashMap<String, CookPhases> =
            known.into_iter().flatten().map(|cook| (cook.cook.clone(), cook)).collect();
        let asked = match asked {
            "phases" => Asked::Phases,
            "measures" => Asked::Measures(&by_cook),
            "all" => Asked::All,
            other => return Err(fault(&format!("nothing is called {other}"))),
        };
        let work = BatchRows { cooks: &self.noted, rules: &self.rules, asked };
        let batches = given::batches(readings, "readings")?;
        let cooks = batches.map(|batch| batch.map_err(Problem::Stream));
        let mut done = Derived { work, threads, rows: Vec::new(), waiting: Vec::new() };
        done.all(py, CooksOfBatches::new(cooks), lent.as_ref())?;
        let waiting = std::mem::take(&mut done.waiting);
        if !waiting.is_empty() {
            let lent = Lent::of_phases(done.rows.iter().filter_map(CookRows::phases), &self.noted);
            done.all(py, waiting.into_iter().map(Ok), Some(&lent))?;
        }
        if whom != Whom::Coming {
            let rest = done.work.rest(&done.rows, whom == Whom::WithoutLog);
            done.rows.extend(rest);
        }
        let Derived { work, rows, .. } = done;
        let tables = py.detach(|| work.tables(rows));
        Table::named(tables)
    }

    /// What the cooks lend each other by their phases.
    fn references(&self, py: Python<'_>, phases: &Bound<'_, PyAny>) -> PyResult<Table> {
        let phases = phases_of(py, phases)?;
        Table::of(&Lent::of_phases(&phases, &self.noted).to_table())
    }

    /// Names of the cooks that can be lent something by these references.
    fn borrowers(
        &self,
        py: Python<'_>,
        phases: &Bound<'_, PyAny>,
        references: &Bound<'_, PyAny>,
    ) -> PyResult<Vec<String>> {
        let table = given::table(py, references, "references")?;
        let lent = Lent::from_table(&table).map_err(|e| of_table("references", &e.into()))?;
        let phases = phases_of(py, phases)?;
        let can_borrow = |cook: &&CookPhases| {
            let place = self.noted.place_of(&cook.cook).filter(|_| cook.asks_for_reference());
            place.is_some_and(|place| lent.to(&self.noted.records()[place].card).is_some())
        };
        Ok(phases.iter().filter(can_borrow).map(|cook| cook.cook.clone()).collect())
    }

    /// Writes tables into a store, the rows of each in the order of the cooks; true where a file changed.
    fn write(
        &self,
        py: Python<'_>,
        store: PathBuf,
        tables: Vec<(String, Bound<'_, PyAny>)>,
    ) -> PyResult<bool> {
        let tables = tables
            .iter()
            .map(|(name, table)| {
                let known = TableName::ALL.into_iter().find(|known| known.as_str() == name);
                let known = known.ok_or_else(|| fault(&format!("no table is called {name}")))?;
                Ok((known, self.in_order(given::table(py, table, name)?)))
            })
            .collect::<PyResult<Vec<_>>>()?;
        let write = || -> Result<bool, store::StoreError> {
            let store = Store::open(&store)?;
            let _lock = store.lock()?;
            let mut changed = false;
            for (name, table) in &tables {
                changed |= store.write_table(*name, table)?;
            }
            Ok(changed)
        };
        py.detach(write).map_err(|error| of_store(&error))
    }
}

impl Cooks {
    /// A table's rows by the place of their cook; those of one cook stay in their order.
    fn in_order(&self, table: columns::Table) -> columns::Table {
        let Some(Column::Text(cooks)) = table.column("cook") else { return table };
        let place = |row: &usize| {
            cooks[*row].as_deref().and_then(|cook| self.noted.place_of(cook)).unwrap_or(usize::MAX)
        };
        let mut order: Vec<usize> = (0..table.rows()).collect();
        order.sort_by_key(place);
        table.take(&order)
    }
}

/// Cards with every column that a store's have.
fn cards(table: &columns::Table) -> columns::Table {
    let own: Vec<Description> = card::FIELDS
        .iter()
        .map(|field| field.column)
        .chain(columns::tables::cooks::ALL.iter().copied())
        .collect();
    let mut cards = columns::Table::new();
    for (name, column) in given::completed(table, &own).columns() {
        let is_known = own.iter().any(|known| known.name == name);
        let column = match column.clone() {
            // Who does not say what its card and readings were read from has a hash of the readings.
            Column::Text(hashes) if name == columns::tables::COMPUTED_FROM.name => Column::Text(
                hashes.into_iter().map(|hash| Some(hash.unwrap_or_default())).collect(),
            ),
            column if is_known => column,
            column => given::own_column(name, column),
        };
        cards.push(name, column);
    }
    cards
}

fn phases_of(py: Python<'_>, phases: &Bound<'_, PyAny>) -> PyResult<Vec<CookPhases>> {
    let table = given::table(py, phases, "phases")?;
    let table = given::completed(&table, columns::tables::phases::ALL);
    phases_from_table(&table).map_err(|e| of_table("phases", &e.into()))
}

/// Rows so far.
struct Derived<'a> {
    work: BatchRows<'a>,
    /// 1 works where it is called; 0 takes all cores.
    threads: usize,
    rows: Vec<CookRows>,
    waiting: Vec<BatchCook>,
}

impl Derived<'_> {
    /// Derives cooks, some at a time; those that wait for a reference are kept.
    fn all(
        &mut self,
        py: Python<'_>,
        mut cooks: impl Iterator<Item = Result<BatchCook, Problem>> + Send,
        lent: Option<&Lent>,
    ) -> PyResult<()> {
        let threads = if self.threads == 0 { rayon::current_num_threads() } else { self.threads };
        loop {
            let work = self.work;
            let some = py.detach(|| -> Result<Vec<_>, Problem> {
                let some: Vec<BatchCook> =
                    cooks.by_ref().take(AT_ONCE * threads).collect::<Result<_, _>>()?;
                let rows_of = |cook: BatchCook| (work.of(&cook, lent), cook);
                Ok(if threads == 1 {
                    some.into_iter().map(rows_of).collect()
                } else {
                    some.into_par_iter().map(rows_of).collect()
                })
            });
            let some = some.map_err(|problem| of_table("readings", &problem))?;
            if some.is_empty() {
                return Ok(());
            }
            for (rows, cook) in some {
                match rows {
                    Some(rows) => self.rows.push(rows),
                    None => self.waiting.push(cook),
                }
            }
            py.check_signals()?;
        }
    }
}
