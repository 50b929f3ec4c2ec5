//! Judges wrap timing on seasons of two generators that are unlike `simulate` (`tests/backtest/profiles.rs`, and
//! `surface.rs` beside this), through measured logs: readings with noise, cleaned, smoothed, judged and followed
//! degree by degree as the command does it.
//!
//! `wrap_worlds WORLD FIRES FROM TO` prints a line a season and a summary; worlds are `null`, `paper` and `foil`,
//! `surface-null`, `surface-paper` and `surface-foil`, and `surface-bark`, where a wrap that does nothing goes by a
//! bark that nobody notes, and `surface-noted-bark`, where somebody does. Seasons of seed below 1,000 set constants, those above score them. `coarse` behind it
//! has loggers that write whole °F every five minutes.
#![allow(clippy::needless_pass_by_value, reason = "rows are made for one table")]

#[path = "../../tests/backtest/profiles.rs"]
#[allow(dead_code, unreachable_pub, missing_docs, reason = "each user takes a part of it")]
mod profiles;
mod surface;

use columns::{Table, Value, table};
use cook::PhaseDefinition;
use measures::{DegreesInput, HistoryInput, MeasureInput, StudyClock};
use phases::{PreparedCook, Samples, SegmentOptions, prepare_cook};
use profiles::{Decision, Habit, Material, Run, Team};
use std::error::Error;
use std::path::Path;
use study::analysis::{Evidence, judge_briefly};
use study::{Claims, Degrees, History, Lock, MeasureTable, Verdict};
use surface::GoesBy;

/// Grace of the strategy, min.
const GRACE_MIN: usize = 90;
/// Horizon, min.
const HORIZON_MIN: f64 = 720.0;

type Failure = Box<dyn Error>;

fn main() -> Result<(), Failure> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [world, fires, from, to, rest @ ..] = words.as_slice() else {
        return Err(
            "usage: wrap_worlds [surface-]null|paper|foil|bark FIRES FROM TO [coarse]".into()
        );
    };
    let (surface, word) = match world.strip_prefix("surface-") {
        None => (None, world.as_str()),
        Some("bark") => (Some(GoesBy::Bark), "null"),
        Some("noted-bark") => (Some(GoesBy::NotedBark), "null"),
        Some(word) => (Some(GoesBy::Core), word),
    };
    let material = match word {
        "null" => Material::Sham,
        "paper" => Material::Paper,
        "foil" => Material::Foil,
        other => return Err(format!("`{other}` is no world").into()),
    };
    let coarse = rest.iter().any(|word| word == "coarse");
    let (fires, from, to): (u64, u64, u64) = (fires.parse()?, from.parse()?, to.parse()?);
    let mut scored = Score::default();
    for seed in from..to {
        let season = season(&Crew::new(surface, material, seed), seed, fires, coarse)?;
        println!("{seed} {}", season.line);
        scored.add(&season)?;
    }
    println!("{}", scored.line());
    Ok(())
}

/// What was found of a season.
struct Season {
    truth: f64,
    found: Option<(f64, f64)>,
    fires: usize,
    line: String,
}

#[derive(Default)]
struct Score {
    seasons: usize,
    off: Vec<f64>,
    errors: Vec<f64>,
    truths: Vec<f64>,
    covered: usize,
    wrong: usize,
    at_edges: usize,
    yes: usize,
    settled: usize,
}

impl Score {
    fn add(&mut self, season: &Season) -> Result<(), Failure> {
        self.seasons += 1;
        let Some((estimate, std_error)) = season.found else { return Ok(()) };
        let unit = stats::Estimate { estimate: 0.0, std_error: 1.0, df: season.fires as f64 - 1.0 };
        let half = unit.interval(0.9)?.hi * std_error;
        let lean = estimate - season.truth;
        self.off.push(lean);
        self.errors.push(std_error);
        self.truths.push(season.truth);
        self.covered += usize::from(lean.abs() <= half);
        let verdict = |d: f64, matters: f64| Verdict::judge(d - half, d + half, matters);
        self.wrong +=
            usize::from(matches!(verdict(-lean, 30.0), Some(Verdict::Yes | Verdict::Reverse)));
        self.at_edges += usize::from(matches!(
            verdict(-lean + 30.0, 30.0),
            Some(Verdict::No | Verdict::Reverse | Verdict::TooSmallToMatter)
        ));
        self.at_edges += usize::from(matches!(
            verdict(-lean - 30.0, 30.0),
            Some(Verdict::Yes | Verdict::TooSmallToMatter)
        ));
        let there = verdict(-estimate, 30.0);
        self.yes += usize::from(there == Some(Verdict::Yes));
        self.settled += usize::from(matches!(there, Some(Verdict::No | Verdict::TooSmallToMatter)));
        Ok(())
    }

