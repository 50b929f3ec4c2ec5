//! Judges wrap timing against counterfactual truth, in shards that can be resumed.
//!
//! `counterfactual run SCENARIO SEASONS SHARDS SHARD FOLDER` judges a shard's seasons and writes
//! `FOLDER/SCENARIO-SHARD.json`; a shard that is there already is left alone. `counterfactual table
//! FOLDER` prints the table of `docs/wrap-timing.md` from whatever shards are there. Scenarios are
//! `null`, `paper` and `foil`.

#[path = "../tests/counterfactual/mod.rs"]
mod counterfactual;

use counterfactual::{Scenario, SeasonResult, restricted_mean, season, season_of};
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use study::Verdict;

/// Two-sided level of the intervals: a family of one claim.
const LEVEL: f64 = 0.9;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["run", scenario, seasons, shards, shard, folder] => run(
            named(scenario)?,
            seasons.parse()?,
            shards.parse()?,
            shard.parse()?,
            Path::new(folder),
        ),
        ["pace", scenario, fires, from, to] => {
            print!("{}", pace(named(scenario)?, fires.parse()?, from.parse()?..to.parse()?)?);
            Ok(())
        }
        ["table", folder] => {
            print!("{}", table(Path::new(folder))?);
            Ok(())
        }
        _ => {
            Err("usage: counterfactual run SCENARIO SEASONS SHARDS SHARD FOLDER | table FOLDER | pace SCENARIO FIRES FROM TO"
                .into())
        }
    }
}

fn named(scenario: &str) -> Result<Scenario, Box<dyn Error>> {
    Scenario::ALL
        .into_iter()
        .find(|known| known.name() == scenario)
        .ok_or_else(|| format!("`{scenario}` is none of `null`, `paper` and `foil`").into())
}

fn run(
    scenario: Scenario,
    seasons: u64,
    shards: u64,
    shard: u64,
    folder: &Path,
) -> Result<(), Box<dyn Error>> {
    fs::create_dir_all(folder)?;
    let path = folder.join(format!("{}-{shard:03}.json", scenario.name()));
    if path.exists() {
        return Ok(());
    }
    let seeds = (0..seasons).filter(|seed| seed % shards == shard);
    let found = seeds
        .map(|seed| season(scenario, seed).map_err(|failure| format!("season {seed}: {failure:?}")))
        .collect::<Result<Vec<SeasonResult>, String>>()?;
    // Whole or not there at all.
    let beside = path.with_extension("part");
    fs::write(&beside, serde_json::to_string(&found)?)?;
    fs::rename(beside, path)?;
    Ok(())
}

/// The answer on the core's clock over seasons of so many fires.
fn pace(
    scenario: Scenario,
    fires: usize,
    seeds: std::ops::Range<u64>,
) -> Result<String, Box<dyn Error>> {
    let all = seeds
        .map(|seed| season_of(scenario, fires, seed).map_err(|error| format!("{error:?}")))
        .collect::<Result<Vec<SeasonResult>, String>>()?;
    let mut text = String::new();
    for season in &all {
        let Some(found) = &season.paced else { continue };
        let truth = truth(&all, found.horizon_min);
        let own =
            |arm: usize| restricted_mean(season.truth[arm].iter().copied(), found.horizon_min);
        writeln!(
            text,
            "{} n {} truth {truth:.1} own {:.0?} means {:.0?} found {:?} sampling {:.1} unsupported {:.3} tilt {:.2?} natural {:.0?} ccw {:.0?} {} {}",
            season.seed,
            season.cooks,
            [own(0), own(1)],
            found.means,
            found.estimate.map(|e| ((10.0 * e.0).round() / 10.0, (10.0 * e.1).round() / 10.0)),
            found.sampling_error_min,
            found.unsupported,
            found.tilts,
            found.natural,
            season.weighted,
            found.refused.as_deref().unwrap_or("-"),
            season.refused.as_deref().map_or(0, |_| 1),
        )?;
    }
    writeln!(text, "{}", paced_line(&all)?)?;
    Ok(text)
}

