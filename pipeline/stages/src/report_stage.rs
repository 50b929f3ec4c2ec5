//! The report: pages and the data behind them.

use crate::error::StageError;
use crate::report_data::{StoreTables, build};
use crate::stamps::{check_measures, check_phases};
use crate::study_stage::{parse_study, sweep, write_both};
use cook::Season;
use rayon::prelude::*;
use report::data::DataFile;
use report::{CookPages, MOST_COOK_PAGES, MOST_OVER, ReportData};
use rows::hash::sha256;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use store::{Store, TableName, write_atomically};
use study::result::StudyResult;

/// What to print.
#[derive(Debug, Clone)]
pub struct ReportRequest {
    /// The store.
    pub store: PathBuf,
    /// The study, as `study` wrote it.
    pub study: PathBuf,
    /// Folder to write to.
    pub out: PathBuf,
    /// Team, units and definition.
    pub season: Season,
    /// Only this cook's page, or these cooks laid over each other; empty for all pages.
    pub cooks: Vec<String>,
}

/// What the store's tables hold, for the list of data files.
pub(crate) const TABLES: [(TableName, &str); 11] = [
    (TableName::Cooks, "the cards, normalised"),
    (TableName::Events, "the events"),
    (TableName::Scores, "the scores of judges and tasters"),
    (TableName::Phases, "phases of every cook, with what they were judged against"),
    (TableName::Flags, "what cleaning made of the readings, stretch by stretch"),
    (TableName::Channels, "each cook's channels: part, correction, comparison with the lead"),
    (TableName::Warnings, "what is odd about a cook: marks, exchanged channels, unlike probes"),
    (TableName::Measures, "one row of measures a cook"),
    (TableName::History, "each cook in steps of 10 min on the study clock"),
    (TableName::Rejected, "every row and cell that could not be used"),
    (TableName::Sources, "how each log was read, and its line account"),
];

/// The four pages for a team to frame.
const SUMMARY: &str = "summary.html";
/// The report behind them.
const REPORT: &str = "report.html";
/// What is usual with the team.
const HABITS: &str = "how-we-cook.html";
/// A page that earlier versions wrote, and that the summary has taken the place of.
const BEFORE_THE_SUMMARY: &str = "closing.html";

/// What the report wrote.
#[derive(Debug, Clone)]
pub struct ReportSummary {
    /// The pages: the season report first, or one cook's page.
    pub pages: Vec<PathBuf>,
    /// Every file, pages included.
    pub files: Vec<PathBuf>,
    /// Cooks in the season report.
    pub cooks: usize,
}

/// Writes the report.
///
/// # Errors
/// A missing, unreadable or outdated table or study, named with the command that makes it;
/// a cook that is not in the store.
pub fn report(request: &ReportRequest) -> Result<ReportSummary, StageError> {
    let store = Store::open(&request.store)?;
    let tables = StoreTables::read(&store)?;
    check_phases(&store)?;
    check_measures(&store)?;
    let study = read_study(&request.study, &store)?;
    let mut data = build(&store, &tables, &study, &request.season, data_files())?;
    if !request.cooks.is_empty() {
        let page = some_cooks(request, &data)?;
        let (pages, files) = (vec![page.clone()], vec![page]);
        return Ok(ReportSummary { pages, files, cooks: data.cooks.len() });
    }
    if data.cooks.len() > MOST_COOK_PAGES {
        data.cooks.iter_mut().for_each(|cook| cook.page = None);
    }
    data.report_page = Some(REPORT.to_owned());
    data.habits_page = (!data.habits.is_empty()).then(|| HABITS.to_owned());
    let four_pages = report::render_summary(&data, request.season.units);
    data.summary_page = four_pages.as_ref().map(|_| SUMMARY.to_owned());
    sweep(&request.out);
    let mut files = Vec::new();
    for (name, _) in TABLES {
        let folder = request.out.join("data");
        files.extend(write_both(&folder, name.as_str(), &store.read_table(name)?)?);
    }
    let mut pages = vec![request.out.join(REPORT)];
    let html = report::render_season(&data, request.season.units);
    write_atomically(&pages[0], html.as_bytes())?;
    let how_we_cook = report::render_habits(&data, request.season.units);
    for (name, page) in [(SUMMARY, four_pages), (HABITS, how_we_cook)] {
        let path = request.out.join(name);
        if let Some(html) = page {
            write_atomically(&path, html.as_bytes())?;
            files.push(path);
        } else {
            remove_if_there(&path)?;
        }
    }
    remove_if_there(&request.out.join(BEFORE_THE_SUMMARY))?;
    let markdown = request.out.join("report.md");
    write_atomically(&markdown, report::render_markdown(&data, request.season.units).as_bytes())?;
    files.push(markdown);
    let cook_pages = CookPages::new(&data, request.season.units);
    let written: Result<Vec<PathBuf>, StageError> = data
        .cooks
        .par_iter()
        .enumerate()
        .filter(|(_, cook)| cook.page.is_some())
        .map(|(place, cook)| {
            let path = request.out.join("cooks").join(page_file(cook.id()));
            write_atomically(&path, cook_pages.render(place).as_bytes())?;
            Ok(path)
        })
        .collect();
    pages.extend(written?);
    remove_stale(&request.out.join("cooks"), &pages)?;
    files.extend(pages.iter().cloned());
    Ok(ReportSummary { pages, files, cooks: data.cooks.len() })
}

