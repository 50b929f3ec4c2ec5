//! The sample seasons hold what they promise.

use super::*;
use crate::season::programme::Quirk;
use cook::season::{Season, TemperatureUnit};
use cook::{Celsius, EventKind, PhaseKind, settings};
use jiff::Span;
use jiff::civil::{DateTime, Time};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::Path;
use std::sync::LazyLock;

static FIRES: LazyLock<Vec<draw::SampleFire>> = LazyLock::new(|| draw::fires(SEED));
static FILES: LazyLock<BTreeMap<String, Vec<u8>>> =
    LazyLock::new(|| sample_season().into_iter().collect());

fn text(path: &str) -> &'static str {
    std::str::from_utf8(&FILES[path]).unwrap()
}

fn table(path: &str) -> Vec<HashMap<String, String>> {
    rows(text(path).as_bytes())
}

fn rows(text: &[u8]) -> Vec<HashMap<String, String>> {
    csv::Reader::from_reader(text).deserialize().map(Result::unwrap).collect()
}

/// The cards of all seasons, as text.
fn all_cards() -> Vec<HashMap<String, String>> {
    let names = logs::logs(&FIRES).1;
    [2024, 2025, 2026]
        .into_iter()
        .flat_map(|season| rows(&sheet_as_csv(&cards::cards(&FIRES, &names, season))))
        .collect()
}

#[test]
fn it_is_made_the_same_twice_and_is_small_and_sorted() {
    let files = sample_season();
    assert_eq!(files, sample_season());
    assert!(files.windows(2).all(|pair| pair[0].0 < pair[1].0));
    assert!(files.iter().map(|(_, bytes)| bytes.len()).sum::<usize>() < 12_000_000);
}

#[test]
fn the_folder_of_sample_data_is_what_is_made_here() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-data");
    for (name, bytes) in &*FILES {
        let there = std::fs::read(folder.join(name));
        assert!(
            there.is_ok_and(|there| there == *bytes),
            "sample-data/{name} is old; run `cargo run --features developer -- generate`"
        );
    }
}

#[test]
fn the_settings_and_the_claims_can_be_read() {
    let season: Season = settings::parse(text("season.toml"), Path::new("season.toml")).unwrap();
    assert_eq!(season.time_zone.as_deref(), Some("America/Chicago"));
    let claims: toml::Table = toml::from_str(text("claims.toml")).unwrap();
    let claims = claims["claim"].as_array().unwrap();
    assert_eq!(claims.len(), 9);
    let cards = all_cards();
    let columns: BTreeSet<String> = cards[0].keys().cloned().collect();
    for claim in claims {
        assert!(
            claim["matters"].as_float().or(claim["matters"].as_integer().map(|m| m as f64))
                > Some(0.0)
        );
        let Some(by) = claim.get("by").and_then(|by| by.as_str()) else { continue };
        let Some(levels) = claim.get("levels").and_then(|levels| levels.as_array()) else {
            continue;
        };
        assert!(columns.contains(by), "{by}");
        for level in levels {
            let used = cards.iter().any(|row| row[by] == level.as_str().unwrap());
            assert!(used, "no cook with {by} = {level}");
        }
    }
}

#[test]
fn every_cook_is_named_once_and_has_its_log_and_its_truth() {
    let cards = all_cards();
    let ids: BTreeSet<&String> = cards.iter().map(|card| &card["cook"]).collect();
    assert_eq!(ids.len(), cards.len());
    assert!(cards.len() >= 120);
    for season in ["2024", "2025", "2026"] {
        assert!(cards.iter().filter(|card| card["season"] == season).count() >= 36);
    }
    let truths: BTreeSet<String> =
        table("truth/truth.csv").into_iter().map(|row| row["cook"].clone()).collect();
    for card in &cards {
        assert!(truths.contains(&card["cook"]));
        for named in card["logs"].split(';').filter(|named| !named.is_empty()) {
            let file = named.split('#').next().unwrap();
            assert!(FILES.contains_key(&format!("logs/{file}")), "{file}");
        }
    }
    for event in table("events.csv") {
        assert!(ids.contains(&event["cook"]));
        event["event"].parse::<EventKind>().unwrap();
    }
}

