//! The bundled team's sample seasons.
//!
//! An invented team with three pits cooks two seasons. In the first it wraps by habit: when
//! the bark is there, and so later where the stall is longer. In the second most cooks are
//! pairs on one fire, paper against foil at 160 °F, by the toss of a coin. What people and
//! loggers do wrong is in it too: a sagging fire, a lid left open, a probe that fails, a log
//! that starts late or ends in the stall, a wrap that nobody noted.

pub(crate) mod draw;
pub(crate) mod logs;
pub(crate) mod programme;
pub(crate) mod sheets;

/// Seed of everything drawn in the sample seasons.
const SEED: u64 = 20_240_406;

/// Files of the sample seasons: path relative to the season folder, and bytes; sorted by
/// path, the same bytes every time.
///
/// `season.toml`, `sheet.csv`, `events.csv`, `claims.toml`, the logs under `logs/`, and
/// `truth/truth.csv` with what the simulator was told and the true phases.
pub fn sample_season() -> Vec<(String, Vec<u8>)> {
    let fires = draw::fires(SEED);
    let mut files = vec![
        ("claims.toml".to_owned(), include_bytes!("season/claims.toml").to_vec()),
        ("events.csv".to_owned(), sheets::events(&fires).into_bytes()),
        ("season.toml".to_owned(), include_bytes!("season/season.toml").to_vec()),
        ("sheet.csv".to_owned(), sheets::cards(&fires).into_bytes()),
        ("truth/truth.csv".to_owned(), sheets::truth(&fires).into_bytes()),
    ];
    for fire in &fires {
        files.push((format!("logs/{}", fire.log_name()), logs::log(fire)));
    }
    files.sort();
    files
}

#[cfg(test)]
mod tests;
