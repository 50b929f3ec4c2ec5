//! The bundled team's sample seasons.
//!
//! An invented team with three pits cooks three seasons. In the first it wraps by habit: when
//! the bark is there, and so later where the stall is longer. In the second most fires carry a
//! pair of cuts, paper against foil at 160 °F, by the toss of a coin. In the third it wraps by
//! habit again. What people and loggers do wrong is in it too: fires that sag or go out, a lid
//! left open, probes that fail, stick or are swapped, logs that start late, end in the stall,
//! come in two parts or hold two cooks, a wrap that nobody noted, a lost log, a lost card.
//!
//! | module | its one job |
//! |---|---|
//! | `programme` | what the team sets out to cook |
//! | `draw` | meat, weather, scores; and the cooks run |
//! | `loggers` | the loggers and how they export |
//! | `recordings` | what they record of a fire |
//! | `logs` | the logs as files |
//! | `cards`, `events` | the sheets |
//! | `told` | the truth |

pub(crate) mod cards;
pub(crate) mod draw;
pub(crate) mod events;
pub(crate) mod loggers;
pub(crate) mod logs;
pub(crate) mod programme;
pub(crate) mod recordings;
pub(crate) mod told;

use crate::sheet::{sheet_as_csv, sheet_as_ods, sheet_as_xlsx};

/// Seed of everything drawn in the sample seasons.
const SEED: u64 = 20_240_406;

/// Files of the sample seasons: path relative to the season folder, and bytes; sorted by
/// path, the same bytes every time.
///
/// `season.toml`, three season sheets (`sheet-2024.csv`, `sheet-2025.xlsx`, `sheet-2026.ods`),
/// `events.csv`, `claims.toml`, `questions.toml` with its answers, the logs under `logs/`, and under `truth/` what the simulator
/// was told and the true phases (`truth.csv`), and both arms of every randomised cook
/// (`arms.csv`).
pub fn sample_season() -> Vec<(String, Vec<u8>)> {
    let fires = draw::fires(SEED);
    let (log_files, names) = logs::logs(&fires);
    let cards = |season| cards::cards(&fires, &names, season);
    let mut files = vec![
        ("claims.toml".to_owned(), include_bytes!("season/claims.toml").to_vec()),
        ("events.csv".to_owned(), sheet_as_csv(&events::events(&fires))),
        ("questions.toml".to_owned(), include_bytes!("season/questions.toml").to_vec()),
        ("season.toml".to_owned(), include_bytes!("season/season.toml").to_vec()),
        ("sheet-2024.csv".to_owned(), sheet_as_csv(&cards(2024))),
        ("sheet-2025.xlsx".to_owned(), sheet_as_xlsx(&cards(2025))),
        ("sheet-2026.ods".to_owned(), sheet_as_ods(&cards(2026))),
        ("truth/arms.csv".to_owned(), sheet_as_csv(&told::arms(&fires))),
        ("truth/truth.csv".to_owned(), sheet_as_csv(&told::truth(&fires, &names))),
    ];
    files.extend(log_files.into_iter().map(|log| (format!("logs/{}", log.name), log.bytes)));
    files.sort();
    files
}

#[cfg(test)]
mod tests;