/// Refused, bias, spread, mean errors, cover, wrong at zero and at the edges, `yes` at 30 min.
fn paced_line(all: &[SeasonResult]) -> Result<String, Box<dyn Error>> {
    let (mut off, mut errors, mut samplings) = (Vec::new(), Vec::new(), Vec::new());
    let (mut covered, mut yes, mut zero, mut plus, mut minus, mut settled) = (0, 0, 0, 0, 0, 0);
    let judged: Vec<_> = all
        .iter()
        .filter_map(|season| season.paced.as_ref().map(|paced| (season, paced)))
        .filter(|(_, paced)| paced.refused.is_none())
        .collect();
    for (season, paced) in &judged {
        let Some((estimate, error)) = paced.estimate else { continue };
        let truth = truth(all, paced.horizon_min);
        let half = reach(season)? * error;
        off.push(estimate - truth);
        errors.push(error);
        samplings.push(paced.sampling_error_min);
        covered += usize::from((estimate - truth).abs() <= half);
        let verdict = |d: f64, matters: f64| Verdict::judge(d - half, d + half, matters);
        yes += usize::from(verdict(-estimate, 30.0) == Some(Verdict::Yes));
        settled += usize::from(matches!(
            verdict(-estimate, 30.0),
            Some(Verdict::No | Verdict::TooSmallToMatter)
        ));
        let matters = if truth.abs() < 1.0 { 30.0 } else { truth.abs() };
        let lean = truth - estimate;
        zero +=
            usize::from(matches!(verdict(lean, matters), Some(Verdict::Yes | Verdict::Reverse)));
        plus += usize::from(matches!(
            verdict(lean + matters, matters),
            Some(Verdict::No | Verdict::Reverse | Verdict::TooSmallToMatter)
        ));
        minus += usize::from(matches!(
            verdict(lean - matters, matters),
            Some(Verdict::Yes | Verdict::TooSmallToMatter)
        ));
    }
    let n = off.len();
    let (bias, bias_error) = mean_and_error(&off);
    let spread = stats::describe::standard_deviation(&off).unwrap_or(f64::NAN);
    Ok(format!(
        "refused {} | bias {bias:+.1} (± {bias_error:.1}) | spread {spread:.1}, standard error {:.1}, of resamples {:.1} | \
         cover {} | wrong at 0 {} | at the edges {} | yes {} | settled against {}",
        share(all.len() - n, all.len()),
        mean_and_error(&errors).0,
        mean_and_error(&samplings).0,
        share(covered, n),
        share(zero, n),
        share(plus + minus, 2 * n),
        share(yes, n),
        share(settled, n),
    ))
}

fn read(folder: &Path, scenario: Scenario) -> Result<Vec<SeasonResult>, Box<dyn Error>> {
    let mut found: Vec<SeasonResult> = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
        let is_shard = path.extension().is_some_and(|ending| ending == "json");
        if is_shard && name.starts_with(scenario.name()) {
            let shard: Vec<SeasonResult> = serde_json::from_str(&fs::read_to_string(&path)?)?;
            found.extend(shard);
        }
    }
    found.sort_by_key(|season| season.seed);
    Ok(found)
}

/// Truth of a season's horizon over the cooks of all seasons.
fn truth(seasons: &[SeasonResult], horizon_min: f64) -> f64 {
    let mean = |arm: usize| {
        let times = seasons.iter().flat_map(|season| season.truth[arm].iter().copied());
        restricted_mean(times, horizon_min)
    };
    mean(0) - mean(1)
}

/// Half width of the interval over its standard error.
fn reach(season: &SeasonResult) -> Result<f64, Box<dyn Error>> {
    let unit = stats::Estimate { estimate: 0.0, std_error: 1.0, df: season.fires as f64 - 1.0 };
    Ok(unit.interval(LEVEL)?.hi)
}

fn share(part: usize, of: usize) -> String {
    format!("{:.1} % ({part} of {of})", 100.0 * part as f64 / of.max(1) as f64)
}

fn mean_and_error(values: &[f64]) -> (f64, f64) {
    let mean = stats::describe::mean(values).unwrap_or(f64::NAN);
    let sd = stats::describe::standard_deviation(values).unwrap_or(f64::NAN);
    (mean, sd / (values.len() as f64).sqrt())
}

fn table(folder: &Path) -> Result<String, Box<dyn Error>> {
    let mut text = String::from("| | null | paper | foil |\n|---|---|---|---|\n");
    let columns = Scenario::ALL
        .into_iter()
        .map(|scenario| lines(&read(folder, scenario)?))
        .collect::<Result<Vec<_>, _>>()?;
    for (place, (name, _)) in columns[0].iter().enumerate() {
        let cells: Vec<&str> = columns.iter().map(|lines| lines[place].1.as_str()).collect();
        writeln!(text, "| {name} | {} |", cells.join(" | "))?;
    }
    Ok(text)
}

