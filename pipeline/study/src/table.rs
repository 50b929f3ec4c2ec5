//! Typed columns of the measure table.
//!
//! A table may come from anywhere, so columns can be missing or hold something else than
//! their name promises: every reader names the column, the row and the text that it
//! stumbled over. Rows are handed out in the order of the cooks' names, whatever the order
//! of the file, so that no result depends on it.

use crate::error::StudyError;
use columns::measures;
use columns::{Column, Table, iso_instant};
use cook::trade;
use std::collections::{BTreeMap, HashMap};

/// The measure table: one row a cook.
#[derive(Debug, Clone)]
pub struct MeasureTable {
    frame: Table,
    /// Rows of `frame` in the order of the cooks' names.
    order: Vec<usize>,
    cooks: Vec<String>,
    fires: Vec<usize>,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Numbers.
    Numeric,
    /// Texts, or true and false.
    Text,
}

impl MeasureTable {
    /// Takes a table over. Column `cook` must name every row, once. Without a column
    /// `fire`, and in rows where it is empty, each cook is its own fire.
    ///
    /// # Errors
    /// No column `cook`, an empty or repeated cook.
    pub fn new(frame: &Table) -> Result<Self, StudyError> {
        let mut table = Self {
            frame: frame.clone(),
            order: (0..frame.rows()).collect(),
            cooks: Vec::new(),
            fires: Vec::new(),
        };
        let mut cooks = Vec::with_capacity(frame.rows());
        let mut first_rows = HashMap::new();
        for (row, cook) in table.texts(measures::COOK.name)?.into_iter().enumerate() {
            let cook = cook.ok_or(StudyError::UnnamedCook { row: row + 1 })?;
            if let Some(first) = first_rows.insert(cook.clone(), row + 1) {
                return Err(StudyError::DuplicateCook { cook, first, second: row + 1 });
            }
            cooks.push(cook);
        }
        table.order.sort_by(|&a, &b| cooks[a].cmp(&cooks[b]));
        table.cooks = table.order.iter().map(|&row| cooks[row].clone()).collect();

        let fires = if table.has(measures::FIRE.name) {
            table.texts(measures::FIRE.name)?
        } else {
            vec![None; table.cooks.len()]
        };
        let mut labels: BTreeMap<String, usize> = BTreeMap::new();
        let mut next = 0;
        table.fires = fires
            .into_iter()
            .map(|fire| {
                let mut new_label = || {
                    next += 1;
                    next - 1
                };
                match fire {
                    None => new_label(),
                    Some(fire) => *labels.entry(fire).or_insert_with(new_label),
                }
            })
            .collect();
        Ok(table)
    }

    /// Number of cooks.
    pub fn len(&self) -> usize {
        self.cooks.len()
    }

    /// Whether there are no cooks.
    pub fn is_empty(&self) -> bool {
        self.cooks.is_empty()
    }

    /// The cooks, sorted; all other columns are handed out in this order.
    pub fn cooks(&self) -> &[String] {
        &self.cooks
    }

    /// A number for each cook's fire: cooks of one fire share it.
    pub fn fires(&self) -> &[usize] {
        &self.fires
    }

    /// The names of the columns, in the table's order.
    pub fn column_names(&self) -> impl Iterator<Item = &str> {
        self.frame.names()
    }

    /// Whether there is such a column.
    pub fn has(&self, column: &str) -> bool {
        self.frame.column(column).is_some()
    }

    fn column(&self, column: &str) -> Result<&Column, StudyError> {
        self.frame.column(column).ok_or_else(|| StudyError::MissingColumn {
            column: column.to_owned(),
            why: needed_for(column).to_owned(),
            nearest: cook::settings::nearest(column, self.column_names()),
        })
    }

    /// Puts values that are in the order of the frame into the order of the cooks.
    fn ordered<T: Clone>(&self, values: &[T]) -> Vec<T> {
        self.order.iter().map(|&row| values[row].clone()).collect()
    }

    /// Whether a column holds numbers or texts.
    ///
    /// # Errors
    /// [`StudyError::MissingColumn`].
    pub fn kind(&self, column: &str) -> Result<ColumnKind, StudyError> {
        Ok(match self.column(column)? {
            Column::Float(_) | Column::Int(_) => ColumnKind::Numeric,
            Column::Text(_) | Column::Bool(_) | Column::Instant(_) => ColumnKind::Text,
        })
    }

