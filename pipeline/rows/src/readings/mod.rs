//! Readings as Arrow record batches, in and out.
//!
//! A batch has one row a reading; the rows of a cook lie together, and within it those of a channel.

mod decode;
mod unit;
mod words;

pub use decode::{BatchCook, CooksOfBatches, ReadingsRows};
pub use unit::expect_celsius;
pub use words::Words;

use crate::arrow::instant_type;
use arrow_array::builder::StringDictionaryBuilder;
use arrow_array::types::Int32Type;
use arrow_array::{
    ArrayRef, Float32Array, Int64Array, RecordBatch, TimestampMicrosecondArray, UInt32Array,
};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use cook::CookReadings;
use std::sync::Arc;

/// Columns that readings must have.
pub const REQUIRED: [&str; 5] = ["cook", "channel", "role", "at", "temp_c"];

/// Names and Arrow types of the columns of readings, as a store has them.
pub fn fields() -> Vec<Field> {
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

/// Readings of cooks as one batch of the columns of [`fields`].
///
/// # Errors
/// More words in a column than a dictionary takes.
pub fn to_batch(cooks: &[CookReadings]) -> Result<RecordBatch, ArrowError> {
    let [mut names, mut channels, mut roles, mut flags, mut sources]: [StringDictionaryBuilder<
        Int32Type,
    >; 5] = Default::default();
    let (mut at, mut elapsed) = (Vec::new(), Vec::new());
    let (mut temperatures, mut lines) = (Vec::new(), Vec::new());
    for readings in cooks {
        let zero = readings.first_ms().unwrap_or(0);
        for channel in &readings.channels {
            names.append_n(&readings.cook, channel.len())?;
            channels.append_n(&channel.name, channel.len())?;
            roles.append_n(channel.role.as_str(), channel.len())?;
            for flag in &channel.flag {
                flags.append(flag.as_str())?;
            }
            for source in &channel.source {
                sources
                    .append(readings.sources.get(*source as usize).map_or("", String::as_str))?;
            }
            at.extend(channel.at_ms.iter().map(|ms| ms.saturating_mul(1000)));
            elapsed.extend(channel.at_ms.iter().map(|ms| ms - zero));
            temperatures.extend_from_slice(&channel.temp_c);
            lines.extend_from_slice(&channel.line);
        }
    }
    let columns: Vec<ArrayRef> = vec![
        Arc::new(names.finish()),
        Arc::new(channels.finish()),
        Arc::new(roles.finish()),
        Arc::new(TimestampMicrosecondArray::from(at).with_timezone("UTC")),
        Arc::new(Int64Array::from(elapsed)),
        Arc::new(Float32Array::from(temperatures)),
        Arc::new(flags.finish()),
        Arc::new(sources.finish()),
        Arc::new(UInt32Array::from(lines)),
    ];
    RecordBatch::try_new(Arc::new(Schema::new(fields())), columns)
}

#[cfg(test)]
mod tests;
