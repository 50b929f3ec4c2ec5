//! `trial`: lots that settle a claim.

use super::{Failure, Outcome, TrialCommand, output, say};
use stages::{TrialNewRequest, TrialNextRequest};

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
