//! The study: the measure table in, `study.json` and its tables out.

mod foreign;

pub(crate) use foreign::kind_of;

use crate::error::StageError;
use crate::export::to_csv;
use crate::lock_said;
use crate::outlook_stage::backtest;
use crate::stamps::check_measures;
use cook::{Card, Score, Season};
use foreign::read_table;
use rows::hash::{Fingerprint, sha256};
use rows::{MovedSeason, moved_seasons};
use std::path::{Path, PathBuf};
use store::stamps::{Stage, hash_of};
pub(crate) use store::stamps::{definition_hash, settings_hash};
use store::{Column, Store, Table, TableFile, TableName, write_atomically};
use study::analysis::Definition;
use study::claims::ClaimKind;
use study::result::effects::ClaimEffect;
use study::result::forecast::ForecastBacktest;
use study::result::trial::TrialResult;
use study::result::{ClaimResult, InputHash, StudyResult};
use study::scores::Entries;
use study::{Claims, Degrees, History, Lock, MeasureTable, Provenance, Question, StudyError};

/// Where the measure table comes from.
#[derive(Debug, Clone)]
pub enum StudySource {
    /// A store's measures.
    Store(PathBuf),
    /// A CSV or Parquet file with one row a cook.
    Table(PathBuf),
}

/// What to study.
#[derive(Debug, Clone)]
pub struct StudyRequest {
    /// The measures.
    pub source: StudySource,
    /// Claims to judge.
    pub claims: Option<PathBuf>,
    /// When they were first written down.
    pub lock: Option<PathBuf>,
    /// Folder to write to.
    pub out: PathBuf,
    /// Seed and other settings.
    pub season: Season,
    /// Folder that the paths of inputs are shown from.
    pub shown_from: PathBuf,
}

/// What the study wrote.
#[derive(Debug, Clone)]
pub struct StudySummary {
    /// `study.json`.
    pub path: PathBuf,
    /// One row a claim.
    pub table: Table,
    /// Things to know.
    pub notes: Vec<String>,
    /// What happened to the lock of a claim, or to the cooks that it speaks of, a line each.
    pub told: Vec<String>,
    /// Every file written.
    pub files: Vec<PathBuf>,
    /// The page, of a table that is no store's.
    pub page: Option<PathBuf>,
}

/// What a study reads, read.
struct Read {
    claims: ClaimsFile,
    lock: Option<LockFile>,
    measures: Table,
    history: Option<Table>,
    degrees: Option<Table>,
    entered: Entered,
    /// The files, but for claims and lock.
    files: Vec<PathBuf>,
    notes: Vec<String>,
}

impl Read {
    fn of(request: &StudyRequest) -> Result<Self, StageError> {
        let claims = ClaimsFile::read(request.claims.as_deref())?;
        let lock = request.lock.as_deref().map(LockFile::read).transpose()?;
        let (mut history, mut degrees) = (None, None);
        let (mut entered, mut notes) = (Entered::default(), Vec::new());
        let mut files: Vec<PathBuf> = Vec::new();
        let measures = match &request.source {
            StudySource::Store(store) => {
                let store = Store::open(store)?;
                let table = store.read_table(TableName::Measures)?;
                check_measures(&store)?;
                history = Some(store.read_table(TableName::History)?);
                degrees = degrees_of_store(&store, &claims.claims)?;
                entered = Entered::read(&store)?;
                let names = study_tables(&claims.claims);
                files.extend(names.iter().map(|name| store.table_path(*name)));
                table
            }
            StudySource::Table(path) => {
                files.push(path.clone());
                read_table(path, &claims.claims, &mut notes)?
            }
        };
        Ok(Self { claims, lock, measures, history, degrees, entered, files, notes })
    }
}

