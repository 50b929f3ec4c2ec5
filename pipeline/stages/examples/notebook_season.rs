//! Three simulated seasons seen through eight readings by hand a cook, beside the same as logged.
//!
//! The seasons are those of `sample-data/`, which `simulate` made. What was logged is run as it is. Then
//! every log is taken away: of each cook there remain its card, its events, and eight readings of the core
//! from meat-on to the pull, taken and spoilt as in the example `by_hand` of `phases`.
//!
//! ```text
//! cargo run -p stages --example notebook_season            printed
//! cargo run -p stages --example notebook_season -- write   docs/accuracy.md
//! ```

use columns::measures::{
    COOK, LEAD_CHANNEL, MEAT_ON_MS, STALL_MIN, STALL_MIN_HI90, STALL_MIN_LO90, TOTAL_MIN,
    WRAP_AT_CORE_C,
};
use columns::{Column, Description, Table, Value, card, iso_instant};
use cook::{Card, Celsius, CookReadings};
use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use store::{Store, TableName};
use study::result::{Effect, StudyResult};

/// Readings of the core by hand, a cook.
const LOOKS: usize = 8;
/// A reading by hand is off by so much, °C (standard deviation).
const OFF_C: f64 = 1.0;
/// Half the time whose median stands for the core at an instant: a probe pulled at the wrap reads low
/// for up to 20 min.
const AROUND_MS: i64 = 15 * 60_000;

/// Steps of a sequence that fills three dimensions evenly: powers of the root of x⁴ = x + 1 (Roberts
/// 2018, "The unreasonable effectiveness of quasirandom sequences").
const SPREAD: [f64; 3] = [0.819_172_513_4, 0.671_043_606_7, 0.549_700_477_9];

type Result<T> = std::result::Result<T, Box<dyn Error>>;

fn copy(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let path = entry?.path();
        let target = to.join(path.file_name().unwrap_or_default());
        if path.is_dir() {
            copy(&path, &target)?;
        } else {
            fs::copy(&path, &target)?;
        }
    }
    Ok(())
}

/// One row of measures by column.
struct Row<'a>(&'a Table, usize);

impl Row<'_> {
    fn number(&self, column: Description) -> Option<f64> {
        match self.0.column(column.name)? {
            Column::Float(values) => values[self.1],
            Column::Int(values) => values[self.1].map(|whole| whole as f64),
            _ => None,
        }
    }

    fn text(&self, column: Description) -> Option<&str> {
        match self.0.column(column.name)? {
            Column::Text(values) => values[self.1].as_deref(),
            _ => None,
        }
    }
}

/// The rows by cook.
fn by_cook(table: &Table) -> BTreeMap<String, Row<'_>> {
    let rows = (0..table.rows()).map(|row| Row(table, row));
    rows.filter_map(|row| Some((row.text(COOK)?.to_owned(), row))).collect()
}

/// The core as a logger had it around an instant.
fn core_at(readings: &CookReadings, lead: &str, at_ms: i64) -> Option<f64> {
    let channel = readings.channels.iter().find(|channel| channel.name == lead)?;
    let near = channel.at_ms.iter().zip(&channel.temp_c);
    let near = near.filter(|(time, _)| (**time - at_ms).abs() <= AROUND_MS);
    let mut near: Vec<f64> = near.map(|(_, temp)| f64::from(*temp)).collect();
    near.sort_by(f64::total_cmp);
    near.get(near.len() / 2).copied()
}

/// Rows of an events sheet: eight looks a cook.
fn looks(store: &Store, cards: &[Card], measures: &Table) -> Result<String> {
    let rows = by_cook(measures);
    let mut count = 0.0;
    let mut out = String::new();
    for card in cards {
        let Some(row) = rows.get(&card.cook) else { continue };
        let (Some(meat_on), Some(total), Some(lead)) =
            (row.number(MEAT_ON_MS), row.number(TOTAL_MIN), row.text(LEAD_CHANNEL))
        else {
            continue;
        };
        let readings = store.read_readings(&card.season, &card.cook)?;
        for look in 0..LOOKS {
            count += 1.0;
            let [jitter, one, other] = SPREAD.map(|step: f64| (0.5 + count * step).fract());
            let place = look as f64 + 0.5 + 0.66 * (jitter - 0.5);
            // Box and Muller (1958).
            let off = OFF_C * (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * other).cos();
            let at_ms = (meat_on + 60_000.0 * total * place / LOOKS as f64) as i64;
            let Some(core) = core_at(&readings, lead, at_ms) else { continue };
            let shown = Celsius(core + off).fahrenheit().round();
            writeln!(out, "{},{},core,{shown}F,", card.cook, iso_instant(at_ms))?;
        }
    }
    Ok(out)
}

