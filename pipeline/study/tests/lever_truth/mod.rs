//! Seasons of a simulated team that sprays, opens the lid and raises the set-point because the core
//! stands, judged by the study, with the truth beside: the same fires run without.
#![allow(dead_code, reason = "the test and the example use their own parts")]

#[path = "../counterfactual/mod.rs"]
pub(crate) mod counterfactual;

use cook::{Celsius, CelsiusDifference, EventKind};
use counterfactual::{Columns, Failure};
use simulate::strategy::{BumpStep, BumpWhen, SetpointRule};
use simulate::{
    CookPlan, CookTruth, FireTruth, Habit, RateHabit, Restlessness, SimulateError, Spray, TeamFire,
    TeamModel, Trigger, run_fire,
};
use study::analysis::levers;
use study::result::lever::{Lever, LeverKind};

/// What the team does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scenario {
    /// Sprays of which nothing comes: the truth is exactly zero.
    Nothing,
    /// Mops: 0.15 kg/m² of water, the lid open for 20 s.
    Mop,
    /// Opens the lid for three minutes to look.
    Look,
    /// Raises the set-point by 14 °C.
    Raise,
}

impl Scenario {
    pub(crate) const ALL: [Self; 4] = [Self::Nothing, Self::Mop, Self::Look, Self::Raise];

    /// What is done, in words.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Nothing => "a spray of which nothing comes",
            Self::Mop => "a mop of 0.15 kg/m²",
            Self::Look => "a minute of open lid",
            Self::Raise => "a set-point raised by 14 °C",
        }
    }

    pub(crate) fn lever(self) -> LeverKind {
        match self {
            Self::Nothing | Self::Mop => LeverKind::Spritz,
            Self::Look => LeverKind::LidMinutes,
            Self::Raise => LeverKind::SetpointRaised,
        }
    }

    /// From a core of 55 °C on, once in an hour and a half where the core rises by 4 °C an hour, twice
    /// as often where it stands, and the more the longer it takes.
    fn restlessness(self) -> Restlessness {
        let rate = RateHabit {
            from_core: Celsius(55.0),
            rate_per_h: 0.65,
            per_rise: -0.18,
            per_hour: 0.05,
        };
        let spray = |water_kg_per_m2: f64, lid_s: i64| Restlessness {
            raise: None,
            spray: Some(Spray { rate, water_kg_per_m2, lid_s }),
        };
        match self {
            Self::Nothing => spray(0.0, 0),
            Self::Mop => spray(0.15, 20),
            Self::Look => spray(0.0, 180),
            Self::Raise => {
                let rate = RateHabit { rate_per_h: RAISE_PER_H, ..rate };
                Restlessness { raise: Some((rate, RAISE_BY)), spray: None }
            }
        }
    }

    fn season(self, seed: u64, fires: usize) -> Result<Vec<TeamFire>, SimulateError> {
        let mut team = TeamModel { fires, spritz: (0.0, 75.0), ..TeamModel::middling() };
        team.habit = Habit { bump: None, ..team.habit };
        let mut season = team.season(seed)?;
        for cook in season.iter_mut().flat_map(|fire| &mut fire.cooks) {
            cook.plan.restlessness = self.restlessness();
        }
        Ok(season)
    }
}

const RAISE_BY: CelsiusDifference = CelsiusDifference(14.0);
const RAISE_PER_H: f64 = 0.15;
/// Core at which the strategies begin, °C, as in the study.
const BEGINS_C: f64 = 68.0;
/// Where in the hour the first strategy raises it, min: about where the habit and the last ten
/// minutes together put it.
const RAISED_AFTER_MIN: f64 = 45.0;

/// One season as the study saw it, and the truth of its cooks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SeasonResult {
    /// The lever as the study found it.
    pub lever: Lever,
    /// Minutes to the finish as the team cooked, less without, summed over the cooks.
    pub truth_min: f64,
    /// Doses of those cooks.
    pub truth_doses: f64,
    /// Minutes from 68 °C to the finish of every cook under both strategies.
    pub truth_strategies: [Vec<u16>; 2],
}

