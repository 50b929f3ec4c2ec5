//! Tables with caption, column heads with units, and reasons for what is missing.

use super::{Block, Drawing, Inlines};

/// Rows shown before the rest of a long table goes into closed parts.
pub(crate) const ROWS_PER_PART: usize = 100;

/// A table. The first cell of a row heads it.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Table {
    /// What it holds; empty only where the heading above says it.
    pub(crate) caption: String,
    pub(crate) columns: Vec<Column>,
    pub(crate) rows: Vec<Vec<Cell>>,
    /// What stands under it; empty for nothing.
    pub(crate) remark: String,
    /// Whether a reader may want to sort and filter its rows.
    pub(crate) is_sortable: bool,
}

impl Table {
    pub(crate) fn new(
        caption: impl Into<String>,
        columns: impl Into<Vec<Column>>,
        rows: Vec<Vec<Cell>>,
    ) -> Self {
        let (caption, columns) = (caption.into(), columns.into());
        Self { caption, columns, rows, ..Self::default() }
    }

    /// The same with something under it.
    pub(crate) fn remark(self, remark: impl Into<String>) -> Self {
        Self { remark: remark.into(), ..self }
    }

    /// The letters of the reasons for what is missing, in the order of the cells; each different
    /// reason once.
    pub(super) fn reasons(&self) -> Vec<(String, &str)> {
        let mut reasons: Vec<(String, &str)> = Vec::new();
        for cell in self.rows.iter().flatten() {
            if let Some(reason) = cell.reason()
                && !reasons.iter().any(|(_, known)| *known == reason)
            {
                reasons.push((letters(reasons.len()), reason));
            }
        }
        reasons
    }
}

impl From<Table> for Block {
    fn from(table: Table) -> Self {
        Self::Table(table)
    }
}

/// `a` … `z`, `aa`, `ab` …
fn letters(place: usize) -> String {
    let letter = char::from(b'a' + (place % 26) as u8);
    match place / 26 {
        0 => letter.to_string(),
        more => letters(more - 1) + &letter.to_string(),
    }
}

/// A column head: name, unit, and whether its cells are numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Column {
    pub(crate) name: String,
    /// Empty for none.
    pub(crate) unit: String,
    pub(crate) is_number: bool,
}

/// A column of words.
pub(crate) fn text(name: impl Into<String>) -> Column {
    Column { name: name.into(), unit: String::new(), is_number: false }
}

/// A column of numbers, with their unit (empty for none).
pub(crate) fn numbers(name: impl Into<String>, unit: &str) -> Column {
    Column { name: name.into(), unit: unit.to_owned(), is_number: true }
}

/// A cell: what it says, or that it is missing and why.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Cell {
    /// None for what is missing.
    pub(crate) text: Option<Inlines>,
    /// Why it is missing; empty where nobody says.
    reason: String,
    /// What stands behind either.
    pub(crate) after: Inlines,
    /// A small drawing in place of the words, which then describe it to those who cannot see it.
    pub(super) drawing: Option<Drawing>,
}

impl Cell {
    /// What is missing, with the reason where one is known.
    pub(crate) fn missing(reason: Option<&str>) -> Self {
        let reason = reason.unwrap_or_default().to_owned();
        Self { text: None, reason, after: Inlines::default(), drawing: None }
    }

    /// The value, or that it is missing and why.
    pub(crate) fn or_missing<T: Into<Inlines>>(value: Option<T>, reason: Option<&str>) -> Self {
        value.map_or_else(|| Self::missing(reason), |value| Self::from(value.into()))
    }

    /// The same with something behind it, there or missing.
    pub(crate) fn followed_by(self, after: impl Into<Inlines>) -> Self {
        Self { after: after.into(), ..self }
    }

    /// A small drawing.
    pub(crate) fn drawn(drawing: Drawing) -> Self {
        let said = Inlines::from(&drawing.description);
        Self { drawing: Some(drawing), ..Self::from(said) }
    }

    /// Why it is missing.
    pub(super) fn reason(&self) -> Option<&str> {
        (self.text.is_none() && !self.reason.is_empty()).then_some(self.reason.as_str())
    }
}

impl From<Inlines> for Cell {
    fn from(text: Inlines) -> Self {
        Self { text: Some(text), reason: String::new(), after: Inlines::default(), drawing: None }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Inlines::from(text).into()
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Inlines::from(text).into()
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Inlines::from(text).into()
    }
}

/// Nothing is a missing value of which nobody says why.
impl<T: Into<Inlines>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        Self::or_missing(value, None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_reasons_share_a_letter_and_letters_go_on_after_z() {
        let missing = |reason| vec![Cell::missing(reason)];
        let rows = [Some("late log"), Some("no pit"), Some("late log"), None].map(missing).to_vec();
        let table = Table::new("x", [text("y")], rows);
        assert_eq!(table.reasons(), [("a".into(), "late log"), ("b".into(), "no pit")]);
        assert_eq!((letters(25), letters(26), letters(27)), ("z".into(), "aa".into(), "ab".into()));
    }
}
