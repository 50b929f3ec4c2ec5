//! All stages over a season folder; only what changed is done again.

mod inputs;
mod steps;

use crate::derive_stage::{self, derive};
use crate::error::StageError;
use crate::folder::{QUESTIONS, read_settings};
use crate::ingest_stage::edited::answers_are_gone;
use crate::ingest_stage::gone::{keep_all, leave_out_sheets};
use crate::ingest_stage::{IngestRequest, IngestSummary, Sheets, ingest_sheets, read_sheets};
use crate::lock_said::{self, LooksAsked};
use crate::merge_stage::is_merged;
use crate::phases_stage::phases_notes;
use crate::progress::Progress;
use crate::stamps::Damage;
use crate::study_stage::{ClaimsFile, Entered, LockFile, definition_hash};
use crate::trial_stage;
use cook::{Question, Questions, Season, Units};
use inputs::InputFiles;
use rows::hash::{Fingerprint, sha256};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use steps::Step;
use store::stamps::{Reason, Stage, Stamps};
use store::{Column, Store, Table, TableName, write_atomically};
use study::lock::Look;
use study::{Claims, Lock, MeasureTable};

/// What a run did.
#[derive(Debug, Clone)]
pub struct RunSummary {
    /// Logs and sheets.
    pub ingest: IngestSummary,
    /// One line a stage, for people.
    pub lines: Vec<String>,
    /// Whether nothing had changed.
    pub nothing_to_do: bool,
    /// The stages after ingest that were done, and why; a stage that is not named held.
    pub redone: Vec<(Stage, Reason)>,
    /// The season report.
    pub report: PathBuf,
}

/// The lock's file in a season folder.
const LOCK: &str = "claims.lock";

/// How a season is run.
#[derive(Debug, Clone, Copy, Default)]
pub struct RunOptions {
    /// Overrides the season's units for the report.
    pub units: Option<Units>,
    /// Whether what was read from files that are gone leaves the store.
    pub prune: bool,
    /// The instant that `claims.lock` takes for now, ms since 1970; `None` is the clock's.
    pub now_ms: Option<i64>,
}

/// Runs all stages over a season folder. `units` overrides the season's for the report.
///
/// # Errors
/// As [`run_with`].
pub fn run(
    folder: &Path,
    units: Option<Units>,
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    run_with(folder, RunOptions { units, ..RunOptions::default() }, progress)
}

/// Runs all stages over a season folder.
///
/// # Errors
/// Settings, sheets, claims or a lock that cannot be used: nothing is done then. A log
/// that cannot be used is no error; see [`IngestSummary::refusals`].
pub fn run_with(
    folder: &Path,
    options: RunOptions,
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    let season = read_settings(folder)?;
    run_at(&Place { base: folder, home: folder }, season, options, progress)
}

/// Runs all stages over logs that no season folder holds: their curves, phases and pulls. Results,
/// and what is asked, lie in `out`.
///
/// # Errors
/// As [`run_with`]; logs that are not there; a folder for the results that holds something else.
pub fn run_logs(
    logs: &[PathBuf],
    out: &Path,
    time_zone: Option<&str>,
    options: RunOptions,
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    let usage = |message: String| Err(StageError::Usage { message });
    let shown = out.display();
    if logs.is_empty() {
        return usage("name the logs to run: files, folders or globs".into());
    }
    if out.join("season.toml").exists() || is_merged(out) {
        return usage(format!(
            "{shown}: is a season folder; choose another --out for logs without one"
        ));
    }
    if out.exists() && !out.join("store").is_dir() {
        let is_ours = |name: &std::ffi::OsStr| name == "out" || name == QUESTIONS;
        let entries = std::fs::read_dir(out).map_err(|error| StageError::io(out, error))?;
        if entries.filter_map(Result::ok).any(|entry| !is_ours(&entry.file_name())) {
            return Err(StageError::Occupied { path: out.to_owned() });
        }
    }
    if let Some(inside) = logs.iter().find(|log| is_around(log, out)) {
        return usage(format!(
            "{shown}: lies in {}, whose files are the logs; choose an --out beside it",
            inside.display()
        ));
    }
    let season = Season {
        team: "Logs without a sheet".to_owned(),
        time_zone: time_zone.map(str::to_owned),
        logs: logs.iter().map(|log| log.display().to_string()).collect(),
        sheets: Vec::new(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        claims: None,
        ..Season::default()
    };
    run_at(&Place { base: Path::new(""), home: out }, season, options, progress)
}

/// Whether a folder named as logs holds a path: results would then be read as logs.
fn is_around(logs: &Path, path: &Path) -> bool {
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    logs.is_dir() && absolute(path).starts_with(absolute(logs))
}

/// Where a run finds what the settings name, and where it keeps what it makes.
struct Place<'a> {
    /// The folder that the settings' paths are relative to.
    base: &'a Path,
    /// The folder of store, results, questions and lock.
    home: &'a Path,
}

