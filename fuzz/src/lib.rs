//! What is read, and what must hold of it.

use cook::{Questions, Season};
use ingest::{Layout, ReadOptions, SheetOptions, read_log_bytes};
use std::collections::{BTreeMap, HashSet};
use std::path::Path;
use std::sync::LazyLock;
use study::Claims;

static OPTIONS: LazyLock<ReadOptions> = LazyLock::new(|| ReadOptions {
    zone: jiff::tz::TimeZone::get("America/Chicago").expect("the zone is bundled"),
    zone_known: true,
    ..ReadOptions::default()
});

/// Any bytes give an error that names the file, or a log whose account closes, whose times rise, and which its own layout
/// reads again in the same way.
pub fn log(bytes: &[u8]) {
    let log = match read_log_bytes(bytes, "fuzz.csv", &OPTIONS) {
        Ok(log) => log,
        Err(error) => return named(&error, "fuzz.csv"),
    };
    let account = log.record.account;
    assert!(account.closes(), "the account does not close: {account}");
    for channel in &log.channels {
        let name = &channel.name;
        assert!(channel.at_ms.pairs().all(|(one, next)| one < next), "times of {name} do not rise");
        assert!(channel.temp_c.iter().all(f32::is_finite), "{name} is not finite");
        let mut lines = channel.line.iter();
        let in_file = lines.all(|line| u64::from(line) <= account.lines && line > 0);
        assert!(in_file, "{name} has lines that the file does not have");
    }
    assert!(!log.describe(&OPTIONS.zone).is_empty(), "nothing is said");
    // A layout says how a table is read, not how one is found among lines that are none.
    if account.preamble == 0 && account.rejected == 0 {
        let text = log.suggested_layout().to_toml();
        let layout = Layout::parse(&text, "layout.toml").expect("its layout is one");
        let again = ReadOptions { layouts: vec![layout], ..OPTIONS.clone() };
        let again = read_log_bytes(bytes, "fuzz.csv", &again).expect("its own layout reads it");
        assert!(again.channels == log.channels, "its own layout reads it otherwise:\n{text}");
    }
}

/// Any bytes give an error, or cards of which none stands there twice; events and scores are numbers.
pub fn sheet(bytes: &[u8]) {
    let path = std::env::temp_dir().join(format!("fuzz-sheet-{}.csv", std::process::id()));
    std::fs::write(&path, bytes).expect("the folder for temporary files can be written");
    let options: SheetOptions = (&jiff::tz::TimeZone::UTC).into();
    let mut cards = Vec::new();
    match ingest::read_season_sheet(&path, "fuzz.csv", &options) {
        Ok(sheet) => {
            let mut names = HashSet::new();
            let once = sheet.cards.iter().all(|card| names.insert(ingest::folded(&card.cook)));
            assert!(once, "a cook stands in it twice");
            assert_eq!(sheet.cards.len(), sheet.rows.len(), "cards without a row");
            let mut weights = sheet.cards.iter().filter_map(|card| card.trimmed_weight);
            let sound = weights.all(|weight| weight.0.is_finite() && weight.0 > 0.0);
            assert!(sound, "a weight is no weight");
            cards = sheet.cards;
        }
        Err(error) => named(&error, "fuzz.csv"),
    }
    if let Err(error) = ingest::read_events_sheet(&path, "fuzz.csv", &options, &cards) {
        named(&error, "fuzz.csv");
    }
    let (scales, codes) = (BTreeMap::new(), BTreeMap::new());
    match ingest::read_scores_sheet(&path, "fuzz.csv", &options, &cards, &scales, &codes) {
        Ok(read) => assert!(read.scores.iter().all(|score| score.value.is_finite())),
        Err(error) => named(&error, "fuzz.csv"),
    }
}

/// Any text gives an error that names the file, or settings that are read as they are written.
pub fn settings(bytes: &[u8]) {
    let path = Path::new("season.toml");
    match cook::settings::parse::<Season>(&String::from_utf8_lossy(bytes), path) {
        Ok(season) => {
            let written = toml::to_string(&season).expect("settings can be written");
            let again = cook::settings::parse::<Season>(&written, path);
            assert!(again.is_ok_and(|again| again == season), "read otherwise:\n{written}");
        }
        Err(error) => named(&error, "season.toml"),
    }
}

/// Any text gives an error that names the file, or claims that ask for something and are read as they are written.
pub fn claims(bytes: &[u8]) {
    let path = Path::new("claims.toml");
    match Claims::parse(&String::from_utf8_lossy(bytes), path) {
        Ok(claims) => {
            let mut all = claims.claims.iter();
            let sound = all.all(|claim| claim.matters.is_finite() && claim.matters > 0.0);
            assert!(sound, "a claim asks for nothing that matters");
            let written = toml::to_string(&claims).expect("claims can be written");
            let again = Claims::parse(&written, path).expect("what was written is read");
            let hashes = |of: &Claims| of.claims.iter().map(study::Claim::hash).collect::<Vec<_>>();
            assert_eq!(hashes(&again), hashes(&claims), "read otherwise:\n{written}");
        }
        Err(error) => named(&error, "claims.toml"),
    }
}

/// Any text gives an error that names the file, or questions that are read as they are written.
pub fn questions(bytes: &[u8]) {
    let path = Path::new("questions.toml");
    match Questions::parse(&String::from_utf8_lossy(bytes), path) {
        Ok(questions) => {
            let again =
                Questions::parse(&questions.text(), path).expect("what was written is read");
            assert_eq!(again.unanswered(), questions.unanswered(), "{}", questions.text());
        }
        Err(error) => named(&error, "questions.toml"),
    }
}

fn named(error: &impl std::fmt::Display, file: &str) {
    let said = error.to_string();
    assert!(said.contains(file), "the file is not named: {said}");
}
