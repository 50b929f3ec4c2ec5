//! The tables of a store, and the rows that have types of their own.

use crate::Store;
use crate::atomic::{holds, write_atomically};
use crate::error::StoreError;
use crate::scores::scores_to_table;
use crate::table::{TableFile, TypedColumns, read_parquet_table, written_by};
use columns::tables::{rejected, sources};
use columns::{Column, Description, Table};
use cook::{Event, Evidence, LineAccount, RejectedRow, Score, SourceRecord};
use rows::{CookRecord, cooks_from_table, cooks_to_table, events_from_table, events_to_table};
use std::path::{Path, PathBuf};

/// A table of the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableName {
    /// Cards.
    Cooks,
    /// Events.
    Events,
    /// Scores of judges and tasters.
    Scores,
    /// Phases.
    Phases,
    /// What cleaning made of the readings, stretch by stretch.
    Flags,
    /// Each cook's channels: part, correction, comparison with the lead.
    Channels,
    /// What is odd about a cook.
    Warnings,
    /// Measures, one row a cook.
    Measures,
    /// Cook × 10 min on the study clock.
    History,
    /// Cook × 1 °C of core on the study clock.
    Degrees,
    /// Cook × moved constant of the phase definition.
    Moved,
    /// The history under each moved constant.
    MovedHistory,
    /// What could not be used.
    Rejected,
    /// How each log was read.
    Sources,
}

impl TableName {
    /// Every table.
    pub const ALL: [Self; 14] = [
        Self::Cooks,
        Self::Events,
        Self::Scores,
        Self::Phases,
        Self::Flags,
        Self::Channels,
        Self::Warnings,
        Self::Measures,
        Self::History,
        Self::Degrees,
        Self::Moved,
        Self::MovedHistory,
        Self::Rejected,
        Self::Sources,
    ];

    /// File name without ending.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Cooks => "cooks",
            Self::Events => "events",
            Self::Scores => "scores",
            Self::Phases => "phases",
            Self::Flags => "flags",
            Self::Channels => "channels",
            Self::Warnings => "warnings",
            Self::Measures => "measures",
            Self::History => "history",
            Self::Degrees => "degrees",
            Self::Moved => "moved",
            Self::MovedHistory => "moved_history",
            Self::Rejected => "rejected",
            Self::Sources => "sources",
        }
    }

    /// The command that makes it.
    fn made_by(self) -> &'static str {
        match self {
            Self::Cooks | Self::Events | Self::Scores | Self::Rejected | Self::Sources => {
                "cookstudy ingest --store DIR …"
            }
            Self::Phases | Self::Flags | Self::Channels | Self::Warnings => {
                "cookstudy phases --store DIR"
            }
            Self::Measures | Self::History | Self::Degrees | Self::Moved | Self::MovedHistory => {
                "cookstudy measures --store DIR"
            }
        }
    }
}

/// What ingesting gives beside the readings.
#[derive(Debug, Clone, Copy)]
pub struct Ingested<'a> {
    /// The events.
    pub events: &'a [Event],
    /// The scores.
    pub scores: &'a [Score],
    /// What was rejected.
    pub rejected: &'a [RejectedRow],
    /// How each log was read.
    pub sources: &'a [SourceRecord],
    /// The cooks.
    pub cooks: &'a [CookRecord],
}

/// Tables as the bytes of their files, by path.
#[derive(Debug)]
pub struct EncodedTables(Vec<(PathBuf, Vec<u8>)>);

impl EncodedTables {
    /// Whether the files hold just this already.
    pub fn are_there(&self) -> bool {
        self.0.iter().all(|(path, bytes)| holds(path, bytes))
    }

    /// Where they lie.
    pub fn paths(&self) -> impl Iterator<Item = &PathBuf> {
        self.0.iter().map(|(path, _)| path)
    }

    /// Writes them; false where the files held just this already.
    ///
    /// # Errors
    /// [`StoreError::Io`].
    pub fn write(&self) -> Result<bool, StoreError> {
        let mut changed = false;
        for (path, bytes) in &self.0 {
            changed |= write_atomically(path, bytes)?;
        }
        Ok(changed)
    }
}

impl Store {
    /// Where a table lies.
    pub fn table_path(&self, name: TableName) -> PathBuf {
        self.root.join(format!("{}.parquet", name.as_str()))
    }

    /// Whether a table is there.
    pub fn has_table(&self, name: TableName) -> bool {
        self.table_path(name).is_file()
    }

    /// Reads a table.
    ///
    /// # Errors
    /// [`StoreError::MissingTable`] names the command that makes it.
    pub fn read_table(&self, name: TableName) -> Result<Table, StoreError> {
        let path = self.table_path(name);
        if !path.is_file() {
            return Err(StoreError::MissingTable { path, command: name.made_by() });
        }
        read_parquet_table(&path)
    }

