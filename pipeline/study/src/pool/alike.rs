//! Whether files of effects were asked alike.

use super::Given;
use crate::claims::Claim;
use crate::error::StudyError;
use crate::result::effects::ClaimEffect;
use columns::measures;
use serde_json::Value;
use std::collections::BTreeSet;

/// A claim's hash, its estimate and standard error to the bit, its cooks and fires.
type Told = (String, Option<(u64, u64)>, usize, usize);

/// Refuses what cannot be combined.
pub(super) fn check(given: &[Given]) -> Result<(), StudyError> {
    if given.len() < 2 {
        return Err(StudyError::Argument {
            message: "one team's effects are there already: name the files of two teams or more"
                .into(),
        });
    }
    for (place, own) in given.iter().enumerate() {
        for other in &given[..place] {
            team_once(own, other)?;
            definitions(own, other)?;
            for claim in &own.effects.claims {
                let same = |known: &&ClaimEffect| known.asked.id == claim.asked.id;
                if let Some(known) = other.effects.claims.iter().find(same) {
                    claims(own, other, claim, known)?;
                }
            }
        }
    }
    let mut seen = BTreeSet::new();
    let shared =
        given.iter().flat_map(|own| &own.effects.claims).any(|own| !seen.insert(&own.hash));
    if shared {
        return Ok(());
    }
    let listed = |own: &Given| {
        let ids = own.effects.claims.iter().map(|own| format!("`{}`", own.asked.id));
        ids.collect::<Vec<_>>().join(", ")
    };
    Err(problem(
        &given[1],
        &given[0],
        |file| {
            format!(
                "no claim is shared: it claims {}, {file} {}",
                listed(&given[1]),
                listed(&given[0])
            )
        },
        "teams that want to be pooled write the same claim into claims.toml, word for word",
    ))
}

fn problem(
    own: &Given,
    other: &Given,
    what: impl FnOnce(std::path::Display<'_>) -> String,
    remedy: &str,
) -> StudyError {
    let message = format!("{}; {remedy}", what(other.path.display()));
    StudyError::Effects { path: own.path.clone(), message }
}

fn team_once(own: &Given, other: &Given) -> Result<(), StudyError> {
    let name = |given: &Given| given.effects.team.trim().to_lowercase();
    if name(own) == name(other) {
        return Err(problem(
            own,
            other,
            |file| format!("team `{}` is in {file} already", own.effects.team),
            "name one file a team; two seasons of one team are merged (`cookstudy merge`) and studied together",
        ));
    }
    let told = |given: &Given| -> Vec<Told> {
        let claims = given.effects.claims.iter();
        let bits = |own: &ClaimEffect| {
            own.effect.map(|effect| (effect.estimate.to_bits(), effect.std_error.to_bits()))
        };
        claims.map(|own| (own.hash.clone(), bits(own), own.n, own.fires)).collect()
    };
    let (mine, theirs) = (told(own), told(other));
    if mine == theirs && mine.iter().any(|(_, effect, ..)| effect.is_some()) {
        return Err(problem(
            own,
            other,
            |file| format!("holds the very effects of {file}, under another team's name"),
            "leave one of the two out",
        ));
    }
    Ok(())
}

fn definitions(own: &Given, other: &Given) -> Result<(), StudyError> {
    let (mine, theirs) = (&own.effects.definition, &other.effects.definition);
    if mine == theirs {
        return Ok(());
    }
    let said = |hash: &Option<String>| match hash {
        Some(hash) => format!("`{}…`", hash.get(..12).unwrap_or(hash)),
        None => "one that it does not say, as of a table of measures".to_owned(),
    };
    Err(problem(
        own,
        other,
        |file| format!("its phase definition is {}, that of {file} {}", said(mine), said(theirs)),
        "study both from their stores by the same `[phases]` in season.toml, and write the effects anew",
    ))
}

fn claims(
    own: &Given,
    other: &Given,
    claim: &ClaimEffect,
    known: &ClaimEffect,
) -> Result<(), StudyError> {
    let id = &claim.asked.id;
    if claim.hash != known.hash {
        return Err(problem(
            own,
            other,
            |file| {
                format!(
                    "claim `{id}` is not that of {file}: {}",
                    differing(&claim.asked, &known.asked)
                )
            },
            "agree on one text, or give the claims two names",
        ));
    }
    if claim.rules != known.rules {
        return Err(problem(
            own,
            other,
            |file| {
                format!(
                    "claim `{id}` is judged by rules {}, in {file} by {}",
                    claim.rules, known.rules
                )
            },
            "write both anew with one version of the program",
        ));
    }
    let is_by_season = claim.asked.outcome == measures::CLOCK_TO_FINISH_MIN.name
        && claim.asked.horizon_min.is_none();
    let (mine, theirs) = (own.effects.horizon_min, other.effects.horizon_min);
    if is_by_season && mine != theirs {
        return Err(problem(
            own,
            other,
            |file| {
                format!("claim `{id}` counts time up to {mine} min, in {file} up to {theirs} min")
            },
            "set the same `[study] horizon_min` in season.toml, or name `horizon_min` in the claim",
        ));
    }
    Ok(())
}

/// The keys in which two texts of a claim differ.
fn differing(own: &Claim, other: &Claim) -> String {
    let keys = |claim: &Claim| match serde_json::to_value(claim) {
        Ok(Value::Object(keys)) => keys,
        _ => serde_json::Map::new(),
    };
    let (own, other) = (keys(own), keys(other));
    let names: BTreeSet<&String> = own.keys().chain(other.keys()).collect();
    let shown = |value: Option<&Value>| value.map_or("nothing".into(), ToString::to_string);
    let differing = names.into_iter().filter(|key| own.get(*key) != other.get(*key));
    let told = differing.map(|key| {
        format!("`{key}` is {} here and {} there", shown(own.get(key)), shown(other.get(key)))
    });
    told.collect::<Vec<_>>().join(", ")
}
