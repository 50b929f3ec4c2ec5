//! A season's cooks; their rows from batches of readings.

use crate::cards;
use crate::errors::{fault, guarded, no_table, of_store, of_table};
use crate::given::{self, Problem, Written};
use crate::table::Table;
use columns::Column;
use cook::Season;
use pyo3::prelude::*;
use rayon::prelude::*;
use rows::readings::{BatchCook, CooksOfBatches, expect_celsius};
use rows::{Asked, BatchRows, CookPhases, CookRows, Lent, NotedCooks, Rules, phases_from_table};
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use store::stamps::{Derived, Stage, Stamps, hash_of};
use store::{Store, StoreError};

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
        guarded(|| {
            let season = given::season(settings)?;
            let table = given::table(py, cooks, "cooks")?;
            let records = cards::records(&table).map_err(|e| of_table("cooks", &e.into()))?;
            let noted = events.map(|events| given::table(py, events, "events")).transpose()?;
            let events = noted.map_or(Ok(Vec::new()), |table| cards::events(&table));
            let events = events.map_err(|e| of_table("events", &e.into()))?;
            let rules = Rules::of(&season);
            Ok(Self { noted: NotedCooks::new(records, events), season, rules })
        })
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
        guarded(|| {
            let whom = match whom {
                "all" => Whom::All,
                "coming" => Whom::Coming,
                "without-log" => Whom::WithoutLog,
                other => return Err(fault(&format!("nobody is called {other}"))),
            };
            let known = phases.map(|phases| phases_of(py, phases)).transpose()?;
            let lent = match (references, &known) {
                (Some(references), _) => Some(lent_of(py, references)?),
                (None, Some(known)) => Some(Lent::of_phases(known, &self.noted)),
                (None, None) => None,
            };
            let by_cook: HashMap<String, CookPhases> =
                known.into_iter().flatten().map(|cook| (cook.cook.clone(), cook)).collect();
            let asked = match asked {
                "phases" => Asked::Phases,
                "measures" if phases.is_none() => {
                    return Err(no_table("phases: None is no table; `segment` makes them"));
                }
                "measures" => Asked::Measures(&by_cook),
                "all" => Asked::All,
                other => return Err(fault(&format!("nothing is called {other}"))),
            };
            let work = BatchRows { cooks: &self.noted, rules: &self.rules, asked };
            let cooks = CooksOfBatches::new(given::readings(readings, "readings")?);
            // On a cluster a bad cook is a row with its reason; whoever gives a table himself can mend it.
            let cooks = cooks.map(|cook| match whom {
                Whom::All => self.accepted(cook?),
                Whom::Coming | Whom::WithoutLog => cook,
            });
            let pool = match threads {
                0 | 1 => None,
                some => {
                    let most = rayon::current_num_threads();
                    let pool = rayon::ThreadPoolBuilder::new().num_threads(some.min(most)).build();
                    Some(pool.map_err(|error| fault(&error.to_string()))?)
                }
            };
            let mut done = RowsSoFar {
                work,
                threads,
                pool: pool.as_ref(),
                rows: Vec::new(),
                waiting: Vec::new(),
            };
            done.all(py, cooks, lent.as_ref())?;
            let waiting = std::mem::take(&mut done.waiting);
            if !waiting.is_empty() {
                let lent =
                    Lent::of_phases(done.rows.iter().filter_map(CookRows::phases), &self.noted);
                done.all(py, waiting.into_iter().map(Ok), Some(&lent))?;
            }
            if whom != Whom::Coming {
                let rest = done.work.rest(&done.rows, whom == Whom::WithoutLog);
                done.rows.extend(rest);
            }
            let RowsSoFar { work, rows, .. } = done;
            let tables = py.detach(|| work.tables(rows));
            Table::named(tables)
        })
    }

    /// What the cooks lend each other by their phases.
    fn references(&self, py: Python<'_>, phases: &Bound<'_, PyAny>) -> PyResult<Table> {
        guarded(|| {
            let phases = phases_of(py, phases)?;
            Table::of(&Lent::of_phases(&phases, &self.noted).to_table())
        })
    }

    /// Names of the cooks that can be lent something by these references.
    fn borrowers(
        &self,
        py: Python<'_>,
        phases: &Bound<'_, PyAny>,
        references: &Bound<'_, PyAny>,
    ) -> PyResult<Vec<String>> {
        guarded(|| {
            let lent = lent_of(py, references)?;
            let phases = phases_of(py, phases)?;
            let can_borrow = |cook: &&CookPhases| {
                let place = self.noted.place_of(&cook.cook).filter(|_| cook.asks_for_reference());
                place.is_some_and(|place| lent.to(&self.noted.records()[place].card).is_some())
            };
            Ok(phases.iter().filter(can_borrow).map(|cook| cook.cook.clone()).collect())
        })
    }

    /// Writes all tables of the cooks' rows into a store and stamps them as the command does; true where a file
    /// changed. `read` are the hashes of the tables that the rows were made of, by file name.
    fn write(
        &self,
        py: Python<'_>,
        store: PathBuf,
        tables: Vec<(String, Bound<'_, PyAny>)>,
        read: BTreeMap<String, String>,
    ) -> PyResult<bool> {
        guarded(|| {
            let mut found = HashMap::new();
            for (name, table) in &tables {
                found.insert(name.as_str(), self.in_order(given::table(py, table, name)?));
            }
            let write = || self.written(&store, &found, &read);
            py.detach(write).map_err(|error| of_store(&error))
        })
    }
}

