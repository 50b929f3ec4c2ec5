//! The stages, run alone on a store.

use super::progress::Bars;
use super::{
    Failure, Format, IngestArgs, MergeArgs, Outcome, PhasesArgs, ReportArgs, StageArgs, StudyArgs,
    SummaryArgs, UnitsChoice, output, say,
};
use cook::{Answers, Question, Questions, RejectedRow, Season, Units};
use stages::{
    IngestRequest, IngestSummary, MergeInput, MergeRequest, ReportRequest, StudyRequest,
    StudySource, Subject, SummaryRequest,
};
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::path::{Path, PathBuf};

/// Rejected rows said on the terminal.
const REJECTED_SHOWN: usize = 20;

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

/// Places of a question that are said on the terminal.
const PLACES_SHOWN: usize = 3;

/// Says what is asked, each question once for all that have it in common.
pub(crate) fn list_questions(questions: &[Question]) {
    for question in questions {
        let shown = question.places.iter().take(PLACES_SHOWN).cloned().collect::<Vec<_>>();
        let more = match question.places.len() - shown.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let mut said = format!("question {}: {}", question.id, question.asks);
        said += &format!("\n  at {}{more}", shown.join(", "));
        if !question.because.is_empty() {
            said += &format!("\n  {}", question.because);
        }
        for answer in &question.answers {
            said += &format!("\n  {}: {}", answer.take, answer.then);
        }
        if let Some(used) = &question.used {
            said += &format!("\n  until it is answered: {used}");
        }
        say(&said);
    }
}

/// Says what to do about open questions; `file` is the one that has them.
pub(crate) fn tell_open(questions: &[Question], file: Option<&Path>) {
    let are = match questions.len() {
        0 => return,
        1 => "1 question is".to_owned(),
        count => format!("{count} questions are"),
    };
    say(&match file {
        Some(file) => {
            format!("{are} open: write an answer to each into {} and run again", file.display())
        }
        None => format!(
            "{are} open: write each id and its answer into a file for --questions, such as\n  schema = \"cookstudy/questions/1\"\n  [[question]]\n  id = \"{}\"\n  answer = \"{}\"",
            questions[0].id,
            questions[0].answers.first().map_or("", |answer| answer.take.as_str())
        ),
    });
}

/// Exit code of whatever ingested.
pub(crate) fn outcome(summary: &IngestSummary, strict: bool) -> Outcome {
    if !summary.refusals.is_empty()
        || !summary.questions.is_empty()
        || !summary.told.is_empty()
        || (strict && !summary.rejected.is_empty())
    {
        Outcome::DoneInPart
    } else {
        Outcome::Done
    }
}

/// Says what could not be used and what is worth knowing.
pub(crate) fn list_refusals(summary: &IngestSummary) {
    for refusal in &summary.refusals {
        let waits = refusal.waits_for.as_ref().map(|id| format!("it waits for the answer to {id}"));
        let message = waits.as_ref().unwrap_or(&refusal.message);
        match &refusal.subject {
            Subject::Cook(cook) => say(&format!("cook `{cook}` has no readings: {message}")),
            Subject::Kept(cook) => {
                say(&format!("cook `{cook}` keeps its readings of before: {message}"));
            }
            Subject::Log(log) if message.starts_with(log) => {
                say(&format!("a log that no row of a sheet names: {message}"));
            }
            Subject::Log(log) => {
                say(&format!("a log that no row of a sheet names, {log}: {message}"));
            }
        }
    }
    summary.told.iter().for_each(|told| say(told));
    list_questions(&summary.questions);
    list_rejected(summary);
    for warning in &summary.warnings {
        say(&format!("note: {warning}"));
    }
}

