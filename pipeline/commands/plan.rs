//! `plan`: when to light the fire.

use super::{Failure, Format, Outcome, Prior, output, per_cent, say};
use clap::Args;
use cook::Season;
use stages::PlanRequest;
use std::path::PathBuf;
use std::time::{SystemTime, UNIX_EPOCH};

#[derive(Debug, Args)]
#[command(
    after_help = "Plans the cooks named, the one typed, else those of the season's sheets with a `turn_in_at` to \
come.\n`[pits.NAME]` in season.toml says what a pit holds (holds_kg) and how long before meat-on it is \
lit\n(light_min). The meat rests an hour at least. A core temperature is planned, neither tenderness nor that \
the\nfood is fit to eat.\n\nExit codes: 0 done; 1 a plan cannot be kept; 2 nothing done.\n\nExamples:\n  \
cookstudy plan may-contest --certainty 90\n  cookstudy plan --weight 12lb --setpoint 250F --wrap foil@165F --turn-in \
'2026-05-02 12:00'\n  cookstudy plan --season spring-2026 --check --format csv"
)]
pub(crate) struct PlanArgs {
    /// Cooks of the season sheet
    #[arg(value_name = "COOK")]
    cooks: Vec<String>,
    /// Season folder: its settings, and the past in its store
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Season sheet with the cooks to plan (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    sheet: Vec<PathBuf>,
    /// When it is turned in, in place of the sheet's `turn_in_at`
    #[arg(long, value_name = "TIME")]
    turn_in: Option<String>,
    /// How often in 100 it should be in time
    #[arg(long, value_name = "N", default_value_t = 90, value_parser = per_cent)]
    certainty: u8,
    /// Weight as it goes on (12lb)
    #[arg(long, value_name = "WEIGHT")]
    weight: Option<String>,
    /// Which pit
    #[arg(long, value_name = "PIT")]
    pit: Option<String>,
    /// The pit's set-point (250F)
    #[arg(long, value_name = "TEMP")]
    setpoint: Option<String>,
    /// The wrap that is planned (foil@165F), or none
    #[arg(long, value_name = "M@T")]
    wrap: Option<String>,
    /// Whether simulated cooks stand in while there are few of your own
    #[arg(long, value_enum, default_value_t)]
    prior: Prior,
    /// The moment of planning (default: this computer's clock)
    #[arg(long, value_name = "INSTANT")]
    now: Option<String>,
    /// Say how often such plans would have been on time on your own past
    #[arg(long)]
    check: bool,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Plans cooks and says what cannot be kept.
pub(crate) fn plan(args: &PlanArgs) -> Result<Outcome, Failure> {
    let folder = &args.season;
    let is_season = folder.join("season.toml").is_file();
    let season = if is_season { stages::read_season(folder)? } else { Season::default() };
    let sheets = if args.sheet.is_empty() {
        let is_there = |name: &&String| {
            is_season && folder.join(name.split('#').next().unwrap_or(name)).is_file()
        };
        season.sheets.iter().filter(is_there).cloned().collect()
    } else {
        let absolute = |path| -> Result<String, Failure> {
            Ok(std::path::absolute(path)?.to_string_lossy().into_owned())
        };
        args.sheet.iter().map(absolute).collect::<Result<_, _>>()?
    };
    let typed = args.weight.is_some() || args.setpoint.is_some();
    let summary = stages::plan(&PlanRequest {
        folder: folder.clone(),
        season,
        sheets,
        cooks: args.cooks.clone(),
        turn_in: args.turn_in.clone(),
        certainty: args.certainty,
        weight: args.weight.clone(),
        pit: args.pit.clone(),
        setpoint: args.setpoint.clone(),
        wrap: args.wrap.clone(),
        bundled: args.prior == Prior::Bundled,
        now: args.now.clone(),
        clock_ms: SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .map_or(0, |since| since.as_millis() as i64),
        check: args.check,
        // A cook that was typed is none of the season's.
        pit_page: is_season && !(args.cooks.is_empty() && typed),
    })?;
    let people = args.format == Format::Table;
    output::print_table(if people { &summary.people } else { &summary.table }, args.format)?;
    summary.notes.iter().for_each(|note| say(note));
    if let Some(path) = &summary.pit_page {
        say(&format!("wrote the milestones into {}", path.display()));
    }
    Ok(if summary.conflicts { Outcome::DoneInPart } else { Outcome::Done })
}
