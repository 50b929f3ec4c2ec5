//! `pool`: the effects of several teams, combined.

use super::stage::units;
use super::{Failure, Format, Outcome, UnitsChoice, output, say};
use clap::Args;
use stages::PoolRequest;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Each team writes its file with `cookstudy study … --effects-only FILE`: effects, their errors and counts, no cook, no\ncurve. Claims of equal words are combined, each by itself: teams are taken to scatter around a mean (restricted\nmaximum likelihood), whose interval is Hartung and Knapp's. Beside the mean stands how far a team that is not among them\nmay be from it, from three teams on, and the mean without each team. How the claims of one team lean on the same fires\n(their covariances) is in the files and not used.\n\nRefused by name: claims that differ under one name, other phase definitions, rules or horizons, a team that comes\ntwice, a damaged file.\n\nWrites DIR/pool.json, DIR/pool.html and DIR/pool.csv (and .parquet).\n\nExamples:\n  cookstudy study --store store --claims claims.toml --lock claims.lock --settings season.toml --effects-only oak.json\n  cookstudy pool oak.json river.json mill.json --out pooled"
)]
pub(crate) struct PoolArgs {
    /// Files of effects, one a team
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    /// Folder to write to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Units of the page
    #[arg(long, value_enum, default_value = "us")]
    units: UnitsChoice,
    /// How to print the claims
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// `pool`.
pub(crate) fn pool(args: &PoolArgs) -> Result<Outcome, Failure> {
    let request =
        PoolRequest { files: args.files.clone(), out: args.out.clone(), units: units(args.units) };
    let summary = stages::pool(&request)?;
    summary.notes.iter().for_each(|note| say(note));
    say(&format!("pool: {} teams", summary.teams));
    say(&format!("wrote {}", summary.path.display()));
    say(&format!("wrote {}", summary.page.display()));
    output::print_table(&summary.table, args.format)?;
    Ok(Outcome::Done)
}