    /// A column of numbers. Empty, NaN and infinite values are missing; true and false are
    /// 1 and 0; texts are read as numbers.
    ///
    /// # Errors
    /// A missing column, a type that is no number, a text that does not read as one.
    pub fn numbers(&self, column: &str) -> Result<Vec<Option<f64>>, StudyError> {
        const EXPECTED: &str = "numbers";
        let values = match self.column(column)? {
            Column::Text(texts) => texts
                .iter()
                .enumerate()
                .map(|(row, text)| {
                    let Some(text) = stated(text.as_deref()) else { return Ok(None) };
                    let number = text.parse::<f64>().map_err(|_| StudyError::ColumnValue {
                        column: column.to_owned(),
                        expected: EXPECTED,
                        row: row + 1,
                        text: text.to_owned(),
                    })?;
                    Ok(Some(number))
                })
                .collect::<Result<Vec<_>, StudyError>>()?,
            other => other.numbers().ok_or_else(|| wrong_type(column, EXPECTED, other))?,
        };
        let finite: Vec<Option<f64>> =
            values.into_iter().map(|value| value.filter(|value| value.is_finite())).collect();
        Ok(self.ordered(&finite))
    }

    /// A column as texts, trimmed; empty texts are missing. Whole numbers are written
    /// without a point, true and false as such, instants in ISO 8601, UTC.
    ///
    /// # Errors
    /// A missing column.
    pub fn texts(&self, column: &str) -> Result<Vec<Option<String>>, StudyError> {
        let values: Vec<Option<String>> = match self.column(column)? {
            Column::Text(v) => {
                v.iter().map(|text| stated(text.as_deref()).map(str::to_owned)).collect()
            }
            Column::Bool(v) => v.iter().map(|flag| flag.map(|flag| flag.to_string())).collect(),
            Column::Int(v) => v.iter().map(|number| number.map(|n| n.to_string())).collect(),
            Column::Float(v) => v
                .iter()
                .map(|number| number.filter(|n| n.is_finite()).map(|n| n.to_string()))
                .collect(),
            Column::Instant(v) => v.iter().map(|ms| ms.map(iso_instant)).collect(),
        };
        Ok(self.ordered(&values))
    }

    /// A column of true and false; also read are 1 and 0, and the words true, false, yes, no.
    ///
    /// # Errors
    /// A missing column, or a value that is neither.
    pub fn flags(&self, column: &str) -> Result<Vec<Option<bool>>, StudyError> {
        let texts = self.texts(column)?;
        let mut flags = Vec::with_capacity(texts.len());
        for (position, text) in texts.into_iter().enumerate() {
            flags.push(match text.as_deref().map(str::to_lowercase).as_deref() {
                None => None,
                Some("true" | "1" | "yes") => Some(true),
                Some("false" | "0" | "no") => Some(false),
                Some(_) => {
                    return Err(StudyError::ColumnValue {
                        column: column.to_owned(),
                        expected: "true or false",
                        row: self.order[position] + 1,
                        text: text.unwrap_or_default(),
                    });
                }
            });
        }
        Ok(flags)
    }

    /// Like [`MeasureTable::numbers`], but all missing where there is no such column.
    ///
    /// # Errors
    /// As [`MeasureTable::numbers`], save the missing column.
    pub fn numbers_or_missing(&self, column: &str) -> Result<Vec<Option<f64>>, StudyError> {
        if self.has(column) { self.numbers(column) } else { Ok(vec![None; self.len()]) }
    }

    /// Like [`MeasureTable::texts`], but all missing where there is no such column.
    ///
    /// # Errors
    /// As [`MeasureTable::texts`], save the missing column.
    pub fn texts_or_missing(&self, column: &str) -> Result<Vec<Option<String>>, StudyError> {
        if self.has(column) { self.texts(column) } else { Ok(vec![None; self.len()]) }
    }

    /// Why each cook is left out of the analysis, from column `exclude`; `None` is not left
    /// out. A bare yes counts as a reason, a bare no as none.
    ///
    /// # Errors
    /// As [`MeasureTable::texts`], save the missing column.
    pub fn exclusions(&self) -> Result<Vec<Option<String>>, StudyError> {
        let texts = self.texts_or_missing(measures::EXCLUDE.name)?;
        Ok(texts
            .into_iter()
            .map(|text| {
                text.and_then(|text| match trade::yes_or_no(&text) {
                    Some(false) => None,
                    Some(true) => Some("no reason given".to_owned()),
                    None => Some(text),
                })
            })
            .collect())
    }

