//! What was cooked: fires of a middling team, with a calendar.

use super::COOKS;
use jiff::civil::date;
use jiff::tz::TimeZone;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use simulate::team::{TeamFire, TeamModel};
use simulate::truth::FireTruth;

/// A fire, with the instant of its lighting.
pub(super) struct Fire {
    pub(super) plan: TeamFire,
    pub(super) truth: FireTruth,
    /// ms UTC.
    pub(super) lit_ms: i64,
    /// How many of its cooks the season has.
    pub(super) cooks: usize,
}

impl Fire {
    /// An instant, ms UTC.
    pub(super) fn at_ms(&self, second: i64) -> i64 {
        self.lit_ms + second * 1_000
    }

    /// The last second of any of its cooks.
    pub(super) fn end_s(&self) -> i64 {
        self.truth.cooks.iter().map(|cook| cook.slice_s).max().unwrap_or(0)
    }
}

/// Fires until there are enough cooks, one or two a week from April on.
pub(super) fn fires(zone: &str, random: &mut ChaCha8Rng) -> Vec<Fire> {
    let model = TeamModel::middling();
    let zone = TimeZone::get(zone).expect("the zone is in the bundled database");
    let seed = random.random();
    let year = 2024 + random.random_range(0..3);
    let mut day = date(year, 4, 1);
    let (mut fires, mut left, mut index) = (Vec::new(), COOKS, 0);
    while left > 0 {
        let plan = model.fire(seed, index).expect("the middling team is in range");
        index += 1;
        let truth = plan.run().expect("its fires are in range");
        day = day.saturating_add(jiff::Span::new().days(random.random_range(3..8)));
        // Meat goes on at an hour of the evening or the early morning, at a minute as it comes.
        let hour = [4_i8, 5, 6, 7, 8, 20, 21, 22, 23][random.random_range(0..9)];
        let on = day.at(hour, random.random_range(0..60), 0, 0);
        let on_ms = zone
            .to_ambiguous_zoned_datetime(on)
            .compatible()
            .map_or(0, |at| at.timestamp().as_millisecond());
        let lit_ms = on_ms - truth.cooks[0].meat_on_s * 1_000;
        let cooks = plan.cooks.len().min(left);
        left -= cooks;
        fires.push(Fire { plan, truth, lit_ms, cooks });
    }
    fires
}
