//! Seasons of a simulated team whose habits confound, judged by the study, with the truth beside:
//! the same cooks run under each strategy.
#![allow(dead_code, reason = "the test and the example use their own parts")]

use columns::degrees::DegreeRow;
use columns::{Table, Value, table};
use cook::{Celsius, EventKind, PhaseDefinition, WrapMethod};
use measures::{DegreesInput, StudyClock, Wrapping};
use serde::{Deserialize, Serialize};
use simulate::habit::{BumpHabit, Habit, WrapHabit};
use simulate::wrapping::SHAM;
use simulate::{FireTruth, SimulateError, Strategy, TeamFire, TeamModel, Trigger, run_marks};
use std::path::Path;
use study::analysis::{Evidence, judge_briefly};
use study::{Claims, Degrees, History, Lock, MeasureTable, StudyError};

/// What is asked of the team's seasons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scenario {
    /// A wrap that does nothing, soon after 66 °C against never: the truth is exactly zero.
    Null,
    /// The same with paper.
    Paper,
    /// The same with foil.
    Foil,
}

/// Core at which the strategy's window opens, °C.
const OPENS_C: f64 = 66.0;
/// How long it stays open, min.
const GRACE_MIN: f64 = 95.0;
/// Fires of a season: about 150 cooks.
const FIRES: usize = 91;

impl Scenario {
    pub(crate) const ALL: [Self; 3] = [Self::Null, Self::Paper, Self::Foil];

    /// Its name on the command line.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Null => "null",
            Self::Paper => "paper",
            Self::Foil => "foil",
        }
    }

    fn method(self) -> WrapMethod {
        match self {
            Self::Null => WrapMethod::Other(SHAM.into()),
            Self::Paper => WrapMethod::Paper,
            Self::Foil => WrapMethod::Foil,
        }
    }

    /// The team. It begins to think of a wrap at 66 °C, goes for it more the longer the stall has
    /// lasted and the stiller the core stands, waits with heavy cuts, lets go of it as the core
    /// climbs, and raises the set-point when the finish looks late. So who stalls long is wrapped,
    /// and late; who does not, never is. All of that shows in a log.
    pub(crate) fn team(self) -> TeamModel {
        let wrap = WrapHabit {
            methods: vec![(self.method(), 1.0)],
            from_core: Celsius(OPENS_C),
            around_core: Celsius(68.0),
            rate_per_h: 0.3,
            per_kelvin: -0.15,
            per_rise: -0.05,
            per_hour: 0.1,
            per_kg: -0.3,
            around_weight_kg: 5.5,
            bark: 0.0,
        };
        let mut team = TeamModel { fires: FIRES, ..TeamModel::middling() };
        // In the null even a bump that comes with a wrap would be an effect of it.
        let bump: Option<BumpHabit> = match self {
            Self::Null => None,
            Self::Paper | Self::Foil => team.habit.bump,
        };
        team.habit = Habit { wrap: Some(wrap), bump };
        team
    }

    fn strategies(self) -> [Strategy; 2] {
        [Strategy::wrap(self.method(), Celsius(OPENS_C), GRACE_MIN), Strategy::never()]
    }

    fn claims(self) -> Claims {
        let text = format!(
            "[[claim]]\nid = \"wrapped\"\nsays = \"Wrapped is sooner\"\nkind = \"wrap-timing\"\n\
             outcome = \"clock_to_finish_min\"\nbetter = \"lower\"\nmatters = 30\nstrategies = \
             [{{ method = \"{}\", at_core_c = {OPENS_C}, grace_min = {GRACE_MIN} }}, {{ never = true }}]\n",
            self.method()
        );
        Claims::parse(&text, Path::new("claims.toml")).expect("the claim is well formed")
    }
}

/// One season as the study saw it, and the truth of its cooks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct SeasonResult {
    /// Its seed.
    pub seed: u64,
    /// Cooks used.
    pub cooks: usize,
    /// Fires used.
    pub fires: usize,
    /// Why it was refused.
    pub refused: Option<String>,
    /// Horizon, min; zero where nothing was weighted.
    pub horizon_min: f64,
    /// Weighted difference and its standard error, min.
    pub weighted: (f64, f64),
    /// Naive difference, min.
    pub naive: f64,
    /// Difference of copies without weights, min.
    pub unweighted: f64,
    /// Copies that stayed, and their effective number, in each arm.
    pub stayed: [(usize, f64); 2],
    /// Time to the finish of every cook under each strategy, whole minutes; the largest number
    /// where it never got there.
    pub truth: [Vec<u16>; 2],
    /// On the core's clock.
    pub paced: Option<Paced>,
}

