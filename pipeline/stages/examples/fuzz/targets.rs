//! What is read, and what must hold of it.

use cook::{Questions, Season};
use ingest::{Layout, Log, ReadOptions, SheetOptions, read_log_bytes};
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use study::Claims;

static OPTIONS: LazyLock<ReadOptions> = LazyLock::new(|| ReadOptions {
    zone: jiff::tz::TimeZone::get("America/Chicago").unwrap_or(jiff::tz::TimeZone::UTC),
    zone_known: true,
    ..ReadOptions::default()
});

/// Files, and folders of files, that a target begins with.
pub(crate) fn seeds(target: &str) -> Vec<PathBuf> {
    let names: &[&str] = match target {
        "log" => &["fuzz/corpus/read_log", "tests/hard-cases"],
        "sheet" => &["fuzz/seeds/sheet.csv", "fuzz/seeds/events.csv", "fuzz/seeds/scores.csv"],
        "settings" => &["sample-data/season.toml", "fuzz/seeds/season.toml"],
        "claims" => &["sample-data/claims.toml"],
        "questions" => &["sample-data/questions.toml"],
        _ => &[],
    };
    names.iter().map(PathBuf::from).filter(|path| path.exists()).collect()
}

/// Words that a target knows.
pub(crate) fn words(target: &str) -> Vec<&'static str> {
    let words = match target {
        "log" => {
            "Time|time|Pit|Meat|Temp (F)|Elapsed|Date|Ambient|AM|PM|UTC|Z|+02:00|---|-999|\n|,|;|\t|  |# |Start: |\
             2026-05-02 06:00:00|02/05/2026|1777701600|46144.25|0:00:30|225.5|107,5|°C"
        }
        "sheet" => {
            "cook|date|logs|meat_on|wrap_at|pull|slice|trimmed_weight_lb|thickness_in|pit_setpoint_f|score_taste|event|\
             time|value|core|165F flat|wrap|foil|lid|open|bark|nearly|12 lb 4 oz|5 1/2|6.30am|+6:30|2026-05-02|May 2|\
             2/5/26|tomorrow|~|\n|,"
        }
        "settings" => {
            "team|time_zone|units|logs|sheets|events|[phases]|[log]|[scores.taste]|lowest|highest|[study]|horizon_min|\
             draws|[pits.a]|holds_kg|light_min|[assume]|pit_dew_point_c|stall_fraction|= 1e308\n|= -1\n|= []\n|= {}\n|\
             = true\n|= 2026-05-02\n"
        }
        "claims" => {
            "[[claim]]\n|id = \"a\"\n|kind = \"trend\"\n|kind = \"compare\"\n|kind = \"wrap-timing\"\n|\
             outcome = \"total_min\"\n|matters = |per = |strategies = [{ any = true }, { never = true }]\n|at_core_f = |\
             grace_min = |horizon_min = |judge_after_cooks = |levels = [\"a\", \"b\"]\n|group = [\"fire\"]\n"
        }
        _ => {
            "[[question]]\n|id = |answer = |asks = |answers = [ { take = \"am\", then = \"x\" } ]\n|where = []\n"
        }
    };
    words.split('|').collect()
}

/// What a reader makes of an input, without its particulars.
///
/// # Errors
/// What does not hold that must.
pub(crate) fn answer(target: &str, input: &[u8]) -> Result<String, String> {
    match target {
        "log" => log(input),
        "sheet" => sheet(input),
        "settings" => settings(&String::from_utf8_lossy(input)),
        "claims" => claims(&String::from_utf8_lossy(input)),
        "questions" => questions(&String::from_utf8_lossy(input)),
        _ => Err(format!("there is no target `{target}`")),
    }
}

/// A text without its numbers and without what stands in quotes.
pub(crate) fn without_particulars(text: &str) -> String {
    let mut out = String::new();
    let mut quote = None;
    for letter in text.chars().take(2000) {
        match (quote, letter) {
            (None, '`' | '"') => quote = Some(letter),
            (Some(open), _) if open == letter => quote = None,
            (Some(_), _) => {}
            (None, _) if letter.is_ascii_digit() || letter.is_control() => {}
            (None, _) => out.push(letter),
        }
    }
    out
}

