//! Which cooks share a fire.

use cook::Card;
use std::collections::{HashMap, HashSet};

/// The time that a cook's readings span.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CookSpan {
    /// The cook.
    pub cook: String,
    /// Its first instant, ms UTC.
    pub first_ms: i64,
    /// Its last instant, ms UTC.
    pub last_ms: i64,
}

/// Gives every card without a fire one: that of the cooks on the same pit at an
/// overlapping time, named after the first of them; a card without a pit or without
/// readings has a fire of its own.
pub fn resolve_fires(cards: &mut [Card], spans: &[CookSpan]) {
    let span_of: HashMap<&str, &CookSpan> =
        spans.iter().map(|span| (span.cook.as_str(), span)).collect();
    let span = |card: &Card| span_of.get(card.cook.as_str()).copied();
    let mut order: Vec<usize> = (0..cards.len()).collect();
    order.sort_by_key(|&i| (span(&cards[i]).map_or(i64::MAX, |s| s.first_ms), &cards[i].cook));
    // Groups of cards by index: those of one pit whose times overlap, chained. In the order of
    // time no more than one group of a pit is still open: its last, until its last instant.
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut open: HashMap<String, (usize, i64)> = HashMap::new();
    for i in order {
        let pit = cards[i].pit.as_ref().map(|pit| pit.trim().to_lowercase());
        let Some((pit, own)) = pit.zip(span(&cards[i])) else {
            groups.push(vec![i]);
            continue;
        };
        match open.get_mut(&pit) {
            Some((group, last_ms)) if own.first_ms <= *last_ms => {
                *last_ms = own.last_ms.max(*last_ms);
                groups[*group].push(i);
            }
            _ => {
                open.insert(pit, (groups.len(), own.last_ms));
                groups.push(vec![i]);
            }
        }
    }
    let mut taken: HashSet<String> =
        cards.iter().map(|card| card.fire.clone()).filter(|fire| !fire.is_empty()).collect();
    for members in groups {
        let stated: Vec<&String> =
            members.iter().map(|&i| &cards[i].fire).filter(|fire| !fire.is_empty()).collect();
        let fire = match stated.first() {
            // Where the sheet gives the group two fires, its other cooks are of neither.
            Some(fire) if stated.iter().all(|other| other == fire) => (*fire).clone(),
            _ => {
                let first = members.iter().find(|&&i| cards[i].fire.is_empty());
                let Some(&first) = first else { continue };
                let mut name = cards[first].cook.clone();
                while taken.contains(&name) {
                    name.push_str("-fire");
                }
                taken.insert(name.clone());
                name
            }
        };
        for i in members {
            if cards[i].fire.is_empty() {
                cards[i].fire.clone_from(&fire);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn card(cook: &str, pit: Option<&str>, fire: &str) -> Card {
        Card {
            cook: cook.into(),
            pit: pit.map(str::to_owned),
            fire: fire.into(),
            ..Card::default()
        }
    }

    fn fires(cards: &[(&str, Option<&str>, &str)], spans: &[(&str, i64, i64)]) -> Vec<String> {
        let mut cards: Vec<Card> = cards.iter().map(|(c, p, f)| card(c, *p, f)).collect();
        let spans: Vec<CookSpan> = spans
            .iter()
            .map(|(cook, first_ms, last_ms)| CookSpan {
                cook: (*cook).into(),
                first_ms: *first_ms,
                last_ms: *last_ms,
            })
            .collect();
        resolve_fires(&mut cards, &spans);
        cards.into_iter().map(|card| card.fire).collect()
    }

    #[test]
    fn one_pit_and_overlapping_times_are_one_fire() {
        let pit = Some("Old Smoky");
        assert_eq!(
            fires(
                &[
                    ("b", pit, ""),
                    ("a", pit, ""),
                    ("c", pit, ""),
                    ("d", Some("other"), ""),
                    ("e", None, "")
                ],
                &[("a", 0, 10), ("b", 5, 20), ("c", 21, 30), ("d", 0, 10), ("e", 0, 10)]
            ),
            ["a", "a", "c", "d", "e"]
        );
    }

    #[test]
    fn a_stated_fire_is_kept_and_shared_and_never_met_by_chance() {
        let pit = Some("p");
        assert_eq!(
            fires(
                &[("a", pit, ""), ("b", pit, "f1"), ("c", None, "d"), ("d", None, "")],
                &[("a", 0, 10), ("b", 5, 20)]
            ),
            ["f1", "f1", "d", "d-fire"]
        );
    }

    proptest! {
        /// By definition: two cooks of one pit that overlap are of one fire, and so is whoever
        /// overlaps with one of them.
        #[test]
        fn fires_are_chains_of_overlapping_cooks(
            times in prop::collection::vec((0..3_usize, 0..200_i64, 0..30_i64), 1..30)
        ) {
            let names: Vec<String> = (0..times.len()).map(|i| format!("c{i:02}")).collect();
            let cards: Vec<(&str, Option<&str>, &str)> = names
                .iter()
                .zip(&times)
                .map(|(name, (pit, ..))| (name.as_str(), Some(["p", "q", "P "][*pit]), ""))
                .collect();
            let spans: Vec<(&str, i64, i64)> = names
                .iter()
                .zip(&times)
                .map(|(name, (_, first, length))| (name.as_str(), *first, first + length))
                .collect();
            let found = fires(&cards, &spans);
            let mut wanted: Vec<usize> = (0..times.len()).collect();
            for _ in 0..times.len() {
                for (i, (pit, first, length)) in times.iter().enumerate() {
                    for (j, (other, begin, lasts)) in times.iter().enumerate() {
                        let one_pit = pit % 2 == other % 2;
                        if one_pit && *first <= begin + lasts && *begin <= first + length {
                            let least = wanted[i].min(wanted[j]);
                            (wanted[i], wanted[j]) = (least, least);
                        }
                    }
                }
            }
            for (i, j) in (0..times.len()).flat_map(|i| (0..i).map(move |j| (i, j))) {
                prop_assert_eq!(found[i] == found[j], wanted[i] == wanted[j], "{} and {}", i, j);
            }
        }
    }
}
