//! The verbs that work on a season folder.

use super::progress::Bars;
use super::stage::{list_questions, list_refusals, outcome, tell_open, units};
use super::{Failure, NewArgs, NoteArgs, Outcome, RunArgs, UnitsChoice, output, sample, say};
use stages::{NewSeason, RunOptions, RunSummary};
use std::io::IsTerminal as _;
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
pub(crate) fn new(args: &NewArgs) -> Result<Outcome, Failure> {
    let folder = &args.folder;
    if args.page {
        output::print(&format!("{}\n", stages::write_pit_page(folder)?.display()))?;
        return Ok(Outcome::Done);
    }
    let asks = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let tz = match args.tz.clone() {
        None if asks => ask_zone()?,
        tz => tz,
    };
    let units_choice = match args.units {
        None if asks => ask_units()?,
        choice => choice,
    };
    if tz.is_none() {
        say(
            "No time zone was given; season.toml leaves it out, and `run` asks where a time hangs on it.",
        );
    }
    let made = stages::new_season(
        folder,
        &NewSeason { time_zone: tz, units: units_choice.map(units), logs: args.from.clone() },
        &Bars::default(),
    )?;
    for path in &made.files {
        output::print(&format!("{}\n", path.display()))?;
    }
    made.notes.iter().for_each(|note| say(note));
    list_questions(&made.questions);
    if args.from.is_empty() {
        say(&format!(
            "Put logs into {}, fill in the sheet, then: cookstudy run {}",
            folder.join("logs").display(),
            folder.display()
        ));
        return Ok(Outcome::Done);
    }
    tell_open(&made.questions, Some(&folder.join(stages::QUESTIONS)));
    say(&format!(
        "Correct and complete {}, then: cookstudy run {}",
        folder.join("sheet.csv").display(),
        folder.display()
    ));
    Ok(if made.is_whole { Outcome::Done } else { Outcome::DoneInPart })
}

/// Asks at the terminal until the answer is a zone; an empty line leaves it out.
fn ask_zone() -> Result<Option<String>, Failure> {
    loop {
        say(
            "Which time zone do the clocks of your logs and notes show? An IANA name such as America/Chicago; Enter leaves it open:",
        );
        let line = line_of_input()?;
        if line.is_empty() {
            return Ok(None);
        }
        if stages::is_zone(&line) {
            return Ok(Some(line));
        }
        say(&format!("`{line}` is no IANA time zone."));
    }
}

/// Asks at the terminal until the answer is one of both; an empty line leaves the default.
fn ask_units() -> Result<Option<UnitsChoice>, Failure> {
    loop {
        say("°F and pounds (us), or °C and kilograms (metric)? Enter for us:");
        match line_of_input()?.to_lowercase().as_str() {
            "" | "us" => return Ok(Some(UnitsChoice::Us)),
            "metric" => return Ok(Some(UnitsChoice::Metric)),
            _ => {}
        }
    }
}

/// A line that was typed.
pub(crate) fn line_of_input() -> Result<String, Failure> {
    let mut line = String::new();
    std::io::stdin().read_line(&mut line).map_err(|error| error.to_string())?;
    Ok(line.trim().to_owned())
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

/// Where the results of logs without a season folder lie.
const OUT_OF_LOGS: &str = "cookstudy-out";

/// `run`.
pub(crate) fn run(args: &RunArgs) -> Result<Outcome, Failure> {
    let options = RunOptions { units: args.units.map(units), prune: args.prune, now_ms: args.now };
    let is_season = |path: &Path| path.join("season.toml").is_file();
    let season = match &args.inputs[..] {
        [] => Some(Path::new(".")),
        [one] => Some(one.as_path()).filter(|path| is_season(path)),
        _ => None,
    };
    if args.inputs.is_empty() && !is_season(Path::new(".")) {
        return Err("nothing to run: there is no season.toml in this folder\n  try: cookstudy run SEASON for a season folder, or cookstudy run LOG… for logs alone".into());
    }
    if let ([one], None) = (&args.inputs[..], &season)
        && !one.exists()
        && !one.to_string_lossy().contains(['*', '?', '['])
    {
        return Err(format!(
            "{}: there is no such folder with a season.toml, and no such log\n  try: `cookstudy new DIR` makes a season folder",
            one.display()
        )
        .into());
    }
    if let Some(both) = args.inputs.iter().find(|path| season.is_none() && is_season(path)) {
        return Err(format!(
            "{}: is a season folder among other names; run it alone, and logs in a run of their own",
            both.display()
        )
        .into());
    }
    let (summary, home) = if let Some(season) = season {
        if args.out.is_some() || args.tz.is_some() {
            return Err(format!(
                "{}: is a season folder; --out and --tz are for logs without one (its zone stands in season.toml)",
                season.display()
            )
            .into());
        }
        (stages::run_with(season, options, &Bars::default())?, season)
    } else {
        let out = args.out.as_deref().unwrap_or(Path::new(OUT_OF_LOGS));
        let tz = args.tz.as_deref();
        (stages::run_logs(&args.inputs, out, tz, options, &Bars::default())?, out)
    };
    tell(&summary);
    tell_open(&summary.ingest.questions, Some(&home.join(stages::QUESTIONS)));
    if season.is_none() && summary.ingest.cooks == 0 && summary.ingest.questions.is_empty() {
        return Err("none of these could be read as a log".into());
    }
    if season.is_none() && summary.ingest.cooks == 0 {
        return Ok(outcome(&summary.ingest, args.strict));
    }
    output::print(&format!("{}\n", summary.report.display()))?;
    if season.is_none() {
        say(
            "For weights, wraps and claims: cookstudy new DIR --from LOG… makes a season folder of these logs.",
        );
    }
    Ok(outcome(&summary.ingest, args.strict))
}

/// An instant with its offset, as ms since 1970.
pub(crate) fn instant(text: &str) -> Result<i64, String> {
    stages::instant_ms(text).ok_or_else(|| {
        "an instant has a date, a time and an offset: 2026-11-30T08:15:00Z".to_owned()
    })
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
