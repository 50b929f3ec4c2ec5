//! Tables as Arrow record batches, the form in which other programs take them.

use crate::error::RowsError;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Date64Type, Decimal32Type, Decimal64Type, Decimal128Type, Float16Type, Float32Type,
    Float64Type, Int8Type, Int16Type, Int32Type, Int64Type, TimestampMicrosecondType,
    TimestampMillisecondType, TimestampNanosecondType, TimestampSecondType, UInt8Type, UInt16Type,
    UInt32Type, UInt64Type,
};
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray,
    TimestampMicrosecondArray,
};
use arrow_schema::{ArrowError, DataType, Field, Schema, TimeUnit};
use columns::{Column, Table};
use std::sync::Arc;

/// A table as a record batch; every column may have missing values.
///
/// # Errors
/// Columns of unequal length, which no [`Table`] has.
pub fn to_batch(table: &Table) -> Result<RecordBatch, ArrowError> {
    let arrays = table.columns().iter().map(|(_, column)| to_array(column)).collect();
    RecordBatch::try_new(Arc::new(schema(table)), arrays)
}

/// The schema of a table.
pub fn schema(table: &Table) -> Schema {
    let fields: Vec<Field> = table
        .columns()
        .iter()
        .map(|(name, column)| Field::new(name, data_type(column), true))
        .collect();
    Schema::new(fields)
}

/// Record batches of one schema as a table: our own and other programs'.
///
/// Integers of every width become [`Column::Int`], floats and decimals [`Column::Float`], text and
/// dictionaries of text [`Column::Text`], timestamps [`Column::Instant`], dates ISO text.
///
/// # Errors
/// A nested or otherwise unknown type; two columns of one name; a whole number or an instant beyond what
/// those columns hold, with its row.
pub fn from_batches(schema: &Schema, batches: &[RecordBatch]) -> Result<Table, RowsError> {
    let mut table = Table::new();
    for (index, field) in schema.fields().iter().enumerate() {
        let name = field.name();
        if table.column(name).is_some() {
            return Err(RowsError::column(name, "is there twice"));
        }
        let unknown = || {
            let found = field.data_type();
            RowsError::column(
                name,
                format!("has the type {found}; only numbers, text, yes/no and times are read"),
            )
        };
        let mut column = empty_column(field.data_type()).ok_or_else(unknown)?;
        for batch in batches {
            let before = column.len() as u64;
            append(&mut column, batch.column(index).as_ref()).map_err(|unfit| match unfit {
                Unfit::Type => unknown(),
                Unfit::Value(row, said) => {
                    RowsError::column(name, said).at_row(before + row as u64 + 1)
                }
            })?;
        }
        table.push(name, column);
    }
    Ok(table)
}

/// Why a column does not take an array.
enum Unfit {
    /// Its type is another.
    Type,
    /// A value does not fit: its place, and what to say of it.
    Value(usize, String),
}

/// Instants that every calendar has, ms UTC: 0000-01-01T00:00Z to 9999-12-30T22:00Z.
pub(crate) const DATED_MS: std::ops::RangeInclusive<i64> =
    -62_167_219_200_000..=253_402_207_200_000;

/// What is said of an instant beyond them.
pub(crate) const UNDATED: &str = "lies outside the years 0 to 9999";

/// The type of instants: microseconds, since milliseconds with a zone are what some engines do
/// not read.
pub fn instant_type() -> DataType {
    DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()))
}

fn data_type(column: &Column) -> DataType {
    match column {
        Column::Text(_) => DataType::Utf8,
        Column::Float(_) => DataType::Float64,
        Column::Int(_) => DataType::Int64,
        Column::Bool(_) => DataType::Boolean,
        Column::Instant(_) => instant_type(),
    }
}