#[test]
fn what_was_promised_is_in_it() {
    let cards = all_cards();
    let has = |column: &str, value: &str| cards.iter().any(|card| card[column] == value);
    for (column, value) in [
        ("kind", "contest"),
        ("cut", "chuck"),
        ("wrap_method", "none"),
        ("wrap_method", "boat"),
        ("end_reason", "out-of-time"),
        ("water_pan", "yes"),
        ("arm", "foil-160"),
    ] {
        assert!(has(column, value), "{column} {value}");
    }
    assert_eq!(cards.iter().filter(|card| !card["exclude"].is_empty()).count(), 1);
    let unknown = |card: &&HashMap<String, String>| {
        card["wrap_method"] != "none" && card["wrap_at"].is_empty()
    };
    let unknown: Vec<&str> =
        cards.iter().filter(unknown).map(|card| card["cook"].as_str()).collect();
    assert_eq!(unknown.len(), 2);
    let wrapped = |event: &HashMap<String, String>| {
        event["event"] == "wrap" && unknown.contains(&event["cook"].as_str())
    };
    assert!(!table("events.csv").iter().any(wrapped));
    for quirk in [
        Quirk::FireOut,
        Quirk::LidLeftOpen,
        Quirk::OutOfTime,
        Quirk::TwoLogs,
        Quirk::SharesLog,
        Quirk::ProbesSwapped,
        Quirk::ProbeSticks,
    ] {
        assert!(FIRES.iter().any(|fire| fire.quirk() == quirk), "{quirk:?}");
    }
    // At least ten dialects.
    let mut dialects = Vec::new();
    for fire in FIRES.iter() {
        for recording in recordings::recordings(fire) {
            if !dialects.contains(&recording.logger.dialect) {
                dialects.push(recording.logger.dialect);
            }
        }
    }
    assert!(dialects.len() >= 10, "{}", dialects.len());
    let pits: BTreeSet<&str> = cards.iter().map(|card| card["pit"].as_str()).collect();
    assert_eq!(pits.len(), 3);
    let number = |column: &'static str| {
        let cards = &cards;
        move || cards.iter().map(|card| card[column].parse::<f64>().unwrap())
    };
    let (setpoint, pounds) = (number("pit_setpoint_f"), number("trimmed_weight_lb"));
    assert_eq!(setpoint().fold(f64::MAX, f64::min), 225.0);
    assert_eq!(setpoint().fold(f64::MIN, f64::max), 325.0);
    assert!(pounds().fold(f64::MAX, f64::min) < 7.0 && pounds().fold(f64::MIN, f64::max) > 16.0);
    // One cook without a log; one log without a card.
    assert_eq!(cards.iter().filter(|card| card["logs"].is_empty()).count(), 1);
    let named: String = cards.iter().map(|card| card["logs"].clone() + ";").collect();
    let unnamed: Vec<&String> = FILES
        .keys()
        .filter(|path| path.strip_prefix("logs/").is_some_and(|name| !named.contains(name)))
        .collect();
    assert_eq!(unnamed.len(), 1, "{unnamed:?}");
}

#[test]
fn every_block_has_both_arms() {
    let mut blocks: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut first = Vec::new();
    for card in all_cards().into_iter().filter(|card| !card["arm"].is_empty()) {
        if card["cook"].ends_with("-1") {
            first.push(card["arm"].clone());
        }
        assert_eq!(card["arm"].split('-').next().unwrap(), card["wrap_method"]);
        blocks.entry(card["block"].clone()).or_default().insert(card["arm"].clone());
    }
    assert!(blocks.len() >= 8);
    assert!(blocks.values().all(|arms| arms.len() == 2));
    // The coin falls both ways.
    assert!(
        first.iter().any(|arm| arm == "foil-160") && first.iter().any(|arm| arm == "paper-160")
    );
}

