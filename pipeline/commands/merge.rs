//! `merge` and `diff`: stores and studies of several teams or times.

use super::progress::Bars;
use super::{Failure, Format, Outcome, output, say};
use clap::Args;
use stages::{MergeInput, MergeRequest};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Every cook, fire and pit gets its team's name in front, and a column `team` says whose it is,\nfor claims (`group = [\"team\", \"fire\"]`), drivers and comparisons. A season folder's team is\nthat of its season.toml; a store merged before keeps its teams. The inputs are left as they\nare. DIR becomes a season folder: season.toml with what the seasons share, claims.toml with claims\nof equal text once, claims.lock with the cooks that each knew, and store. `cookstudy run DIR` begins\nat phases, by one definition for all. Merging again into the same DIR takes up what changed in the\nseasons, and leaves settings and claims there as you edited them.\n\nA cook that lies in two stores is counted once, and said: one whose meat and pit have the same readings, or one\nwhose core and pit run alike minute by minute under another name, by another clock, in another unit or with a probe\nthat is up to 3 °C off. The one whose card says more stays, of equals the one with more readings, then the first by name.\nNot compared by curve are cooks whose core was not logged from 30 to 50 °C and for three hours. --twice counts both.\n\n--without TEAM leaves out a team with its cooks, logs, scores and claims of its own. The season is run with\nand without it, and every verdict that changes is named. The lock forgets the names of its cooks and keeps hashes of what\nthey hold, so that none of them confirms a claim if it comes back.\n\n--anonymise puts codes in place of teams, cooks, fires, pits, places, contests, suppliers, lots,\nlogs and channels, numbers in place of seasons, and moves each team's dates back by a whole\nnumber of weeks of its own. Cuts, grades, woods, cookers, holds and arms stay where they\nare words of the trade. Dropped are notes, weather, reasons, costs, altitudes that no\ncorrection needs, texts of rejected rows, how logs were read, claims, and every column of your own.\n--keep COLUMN keeps one (texts of your own columns as codes).\n\nWhat still identifies: the curves themselves, to whoever has seen them; a channel of outside\ntemperature, which a weather record can place and date; the clock times of every reading and event, and\nthe weekdays; weights, scores, and how far apart the cooks lie; weather and notes where --keep asks for\nthem. Give away no more than you would tell.\n\nExamples:\n  cookstudy merge spring-2025 spring-2026 --out both\n  cookstudy merge oak=2025/store oak=2026/store river=river/store --out teams\n  cookstudy merge oak=2025/store oak=2026/store river=river/store --out teams --without river\n  cookstudy merge --anonymise spring-2026 --key my-key.json --out to-give-away\n  cookstudy merge --anonymise spring-2026 --keep cost --keep rub_g --out to-give-away\n  cookstudy run teams"
)]
pub(crate) struct MergeArgs {
    /// Stores or season folders; `TEAM=` in front says whose one is
    #[arg(value_name = "[TEAM=]IN", required = true)]
    stores: Vec<String>,
    /// Season folder to make: one that is not there, is empty, or was made by merging before
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Put codes in place of names, drop words of your own, move dates
    #[arg(long)]
    anonymise: bool,
    /// Keep this column all the same; may be given several times
    #[arg(long, value_name = "COLUMN", requires = "anonymise")]
    keep: Vec<String>,
    /// File that says who is who, for you alone: written there, and read again so that codes stay the
    /// same as cooks are added; without it no such file is written and codes change with the cooks
    #[arg(long, value_name = "FILE", requires = "anonymise")]
    key: Option<PathBuf>,
    /// Withdraw this team: merge the others, and name the verdicts that change; may be given several times
    #[arg(long, value_name = "TEAM")]
    without: Vec<String>,
    /// Count a cook that lies in two stores twice: where they are two after all
    #[arg(long)]
    twice: bool,
    /// How to print the list of teams
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// `merge`.
pub(crate) fn merge(args: &MergeArgs) -> Result<Outcome, Failure> {
    let request = MergeRequest {
        inputs: args.stores.iter().map(|text| MergeInput::parse(text)).collect(),
        out: args.out.clone(),
        anonymise: args.anonymise,
        keep: args.keep.iter().cloned().collect(),
        key: args.key.clone(),
        without: args.without.iter().cloned().collect(),
        twice: args.twice,
    };
    let summary = stages::merge(&request, &Bars::default())?;
    summary.notes.iter().for_each(|note| say(note));
    let out = args.out.display();
    output::print_table(&summary.table, args.format)?;
    say(&format!("merge: {} cooks of {} teams in {out}", summary.cooks, summary.table.rows()));
    if !summary.changed {
        say("Nothing to do: everything is up to date.");
    }
    summary.verdicts.iter().for_each(|line| say(line));
    say(&format!("next: cookstudy run {out}"));
    Ok(Outcome::Done)
}

/// `diff`.
pub(crate) fn diff(before: &Path, after: &Path, format: Format) -> Result<Outcome, Failure> {
    let found = stages::diff(before, after)?;
    found.notes.iter().for_each(|note| say(note));
    output::print_table(&found.table, format)?;
    Ok(Outcome::Done)
}
