//! The degrees of each cook: what heat it was offered for each °C of its core.

use crate::error::StudyError;
use columns::{Column, Table, degrees};
use cook::WrapMethod;
use std::collections::HashMap;

/// The table of degrees, cook by cook.
#[derive(Debug, Clone, Default)]
pub struct Degrees {
    cooks: HashMap<String, Vec<Degree>>,
}

/// A cook in a degree, or in the part of one before or after a wrap.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::struct_field_names, reason = "the unit belongs in the name")]
pub(crate) struct Degree {
    pub(crate) degree_c: f64,
    /// Inside its degree it is not the first.
    pub(crate) is_later_part: bool,
    pub(crate) start_min: f64,
    pub(crate) from_core_c: f64,
    pub(crate) minutes: f64,
    pub(crate) dose_k_h: f64,
    pub(crate) gap_c: f64,
    pub(crate) lagged_pit_c: f64,
    /// In what it is wrapped, while it is.
    pub(crate) method: Option<WrapMethod>,
    pub(crate) since_wrap_min: Option<f64>,
    pub(crate) passed: bool,
    pub(crate) seen: f64,
    /// −1, 0 and 1 for a bark that is not set yet, nearly, and set.
    pub(crate) bark: Option<f64>,
}

impl Degrees {
    /// Takes the table of degrees of a store.
    ///
    /// # Errors
    /// A missing column, or one of another type.
    pub fn new(table: &Table) -> Result<Self, StudyError> {
        let [degree, part, start, from, minutes, dose, gap, lagged, since, passed, seen] = [
            degrees::DEGREE_C,
            degrees::PIECE,
            degrees::START_MIN,
            degrees::FROM_CORE_C,
            degrees::TIME_MIN,
            degrees::DOSE_KH,
            degrees::GAP_C,
            degrees::LAGGED_PIT_C,
            degrees::SINCE_WRAP_MIN,
            degrees::PASSED,
            degrees::SEEN,
        ]
        .map(|column| numbers(table, column.name));
        let (degree, part, start, from) = (degree?, part?, start?, from?);
        let (minutes, dose, gap, lagged) = (minutes?, dose?, gap?, lagged?);
        let (since, passed, seen) = (since?, passed?, seen?);
        let [cooks, methods, barks] =
            [degrees::COOK, degrees::METHOD, degrees::BARK].map(|column| texts(table, column.name));
        let (cooks, methods, barks) = (cooks?, methods?, barks?);
        let mut found: HashMap<String, Vec<Degree>> = HashMap::new();
        for row in 0..table.rows() {
            let (Some(cook), Some(degree_c), Some(start_min), Some(minutes), Some(dose_k_h)) =
                (&cooks[row], degree[row], start[row], minutes[row], dose[row])
            else {
                continue;
            };
            // Without a pit there is no heat on offer to speak of.
            let (Some(gap_c), Some(lagged_pit_c)) = (gap[row], lagged[row]) else { continue };
            found.entry(cook.clone()).or_default().push(Degree {
                degree_c,
                is_later_part: part[row].is_some_and(|part| part > 0.5),
                start_min,
                from_core_c: from[row].unwrap_or(degree_c),
                minutes,
                dose_k_h,
                gap_c,
                lagged_pit_c,
                method: methods[row].as_deref().and_then(WrapMethod::parse),
                since_wrap_min: since[row],
                passed: passed[row].is_some_and(|passed| passed > 0.5),
                seen: seen[row].unwrap_or(1.0),
                bark: match barks[row].as_deref() {
                    Some("not-yet") => Some(-1.0),
                    Some("nearly") => Some(0.0),
                    Some("set") => Some(1.0),
                    _ => None,
                },
            });
        }
        for rows in found.values_mut() {
            rows.sort_by(|a, b| a.start_min.total_cmp(&b.start_min));
        }
        Ok(Self { cooks: found })
    }

    pub(crate) fn of(&self, cook: &str) -> &[Degree] {
        self.cooks.get(cook).map_or(&[], Vec::as_slice)
    }
}

fn column<'a>(table: &'a Table, name: &str) -> Result<&'a Column, StudyError> {
    table.column(name).ok_or_else(|| StudyError::MissingColumn {
        column: name.to_owned(),
        why: "the table of degrees of a store has it".to_owned(),
        nearest: None,
    })
}

fn wrong(name: &str, column: &Column) -> StudyError {
    StudyError::ColumnType {
        column: name.to_owned(),
        expected: "the values that the table of degrees has",
        found: column.kind().to_owned(),
    }
}

fn numbers(table: &Table, name: &str) -> Result<Vec<Option<f64>>, StudyError> {
    let column = column(table, name)?;
    let values = column.numbers().ok_or_else(|| wrong(name, column))?;
    Ok(values.into_iter().map(|value| value.filter(|value| value.is_finite())).collect())
}

fn texts(table: &Table, name: &str) -> Result<Vec<Option<String>>, StudyError> {
    match column(table, name)? {
        Column::Text(texts) => Ok(texts.clone()),
        other => Err(wrong(name, other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::table;

    #[test]
    fn rows_are_read_by_cook_in_order_of_time_and_those_without_a_pit_are_skipped() {
        let table = table!(
            "cook" => ["a", "a", "a"],
            "degree_c" => [56.0, 55.0, 57.0],
            "piece" => [1i64, 0, 0],
            "start_min" => [12.0, 0.0, 30.0],
            "from_core_c" => [56.4, 55.0, 57.0],
            "time_min" => [18.0, 12.0, 9.0],
            "dose_kh" => [10.0, 8.0, 7.0],
            "gap_c" => [Some(50.0), Some(51.0), None],
            "lagged_pit_c" => [108.0, 107.0, 108.0],
            "method" => [Some("foil"), None, None],
            "since_wrap_min" => [Some(0.0), None, None],
            "passed" => [true, true, true],
            "seen" => [1.0, 0.5, 1.0],
            "bark" => [Some("set"), None, None],
        );
        let degrees = Degrees::new(&table).unwrap();
        let of = degrees.of("a");
        assert_eq!(of.iter().map(|row| row.degree_c).collect::<Vec<_>>(), [55.0, 56.0]);
        assert!(of[1].is_later_part && !of[0].is_later_part);
        assert_eq!((of[1].method.clone(), of[1].bark), (Some(WrapMethod::Foil), Some(1.0)));
        assert!(degrees.of("b").is_empty());
        let error = Degrees::new(&table!("cook" => ["a"])).unwrap_err().to_string();
        assert!(error.contains("`degree_c`"), "{error}");
    }
}