/// Rejected rows: those of sheets first, which people wrote and can mend; cells of a sheet with the same
/// value and reason are said once, and so are the lines of a log with the same reason.
fn list_rejected(summary: &IngestSummary) {
    let mut alike: Vec<(&RejectedRow, Option<&str>, usize)> = Vec::new();
    let mut known: HashMap<_, usize> = HashMap::new();
    for (row, words) in summary.rejected.iter().zip(&summary.rejected_in_words) {
        let of_sheet = words.is_some();
        let text = if of_sheet { row.text.as_str() } else { "" };
        let column = row.column.as_ref().filter(|_| of_sheet);
        match known.entry((&row.source, column, &row.code, text)) {
            Entry::Occupied(first) => alike[*first.get()].2 += 1,
            Entry::Vacant(none) => {
                none.insert(alike.len());
                alike.push((row, words.as_deref(), 0));
            }
        }
    }
    // Stable: within each, the order stays that of files and lines.
    alike.sort_by_key(|(_, words, _)| words.is_none());
    for (row, words, more) in alike.iter().take(REJECTED_SHOWN) {
        let said = words.map_or_else(
            || {
                let column =
                    row.column.as_ref().map_or(String::new(), |c| format!(", column `{c}`"));
                let rule = stages::LogCode::parse(&row.code)
                    .map_or_else(String::new, |code| format!("\n  {}", code.meaning()));
                format!("{}:{}{column}: {} `{}`{rule}", row.source, row.line, row.code, row.text)
            },
            str::to_owned,
        );
        let again = match (more, words) {
            (0, _) => String::new(),
            (_, None) => format!("\n  and {more} more of this log with {}", row.code),
            (1, _) => "\n  and once more".to_owned(),
            _ => format!("\n  and {more} times more in this column"),
        };
        say(&format!("rejected: {said}{again}"));
    }
    let left: usize = alike.iter().skip(REJECTED_SHOWN).map(|(.., more)| more + 1).sum();
    if left > 0 {
        say(&format!("… and {left} more; the store's rejected.parquet has all"));
    }
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
        out: args.out.clone(),
        season: settings(args.settings.as_deref())?,
        shown_from: PathBuf::new(),
    };
    let summary = stages::study(&request)?;
    summary.notes.iter().for_each(|note| say(note));
    say(&format!("wrote {}", summary.path.display()));
    if let Some(page) = &summary.page {
        say(&format!("wrote {}", page.display()));
    }
    output::print_table(&summary.table, args.format)?;
    Ok(Outcome::Done)
}

/// `merge`.
pub(crate) fn merge(args: &MergeArgs) -> Result<Outcome, Failure> {
    let request = MergeRequest {
        inputs: args.stores.iter().map(|text| MergeInput::parse(text)).collect(),
        out: args.out.clone(),
        anonymise: args.anonymise,
        keep: args.keep.iter().cloned().collect(),
        key: args.key.clone(),
    };
    let summary = stages::merge(&request, &Bars::default())?;
    summary.notes.iter().for_each(|note| say(note));
    let out = args.out.display();
    output::print_table(&summary.table, args.format)?;
    say(&format!("merge: {} cooks of {} teams in {out}", summary.cooks, summary.table.rows()));
    if !summary.changed {
        say("Nothing to do: everything is up to date.");
    }
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

/// `summary`.
pub(crate) fn summary(args: &SummaryArgs) -> Result<Outcome, Failure> {
    let mut season = settings(args.settings.as_deref())?;
    if let Some(choice) = args.units {
        season.units = units(choice);
    }
    let request = SummaryRequest {
        store: args.store.clone(),
        study: args.study.clone(),
        out: args.out.clone(),
        season,
        is_public: args.public,
    };
    output::print(&format!("{}\n", stages::summary(&request)?.display()))?;
    Ok(Outcome::Done)
}

/// `report`.
pub(crate) fn report(args: &ReportArgs) -> Result<Outcome, Failure> {
    let mut season = settings(args.settings.as_deref())?;
    if let Some(choice) = args.units {
        season.units = units(choice);
    }
    let request = ReportRequest {
        store: args.store.clone(),
        study: args.study.clone(),
        out: args.out.clone(),
        season,
        cook: args.cook.clone(),
    };
    for path in stages::report(&request)?.pages {
        output::print(&format!("{}\n", path.display()))?;
    }
    Ok(Outcome::Done)
}
