//! Readings: one Parquet file a cook.

use crate::Store;
use crate::atomic::write_atomically;
use crate::error::StoreError;
use crate::names::{decode_name, encode_name};
use crate::runs::Runs;
use crate::table::{instant_type, properties, read_batches};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float32Type, Int32Type, Int64Type, TimestampMillisecondType, UInt32Type};
use arrow_array::{
    Array, ArrayRef, Float32Array, Int32Array, Int64Array, RecordBatch, TimestampMillisecondArray,
    UInt32Array,
};
use arrow_schema::{DataType, Field, Schema};
use cook::{ChannelReadings, CookReadings, Flag, Role};
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::compute_leaves;
use parquet::errors::ParquetError;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Names and Arrow types of the columns of a readings file.
pub(crate) fn readings_fields() -> Vec<Field> {
    let word = DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    vec![
        Field::new("cook", word.clone(), false),
        Field::new("channel", word.clone(), false),
        Field::new("role", word.clone(), false),
        Field::new("at", instant_type(), false),
        Field::new("elapsed_ms", DataType::Int64, false),
        Field::new("temp_c", DataType::Float32, false),
        Field::new("flag", word.clone(), false),
        Field::new("source", word, false),
        Field::new("line", DataType::UInt32, false),
    ]
}

impl Store {
    fn readings_folder(&self) -> PathBuf {
        self.root.join("readings")
    }

    /// Where the readings of a cook lie.
    pub fn readings_path(&self, season: &str, cook: &str) -> PathBuf {
        self.readings_folder()
            .join(format!("season={}", encode_name(season)))
            .join(format!("{}.parquet", encode_name(cook)))
    }

    /// The seasons that have a folder, with it.
    fn season_folders(&self) -> Result<Vec<(String, PathBuf)>, StoreError> {
        let folder = self.readings_folder();
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let season = |path: PathBuf| {
            let name = path.file_name()?.to_str()?.strip_prefix("season=").and_then(decode_name)?;
            Some((name, path))
        };
        Ok(list(&folder)?.into_iter().filter_map(season).collect())
    }

    /// The season other than `but` that has readings of this cook.
    fn season_of(&self, cook: &str, but: &str) -> Result<Option<String>, StoreError> {
        let seasons = self.season_folders()?.into_iter().map(|(season, _)| season);
        Ok(seasons
            .filter(|season| season != but)
            .find(|season| self.readings_path(season, cook).is_file()))
    }

    /// Every cook that has readings, with its season, sorted.
    pub fn cooks_with_readings(&self) -> Result<Vec<(String, String)>, StoreError> {
        let mut found = Vec::new();
        for (season, folder) in self.season_folders()? {
            for file in list(&folder)? {
                let name = file.file_name().and_then(|n| n.to_str()).unwrap_or_default();
                if let Some(cook) = name.strip_suffix(".parquet").and_then(decode_name)
                    && !name.starts_with('.')
                {
                    found.push((season.clone(), cook));
                }
            }
        }
        found.sort();
        Ok(found)
    }

    /// Writes one cook's readings; false where the store already held exactly these. For
    /// those of many cooks, [`Store::readings_batch`] is faster.
    ///
    /// # Errors
    /// [`StoreError::Clash`] where another season of the store has a cook of this name.
    pub fn write_readings(&self, readings: &CookReadings) -> Result<bool, StoreError> {
        let (path, bytes) = self.readings_file(readings)?;
        write_atomically(&path, &bytes)
    }

    /// Where a cook's readings go, and the bytes of that file.
    pub(crate) fn readings_file(
        &self,
        readings: &CookReadings,
    ) -> Result<(PathBuf, Vec<u8>), StoreError> {
        if let Some(there) = self.season_of(&readings.cook, &readings.season)? {
            return Err(StoreError::Clash {
                cook: readings.cook.clone(),
                there,
                here: readings.season.clone(),
            });
        }
        let path = self.readings_path(&readings.season, &readings.cook);
        let bytes = to_parquet(readings).map_err(|e| StoreError::parquet(&path, &e))?;
        Ok((path, bytes))
    }

    /// Removes a cook's readings, where there are any.
    pub fn remove_readings(&self, season: &str, cook: &str) -> Result<(), StoreError> {
        let path = self.readings_path(season, cook);
        match std::fs::remove_file(&path) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(StoreError::io(&path, e)),
            _ => Ok(()),
        }
    }

    /// Reads one cook's readings.
    pub fn read_readings(&self, season: &str, cook: &str) -> Result<CookReadings, StoreError> {
        let path = self.readings_path(season, cook);
        let mut readings = CookReadings {
            cook: cook.to_owned(),
            season: season.to_owned(),
            channels: Vec::new(),
            sources: Vec::new(),
        };
        for batch in read_batches(&path)? {
            append_batch(&mut readings, &batch, &path)?;
        }
        Ok(readings)
    }
}

