//! What each moved constant of the phase definition makes of a cook.
//!
//! `moved` has a row a cook and setting: when its stalls begin and end, and the measures that the
//! constants can move. `moved_history` has the rows of `history`, with two columns a setting: whether
//! the meat is in a stall, and its heating coefficient (but for the share of the reference, which
//! moves none). All other measures, and the study clock, are the same under every setting.

use crate::error::RowsError;
use crate::typed::{Typed, required};
use columns::history::{IN_STALL, K_PER_H};
use columns::tables::moved as own;
use columns::{Column, Description, Table, Value};
use measures::MeasureRow;
use phases::{Judgement, MovedConstant, StallSeen};
use std::collections::HashMap;

/// The measures that the moved constants can move.
pub(crate) fn measures_moved() -> impl Iterator<Item = Description> {
    let named = |column: &&Description| columns::names::is_measure(column.name);
    own::ALL.iter().filter(named).filter(|column| column.name != own::COOK.name).copied()
}

/// One cook under one setting.
#[derive(Debug)]
pub(crate) struct Moved {
    constant: MovedConstant,
    to: f64,
    seen: Option<StallSeen>,
    /// Parallel to [`measures_moved`].
    measures: Vec<Value>,
    /// At each row of the history; empty where nothing was judged by this setting.
    k_per_h: Vec<Option<f64>>,
    in_stall: Vec<Option<bool>>,
}

impl Moved {
    pub(crate) fn of(
        constant: MovedConstant,
        to: f64,
        row: &MeasureRow,
        judgement: &Judgement,
        history_at_ms: impl Iterator<Item = i64>,
    ) -> Self {
        let cells = row.known.cells().into_iter();
        let mut cells: HashMap<&str, Value> =
            cells.map(|(column, value)| (column.name, value)).collect();
        let heating = &judgement.heating;
        let judged = judgement.not_judged.is_none();
        let (k_per_h, in_stall) = history_at_ms
            .map(|at_ms| {
                let index = heating.index_at(at_ms);
                let k = index.map(|index| heating.k_per_h[index]);
                let stalls = index.filter(|_| judged).map(|index| heating.in_stall[index]);
                (k.filter(|k| k.is_finite()), stalls)
            })
            .unzip();
        Self {
            constant,
            to,
            seen: Some(StallSeen::of(judgement)),
            measures: measures_moved()
                .map(|column| cells.remove(column.name).unwrap_or(Value::Null))
                .collect(),
            k_per_h,
            in_stall,
        }
    }

    /// A setting whose constants contradict each other: nothing is judged by it.
    pub(crate) fn contradicted(constant: MovedConstant, to: f64) -> Self {
        Self {
            constant,
            to,
            seen: None,
            measures: vec![Value::Null; measures_moved().count()],
            k_per_h: Vec::new(),
            in_stall: Vec::new(),
        }
    }
}

/// Every setting: a constant and what it is moved to.
fn settings() -> impl Iterator<Item = (MovedConstant, f64)> {
    MovedConstant::ALL.into_iter().flat_map(|constant| constant.range().map(|to| (constant, to)))
}

/// Whether a constant moves the heating coefficient.
fn moves_k(constant: MovedConstant) -> bool {
    constant != MovedConstant::StallFraction
}

/// Name of a column of the moved history: `k_per_h_smoothing_min_10`.
fn history_column(of: Description, (constant, to): (MovedConstant, f64)) -> String {
    format!("{}_{}_{}", of.name, constant.as_str(), to.to_string().replace('.', "_"))
}

/// The rows of `moved` of one cook.
pub(crate) fn table(cook: &str, moved: &[Moved]) -> Table {
    let instant = |of: fn(&StallSeen) -> Option<i64>| {
        Column::Instant(moved.iter().map(|row| of(row.seen.as_ref()?)).collect())
    };
    let mut table = Table::new()
        .with(own::COOK, Column::Text(vec![Some(cook.to_owned()); moved.len()]))
        .with(
            own::CONSTANT,
            Column::Text(moved.iter().map(|row| Some(row.constant.as_str().to_owned())).collect()),
        )
        .with(own::MOVED_TO, Column::Float(moved.iter().map(|row| Some(row.to)).collect()))
        .with(own::STALL_START_AT, instant(|seen| seen.start_ms))
        .with(own::STALL_END_AT, instant(|seen| seen.end_ms));
    for (index, column) in measures_moved().enumerate() {
        let values = moved.iter().map(|row| row.measures[index].clone());
        table.push(column.name, column.kind.column(values));
    }
    table
}

/// The rows of `moved_history` of one cook: those of its history, at `minutes` of the study clock.
pub(crate) fn history_table(cook: &str, minutes: &[i64], moved: &[Moved]) -> Table {
    let rows = minutes.len();
    let mut table = Table::new()
        .with("cook", Column::Text(vec![Some(cook.to_owned()); rows]))
        .with("minute", Column::Int(minutes.iter().copied().map(Some).collect()));
    for setting in settings() {
        let of = moved.iter().find(|row| (row.constant, row.to) == setting);
        let filled = of.filter(|row| row.in_stall.len() == rows);
        let in_stall = filled.map_or(vec![None; rows], |row| row.in_stall.clone());
        table.push(history_column(IN_STALL, setting), Column::Bool(in_stall));
        if moves_k(setting.0) {
            let k = filled.map_or(vec![None; rows], |row| row.k_per_h.clone());
            table.push(history_column(K_PER_H, setting), Column::Float(k));
        }
    }
    table
}

