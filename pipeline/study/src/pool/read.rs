//! Reads a file of effects, and refuses one that is damaged.

use crate::claims::{Claims, problems};
use crate::error::StudyError;
use crate::result::STUDY_SCHEMA;
use crate::result::effects::{ClaimEffect, EFFECTS_SCHEMA, Effects};
use serde_json::Value;
use std::path::Path;

const ANEW: &str = "ask its team to write it anew with `cookstudy study … --effects-only FILE`";

/// How far a diagonal covariance may be from the squared standard error, as a share: what decimals lose.
const SAME: f64 = 1e-9;
/// Larger than any effect, and what sums of squares still hold.
const LARGEST: f64 = 1e60;

/// Reads the text of a file of effects; `path` is only for messages.
///
/// # Errors
/// An empty or damaged file, another schema, numbers that cannot be, a claim that is not the one of its hash.
pub fn read_effects(text: &str, path: &Path) -> Result<Effects, StudyError> {
    let problem = |message: String| StudyError::Effects { path: path.to_owned(), message };
    if text.trim().is_empty() {
        return Err(problem(format!("is empty; {ANEW}")));
    }
    let whole: Value =
        serde_json::from_str(text).map_err(|e| problem(format!("cannot be read ({e}); {ANEW}")))?;
    match whole.get("schema").and_then(Value::as_str) {
        Some(EFFECTS_SCHEMA) => {}
        Some(STUDY_SCHEMA) => {
            return Err(problem(format!(
                "is a whole study, with cooks in it, and effects are wanted; {ANEW}"
            )));
        }
        Some(other) => {
            return Err(problem(format!(
                "`schema` is `{other}`, but this version reads `{EFFECTS_SCHEMA}`; {ANEW}"
            )));
        }
        None => return Err(problem(format!("has no `schema`, so it holds no effects; {ANEW}"))),
    }
    // From the text once more, so that a message has its line.
    let effects: Effects =
        serde_json::from_str(text).map_err(|e| problem(format!("is damaged: {e}; {ANEW}")))?;
    match unsound(&effects) {
        Some(what) => Err(problem(format!("is damaged: {what}; {ANEW}"))),
        None => Ok(effects),
    }
}

/// What cannot be in a file that the program wrote.
fn unsound(effects: &Effects) -> Option<String> {
    if effects.team.trim().is_empty() {
        return Some("`team` is empty".into());
    }
    if effects.claims.is_empty() {
        return Some("it holds no claim".into());
    }
    let claims = Claims { claims: effects.claims.iter().map(|own| own.asked.clone()).collect() };
    if let Some(problem) = problems(&claims).first() {
        return Some(problem.to_string());
    }
    effects.claims.iter().find_map(unsound_claim).or_else(|| unsound_covariance(effects))
}

fn unsound_claim(own: &ClaimEffect) -> Option<String> {
    let of = |what: String| Some(format!("claim `{}`: {what}", own.asked.id));
    if own.hash != own.asked.hash() {
        return of(format!("its words are not those of its hash `{}`", own.hash));
    }
    let effect = own.effect?;
    let numbers =
        [("estimate", effect.estimate), ("std_error", effect.std_error), ("df", effect.df)];
    for (name, value) in numbers {
        if !value.is_finite() || value.abs() > LARGEST {
            return of(format!("`{name}` is {value}, which no effect has"));
        }
        if name != "estimate" && value <= 0.0 {
            return of(format!("`{name}` is {value}, and must be above 0"));
        }
    }
    if own.fires < 2 || own.n < own.fires {
        return of(format!("{} cooks on {} fires cannot carry an effect", own.n, own.fires));
    }
    if own.cut_share.is_some_and(|share| !(0.0..=1.0).contains(&share)) {
        return of(format!("`cut_share` is {:?}, and lies from 0 to 1", own.cut_share));
    }
    None
}

fn unsound_covariance(effects: &Effects) -> Option<String> {
    let (rows, claims) = (&effects.covariance, &effects.claims);
    if rows.len() != claims.len() || rows.iter().any(|row| row.len() != claims.len()) {
        return Some(format!("`covariance` has not {0} rows of {0}, one a claim", claims.len()));
    }
    for (a, row) in rows.iter().enumerate() {
        for (b, value) in row.iter().enumerate() {
            let id = |place: usize| &claims[place].asked.id;
            if *value != rows[b][a] {
                return Some(format!("`covariance` of `{}` and `{}` is there twice", id(a), id(b)));
            }
            let squared = claims[a].effect.map(|effect| effect.std_error.powi(2));
            let is_its_own = match (value, squared) {
                (Some(value), Some(squared)) => (value - squared).abs() <= SAME * squared,
                (value, squared) => value.is_none() && squared.is_none(),
            };
            if a == b && !is_its_own {
                return Some(format!(
                    "`covariance` of `{}` is not its squared standard error",
                    id(a)
                ));
            }
        }
    }
    None
}