fn run_at(
    place: &Place<'_>,
    mut season: Season,
    options: RunOptions,
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    let Place { base, home: folder } = *place;
    if let Some(units) = options.units {
        season.units = units;
    }
    let mut questions = Questions::read(&folder.join(QUESTIONS))?;
    let mut request = IngestRequest {
        base: base.to_owned(),
        logs: season.logs.clone(),
        sheets: season.sheets.clone(),
        events: present(base, &season.events, &Season::default().events),
        score_sheets: present(base, &season.score_sheets, &Season::default().score_sheets),
        layouts: season.layouts.clone(),
        store: folder.join("store"),
        season: season.clone(),
        answers: questions.answers(),
        whole: true,
        prune: options.prune,
    };
    let season = season.with_answers(&request.answers);
    let is_merged = is_merged(folder);
    let inputs = [&season.logs, &season.sheets, &season.events];
    let is_fed = inputs.iter().any(|list| !list.is_empty())
        || season.score_sheets != Season::default().score_sheets;
    if is_merged && is_fed {
        return Err(StageError::Usage {
            message: format!(
                "{}: this season was made by `cookstudy merge` and takes no logs or sheets; keep them in a season folder of their own and merge again",
                folder.join("season.toml").display()
            ),
        });
    }
    let mut without = if is_merged { Vec::new() } else { leave_out_sheets(&mut request) };
    if !is_merged && answers_are_gone(folder, &request.store) {
        without.push(QUESTIONS.to_owned());
    }
    let is_kept = !without.is_empty() && !options.prune;
    let reads = !is_merged && !is_kept;
    let sheets = reads.then(|| read_sheets(&request)).transpose()?;
    let claims_path = season
        .claims
        .as_ref()
        .map(|name| base.join(name))
        .filter(|path| path.exists() || season.claims != Season::default().claims);
    let claims = ClaimsFile::read(claims_path.as_deref())?;
    if let (Some(path), Some(sheets)) = (&claims_path, &sheets) {
        check_claims_early(&claims.claims, path, sheets)?;
    }
    let lock_path = folder.join(LOCK);
    let old_lock = lock_path.is_file().then(|| LockFile::read(&lock_path)).transpose()?;
    let old_lock = old_lock.map(|file| file.lock);

    let mut lines = Vec::new();
    let mut ingested = if let Some(sheets) = &sheets {
        let ingested = ingest_sheets(&request, sheets, progress)?;
        ask(&mut questions, &ingested.questions)?;
        lines.push(if ingested.read == 0 && ingested.cooks > 0 && ingested.rejected.is_empty() {
            format!("ingest: nothing new to read; {} cooks", ingested.cooks)
        } else {
            format!(
                "ingest: {} of {} cooks read, {} readings, {} rejected rows and cells",
                ingested.read,
                ingested.cooks,
                ingested.readings,
                ingested.rejected.len()
            )
        });
        ingested
    } else if is_kept {
        lines.push(format!("ingest: left out, since {} is gone", without.join(", ")));
        keep_all(&request, &without)?
    } else {
        lines.push("ingest: the cooks were merged; `cookstudy merge` takes up changes".into());
        IngestSummary::default()
    };
    let store = Store::open(&request.store)?;
    let _lock = store.lock()?;
    if is_merged {
        check_merged_is_whole(&store)?;
    }
    let pass = derive(&store, &season, derive_stage::Asked::All, progress)?;
    lines.extend(pass.notes.iter().cloned());
    lines.push(pass.phases.line("phases"));
    lines.extend(phases_notes(&pass).iter().map(|note| format!("  {note}")));
    lines.push(pass.measures.line("measures"));
    let done = [(Stage::Phases, &pass.phases), (Stage::Measures, &pass.measures)];
    let done = done.into_iter().filter_map(|(stage, did)| Some((stage, did.reason.clone()?)));
    let redone = done.collect();

    let out = folder.join("out");
    let mut changed = ingested.changed || pass.phases.changed || pass.measures.changed;
    let measures = match pass.measured {
        Some(tables) => tables.measures,
        None => store.read_table(TableName::Measures)?,
    };
    if claims.claims.claims.is_empty() && !options.prune && had_claims(&store, old_lock.as_ref()) {
        let file = season
            .claims
            .as_ref()
            .map_or_else(|| folder.join("claims.toml"), |name| base.join(name));
        ingested.told.push(format!(
            "{}: {}; study and report stay as they are: put it back, or give its claims up with `cookstudy run --prune`",
            file.display(),
            if file.exists() { "has no claim any more" } else { "is not there any more" }
        ));
        lines.push("study, report: left out, since no claim is there any more".into());
        let report = out.join("report.html");
        return Ok(RunSummary { ingest: ingested, lines, nothing_to_do: !changed, redone, report });
    }
    let asks = !claims.claims.claims.is_empty() || old_lock.is_some();
    let lock = asks
        .then(|| locked(old_lock.as_ref(), &claims.claims, &measures, &season, options.now_ms))
        .transpose()?;
    if let Some((_, clock)) = &lock {
        lines.extend(clock.clone());
    }
    let stamps = Stamps::read(&store);
    let was_locked = stamps.inputs(Stage::Study).is_some_and(|inputs| inputs.contains_key(LOCK));
    lines.extend(lock_said::before(old_lock.as_ref(), was_locked, &claims.claims));
    let mut lock = lock.map(|(lock, _)| lock);
    lines.extend(trial_stage::forgotten(folder, lock.as_ref())?);
    let trials = match &mut lock {
        Some(lock) => trial_stage::results(
            lock,
            trial_stage::Asked {
                folder,
                claims: &claims.claims,
                measures: &measures,
                cards: &Entered::read(&store)?.cards,
                definition: &definition_hash(&season),
                at: Some(trial_stage::instant(options.now_ms)),
            },
        )?,
        None => Vec::new(),
    };
    lines.extend(trial_stage::doubts(&trials));
    let mut lock_hash = None;
    if let Some(lock) = &mut lock {
        // Written down before anything is looked at, and what the looks found after.
        changed |= write_atomically(&lock_path, lock.to_toml()?.as_bytes())?;
        let at = trial_stage::instant(options.now_ms);
        let looks = LooksAsked { store: &store, claims: &claims.claims, measures: &measures };
        lines.extend(looks.take(lock, &season, at)?);
        let text = lock.to_toml()?;
        changed |= write_atomically(&lock_path, text.as_bytes())?;
        trial_stage::keep_looks(folder, lock)?;
        lock_hash = Some(sha256(text.as_bytes()));
    }

    let mut step = Step {
        season: &season,
        store: &store,
        out: &out,
        stamps: Stamps::read(&store),
        progress,
        lines: &mut lines,
        redone,
    };
    let files = InputFiles { place, request: &request, store: &store, claims: &claims };
    let judged = (&claims, lock.as_ref(), trials);
    changed |= step.study(judged, &measures, files.hashes(lock_hash)?)?;
    changed |= step.report()?;
    let redone = step.redone;
    Ok(RunSummary {
        ingest: ingested,
        lines,
        nothing_to_do: !changed,
        redone,
        report: out.join("report.html"),
    })
}

