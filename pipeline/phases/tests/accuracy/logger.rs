//! What a logger makes of a true cook: sampling, noise, quanta and faults.

use super::cooks::{Category, STEP_MS, TrueCook};
use cook::{Card, ChannelReadings, CookReadings, Flag, MarkTimes, Role};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{StandardNormal, StudentT};

/// How a logger makes a reading of what its probe feels.
#[derive(Debug, Clone, Copy, Default)]
pub struct Habits {
    /// Readings are means over the interval, else instants.
    pub averages: bool,
    pub noise: Noise,
    pub rounding: Rounding,
    pub missing_share: f64,
    /// Time constant of the probe itself, s.
    pub probe_lag_s: f64,
}

#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub enum Noise {
    #[default]
    Normal,
    /// Student's t with three degrees of freedom.
    HeavyTailed,
    /// Autocorrelated with this time constant, min.
    Slow(f64),
}

#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub enum Rounding {
    #[default]
    Nearest,
    /// The last step passed.
    Down,
    /// The number shown stays until the value is this many steps away from it.
    Sticky(f64),
}

impl Rounding {
    fn apply(self, value: f64, quantum: f64, shown: Option<f64>) -> f64 {
        match (self, shown) {
            (Self::Down, _) => (value / quantum).floor() * quantum,
            (Self::Sticky(most), Some(shown)) if (value - shown).abs() < most * quantum => shown,
            _ => (value / quantum).round() * quantum,
        }
    }
}

/// How one cook was logged.
#[derive(Debug, Clone)]
pub struct Logging {
    pub interval_s: f64,
    pub jitter_s: f64,
    /// Readings are whole multiples of this, °C.
    pub quantum_c: f64,
    pub noise_c: f64,
    pub pit_noise_c: f64,
    pub offset_c: f64,
    pub drift_c_per_h: f64,
    pub spike_share: f64,
    pub gaps_ms: Vec<(i64, i64)>,
    pub stuck_ms: Vec<(i64, i64)>,
    /// The two channels change places from here to there.
    pub exchanged: Option<(usize, usize, i64, i64)>,
    pub from_ms: i64,
    pub until_ms: i64,
    pub habits: Habits,
}

/// A measured cook.
#[derive(Debug, Clone)]
pub struct Logged {
    pub readings: CookReadings,
    /// The card with all marks; without its marks for logs alone.
    pub card: Card,
    pub logging: Logging,
}

fn quanta(random: &mut ChaCha8Rng) -> f64 {
    [0.1, 0.1, 0.1 / 1.8, 0.01][random.random_range(0..4)]
}

fn habits(category: Category, random: &mut ChaCha8Rng) -> Habits {
    let coarse = category == Category::ProfileNoisy;
    Habits {
        averages: random.random_bool(0.3),
        noise: match random.random_range(0..3) {
            0 => Noise::Normal,
            1 => Noise::HeavyTailed,
            _ => Noise::Slow(random.random_range(0.5..if coarse { 6.0 } else { 3.0 })),
        },
        rounding: match random.random_range(0..4) {
            0 if coarse => Rounding::Down,
            1 => Rounding::Sticky(random.random_range(0.55..0.85)),
            _ => Rounding::Nearest,
        },
        missing_share: if random.random_bool(0.3) { random.random_range(0.0..0.2) } else { 0.0 },
        probe_lag_s: random.random_range(0.0..60.0),
    }
}

