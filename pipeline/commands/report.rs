//! `report` and `summary`: the pages alone.

use super::stage::{settings, units};
use super::{Failure, Outcome, UnitsChoice, output};
use clap::Args;
use cook::Season;
use stages::{QuerySource, ReportRequest, SummaryRequest};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  cookstudy report --store store --study out/study.json --out out\n  cookstudy report --store store --study out/study.json --out out --cook may-contest\n  cookstudy report --store store --study out/study.json --out out --cook may-contest --cook june-contest"
)]
pub(crate) struct ReportArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// The study, as `cookstudy study` wrote it
    #[arg(long, value_name = "FILE")]
    study: PathBuf,
    /// Folder to write report.html and data/ to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Only this cook's page, as cook-ID.html; given again, up to four cooks laid over each other, as cooks-ID+ID.html
    #[arg(long, value_name = "ID")]
    cook: Vec<String>,
    /// Units of the report, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Season settings (default: those of the season that the store lies in)
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(
    after_help = "--public is for people outside the team: without costs, suppliers and lots, and without claims on\ncolumns of your own, which may be recipes. A claim is printed in its own words: read it first. `run` writes out/summary.html with all of it.\n\nExamples:\n  cookstudy summary --store store --study out/study.json --out summary.html\n  cookstudy summary --store store --study out/study.json --out for-sponsors.html --public"
)]
pub(crate) struct SummaryArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// The study, as `cookstudy study` wrote it
    #[arg(long, value_name = "FILE")]
    study: PathBuf,
    /// File to write
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// For people outside the team: without costs, suppliers, lots and columns of your own
    #[arg(long)]
    public: bool,
    /// Units of the pages, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Season settings (default: those of the season that the store lies in)
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
}

/// The settings named, or those of the season that the store lies in, in the units asked for.
fn season(
    settings_file: Option<&Path>,
    store: &Path,
    shown_in: Option<UnitsChoice>,
) -> Result<Season, Failure> {
    let beside = match settings_file {
        Some(_) => None,
        None => stages::settings_beside(&QuerySource::Store(store.to_owned()))?,
    };
    let mut season = beside.map_or_else(|| settings(settings_file), Ok)?;
    season.units = shown_in.map_or(season.units, units);
    Ok(season)
}

/// `summary`.
pub(crate) fn summary(args: &SummaryArgs) -> Result<Outcome, Failure> {
    let request = SummaryRequest {
        store: args.store.clone(),
        study: args.study.clone(),
        out: args.out.clone(),
        season: season(args.settings.as_deref(), &args.store, args.units)?,
        is_public: args.public,
    };
    output::print(&format!("{}\n", stages::summary(&request)?.display()))?;
    Ok(Outcome::Done)
}

/// `report`.
pub(crate) fn report(args: &ReportArgs) -> Result<Outcome, Failure> {
    let request = ReportRequest {
        store: args.store.clone(),
        study: args.study.clone(),
        out: args.out.clone(),
        season: season(args.settings.as_deref(), &args.store, args.units)?,
        cooks: args.cook.clone(),
    };
    for path in stages::report(&request)?.pages {
        output::print(&format!("{}\n", path.display()))?;
    }
    Ok(Outcome::Done)
}