/// Writes down what is asked; answers and remarks stay as they are.
fn ask(questions: &mut Questions, asked: &[Question]) -> Result<(), StageError> {
    if questions.add(asked) {
        write_atomically(questions.path(), questions.text().as_bytes())?;
    }
    Ok(())
}

/// What was merged cannot be made anew here.
fn check_merged_is_whole(store: &Store) -> Result<(), StageError> {
    let damage = Damage::find(store, &Stamps::read(store))?;
    // Merged by a program that noted no hashes, and not run since.
    let is_noted = |file: &&PathBuf| file.exists() || !file.ends_with("stamps.json");
    match damage.files.iter().find(is_noted) {
        None => Ok(()),
        Some(file) => Err(StageError::Usage {
            message: format!(
                "{}: is not what `cookstudy merge` wrote there; merge the stores again",
                file.display()
            ),
        }),
    }
}

/// The sheets of a kind that are read: the default one may be missing, one that the settings name
/// may not.
fn present(folder: &Path, sheets: &[String], default: &[String]) -> Vec<String> {
    sheets.iter().filter(|name| sheets != default || folder.join(name).exists()).cloned().collect()
}

/// A claim on a column that no measure table will have is answered before anything is
/// written. What a column holds can only be checked once it is there.
fn check_claims_early(claims: &Claims, path: &Path, sheets: &Sheets) -> Result<(), StageError> {
    let mut table = Table::new();
    for column in columns::measures::columns() {
        table.push(column, Column::Float(Vec::new()));
    }
    let mut others: BTreeSet<&str> = BTreeSet::new();
    for card in &sheets.cards.cards {
        others.extend(card.scores.iter().map(|(name, _)| name.as_str()));
        others.extend(card.extra.iter().map(|(name, _)| name.as_str()));
    }
    for name in others {
        if table.column(name).is_none() {
            table.push(name, Column::Float(Vec::new()));
        }
    }
    claims.check_columns(&MeasureTable::new(&table)?, path)?;
    Ok(())
}

