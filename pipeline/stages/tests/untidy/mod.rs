//! Untidy seasons of known truth through the reader: what became of every value.
#![allow(dead_code, reason = "each program uses its own part")]

use cook::{Answers, Question, Season};
use ingest::folded;
use samples::{Slip, UntidyCook, UntidySeason};
use stages::{IngestRequest, IngestSummary, Silent, StageError, Subject};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use store::{CookRecord, Store};

/// Instants may differ by so much, ms: people write minutes, serial dates are rounded.
const INSTANT_MS: i64 = 61_000;
/// Where a curve shows meat-on it is seen to within this, ms (10 min).
const SEEN_MS: i64 = 600_000;
/// Temperatures of a curve may differ by so much, K: a reading more or less at its end.
const CURVE_K: f64 = 1.2;
/// Quantities may differ by this share: they are rounded to what was written, on both sides.
const SHARE: f64 = 0.004;

/// What became of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Fate {
    /// It is what was meant.
    Right,
    /// A question is open that its place is in.
    Asked,
    /// It was told with its place, and the run ends with 1.
    Told,
    /// It was rejected and printed; the rest was used.
    Rejected,
    /// It is wrong, or gone, and nothing was said.
    Silent,
}

/// A season judged.
#[derive(Debug, Clone, Default)]
pub(crate) struct Judged {
    /// Values by what became of them.
    pub(crate) fates: BTreeMap<Fate, usize>,
    /// Cooks of which every value is right.
    pub(crate) right: usize,
    /// Cooks.
    pub(crate) cooks: usize,
    /// Values that went silently wrong: what, and what was said of the cook's slips.
    pub(crate) silent: Vec<String>,
    /// Values that were rejected, asked about or told, by what they are.
    pub(crate) said: BTreeMap<String, usize>,
    /// Slips by what became of the worst value of their cooks.
    pub(crate) slips: BTreeMap<(Slip, Fate), usize>,
    /// Questions that are open.
    pub(crate) questions: Vec<Question>,
}

/// A season judged twice: as it is, and with what was asked answered by one who knows.
#[derive(Debug, Clone)]
pub(crate) struct Rounds {
    pub(crate) first: Judged,
    pub(crate) answered: Judged,
    /// Questions of the first round that he could not answer as they were put.
    pub(crate) unanswered: Vec<String>,
}

/// Writes a season into a folder, reads it, answers, and reads it again.
pub(crate) fn judge(season: &UntidySeason, folder: &Path) -> Result<Rounds, StageError> {
    for (name, bytes) in &season.files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap_or(folder)).expect("a folder can be made");
        fs::write(path, bytes).expect("a file can be written");
    }
    let first = round(season, folder, &Answers::default())?;
    let mut unanswered = Vec::new();
    let mut given: Vec<(String, String)> = Vec::new();
    for question in &first.questions {
        match season.answer(question) {
            Some(answer) => given.push((question.id.clone(), answer)),
            None => unanswered.push(format!("{}: {}", question.id, question.asks)),
        }
    }
    let answered = round(season, folder, &given.into_iter().collect())?;
    Ok(Rounds { first, answered, unanswered })
}

fn round(season: &UntidySeason, folder: &Path, answers: &Answers) -> Result<Judged, StageError> {
    let settings = Season::read(&folder.join("season.toml"))?;
    let request = IngestRequest {
        base: folder.to_owned(),
        logs: settings.logs.clone(),
        sheets: settings.sheets.clone(),
        events: Vec::new(),
        score_sheets: Vec::new(),
        layouts: Vec::new(),
        store: folder.join("store"),
        season: settings,
        answers: answers.clone(),
        whole: true,
        prune: false,
    };
    let summary = match stages::ingest(&request, &Silent) {
        Ok(summary) => summary,
        // A sheet that cannot be read at all is told, whatever is in it.
        Err(StageError::Ingest(error)) => {
            let mut judged = Judged { cooks: season.cooks.len(), ..Judged::default() };
            let fate = if error.needs_answer() { Fate::Asked } else { Fate::Told };
            judged.fates.insert(fate, season.cooks.len());
            judged.said.insert(format!("the whole sheet: {error}"), 1);
            judged.questions.extend(error.question().cloned());
            return Ok(judged);
        }
        Err(error) => return Err(error),
    };
    let store = Store::open(&request.store)?;
    let records = store.read_cooks()?;
    let mut judged = Judged { cooks: season.cooks.len(), ..Judged::default() };
    judged.questions.clone_from(&summary.questions);
    let words = Words::new(season, &records);
    for cook in &season.cooks {
        let record =
            records.iter().find(|record| folded(&record.card.cook) == folded(&cook.card.cook));
        let mut worst = Fate::Right;
        for (what, is_right, of_log) in values(season, cook, record, &store, &words) {
            let fate =
                if is_right { Fate::Right } else { fate(season, cook, &what, of_log, &summary) };
            *judged.fates.entry(fate).or_default() += 1;
            worst = worst.max(fate);
            if fate == Fate::Silent {
                let slips: Vec<&str> = cook.slips.iter().map(|slip| slip.name()).collect();
                judged.silent.push(format!("{} {what} ({})", cook.card.cook, slips.join(", ")));
            } else if fate != Fate::Right {
                *judged.said.entry(format!("{fate:?} {what}")).or_default() += 1;
            }
        }
        judged.right += usize::from(worst == Fate::Right);
        for slip in &cook.slips {
            *judged.slips.entry((*slip, worst)).or_default() += 1;
        }
    }
    for record in &records {
        let is_meant = |cook: &UntidyCook| folded(&cook.card.cook) == folded(&record.card.cook);
        if !season.cooks.iter().any(is_meant) {
            // Its log is some cook's: what is said of that cook's log, or of its card, is said of it.
            let whose = season
                .cooks
                .iter()
                .filter(|cook| cook.logs.iter().any(|log| record.card.logs.contains(log)));
            let mut said = whose.map(|cook| fate(season, cook, "the cook", true, &summary));
            let fate = said.next().unwrap_or(Fate::Silent);
            *judged.fates.entry(fate).or_default() += 1;
            if fate == Fate::Silent {
                judged.silent.push(format!("{}: a cook that never was", record.card.cook));
            }
        }
    }
    Ok(judged)
}