/// What was found on the core's clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Paced {
    /// Why it judges nothing.
    pub refused: Option<String>,
    /// Horizon, min.
    pub horizon_min: f64,
    /// Mean time under each strategy, min.
    pub means: [f64; 2],
    /// Difference and its standard error, min.
    pub estimate: Option<(f64, f64)>,
    /// The part of it that is the resamples', min.
    pub sampling_error_min: f64,
    /// Share of the minutes run on that no three cooks of other fires bear.
    pub unsupported: f64,
    /// Tilts with their standard errors, unwrapped and wrapped.
    pub tilts: Vec<(f64, f64)>,
    /// Natural course: observed and simulated means of all, wrapped and not wrapped.
    pub natural: Vec<(f64, f64)>,
}

/// Why a season could not be judged.
#[derive(Debug)]
#[allow(dead_code, reason = "read through Debug")]
pub(crate) enum Failure {
    /// By the simulator.
    Simulate(SimulateError),
    /// By the study.
    Study(StudyError),
}

impl From<SimulateError> for Failure {
    fn from(error: SimulateError) -> Self {
        Self::Simulate(error)
    }
}

impl From<StudyError> for Failure {
    fn from(error: StudyError) -> Self {
        Self::Study(error)
    }
}

#[derive(Default)]
pub(crate) struct Columns {
    cook: Vec<String>,
    fire: Vec<String>,
    weight: Vec<f64>,
    meat_on_ms: Vec<i64>,
    method: Vec<String>,
    wrap_min: Vec<Option<f64>>,
    finish_min: Vec<f64>,
    reached: Vec<bool>,
    reason: Vec<&'static str>,
    of: Vec<String>,
    minute: Vec<i64>,
    core: Vec<f64>,
    k: Vec<f64>,
    pit: Vec<f64>,
    in_stall: Vec<bool>,
    setpoint: Vec<f64>,
    spritzes: Vec<f64>,
    lid_noted_min: Vec<f64>,
    lagged: Vec<f64>,
    k_ref: Vec<Option<f64>>,
    degrees: Vec<DegreeRow>,
}

/// What a cook's events say of the ten minutes after an instant: sprays of its own, and minutes of
/// an open lid of all cooks on the fire.
fn handled(truth: &FireTruth, place: usize, at_s: i64) -> (f64, f64) {
    let within = |at: i64| at > at_s && at <= at_s + 600;
    let events = |kind: EventKind, cook: usize| {
        let events = truth.cooks[cook].events.iter();
        events.filter(move |event| event.kind == kind && within(event.at_s))
    };
    let sprays = events(EventKind::Spritz, place).count() as f64;
    let lids = (0..truth.cooks.len()).flat_map(|cook| events(EventKind::Lid, cook));
    let seconds = lids.filter_map(|lid| lid.value.as_ref()?.parse::<f64>().ok()).sum::<f64>();
    (sprays, seconds / 60.0)
}

