//! The verbs that work on a season folder.

use super::progress::Bars;
use super::stage::units;
use super::told::{list_questions, list_refusals, outcome, tell_open};
use super::{Failure, Outcome, UnitsChoice, output, sample, say};
use clap::Args;
use stages::{NewSeason, RunOptions, RunSummary};
use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Without --tz and without a terminal to ask at, the zone is left out; `run` asks where a time hangs on\nit.\n\nWith --from the sheet has a row a cook: its name, its log, and the meat-on and pull that the curve shows.\nThose are guesses; the column `guessed` names them. Correct what is wrong, then take the name out.\n\npit.html is one file that works without a network: open it on the phone at the pit, tap what\nhappens, and bring its export home with `cookstudy note --from FILE`.\n\nExamples:\n  cookstudy new spring-2026\n  cookstudy new spring-2026 --tz America/Chicago --units us\n  cookstudy new spring-2026 --tz America/Chicago --from downloads/*.csv\n  cookstudy new spring-2026 --page"
)]
pub(crate) struct NewArgs {
    /// Folder to make; files that are there already are never overwritten
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// IANA time zone of the clocks of logs and sheets (default: asked at a terminal, else left
    /// out)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Units that people are shown (default: asked at a terminal, else us)
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Copy these logs (files, folders, globs) into it, and fill the sheet with what they show
    #[arg(long, value_name = "LOG", num_args = 1..)]
    from: Vec<PathBuf>,
    /// Write only pit.html, of a season folder that is there, with the cards of its sheet as they are now
    #[arg(long, conflicts_with = "from")]
    page: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Run it in the season folder. Events: lit, meat_on, spritz, wrap, unwrap, setpoint, lid, fuel,\nprobe_moved, probe_test, pull, slice, core (a reading by hand), bark (not-yet, nearly, set, or 1 to 5).\n\n--from takes an export of pit.html, or plain lines as in a notebook: perhaps a cook, perhaps a time,\nthen the event and its value, and a remark behind a `;`. A clock time is the first such time after the\nline before it, or after meat-on; a line without a time has that of the line before. A temperature alone\nis a reading by hand, in the season's units. Each event is taken once, however often the file is given:\nthe column `id` of the events sheet knows it, also after you edited its row.\n\nExamples:\n  cookstudy note may-contest spritz\n  cookstudy note may-contest wrap paper --at 3:10\n  cookstudy note may-contest core \"165F flat\"\n  cookstudy note may-contest bark nearly\n  cookstudy note may-contest probe_test not\n  cookstudy note --from pit-export.txt\n  cookstudy note --from night.txt may-contest      with lines such as\n                                                   3:12 wrap foil\n                                                   bark set\n                                                   4:05 165 flat"
)]
pub(crate) struct NoteArgs {
    /// The cook, as the season sheet names it; with --from, whose the lines are that name none
    #[arg(value_name = "COOK", required_unless_present = "from")]
    cook: Option<String>,
    /// What happened
    #[arg(value_name = "EVENT", required_unless_present = "from", conflicts_with = "from")]
    event: Option<String>,
    /// Method of a wrap, temperature of a set-point or of the core (with C or F), mass of fuel (with
    /// its unit), what was felt or seen
    #[arg(value_name = "VALUE", conflicts_with = "from")]
    value: Option<String>,
    /// When: 3:10 is the last such time, +6:30 counts from meat-on [default: now]
    #[arg(long, value_name = "TIME", conflicts_with = "from")]
    at: Option<String>,
    /// Take the events of a file: an export of pit.html, or plain lines
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// A remark to keep with it
    #[arg(long, value_name = "TEXT", conflicts_with = "from")]
    remark: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Writes SEASON/store and SEASON/out (summary.html, how-we-cook.html, report.html,\nreport.md, study.json, data/), and keeps\nSEASON/claims.lock, which says when each claim was first written down.\n\nAnything but one folder with season.toml is taken as logs without a season folder: their curves,\nphases and pulls, with store, out and questions.toml in DIR of --out. `cookstudy new DIR --from LOG…`\nmakes a season folder of them.\n\nExamples:\n  cookstudy run spring-2026\n  cookstudy run night.csv\n  cookstudy run logs/*.csv --out first-look --tz America/Chicago"
)]
pub(crate) struct RunArgs {
    /// Season folder (holds season.toml), or logs: files, folders, globs [default: the folder it stands in]
    #[arg(value_name = "SEASON|LOG")]
    inputs: Vec<PathBuf>,
    /// For logs without a season folder: the folder of store, results and questions [default: cookstudy-out]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// For logs without a season folder: IANA time zone of clock times without an offset (without one,
    /// a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Exit with 1 where anything was rejected
    #[arg(long)]
    strict: bool,
    /// Units of the report, whatever season.toml says
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Give up what was read from files that are gone or cannot be opened any more
    #[arg(long)]
    prune: bool,
    /// The instant that claims.lock takes for now, such as 2026-11-30T08:15:00Z, for tests; it is
    /// written down there [default: this computer's clock]
    #[arg(long, value_name = "INSTANT", value_parser = instant)]
    now: Option<i64>,
}

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