/// Words of pits, cuts and woods: what each true word was stored as first.
struct Words(BTreeMap<(&'static str, String), String>);

impl Words {
    fn new(season: &UntidySeason, records: &[CookRecord]) -> Self {
        let mut words = BTreeMap::new();
        for cook in &season.cooks {
            let Some(record) =
                records.iter().find(|r| folded(&r.card.cook) == folded(&cook.card.cook))
            else {
                continue;
            };
            for (what, meant, stored) in texts(cook, record) {
                if let (Some(meant), Some(stored)) = (meant, stored) {
                    words.entry((what, meant.clone())).or_insert_with(|| stored.clone());
                }
            }
        }
        Self(words)
    }

    /// Whether a word is the one level that its meaning has, and no other meaning's.
    fn is_level(&self, what: &'static str, meant: &str, stored: &str) -> bool {
        let own = self.0.get(&(what, meant.to_owned()));
        let is_others = self
            .0
            .iter()
            .any(|((of, other), word)| *of == what && other != meant && word == stored);
        own.is_some_and(|word| word == stored) && !is_others
    }
}

type Texts<'a> = [(&'static str, &'a Option<String>, &'a Option<String>); 3];

fn texts<'a>(cook: &'a UntidyCook, record: &'a CookRecord) -> Texts<'a> {
    [
        ("pit", &cook.card.pit, &record.card.pit),
        ("cut", &cook.card.cut, &record.card.cut),
        ("wood", &cook.card.wood, &record.card.wood),
    ]
}