fn must(holds: bool, what: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(what()) }
}

fn log(bytes: &[u8]) -> Result<String, String> {
    let log = match read_log_bytes(bytes, "fuzz.csv", &OPTIONS) {
        Ok(log) => log,
        Err(error) => {
            let said = error.to_string();
            must(said.contains("fuzz.csv"), || format!("the file is not named: {said}"))?;
            let code = error.question().map(|question| format!("{:?}", question.code));
            let first = said.lines().next().unwrap_or_default();
            return Ok(format!("{code:?} {}", without_particulars(first)));
        }
    };
    let account = log.record.account;
    must(account.closes(), || format!("the account does not close: {account}"))?;
    for channel in &log.channels {
        let name = &channel.name;
        let rising = channel.at_ms.pairs().all(|(one, next)| one < next);
        must(rising, || format!("times of {name} do not rise"))?;
        must(channel.temp_c.iter().all(f32::is_finite), || format!("{name} is not finite"))?;
        let lines = channel.line.iter().all(|line| u64::from(line) <= account.lines && line > 0);
        must(lines, || format!("{name} has lines that the file does not have"))?;
    }
    must(!log.describe(&OPTIONS.zone).is_empty(), || "nothing is said".to_owned())?;
    // A layout says how a table is read, not how one is found among lines that are none.
    if account.preamble == 0 && account.rejected == 0 {
        let text = log.suggested_layout().to_toml();
        let layout = Layout::parse(&text, "layout.toml");
        let layout = layout.map_err(|error| format!("its layout: {error}\n{text}"))?;
        let again = ReadOptions { layouts: vec![layout], ..OPTIONS.clone() };
        let again = read_log_bytes(bytes, "fuzz.csv", &again);
        let same = again.as_ref().is_ok_and(|again| again.channels == log.channels);
        must(same, || {
            let error = again.err().map(|error| error.to_string());
            format!("its own layout reads it otherwise: {error:?}")
        })?;
    }
    Ok(shape(&log))
}

/// How a log was read.
fn shape(log: &Log) -> String {
    let evidence = log.record.evidence.iter();
    let evidence: BTreeSet<String> = evidence
        .map(|said| {
            without_particulars(&format!("{} {} {}", said.what, said.taken_as, said.because))
        })
        .collect();
    let codes: BTreeSet<&str> = log.rejected.iter().map(|row| row.code.as_str()).collect();
    let warnings: BTreeSet<String> =
        log.warnings.iter().map(|said| without_particulars(said)).collect();
    let roles: Vec<&str> =
        log.channels.iter().take(4).map(|channel| channel.role.as_str()).collect();
    format!("{:?} {roles:?} {codes:?} {warnings:?} {evidence:?}", log.time)
}