/// An instant with its offset (`2026-11-30T08:15:00Z`) as ms since 1970.
pub fn instant_ms(text: &str) -> Option<i64> {
    text.parse().ok().map(jiff::Timestamp::as_millisecond)
}

/// What the stamps call what is claimed.
const CLAIMS: &str = "claims.toml";

/// What is claimed, as a hash.
fn said(claims: &Claims) -> String {
    let mut said = Fingerprint::new("claims", Stage::Study.number());
    said.json(&claims.claims);
    said.finish()
}

/// Whether the last study of a season with a lock judged claims.
fn had_claims(store: &Store, lock: Option<&Lock>) -> bool {
    let stamps = Stamps::read(store);
    let judged = stamps.inputs(Stage::Study).and_then(|inputs| inputs.get(CLAIMS));
    lock.is_some_and(|lock| !lock.families.is_empty())
        && judged.is_some_and(|judged| *judged != said(&Claims::default()))
}

/// The lock after this run has seen the claims, and what there is to say of its clock.
fn locked(
    old: Option<&Lock>,
    claims: &Claims,
    measures: &Table,
    season: &Season,
    now_ms: Option<i64>,
) -> Result<(Lock, Option<String>), StageError> {
    let at = trial_stage::instant(now_ms);
    let cooks = if measures.column("cook").is_some() {
        MeasureTable::new(measures)?.seen_cooks()?
    } else {
        Vec::new()
    };
    let definition = definition_hash(season);
    let look = Look { at, definition: &definition, cooks: &cooks };
    let clock = old.and_then(Lock::last_seen).filter(|seen| *seen > at).map(|seen| {
        format!(
            "claims.lock: claims were first seen at {seen}, which is still to come by this computer's \
             clock ({at}); cooks until then confirm nothing: check the clock"
        )
    });
    Ok((Lock::look(old, claims, &look), clock))
}