/// What to print on four pages.
#[derive(Debug, Clone)]
pub struct SummaryRequest {
    /// The store.
    pub store: PathBuf,
    /// The study, as `study` wrote it.
    pub study: PathBuf,
    /// File to write.
    pub out: PathBuf,
    /// Team, units and definition.
    pub season: Season,
    /// Whether it is for people outside the team.
    pub is_public: bool,
}

/// Writes the four pages alone. They lead to no other page, since none may lie beside them.
///
/// # Errors
/// As [`report()`].
pub fn summary(request: &SummaryRequest) -> Result<PathBuf, StageError> {
    let store = Store::open(&request.store)?;
    let tables = StoreTables::read(&store)?;
    check_phases(&store)?;
    check_measures(&store)?;
    let study = read_study(&request.study, &store)?;
    let mut data = build(&store, &tables, &study, &request.season, Vec::new())?;
    for cook in &mut data.cooks {
        cook.page = None;
    }
    if request.is_public {
        data = data.for_the_public();
    }
    let Some(html) = report::render_summary(&data, request.season.units) else {
        return Err(StageError::Usage {
            message: format!(
                "{}: no season to sum up: these cooks have no cards; `cookstudy report` shows what their logs do",
                request.store.display()
            ),
        });
    };
    store::write_page(&request.out, &html)?;
    Ok(request.out.clone())
}

fn remove_if_there(path: &Path) -> Result<(), StageError> {
    match std::fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(StageError::io(path, error))
        }
        _ => Ok(()),
    }
}

/// File name of a cook's page.
pub(crate) fn page_file(cook: &str) -> String {
    format!("{}.html", store::encode_name(cook))
}

/// Reads a study; one that was made from other measures than the store has is outdated.
fn read_study(path: &Path, store: &Store) -> Result<StudyResult, StageError> {
    let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
    let study = parse_study(path, &text)?;
    let measures = store.table_path(TableName::Measures);
    let hash = sha256(&std::fs::read(&measures).map_err(|e| StageError::io(&measures, e))?);
    if study.provenance.inputs.iter().any(|input| input.sha256 == hash) {
        return Ok(study);
    }
    Err(StageError::Usage {
        message: format!(
            "{}: made from other measures than {} has now; make it anew with `cookstudy study`",
            path.display(),
            measures.display()
        ),
    })
}

/// One cook's page, or a page with some cooks laid over each other.
fn some_cooks(request: &ReportRequest, data: &ReportData) -> Result<PathBuf, StageError> {
    let mut cooks: Vec<&str> = Vec::new();
    for cook in &request.cooks {
        if !cooks.contains(&cook.as_str()) {
            cooks.push(cook);
        }
    }
    if cooks.len() > MOST_OVER {
        return Err(StageError::Usage {
            message: format!(
                "{} cooks laid over each other cannot be told apart; name {MOST_OVER} at most",
                cooks.len()
            ),
        });
    }
    let units = request.season.units;
    let html = match cooks[..] {
        [cook] => report::render_cook(data, cook, units).ok_or(cook),
        _ => report::render_over(data, &cooks, units),
    };
    let html = html.map_err(|unknown| no_such_cook(data, unknown))?;
    let word = if cooks.len() == 1 { "cook" } else { "cooks" };
    let names: Vec<String> = cooks.iter().map(|cook| store::encode_name(cook)).collect();
    let path = request.out.join(format!("{word}-{}.html", names.join("+")));
    write_atomically(&path, html.as_bytes())?;
    Ok(path)
}

fn no_such_cook(data: &ReportData, cook: &str) -> StageError {
    let known: Vec<&str> = data.cooks.iter().map(report::data::CookReport::id).collect();
    let hint = match cook::settings::nearest(cook, known.iter().copied()) {
        Some(name) => format!("; did you mean `{name}`?"),
        None => format!("; it has {}, such as `{}`", known.len(), known.first().unwrap_or(&"–")),
    };
    let excluded = data.excluded.iter().find(|excluded| excluded.cook == *cook);
    StageError::Usage {
        message: match excluded {
            Some(excluded) => format!("cook `{cook}` is left out: {}", excluded.reason),
            None => format!("the store has no cook `{cook}`{hint}"),
        },
    }
}

fn data_files() -> Vec<DataFile> {
    let tables = TABLES.iter().map(|(name, holds)| (name.as_str(), *holds));
    let mut files: Vec<DataFile> = tables
        .chain(StudyResult::table_names())
        .map(|(name, holds)| DataFile {
            path: format!("data/{name}.csv"),
            holds: format!("{holds} (also as .parquet)"),
        })
        .collect();
    files.push(DataFile {
        path: "study.json".into(),
        holds: "everything the study found, for programs".into(),
    });
    files
}

/// Pages of cooks that are no longer there would be read as if they were.
fn remove_stale(folder: &Path, pages: &[PathBuf]) -> Result<(), StageError> {
    let current: BTreeSet<&Path> = pages.iter().map(PathBuf::as_path).collect();
    let Ok(entries) = std::fs::read_dir(folder) else { return Ok(()) };
    for entry in entries {
        let path = entry.map_err(|e| StageError::io(folder, e))?.path();
        let is_page = path.extension().is_some_and(|ending| ending == "html");
        if is_page && !current.contains(path.as_path()) {
            std::fs::remove_file(&path).map_err(|e| StageError::io(&path, e))?;
        }
    }
    Ok(())
}