/// One cook's stalls under one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedStall {
    /// The cook.
    pub cook: String,
    /// The constant that was moved.
    pub constant: MovedConstant,
    /// What it was moved to.
    pub to: f64,
    /// Its stalls then.
    pub seen: StallSeen,
}

/// Reads the stalls of every cook and setting from the table `moved`.
///
/// # Errors
/// A column that is missing or of another kind; a constant that nobody moves.
pub fn moved_stalls(moved: &Table) -> Result<Vec<MovedStall>, RowsError> {
    let (cooks, constants) = (moved.text(own::COOK)?, moved.text(own::CONSTANT)?);
    let (to, stalls) = (moved.floats(own::MOVED_TO)?, moved.integers(own::STALLS)?);
    let (start, end) = (moved.instants(own::STALL_START_AT)?, moved.instants(own::STALL_END_AT)?);
    let minutes = moved.floats(own::STALL_MIN)?;
    (0..moved.rows())
        .map(|row| {
            let word = required(own::CONSTANT, row, constants[row].as_deref())?;
            let constant = MovedConstant::ALL.into_iter().find(|c| c.as_str() == word);
            Ok(MovedStall {
                cook: required(own::COOK, row, cooks[row].clone())?,
                constant: constant.ok_or_else(|| {
                    RowsError::column(
                        own::CONSTANT,
                        format!("`{word}` is no constant that is moved"),
                    )
                })?,
                to: required(own::MOVED_TO, row, to[row])?,
                seen: StallSeen {
                    stalls: stalls[row].and_then(|stalls| usize::try_from(stalls).ok()),
                    start_ms: start[row],
                    end_ms: end[row],
                    stall_min: minutes[row],
                },
            })
        })
        .collect()
}

/// The cooks of a season under one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedSeason {
    /// Which constant, and to what.
    pub name: String,
    /// Their measures.
    pub measures: Table,
    /// Their history.
    pub history: Table,
}

/// Measures and history under every setting: the tables of the season's own definition with what the
/// setting moves put in place.
///
/// # Errors
/// A column that is missing or of another kind; a moved history of other rows than the history.
pub fn moved_seasons(
    measures: &Table,
    history: &Table,
    moved: &Table,
    moved_history: &Table,
) -> Result<Vec<MovedSeason>, RowsError> {
    let same_rows =
        ["cook", "minute"].iter().all(|name| history.column(name) == moved_history.column(name));
    if !same_rows {
        return Err(RowsError::column("minute", "is not that of the history"));
    }
    let cooks = measures.text(own::COOK)?;
    let (moved_cooks, constants) = (moved.text(own::COOK)?, moved.text(own::CONSTANT)?);
    let to = moved.floats(own::MOVED_TO)?;
    settings()
        .map(|setting| {
            let (constant, value) = setting;
            // The row of `moved` that a cook has under this setting.
            let places: HashMap<&str, usize> = (0..moved.rows())
                .filter(|&row| {
                    constants[row].as_deref() == Some(constant.as_str()) && to[row] == Some(value)
                })
                .filter_map(|row| Some((moved_cooks[row].as_deref()?, row)))
                .collect();
            let place_of: Vec<Option<usize>> =
                cooks.iter().map(|cook| places.get(cook.as_deref()?).copied()).collect();
            let mut measures = measures.clone();
            for Description { name, .. } in measures_moved() {
                let (Some(own), Some(other)) = (measures.column(name), moved.column(name)) else {
                    return Err(RowsError::column(name, "is missing"));
                };
                let put = put_in_place(own, other, &place_of)
                    .ok_or_else(|| RowsError::column(name, "is of another kind"))?;
                measures.set(name, put);
            }
            let mut history = history.clone();
            let column_of = |of: Description| {
                let name = history_column(of, setting);
                let column = moved_history.column(&name).cloned();
                column.ok_or_else(|| RowsError::column(name, "is missing"))
            };
            history.set(IN_STALL.name, column_of(IN_STALL)?);
            if moves_k(constant) {
                history.set(K_PER_H.name, column_of(K_PER_H)?);
            }
            Ok(MovedSeason { name: format!("{} {value}", constant.as_str()), measures, history })
        })
        .collect()
}

/// A column with the values of another in the rows that have a place there.
fn put_in_place(own: &Column, other: &Column, place_of: &[Option<usize>]) -> Option<Column> {
    fn put<T: Clone>(own: &[T], other: &[T], place_of: &[Option<usize>]) -> Vec<T> {
        let rows = own.iter().zip(place_of);
        rows.map(|(own, place)| place.map_or(own, |place| &other[place]).clone()).collect()
    }
    Some(match (own, other) {
        (Column::Text(a), Column::Text(b)) => Column::Text(put(a, b, place_of)),
        (Column::Float(a), Column::Float(b)) => Column::Float(put(a, b, place_of)),
        (Column::Int(a), Column::Int(b)) => Column::Int(put(a, b, place_of)),
        (Column::Bool(a), Column::Bool(b)) => Column::Bool(put(a, b, place_of)),
        _ => return None,
    })
}