fn list(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    std::fs::read_dir(folder)
        .map_err(|e| StoreError::io(folder, e))?
        .map(|entry| entry.map(|e| e.path()).map_err(|e| StoreError::io(folder, e)))
        .collect()
}

/// Rows that one row group holds.
const ROW_GROUP: usize = 1 << 20;

/// A column of a readings file.
enum Column<'w> {
    Words(Runs<'w>),
    Values(ArrayRef),
}

fn columns(readings: &CookReadings) -> Vec<Column<'_>> {
    let zero = readings.first_ms().unwrap_or(0);
    let rows = readings.len();
    let [mut cook, mut channels, mut roles, mut flags, mut sources]: [Runs<'_>; 5] =
        Default::default();
    let mut at = Vec::with_capacity(rows);
    let mut temperatures = Vec::with_capacity(rows);
    let mut lines = Vec::with_capacity(rows);
    for channel in &readings.channels {
        cook.push(&readings.cook, channel.len());
        channels.push(&channel.name, channel.len());
        roles.push(channel.role.as_str(), channel.len());
        flags.extend(&channel.flag, |flag| flag.as_str());
        sources.extend(&channel.source, |source| {
            readings.sources.get(*source as usize).map_or("", String::as_str)
        });
        at.extend_from_slice(&channel.at_ms);
        temperatures.extend_from_slice(&channel.temp_c);
        lines.extend_from_slice(&channel.line);
    }
    let elapsed: Vec<i64> = at.iter().map(|ms| ms - zero).collect();
    vec![
        Column::Words(cook),
        Column::Words(channels),
        Column::Words(roles),
        Column::Values(Arc::new(TimestampMillisecondArray::from(at).with_timezone("UTC"))),
        Column::Values(Arc::new(Int64Array::from(elapsed))),
        Column::Values(Arc::new(Float32Array::from(temperatures))),
        Column::Words(flags),
        Column::Words(sources),
        Column::Values(Arc::new(UInt32Array::from(lines))),
    ]
}

/// The readings as the bytes of a Parquet file.
fn to_parquet(readings: &CookReadings) -> Result<Vec<u8>, ParquetError> {
    let schema = Arc::new(Schema::new(readings_fields()));
    let columns = columns(readings);
    let rows = readings.len();
    let mut bytes = Vec::new();
    let writer = ArrowWriter::try_new(&mut bytes, schema.clone(), Some(properties(&schema)))?;
    let (mut file, factory) = writer.into_serialized_writer()?;
    let parquet_schema = file.schema_descr().clone();
    for (index, from) in (0..rows).step_by(ROW_GROUP).enumerate() {
        let own = from..rows.min(from + ROW_GROUP);
        let writers = factory.create_column_writers(index)?;
        let mut row_group = file.next_row_group()?;
        for (at, (column, mut writer)) in columns.iter().zip(writers).enumerate() {
            match column {
                Column::Words(runs) => {
                    runs.append_to(&mut row_group, parquet_schema.column(at), &own)?;
                }
                Column::Values(array) => {
                    let part = array.slice(own.start, own.len());
                    for leaf in compute_leaves(schema.field(at), &part)? {
                        writer.write(&leaf)?;
                    }
                    writer.close()?.append_to_row_group(&mut row_group)?;
                }
            }
        }
        row_group.close()?;
    }
    file.close()?;
    Ok(bytes)
}

fn column<'a>(batch: &'a RecordBatch, name: &str, path: &Path) -> Result<&'a ArrayRef, StoreError> {
    batch.column_by_name(name).ok_or_else(|| StoreError::column(path, name, "is missing"))
}

/// Keys and words of a dictionary column.
fn words<'a>(
    batch: &'a RecordBatch,
    name: &str,
    path: &Path,
) -> Result<(&'a Int32Array, Vec<&'a str>), StoreError> {
    let not_words = || StoreError::column(path, name, "is not a dictionary of words");
    let dictionary =
        column(batch, name, path)?.as_dictionary_opt::<Int32Type>().ok_or_else(not_words)?;
    let values = dictionary.values().as_string_opt::<i32>().ok_or_else(not_words)?;
    Ok((dictionary.keys(), values.iter().map(Option::unwrap_or_default).collect()))
}