    /// The program and version that wrote the cooks, where the file says so.
    ///
    /// # Errors
    /// As [`Store::read_table`].
    pub fn written_by(&self) -> Result<Option<String>, StoreError> {
        let path = self.table_path(TableName::Cooks);
        if !path.is_file() {
            return Err(StoreError::MissingTable { path, command: TableName::Cooks.made_by() });
        }
        written_by(&path)
    }

    /// The tables that tell where everything comes from, as the bytes of their files. The table
    /// that the others hang on is the last.
    ///
    /// # Errors
    /// [`StoreError::Parquet`].
    pub fn encode_ingested(&self, ingested: Ingested<'_>) -> Result<EncodedTables, StoreError> {
        let Ingested { events, scores, rejected, sources, cooks } = ingested;
        let tables = [
            (TableName::Events, events_to_table(events)),
            (TableName::Scores, scores_to_table(scores)),
            (TableName::Rejected, rejected_to_table(rejected)),
            (TableName::Sources, sources_to_table(sources)),
            (TableName::Cooks, cooks_to_table(cooks)),
        ];
        let encoded = tables.iter().map(|(name, table)| {
            let path = self.table_path(*name);
            let bytes = table.to_parquet(&path)?;
            Ok((path, bytes))
        });
        Ok(EncodedTables(encoded.collect::<Result<_, StoreError>>()?))
    }

    /// Writes a table; false where the store already held exactly this.
    pub fn write_table(&self, name: TableName, table: &Table) -> Result<bool, StoreError> {
        table.write(&self.table_path(name))
    }

    /// Reads the cooks.
    pub fn read_cooks(&self) -> Result<Vec<CookRecord>, StoreError> {
        let table = self.read_table(TableName::Cooks)?;
        cooks_from_table(&table)
            .map_err(|error| StoreError::rows(&self.table_path(TableName::Cooks), error))
    }

    /// Reads the events.
    pub fn read_events(&self) -> Result<Vec<Event>, StoreError> {
        let path = self.table_path(TableName::Events);
        let table = self.read_table(TableName::Events)?;
        events_from_table(&table).map_err(|error| StoreError::rows(&path, error))
    }

    /// Reads what was rejected.
    pub fn read_rejected(&self) -> Result<Vec<RejectedRow>, StoreError> {
        let path = self.table_path(TableName::Rejected);
        let table = self.read_table(TableName::Rejected)?;
        let text = |column| table.text(&path, column);
        let (source, column) = (text(rejected::SOURCE)?, text(rejected::COLUMN)?);
        let (code, content) = (text(rejected::CODE)?, text(rejected::TEXT)?);
        let (line, byte) =
            (table.integers(&path, rejected::LINE)?, table.integers(&path, rejected::BYTE)?);
        (0..table.rows())
            .map(|row| {
                Ok(RejectedRow {
                    source: required(&path, rejected::SOURCE, source[row].clone())?,
                    line: natural(&path, rejected::LINE, line[row])?,
                    byte: natural(&path, rejected::BYTE, byte[row])?,
                    column: column[row].clone(),
                    code: required(&path, rejected::CODE, code[row].clone())?,
                    text: content[row].clone().unwrap_or_default(),
                })
            })
            .collect()
    }

    /// Reads how each log was read. The evidence is JSON text.
    pub fn read_sources(&self) -> Result<Vec<SourceRecord>, StoreError> {
        let path = self.table_path(TableName::Sources);
        let table = self.read_table(TableName::Sources)?;
        let (files, hashes) =
            (table.text(&path, sources::PATH)?, table.text(&path, sources::CONTENT_HASH)?);
        let (layouts, evidence) =
            (table.text(&path, sources::LAYOUT)?, table.text(&path, sources::EVIDENCE)?);
        (0..table.rows())
            .map(|row| {
                let mut account = LineAccount::default();
                for (column, of) in ACCOUNT {
                    *of(&mut account) =
                        natural(&path, column, table.integers(&path, column)?[row])?;
                }
                let text = required(&path, sources::EVIDENCE, evidence[row].as_ref())?;
                let evidence: Vec<Evidence> = serde_json::from_str(text).map_err(|e| {
                    StoreError::column(&path, sources::EVIDENCE.name, e.to_string())
                })?;
                Ok(SourceRecord {
                    path: required(&path, sources::PATH, files[row].clone())?,
                    content_hash: required(&path, sources::CONTENT_HASH, hashes[row].clone())?,
                    layout: required(&path, sources::LAYOUT, layouts[row].clone())?,
                    evidence,
                    account,
                })
            })
            .collect()
    }
}

