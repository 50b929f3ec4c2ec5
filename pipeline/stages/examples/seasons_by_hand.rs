//! Whole seasons seen by a hand in place of a logger: what becomes of stalls, wraps and verdicts.
//!
//! `cargo run -p stages --example seasons_by_hand -- SEASONS COOKS READINGS` writes seasons of a simulated team,
//! runs each, then takes the logs away and leaves READINGS of the core a cook in the events sheet (each at a time
//! off by up to a third of the time between two, off by 1 °C, in whole °F), and runs it again. The table
//! stands in docs/accuracy.md.

use cook::{Celsius, Role, WrapMethod};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use samples::write_orderly;
use simulate::team::Randomised;
use simulate::{Strategy, TeamModel};
use stages::{Silent, run};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use store::Store;

const CLAIMS: &str = include_str!("../../../benches/seasons/claims.toml");
/// A hand reads another spot of the meat, with smoke in its eyes: standard deviation, °C.
const OFF_C: f64 = 1.0;
const SEED: u64 = 7_100;

type Row = BTreeMap<String, String>;

fn main() {
    let asked: Vec<usize> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let [seasons, cooks, readings] = asked[..] else {
        eprintln!("seasons_by_hand SEASONS COOKS READINGS");
        std::process::exit(2);
    };
    println!(
        "| season | cooks | stalls judged: logged / by hand | stall length, min (p50 / p90 of the difference) | logged length in the 90 % interval, % | wrap core, °C (p50) | claim: logged → by hand |"
    );
    println!("|--:|--:|--:|--:|--:|--:|---|");
    for season in 0..seasons {
        let logged = tempfile::tempdir().unwrap();
        let by_hand = tempfile::tempdir().unwrap();
        let seed = SEED + 100 * season as u64;
        for folder in [logged.path(), by_hand.path()] {
            write_orderly(folder, &team(), (seed, cooks), CLAIMS).unwrap();
        }
        run(logged.path(), None, &Silent).unwrap();
        take_logs_away(logged.path(), by_hand.path(), readings, seed);
        run(by_hand.path(), None, &Silent).unwrap();
        print_row(season + 1, logged.path(), by_hand.path());
    }
}

fn team() -> TeamModel {
    let arms = [WrapMethod::Foil, WrapMethod::Paper]
        .map(|method| Strategy::wrap(method, Celsius::from_fahrenheit(160.0), 20.0));
    TeamModel {
        randomised: Some(Randomised { share: 0.3, arms: arms.to_vec() }),
        ..TeamModel::middling()
    }
}

/// Leaves of each cook's log so many readings in the events sheet.
fn take_logs_away(logged: &Path, by_hand: &Path, readings: usize, seed: u64) {
    let mut random = StdRng::seed_from_u64(seed);
    let store = Store::open(&logged.join("store")).unwrap();
    let mut events = fs::read_to_string(by_hand.join("events.csv")).unwrap();
    for cook in measures(logged) {
        let (name, total) = (&cook["cook"], number(&cook, "total_min"));
        let (Some(total), Some(meat_on_ms)) = (total, number(&cook, "meat_on_ms")) else {
            continue;
        };
        let read = store.read_readings(&cook["season"], name).unwrap();
        let Some(core) = read.channels.iter().find(|c| c.role == Role::Meat && !c.is_empty())
        else {
            continue;
        };
        for look in 0..readings {
            let late: f64 = random.random_range(-1.0..1.0) / 3.0;
            let minute = (look as f64 + 0.5 + late) / readings as f64 * total;
            let at_ms = meat_on_ms as i64 + (minute * 60_000.0) as i64;
            let place = core.at_ms.partition_point(|&at| at < at_ms).min(core.len() - 1);
            let celsius = f64::from(core.temp_c[place]) + OFF_C * normal(&mut random);
            let fahrenheit = (celsius * 1.8 + 32.0).round();
            let at = jiff::Timestamp::from_millisecond(at_ms).unwrap();
            events += &format!("{name},{at},core,{fahrenheit}F\n");
        }
    }
    fs::write(by_hand.join("events.csv"), events).unwrap();
    fs::remove_dir_all(by_hand.join("logs")).unwrap();
    fs::create_dir(by_hand.join("logs")).unwrap();
    let sheet = by_hand.join("sheet.csv");
    let mut reader = csv::Reader::from_path(&sheet).unwrap();
    let header = reader.headers().unwrap().clone();
    let logs = header.iter().position(|name| name == "logs");
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let mut writer = csv::Writer::from_path(&sheet).unwrap();
    writer.write_record(&header).unwrap();
    for row in rows {
        let cells = row.iter().enumerate();
        let cells = cells.map(|(place, cell)| if Some(place) == logs { "" } else { cell });
        writer.write_record(cells).unwrap();
    }
    writer.flush().unwrap();
}

