//! Rows that are computed from the readings, in their files.

use crate::Store;
use crate::error::StoreError;
use crate::tables::TableName;
use rows::{
    CookCleaning, CookPhases, MeasuredTables, channels_to_table, cleaning_from_tables,
    flags_to_table, phases_from_table, phases_to_table, warnings_to_table,
};

impl Store {
    /// Writes the phases of every cook.
    pub fn write_phases(&self, cooks: &[CookPhases]) -> Result<bool, StoreError> {
        self.write_table(TableName::Phases, &phases_to_table(cooks))
    }

    /// Reads the phases of every cook.
    pub fn read_phases(&self) -> Result<Vec<CookPhases>, StoreError> {
        let table = self.read_table(TableName::Phases)?;
        phases_from_table(&table)
            .map_err(|error| StoreError::rows(&self.table_path(TableName::Phases), error))
    }

    /// Writes what became of every cook's readings; false where the store held exactly this.
    pub fn write_cleaning(&self, cooks: &[CookCleaning]) -> Result<bool, StoreError> {
        let mut changed = self.write_table(TableName::Flags, &flags_to_table(cooks))?;
        changed |= self.write_table(TableName::Channels, &channels_to_table(cooks))?;
        changed |= self.write_table(TableName::Warnings, &warnings_to_table(cooks))?;
        Ok(changed)
    }

    /// Reads what became of every cook's readings. A cook without channels is not among them.
    pub fn read_cleaning(&self) -> Result<Vec<CookCleaning>, StoreError> {
        let flags = self.read_table(TableName::Flags)?;
        let channels = self.read_table(TableName::Channels)?;
        let warnings = self.read_table(TableName::Warnings)?;
        cleaning_from_tables(&flags, &channels, &warnings)
            .map_err(|error| StoreError::rows(&self.root, error))
    }

    /// Writes measures, history, degrees and moved constants; false where the store held exactly these.
    pub fn write_measured(&self, tables: &MeasuredTables) -> Result<bool, StoreError> {
        let mut changed = self.write_table(TableName::Measures, &tables.measures)?;
        changed |= self.write_table(TableName::History, &tables.history)?;
        changed |= self.write_table(TableName::Degrees, &tables.degrees)?;
        changed |= self.write_table(TableName::Moved, &tables.moved)?;
        changed |= self.write_table(TableName::MovedHistory, &tables.moved_history)?;
        Ok(changed)
    }

    /// Reads measures, history, degrees and moved constants.
    pub fn read_measured(&self) -> Result<MeasuredTables, StoreError> {
        Ok(MeasuredTables {
            measures: self.read_table(TableName::Measures)?,
            history: self.read_table(TableName::History)?,
            degrees: self.read_table(TableName::Degrees)?,
            moved: self.read_table(TableName::Moved)?,
            moved_history: self.read_table(TableName::MovedHistory)?,
        })
    }
}