/// Writes what a team gives away of its claims, and nothing else.
///
/// # Errors
/// As [`study()`]; cooks of several teams, and a team that nobody named.
pub fn give_effects(request: &StudyRequest, file: &Path) -> Result<StudySummary, StageError> {
    let Read { claims, lock, measures, history, degrees, entered, mut notes, .. } =
        Read::of(request)?;
    let asked = Asked {
        claims: &claims,
        lock: lock.as_ref().map(|file| &file.lock),
        measures: &measures,
        history: history.as_ref(),
        degrees: degrees.as_ref(),
        moved: &[],
        forecasts: None,
        trials: Vec::new(),
        entered: &entered,
        inputs: Vec::new(),
    };
    let season = &request.season;
    let team = (season.team != Season::default().team).then_some(season.team.as_str());
    let effects = with_question(season, asked, |measures, question| {
        study::effects(measures, &question, team)
    })?;
    write_atomically(file, effects.to_json()?.as_bytes())?;
    if lock.is_none() {
        notes.push("no --lock: every effect is after the fact".to_owned());
    }
    let told = |claim: &ClaimEffect| match claim.effect {
        Some(effect) => (Some(effect.estimate), Some(effect.std_error), None),
        None => (None, None, Some("not answered: `cookstudy study` says why".to_owned())),
    };
    let count = |n: usize| i64::try_from(n).ok();
    let own = || effects.claims.iter();
    let table = Table::new()
        .with("claim", Column::Text(own().map(|claim| Some(claim.asked.id.clone())).collect()))
        .with("estimate", Column::Float(own().map(|claim| told(claim).0).collect()))
        .with("std_error", Column::Float(own().map(|claim| told(claim).1).collect()))
        .with("cooks", Column::Int(own().map(|claim| count(claim.n)).collect()))
        .with("fires", Column::Int(own().map(|claim| count(claim.fires)).collect()))
        .with("note", Column::Text(own().map(|claim| told(claim).2).collect()));
    let files = vec![file.to_owned()];
    let path = file.to_owned();
    Ok(StudySummary { path, table, notes, told: Vec::new(), files, page: None })
}

/// Studies a table of measures.
///
/// # Errors
/// A missing or unreadable table, claims that contradict themselves or name columns that
/// the table does not have, a lock that cannot be read: nothing is written then.
pub fn study(request: &StudyRequest) -> Result<StudySummary, StageError> {
    let Read { claims, lock, measures: table, history, degrees, entered, files, notes: left_out } =
        Read::of(request)?;
    let (mut moved, mut forecasts) = (Vec::new(), None);
    if let (StudySource::Store(store), Some(history)) = (&request.source, &history) {
        let store = Store::open(store)?;
        if !claims.claims.claims.is_empty() {
            moved = moved_of_store(&store, &table, history)?;
        }
        forecasts = Some(backtest(&store, &request.season, false)?);
    }
    let shown =
        |path: &Path| path.strip_prefix(&request.shown_from).unwrap_or(path).display().to_string();
    let mut inputs = files
        .iter()
        .map(|path| Ok(InputHash { path: shown(path), sha256: hash_of(path)? }))
        .collect::<Result<Vec<_>, StageError>>()?;
    inputs.extend(claims.input(&shown));
    if let (Some(path), Some(lock)) = (&request.lock, &lock) {
        inputs.push(InputHash { path: shown(path), sha256: lock.sha256.clone() });
    }
    // Looks are taken by `run` and `trial look` alone, which keep them.
    let trials = match (&request.lock, &lock) {
        (Some(path), Some(file)) => crate::trial_stage::results(
            &mut file.lock.clone(),
            crate::trial_stage::Asked {
                folder: path.parent().unwrap_or(Path::new(".")),
                claims: &claims.claims,
                measures: &table,
                cards: &entered.cards,
                definition: &definition_hash(&request.season),
                at: None,
            },
        )?,
        _ => Vec::new(),
    };
    let asked = Asked {
        claims: &claims,
        lock: lock.as_ref().map(|file| &file.lock),
        measures: &table,
        history: history.as_ref(),
        degrees: degrees.as_ref(),
        moved: &moved,
        forecasts,
        trials,
        entered: &entered,
        inputs,
    };
    let mut summary = study_asked(&request.out, &request.season, asked)?;
    summary.notes.extend(left_out);
    summary.notes.extend(summary.told.iter().cloned());
    if matches!(request.source, StudySource::Table(_)) {
        let text = std::fs::read_to_string(&summary.path)
            .map_err(|error| StageError::io(&summary.path, error))?;
        let found = parse_study(&summary.path, &text)?;
        let data = crate::report_data::of_table(&table, found, &request.season)?;
        let page = request.out.join("report.html");
        let html = report::render_season(&data, request.season.units);
        write_atomically(&page, html.as_bytes())?;
        summary.files.push(page.clone());
        summary.page = Some(page);
    }
    Ok(summary)
}

/// The cards and scores of a store.
#[derive(Debug, Default)]
pub(crate) struct Entered {
    pub(crate) cards: Vec<Card>,
    pub(crate) scores: Vec<Score>,
}

impl Entered {
    pub(crate) fn read(store: &Store) -> Result<Self, StageError> {
        let cards = store.read_cooks()?.into_iter().map(|record| record.card).collect();
        Ok(Self { cards, scores: store.read_scores()? })
    }