fn to_array(column: &Column) -> ArrayRef {
    match column {
        Column::Text(v) => Arc::new(v.iter().map(Option::as_deref).collect::<StringArray>()),
        Column::Float(v) => Arc::new(Float64Array::from(v.clone())),
        Column::Int(v) => Arc::new(Int64Array::from(v.clone())),
        Column::Bool(v) => Arc::new(BooleanArray::from(v.clone())),
        Column::Instant(v) => {
            let us = v.iter().map(|ms| ms.map(|ms| ms.saturating_mul(1000)));
            Arc::new(us.collect::<TimestampMicrosecondArray>().with_timezone("UTC"))
        }
    }
}

fn empty_column(data_type: &DataType) -> Option<Column> {
    Some(match data_type {
        DataType::Utf8
        | DataType::LargeUtf8
        | DataType::Utf8View
        | DataType::Date32
        | DataType::Date64 => Column::Text(Vec::new()),
        DataType::Dictionary(_, values) => empty_column(values)?,
        // `Null`: a column of nothing but missing values.
        DataType::Float16
        | DataType::Float32
        | DataType::Float64
        | DataType::Decimal32(..)
        | DataType::Decimal64(..)
        | DataType::Decimal128(..)
        | DataType::Null => Column::Float(Vec::new()),
        DataType::Boolean => Column::Bool(Vec::new()),
        DataType::Timestamp(_, _) => Column::Instant(Vec::new()),
        data_type if data_type.is_integer() => Column::Int(Vec::new()),
        _ => return None,
    })
}

macro_rules! extend_numbers {
    ($out:expr, $array:expr, $kind:ty, $convert:expr) => {{
        $out.extend($array.as_primitive::<$kind>().iter().map(|value| value.map($convert)));
        Some(())
    }};
}

fn append(column: &mut Column, array: &dyn Array) -> Result<(), Unfit> {
    if let DataType::Dictionary(_, _) = array.data_type() {
        let dictionary = array.as_any_dictionary_opt().ok_or(Unfit::Type)?;
        let plain = arrow_select::take::take(dictionary.values(), dictionary.keys(), None);
        return append(column, plain.map_err(|_| Unfit::Type)?.as_ref());
    }
    let appended = match column {
        Column::Text(out) => append_text(out, array),
        Column::Float(out) => append_floats(out, array),
        Column::Int(out) if *array.data_type() == DataType::UInt64 => {
            for (row, value) in array.as_primitive::<UInt64Type>().iter().enumerate() {
                let fits = value.map(i64::try_from).transpose();
                let beyond = |value| Unfit::Value(row, format!("{value} is beyond 64 bits"));
                out.push(fits.map_err(|_| beyond(value.unwrap_or_default()))?);
            }
            Some(())
        }
        Column::Int(out) => append_integers(out, array),
        Column::Bool(out) => array.as_boolean_opt().map(|array| out.extend(array.iter())),
        Column::Instant(out) => {
            let before = out.len();
            let appended = append_instants(out, array);
            let undated = |ms: &Option<i64>| ms.is_some_and(|ms| !DATED_MS.contains(&ms));
            if let Some(row) = out[before..].iter().position(undated) {
                return Err(Unfit::Value(row, UNDATED.to_owned()));
            }
            appended
        }
    };
    appended.ok_or(Unfit::Type)
}

fn append_text(out: &mut Vec<Option<String>>, array: &dyn Array) -> Option<()> {
    match array.data_type() {
        DataType::Utf8 => {
            out.extend(array.as_string::<i32>().iter().map(|v| v.map(str::to_owned)));
        }
        DataType::LargeUtf8 => {
            out.extend(array.as_string::<i64>().iter().map(|v| v.map(str::to_owned)));
        }
        DataType::Utf8View => {
            out.extend(array.as_string_view().iter().map(|v| v.map(str::to_owned)));
        }
        DataType::Date32 => {
            let dates = array.as_primitive::<Date32Type>();
            out.extend(dates.iter().map(|days| days.and_then(iso_date)));
        }
        DataType::Date64 => {
            let dates = array.as_primitive::<Date64Type>();
            let days = |ms: i64| i32::try_from(ms.div_euclid(86_400_000)).ok();
            out.extend(dates.iter().map(|ms| ms.and_then(days).and_then(iso_date)));
        }
        _ => return None,
    }
    Some(())
}

