//! A column of words that stand over many rows each.

use crate::arrow::places;
use crate::error::RowsError;
use arrow_array::cast::AsArray;
use arrow_array::types::Int32Type;
use arrow_array::{Array, ArrayRef, RecordBatch};
use arrow_schema::DataType;
use std::borrow::Cow;
use std::collections::HashMap;
use std::ops::Range;

/// A column of words: texts, or a dictionary of them.
#[derive(Debug)]
pub struct Words<'b> {
    /// Place of each row's word; [`MISSING`] where it has none.
    keys: Cow<'b, [i32]>,
    words: Vec<&'b str>,
}

/// The key of a row without a word.
const MISSING: i32 = -1;

impl<'b> Words<'b> {
    /// A column of a batch.
    ///
    /// # Errors
    /// No such column, or one that holds no words.
    pub fn of(batch: &'b RecordBatch, name: &str) -> Result<Self, RowsError> {
        let column = batch
            .column_by_name(name)
            .ok_or_else(|| RowsError::column(name, "is missing (text)"))?;
        Self::of_array(column).ok_or_else(|| RowsError::column(name, "is not text"))
    }

    fn of_array(column: &'b ArrayRef) -> Option<Self> {
        if let Some(dictionary) = column.as_dictionary_opt::<Int32Type>() {
            let words = texts(dictionary.values())?;
            // Nearly every column is such a one: nothing is copied.
            let keys = if dictionary.null_count() == 0 && words.iter().all(Option::is_some) {
                Cow::Borrowed(dictionary.keys().values().as_ref())
            } else {
                let key = |key: Option<i32>| {
                    let is_word = |key: &i32| words.get(*key as usize).is_some_and(Option::is_some);
                    key.filter(is_word).unwrap_or(MISSING)
                };
                dictionary.keys().iter().map(key).collect()
            };
            return Some(Self {
                keys,
                words: words.into_iter().map(Option::unwrap_or_default).collect(),
            });
        }
        if let Some(dictionary) = column.as_any_dictionary_opt() {
            let words = texts(dictionary.values())?;
            let key = |key: Option<usize>| {
                let is_word = |key: &usize| words.get(*key).is_some_and(Option::is_some);
                key.filter(is_word).map_or(MISSING, |key| key as i32)
            };
            let keys = places(dictionary.keys()).into_iter().map(key).collect();
            return Some(Self {
                keys,
                words: words.into_iter().map(Option::unwrap_or_default).collect(),
            });
        }
        Some(Self::interned(&texts(column)?))
    }

    fn interned(texts: &[Option<&'b str>]) -> Self {
        let mut places: HashMap<&str, i32> = HashMap::new();
        let mut words: Vec<&'b str> = Vec::new();
        let mut keys = Vec::with_capacity(texts.len());
        let mut last: Option<(&str, i32)> = None;
        for text in texts {
            let Some(text) = *text else {
                keys.push(MISSING);
                continue;
            };
            let key = match last {
                Some((word, key)) if word == text => key,
                _ => *places.entry(text).or_insert_with(|| {
                    words.push(text);
                    words.len() as i32 - 1
                }),
            };
            last = Some((text, key));
            keys.push(key);
        }
        Self { keys: keys.into(), words }
    }

    /// The word of a row; `None` where it has none.
    pub fn at(&self, row: usize) -> Option<&'b str> {
        self.words.get(self.key(row)?).copied()
    }

    /// The place of a row's word among all words.
    pub(super) fn key(&self, row: usize) -> Option<usize> {
        usize::try_from(self.keys[row]).ok()
    }

    /// All words, by place.
    pub(super) fn all(&self) -> &[&'b str] {
        &self.words
    }

    /// Rows of one word each.
    pub fn runs(&self, rows: Range<usize>) -> impl Iterator<Item = Range<usize>> + '_ {
        let mut end = rows.start;
        self.keys[rows].chunk_by(PartialEq::eq).map(move |run| {
            let start = end;
            end += run.len();
            start..end
        })
    }
}

/// Texts of any of the types that they come in.
fn texts(array: &ArrayRef) -> Option<Vec<Option<&str>>> {
    Some(match array.data_type() {
        DataType::Utf8 => array.as_string::<i32>().iter().collect(),
        DataType::LargeUtf8 => array.as_string::<i64>().iter().collect(),
        DataType::Utf8View => array.as_string_view().iter().collect(),
        _ => return None,
    })
}