    /// Hash of what a study asks of them.
    pub(crate) fn hash(&self) -> String {
        let mut hash = Fingerprint::new("entries", Stage::Study.number());
        for card in &self.cards {
            hash.json(&(&card.cook, &card.season, &card.contest, &card.cut, card.cost));
            hash.json(&(card.served_weight, card.planned_pull_ms, card.turn_in_ms));
            hash.json(&(card.marks.pull_ms, card.contest_rank, card.contest_points, &card.exclude));
        }
        hash.json(&self.scores);
        hash.finish()
    }
}

/// The tables of a store that a study of these claims reads.
pub(crate) fn study_tables(claims: &Claims) -> Vec<TableName> {
    let mut names = vec![TableName::Measures, TableName::History];
    if !claims.claims.is_empty() {
        names.extend([TableName::Moved, TableName::MovedHistory]);
    }
    if claims.claims.iter().any(|claim| claim.kind == ClaimKind::WrapTiming) {
        names.push(TableName::Degrees);
    }
    names
}

/// Each cook degree by degree, where a claim asks for that.
pub(crate) fn degrees_of_store(
    store: &Store,
    claims: &Claims,
) -> Result<Option<Table>, StageError> {
    let is_read = study_tables(claims).contains(&TableName::Degrees);
    Ok(is_read.then(|| store.read_table(TableName::Degrees)).transpose()?)
}

/// The cooks of a store under each moved constant of the stall definition.
pub(crate) fn moved_of_store(
    store: &Store,
    measures: &Table,
    history: &Table,
) -> Result<Vec<MovedSeason>, StageError> {
    let moved = store.read_table(TableName::Moved)?;
    let moved_history = store.read_table(TableName::MovedHistory)?;
    moved_seasons(measures, history, &moved, &moved_history).map_err(|error| StageError::Usage {
        message: format!(
            "{}: {error}; make it anew with `cookstudy measures --store {}`",
            store.table_path(TableName::Moved).display(),
            store.root().display()
        ),
    })
}

/// Claims as they stand in their file, read once: what is judged is what was hashed.
pub(crate) struct ClaimsFile {
    pub(crate) claims: Claims,
    /// The file; `None` where there is none and nothing is claimed.
    pub(crate) path: Option<PathBuf>,
    pub(crate) sha256: String,
}

impl ClaimsFile {
    pub(crate) fn read(path: Option<&Path>) -> Result<Self, StageError> {
        let Some(path) = path else {
            return Ok(Self { claims: Claims::default(), path: None, sha256: String::new() });
        };
        let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
        Ok(Self {
            claims: Claims::parse(&text, path)?,
            path: Some(path.to_owned()),
            sha256: sha256(text.as_bytes()),
        })
    }

    fn input(&self, shown: &dyn Fn(&Path) -> String) -> Option<InputHash> {
        let path = self.path.as_deref()?;
        Some(InputHash { path: shown(path), sha256: self.sha256.clone() })
    }

    /// The file's name for messages.
    fn named(&self) -> &Path {
        self.path.as_deref().unwrap_or(Path::new("claims.toml"))
    }
}

/// A lock as it stands in its file.
pub(crate) struct LockFile {
    pub(crate) lock: Lock,
    sha256: String,
}

impl LockFile {
    pub(crate) fn read(path: &Path) -> Result<Self, StageError> {
        let text = std::fs::read_to_string(path).map_err(|e| StageError::io(path, e))?;
        let lock = Lock::parse(&text, path)?;
        // None is written without claims or trials.
        if lock.families.is_empty() && lock.trials.is_empty() {
            return Err(StageError::Usage {
                message: format!(
                    "{}: holds no claim any more, so that nobody knows when those of the season were first seen; put back what was there, or delete it to begin anew",
                    path.display()
                ),
            });
        }
        Ok(Self { lock, sha256: sha256(text.as_bytes()) })
    }
}

/// All that a study reads.
pub(crate) struct Asked<'a> {
    pub(crate) claims: &'a ClaimsFile,
    pub(crate) lock: Option<&'a Lock>,
    pub(crate) measures: &'a Table,
    /// For claims about wrap timing.
    pub(crate) history: Option<&'a Table>,
    pub(crate) degrees: Option<&'a Table>,
    /// The claims are asked under these definitions too.
    pub(crate) moved: &'a [MovedSeason],
    /// How good forecasts would have been; `None` where only a table is studied.
    pub(crate) forecasts: Option<ForecastBacktest>,
    /// What the lots of trials say.
    pub(crate) trials: Vec<TrialResult>,
    /// Cards and scores.
    pub(crate) entered: &'a Entered,
    /// What the result says that it rests on.
    pub(crate) inputs: Vec<InputHash>,
}

