//! Simulated cooks as courses: the bundled past, and what forecasts are tried on.

use crate::course::Course;
use crate::error::OutlookError;
use cook::{Card, ChannelReadings, CookReadings, Event, Flag, MarkTimes, PhaseDefinition, Role};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use simulate::{FireTruth, GRID_STEP_S, TeamFire};

/// Standard deviation of one reading, °C, and what it is rounded to.
const NOISE_C: f64 = 0.3;
const QUANTUM_C: f64 = 0.1;
/// Grid steps between readings: a minute.
const EVERY: usize = 6;
/// Fires are a week apart, from an arbitrary instant, ms UTC.
const WEEK_MS: i64 = 604_800_000;

/// A cook as a logger and a card have it.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// Its readings.
    pub readings: CookReadings,
    /// Its card.
    pub card: Card,
    /// Its events.
    pub events: Vec<Event>,
}

impl Recorded {
    /// The whole course.
    ///
    /// # Errors
    /// As [`Course::follow`].
    pub fn course(&self, definition: &PhaseDefinition) -> Result<Course, OutlookError> {
        let Self { readings, card, events } = self;
        Ok(Course::follow(readings, card, events, &[], i64::MAX, definition)?.course)
    }

    /// Adds a channel of a curve with a value every [`GRID_STEP_S`] from `start_ms`.
    fn add_channel(&mut self, name: &str, role: Role, curve: &[f64], start_ms: i64, seed: u64) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(9);
        let mut channel = ChannelReadings::new(name, role);
        for (step, value) in curve.iter().enumerate().step_by(EVERY) {
            let noise: f64 = StandardNormal.sample(&mut random);
            let read = ((value + NOISE_C * noise) / QUANTUM_C).round() * QUANTUM_C;
            channel.at_ms.push(start_ms + step as i64 * GRID_STEP_S * 1_000);
            channel.temp_c.push(read as f32);
            channel.flag.push(Flag::Good);
            channel.source.push(0);
            channel.line.push(step as u32 + 1);
        }
        self.readings.channels.push(channel);
    }

    /// A cook from its curves and card.
    pub fn new(
        card: Card,
        events: Vec<Event>,
        core: &[f64],
        pit: &[f64],
        start_ms: i64,
        seed: u64,
    ) -> Self {
        let readings = CookReadings {
            cook: card.cook.clone(),
            season: card.season.clone(),
            channels: Vec::new(),
            sources: vec!["log.csv".into()],
        };
        let mut recorded = Self { readings, card, events };
        recorded.add_channel("Pit", Role::Pit, pit, start_ms, seed);
        recorded.add_channel("Meat", Role::Meat, core, start_ms, seed + 1);
        recorded
    }

    /// The cooks of a simulated fire as they ran, named after `team`.
    pub fn of_fire(fire: &TeamFire, truth: &FireTruth, team: &str) -> Vec<Self> {
        let lit_ms = fire.index as i64 * WEEK_MS;
        let ms = |second: i64| lit_ms + second * 1_000;
        let fire_name = format!("{team}-{}", fire.index);
        let cooks = fire.cooks.iter().zip(&truth.cooks).enumerate();
        cooks
            .map(|(index, (planned, cook))| {
                let name = format!("{fire_name}-{index}");
                let events: Vec<Event> = cook
                    .events
                    .iter()
                    .map(|event| Event {
                        cook: name.clone(),
                        at_ms: ms(event.at_s),
                        kind: event.kind,
                        value: event.value.clone(),
                        note: None,
                    })
                    .chain(truth.setpoints.iter().map(|(at_s, to)| Event {
                        cook: name.clone(),
                        at_ms: ms(*at_s),
                        kind: cook::EventKind::Setpoint,
                        value: Some(format!("{:.3}C", to.value())),
                        note: None,
                    }))
                    .collect();
                let card = Card {
                    cook: name,
                    season: "1".into(),
                    fire: fire_name.clone(),
                    cut: Some(format!("{:?}", planned.cut).to_lowercase()),
                    pit: Some(fire.pit_name.clone()),
                    trimmed_weight: Some(planned.plan.meat.weight),
                    pit_setpoint: Some(fire.pit.setpoint),
                    wrap_method: cook.wraps.first().map(|(_, method)| method.clone()),
                    marks: MarkTimes {
                        meat_on_ms: Some(ms(cook.meat_on_s)),
                        wrap_ms: cook.wraps.first().map(|(at, _)| ms(*at)),
                        pull_ms: Some(ms(cook.pull_s)),
                        slice_ms: None,
                    },
                    ..Card::default()
                };
                let seed = fire.seed ^ (index as u64 + 1);
                Self::new(card, events, &cook.core_c, &truth.pit_c, lit_ms, seed)
            })
            .collect()
    }
}
