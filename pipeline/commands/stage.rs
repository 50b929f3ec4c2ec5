//! The stages, run alone on a store.

use super::progress::Bars;
use super::told::{list_refusals, outcome, tell_open};
use super::{Failure, Format, Outcome, UnitsChoice, output, say};
use clap::Args;
use cook::{Answers, Questions, Season, Units};
use stages::{IngestRequest, StudyRequest, StudySource};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  cookstudy ingest --logs logs --sheet sheet.csv --events events.csv --store store --tz America/Chicago\n  cookstudy ingest --logs 'logs/2025-*.csv' --sheet sheet.csv --store store --settings season.toml"
)]
pub(crate) struct IngestArgs {
    /// Log files, folders or globs; logs in .gz, .zst and .zip are read too
    #[arg(long, value_name = "PATH", required = true, num_args = 1..)]
    logs: Vec<PathBuf>,
    /// Season sheet, one row a cook: CSV, XLSX or ODS (`file.xlsx#Worksheet` picks one)
    #[arg(long, value_name = "FILE", required = true)]
    sheet: Vec<PathBuf>,
    /// Events sheet, one row an event: CSV, XLSX or ODS
    #[arg(long, value_name = "FILE")]
    events: Vec<PathBuf>,
    /// Scores sheet, one row a score: CSV, XLSX or ODS; the settings hold the scales
    #[arg(long, value_name = "FILE")]
    scores: Vec<PathBuf>,
    /// Store to write to; made where it is not there
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// IANA time zone of clock times without an offset (default: the settings' zone; without one, a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Layout file to try first
    #[arg(long, value_name = "FILE")]
    layout: Vec<PathBuf>,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Answers to questions (default: questions.toml beside the settings)
    #[arg(long, value_name = "FILE")]
    questions: Option<PathBuf>,
    /// Exit with 1 where anything was rejected
    #[arg(long)]
    strict: bool,
    /// How to print the list of cooks
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Seconds count from the cook's meat-on. `complete` is false where the log ends first.\n\n--sensitivity lists, in place of the phases, each cook's stall under the season's definition\nand with one constant moved at a time: stall_fraction to 0.35 and 0.45, pit_lag_min to 20 and\n30, the slope window (smoothing_min) to 10 and 40.\n\nExamples:\n  cookstudy phases --store store --format csv > phases.csv\n  cookstudy phases --store store --sensitivity\n  cookstudy phases --store store --sensitivity --format csv > sensitivity.csv"
)]
pub(crate) struct PhasesArgs {
    #[command(flatten)]
    stage: StageArgs,
    /// List how far each cook's stall moves when the definition's constants are moved
    #[arg(long)]
    sensitivity: bool,
}

