//! `trial`: lots that settle a claim.

use super::season::instant;
use super::{Failure, Format, Outcome, output, say};
use clap::{Args, Subcommand};
use stages::{TrialNewRequest, TrialNextRequest};
use std::path::PathBuf;

/// What to do with a trial.
#[derive(Debug, Subcommand)]
pub(crate) enum TrialCommand {
    /// Say how many fires a claim takes, and fix design, looks and rules before the first lot
    #[command(
        after_help = "By simulation from your own past in the season's store: the scatter between the meats of one fire and among all\ncooks. A trial of single cooks draws in blocks of four within pit and weight class. A trial takes the next share of the\nyear's error, as claims written down later do.\n\nExamples:\n  cookstudy trial new --claim oak-or-hickory --show\n  cookstudy trial new --claim oak-or-hickory\n  cookstudy trial new --claim oak-or-hickory --single\n  cookstudy trial new --claim oak-or-hickory --pairs 12 --positions front,back"
    )]
    New(TrialNewArgs),
    /// Write cooks into the sheet and show their lots: arm, place on the pit, code for tasters
    #[command(
        after_help = "Draw once both meats are trimmed and weighed, and before either is on. A cook has one lot: who asks again is\nshown it again. A sheet in CSV is written to, every other byte of it stays; of XLSX and ODS the cells to fill in are\nprinted. Tasters see the code in place of the cook's name.\n\nExamples:\n  cookstudy trial next may-1 may-2\n  cookstudy trial next may-1 may-2 --date 2026-05-02 --page lot.html"
    )]
    Next(TrialNextArgs),
    /// Say what the lots say at the looks that are due, and whether to go on
    #[command(
        after_help = "Looks at what the last `cookstudy run` measured. Between the planned looks nothing is told. A look is kept as it was\ntaken. Exit 1 where lots or files are not as they were drawn, or too many lots were lost.\n\nExamples:\n  cookstudy trial look\n  cookstudy trial look --claim oak-or-hickory --format json"
    )]
    Look(TrialLookArgs),
}

#[derive(Debug, Args)]
pub(crate) struct TrialNewArgs {
    /// The claim, by its id in claims.toml: of kind compare or wrap-timing
    #[arg(long, value_name = "ID")]
    claim: String,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Single cooks in blocks of four, in place of two meats on a fire
    #[arg(long)]
    single: bool,
    /// How many pairs (with --single, blocks), in place of what your past says
    #[arg(long, value_name = "N")]
    pairs: Option<usize>,
    /// Places on the pit to draw among
    #[arg(long, value_name = "PLACE,PLACE", value_delimiter = ',', default_value = "left,right")]
    positions: Vec<String>,
    /// Say what it would take, and begin nothing
    #[arg(long)]
    show: bool,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct TrialNextArgs {
    /// The cooks: both of a fire, or the one of a trial of single cooks
    #[arg(value_name = "COOK", required = true)]
    cooks: Vec<String>,
    /// The claim, where several are tried
    #[arg(long, value_name = "ID")]
    claim: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Date of cooks that no sheet has yet (default: today)
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Write the lots as one page of HTML to print
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct TrialLookArgs {
    /// The claim; all that are tried where it is left out
    #[arg(long, value_name = "ID")]
    claim: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Begins a trial, draws its lots, or looks at it.
pub(crate) fn trial(verb: &TrialCommand) -> Result<Outcome, Failure> {
    match verb {
        TrialCommand::New(args) => {
            let begun = stages::trial_new(&TrialNewRequest {
                folder: args.season.clone(),
                claim: args.claim.clone(),
                single: args.single,
                planned: args.pairs,
                positions: args.positions.clone(),
                only_shows: args.show,
                now_ms: args.now,
            })?;
            output::print_table(&begun.table, args.format)?;
            begun.lines.iter().for_each(|line| say(line));
            Ok(Outcome::Done)
        }
        TrialCommand::Next(args) => {
            let drawn = stages::trial_next(&TrialNextRequest {
                folder: args.season.clone(),
                claim: args.claim.clone(),
                cooks: args.cooks.clone(),
                date: args.date.clone(),
                page: args.page.clone(),
                now_ms: args.now,
            })?;
            output::print_table(&drawn.table, args.format)?;
            drawn.lines.iter().for_each(|line| say(line));
            Ok(Outcome::Done)
        }
        TrialCommand::Look(args) => {
            let seen = stages::trial_look(&args.season, args.claim.as_deref(), args.now)?;
            output::print_table(&seen.table, args.format)?;
            seen.lines.iter().for_each(|line| say(line));
            Ok(if seen.is_doubtful { Outcome::DoneInPart } else { Outcome::Done })
        }
    }
}