fn sheet(bytes: &[u8]) -> Result<String, String> {
    let path = std::env::temp_dir().join(format!("fuzz-sheet-{}.csv", std::process::id()));
    std::fs::write(&path, bytes).map_err(|error| error.to_string())?;
    let options: SheetOptions = (&jiff::tz::TimeZone::UTC).into();
    let codes = |rows: &[cook::RejectedRow]| -> BTreeSet<String> {
        rows.iter()
            .map(|row| {
                format!("{} {}", row.code, without_particulars(row.column.as_deref().unwrap_or("")))
            })
            .collect()
    };
    let refused = |error: &ingest::IngestError| {
        let said = error.to_string();
        without_particulars(said.lines().next().unwrap_or_default())
    };
    let season = ingest::read_season_sheet(&path, "fuzz.csv", &options);
    let mut said = Vec::new();
    let mut cards = Vec::new();
    match season {
        Ok(sheet) => {
            let mut names = HashSet::new();
            let once = sheet.cards.iter().all(|card| names.insert(ingest::folded(&card.cook)));
            must(once, || "a cook stands in it twice".to_owned())?;
            must(sheet.cards.len() == sheet.rows.len(), || "cards without a row".to_owned())?;
            let weights = sheet.cards.iter().filter_map(|card| card.trimmed_weight);
            let finite = weights.into_iter().all(|weight| weight.0.is_finite() && weight.0 > 0.0);
            must(finite, || "a weight is no weight".to_owned())?;
            said.push(format!(
                "{:?} {:?}",
                codes(&sheet.rejected),
                sheet.questions.iter().map(|q| q.code).collect::<BTreeSet<_>>()
            ));
            cards = sheet.cards;
        }
        Err(error) => said.push(refused(&error)),
    }
    said.push(match ingest::read_events_sheet(&path, "fuzz.csv", &options, &cards) {
        Ok(events) => format!("{:?}", codes(&events.rejected)),
        Err(error) => refused(&error),
    });
    let none = BTreeMap::new();
    said.push(
        match ingest::read_scores_sheet(
            &path,
            "fuzz.csv",
            &options,
            &cards,
            &BTreeMap::new(),
            &none,
        ) {
            Ok(scores) => {
                must(scores.scores.iter().all(|score| score.value.is_finite()), || {
                    "a score is not finite".to_owned()
                })?;
                format!("{:?}", codes(&scores.rejected))
            }
            Err(error) => refused(&error),
        },
    );
    Ok(said.join(" | "))
}

fn settings(text: &str) -> Result<String, String> {
    match cook::settings::parse::<Season>(text, Path::new("season.toml")) {
        Ok(season) => {
            let written = toml::to_string(&season).map_err(|error| error.to_string())?;
            let again = cook::settings::parse::<Season>(&written, Path::new("season.toml"));
            must(again.as_ref().is_ok_and(|again| *again == season), || {
                format!("it is not read as it was written: {written}")
            })?;
            Ok(format!("{:?}", keys(&written)))
        }
        Err(error) => named(&error.to_string(), "season.toml"),
    }
}

/// An error that names its file, without its particulars.
fn named(said: &str, file: &str) -> Result<String, String> {
    must(said.contains(file), || format!("the file is not named: {said}"))?;
    // The last line says what is wrong; those before it show where.
    Ok(without_particulars(said.trim_end().lines().last().unwrap_or_default()))
}

/// The keys of a TOML text.
fn keys(text: &str) -> BTreeSet<String> {
    let key = |line: &str| line.split('=').next().unwrap_or_default().trim().to_owned();
    text.lines().map(key).map(|key| without_particulars(&key)).collect()
}

fn claims(text: &str) -> Result<String, String> {
    let path = Path::new("claims.toml");
    match Claims::parse(text, path) {
        Ok(claims) => {
            let sound =
                claims.claims.iter().all(|claim| claim.matters.is_finite() && claim.matters > 0.0);
            must(sound, || "a claim asks for nothing that matters".to_owned())?;
            let written = toml::to_string(&claims).map_err(|error| error.to_string())?;
            let again =
                Claims::parse(&written, path).map_err(|error| format!("{error}\n{written}"))?;
            let hashes =
                |claims: &Claims| claims.claims.iter().map(study::Claim::hash).collect::<Vec<_>>();
            must(hashes(&again) == hashes(&claims), || {
                format!("it is not read as it was written: {written}")
            })?;
            Ok(format!("{:?}", keys(&written)))
        }
        Err(error) => named(&error.to_string(), "claims.toml"),
    }
}

fn questions(text: &str) -> Result<String, String> {
    let path = Path::new("questions.toml");
    match Questions::parse(text, path) {
        Ok(questions) => {
            let again = Questions::parse(&questions.text(), path);
            let again = again.map_err(|error| format!("{error}\n{}", questions.text()))?;
            must(again.unanswered() == questions.unanswered(), || {
                "it is not read as it was written".to_owned()
            })?;
            Ok(format!("{} {:?}", questions.unanswered().min(3), keys(&questions.text())))
        }
        Err(error) => named(&error.to_string(), "questions.toml"),
    }
}
