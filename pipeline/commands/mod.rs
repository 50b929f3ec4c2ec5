//! The command tree: one file a verb that needs more than a line, options in one place.

mod claim;
mod completions;
mod forecast;
#[cfg(feature = "developer")]
mod generate;
mod inspect;
mod merge;
mod output;
mod plan;
mod pool;
mod progress;
mod query;
mod report;
mod sample;
mod season;
mod stage;
mod told;
mod trial;

pub(crate) use output::say;

use clap::{Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What a command that could begin its work came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// All was done.
    Done,
    /// A log was refused or needs an answer, or `--strict` found something rejected.
    DoneInPart,
}

/// Why nothing was done, ready to print.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// Turns barbecue cook logs into phases, measures, statistics and a season report.
///
/// Logger CSVs and a season sheet go in; a Parquet store, `study.json` and a self-contained
/// HTML report come out. Nothing is sent anywhere: the program has no network code.
#[derive(Debug, Parser)]
#[command(
    name = "cookstudy",
    version,
    help_expected = true,
    max_term_width = 100,
    after_help = "Start here:\n  cookstudy demo            the whole job on a bundled season\n  cookstudy new my-season   a season folder of your own\n  cookstudy run my-season   all stages, only what changed\n  cookstudy run night.csv   a first look at logs alone\n\nExit codes: 0 done; 1 done in part (a log was refused or needs an answer, a forecast without an answer, a\nplan that cannot be kept, or --strict); 2 nothing done."
)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the bundled team's seasons, run the whole pipeline on them, say where the report is
    #[command(after_help = "Examples:\n  cookstudy demo\n  cookstudy demo --out /tmp/demo")]
    Demo {
        /// Folder to make (default: cookstudy-demo)
        #[arg(long, value_name = "DIR", default_value = "cookstudy-demo")]
        out: PathBuf,
    },
    /// Make a season folder: settings, sheets and claims to fill in, a card to print, a page for a phone
    New(season::NewArgs),
    /// Write events into the season's events sheet: one, now or at a time, or those of a file
    Note(season::NoteArgs),
    /// Show how each log would be read: every guess, its evidence, the setting that overrides it
    Inspect(inspect::InspectArgs),
    /// Run all stages for a season folder, or for logs alone; only what changed is done again
    Run(season::RunArgs),
    /// Read logs and sheets into a store
    Ingest(stage::IngestArgs),
    /// Find ramp, stall, push and rest of every cook in a store
    Phases(stage::PhasesArgs),
    /// Work out one row of measures a cook
    #[command(
        after_help = "Example:\n  cookstudy measures --store store --format json > measures.json"
    )]
    Measures(stage::StageArgs),
    /// Answer the questions: what drives the stall, and what the data say of each claim
    Study(stage::StudyArgs),
    /// Write an argument down as a claim, before looking
    Claim(claim::ClaimArgs),
    /// Merge several teams or seasons into one season folder, anonymised on request
    Merge(merge::MergeArgs),
    /// Combine claims of several teams from their effects alone, without their cooks
    Pool(pool::PoolArgs),
    /// Set two studies side by side: which answers changed, and why
    #[command(
        after_help = "For a study made again after a corrected card, a new log or other settings. Copy the whole out folder\nfirst: with data/measures.parquet beside each study.json the cooks and cells that changed are named.\n\nExample:\n  cp -r out before\n  cookstudy run\n  cookstudy diff before/study.json out/study.json"
    )]
    Diff {
        /// The earlier study.json
        #[arg(value_name = "BEFORE")]
        before: PathBuf,
        /// The later study.json
        #[arg(value_name = "AFTER")]
        after: PathBuf,
        /// How to print the claims that changed
        #[arg(long, value_enum, default_value_t)]
        format: Format,
    },
    /// Ask the tables in SQL
    Query(query::QueryArgs),
    /// Say when cooks that are on will be done, with a range, and what a wrap now would change
    Forecast(forecast::ForecastArgs),
    /// Say when to light the fire and put the meat on, so that it is rested and ready in time
    Plan(plan::PlanArgs),
    /// Draw lots that settle a claim, and look at what they say
    #[command(
        subcommand_required = true,
        after_help = "Two meats on one fire, one of each side, settle in a dozen fires what a season of cooks leaves open.\n\n  new    says how many fires it takes by your own past, and fixes design, looks and rules\n  next   before each fire: writes the cooks into the sheet, then shows their lots\n  look   what the lots say, at the looks that were planned and at no other time\n\nThe lots come from a secret number of the operating system in trial.key, beside season.toml; the design and a chain of\nthe lots drawn stand in claims.lock. What is redrawn, edited or deleted there shows; what is drawn in a copy of the folder\ndoes not.\n\nExamples:\n  cookstudy trial new --claim oak-or-hickory --show\n  cookstudy trial new --claim oak-or-hickory\n  cookstudy trial next may-1 may-2 --page lot.html\n  cookstudy trial look"
    )]
    Trial {
        #[command(subcommand)]
        verb: trial::TrialCommand,
    },
    /// Print the season report, or one cook's page
    Report(report::ReportArgs),
    /// Print the four pages for a team to frame: verdicts, the argument, the season, every cook
    Summary(report::SummaryArgs),
    /// Print a shell's completion script to stdout
    #[command(
        after_help = "Example:\n  cookstudy completions bash > ~/.local/share/bash-completion/completions/cookstudy"
    )]
    Completions {
        /// Which shell
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
}