#[test]
fn the_truth_of_both_arms_stands_beside_every_randomised_cook() {
    let arms = table("truth/arms.csv");
    assert!(arms.len() >= 40);
    let number = |row: &HashMap<String, String>, column: &str| row[column].parse::<f64>().ok();
    let mut sooner = Vec::new();
    for row in &arms {
        let (foil, paper) =
            (number(row, "foil_clock_to_finish_min"), number(row, "paper_clock_to_finish_min"));
        if let (Some(foil), Some(paper)) = (foil, paper) {
            sooner.push(paper - foil);
        }
        let (fire, index) = FIRES
            .iter()
            .find_map(|fire| Some((fire, fire.cooks.iter().position(|c| c.id == row["cook"])?)))
            .unwrap();
        let done = told::clock_to_finish_min(&fire.truth.cooks[index]);
        let own = if row["arm"] == "foil-160" { foil } else { paper };
        let both = done.zip(own);
        assert!(both.is_none_or(|(a, b)| (a - b).abs() < 0.06), "{}: {both:?}", row["cook"]);
    }
    // Foil at 160 °F finishes sooner than paper, for every cook (common practice, no source).
    assert!(sooner.len() >= 38 && sooner.iter().all(|minutes| *minutes > 0.0), "{sooner:?}");
}

#[test]
fn marks_on_the_card_and_events_agree() {
    let events = table("events.csv");
    for card in all_cards() {
        let event = |kind: &str| {
            events
                .iter()
                .find(|event| event["cook"] == card["cook"] && event["event"] == kind)
                .map(|event| event["time"].clone())
        };
        for (column, kind) in
            [("meat_on", "meat_on"), ("wrap_at", "wrap"), ("pull", "pull"), ("slice", "slice")]
        {
            if card[column].is_empty() {
                continue;
            }
            let at: DateTime = event(kind).unwrap().parse().unwrap();
            let said = &card[column];
            let stands = if let Some(since) = said.strip_prefix('+') {
                let (hours, minutes) = since.split_once(':').unwrap();
                let minutes = 60 * hours.parse::<i64>().unwrap() + minutes.parse::<i64>().unwrap();
                let on: DateTime = card["meat_on"].parse().unwrap();
                // Both are cut to the minute.
                let off = (at - on.saturating_add(Span::new().minutes(minutes))).get_minutes();
                (0..=1).contains(&off)
            } else if said.contains('-') {
                said.parse::<DateTime>().unwrap() == at
            } else {
                said.parse::<Time>().unwrap() == at.time()
            };
            assert!(stands, "{} {column}: {said} on the card, {at} among the events", card["cook"]);
        }
        assert!(event("meat_on").unwrap().starts_with(&card["date"]));
    }
}

#[test]
fn an_unwrapped_brisket_stalls_between_60_and_83() {
    // Common practice, no source: 65-77 °C; two thirds of all cooks must lie inside that.
    let mut inside = 0;
    let mut seen = 0;
    for fire in FIRES.iter() {
        for cook in &fire.truth.cooks {
            let stalls: Vec<_> = cook.judgement.phases_of(PhaseKind::Stall).collect();
            // A pit above 265 °F stalls the meat hotter: the surface has more heat to shed.
            let hot = fire.plan.setpoint_f > 265.0;
            if hot || !cook.wraps.is_empty() || stalls.is_empty() {
                continue;
            }
            let core = |ms: i64| cook.core_c[(ms / 1_000 / simulate::GRID_STEP_S) as usize];
            let (start, end) = (core(stalls[0].start_ms), core(stalls[stalls.len() - 1].end_ms));
            assert!(start > 60.0 && end < 83.0, "{start} {end}");
            seen += 1;
            inside += usize::from(start > 63.0 && end < 80.0);
        }
    }
    assert!(seen >= 8 && 3 * inside >= 2 * seen, "{inside} of {seen}");
}