/// The cards as a sheet without logs.
fn sheet(cards: &[Card]) -> Result<String> {
    let fields = || card::FIELDS.iter().filter(|field| field.column != card::LOGS.column);
    let stated = || fields().filter(|field| field.column != card::LAST_PROBE_TEST_TENDER.column);
    let mut scores: Vec<&str> =
        cards.iter().flat_map(|card| card.scores.iter().map(|(name, _)| name.as_str())).collect();
    scores.sort_unstable();
    scores.dedup();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(stated().map(|field| field.stated_as()).chain(scores.iter().copied()))?;
    for card in cards {
        let cells = stated().map(|field| match field.get(card) {
            Value::Null => String::new(),
            Value::Bool(yes) => if yes { "yes" } else { "no" }.to_owned(),
            Value::Int(whole) => whole.to_string(),
            Value::Float(number) => number.to_string(),
            Value::Text(text) => text,
            Value::Instant(ms) => iso_instant(ms),
        });
        let points = scores.iter().map(|name| {
            let own = card.scores.iter().find(|(own, _)| own == name);
            own.map_or(String::new(), |(_, points)| points.to_string())
        });
        writer.write_record(cells.chain(points))?;
    }
    Ok(String::from_utf8(writer.into_inner()?)?)
}

/// Runs a season; its measures and study.
fn run(folder: &Path) -> Result<(Table, StudyResult)> {
    stages::run(folder, None, &stages::Silent)?;
    let measures = Store::open(&folder.join("store"))?.read_table(TableName::Measures)?;
    let study = serde_json::from_str(&fs::read_to_string(folder.join("out/study.json"))?)?;
    Ok((measures, study))
}

/// The season of the same cooks read by hand.
fn by_hand(logged: &Path, folder: &Path, measures: &Table) -> Result<()> {
    fs::create_dir_all(folder)?;
    let store = Store::open(&logged.join("store"))?;
    let cards: Vec<Card> = store.read_cooks()?.into_iter().map(|record| record.card).collect();
    for name in ["claims.toml", "claims.lock"] {
        fs::copy(logged.join(name), folder.join(name))?;
    }
    let settings = fs::read_to_string(logged.join("season.toml"))?;
    let kept = settings.lines().map(|line| {
        if line.starts_with("logs =") {
            "logs = []"
        } else if line.starts_with("sheets =") {
            "sheets = [\"sheet.csv\"]"
        } else {
            line
        }
    });
    fs::write(folder.join("season.toml"), kept.collect::<Vec<_>>().join("\n"))?;
    fs::write(folder.join("sheet.csv"), sheet(&cards)?)?;
    let events = fs::read_to_string(logged.join("events.csv"))?;
    fs::write(folder.join("events.csv"), events + &looks(&store, &cards, measures)?)?;
    Ok(())
}

fn quantile(mut values: Vec<f64>, at: f64) -> String {
    values.sort_by(f64::total_cmp);
    let place = (at * values.len().saturating_sub(1) as f64).round() as usize;
    values.get(place).map_or("–".into(), |value| format!("{value:.1}"))
}