fn logging(category: Category, truth: &TrueCook, random: &mut ChaCha8Rng) -> Logging {
    let first_ms = (truth.bounds.meat_on_ms - random.random_range(0..1800) * 1000).max(0);
    let last_ms = truth.core_c.len().min(truth.pit_c.len()) as i64 * STEP_MS - STEP_MS;
    let mut logging = Logging {
        interval_s: [10.0, 15.0, 30.0, 30.0, 60.0][random.random_range(0..5)],
        jitter_s: if random.random_bool(0.3) { 3.0 } else { 0.0 },
        quantum_c: quanta(random),
        noise_c: random.random_range(0.03..0.15),
        pit_noise_c: random.random_range(0.1..1.0),
        offset_c: 0.3 * random.sample::<f64, _>(StandardNormal),
        drift_c_per_h: 0.0,
        spike_share: if random.random_bool(0.3) { 0.002 } else { 0.0 },
        gaps_ms: Vec::new(),
        stuck_ms: Vec::new(),
        exchanged: None,
        from_ms: first_ms,
        until_ms: last_ms,
        habits: Habits::default(),
    };
    if category.is_profile() {
        logging.habits = habits(category, random);
    }
    let (on, pull) = (truth.bounds.meat_on_ms, truth.bounds.pull_ms);
    match category {
        Category::Noisy | Category::OtherNoisy | Category::ProfileNoisy => {
            logging.interval_s = [60.0, 120.0, 180.0, 300.0][random.random_range(0..4)];
            logging.jitter_s = if random.random_bool(0.3) { 10.0 } else { 0.0 };
            logging.quantum_c = [1.0, 1.0 / 1.8, 0.5][random.random_range(0..3)];
            logging.noise_c = random.random_range(0.05..0.35);
            logging.pit_noise_c = random.random_range(0.5..2.0);
            logging.offset_c = random.sample::<f64, _>(StandardNormal);
            logging.drift_c_per_h = 0.08 * random.sample::<f64, _>(StandardNormal);
            logging.spike_share = if random.random_bool(0.5) { 0.005 } else { 0.0 };
            let stretch = |random: &mut ChaCha8Rng, shortest: i64, longest: i64| {
                let at = random.random_range(on..pull);
                (at, at + random.random_range(shortest..longest) * 60_000)
            };
            if random.random_bool(0.5) {
                logging.gaps_ms.push(stretch(random, 10, 45));
            }
            if random.random_bool(0.4) {
                logging.stuck_ms.push(stretch(random, 15, 45));
            }
        }
        Category::Dense => {
            logging.interval_s = 1.0;
            logging.jitter_s = 0.0;
        }
        Category::LateStart => {
            // The log begins with the core still raw enough for a reference of its own.
            let raw = truth.core_c[(on / STEP_MS) as usize..].iter().position(|t| *t >= 35.0);
            logging.from_ms =
                on + random.random_range(900..raw.unwrap_or(900) as i64 * 10 + 901) * 1000;
        }
        Category::EarlyEnd | Category::ProfileEarlyEnd => {
            let (start, end) = truth.first_stall_ms().unwrap_or((on, pull));
            let share: f64 = random.random_range(0.3..1.6);
            logging.until_ms =
                (start + ((end - start) as f64 * share) as i64).clamp(on, pull - 600_000);
        }
        Category::Swapped => {
            let pair = if random.random_bool(0.5) { (0, 1) } else { (1, 2) };
            let at = random.random_range(on + 3_600_000..pull - 3_600_000);
            let until = match random.random_range(0..3) {
                0 => i64::MAX,
                1 => at + random.random_range(30..240) * 60_000,
                // From the start: the two plugs were exchanged before the cook.
                _ => {
                    logging.exchanged = Some((0, 1, i64::MIN, i64::MAX));
                    return logging;
                }
            };
            logging.exchanged = Some((pair.0, pair.1, at, until));
        }
        _ => {}
    }
    logging
}

fn at(curve: &[f64], ms: i64) -> f64 {
    let place = (ms as f64 / STEP_MS as f64).max(0.0);
    let index = (place as usize).min(curve.len() - 1);
    let next = (index + 1).min(curve.len() - 1);
    curve[index] + (place - index as f64).min(1.0) * (curve[next] - curve[index])
}

/// What a probe with a lag of its own feels.
fn lagged(curve: &[f64], lag_s: f64) -> Vec<f64> {
    let share = 1.0 - (-(STEP_MS as f64) / 1000.0 / lag_s.max(1e-3)).exp();
    let mut felt = curve[0];
    curve
        .iter()
        .map(|value| {
            felt += share * (value - felt);
            felt
        })
        .collect()
}

