//! The bundled seasons of an invented team.

use crate::error::StageError;
use crate::progress::Progress;
use crate::run::{RunSummary, run};
use std::path::Path;
use store::write_atomically;
use study::{Claims, Lock};

/// Every file of `sample-data/`: path and bytes, sorted by path.
///
/// The lock is taken as it stood after the first season: only that season's cooks were
/// known when the claims were written down.
///
/// # Errors
/// Only a fault in the bundled season itself.
pub fn sample_files() -> Result<Vec<(String, Vec<u8>)>, StageError> {
    let mut files = simulate::sample_season();
    let text = |name: &str| {
        files
            .iter()
            .find(|(path, _)| path == name)
            .map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned())
            .unwrap_or_default()
    };
    let claims = Claims::parse(&text("claims.toml"), Path::new("claims.toml"))?;
    let known = first_season(&text("sheet-2024.csv"));
    let lock = Lock::update(None, &claims, &known);
    files.push(("claims.lock".into(), lock.to_toml()?.into_bytes()));
    files.sort();
    Ok(files)
}

/// The cooks of the first season's sheet.
fn first_season(sheet: &str) -> Vec<String> {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let cook = reader.headers().ok().and_then(|row| row.iter().position(|name| name == "cook"));
    let cell = |row: csv::StringRecord| cook.and_then(|at| row.get(at).map(str::to_owned));
    reader.records().filter_map(Result::ok).filter_map(cell).collect()
}

/// Writes the bundled seasons and runs the whole pipeline on them.
///
/// # Errors
/// A folder that holds something else: nothing is written then.
pub fn demo(out: &Path, progress: &dyn Progress) -> Result<RunSummary, StageError> {
    let files = sample_files()?;
    if std::fs::read_dir(out).is_ok_and(|mut entries| entries.next().is_some()) {
        // A demo made before may be made again, as long as nobody has worked in it (a run may
        // add to the lock); anything else is somebody's own.
        for (name, bytes) in files.iter().filter(|(name, _)| name != "claims.lock") {
            let path = out.join(name);
            if !std::fs::read(&path).is_ok_and(|there| there == *bytes) {
                return Err(StageError::Occupied { path: out.to_owned() });
            }
        }
    }
    for (name, bytes) in &files {
        let path = out.join(name);
        if name != "claims.lock" || !path.exists() {
            write_atomically(&path, bytes)?;
        }
    }
    run(out, None, progress)
}