impl Columns {
    pub(crate) fn add(&mut self, fire: &TeamFire, truth: &FireTruth) {
        for (place, (cook, run)) in fire.cooks.iter().zip(&truth.cooks).enumerate() {
            let Some(zero_s) = run.marks.clock_zero_s else { continue };
            let end_s = run.marks.finish_s.unwrap_or(run.pull_s);
            let minutes = |at_s: i64| (at_s - zero_s) as f64 / 60.0;
            let name = format!("{:03}-{place}", fire.index);
            let start_h = f64::from(fire.day) * 24.0
                + fire.pit.lit_at_h
                + run.marks.meat_on_s as f64 / 3_600.0;
            let wrap = run.marks.wrap.as_ref().filter(|(at_s, _)| *at_s <= end_s);
            self.cook.push(name.clone());
            self.fire.push(format!("{:03}", fire.index));
            self.weight.push(cook.plan.meat.weight.value());
            self.meat_on_ms.push((start_h * 3_600_000.0) as i64);
            self.method.push(wrap.map_or("none".into(), |(_, method)| method.to_string()));
            self.wrap_min.push(wrap.map(|(at_s, _)| minutes(*at_s).max(0.0)));
            self.finish_min.push(minutes(end_s));
            self.reached.push(run.marks.finish_s.is_some());
            let tender = run.marks.pulled_by == Some(Trigger::Tender);
            self.reason.push(match (run.marks.finish_s, tender) {
                (Some(_), _) => "finish",
                (None, true) => "tender",
                (None, false) => "out-of-time",
            });
            let heating = &run.judgement.heating;
            self.k_ref.push(run.judgement.reference.map(|reference| reference.k_per_h));
            let wrappings: Vec<Wrapping> = run
                .wraps
                .iter()
                .map(|(at_s, method)| Wrapping {
                    from_ms: at_s * 1_000,
                    method: Some(method.clone()),
                })
                .collect();
            let definition = PhaseDefinition::default();
            self.degrees.extend(measures::degrees(DegreesInput {
                cook: &name,
                events: &[],
                wrappings: Some(&wrappings),
                heating,
                core_apart_c: None,
                clock: Some(StudyClock {
                    zero_ms: zero_s * 1_000,
                    finish_ms: run.marks.finish_s.map(|at_s| at_s * 1_000),
                    last_ms: heating.at_ms(heating.len() - 1),
                }),
                definition: &definition,
            }));
            for minute in (0..).step_by(10).take_while(|m| zero_s + m * 60 <= end_s) {
                let at_s = zero_s + minute * 60;
                let Some(index) = heating.index_at(at_s * 1_000) else { break };
                let (spritzes, lid_min) = handled(truth, place, at_s);
                self.spritzes.push(spritzes);
                self.lid_noted_min.push(lid_min);
                let raised = truth.setpoints.iter().rfind(|(since, _)| *since <= at_s);
                self.of.push(name.clone());
                self.minute.push(minute);
                self.core.push(heating.core_c[index]);
                self.k.push(heating.k_per_h[index]);
                self.pit.push(heating.pit_c[index]);
                self.lagged.push(heating.lagged_pit_c[index]);
                self.in_stall.push(heating.in_stall[index]);
                self.setpoint.push(raised.map_or(fire.pit.setpoint, |(_, to)| *to).value());
            }
        }
    }

    pub(crate) fn tables(self) -> Result<(MeasureTable, History, Degrees), StudyError> {
        let measures = table!(
            "cook" => self.cook,
            "fire" => self.fire,
            "trimmed_weight_kg" => self.weight,
            "meat_on_ms" => self.meat_on_ms,
            "wrap_method" => self.method,
            "clock_to_wrap_min" => self.wrap_min,
            "clock_to_finish_min" => self.finish_min,
            "finish_reached" => self.reached,
            "end_reason" => self.reason,
            "k_ref_per_h" => self.k_ref,
        );
        let history = table!(
            "cook" => self.of,
            "minute" => self.minute,
            "core_c" => self.core,
            "k_per_h" => self.k,
            "pit_c" => self.pit,
            "lagged_pit_c" => self.lagged,
            "in_stall" => self.in_stall,
            "setpoint_c" => self.setpoint,
            "spritzes" => self.spritzes,
            "lid_noted_min" => self.lid_noted_min,
        );
        let degrees = degree_table(&self.degrees);
        Ok((MeasureTable::new(&measures)?, History::new(&history)?, Degrees::new(&degrees)?))
    }
}

/// Rows of degrees as a table.
fn degree_table(rows: &[DegreeRow]) -> Table {
    let cells: Vec<Vec<_>> = rows.iter().map(DegreeRow::cells).collect();
    let mut table = Table::new();
    for (place, column) in columns::degrees::ALL.iter().enumerate() {
        let values = cells.iter().map(|row| row[place].1.clone());
        table.push(column.name, column.kind.column(values.collect::<Vec<Value>>().into_iter()));
    }
    table
}

