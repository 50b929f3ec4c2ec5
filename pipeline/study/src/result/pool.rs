//! `pool.json`: the claims of several teams, each by itself, combined from their effects.

use super::InputHash;
use super::teams::Teams;
use crate::claims::Claim;
use crate::verdict::Standing;
use columns::Table;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The value of [`Pool::schema`].
pub const POOL_SCHEMA: &str = "cookstudy/pool/1";

/// The whole of `pool.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pool {
    /// Always [`POOL_SCHEMA`].
    pub schema: String,
    /// Version of the program.
    pub version: String,
    /// The files, by name, with their hashes.
    pub inputs: Vec<InputHash>,
    /// Hash of the phase definition that all of them share; null where none of them says.
    pub definition: Option<String>,
    /// The teams, by name.
    pub teams: Vec<String>,
    /// The claims, in the order in which the files have them.
    pub claims: Vec<PooledClaim>,
    /// What the reader should know besides.
    pub notes: Vec<String>,
}

/// A claim of several teams.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PooledClaim {
    /// The claim as all of these teams wrote it down.
    pub asked: Claim,
    /// `confirmed` where it is so in every team that is in it.
    pub standing: Standing,
    /// Cooks used, of all teams.
    pub n: usize,
    /// Fires used, of all teams.
    pub fires: usize,
    /// What the teams say together.
    pub teams: Teams,
}

impl Pool {
    /// A row a team of each claim, the mean and a new team among them.
    pub fn rows(&self) -> Table {
        Teams::rows(self.claims.iter().map(|claim| (claim.asked.id.as_str(), &claim.teams)))
    }
}