#[derive(Debug, Args)]
pub(crate) struct StageArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Writes DIR/study.json and tables to DIR/data (CSV and Parquet).\n\n--effects-only writes one file in their place, to be given away: the team, each claim in its words, its effect with\nstandard error and counts, the covariances of the effects; no cook and no curve, nor any name of one. `cookstudy pool`\ncombines such files. The team is that of the settings, or of the cooks' column `team`.\n\nExamples:\n  cookstudy study --store store --claims claims.toml --lock claims.lock --out out\n  cookstudy study --table measures.csv --claims claims.toml --out out\n  cookstudy study --store store --claims claims.toml --settings season.toml --effects-only oak.json"
)]
pub(crate) struct StudyArgs {
    /// The store whose measures are studied
    #[arg(long, value_name = "DIR", required_unless_present = "table")]
    store: Option<PathBuf>,
    /// A CSV or Parquet file with one row a cook, in place of a store
    #[arg(long, value_name = "FILE", conflicts_with = "store")]
    table: Option<PathBuf>,
    /// Claims to judge
    #[arg(long, value_name = "FILE")]
    claims: Option<PathBuf>,
    /// When each claim was first written down; without it every verdict is after the fact
    #[arg(long, value_name = "FILE", requires = "claims")]
    lock: Option<PathBuf>,
    /// Folder to write study.json and data/ to
    #[arg(long, value_name = "DIR", required_unless_present = "effects_only")]
    out: Option<PathBuf>,
    /// Write this file alone: the effects of the claims, to be pooled with those of other teams
    #[arg(long, value_name = "FILE", requires = "claims", conflicts_with = "out")]
    effects_only: Option<PathBuf>,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// How to print the verdicts
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Measures that fit a terminal.
const MEASURES_SHOWN: [&str; 10] = [
    "cook",
    "pit",
    "trimmed_weight_kg",
    "wrap_method",
    "stalls",
    "stall_min",
    "stall_min_lo90",
    "stall_min_hi90",
    "stall_delay_min",
    "total_min",
];

/// Reads the settings named, with what was answered beside them, or the defaults.
pub(crate) fn settings(path: Option<&Path>) -> Result<Season, Failure> {
    Ok(match path {
        Some(path) => Season::read(path)?.with_answers(&answers(None, Some(path))?),
        None => Season::default(),
    })
}

/// The units asked for.
pub(crate) fn units(choice: UnitsChoice) -> Units {
    match choice {
        UnitsChoice::Us => Units::Us,
        UnitsChoice::Metric => Units::Metric,
    }
}

/// The answers in the file named, or in the one beside the settings.
pub(crate) fn answers(
    questions: Option<&Path>,
    settings: Option<&Path>,
) -> Result<Answers, Failure> {
    let beside = settings.map(|settings| settings.with_file_name(stages::QUESTIONS));
    Ok(match questions {
        Some(path) if !path.exists() => {
            return Err(format!(
                "{}: there is no such file; leave out --questions where nothing was answered yet",
                path.display()
            )
            .into());
        }
        Some(path) => Questions::read(path)?.answers(),
        None => {
            beside.map(|path| Questions::read(&path)).transpose()?.unwrap_or_default().answers()
        }
    })
}

fn strings(paths: &[PathBuf]) -> Vec<String> {
    paths.iter().map(|path| path.display().to_string()).collect()
}

/// `ingest`.
pub(crate) fn ingest(args: &IngestArgs) -> Result<Outcome, Failure> {
    let mut season = settings(args.settings.as_deref())?;
    if let Some(zone) = &args.tz {
        season.time_zone = Some(zone.clone());
    }
    let request = IngestRequest {
        base: PathBuf::new(),
        logs: strings(&args.logs),
        sheets: strings(&args.sheet),
        events: strings(&args.events),
        score_sheets: strings(&args.scores),
        layouts: strings(&args.layout),
        store: args.store.clone(),
        season,
        answers: answers(args.questions.as_deref(), args.settings.as_deref())?,
        whole: false,
        prune: false,
    };
    let summary = stages::ingest(&request, &Bars::default())?;
    list_refusals(&summary);
    say(&format!(
        "{} cooks in the store, {} read now ({} readings), {} rejected rows and cells{}",
        summary.cooks,
        summary.read,
        summary.readings,
        summary.rejected.len(),
        if summary.changed { "" } else { "; nothing changed" }
    ));
    output::print_table(&summary.table, args.format)?;
    let beside = args.settings.as_ref().map(|path| path.with_file_name(stages::QUESTIONS));
    tell_open(&summary.questions, args.questions.as_deref().or(beside.as_deref()));
    Ok(outcome(&summary, args.strict))
}

/// Columns of the sensitivity listing that fit a terminal.
const SENSITIVITY_SHOWN: [&str; 9] = [
    "cook",
    "constant",
    "moved_to",
    "stall_min",
    "start_moves_min",
    "end_moves_min",
    "length_moves_min",
    "change",
    "stalls",
];

/// `phases`.
pub(crate) fn phases(args: &PhasesArgs) -> Result<Outcome, Failure> {
    let PhasesArgs { stage: args, sensitivity } = args;
    let season = settings(args.settings.as_deref())?;
    if *sensitivity {
        let summary = stages::phases_sensitivity(&args.store, &season, &Bars::default())?;
        if args.format == Format::Table {
            output::print_table(&summary.table.select(&SENSITIVITY_SHOWN), args.format)?;
        } else {
            output::print_table(&summary.table, args.format)?;
        }
        summary.lines.iter().for_each(|line| say(line));
        return Ok(Outcome::Done);
    }
    let summary = stages::phases(&args.store, &season, &Bars::default())?;
    summary.notes.iter().for_each(|note| say(note));
    output::print_table(&summary.table, args.format)?;
    Ok(Outcome::Done)
}

/// `measures`.
pub(crate) fn measures(args: &StageArgs) -> Result<Outcome, Failure> {
    let season = settings(args.settings.as_deref())?;
    let summary = stages::measures(&args.store, &season, &Bars::default())?;
    summary.notes.iter().for_each(|note| say(note));
    if args.format == Format::Table {
        output::print_table(&summary.table.select(&MEASURES_SHOWN), args.format)?;
        say(&format!(
            "{} of {} columns; --format csv or json has all",
            MEASURES_SHOWN.len(),
            summary.table.columns().len()
        ));
    } else {
        output::print_table(&summary.table, args.format)?;
    }
    Ok(Outcome::Done)
}

/// `study`.
pub(crate) fn study(args: &StudyArgs) -> Result<Outcome, Failure> {
    let source = match (&args.store, &args.table) {
        (_, Some(table)) => StudySource::Table(table.clone()),
        (Some(store), None) => StudySource::Store(store.clone()),
        (None, None) => return Err("name a --store or a --table".into()),
    };
    let request = StudyRequest {
        source,
        claims: args.claims.clone(),
        lock: args.lock.clone(),
        out: args.out.clone().unwrap_or_default(),
        season: settings(args.settings.as_deref())?,
        shown_from: PathBuf::new(),
    };
    if let Some(file) = &args.effects_only {
        let summary = stages::give_effects(&request, file)?;
        summary.notes.iter().for_each(|note| say(note));
        say(&format!("wrote {}", summary.path.display()));
        output::print_table(&summary.table, args.format)?;
        return Ok(Outcome::Done);
    }
    let summary = stages::study(&request)?;
    summary.notes.iter().for_each(|note| say(note));
    say(&format!("wrote {}", summary.path.display()));
    if let Some(page) = &summary.page {
        say(&format!("wrote {}", page.display()));
    }
    output::print_table(&summary.table, args.format)?;
    Ok(Outcome::Done)
}