/// Every cook of the fire under a strategy, one at a time, the others as the team does: minutes of
/// the study clock. Nothing is out of time here: the truth is how long it would have taken.
fn truth(fire: &TeamFire, strategy: &Strategy) -> Result<Vec<u16>, SimulateError> {
    (0..fire.cooks.len())
        .map(|place| {
            let mut plans: Vec<_> = fire.cooks.iter().map(|cook| cook.plan.clone()).collect();
            plans[place].strategy = strategy.clone();
            plans[place].pull = vec![Trigger::Tender, Trigger::Elapsed(2_400.0)];
            let marks = run_marks(&fire.pit, &plans, fire.seed)?;
            Ok(marks[place].clock_to_finish_min().map_or(u16::MAX, |m| m.round() as u16))
        })
        .collect()
}

/// Simulates a season, has the study judge it, and runs its cooks under each strategy.
pub(crate) fn season(scenario: Scenario, seed: u64) -> Result<SeasonResult, Failure> {
    judged(scenario, FIRES, seed, false)
}

/// The same with so many fires: 36 have some 60 cooks, 18 some 30.
pub(crate) fn season_of(
    scenario: Scenario,
    fires: usize,
    seed: u64,
) -> Result<SeasonResult, Failure> {
    judged(scenario, fires, seed, true)
}

fn judged(
    scenario: Scenario,
    fires: usize,
    seed: u64,
    on_cores_clock: bool,
) -> Result<SeasonResult, Failure> {
    let fires = TeamModel { fires, ..scenario.team() }.season(seed)?;
    let mut columns = Columns::default();
    let mut times = [Vec::new(), Vec::new()];
    for fire in &fires {
        columns.add(fire, &fire.run()?);
        // A sham does nothing under any strategy.
        if scenario != Scenario::Null {
            for (times, strategy) in times.iter_mut().zip(scenario.strategies()) {
                times.extend(truth(fire, &strategy)?);
            }
        }
    }
    let (table, history, degrees) = columns.tables()?;
    let claims = scenario.claims();
    let lock = Lock::update(None, &claims, table.cooks());
    let evidence = Evidence {
        history: Some(&history),
        degrees: on_cores_clock.then_some(&degrees),
        seed,
        ..Evidence::default()
    };
    let found = judge_briefly(&table, &claims.claims[0], &lock, evidence)?;
    let timing = found.wrap_timing.as_ref();
    let paced = found.g_formula.as_ref();
    Ok(SeasonResult {
        seed,
        cooks: found.n,
        fires: found.fires,
        refused: found.reason,
        horizon_min: timing.map_or(0.0, |t| t.horizon_min),
        weighted: timing.map_or((0.0, 0.0), |t| (t.weighted.estimate, t.weighted.std_error)),
        naive: timing.and_then(|t| t.naive).map_or(0.0, |naive| naive.estimate),
        unweighted: timing.map_or(0.0, |t| t.unweighted.estimate),
        stayed: [0, 1].map(|place| {
            timing.map_or((0, 0.0), |t| (t.arms[place].stayed, t.arms[place].effective))
        }),
        truth: times,
        paced: paced.map(|paced| Paced {
            refused: paced.reason.clone(),
            horizon_min: paced.horizon_min,
            means: paced.restricted_mean_min,
            estimate: paced.difference.map(|d| (d.estimate, d.std_error)),
            sampling_error_min: paced.sampling_error_min,
            unsupported: paced.rests_on.as_ref().map_or(0.0, |rests| rests.unsupported_share),
            tilts: paced
                .rests_on
                .iter()
                .flat_map(|rests| &rests.tilt)
                .map(|tilt| tilt.map_or((0.0, 0.0), |tilt| (tilt.slope, tilt.std_error)))
                .collect(),
            natural: paced
                .natural_course
                .iter()
                .map(|held| (held.observed_mean_min, held.simulated_mean_min))
                .collect(),
        }),
    })
}

/// Mean of the time to the finish up to a horizon, over times as in [`SeasonResult::truth`].
pub(crate) fn restricted_mean(times: impl Iterator<Item = u16>, horizon_min: f64) -> f64 {
    let (sum, n) =
        times.fold((0.0, 0.0), |(sum, n), t| (sum + f64::from(t).min(horizon_min), n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}