/// Logs a true cook; `index` seeds the draw.
pub fn log(category: Category, truth: &TrueCook, index: u64) -> Logged {
    let mut random = ChaCha8Rng::seed_from_u64(77_000 + 1_000 * category as u64 + index);
    let logging = logging(category, truth, &mut random);
    let mut curves: Vec<(&str, Role, &[f64])> =
        vec![("Pit", Role::Pit, &truth.pit_c), ("Flat", Role::Meat, &truth.core_c)];
    if let Some(other) = &truth.other_c {
        curves.push(("Point", Role::Meat, other));
    }
    let dips: Vec<(i64, f64, f64)> = truth
        .wraps_ms
        .iter()
        .map(|&at| (at, random.random_range(0.0..20.0), random.random_range(8.0..20.0)))
        .collect();
    let mut channels: Vec<ChannelReadings> =
        curves.iter().map(|(name, role, _)| ChannelReadings::new(*name, *role)).collect();
    let mut held: Vec<Option<f64>> = vec![None; channels.len()];
    let habits = logging.habits;
    let felt: Vec<Vec<f64>> =
        curves.iter().map(|(_, _, curve)| lagged(curve, habits.probe_lag_s)).collect();
    let mut slow = vec![0.0; channels.len()];
    let mut shown: Vec<Option<f64>> = vec![None; channels.len()];
    let mut planned = logging.from_ms as f64;
    while planned <= logging.until_ms as f64 {
        let jitter = logging.jitter_s * 1000.0 * random.random_range(-1.0..1.0);
        let now = (planned + jitter).round() as i64;
        planned += logging.interval_s * 1000.0;
        let inside = |spans: &[(i64, i64)]| spans.iter().any(|(a, b)| (*a..*b).contains(&now));
        let mut values: Vec<f64> = curves
            .iter()
            .zip(&felt)
            .zip(&mut slow)
            .map(|(((_, role, _), curve), slow)| {
                let mut value = if habits.averages {
                    let part = |i: i64| now - (logging.interval_s * 1000.0) as i64 * i / 6;
                    (0..6).map(|i| at(curve, part(i))).sum::<f64>() / 6.0
                } else {
                    at(curve, now)
                };
                let normal: f64 = match habits.noise {
                    Noise::Normal => random.sample(StandardNormal),
                    Noise::HeavyTailed => {
                        random.sample(StudentT::new(3.0).expect("degrees of freedom"))
                    }
                    Noise::Slow(minutes) => {
                        let kept = (-logging.interval_s / 60.0 / minutes).exp();
                        let fresh: f64 = random.sample(StandardNormal);
                        *slow = kept * *slow + (1.0 - kept * kept).sqrt() * fresh;
                        *slow
                    }
                };
                if *role == Role::Meat {
                    let hours = (now - truth.bounds.meat_on_ms) as f64 / 3.6e6;
                    value += logging.offset_c + logging.drift_c_per_h * hours;
                    value +=
                        logging.noise_c * normal - dips.iter().map(|d| dip(d, now)).sum::<f64>();
                } else {
                    value += logging.pit_noise_c * normal;
                }
                if random.random_bool(logging.spike_share) {
                    value += random.random_range(-40.0..40.0);
                }
                value
            })
            .collect();
        if let Some((a, b, from, until)) = logging.exchanged
            && (from..until).contains(&now)
        {
            values.swap(a, b);
        }
        let missing = habits.missing_share > 0.0 && random.random_bool(habits.missing_share);
        if missing || inside(&logging.gaps_ms) {
            continue;
        }
        for (index, (channel, value)) in channels.iter_mut().zip(values).enumerate() {
            let mut reading = habits.rounding.apply(value, logging.quantum_c, shown[index]);
            shown[index] = Some(reading);
            if channel.role == Role::Meat && inside(&logging.stuck_ms) {
                reading = *held[index].get_or_insert(reading);
            } else {
                held[index] = None;
            }
            channel.at_ms.push(now);
            channel.temp_c.push(reading as f32);
            channel.flag.push(Flag::Good);
            channel.source.push(0);
            channel.line.push(channel.at_ms.len() as u32);
        }
    }
    let card = Card {
        cook: "a".into(),
        lead_channel: (curves.len() > 2).then(|| "Flat".into()),
        marks: MarkTimes {
            meat_on_ms: Some(truth.bounds.meat_on_ms),
            wrap_ms: truth.wraps_ms.first().copied(),
            pull_ms: Some(truth.bounds.pull_ms).filter(|at| *at <= logging.until_ms),
            slice_ms: Some(truth.bounds.end_ms).filter(|at| *at <= logging.until_ms + STEP_MS),
        },
        ..Card::default()
    };
    let readings =
        CookReadings { cook: "a".into(), season: "s".into(), channels, sources: vec!["l".into()] };
    Logged { readings, card, logging }
}

/// A probe pulled at the wrap and put back reads low and fades back.
fn dip(&(from, depth, minutes): &(i64, f64, f64), now: i64) -> f64 {
    let since = (now - from) as f64 / 60_000.0;
    if !(0.0..minutes).contains(&since) {
        return 0.0;
    }
    depth * since.min(1.0) * (1.0 - since / minutes).powi(2)
}
