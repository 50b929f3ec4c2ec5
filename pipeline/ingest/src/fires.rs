//! Which cooks share a fire.

use cook::Card;

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
    let span = |card: &Card| spans.iter().find(|span| span.cook == card.cook);
    // Groups of cards by index: those of one pit whose times overlap, chained.
    let mut order: Vec<usize> = (0..cards.len()).collect();
    let key = |i: usize| (span(&cards[i]).map_or(i64::MAX, |s| s.first_ms), cards[i].cook.clone());
    order.sort_by_key(|&i| key(i));
    let mut groups: Vec<(Option<String>, i64, Vec<usize>)> = Vec::new();
    for i in order {
        let pit = cards[i].pit.as_ref().map(|pit| pit.trim().to_lowercase());
        let own = span(&cards[i]);
        let open = own.zip(pit.clone()).and_then(|(own, pit)| {
            groups
                .iter()
                .position(|(of, last, _)| of.as_ref() == Some(&pit) && own.first_ms <= *last)
        });
        match (open, own) {
            (Some(group), Some(own)) => {
                groups[group].1 = groups[group].1.max(own.last_ms);
                groups[group].2.push(i);
            }
            _ => groups.push((own.and(pit), own.map_or(i64::MIN, |own| own.last_ms), vec![i])),
        }
    }
    let mut taken: Vec<String> =
        cards.iter().map(|card| card.fire.clone()).filter(|fire| !fire.is_empty()).collect();
    for (_, _, members) in groups {
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
                taken.push(name.clone());
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
}