/// Asks a question of what was read.
fn with_question<T>(
    season: &Season,
    asked: Asked<'_>,
    ask: impl FnOnce(&MeasureTable, Question<'_>) -> Result<T, StudyError>,
) -> Result<T, StageError> {
    let Asked { claims, lock, measures: table, history, degrees, moved, entered, .. } = asked;
    let mut inputs = asked.inputs;
    inputs.sort_by(|a, b| a.path.cmp(&b.path));
    let measures = MeasureTable::new(table)?;
    let history = history.map(History::new).transpose()?;
    let degrees = degrees.map(Degrees::new).transpose()?;
    let definitions = moved
        .iter()
        .map(|moved| {
            Ok(Definition {
                name: moved.name.clone(),
                measures: MeasureTable::new(&moved.measures)?,
                history: Some(History::new(&moved.history)?),
            })
        })
        .collect::<Result<Vec<_>, StageError>>()?;
    let definition = definition_hash(season);
    // A table that came alone does not say by which definition it was made.
    let of_store = history.is_some();
    let question = Question {
        claims: &claims.claims,
        claims_path: claims.named(),
        lock,
        history: history.as_ref(),
        degrees: degrees.as_ref(),
        definitions: &definitions,
        horizon_min: season.study.horizon_min,
        definition: of_store.then_some(definition.as_str()),
        scores: &season.scores,
        entries: Entries { cards: &entered.cards, scores: &entered.scores },
        provenance: Provenance {
            version: env!("CARGO_PKG_VERSION").into(),
            settings_hash: settings_hash(season),
            settings: serde_json::json!({
                "phases": season.phases,
                "study": season.study,
                "assume": season.assume,
            }),
            measures_hash: sha256(&table.to_parquet(Path::new("measures.parquet"))?),
            inputs,
            seed: season.study.seed,
        },
    };
    Ok(ask(&measures, question)?)
}

/// Studies a table of measures and writes what it found.
pub(crate) fn study_asked(
    out: &Path,
    season: &Season,
    mut asked: Asked<'_>,
) -> Result<StudySummary, StageError> {
    let (forecasts, trials) = (asked.forecasts.take(), std::mem::take(&mut asked.trials));
    let (claims, lock, table) = (asked.claims, asked.lock, asked.measures);
    let mut result = with_question(season, asked, study::study)?;
    result.forecast_backtest = forecasts;
    result.trials = trials;
    let json = out.join("study.json");
    sweep(out);
    write_atomically(&json, result.to_json()?.as_bytes())?;
    let data = out.join("data");
    let mut files = vec![json.clone()];
    // Beside the study, so that another one can be set against it cook by cook.
    let measures = [("measures", table.clone())];
    for (name, table) in result.tables().chain(measures) {
        files.extend(write_both(&data, name, &table)?);
    }
    let mut notes = Vec::new();
    if lock.is_none() && !claims.claims.claims.is_empty() {
        notes.push("no --lock: every verdict is after the fact".to_owned());
    }
    Ok(StudySummary {
        path: json,
        table: ClaimResult::rows(&result.claims),
        notes,
        told: lock_said::after(&result.claims),
        files,
        page: None,
    })
}

/// Removes what a study or a report that was cut off left where it wrote.
pub(crate) fn sweep(out: &Path) {
    for folder in [out.to_owned(), out.join("data"), out.join("cooks")] {
        store::remove_partial_files(&folder);
    }
}

/// Writes a table as Parquet and as CSV; gives the paths.
pub(crate) fn write_both(
    folder: &Path,
    name: &str,
    table: &Table,
) -> Result<[PathBuf; 2], StageError> {
    let parquet = folder.join(format!("{name}.parquet"));
    let csv = folder.join(format!("{name}.csv"));
    table.write(&parquet)?;
    write_atomically(&csv, to_csv(table).as_bytes())?;
    Ok([parquet, csv])
}

/// Writes down anew what a study that holds rests on, where a file that it does not read has changed
/// its bytes; true where that was so.
pub(crate) fn refresh_inputs(json: &Path, mut inputs: Vec<InputHash>) -> Result<bool, StageError> {
    inputs.sort_by(|a, b| a.path.cmp(&b.path));
    let text = std::fs::read_to_string(json).map_err(|e| StageError::io(json, e))?;
    let mut result = parse_study(json, &text)?;
    if result.provenance.inputs == inputs {
        return Ok(false);
    }
    result.provenance.inputs = inputs;
    Ok(write_atomically(json, result.to_json()?.as_bytes())?)
}

/// A study from the text of its file.
pub(crate) fn parse_study(path: &Path, text: &str) -> Result<StudyResult, StageError> {
    serde_json::from_str(text).map_err(|e| StageError::Table {
        path: path.to_owned(),
        line: e.line() as u64,
        column: String::new(),
        message: format!("{e}; make it anew with `cookstudy study`"),
    })
}