/// Nothing is out of time in the truth.
fn plans(fire: &TeamFire, change: impl Fn(usize, &mut CookPlan)) -> Vec<CookPlan> {
    let mut plans: Vec<CookPlan> = fire.cooks.iter().map(|cook| cook.plan.clone()).collect();
    for (place, plan) in plans.iter_mut().enumerate() {
        plan.pull = vec![Trigger::Tender, Trigger::Elapsed(2_000.0)];
        change(place, plan);
    }
    plans
}

fn end_s(cook: &CookTruth) -> i64 {
    cook.marks.finish_s.unwrap_or(cook.pull_s)
}

/// Doses of a cook on its study clock.
fn doses(kind: LeverKind, truth: &FireTruth, place: usize) -> f64 {
    let cook = &truth.cooks[place];
    let Some(zero_s) = cook.marks.clock_zero_s else { return 0.0 };
    let on_clock = |at_s: i64| at_s > zero_s && at_s <= end_s(cook);
    if kind == LeverKind::SetpointRaised {
        return f64::from(truth.setpoints.iter().any(|(at_s, _)| on_clock(*at_s)));
    }
    let spritz = kind == LeverKind::Spritz;
    let cooks = truth.cooks.iter().enumerate().filter(|(other, _)| !spritz || *other == place);
    let events = cooks.flat_map(|(_, cook)| &cook.events).filter(|event| on_clock(event.at_s));
    events
        .map(|event| match event.kind {
            EventKind::Spritz if spritz => 1.0,
            EventKind::Lid if !spritz => {
                event.value.as_ref().and_then(|value| value.parse().ok()).unwrap_or(0.0) / 60.0
            }
            _ => 0.0,
        })
        .sum()
}

/// Minutes from 68 °C to the finish of each cook under both strategies, one cook at a time, the
/// others leaving the set-point to it.
fn strategies(fire: &TeamFire) -> Result<[Vec<u16>; 2], SimulateError> {
    let mut times = [Vec::new(), Vec::new()];
    let unchanged = plans(fire, |_, plan| plan.strategy.setpoint = SetpointRule::Unchanged);
    let never = run_fire(&fire.pit, &unchanged, fire.seed)?;
    for (place, cook) in never.cooks.iter().enumerate() {
        let Some(begins_s) = cook.first_at(BEGINS_C) else { continue };
        let at_min = (begins_s - cook.meat_on_s) as f64 / 60.0 + RAISED_AFTER_MIN;
        let raise = BumpStep { when: BumpWhen::At(Trigger::Elapsed(at_min)), by: RAISE_BY };
        let plans = plans(fire, |other, plan| {
            plan.restlessness.raise = None;
            if other == place {
                plan.strategy.setpoint = SetpointRule::Raise(raise);
            }
        });
        let soon = run_fire(&fire.pit, &plans, fire.seed)?;
        for (times, cook) in times.iter_mut().zip([&soon.cooks[place], cook]) {
            times.push(((end_s(cook) - begins_s) as f64 / 60.0).round() as u16);
        }
    }
    Ok(times)
}

/// Simulates a season, has the study judge it, and runs its fires without the lever.
pub(crate) fn season(scenario: Scenario, seed: u64, fires: usize) -> Result<SeasonResult, Failure> {
    let kind = scenario.lever();
    let mut columns = Columns::default();
    let (mut truth_min, mut truth_doses) = (0.0, 0.0);
    let mut truth_strategies = [Vec::new(), Vec::new()];
    for fire in scenario.season(seed, fires)? {
        columns.add(&fire, &fire.run()?);
        let with = run_fire(&fire.pit, &plans(&fire, |_, _| {}), fire.seed)?;
        let without = plans(&fire, |_, plan| plan.restlessness = Restlessness::default());
        let without = run_fire(&fire.pit, &without, fire.seed)?;
        for (place, (with_cook, other)) in with.cooks.iter().zip(&without.cooks).enumerate() {
            truth_min += (end_s(with_cook) - end_s(other)) as f64 / 60.0;
            truth_doses += doses(kind, &with, place);
        }
        if scenario == Scenario::Raise {
            for (all, times) in truth_strategies.iter_mut().zip(strategies(&fire)?) {
                all.extend(times);
            }
        }
    }
    let (table, history, _) = columns.tables()?;
    let found = levers(&table, &history, seed)?;
    let lever = found.into_iter().find(|lever| lever.lever == kind).expect("the lever is told of");
    Ok(SeasonResult { lever, truth_min, truth_doses, truth_strategies })
}
