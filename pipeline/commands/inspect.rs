//! `inspect`: how each log would be read.

use super::stage::{answers, settings};
use super::told::{list_questions, tell_open};
use super::{Failure, Format, Outcome, output, say};
use clap::Args;
use cook::Question;
use stages::{Column, Table};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Writes nothing, unless --save-layout names a file.\n\nExamples:\n  cookstudy inspect logs/*.csv\n  cookstudy inspect logs/odd.csv --tz America/Chicago --save-layout layouts/odd.toml"
)]
pub(crate) struct InspectArgs {
    /// Logs to look at: files, folders or globs
    #[arg(value_name = "LOG", required = true)]
    logs: Vec<PathBuf>,
    /// Season settings to read them with
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Answers to questions (default: questions.toml beside the settings)
    #[arg(long, value_name = "FILE")]
    questions: Option<PathBuf>,
    /// IANA time zone of clock times without an offset (default: the settings' zone; without one, a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Layout file to try first
    #[arg(long, value_name = "FILE")]
    layout: Vec<PathBuf>,
    /// Write the layout as read, to edit and name in season.toml (one log only)
    #[arg(long, value_name = "FILE")]
    save_layout: Option<PathBuf>,
    /// How to print
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Shows how each log would be read; writes nothing but a layout asked for.
pub(crate) fn inspect(args: &InspectArgs) -> Result<Outcome, Failure> {
    let mut season = settings(args.settings.as_deref())?;
    if let Some(zone) = &args.tz {
        season.time_zone = Some(zone.clone());
    }
    if args.save_layout.is_some() && args.logs.len() != 1 {
        return Err("--save-layout goes with one log".into());
    }
    if let Some(path) = args.save_layout.as_ref().filter(|path| path.exists()) {
        return Err(format!("{}: is there already and is left alone", path.display()).into());
    }
    let answers = answers(args.questions.as_deref(), args.settings.as_deref())?;
    let mut questions = Vec::new();
    let mut refused = 0;
    let mut rows: Vec<[String; 5]> = Vec::new();
    let beside = args.settings.as_deref().and_then(Path::parent).unwrap_or(Path::new(""));
    let mut layouts = args.layout.clone();
    layouts.extend(stages::Layout::files(beside, &season.layouts)?);
    for inspection in stages::inspect(&args.logs, &season, &layouts, &answers)? {
        if let Some(words) = inspection.describe().filter(|_| args.format == Format::Table) {
            output::print(&(words + "\n"))?;
        }
        match inspection.outcome {
            Ok(log) => {
                for evidence in &log.record.evidence {
                    rows.push([
                        inspection.shown_as.clone(),
                        evidence.what.clone(),
                        evidence.taken_as.clone(),
                        evidence.because.clone(),
                        evidence.setting.clone(),
                    ]);
                }
                if let Some(path) = &args.save_layout {
                    stages::write_atomically(path, log.suggested_layout().to_toml().as_bytes())?;
                    say(&format!(
                        "wrote {}; name it in season.toml under `layouts`",
                        path.display()
                    ));
                }
            }
            Err(error) => {
                refused += 1;
                match error.question() {
                    Some(question) => {
                        questions.push(question.clone());
                        questions.extend(inspection.further.iter().cloned());
                    }
                    None => say(&error.to_string()),
                }
                if let (Some(path), Some(text)) = (&args.save_layout, &inspection.to_fill_in) {
                    stages::write_atomically(path, text.as_bytes())?;
                    say(&format!(
                        "wrote {} to fill in; the log's first lines stand in it",
                        path.display()
                    ));
                }
                if let (Some(path), Some(layout)) = (&args.save_layout, &inspection.likeliest) {
                    let text = format!(
                        "# The log leaves something open; here stands the likeliest answer. Check it.\n{}",
                        layout.to_toml()
                    );
                    stages::write_atomically(path, text.as_bytes())?;
                    say(&format!(
                        "wrote {} with the likeliest answers; check them, and name it in season.toml under `layouts`",
                        path.display()
                    ));
                }
            }
        }
    }
    if args.format != Format::Table {
        let names = ["log", "what", "taken_as", "because", "setting"];
        let mut table = Table::new();
        for (index, name) in names.into_iter().enumerate() {
            let cells = rows.iter().map(|row| Some(row[index].clone())).collect();
            table.push(name, Column::Text(cells));
        }
        output::print_table(&table, args.format)?;
    }
    let questions = Question::merged(questions);
    list_questions(&questions);
    let beside = args.settings.as_ref().map(|path| path.with_file_name(stages::QUESTIONS));
    tell_open(&questions, args.questions.as_deref().or(beside.as_deref()));
    match refused {
        _ if !questions.is_empty() => Ok(Outcome::DoneInPart),
        0 => Ok(Outcome::Done),
        n if n == args.logs.len() => Err("no log could be read".into()),
        _ => Ok(Outcome::DoneInPart),
    }
}