/// How one measure of the cooks read by hand differs from that of the same cooks logged.
fn compared(logged: &Table, seen: &Table) -> String {
    let (logged, seen) = (by_cook(logged), by_cook(seen));
    let pairs: Vec<(&Row<'_>, &Row<'_>)> =
        logged.iter().filter_map(|(cook, own)| Some((own, seen.get(cook)?))).collect();
    let mut out = String::from(
        "| measure | cooks that have it logged | by hand | median logged | median by hand | difference (p50 / p90) | 90 % interval by hand holds the logged value, % |\n|---|---|---|---|---|---|---|\n",
    );
    for (name, column) in
        [("stall length, min", STALL_MIN), ("core at the wrap, °C", WRAP_AT_CORE_C)]
    {
        let both: Vec<(f64, f64, &Row<'_>)> = pairs
            .iter()
            .filter_map(|(own, seen)| Some((own.number(column)?, seen.number(column)?, *seen)))
            .collect();
        let held = both.iter().filter_map(|(own, _, seen)| {
            let lo = seen.number(STALL_MIN_LO90)?;
            Some(lo <= *own && seen.number(STALL_MIN_HI90).is_none_or(|hi| *own <= hi))
        });
        let held: Vec<bool> = held.filter(|_| column == STALL_MIN).collect();
        let share = 100.0 * held.iter().filter(|held| **held).count() as f64 / held.len() as f64;
        let differences = || both.iter().map(|(own, seen, _)| (own - seen).abs()).collect();
        let _ = writeln!(
            out,
            "| {name} | {} | {} | {} | {} | {} / {} | {} |",
            pairs.iter().filter(|(own, _)| own.number(column).is_some()).count(),
            pairs.iter().filter(|(_, seen)| seen.number(column).is_some()).count(),
            quantile(both.iter().map(|(own, ..)| *own).collect(), 0.5),
            quantile(both.iter().map(|(_, seen, _)| *seen).collect(), 0.5),
            quantile(differences(), 0.5),
            quantile(differences(), 0.9),
            if held.is_empty() { "–".to_owned() } else { format!("{share:.0}") },
        );
    }
    out
}

/// The claims' verdicts side by side.
fn verdicts(logged: &StudyResult, seen: &StudyResult) -> String {
    let mut out = String::from("| claim | logged | by hand |\n|---|---|---|\n");
    for own in &logged.claims {
        let other = seen.claims.iter().find(|claim| claim.id == own.id);
        let told = |verdict: String, effect: Option<&Effect>, n: usize| {
            let effect = effect.map_or(String::new(), |effect| {
                let end = |end: Option<f64>| end.map_or("open".into(), |end| format!("{end:.1}"));
                format!(", {:.1} ({} to {})", effect.estimate, end(effect.lo), end(effect.hi))
            });
            format!("{verdict}{effect}, {n} cooks")
        };
        let word = |claim: &study::result::ClaimResult| {
            let verdict = serde_json::to_value(claim.verdict).unwrap_or_default();
            told(verdict.as_str().unwrap_or_default().to_owned(), claim.effect.as_ref(), claim.n)
        };
        let _ =
            writeln!(out, "| {} | {} | {} |", own.id, word(own), other.map_or("–".into(), word));
    }
    out
}

const BEGIN: &str = "<!-- made by the example `notebook_season`: begin -->\n";
const END: &str = "<!-- made by the example `notebook_season`: end -->";

fn main() -> Result<()> {
    let root: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let place = tempfile::tempdir()?;
    let (logged, notebook) = (place.path().join("logged"), place.path().join("notebook"));
    copy(&root.join("sample-data"), &logged)?;
    let (own, own_study) = run(&logged)?;
    by_hand(&logged, &notebook, &own)?;
    let (seen, seen_study) = run(&notebook)?;
    let made = format!("{}\n{}", compared(&own, &seen), verdicts(&own_study, &seen_study));
    if std::env::args().nth(1).is_none_or(|argument| argument != "write") {
        println!("{made}");
        return Ok(());
    }
    let page_path = root.join("docs/accuracy.md");
    let page = fs::read_to_string(&page_path)?;
    let parts = page
        .split_once(BEGIN)
        .and_then(|(before, rest)| rest.split_once(END).map(|(_, after)| (before, after)));
    let (before, after) = parts.ok_or("docs/accuracy.md has lost its markers")?;
    fs::write(page_path, format!("{before}{BEGIN}{made}{END}{after}"))?;
    Ok(())
}
