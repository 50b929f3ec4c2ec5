//! What the rows of a cook are computed from, and the hash of it.
//!
//! | rows | what enters their hash |
//! |---|---|
//! | phases, flags, channels, warnings | their number; what readings and card were read from; the card, its fire aside; the cook's own events; the constants of the definition; seed and number of draws; the reference that was borrowed, with its spread and the number of cooks |
//! | measures, history, degrees, moved, `moved_history` | their number; the hash of the phases; the constants of the definition; the whole card; the cook's events, and those of its fire; the assumed dew point |

use crate::hash::{Fingerprint, seed_of};
use crate::phase_rows::BORROWED;
use cook::{Card, Event, PhaseDefinition, Season};
use phases::{BorrowedReference, SegmentOptions};

/// The number of the rows of phases: raised whenever the same cook would be given others.
pub const PHASES: u32 = 6;
/// The number of the rows of measures: raised whenever the same cook would be given others.
pub const MEASURES: u32 = 4;

/// The settings of a season that enter the rows of its cooks, and no others.
#[derive(Debug, Clone, PartialEq)]
pub struct Rules {
    /// Constants of the phase definition.
    pub definition: PhaseDefinition,
    /// Seed of the season's random draws.
    pub seed: u64,
    /// Curves drawn for the intervals of a cook's phases.
    pub interval_draws: u32,
    /// Dew point of the pits' air where the card gives none, °C.
    pub pit_dew_point_c: Option<f64>,
}

impl Rules {
    /// Those of a season.
    pub fn of(season: &Season) -> Self {
        Self {
            definition: season.phases,
            seed: season.study.seed,
            interval_draws: season.study.interval_draws,
            pit_dew_point_c: season.assume.pit_dew_point_c,
        }
    }

    pub(crate) fn options(
        &self,
        cook: &str,
        draws: u32,
        borrowed: Option<BorrowedReference>,
    ) -> SegmentOptions {
        SegmentOptions {
            definition: self.definition,
            draws,
            seed: seed_of(self.seed, cook),
            borrowed,
        }
    }
}

/// One cook, its readings aside.
#[derive(Debug, Clone, Copy)]
pub struct CookInput<'a> {
    /// The card, marks resolved.
    pub card: &'a Card,
    /// Hash of what the card and the readings were read from.
    pub read_from: &'a str,
    /// First and last reading, ms UTC; `None` for a cook without readings.
    pub log_ms: Option<(i64, i64)>,
    /// The cook's own events, in time order.
    pub events: &'a [Event],
    /// Set-points and lids that other cooks on its fire noted, in time order.
    pub on_fire: &'a [Event],
}

impl CookInput<'_> {
    /// Hash of what the cook's phases are computed from, what it borrows aside.
    pub fn content(&self, rules: &Rules) -> String {
        let mut hash = Fingerprint::new("phases of a cook", PHASES);
        hash.part(self.read_from.as_bytes());
        let mut card = self.card.clone();
        // Which fire a cook shares moves no phase.
        card.fire.clear();
        hash.json(&card);
        hash.json(&self.events);
        hash.json(&rules.definition);
        hash.json(&(rules.seed, rules.interval_draws));
        hash.finish()
    }

    /// The `computed_from` of the cook's phases: its content, and behind a `/` what it borrowed if it
    /// did.
    pub fn phases_from(&self, rules: &Rules, borrowed: Option<&BorrowedReference>) -> String {
        let content = self.content(rules);
        borrowed.map_or(content.clone(), |other| with_borrowed(&content, other))
    }

    /// Hash of what the cook's measures are computed from; `phases` is that of its phases, empty for
    /// a cook without readings.
    pub fn measured_from(&self, phases: &str, rules: &Rules) -> String {
        let mut hash = Fingerprint::new("measures of a cook", MEASURES);
        hash.part(phases.as_bytes());
        hash.json(&rules.definition);
        hash.json(&self.card);
        hash.json(&self.events);
        hash.json(&self.on_fire);
        hash.json(&rules.pit_dew_point_c);
        hash.finish()
    }
}

fn with_borrowed(content: &str, other: &BorrowedReference) -> String {
    let mut hash = Fingerprint::new("borrowed reference", PHASES);
    hash.part(&other.median_per_h.to_le_bytes());
    hash.part(&other.spread_log.to_le_bytes());
    hash.part(&(other.cooks as u64).to_le_bytes());
    format!("{content}{BORROWED}{}", hash.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_of_more_cooks_is_another_one() {
        let few = BorrowedReference { median_per_h: 0.1, spread_log: 0.2, cooks: 3 };
        let many = BorrowedReference { cooks: 34, ..few };
        assert_ne!(with_borrowed("c", &few), with_borrowed("c", &many));
        assert!(with_borrowed("c", &few).starts_with("c/"));
    }

    #[test]
    fn the_fire_enters_measures_only_and_a_set_point_of_its_other_cooks_too() {
        let rules = Rules::of(&Season::default());
        let card = Card { cook: "a".into(), fire: "f1".into(), ..Card::default() };
        let moved = Card { fire: "f2".into(), ..card.clone() };
        let event = Event {
            cook: "b".into(),
            at_ms: 5,
            kind: cook::EventKind::Setpoint,
            value: Some("120C".into()),
            note: None,
        };
        let cook = CookInput {
            card: &card,
            read_from: "log",
            log_ms: Some((0, 9)),
            events: &[],
            on_fire: &[],
        };
        let on_other_fire = CookInput { card: &moved, ..cook };
        let beside = [event];
        let with_others = CookInput { on_fire: &beside, ..cook };
        for other in [on_other_fire, with_others] {
            assert_eq!(cook.content(&rules), other.content(&rules));
            assert_ne!(cook.measured_from("p", &rules), other.measured_from("p", &rules));
        }
        let humid = Rules { pit_dew_point_c: Some(40.0), ..rules.clone() };
        assert_eq!(cook.content(&rules), cook.content(&humid));
        assert_ne!(cook.measured_from("p", &rules), cook.measured_from("p", &humid));
        let seeded = Rules { seed: 2, ..rules };
        assert_ne!(cook.content(&humid), cook.content(&seeded));
    }
}
