//! Reference heating coefficients that cooks lend each other.

use crate::error::RowsError;
use crate::noted::NotedCooks;
use crate::phase_rows::CookPhases;
use crate::typed::{Typed, required};
use columns::{Column, Table};
use cook::Card;
use phases::{BorrowedReference, borrow};
use std::collections::HashMap;

/// What the cooks of a season lend, by cut and pit.
///
/// As a table it has a row a cut and pit: `cut`, `pit`, `median_per_h` (1/h), `spread_log` (standard
/// deviation of the coefficients' logarithms) and `cooks` (how many lend).
#[derive(Debug, Default, PartialEq)]
pub struct Lent(HashMap<(String, String), BorrowedReference>);

impl Lent {
    /// Gathers the references (1/h) that cooks have of their own, in the order of the cooks. An
    /// excluded cook lends nothing, nor does one whose cut or pit is not stated.
    pub fn by<'a>(own: impl IntoIterator<Item = (&'a Card, f64)>) -> Self {
        let mut kinds: HashMap<(String, String), Vec<f64>> = HashMap::new();
        for (card, k_ref_per_h) in own {
            if let Some(kind) = kind_of(card).filter(|_| card.exclude.is_none()) {
                kinds.entry(kind).or_default().push(k_ref_per_h);
            }
        }
        let lent = kinds.into_iter().filter_map(|(kind, values)| Some((kind, borrow(&values)?)));
        Self(lent.collect())
    }

    /// What cooks lend by the phases that they were given. Which order those come in does not matter: the
    /// cooks' own counts.
    pub fn of_phases<'p>(
        phases: impl IntoIterator<Item = &'p CookPhases>,
        cooks: &NotedCooks,
    ) -> Self {
        let own =
            phases.into_iter().filter_map(|cook| Some((cook.cook.as_str(), cook.own_reference()?)));
        let own: HashMap<&str, f64> = own.collect();
        let cards = cooks.records().iter().map(|record| &record.card);
        Self::by(cards.filter_map(|card| Some((card, *own.get(card.cook.as_str())?))))
    }

    /// As a table, by cut and pit.
    pub fn to_table(&self) -> Table {
        let mut kinds: Vec<_> = self.0.iter().collect();
        kinds.sort_by_key(|(kind, _)| *kind);
        Table::new()
            .with("cut", kinds.iter().map(|((cut, _), _)| cut).collect::<Column>())
            .with("pit", kinds.iter().map(|((_, pit), _)| pit).collect::<Column>())
            .with("median_per_h", kinds.iter().map(|(_, own)| own.median_per_h).collect::<Column>())
            .with("spread_log", kinds.iter().map(|(_, own)| own.spread_log).collect::<Column>())
            .with("cooks", kinds.iter().map(|(_, own)| own.cooks).collect::<Column>())
    }

    /// Reads the table back.
    ///
    /// # Errors
    /// A column that is missing, of another kind, or without a value.
    pub fn from_table(table: &Table) -> Result<Self, RowsError> {
        let (cut, pit) = (table.text("cut")?, table.text("pit")?);
        let (median, spread) = (table.floats("median_per_h")?, table.floats("spread_log")?);
        let cooks = table.integers("cooks")?;
        let row = |row: usize| {
            let kind =
                (required("cut", row, cut[row].clone())?, required("pit", row, pit[row].clone())?);
            let or_refused = |column: &str, value: f64, can_be: bool| {
                let error = || RowsError::column(column, format!("{value} cannot be"));
                if can_be { Ok(value) } else { Err(error().at_row(row as u64 + 1)) }
            };
            let lent = BorrowedReference {
                median_per_h: required("median_per_h", row, median[row]).and_then(|per_h| {
                    or_refused("median_per_h", per_h, per_h > 0.0 && per_h.is_finite())
                })?,
                spread_log: required("spread_log", row, spread[row]).and_then(|spread| {
                    or_refused("spread_log", spread, spread >= 0.0 && spread.is_finite())
                })?,
                cooks: required("cooks", row, cooks[row])
                    .and_then(|cooks| or_refused("cooks", cooks as f64, cooks >= 0))?
                    as usize,
            };
            Ok((kind, lent))
        };
        Ok(Self((0..table.rows()).map(row).collect::<Result<_, RowsError>>()?))
    }

    /// What a cook without a reference of its own may borrow; `None` where too few others of its cut
    /// and pit have one.
    pub fn to(&self, card: &Card) -> Option<BorrowedReference> {
        self.0.get(&kind_of(card)?).copied()
    }
}

fn kind_of(card: &Card) -> Option<(String, String)> {
    Some((card.cut.clone()?, card.pit.clone()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn card(cut: &str, pit: Option<&str>) -> Card {
        Card { cut: Some(cut.into()), pit: pit.map(str::to_owned), ..Card::default() }
    }

    #[test]
    fn only_cooks_of_the_same_cut_and_pit_lend_and_excluded_ones_do_not() {
        let brisket = card("brisket", Some("big"));
        let excluded = Card { exclude: Some("probe fell out".into()), ..brisket.clone() };
        let other = card("butt", Some("big"));
        let nowhere = card("brisket", None);
        let own = [
            (&brisket, 0.1),
            (&excluded, 9.0),
            (&other, 0.5),
            (&brisket, 0.2),
            (&nowhere, 7.0),
            (&brisket, 0.3),
        ];
        let lent = Lent::by(own);
        assert_eq!(lent.to(&brisket), borrow(&[0.1, 0.2, 0.3]));
        // An excluded cook may borrow.
        assert_eq!(lent.to(&excluded), lent.to(&brisket));
        assert_eq!(Lent::from_table(&lent.to_table()).unwrap(), lent);
        assert_eq!(lent.to(&other), None, "one cook is too few");
        assert_eq!(lent.to(&nowhere), None);
    }
}