fn append_floats(out: &mut Vec<Option<f64>>, array: &dyn Array) -> Option<()> {
    // Ten to so much is exact.
    let decimal = |scale: i8| move |unscaled: f64| unscaled / 10_f64.powi(i32::from(scale));
    match array.data_type() {
        DataType::Float16 => extend_numbers!(out, array, Float16Type, f64::from),
        DataType::Float32 => extend_numbers!(out, array, Float32Type, f64::from),
        DataType::Float64 => extend_numbers!(out, array, Float64Type, |v| v),
        DataType::Decimal32(_, scale) => {
            let decimal = decimal(*scale);
            extend_numbers!(out, array, Decimal32Type, |v| decimal(f64::from(v)))
        }
        DataType::Decimal64(_, scale) => {
            let decimal = decimal(*scale);
            extend_numbers!(out, array, Decimal64Type, |v| decimal(v as f64))
        }
        DataType::Decimal128(_, scale) => {
            let decimal = decimal(*scale);
            extend_numbers!(out, array, Decimal128Type, |v| decimal(v as f64))
        }
        DataType::Null => {
            out.extend(std::iter::repeat_n(None, array.len()));
            Some(())
        }
        _ => None,
    }
}

fn append_integers(out: &mut Vec<Option<i64>>, array: &dyn Array) -> Option<()> {
    match array.data_type() {
        DataType::Int8 => extend_numbers!(out, array, Int8Type, i64::from),
        DataType::Int16 => extend_numbers!(out, array, Int16Type, i64::from),
        DataType::Int32 => extend_numbers!(out, array, Int32Type, i64::from),
        DataType::Int64 => extend_numbers!(out, array, Int64Type, |v| v),
        DataType::UInt8 => extend_numbers!(out, array, UInt8Type, i64::from),
        DataType::UInt16 => extend_numbers!(out, array, UInt16Type, i64::from),
        DataType::UInt32 => extend_numbers!(out, array, UInt32Type, i64::from),
        _ => None,
    }
}

/// The keys of a dictionary, by row; `None` where a row has none, or one that is no place.
pub(crate) fn places(keys: &dyn Array) -> Vec<Option<usize>> {
    let mut whole = Vec::with_capacity(keys.len());
    if *keys.data_type() == DataType::UInt64 {
        let keys = keys.as_primitive::<UInt64Type>().iter();
        return keys.map(|key| usize::try_from(key?).ok()).collect();
    }
    let known = append_integers(&mut whole, keys);
    debug_assert!(known.is_some(), "keys are whole numbers");
    whole.into_iter().map(|key| usize::try_from(key?).ok()).collect()
}

fn append_instants(out: &mut Vec<Option<i64>>, array: &dyn Array) -> Option<()> {
    match array.data_type() {
        DataType::Timestamp(TimeUnit::Second, _) => {
            extend_numbers!(out, array, TimestampSecondType, |v: i64| v.saturating_mul(1000))
        }
        DataType::Timestamp(TimeUnit::Millisecond, _) => {
            extend_numbers!(out, array, TimestampMillisecondType, |v| v)
        }
        DataType::Timestamp(TimeUnit::Microsecond, _) => {
            extend_numbers!(out, array, TimestampMicrosecondType, |v: i64| v.div_euclid(1000))
        }
        DataType::Timestamp(TimeUnit::Nanosecond, _) => {
            extend_numbers!(out, array, TimestampNanosecondType, |v: i64| v.div_euclid(1_000_000))
        }
        _ => None,
    }
}

