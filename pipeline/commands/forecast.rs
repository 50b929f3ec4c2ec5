//! `forecast`: when cooks that are on will be done.

use super::{Failure, ForecastArgs, Format, Outcome, Prior, output, say};
use cook::Season;
use stages::{ForecastRequest, ForecastSummary, TypedReadings};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Time between two looks at logs that are watched.
const LOOK_EVERY: Duration = Duration::from_secs(20);

/// Forecasts once, or again whenever the answer moves.
pub(crate) fn forecast(args: &ForecastArgs) -> Result<Outcome, Failure> {
    let mut last: Option<ForecastSummary> = None;
    loop {
        let summary = stages::forecast(&request(args)?)?;
        if last.as_ref().is_none_or(|last| summary.has_moved_from(last)) {
            show(&summary, args.format)?;
            if let (Some(path), Some(page)) = (&args.page, &summary.page) {
                stages::write_atomically(path, page.as_bytes())?;
            }
            last = Some(summary.clone());
        }
        if !args.watch {
            return outcome(&summary);
        }
        std::thread::sleep(LOOK_EVERY);
    }
}

fn show(summary: &ForecastSummary, format: Format) -> Result<(), Failure> {
    let table = if format == Format::Table { &summary.people } else { &summary.table };
    output::print_table(table, format)?;
    summary.notes.iter().for_each(|note| say(note));
    Ok(())
}

fn outcome(summary: &ForecastSummary) -> Result<Outcome, Failure> {
    match (summary.answered, summary.asked) {
        (0, _) => Err("no cook could be answered".into()),
        (answered, asked) if answered < asked => Ok(Outcome::DoneInPart),
        _ => Ok(Outcome::Done),
    }
}

fn request(args: &ForecastArgs) -> Result<ForecastRequest, Failure> {
    let folder = &args.season;
    let is_season = folder.join("season.toml").is_file();
    let season = if is_season { stages::read_season(folder)? } else { Season::default() };
    let absolute = |paths: &[PathBuf]| -> Result<Vec<String>, Failure> {
        let absolute =
            |path: &PathBuf| Ok(std::path::absolute(path)?.to_string_lossy().into_owned());
        paths.iter().map(absolute).collect()
    };
    let of_season = |names: &[String]| -> Vec<String> {
        let is_there = |name: &&String| {
            let file = name.split('#').next().unwrap_or(name);
            is_season && folder.join(file).is_file()
        };
        names.iter().filter(is_there).cloned().collect()
    };
    let sheets =
        if args.sheet.is_empty() { of_season(&season.sheets) } else { absolute(&args.sheet)? };
    let events =
        if args.events.is_empty() { of_season(&season.events) } else { absolute(&args.events)? };
    let typed = (!args.core.is_empty()).then(|| TypedReadings {
        pit: args.pit.clone(),
        setpoint: args.setpoint.clone(),
        core: args.core.clone(),
        wrapped: args.wrapped.clone(),
        weight: args.weight.clone(),
        cut: args.cut.clone(),
    });
    Ok(ForecastRequest {
        folder: Path::new(folder).to_owned(),
        season,
        logs: args.logs.clone(),
        sheets,
        events,
        typed,
        level: args.level,
        wrap: args.wrap.clone(),
        bundled: args.prior == Prior::Bundled,
        what_ifs: args.what_if.clone(),
        turn_in: args.turn_in.clone(),
        now: args.now.clone(),
        clock_ms: SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .map_or(0, |since| since.as_millis() as i64),
        explain: args.explain,
        page: args.page.is_some(),
    })
}