    /// The positions of the cooks in the order of (meat-on, cook); cooks without a meat-on
    /// come last. Meat-on is `meat_on_ms` (ms UTC), else `meat_on` (the same, or ISO
    /// 8601 text), else `date`.
    ///
    /// # Errors
    /// None of these columns, or a text that is no ISO 8601 date or date-time.
    pub fn by_meat_on(&self) -> Result<Vec<usize>, StudyError> {
        let column = [measures::MEAT_ON_MS.name, "meat_on", measures::DATE.name]
            .into_iter()
            .find(|column| self.has(column))
            .ok_or_else(|| StudyError::MissingColumn {
                column: "meat_on".into(),
                why: needed_for("meat_on").into(),
                nearest: cook::settings::nearest("meat_on", self.column_names()),
            })?;
        let instants = self.instants(column)?;
        let mut positions: Vec<usize> = (0..self.len()).collect();
        positions.sort_by_key(|&position| (instants[position].unwrap_or(i64::MAX), position));
        Ok(positions)
    }

    /// When the meat of each cook went on, ms since 1970; a local time, or a date alone (its midnight), is
    /// read as UTC. `None` where the table does not say.
    ///
    /// # Errors
    /// Text that is no date or date-time.
    pub fn meat_on_ms(&self) -> Result<Vec<Option<i64>>, StudyError> {
        let columns = [measures::MEAT_ON_MS.name, "meat_on", measures::DATE.name];
        match columns.into_iter().find(|column| self.has(column)) {
            Some(column) => self.instants(column),
            None => Ok(vec![None; self.len()]),
        }
    }

    /// A column of instants, in any unit that keeps their order within the column.
    fn instants(&self, column: &str) -> Result<Vec<Option<i64>>, StudyError> {
        const EXPECTED: &str = "ISO 8601 dates or date-times";
        match self.column(column)? {
            Column::Text(_) => {}
            Column::Int(values) | Column::Instant(values) => return Ok(self.ordered(values)),
            // Whole milliseconds that a CSV reader took for decimals are milliseconds all the same.
            Column::Float(_) => {
                let values = self.numbers(column)?;
                return Ok(values.into_iter().map(|ms| ms.map(|ms| ms.round() as i64)).collect());
            }
            other @ Column::Bool(_) => return Err(wrong_type(column, EXPECTED, other)),
        }
        let mut instants = Vec::with_capacity(self.len());
        for (position, text) in self.texts(column)?.into_iter().enumerate() {
            instants.push(match text {
                None => None,
                Some(text) => Some(instant(&text).ok_or_else(|| StudyError::ColumnValue {
                    column: column.to_owned(),
                    expected: EXPECTED,
                    row: self.order[position] + 1,
                    text,
                })?),
            });
        }
        Ok(instants)
    }
}

/// Milliseconds of an instant, or of a local date-time or date read as if it were UTC.
fn instant(text: &str) -> Option<i64> {
    if let Ok(timestamp) = text.parse::<jiff::Timestamp>() {
        return Some(timestamp.as_millisecond());
    }
    text.parse::<jiff::civil::DateTime>()
        .ok()
        .and_then(|local| jiff::tz::TimeZone::UTC.to_timestamp(local).ok())
        .map(jiff::Timestamp::as_millisecond)
}

/// A text without blanks around it; `None` where nothing is left.
fn stated(text: Option<&str>) -> Option<&str> {
    text.map(str::trim).filter(|text| !text.is_empty())
}

fn wrong_type(column: &str, expected: &'static str, found: &Column) -> StudyError {
    StudyError::ColumnType { column: column.to_owned(), expected, found: found.kind().to_owned() }
}