/// What was rejected as a table: one row a line or cell.
pub fn rejected_to_table(rows: &[RejectedRow]) -> Table {
    let text = |of: fn(&RejectedRow) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let int = |of: fn(&RejectedRow) -> u64| {
        Column::Int(rows.iter().map(|row| i64::try_from(of(row)).ok()).collect())
    };
    Table::new()
        .with(rejected::SOURCE, text(|r| Some(r.source.clone())))
        .with(rejected::LINE, int(|r| r.line))
        .with(rejected::BYTE, int(|r| r.byte))
        .with(rejected::COLUMN, text(|r| r.column.clone()))
        .with(rejected::CODE, text(|r| Some(r.code.clone())))
        .with(rejected::TEXT, text(|r| Some(r.text.clone())))
}

pub(crate) fn sources_to_table(sources: &[SourceRecord]) -> Table {
    let text = |of: &dyn Fn(&SourceRecord) -> String| {
        Column::Text(sources.iter().map(|source| Some(of(source))).collect())
    };
    let mut table = Table::new()
        .with(sources::PATH, text(&|s| s.path.clone()))
        .with(sources::CONTENT_HASH, text(&|s| s.content_hash.clone()))
        .with(sources::LAYOUT, text(&|s| s.layout.clone()))
        .with(sources::EVIDENCE, text(&|s| serde_json::to_string(&s.evidence).unwrap_or_default()));
    for (column, of) in ACCOUNT {
        let counts = sources.iter().map(|s| i64::try_from(*of(&mut s.account.clone())).ok());
        table.push(column, Column::Int(counts.collect()));
    }
    table
}

/// The counts of a line account, by column.
type Count = fn(&mut LineAccount) -> &mut u64;
const ACCOUNT: [(Description, Count); 10] = [
    (sources::LINES, |a| &mut a.lines),
    (sources::PREAMBLE_LINES, |a| &mut a.preamble),
    (sources::HEADER_LINES, |a| &mut a.header),
    (sources::BLANK_LINES, |a| &mut a.blank),
    (sources::DATA_LINES, |a| &mut a.data),
    (sources::REJECTED_LINES, |a| &mut a.rejected),
    (sources::FOOTER_LINES, |a| &mut a.footer),
    (sources::READINGS, |a| &mut a.readings),
    (sources::MISSING_CELLS, |a| &mut a.missing),
    (sources::REJECTED_CELLS, |a| &mut a.rejected_cells),
];

pub(crate) fn required<T>(
    path: &Path,
    column: Description,
    value: Option<T>,
) -> Result<T, StoreError> {
    value.ok_or_else(|| StoreError::column(path, column.name, "has a missing value"))
}

fn natural(path: &Path, column: Description, value: Option<i64>) -> Result<u64, StoreError> {
    u64::try_from(required(path, column, value)?)
        .map_err(|_| StoreError::column(path, column.name, "has a negative count"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{EventKind, Panel};

    #[test]
    fn rows_come_back_as_written() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        let events = vec![Event {
            cook: "a".into(),
            at_ms: 5,
            kind: EventKind::Wrap,
            value: Some("foil".into()),
            note: None,
        }];
        let scores = vec![Score {
            team: None,
            season: "2025".into(),
            contest: None,
            date: Some("2025-05-03".into()),
            category: Some("chicken".into()),
            cook: None,
            panel: Panel::Tasters,
            judge: Some("Vera".into()),
            attribute: "taste".into(),
            value: 7.5,
            blind: None,
            note: None,
        }];
        let rejected = vec![RejectedRow {
            source: "logs/a.csv".into(),
            line: 7,
            byte: 180,
            column: Some("Pit".into()),
            code: "bad-number".into(),
            text: "2x5".into(),
        }];
        let sources = vec![SourceRecord {
            path: "logs/a.csv".into(),
            content_hash: "00".into(),
            layout: "detected".into(),
            evidence: vec![Evidence {
                what: "delimiter".into(),
                taken_as: "comma".into(),
                because: "every line has 3 fields".into(),
                setting: "delimiter".into(),
            }],
            account: LineAccount {
                lines: 3,
                header: 1,
                data: 2,
                readings: 4,
                ..Default::default()
            },
        }];
        let ingested = Ingested {
            events: &events,
            scores: &scores,
            rejected: &rejected,
            sources: &sources,
            cooks: &[],
        };
        let encoded = store.encode_ingested(ingested).unwrap();
        assert!(!encoded.are_there() && encoded.write().unwrap());
        assert!(encoded.are_there() && !encoded.write().unwrap());
        assert_eq!(store.read_events().unwrap(), events);
        assert_eq!(store.read_scores().unwrap(), scores);
        assert_eq!(store.read_rejected().unwrap(), rejected);
        assert_eq!(store.read_sources().unwrap(), sources);
        assert_eq!(store.read_cooks().unwrap(), Vec::new());
    }

    #[test]
    fn a_missing_table_names_the_command_that_makes_it() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        let error = store.read_table(TableName::Phases).unwrap_err().to_string();
        assert!(error.contains("cookstudy phases --store"), "{error}");
    }
}