/// How often in 100: `90`.
pub(crate) fn per_cent(text: &str) -> Result<u8, String> {
    let number = text.trim().trim_end_matches('%').trim();
    number.parse().map_err(|_| match number.parse::<f64>() {
        Ok(share) if share > 0.0 && share < 1.0 => {
            format!("it is said in 100: write {:.0}", 100.0 * share)
        }
        _ => "it is said in 100: write a whole number such as 90".to_owned(),
    })
}

/// How a listing is printed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Aligned columns for people
    #[default]
    Table,
    /// An array of objects
    Json,
    /// Comma-separated values with a header
    Csv,
}

/// The units that people are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum UnitsChoice {
    /// °F and pounds
    Us,
    /// °C and kilograms
    Metric,
}

/// What stands in where there are few cooks of one's own.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Prior {
    /// Simulated cooks that come with the program
    #[default]
    Bundled,
    /// Nothing: your own cooks alone
    None,
}

/// Reads the command line and carries it out.
///
/// # Errors
/// Nothing was done; the error says why.
pub(crate) fn from_command_line() -> Result<Outcome, Failure> {
    #[cfg(feature = "developer")]
    if let Some(out) = generate::asked() {
        return generate::everything(&out);
    }
    carry_out(Cli::parse().command)
}

fn carry_out(command: Command) -> Result<Outcome, Failure> {
    match command {
        Command::Demo { out } => season::demo(&out),
        Command::New(args) => season::new(&args),
        Command::Note(args) => season::note(&args),
        Command::Inspect(args) => inspect::inspect(&args),
        Command::Run(args) => season::run(&args),
        Command::Ingest(args) => stage::ingest(&args),
        Command::Phases(args) => stage::phases(&args),
        Command::Measures(args) => stage::measures(&args),
        Command::Study(args) => stage::study(&args),
        Command::Claim(args) => claim::claim(&args),
        Command::Merge(args) => merge::merge(&args),
        Command::Pool(args) => pool::pool(&args),
        Command::Diff { before, after, format } => merge::diff(&before, &after, format),
        Command::Query(args) => query::query(&args),
        Command::Forecast(args) => forecast::forecast(&args),
        Command::Plan(args) => plan::plan(&args),
        Command::Trial { verb } => trial::trial(&verb),
        Command::Report(args) => report::report(&args),
        Command::Summary(args) => report::summary(&args),
        Command::Completions { shell } => completions::completions(shell),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_tree_is_sound_and_every_option_has_help() {
        Cli::command().debug_assert();
    }
}
