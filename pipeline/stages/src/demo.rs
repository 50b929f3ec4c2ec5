//! The bundled seasons of an invented team.

use crate::error::StageError;
use crate::progress::Progress;
use crate::run::{RunSummary, run};
use std::path::Path;
use store::write_atomically;
use study::{Claims, Lock};

/// The lock of the bundled seasons, as it stood after the first of them: only the cooks of that
/// season's sheet (CSV) were known when the claims were written down.
///
/// # Errors
/// Claims that cannot be read.
pub fn sample_lock(claims: &str, first_sheet: &str) -> Result<String, StageError> {
    let claims = Claims::parse(claims, Path::new("claims.toml"))?;
    Ok(Lock::update(None, &claims, &first_season(first_sheet)).to_toml()?)
}

/// The cooks of the first season's sheet.
fn first_season(sheet: &str) -> Vec<String> {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let cook = reader.headers().ok().and_then(|row| row.iter().position(|name| name == "cook"));
    let cell = |row: csv::StringRecord| cook.and_then(|at| row.get(at).map(str::to_owned));
    reader.records().filter_map(Result::ok).filter_map(cell).collect()
}

/// Writes the bundled seasons (path and bytes of each file) and runs the whole pipeline on them.
///
/// # Errors
/// A folder that holds something else: nothing is written then.
pub fn demo(
    out: &Path,
    files: &[(&str, Vec<u8>)],
    progress: &dyn Progress,
) -> Result<RunSummary, StageError> {
    if std::fs::read_dir(out).is_ok_and(|mut entries| entries.next().is_some()) {
        // A demo made before may be made again, as long as nobody has worked in it (a run may
        // add to the lock); anything else is somebody's own.
        for (name, bytes) in files.iter().filter(|(name, _)| *name != "claims.lock") {
            let path = out.join(name);
            if !std::fs::read(&path).is_ok_and(|there| there == *bytes) {
                return Err(StageError::Occupied { path: out.to_owned() });
            }
        }
    }
    for (name, bytes) in files {
        let path = out.join(name);
        if *name != "claims.lock" || !path.exists() {
            write_atomically(&path, bytes)?;
        }
    }
    run(out, None, progress)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bundled_lock_knows_the_cooks_of_the_first_season() {
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-data");
        let text = |name: &str| std::fs::read_to_string(sample.join(name)).unwrap();
        let lock = sample_lock(&text("claims.toml"), &text("sheet-2024.csv")).unwrap();
        assert_eq!(lock, text("claims.lock"));
    }
}
