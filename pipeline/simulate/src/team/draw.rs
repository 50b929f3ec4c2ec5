//! The draws of one fire of a team.

use crate::decision::{CookPlan, Trigger};
use crate::meat::Cut;
use crate::pit::{Pit, PitChange};
use crate::team::model::{Climate, PitModel, TeamModel, WeightModel};
use crate::team::{TeamCook, TeamFire};
use crate::weather::Weather;
use cook::{Celsius, CelsiusDifference, Kilograms, Millimetres};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp1, StandardNormal};
use std::f64::consts::TAU;

/// Streams of the draws of a season's fires.
const FIRE_STREAMS: u64 = 3 << 32;
/// Local hour at which meat goes on, from and to.
const PRACTICE_MEAT_ON_H: (f64, f64) = (5.0, 8.0);
const CONTEST_MEAT_ON_H: (f64, f64) = (21.0, 23.0);
/// Minutes from lighting to meat-on, from and to.
const LIT_BEFORE_MIN: (f64, f64) = (45.0, 75.0);

/// The fire at a place in a season.
pub(super) fn fire(team: &TeamModel, seed: u64, index: usize) -> TeamFire {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(FIRE_STREAMS + index as u64);
    let random = &mut random;
    let run_seed = random.random();
    let day = day(&team.climate, team.fires, index, random);
    let contest = random.random_bool(team.contest_share);
    let block = team
        .randomised
        .as_ref()
        .filter(|randomised| random.random_bool(randomised.share) && !contest)
        .map(|_| index);
    let (model, _) = chosen(random, &team.pits, |(_, share)| *share);
    let water_pan = random.random_bool(team.water_pan.0);
    let meat_on_h = uniform(random, if contest { CONTEST_MEAT_ON_H } else { PRACTICE_MEAT_ON_H });
    let lit_before_s = (uniform(random, LIT_BEFORE_MIN) * 6.0) as i64 * 10;
    let mut pit = pit(team, model, lit_before_s, random);
    pit.weather = weather(&team.climate, day, random);
    pit.lit_at_h = (meat_on_h - lit_before_s as f64 / 3_600.0).rem_euclid(24.0);
    if water_pan {
        pit.added_humidity += team.water_pan.1;
    }

    let count = 1 + place(random, &team.cooks_on_fire, |share| *share);
    let arms: Vec<Option<usize>> = match (&team.randomised, block) {
        (Some(randomised), Some(_)) => {
            let mut arms: Vec<usize> = (0..randomised.arms.len()).collect();
            arms.shuffle(random);
            arms.into_iter().map(Some).collect()
        }
        _ => vec![None; count],
    };
    // The cooks of a block are of one cut, so that only the arm differs.
    let shared = block.map(|_| place(random, &team.cuts, |(_, share, _)| *share));
    let cooks = arms
        .into_iter()
        .map(|arm| {
            let cut = shared.unwrap_or_else(|| place(random, &team.cuts, |(_, share, _)| *share));
            let (cut, _, weights) = &team.cuts[cut];
            let mut cook = cook(team, *cut, weights, lit_before_s, random);
            let latest = if contest { team.contest_pull_min } else { team.practice_pull_min };
            cook.plan.pull = vec![Trigger::Tender, Trigger::Elapsed(latest)];
            cook.arm = arm;
            if let (Some(randomised), Some(arm)) = (&team.randomised, arm) {
                cook.plan.strategy = randomised.arms[arm].clone();
            }
            cook
        })
        .collect();
    TeamFire {
        index,
        day,
        pit_name: model.name.clone(),
        contest,
        water_pan,
        pit,
        block,
        cooks,
        seed: run_seed,
    }
}

/// Fires are spread over the season in order, each somewhere in its share of the days.
fn day(climate: &Climate, fires: usize, index: usize, random: &mut ChaCha8Rng) -> u16 {
    let (first, last) = climate.season;
    let days = f64::from(last - first + 1);
    let place = (index.min(fires) as f64 + random.random::<f64>()) / fires.max(1) as f64;
    (first + (days * place) as u16).min(last)
}

