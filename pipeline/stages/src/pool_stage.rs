//! Effects of several teams: the files that they give away in, `pool.json` and a page out.

use crate::error::StageError;
use crate::study_stage::write_both;
use columns::Column;
use cook::Units;
use rows::hash::sha256;
use std::path::PathBuf;
use store::{Table, write_atomically};
use study::pool::{Given, pool as combined, read_effects};
use study::result::InputHash;
use study::result::pool::{Pool, PooledClaim};

/// What to combine.
#[derive(Debug, Clone)]
pub struct PoolRequest {
    /// Files of effects, one a team.
    pub files: Vec<PathBuf>,
    /// Folder to write to.
    pub out: PathBuf,
    /// Units of the page.
    pub units: Units,
}

/// What was combined.
#[derive(Debug, Clone)]
pub struct PoolSummary {
    /// `pool.json`.
    pub path: PathBuf,
    /// The page.
    pub page: PathBuf,
    /// One row a claim.
    pub table: Table,
    /// Things to know.
    pub notes: Vec<String>,
    /// Teams that are in it.
    pub teams: usize,
}

/// Combines what several teams gave away of their claims.
///
/// # Errors
/// A file that cannot be read, is damaged, or was not asked alike; nothing is written then.
pub fn pool(request: &PoolRequest) -> Result<PoolSummary, StageError> {
    let (mut given, mut inputs) = (Vec::new(), Vec::new());
    for path in &request.files {
        let bytes = std::fs::read(path).map_err(|error| StageError::io(path, error))?;
        let text = str::from_utf8(&bytes).map_err(|_| StageError::Usage {
            message: format!("{}: is no text, so it holds no effects", path.display()),
        })?;
        given.push(Given { path: path.clone(), effects: read_effects(text, path)? });
        // Where a file lies on somebody's disk is nobody else's business.
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        inputs.push(InputHash { path: name, sha256: sha256(&bytes) });
    }
    let found = combined(given, env!("CARGO_PKG_VERSION"), inputs)?;
    let json = request.out.join("pool.json");
    let page = request.out.join("pool.html");
    write_atomically(&json, found.to_json()?.as_bytes())?;
    write_both(&request.out, "pool", &found.rows())?;
    write_atomically(&page, report::render_pool(&found, request.units).as_bytes())?;
    let table = rows(&found);
    Ok(PoolSummary { path: json, page, table, teams: found.teams.len(), notes: found.notes })
}

/// One row a claim.
fn rows(pool: &Pool) -> Table {
    let texts = |value: &dyn Fn(&PooledClaim) -> Option<String>| {
        Column::Text(pool.claims.iter().map(value).collect())
    };
    let numbers = |value: &dyn Fn(&PooledClaim) -> Option<f64>| {
        Column::Float(pool.claims.iter().map(value).collect())
    };
    let mean = |claim: &PooledClaim| claim.teams.mean.clone();
    let count = |n: usize| i64::try_from(n).ok();
    Table::new()
        .with("claim", texts(&|claim| Some(claim.asked.id.clone())))
        .with("verdict", texts(&|claim| Some(claim.teams.verdict.heading().to_lowercase())))
        .with("mean", numbers(&|claim| Some(mean(claim)?.estimate)))
        .with("lo", numbers(&|claim| mean(claim)?.lo))
        .with("hi", numbers(&|claim| mean(claim)?.hi))
        .with("unit", texts(&|claim| mean(claim).map(|own| own.unit).filter(|u| !u.is_empty())))
        .with("spread", numbers(&|claim| claim.teams.spread))
        .with("new_team_lo", numbers(&|claim| Some(claim.teams.new_team?.lo)))
        .with("new_team_hi", numbers(&|claim| Some(claim.teams.new_team?.hi)))
        .with(
            "teams",
            Column::Int(pool.claims.iter().map(|own| count(own.teams.effects.len())).collect()),
        )
        .with("cooks", Column::Int(pool.claims.iter().map(|own| count(own.n)).collect()))
}