#[test]
fn who_wraps_by_the_bark_wraps_later_where_the_meat_is_wetter() {
    // The habit that confounds: within the first season's paper and foil wraps at one pit
    // setting or another, wrap time goes with the moisture that the simulator was given.
    let mut pairs = Vec::new();
    for fire in FIRES.iter().filter(|fire| fire.season() == 2024) {
        for (cook, truth) in fire.cooks.iter().zip(&fire.truth.cooks) {
            if let Some((at_s, _)) = truth.wraps.first() {
                let hours = (at_s - truth.meat_on_s) as f64 / 3_600.0;
                pairs.push((cook.plan.meat.surface_moisture, hours));
            }
        }
    }
    let count = pairs.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / count;
    let (moisture, hours) = (mean(|p| p.0), mean(|p| p.1));
    let covariance: f64 = pairs.iter().map(|p| (p.0 - moisture) * (p.1 - hours)).sum();
    assert!(covariance > 0.0, "{covariance}");
}

#[test]
fn contests_are_pulled_hot_unless_time_ran_out() {
    for fire in FIRES.iter().filter(|fire| fire.turn_in_ms.is_some()) {
        for (cook, truth) in fire.cooks.iter().zip(&fire.truth.cooks) {
            let at_pull = truth.core_c[(truth.pull_s / simulate::GRID_STEP_S) as usize];
            if cook.end_reason == "tender" {
                assert!((89.0..97.5).contains(&at_pull), "{}: {at_pull}", cook.id);
            } else {
                assert!(at_pull < 88.0);
            }
            assert!(fire.at_ms(truth.slice_s) <= fire.turn_in_ms.unwrap());
        }
    }
}

#[test]
fn a_log_says_what_the_curves_say() {
    // Plain comma dialect, whole degrees Fahrenheit: read back and compared with the truth.
    let fire = &FIRES[0];
    assert_eq!(fire.quirk(), Quirk::Plain);
    assert_eq!(recordings::recordings(fire)[0].set.unit, TemperatureUnit::Fahrenheit);
    let zone = draw::zone();
    let wrap_s = fire.truth.cooks[0].wraps[0].0;
    let mut compared = 0;
    for line in text(&format!("logs/{}.csv", fire.stem())).lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let civil: jiff::civil::DateTime = cells[0].parse().unwrap();
        let at_ms = civil.to_zoned_datetime(zone.clone()).unwrap().timestamp().as_millisecond();
        let second = (at_ms - fire.lit_ms) / 1_000;
        if (wrap_s..wrap_s + 1_200).contains(&second) {
            continue;
        }
        if cells[2].is_empty() {
            // Nothing is read once the meat is sliced.
            assert!(second >= fire.truth.cooks[0].slice_s, "{line}");
            continue;
        }
        let index = (second / simulate::GRID_STEP_S) as usize;
        let read = Celsius::from_fahrenheit(cells[2].parse().unwrap()).value();
        let truth = fire.truth.cooks[0].core_c[index.min(fire.truth.cooks[0].core_c.len() - 1)];
        // Half a degree F of quantum, noise of 0.12 K and this probe's offset.
        let allowed = 0.28 + 0.6 + fire.cooks[0].probe_offset_c.abs();
        assert!((read - truth).abs() < allowed, "{line}: {truth}");
        compared += 1;
    }
    assert!(compared > 500);
}

#[test]
fn the_bytes_in_sample_data_are_these() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-data");
    for (path, bytes) in FILES.iter() {
        let found = std::fs::read(folder.join(path));
        assert!(
            found.as_ref().ok() == Some(bytes),
            "sample-data/{path} is not what the simulator makes; \
             run `cargo run -p simulate --example write_sample_data` and look at the difference"
        );
    }
    let on_disk = std::fs::read_dir(folder.join("logs")).unwrap().count();
    let made = FILES.keys().filter(|path| path.starts_with("logs/")).count();
    assert_eq!(on_disk, made, "sample-data/logs holds files that the simulator does not make");
}