fn weather(climate: &Climate, day: u16, random: &mut ChaCha8Rng) -> Weather {
    let course = (TAU * (f64::from(day) - f64::from(climate.warmest_day)) / 365.0).cos();
    let mean = climate.mean.value()
        + climate.yearly_swing.value() * course
        + climate.sd.value() * normal(random);
    let mean = mean.clamp(-30.0, 40.0);
    let below = climate.dew_point_below.value() * exponential(random);
    let wet = random.random_bool(climate.rain.0);
    let rain = climate.rain.1 * exponential(random);
    Weather {
        mean: Celsius(mean),
        swing: CelsiusDifference(climate.daily_swing.value() * if wet { 0.4 } else { 1.0 }),
        warmest_h: 15.0,
        dew_point: Celsius((mean - below).clamp(-35.0, 30.0)),
        wind_m_per_s: (climate.wind.0 * factor(random, climate.wind.1)).min(25.0),
        rain_mm_per_h: if wet { rain.min(30.0) } else { 0.0 },
    }
}

fn pit(team: &TeamModel, model: &PitModel, lit_before_s: i64, random: &mut ChaCha8Rng) -> Pit {
    let setpoint = model.setpoints[random.random_range(0..model.setpoints.len())];
    let mut pit = Pit::steady(setpoint);
    pit.altitude = team.altitude;
    pit.exposure = model.exposure;
    pit.ripple_c = model.ripple_c;
    pit.ripple_period_min = uniform(random, (13.0, 24.0));
    pit.wander_c = model.wander_c * factor(random, 0.2);
    pit.convective = model.convective.0 * factor(random, model.convective.1);
    pit.added_humidity = model.added_humidity.0 * factor(random, model.added_humidity.1);
    let sags = random.random_bool(model.sags);
    let from_s = lit_before_s + (3_600.0 * uniform(random, (2.0, 9.0))) as i64;
    let until_s = from_s + (3_600.0 * uniform(random, (1.0, 3.0))) as i64;
    let by = CelsiusDifference(uniform(random, (10.0, 30.0)));
    if sags {
        pit.changes.push(PitChange::Sag { from_s, until_s, by });
    }
    let goes_out = random.random_bool(model.goes_out);
    let from_s = lit_before_s + (3_600.0 * uniform(random, (3.0, 10.0))) as i64;
    let until_s = from_s + (60.0 * uniform(random, (15.0, 45.0))) as i64;
    if goes_out {
        pit.changes.push(PitChange::Out { from_s, until_s });
    }
    pit
}

fn cook(
    team: &TeamModel,
    cut: Cut,
    weights: &WeightModel,
    meat_on_s: i64,
    random: &mut ChaCha8Rng,
) -> TeamCook {
    let weight = weights.mean.value() + weights.sd.value() * normal(random);
    let weight = weight.clamp(weights.least.value(), weights.most.value());
    let mut meat = cut.meat(Kilograms(weight));
    let spread = &team.meat;
    meat.thickness = Millimetres(meat.thickness.value() * factor(random, spread.thickness));
    meat.surface_moisture *= factor(random, spread.moisture);
    meat.wetness = (meat.wetness * factor(random, spread.wetness)).min(1.0);
    meat.tender_hours *= factor(random, spread.tender);
    let (mean, sd) = spread.start_c;
    meat.start = Celsius((mean + sd * normal(random)).clamp(1.0, 12.0));
    meat.probe_position = spread.probe_off_centre * random.random::<f64>();
    let (over, sd) = spread.ruler;
    let thickness_mm = meat.thickness.value() * over * factor(random, sd);
    let mut plan = CookPlan::unwrapped(meat, meat_on_s);
    plan.spritz_every_min = random.random_bool(team.spritz.0).then_some(team.spritz.1);
    plan.habit = Some(team.habit.clone());
    TeamCook { cut, thickness_mm, arm: None, plan }
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

fn exponential(random: &mut ChaCha8Rng) -> f64 {
    Exp1.sample(random)
}

/// A factor whose logarithm is normal with mean 0.
fn factor(random: &mut ChaCha8Rng, sd: f64) -> f64 {
    (sd * normal(random)).exp()
}

fn uniform(random: &mut ChaCha8Rng, (from, to): (f64, f64)) -> f64 {
    from + (to - from) * random.random::<f64>()
}

/// The index of one of several, drawn by probabilities that add up to 1.
fn place<T>(random: &mut ChaCha8Rng, among: &[T], share: impl Fn(&T) -> f64) -> usize {
    let mut left: f64 = random.random();
    among
        .iter()
        .position(|item| {
            left -= share(item);
            left < 0.0
        })
        .unwrap_or(among.len() - 1)
}

fn chosen<'a, T>(random: &mut ChaCha8Rng, among: &'a [T], share: impl Fn(&T) -> f64) -> &'a T {
    &among[place(random, among, share)]
}