/// Every value of a cook: what it is, whether it is right, and whether it comes from a log.
fn values(
    season: &UntidySeason,
    cook: &UntidyCook,
    record: Option<&CookRecord>,
    store: &Store,
    words: &Words,
) -> Vec<(String, bool, bool)> {
    let Some(record) = record else { return vec![("the cook".to_owned(), false, false)] };
    let (meant, stored) = (&cook.card, &record.card);
    let mut values: Vec<(String, bool, bool)> = Vec::new();
    let mut add = |what: &str, is_right: bool| values.push((what.to_owned(), is_right, false));
    let near = |a: Option<f64>, b: Option<f64>, least: f64| match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => (a - b).abs() <= (SHARE * a.abs()).max(least),
        _ => false,
    };
    let instant = |a: Option<i64>, b: Option<i64>| match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => (a - b).abs() < INSTANT_MS,
        _ => false,
    };
    add("date", meant.date == stored.date);
    add("meat_on", instant(meant.marks.meat_on_ms, stored.marks.meat_on_ms));
    add("wrap_at", instant(meant.marks.wrap_ms, stored.marks.wrap_ms));
    add("pull", instant(meant.marks.pull_ms, stored.marks.pull_ms));
    let kg = |weight: Option<cook::Kilograms>| weight.map(cook::Kilograms::value);
    add("raw_weight", near(kg(meant.raw_weight), kg(stored.raw_weight), 0.006));
    add("trimmed_weight", near(kg(meant.trimmed_weight), kg(stored.trimmed_weight), 0.006));
    add("cooked_weight", near(kg(meant.cooked_weight), kg(stored.cooked_weight), 0.006));
    let mm = |size: Option<cook::Millimetres>| size.map(cook::Millimetres::value);
    add("thickness", near(mm(meant.thickness), mm(stored.thickness), 0.3));
    let degrees = |temperature: Option<cook::Celsius>| temperature.map(cook::Celsius::value);
    add("pit_setpoint", near(degrees(meant.pit_setpoint), degrees(stored.pit_setpoint), 0.3));
    add("water_pan", meant.water_pan == stored.water_pan);
    add("wrap_method", meant.wrap_method == stored.wrap_method);
    for (what, meant, stored) in texts(cook, record) {
        let is_right = match (meant, stored) {
            (None, None) => true,
            (Some(meant), Some(stored)) => words.is_level(what, meant, stored),
            _ => false,
        };
        add(what, is_right);
    }
    let curve = store.read_readings(&stored.season, &stored.cook).ok();
    let of_role = |role: cook::Role| -> Vec<f64> {
        let channels = curve.iter().flat_map(|readings| &readings.channels);
        let own = channels.filter(|channel| channel.role == role);
        let mut own: Vec<f64> =
            own.flat_map(|channel| channel.temp_c.iter().map(|t| f64::from(*t))).collect();
        own.sort_by(f64::total_cmp);
        own
    };
    let (core, pit) = (of_role(cook::Role::Meat), of_role(cook::Role::Pit));
    let median = pit.get(pit.len() / 2).copied();
    let hottest = core.last().copied();
    let of_curve = |a: f64, b: Option<f64>| b.is_some_and(|b| (a - b).abs() <= CURVE_K);
    // When a log began that nowhere says it is known as well as its curve shows meat-on.
    let by_curve = cook.logs.iter().any(|log| season.counts_from_its_own_zero(log));
    let end = |meant: i64, stored: Option<i64>| match stored {
        Some(stored) if by_curve => (meant - stored).abs() <= SEEN_MS,
        stored => instant(Some(meant), stored),
    };
    for (what, is_right) in [
        ("the log's begin", end(cook.logged_ms.0, record.log_start_ms)),
        ("the log's end", end(cook.logged_ms.1, record.log_end_ms)),
        ("the core", of_curve(cook.core_max_c, hottest)),
        ("the pit", of_curve(cook.pit_median_c, median)),
    ] {
        values.push((what.to_owned(), is_right, true));
    }
    values
}

/// What was said of a value that is not what was meant.
fn fate(
    season: &UntidySeason,
    cook: &UntidyCook,
    what: &str,
    of_log: bool,
    summary: &IngestSummary,
) -> Fate {
    let is_time = ["date", "meat_on", "wrap_at", "pull"].contains(&what);
    // A place is a line, or the heading's, and a column by its heading or by its name.
    let in_row = |place: &str| {
        let Some(rest) = place.strip_prefix("sheet.csv:") else { return false };
        let (line, column) = rest.split_once(' ').unwrap_or((rest, ""));
        let line: u64 = line.parse().unwrap_or(0);
        let meant = season.headings.get(column.trim()).copied().unwrap_or(column);
        let is_column = meant.starts_with(what)
            || (is_time && ["date", "meat_on", "wrap_at", "pull"].contains(&meant));
        (line == cook.line || line == 1) && (is_column || what == "the cook")
    };
    let in_log = |place: &str| {
        cook.logs.iter().any(|log| place.starts_with(log.as_str()) || log.starts_with(place))
    };
    // A mark is held against the curve: while its log waits or is refused, nothing can be said of it.
    let waits = |place: &str| is_time && in_log(place);
    let hangs_on_zone =
        of_log || ["date", "meat_on", "wrap_at", "pull", "the cook"].contains(&what);
    let asks = |question: &&Question| {
        let code = question.id.split('/').next().unwrap_or_default();
        (code == "time-zone" && hangs_on_zone)
            || (code == "date-order" && is_time)
            || question
                .places
                .iter()
                .any(|place| if of_log { in_log(place) } else { in_row(place) || waits(place) })
    };
    if summary.questions.iter().any(|question| asks(&question)) {
        return Fate::Asked;
    }
    let name = format!("`{}`", cook.card.cook);
    let refused = summary.refusals.iter().find(|refusal| match &refusal.subject {
        Subject::Cook(own) | Subject::Kept(own) => *own == cook.card.cook,
        Subject::Log(log) => of_log && cook.logs.contains(log),
    });
    if refused.is_some_and(|_| of_log || is_time)
        || summary.told.iter().any(|told| told.contains(&name))
    {
        return Fate::Told;
    }
    let is_rejected = summary.rejected.iter().any(|row| {
        row.source == "sheet.csv"
            && row.line == cook.line
            && row.column.as_deref().is_some_and(|column| column.starts_with(what))
    });
    if is_rejected { Fate::Rejected } else { Fate::Silent }
}