fn lines(all: &[SeasonResult]) -> Result<Vec<(&'static str, String)>, Box<dyn Error>> {
    let weighted: Vec<&SeasonResult> = all.iter().filter(|s| s.horizon_min > 0.0).collect();
    let judged: Vec<&SeasonResult> =
        weighted.iter().copied().filter(|season| season.refused.is_none()).collect();
    let refused = all.len() - judged.len();
    let mut lines = vec![
        ("seasons", all.len().to_string()),
        ("cooks of a season, mean", format!("{:.0}", mean_of(all, |s| s.cooks as f64))),
        ("refused", share(refused, all.len())),
    ];
    let truths: Vec<f64> = judged.iter().map(|s| truth(all, s.horizon_min)).collect();
    let off = |of: &dyn Fn(&SeasonResult) -> f64| {
        let values: Vec<f64> = judged.iter().zip(&truths).map(|(s, truth)| of(s) - truth).collect();
        let (mean, error) = mean_and_error(&values);
        format!("{mean:+.1} (± {error:.1})")
    };
    lines.push(("truth, wrapped minus never, min", format!("{:+.1}", mean_and_error(&truths).0)));
    lines.push(("horizon, mean, min", format!("{:.0}", mean_of(&judged, |s| s.horizon_min))));
    lines.push((
        "cooks that stayed, wrapped and never, mean",
        format!(
            "{:.0}, {:.0}",
            mean_of(&judged, |s| s.stayed[0].0 as f64),
            mean_of(&judged, |s| s.stayed[1].0 as f64)
        ),
    ));
    lines.push(("naive: bias, min", off(&|s| s.naive)));
    lines.push(("copies without weights: bias, min", off(&|s| s.unweighted)));
    lines.push(("weighted: bias, min", off(&|s| s.weighted.0)));
    let spread: Vec<f64> = judged.iter().zip(&truths).map(|(s, t)| s.weighted.0 - t).collect();
    lines.push((
        "weighted: spread over seasons and mean standard error, min",
        format!(
            "{:.1}, {:.1}",
            stats::describe::standard_deviation(&spread).unwrap_or(f64::NAN),
            mean_of(&judged, |s| s.weighted.1)
        ),
    ));
    let mut covered = 0;
    for (season, truth) in judged.iter().zip(&truths) {
        covered +=
            usize::from((season.weighted.0 - truth).abs() <= reach(season)? * season.weighted.1);
    }
    lines.push(("90 % interval covers the truth", share(covered, judged.len())));
    lines.extend(verdicts(&judged, &truths)?);
    Ok(lines)
}

fn mean_of<S: std::borrow::Borrow<SeasonResult>>(
    seasons: &[S],
    of: impl Fn(&SeasonResult) -> f64,
) -> f64 {
    let values: Vec<f64> = seasons.iter().map(|season| of(season.borrow())).collect();
    stats::describe::mean(&values).unwrap_or(f64::NAN)
}

/// Verdicts on "wrapped is sooner" with estimates moved so that the truth, signed, is nothing, or
/// lies on the edge of what matters on the one side or the other; and as they are, at half an hour.
fn verdicts(
    judged: &[&SeasonResult],
    truths: &[f64],
) -> Result<Vec<(&'static str, String)>, Box<dyn Error>> {
    let of = |season: &SeasonResult, matters: f64, moved: f64| {
        let half = reach(season)? * season.weighted.1;
        let d = -(season.weighted.0 + moved);
        Ok::<_, Box<dyn Error>>(Verdict::judge(d - half, d + half, matters))
    };
    let (mut at_zero, mut at_plus, mut at_minus, mut yes) = (0, 0, 0, 0);
    for (season, &truth) in judged.iter().zip(truths) {
        let matters = if truth.abs() < 1.0 { 30.0 } else { truth.abs() };
        let at = |d: f64| of(season, matters, -d - truth);
        at_zero += usize::from(matches!(at(0.0)?, Some(Verdict::Yes | Verdict::Reverse)));
        // d = +δ: wrong is whatever says that d is below δ.
        at_plus += usize::from(matches!(
            at(matters)?,
            Some(Verdict::No | Verdict::Reverse | Verdict::TooSmallToMatter)
        ));
        // d = −δ: wrong is whatever says that d is above −δ.
        at_minus +=
            usize::from(matches!(at(-matters)?, Some(Verdict::Yes | Verdict::TooSmallToMatter)));
        yes += usize::from(of(season, 30.0, 0.0)? == Some(Verdict::Yes));
    }
    let n = judged.len();
    Ok(vec![
        ("wrong verdicts at d = 0", share(at_zero, n)),
        ("wrong verdicts at d = +δ", share(at_plus, n)),
        ("wrong verdicts at d = −δ", share(at_minus, n)),
        ("wrong verdicts at the edges together", share(at_plus + at_minus, 2 * n)),
        ("`yes` to “wrapped is sooner” with δ = 30 min", share(yes, n)),
        ("`yes` of an oracle that sees both outcomes", oracle(judged)?),
    ])
}

/// The same verdict from the difference of each cook's two outcomes, by fires taken as cooks.
fn oracle(judged: &[&SeasonResult]) -> Result<String, Box<dyn Error>> {
    let mut yes = 0;
    for season in judged {
        let pairs = season.truth[0].iter().zip(&season.truth[1]);
        let d: Vec<f64> = pairs
            .map(|(a, b)| {
                f64::from(*b).min(season.horizon_min) - f64::from(*a).min(season.horizon_min)
            })
            .collect();
        if d.is_empty() {
            continue;
        }
        let (mean, error) = mean_and_error(&d);
        let half = reach(season)? * error;
        yes += usize::from(Verdict::judge(mean - half, mean + half, 30.0) == Some(Verdict::Yes));
    }
    Ok(share(yes, judged.len()))
}
