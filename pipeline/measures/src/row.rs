//! The row of measures: what every season has, then the team's own columns.

use columns::measures::{self, Measures};
use columns::{Description, Field, Value, card};
use cook::Card;

/// The measures of one cook, what its card says, and the team's own columns.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MeasureRow {
    /// The columns that every season has.
    pub known: Measures,
    /// What the card says besides.
    pub card: Vec<(Description, Value)>,
    /// Scores by column name.
    pub scores: Vec<(String, f64)>,
    /// The sheet's other columns, as written.
    pub extra: Vec<(String, String)>,
}

impl std::ops::Deref for MeasureRow {
    type Target = Measures;

    fn deref(&self) -> &Measures {
        &self.known
    }
}

impl MeasureRow {
    /// What a card says, and nothing measured.
    pub(crate) fn of(card: &Card) -> Self {
        let mut known = Measures::default();
        for field in card::FIELDS.iter().filter(|field| field.measured) {
            known.set(field.column.name, field.get(card));
        }
        Self {
            known,
            card: measures::from_card().map(|field| (field.column, field.get(card))).collect(),
            scores: card.scores.clone(),
            extra: card.extra.clone(),
        }
    }

    /// Every column in a stable order: those of [`columns::measures::columns`], then the scores,
    /// then the sheet's other columns. A column of the sheet that has a name of the former comes
    /// under `sheet_` and its name; an empty cell is null.
    pub fn columns(&self) -> Vec<(String, Value)> {
        let known = self.known.cells().into_iter().chain(self.card.iter().cloned());
        let mut columns: Vec<(String, Value)> =
            known.map(|(column, value)| (column.name.to_owned(), value)).collect();
        for (name, score) in &self.scores {
            columns.push((own_name(name), score.value()));
        }
        for (name, text) in &self.extra {
            let value =
                if text.trim().is_empty() { Value::Null } else { Value::Text(text.clone()) };
            columns.push((own_name(name), value));
        }
        columns
    }
}

fn own_name(name: &str) -> String {
    if columns::names::is_measure(name) { format!("sheet_{name}") } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::card::CardField;
    use cook::{Kilograms, WrapMethod};

    #[test]
    fn own_columns_follow_and_never_take_a_known_name() {
        let row = MeasureRow {
            known: Measures { cook: "a".into(), stall_min: Some(f64::NAN), ..Measures::default() },
            card: Vec::new(),
            scores: vec![("score_taste".into(), 8.5)],
            extra: vec![("rub".into(), "dry".into()), ("gaps".into(), " ".into())],
        };
        let columns = row.columns();
        let known = measures::ALL.len();
        assert_eq!(columns.len(), known + 3);
        for (column, (name, value)) in measures::ALL.iter().zip(&columns) {
            assert_eq!(column.name, name);
            assert!(value.kind().is_none_or(|kind| kind == column.kind), "{name}: {value:?}");
        }
        let own = &columns[known..];
        assert_eq!(own[0], ("score_taste".into(), Value::Float(8.5)));
        assert_eq!(own[1], ("rub".into(), Value::Text("dry".into())));
        assert_eq!(own[2], ("sheet_gaps".into(), Value::Null));
    }

    #[test]
    fn a_row_repeats_what_the_card_says() {
        let card = Card {
            cook: "a".into(),
            raw_weight: Some(Kilograms(6.5)),
            wrap_method: Some(WrapMethod::Foil),
            ..Card::default()
        };
        let columns = MeasureRow::of(&card).columns();
        let of = |field: CardField| {
            columns.iter().find(|(name, _)| name == field.column.name).map(|(_, value)| value)
        };
        assert_eq!(of(card::COOK), Some(&Value::Text("a".into())));
        assert_eq!(of(card::RAW_WEIGHT_KG), Some(&Value::Float(6.5)));
        assert_eq!(of(card::WRAP_METHOD), Some(&Value::Text("foil".into())));
        // Told by the log, or by a column of its own.
        assert_eq!(of(card::PIT_DEW_POINT_C), Some(&Value::Null));
        assert_eq!(of(card::MEAT_ON_AT), None);
    }
}