/// Box and Muller's transform of two uniform draws (1958).
fn normal(random: &mut StdRng) -> f64 {
    let (one, other): (f64, f64) = (1.0 - random.random::<f64>(), random.random());
    (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos()
}

fn measures(folder: &Path) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(folder.join("out/data/measures.csv")).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

fn number(row: &Row, column: &str) -> Option<f64> {
    row.get(column)?.parse().ok()
}

fn print_row(season: usize, logged: &Path, by_hand: &Path) {
    let (ours, theirs) = (measures(logged), measures(by_hand));
    let (mut stalls, mut wraps) = (Vec::new(), Vec::new());
    let (mut covered, mut bounded, mut judged) = (0_usize, 0_usize, [0, 0]);
    for row in &ours {
        let Some(seen) = theirs.iter().find(|seen| seen["cook"] == row["cook"]) else { continue };
        let stall = (number(row, "stall_min"), number(seen, "stall_min"));
        judged[0] += usize::from(stall.0.is_some());
        judged[1] += usize::from(stall.1.is_some());
        if let (Some(own), Some(by_hand)) = stall {
            stalls.push((own - by_hand).abs());
            if let Some(lo) = number(seen, "stall_min_lo90") {
                let hi = number(seen, "stall_min_hi90").unwrap_or(f64::INFINITY);
                bounded += 1;
                covered += usize::from((lo..=hi).contains(&own));
            }
        }
        let wrap = (number(row, "wrap_at_core_c"), number(seen, "wrap_at_core_c"));
        if let (Some(own), Some(by_hand)) = wrap {
            wraps.push((own - by_hand).abs());
        }
    }
    let (before, after) = (verdicts(logged), verdicts(by_hand));
    let told: Vec<String> = before
        .iter()
        .map(|(claim, verdict)| {
            let then = after.get(claim).map_or("none", String::as_str);
            if then == verdict {
                format!("{claim}: {verdict}")
            } else {
                format!("{claim}: {verdict} → {then}")
            }
        })
        .collect();
    println!(
        "| {season} | {} | {} / {} | {} / {} | {:.0} | {} | {} |",
        ours.len(),
        judged[0],
        judged[1],
        quantile(&mut stalls, 0.5),
        quantile(&mut stalls, 0.9),
        100.0 * covered as f64 / bounded.max(1) as f64,
        quantile(&mut wraps, 0.5),
        told.join("; ")
    );
}

fn quantile(values: &mut [f64], probability: f64) -> String {
    values.sort_by(f64::total_cmp);
    let place = (probability * (values.len().saturating_sub(1)) as f64).round() as usize;
    values.get(place).map_or("–".into(), |value| format!("{value:.1}"))
}

fn verdicts(folder: &Path) -> BTreeMap<String, String> {
    let text = fs::read_to_string(folder.join("out/study.json")).unwrap();
    let study: serde_json::Value = serde_json::from_str(&text).unwrap();
    let claims = study["claims"].as_array().unwrap();
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    claims.iter().map(|claim| (text(&claim["id"]), text(&claim["verdict"]))).collect()
}