fn needed_for(column: &str) -> &'static str {
    const COOK: &str = measures::COOK.name;
    match column {
        COOK => "it names the cook of each row, once: rename the column that does, or add one",
        "meat_on" => "it puts the confirming cooks in order; `meat_on_ms` or `date` also do",
        _ => "a question asks for it",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    #[test]
    fn rows_come_in_the_order_of_the_cooks() {
        let frame = table!(
            "cook" => ["c", "a", "b"],
            "fire" => [Some("f1"), Some("f2"), Some("f1")],
            "x" => [Some(3i64), None, Some(2)],
        );
        let table = MeasureTable::new(&frame).unwrap();
        assert_eq!(table.cooks(), ["a", "b", "c"]);
        assert_eq!(table.numbers("x").unwrap(), [None, Some(2.0), Some(3.0)]);
        assert_eq!(table.fires()[1], table.fires()[2]);
        assert_ne!(table.fires()[0], table.fires()[1]);
    }

    #[test]
    fn without_a_fire_each_cook_is_its_own() {
        let table = MeasureTable::new(&table!("cook" => ["a", "b"])).unwrap();
        assert_ne!(table.fires()[0], table.fires()[1]);
        let frame = table!("cook" => ["a", "b", "c"], "fire" => [None, None, Some("f")]);
        let fires = MeasureTable::new(&frame).unwrap().fires().to_vec();
        assert!(fires[0] != fires[1] && fires[1] != fires[2] && fires[0] != fires[2]);
    }

    #[test]
    fn cooks_must_be_named_once() {
        let error = |frame: Table| MeasureTable::new(&frame).unwrap_err().to_string();
        assert_eq!(
            error(table!("cooks" => ["a"])),
            "the table has no column `cook` (it names the cook of each row, once: rename the column that does, or add one); did you mean `cooks`?"
        );
        assert!(error(table!("cook" => ["a", " "])).starts_with("row 2 has no value"));
        assert_eq!(
            error(table!("cook" => ["a", "b", "a"])),
            "cook `a` is in the table twice (rows 1 and 3): one row a cook"
        );
    }

    #[test]
    fn values_are_read_whatever_their_type() {
        let frame = table!(
            "cook" => ["b", "a"],
            "text" => ["1.5", ""],
            "float" => [f64::NAN, 2.0],
            "flag" => [true, false],
            "word" => ["Yes", "0"],
            "pit" => [1i32, 2],
            "nothing" => [None::<f64>, None],
            "odd" => ["maybe", "1"],
        );
        let table = MeasureTable::new(&frame).unwrap();
        assert_eq!(table.numbers("text").unwrap(), [None, Some(1.5)]);
        assert_eq!(table.numbers("float").unwrap(), [Some(2.0), None]);
        assert_eq!(table.numbers("flag").unwrap(), [Some(0.0), Some(1.0)]);
        assert_eq!(table.flags("word").unwrap(), [Some(false), Some(true)]);
        assert_eq!(table.texts("pit").unwrap()[0].as_deref(), Some("2"));
        assert_eq!(table.numbers("nothing").unwrap(), [None, None]);
        assert_eq!(table.kind("pit").unwrap(), ColumnKind::Numeric);
        assert_eq!(table.kind("flag").unwrap(), ColumnKind::Text);
        assert_eq!(
            table.numbers("odd").unwrap_err().to_string(),
            "column `odd` should hold numbers, but row 1 has `maybe`"
        );
        assert_eq!(
            table.flags("odd").unwrap_err().to_string(),
            "column `odd` should hold true or false, but row 1 has `maybe`"
        );
        assert_eq!(table.numbers_or_missing("absent").unwrap(), [None, None]);
    }

    #[test]
    fn exclusions_are_reasons() {
        let frame = table!(
            "cook" => ["a", "b", "c", "d"],
            "exclude" => [Some("probe fell out"), None, Some("no"), Some("yes")],
        );
        assert_eq!(
            MeasureTable::new(&frame).unwrap().exclusions().unwrap(),
            [Some("probe fell out".into()), None, None, Some("no reason given".into())]
        );
    }

    #[test]
    fn meat_on_orders_the_cooks() {
        let order = |frame: Table| MeasureTable::new(&frame).unwrap().by_meat_on().unwrap();
        let cooks = ["a", "b", "c", "d"];
        let times = [None, Some("2026-03-02T05:00:00Z"), Some("2026-03-01"), Some("2026-03-01")];
        assert_eq!(order(table!("cook" => cooks, "meat_on" => times)), [2, 3, 1, 0]);
        // Half past one in a zone five hours behind comes after five in the morning UTC.
        let zones = ["2026-03-02T01:30:00-05:00", "2026-03-02T05:00:00Z"];
        assert_eq!(order(table!("cook" => ["a", "b"], "meat_on" => zones)), [1, 0]);
        let instants = [3i64, 2, 1, 0];
        assert_eq!(order(table!("cook" => cooks, "meat_on_ms" => instants)), [3, 2, 1, 0]);
        let bad = table!("cook" => ["a"], "date" => ["last Sunday"]);
        assert_eq!(
            MeasureTable::new(&bad).unwrap().by_meat_on().unwrap_err().to_string(),
            "column `date` should hold ISO 8601 dates or date-times, but row 1 has `last Sunday`"
        );
        let none = MeasureTable::new(&table!("cook" => ["a"])).unwrap();
        assert!(matches!(none.by_meat_on(), Err(StudyError::MissingColumn { .. })));
    }
}