/// Days since 1970-01-01 as an ISO date; `None` outside the calendar's years.
fn iso_date(days: i32) -> Option<String> {
    let epoch = jiff::civil::date(1970, 1, 1);
    let date = epoch.checked_add(jiff::Span::new().try_days(days).ok()?).ok()?;
    Some(date.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_comes_back_from_its_batches_wherever_they_are_cut() {
        let table = Table::new()
            .with("name", Column::Text(vec![Some("a".into()), None, Some("c".into())]))
            .with("weight", Column::Float(vec![Some(5.5), None, Some(f64::MIN)]))
            .with("stalls", Column::Int(vec![None, Some(2), Some(-1)]))
            .with("wrapped", Column::Bool(vec![Some(true), None, Some(false)]))
            .with("at", Column::Instant(vec![Some(1_700_000_000_123), None, Some(0)]));
        let batch = to_batch(&table).unwrap();
        assert_eq!(from_batches(&batch.schema(), std::slice::from_ref(&batch)).unwrap(), table);
        for cut in 0..=3 {
            let parts = [batch.slice(0, cut), batch.slice(cut, 3 - cut)];
            assert_eq!(from_batches(&batch.schema(), &parts).unwrap(), table);
        }
        let none = from_batches(&batch.schema(), &[]).unwrap();
        assert_eq!((none.rows(), none.columns().len()), (0, 5));
    }

    #[test]
    fn a_type_that_no_column_has_is_said() {
        let list = DataType::List(Arc::new(Field::new("item", DataType::Int64, true)));
        let schema = Schema::new(vec![Field::new("tags", list, true)]);
        let error = from_batches(&schema, &[]).unwrap_err().to_string();
        assert!(error.contains("column `tags`: has the type"), "{error}");
    }

    #[test]
    fn a_value_that_no_column_holds_is_said_with_its_row() {
        let error = |array: ArrayRef| {
            let schema = Schema::new(vec![Field::new("x", array.data_type().clone(), true)]);
            let batch = RecordBatch::try_new(Arc::new(schema.clone()), vec![array]).unwrap();
            let batches = [batch.slice(0, 1), batch.slice(1, 1)];
            from_batches(&schema, &batches).unwrap_err().to_string()
        };
        let beyond: ArrayRef = Arc::new(arrow_array::UInt64Array::from(vec![1, u64::MAX]));
        assert_eq!(error(beyond), format!("column `x`, row 2: {} is beyond 64 bits", u64::MAX));
        let far = arrow_array::TimestampSecondArray::from(vec![0, i64::MAX]);
        let said = error(Arc::new(far.with_timezone("UTC")));
        assert_eq!(said, format!("column `x`, row 2: {UNDATED}"));
        let edge = |ms: &i64| jiff::Timestamp::from_millisecond(*ms).unwrap().to_string();
        assert_eq!(edge(DATED_MS.start()), "0000-01-01T00:00:00Z");
        assert_eq!(edge(DATED_MS.end()), "9999-12-30T22:00:00Z");
    }

    #[test]
    fn two_columns_of_one_name_are_refused() {
        let field = || Field::new("cut", DataType::Utf8, true);
        let error = from_batches(&Schema::new(vec![field(), field()]), &[]).unwrap_err();
        assert_eq!(error.to_string(), "column `cut`: is there twice");
    }

    #[test]
    fn decimals_are_the_numbers_that_they_read_as() {
        let array = arrow_array::Decimal128Array::from(vec![Some(54), None, Some(-7)]);
        let array: ArrayRef = Arc::new(array.with_precision_and_scale(3, 1).unwrap());
        let schema = Schema::new(vec![Field::new("kg", array.data_type().clone(), true)]);
        let batch = RecordBatch::try_new(Arc::new(schema.clone()), vec![array]).unwrap();
        let table = from_batches(&schema, &[batch]).unwrap();
        let expected = Column::Float(vec![Some(5.4), None, Some(-0.7)]);
        assert_eq!(table.column("kg"), Some(&expected));
    }

    #[test]
    fn days_become_dates() {
        // 2000-03-01 is day 11 017 of the Unix epoch (10 957 to 2000-01-01, plus 60).
        assert_eq!(iso_date(11_017).as_deref(), Some("2000-03-01"));
        assert_eq!(iso_date(0).as_deref(), Some("1970-01-01"));
        assert_eq!(iso_date(-1).as_deref(), Some("1969-12-31"));
    }
}
