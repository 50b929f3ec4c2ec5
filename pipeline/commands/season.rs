//! The verbs that work on a season folder.

use super::progress::Bars;
use super::stage::{list_refusals, outcome, tell_open, units};
use super::{Failure, NoteArgs, Outcome, UnitsChoice, output, sample, say};
use stages::{RunOptions, RunSummary};
use std::path::Path;

/// `demo`.
pub(crate) fn demo(out: &Path) -> Result<Outcome, Failure> {
    let summary = stages::demo(out, &sample::files()?, &Bars::default())?;
    tell(&summary);
    say(&format!(
        "\nThe bundled seasons of an invented team are in {}.",
        out.join("season.toml").parent().unwrap_or(out).display()
    ));
    say("Open the report in a browser:");
    output::print(&format!("{}\n", absolute(&summary.report).display()))?;
    Ok(outcome(&summary.ingest, false))
}

/// `new`.
pub(crate) fn new(folder: &Path, page: bool) -> Result<Outcome, Failure> {
    if page {
        output::print(&format!("{}\n", stages::write_pit_page(folder)?.display()))?;
        return Ok(Outcome::Done);
    }
    for path in stages::new_season(folder)? {
        output::print(&format!("{}\n", path.display()))?;
    }
    say(&format!(
        "Put logs into {}, fill in the sheet, then: cookstudy run {}",
        folder.join("logs").display(),
        folder.display()
    ));
    Ok(Outcome::Done)
}

/// `note`.
pub(crate) fn note(args: &NoteArgs) -> Result<Outcome, Failure> {
    let noted = if let Some(file) = &args.from {
        stages::note_from(&args.season, file, args.cook.as_deref())?
    } else {
        stages::note(
            &args.season,
            &stages::NoteRequest {
                cook: args.cook.as_deref().unwrap_or_default(),
                event: args.event.as_deref().unwrap_or_default(),
                value: args.value.as_deref(),
                remark: args.remark.as_deref(),
                at: args.at.as_deref(),
            },
        )?
    };
    for row in &noted.rows {
        output::print(&format!("{row}\n"))?;
    }
    for line in noted.warnings.iter().chain(&noted.refused) {
        say(line);
    }
    if args.from.is_some() {
        say(&format!(
            "{} taken, {} there already, {} refused.",
            noted.rows.len(),
            noted.already,
            noted.refused.len()
        ));
    }
    Ok(if noted.refused.is_empty() { Outcome::Done } else { Outcome::DoneInPart })
}

/// `run`.
pub(crate) fn run(
    season: &Path,
    strict: bool,
    units_choice: Option<UnitsChoice>,
    prune: bool,
) -> Result<Outcome, Failure> {
    let options = RunOptions { units: units_choice.map(units), prune };
    let summary = stages::run_with(season, options, &Bars::default())?;
    tell(&summary);
    tell_open(&summary.ingest.questions, Some(&season.join(stages::QUESTIONS)));
    output::print(&format!("{}\n", summary.report.display()))?;
    Ok(outcome(&summary.ingest, strict))
}

fn tell(summary: &RunSummary) {
    list_refusals(&summary.ingest);
    for line in &summary.lines {
        say(line);
    }
    if summary.nothing_to_do {
        say("Nothing to do: everything is up to date.");
    }
}

fn absolute(path: &Path) -> std::path::PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}