impl Cooks {
    /// A cook whose rows can be used.
    pub(crate) fn accepted(&self, cook: BatchCook) -> Result<BatchCook, Problem> {
        let readings = cook.readings.as_ref().map_err(|error| Problem::Rows(error.clone()))?;
        let place = self.noted.place_of(&cook.cook);
        let card = place.map(|place| &self.noted.records()[place].card);
        let is_hot = card.and_then(|card| card.pit_setpoint).is_some_and(|c| c.value() > 200.0);
        if !is_hot {
            expect_celsius(&readings.channels, cook.row)?;
        }
        Ok(cook)
    }

    fn written(
        &self,
        store: &Path,
        tables: &HashMap<&str, columns::Table>,
        read: &BTreeMap<String, String>,
    ) -> Result<bool, StoreError> {
        let store = Store::open(store)?;
        let _lock = store.lock()?;
        let mut stamps = Stamps::read(&store);
        stamps.expect_whole(Stage::Ingest)?;
        for name in Derived::Phases.reads() {
            let path = store.table_path(*name);
            if read.get(&format!("{}.parquet", name.as_str())) != Some(&hash_of(&path)?) {
                return Err(StoreError::WrittenMeanwhile { path });
            }
        }
        let mut changed = false;
        for stage in [Derived::Phases, Derived::Measures] {
            changed |= stamps.write_derived(&store, stage, &self.rules, || {
                let mut changed = false;
                for name in stage.writes() {
                    let path = store.table_path(*name);
                    let table = tables.get(name.as_str());
                    let table = table.ok_or(StoreError::MissingTable {
                        path,
                        command: "cookstudy.spark.write",
                    })?;
                    changed |= store.write_table(*name, table)?;
                }
                Ok(changed)
            })?;
        }
        Ok(changed)
    }

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

fn phases_of(py: Python<'_>, phases: &Bound<'_, PyAny>) -> PyResult<Vec<CookPhases>> {
    let table = given::table(py, phases, "phases")?;
    let all = columns::tables::phases::ALL;
    let names: Vec<&str> = all.iter().map(|column| column.name).collect();
    let phases = given::completed(&table, all, &names);
    phases.and_then(|table| phases_from_table(&table)).map_err(|e| of_table("phases", &e.into()))
}

fn lent_of(py: Python<'_>, references: &Bound<'_, PyAny>) -> PyResult<Lent> {
    let table = given::table(py, references, "references")?;
    Lent::from_table(&table).map_err(|error| of_table("references", &error.into()))
}

/// Rows so far.
struct RowsSoFar<'a> {
    work: BatchRows<'a>,
    /// 1 works where it is called; 0 takes all cores.
    threads: usize,
    /// The threads, where they are neither one nor all.
    pool: Option<&'a rayon::ThreadPool>,
    rows: Vec<CookRows>,
    waiting: Vec<BatchCook>,
}

impl RowsSoFar<'_> {
    /// Derives cooks, some at a time; those that wait for a reference are kept.
    fn all(
        &mut self,
        py: Python<'_>,
        mut cooks: impl Iterator<Item = Result<BatchCook, Problem>> + Send,
        lent: Option<&Lent>,
    ) -> PyResult<()> {
        let threads = match self.threads {
            1 => 1,
            _ => self
                .pool
                .map_or_else(rayon::current_num_threads, rayon::ThreadPool::current_num_threads),
        };
        let (work, pool) = (self.work, self.pool);
        loop {
            let some = py.detach(|| -> Result<Vec<_>, Problem> {
                let some: Vec<BatchCook> =
                    cooks.by_ref().take(AT_ONCE * threads).collect::<Result<_, _>>()?;
                let rows_of = |cook: BatchCook| (work.of(&cook, lent), cook);
                if self.threads == 1 {
                    return Ok(some.into_iter().map(rows_of).collect());
                }
                let beside = || some.into_par_iter().map(rows_of).collect();
                Ok(match pool {
                    Some(pool) => pool.install(beside),
                    None => beside(),
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