fn append_batch(
    readings: &mut CookReadings,
    batch: &RecordBatch,
    path: &Path,
) -> Result<(), StoreError> {
    let (channel_keys, channel_names) = words(batch, "channel", path)?;
    let (role_keys, roles) = words(batch, "role", path)?;
    let (flag_keys, flags) = words(batch, "flag", path)?;
    let (source_keys, sources) = words(batch, "source", path)?;
    let wrong = |name: &str| StoreError::column(path, name, "is of another type than is written");
    let at = column(batch, "at", path)?
        .as_primitive_opt::<TimestampMillisecondType>()
        .ok_or_else(|| wrong("at"))?;
    let temperature = column(batch, "temp_c", path)?
        .as_primitive_opt::<Float32Type>()
        .ok_or_else(|| wrong("temp_c"))?;
    let line = column(batch, "line", path)?
        .as_primitive_opt::<UInt32Type>()
        .ok_or_else(|| wrong("line"))?;
    column(batch, "elapsed_ms", path)?
        .as_primitive_opt::<Int64Type>()
        .ok_or_else(|| wrong("elapsed_ms"))?;

    let roles: Vec<Role> = roles
        .iter()
        .map(|word| word.parse::<Role>().map_err(|e| StoreError::column(path, "role", e)))
        .collect::<Result<_, _>>()?;
    let flags: Vec<Flag> = flags
        .iter()
        .map(|word| {
            Flag::parse(word)
                .ok_or_else(|| StoreError::column(path, "flag", format!("`{word}` is no flag")))
        })
        .collect::<Result<_, _>>()?;
    let source_index: Vec<u32> = sources
        .iter()
        .map(|word| {
            let known = readings.sources.iter().position(|source| source == word);
            known.unwrap_or_else(|| {
                readings.sources.push((*word).to_owned());
                readings.sources.len() - 1
            }) as u32
        })
        .collect();

    for row in 0..batch.num_rows() {
        let name = channel_names[channel_keys.value(row) as usize];
        let role = roles[role_keys.value(row) as usize];
        // Channels lie one behind the other, so the last one is nearly always the right one.
        let is_it = |c: &ChannelReadings| c.name == name && c.role == role;
        let index = match readings.channels.last() {
            Some(last) if is_it(last) => readings.channels.len() - 1,
            _ => readings.channels.iter().position(is_it).unwrap_or_else(|| {
                readings.channels.push(ChannelReadings::new(name, role));
                readings.channels.len() - 1
            }),
        };
        let channel = &mut readings.channels[index];
        channel.at_ms.push(at.value(row));
        channel.temp_c.push(temperature.value(row));
        channel.flag.push(flags[flag_keys.value(row) as usize]);
        channel.source.push(source_index[source_keys.value(row) as usize]);
        channel.line.push(line.value(row));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cook(season: &str, temperatures: &[f32]) -> CookReadings {
        let mut channels = Vec::new();
        for (name, role) in [("Pit", Role::Pit), ("Flat", Role::Meat)] {
            let mut channel = ChannelReadings::new(name, role);
            for (index, temperature) in temperatures.iter().enumerate() {
                channel.at_ms.push(1_700_000_000_000 + 30_000 * index as i64);
                channel.temp_c.push(*temperature);
                channel.flag.push(if index % 3 == 0 { Flag::Good } else { Flag::Reordered });
                channel.source.push((index % 2) as u32);
                channel.line.push(index as u32 + 2);
            }
            channels.push(channel);
        }
        CookReadings {
            cook: "spring/1 früh".into(),
            season: season.into(),
            channels,
            sources: vec!["logs/a.csv".into(), "logs/b.csv".into()],
        }
    }

    proptest! {
        #[test]
        fn readings_come_back_unchanged(
            temperatures in prop::collection::vec(-40.0f32..300.0, 2..200)
        ) {
            let folder = tempfile::tempdir().unwrap();
            let store = Store::create(folder.path()).unwrap();
            let readings = cook("2025", &temperatures);
            prop_assert!(store.write_readings(&readings).unwrap());
            prop_assert!(!store.write_readings(&readings).unwrap());
            let found = store.cooks_with_readings().unwrap();
            prop_assert_eq!(found, vec![("2025".to_owned(), "spring/1 früh".to_owned())]);
            prop_assert_eq!(store.read_readings("2025", "spring/1 früh").unwrap(), readings);
        }
    }

    #[test]
    fn one_name_in_two_seasons_is_an_error_and_nothing_is_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        store.write_readings(&cook("2024", &[20.0, 21.0])).unwrap();
        let error = store.write_readings(&cook("2025", &[30.0])).unwrap_err();
        assert!(matches!(error, StoreError::Clash { .. }), "{error}");
        assert_eq!(store.cooks_with_readings().unwrap().len(), 1);
    }
}
