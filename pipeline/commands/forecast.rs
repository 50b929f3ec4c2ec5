//! `forecast`: when cooks that are on will be done.

use super::{Failure, Format, Outcome, Prior, output, per_cent, say};
use clap::Args;
use cook::Season;
use stages::{ForecastRequest, ForecastSummary, TypedReadings};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

#[derive(Debug, Args)]
#[command(
    after_help = "Looks for the past in the season's store. Without any, simulated cooks stand in: \
wider, and said.\nA core temperature is forecast (190 °F by the season's definition, and the card's target), \
neither tenderness\nnor that the food is fit to eat.\n\nOptions to try: foil-now, paper-now, setpoint+25F. Times \
typed behind @ count from meat-on.\n\nExit codes: 0 all cooks answered; 1 some; 2 none.\n\nExamples:\n  cookstudy \
forecast logs/today.csv --sheet sheet.csv --turn-in 12:00\n  cookstudy forecast logs/today.csv --what-if foil-now \
--what-if setpoint+25F\n  cookstudy forecast --pit 250F --core 165F@3:10 --core 172F@4:05 --wrapped foil@1:40\n  \
cookstudy forecast logs/today.csv --season spring-2026 --format csv"
)]
pub(crate) struct ForecastArgs {
    /// Logs of cooks that are on (none, and none typed: cooks of the season that are read by hand alone)
    #[arg(value_name = "LOG")]
    logs: Vec<PathBuf>,
    /// Season folder: its settings, and the past in its store
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Season sheet with the cooks' cards (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    sheet: Vec<PathBuf>,
    /// Events sheet (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    events: Vec<PathBuf>,
    /// How often in 100 a range should hold
    #[arg(long, value_name = "N", default_value_t = 80, value_parser = per_cent)]
    level: u8,
    /// A wrap to come: method and core, or method and time since meat-on (foil@165F, foil@6:30)
    #[arg(long, value_name = "M@T")]
    wrap: Option<String>,
    /// Whether simulated cooks stand in while there are few of your own
    #[arg(long, value_enum, default_value_t)]
    prior: Prior,
    /// Something to try now; may be given several times
    #[arg(long, value_name = "CHANGE")]
    what_if: Vec<String>,
    /// When it is turned in: a clock time, the first such after the moment asked about, or a date and time
    #[arg(long, value_name = "TIME")]
    turn_in: Option<String>,
    /// The moment asked about (default: each log's last reading; of typed readings, this computer's clock)
    #[arg(long, value_name = "INSTANT")]
    now: Option<String>,
    /// Print again whenever the logs have grown and the answer has moved; ends with Ctrl-C
    #[arg(long, conflicts_with = "core")]
    watch: bool,
    /// Say which past cooks count how much
    #[arg(long)]
    explain: bool,
    /// Draw curve, range and past cooks alike as one HTML file
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The pit, typed in place of a log
    #[arg(long, value_name = "TEMP", conflicts_with = "logs", requires = "core")]
    pit: Option<String>,
    /// The pit's set-point, typed
    #[arg(long, value_name = "TEMP", conflicts_with = "logs", requires = "core")]
    setpoint: Option<String>,
    /// A core reading and its time since meat-on (165F@3:10); may be given several times
    #[arg(long, value_name = "TEMP@H:MM", conflicts_with = "logs")]
    core: Vec<String>,
    /// A wrap that was made, and its time since meat-on (foil@1:40)
    #[arg(long, value_name = "M@H:MM", conflicts_with = "logs", requires = "core")]
    wrapped: Vec<String>,
    /// Weight as it went on (12lb)
    #[arg(long, value_name = "WEIGHT", conflicts_with = "logs", requires = "core")]
    weight: Option<String>,
    /// The cut
    #[arg(long, value_name = "CUT", conflicts_with = "logs", requires = "core")]
    cut: Option<String>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

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
                stages::write_page(path, page)?;
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