    fn line(&self) -> String {
        let n = self.off.len();
        let mean = |values: &[f64]| stats::describe::mean(values).unwrap_or(f64::NAN);
        let spread = stats::describe::standard_deviation(&self.off).unwrap_or(f64::NAN);
        let share = |part: usize, of: usize| {
            format!("{:.1} % ({part} of {of})", 100.0 * part as f64 / of.max(1) as f64)
        };
        format!(
            "seasons {} | refused {} | truth {:+.1} | bias {:+.1} (± {:.1}) | spread {spread:.1}, standard error {:.1} | \
             cover {} | wrong at 0 {} | at the edges {} | yes {} | settled against {}",
            self.seasons,
            share(self.seasons - n, self.seasons),
            mean(&self.truths),
            mean(&self.off),
            spread / (n as f64).sqrt(),
            mean(&self.errors),
            share(self.covered, n),
            share(self.wrong, n),
            share(self.at_edges, 2 * n),
            share(self.yes, n),
            share(self.settled, n),
        )
    }
}

#[derive(Default)]
struct Columns {
    rows: Vec<measures::MeasureRow>,
    history: Vec<columns::history::HistoryRow>,
    degrees: Vec<columns::degrees::DegreeRow>,
}

fn table_of(
    columns: &[columns::Description],
    rows: Vec<Vec<(columns::Description, Value)>>,
) -> Table {
    let mut table = Table::new();
    for (place, column) in columns.iter().enumerate() {
        let values: Vec<Value> = rows.iter().map(|row| row[place].1.clone()).collect();
        table.push(column.name, column.kind.column(values.into_iter()));
    }
    table
}

impl Columns {
    fn add(&mut self, run: &Run) -> Result<(), Failure> {
        let definition = PhaseDefinition::default();
        let recorded = &run.recorded;
        let (card, events) = (&recorded.card, &recorded.events);
        let prepared: PreparedCook = prepare_cook(&recorded.readings, card, events, &definition)?;
        let apart = prepared.core_apart(events);
        let found =
            prepared.segmented(&SegmentOptions { definition, ..SegmentOptions::default() })?;
        let input = MeasureInput {
            card,
            segmentation: Ok(&found.segmentation),
            marks: Some(&found.marks),
            lead: Some(&found.lead),
            events,
            definition: &definition,
            core_after_slice: Samples::default(),
            assumed_pit_dew_point: None,
        };
        self.rows.push(measures::measure(&input));
        self.history.extend(measures::history(HistoryInput {
            card,
            events,
            on_fire: &[],
            marks: &found.marks,
            segmentation: &found.segmentation,
            pit: found.pit.view(),
            definition: &definition,
        }));
        let wrappings = measures::wrappings(card, &found.marks, events);
        self.degrees.extend(measures::degrees(DegreesInput {
            cook: &card.cook,
            events,
            wrappings: wrappings.as_deref(),
            heating: &found.segmentation.judgement.heating,
            core_apart_c: apart.as_deref(),
            clock: StudyClock::of(
                &found.segmentation,
                definition.stall_from_c,
                definition.finish_c,
            ),
            definition: &definition,
        }));
        Ok(())
    }

    fn tables(self) -> Result<(MeasureTable, History, Degrees), Failure> {
        let known = &self.rows;
        let measures = table!(
            "cook" => known.iter().map(|row| row.known.cook.clone()).collect::<Vec<_>>(),
            "fire" => known.iter().map(|row| row.known.fire.clone()).collect::<Vec<_>>(),
            "trimmed_weight_kg" => known.iter().map(|row| row.known.trimmed_weight_kg).collect::<Vec<_>>(),
            "wrap_method" => known.iter().map(|row| row.known.wrap_method.clone()).collect::<Vec<_>>(),
            "wrap_time_known" => known.iter().map(|row| row.known.wrap_time_known).collect::<Vec<_>>(),
            "clock_to_wrap_min" => known.iter().map(|row| row.known.clock_to_wrap_min).collect::<Vec<_>>(),
            "clock_to_finish_min" => known.iter().map(|row| row.known.clock_to_finish_min).collect::<Vec<_>>(),
            "finish_reached" => known.iter().map(|row| row.known.finish_reached).collect::<Vec<_>>(),
            "end_reason" => known.iter().map(|row| row.known.end_reason.clone()).collect::<Vec<_>>(),
            "k_ref_per_h" => known.iter().map(|row| row.known.k_ref_per_h).collect::<Vec<_>>(),
        );
        let history = self.history.iter().map(columns::history::HistoryRow::cells).collect();
        let degrees = self.degrees.iter().map(columns::degrees::DegreeRow::cells).collect();
        Ok((
            MeasureTable::new(&measures)?,
            History::new(&table_of(columns::history::ALL, history))?,
            Degrees::new(&table_of(columns::degrees::ALL, degrees))?,
        ))
    }
}

