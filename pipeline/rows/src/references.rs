//! Reference heating coefficients that cooks lend each other.

use cook::Card;
use phases::{BorrowedReference, borrow};
use std::collections::HashMap;

/// What the cooks of a season lend, by cut and pit.
#[derive(Debug, Default)]
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
        assert_eq!(lent.to(&other), None, "one cook is too few");
        assert_eq!(lent.to(&nowhere), None);
    }
}