/// Readings as a logger writes them that knows whole °F and five minutes.
fn coarsened(run: &mut Run) {
    for channel in &mut run.recorded.readings.channels {
        let kept: Vec<usize> = (0..channel.at_ms.len()).step_by(5).collect();
        let whole_f = |celsius: f32| ((celsius * 1.8 + 32.0).round() - 32.0) / 1.8;
        channel.temp_c = kept.iter().map(|&i| whole_f(channel.temp_c[i])).collect();
        channel.at_ms = kept.iter().map(|&i| channel.at_ms[i]).collect();
        channel.flag = kept.iter().map(|&i| channel.flag[i]).collect();
        channel.source = kept.iter().map(|&i| channel.source[i]).collect();
        channel.line = kept.iter().map(|&i| channel.line[i]).collect();
    }
}

/// A team of either generator.
enum Crew {
    Profiles(Team, Material),
    Surface(surface::Team),
}

impl Crew {
    fn new(goes_by: Option<GoesBy>, material: Material, seed: u64) -> Self {
        if let Some(goes_by) = goes_by {
            return Self::Surface(surface::Team { seed, material, goes_by });
        }
        let rate_per_h = [0.3, 0.45, 0.6][(seed % 3) as usize];
        let habit = Habit { rate_per_h, per_kelvin: -0.15, material };
        Self::Profiles(Team::new(seed, 0).with(habit), material)
    }

    fn material(&self) -> Material {
        match self {
            Self::Profiles(_, material) => *material,
            Self::Surface(team) => team.material,
        }
    }

    fn fire(&self, fire: u64, decision: Decision) -> Vec<Run> {
        match self {
            Self::Profiles(team, _) => team.fire(fire, decision),
            Self::Surface(team) => team.fire(fire, decision),
        }
    }
}

fn season(team: &Crew, seed: u64, fires: u64, coarse: bool) -> Result<Season, Failure> {
    let material = team.material();
    let mut columns = Columns::default();
    let (mut sums, mut cooks) = ([0.0, 0.0], 0.0);
    for fire in 0..fires {
        // The truth, from clock zero.
        for (sum, decision) in sums.iter_mut().zip([Decision::Within(GRACE_MIN), Decision::Never]) {
            for run in team.fire(fire, decision) {
                *sum += (run.finish_min - run.zero_min).min(HORIZON_MIN);
            }
        }
        for mut run in team.fire(fire, Decision::AsTheTeam) {
            cooks += 1.0;
            if coarse {
                coarsened(&mut run);
            }
            columns.add(&run)?;
        }
    }
    let truth = (sums[0] - sums[1]) / cooks;
    let method = material.method();
    let text = format!(
        "[[claim]]\nid = \"wrapped\"\nsays = \"Wrapped is sooner\"\nkind = \"wrap-timing\"\n\
         outcome = \"clock_to_finish_min\"\nbetter = \"lower\"\nmatters = 30\nstrategies = \
         [{{ method = \"{method}\", at_core_c = {}, grace_min = {GRACE_MIN} }}, {{ never = true }}]\n",
        profiles::HABIT_FROM_C
    );
    let claims = Claims::parse(&text, Path::new("claims.toml"))?;
    let (table, history, degrees) = columns.tables()?;
    let lock = Lock::update(None, &claims, table.cooks());
    let evidence = Evidence {
        history: Some(&history),
        degrees: Some(&degrees),
        seed,
        horizon_min: HORIZON_MIN,
        ..Evidence::default()
    };
    let judged = judge_briefly(&table, &claims.claims[0], &lock, evidence)?;
    let paced = judged.g_formula.as_ref();
    let line = format!(
        "cooks {} truth {truth:.1} {} {}",
        judged.n,
        paced.map_or_else(String::new, |paced| {
            let rests = paced.rests_on.as_ref();
            format!(
                "found {:.1?} sampling {:.1} unsupported {:.2} tilt {:.2?} natural {:.0?}",
                paced.difference.map(|d| (d.estimate, d.std_error)),
                paced.sampling_error_min,
                rests.map_or(0.0, |rests| rests.unsupported_share),
                rests.map(|rests| rests
                    .tilt
                    .iter()
                    .flatten()
                    .map(|t| (t.slope, t.std_error))
                    .collect::<Vec<_>>()),
                paced
                    .natural_course
                    .iter()
                    .map(|held| (held.observed_mean_min, held.simulated_mean_min))
                    .collect::<Vec<_>>(),
            )
        }),
        paced.and_then(|paced| paced.reason.clone()).unwrap_or_default(),
    );
    let found = paced.filter(|paced| paced.reason.is_none()).and_then(|paced| paced.difference);
    Ok(Season {
        truth,
        found: found.map(|found| (found.estimate, found.std_error)),
        fires: paced.map_or(0, |paced| paced.fires),
        line,
    })
}
