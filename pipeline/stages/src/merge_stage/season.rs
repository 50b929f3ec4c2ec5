//! The season folder around a merged store: settings, claims, and the lock that says which cooks
//! were known when each claim was written down.

use super::inputs::Source;
use super::named::of_team;
use super::selection::Selection;
use crate::error::StageError;
use crate::folder::read_season;
use crate::study_stage::{ClaimsFile, LockFile};
use cook::Season;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use store::write_atomically;
use study::lock::{Family, LockedClaim};
use study::{Claim, Claims, Lock};

/// Columns whose values bear the team's name in a merged store: claims cannot name them as before.
const RENAMED: [&str; 3] = ["pit", "fire", "cook"];

/// What the merged season takes over from the seasons it is made of.
#[derive(Debug, Default)]
pub(super) struct Carried {
    settings: Season,
    claims: Vec<Claim>,
    /// Families of the inputs' locks, their cooks under the names of the merged store.
    families: Vec<Family>,
    /// Things to know.
    pub(super) notes: Vec<String>,
}

/// One input's season folder.
struct Home<'a> {
    source: &'a Source,
    settings: Season,
    claims: Vec<Claim>,
    lock: Lock,
}

/// Reads what the inputs' season folders say; a bare store says nothing. Of an anonymised season
/// only scales of scores and constants are taken: claims are words of the team's own.
///
/// # Errors
/// Settings, claims or a lock that cannot be read.
pub(super) fn carried(
    sources: &[Source],
    selection: &Selection,
    without: &BTreeSet<String>,
    teams: &[&str],
    anonymise: bool,
) -> Result<Carried, StageError> {
    let mut homes = Vec::new();
    let stays = |source: &&Source| source.teams.iter().any(|team| !without.contains(team));
    let sources: Vec<&Source> =
        sources.iter().filter(|source| without.is_empty() || stays(source)).collect();
    for source in sources.iter().copied() {
        let Some(folder) = &source.season else { continue };
        let settings = read_season(folder)?;
        let path = settings.claims.as_ref().map(|name| folder.join(name));
        let claims = ClaimsFile::read(path.as_deref().filter(|path| path.is_file()))?.claims;
        let lock = folder.join("claims.lock");
        let lock = if lock.is_file() { LockFile::read(&lock)?.lock } else { Lock::default() };
        homes.push(Home { source, settings, claims: claims.claims, lock });
    }
    let mut carried = Carried::default();
    carried.settings(&homes, teams, anonymise);
    if anonymise {
        if homes.iter().any(|home| !home.claims.is_empty()) {
            carried.notes.push(
                "claims and their lock stay at home: they are in words of your own".to_owned(),
            );
        }
    } else {
        carried.claims(&homes);
        carried.families = families(&homes, &sources, without);
        for family in &mut carried.families {
            selection.rename_known(&mut family.known);
        }
    }
    Ok(carried)
}

impl Carried {
    /// Settings that all seasons share; the default, with a line that says so, where they differ.
    fn settings(&mut self, homes: &[Home<'_>], teams: &[&str], anonymise: bool) {
        let mut season = Season { team: teams.join(", "), ..Season::default() };
        (season.logs, season.sheets, season.events) = (Vec::new(), Vec::new(), Vec::new());
        for home in homes {
            for (name, scale) in &home.settings.scores {
                let known = season.scores.entry(name.clone()).or_insert_with(|| scale.clone());
                if *known != *scale {
                    self.notes.push(format!(
                        "[scores.{name}] of {} is another scale than before it; the first is kept, and such scores are not comparable",
                        home.source.shown.display()
                    ));
                }
            }
        }
        let mut differ = Vec::new();
        macro_rules! shared {
            ($($field:ident),*) => { $(
                if let [first, rest @ ..] = homes {
                    if rest.iter().all(|home| home.settings.$field == first.settings.$field) {
                        season.$field.clone_from(&first.settings.$field);
                    } else {
                        differ.push(stringify!($field));
                    }
                }
            )* };
        }
        shared!(units, phases, study, assume);
        // The zone would tell where.
        if anonymise {
            season.time_zone = Some("UTC".to_owned());
        } else {
            shared!(time_zone);
        }
        if !differ.is_empty() {
            self.notes.push(format!(
                "the seasons differ in {}; season.toml begins with the defaults there",
                differ.join(", ")
            ));
        }
        self.settings = season;
    }

    /// Claims of equal text once.
    fn claims(&mut self, homes: &[Home<'_>]) {
        let mut hashes = BTreeSet::new();
        let mut ids = BTreeSet::new();
        for home in homes {
            for claim in &home.claims {
                if !hashes.insert(claim.hash()) {
                    continue;
                }
                let shown = home.source.shown.display();
                let names = claim.by.as_deref().filter(|by| RENAMED.contains(by));
                if let Some(by) = names.filter(|_| !claim.levels.is_empty()) {
                    self.notes.push(format!(
                        "claim `{}` of {shown} is left out: it names a {by}, which bears its team's name here",
                        claim.id
                    ));
                    continue;
                }
                let mut claim = claim.clone();
                if !ids.insert(claim.id.clone()) {
                    let team = home.source.teams.first().map_or("", String::as_str);
                    let id = format!("{team}.{}", claim.id);
                    self.notes.push(format!(
                        "claim `{}` of {shown} says something else than one of that name before it; it is `{id}` here, which is a new claim",
                        claim.id
                    ));
                    claim.id.clone_from(&id);
                    if !ids.insert(id) {
                        continue;
                    }
                }
                self.claims.push(claim);
            }
        }
    }

    /// Writes what is not there yet: settings and claims that people edited stay as they are, and a
    /// claim that was locked here keeps its family.
    ///
    /// # Errors
    /// Claims or a lock there that cannot be read.
    pub(super) fn write(&self, folder: &Path) -> Result<bool, StageError> {
        let mut changed = false;
        let settings = folder.join("season.toml");
        if !settings.exists() {
            changed |= write_atomically(&settings, settings_text(&self.settings)?.as_bytes())?;
        }
        let lock_path = folder.join("claims.lock");
        let old =
            if lock_path.is_file() { LockFile::read(&lock_path)?.lock } else { Lock::default() };
        let claims_path = folder.join("claims.toml");
        let there =
            ClaimsFile::read(claims_path.is_file().then_some(claims_path.as_path()))?.claims;
        let known: BTreeSet<String> = there.claims.iter().map(Claim::hash).collect();
        let ids: BTreeSet<&str> = there.claims.iter().map(|claim| claim.id.as_str()).collect();
        // What was locked here and is not in the file was taken out by hand.
        let is_new = |claim: &&Claim| {
            let hash = claim.hash();
            !known.contains(&hash)
                && !ids.contains(claim.id.as_str())
                && old.family(&hash).is_none()
        };
        let new: Vec<Claim> = self.claims.iter().filter(is_new).cloned().collect();
        if !new.is_empty() || !claims_path.exists() {
            let before = std::fs::read_to_string(&claims_path).unwrap_or_else(|_| {
                "# Claims of the merged seasons, those of equal text once.\n".to_owned()
            });
            let text = toml_text(&Claims { claims: new })?;
            changed |= write_atomically(&claims_path, format!("{before}\n{text}").as_bytes())?;
        }
        let mut lock = old.clone();
        for family in &self.families {
            let claims: Vec<LockedClaim> = family
                .claims
                .iter()
                .filter(|claim| old.family(&claim.hash).is_none())
                .cloned()
                .collect();
            if !claims.is_empty() {
                lock.families.push(Family { claims, ..family.clone() });
            }
        }
        lock.share_out();
        if lock != old {
            changed |= write_atomically(&lock_path, lock.to_toml()?.as_bytes())?;
        }
        Ok(changed)
    }
}

/// The families of all locks. Families that share a claim become one, so that every claim stands in
/// one and none is judged more leniently than at home. A cook counts as known where its own lock knew
/// it; where that lock has not all the claims of the family, nobody can say which of its cooks came
/// first, and all count as known.
fn families(homes: &[Home<'_>], sources: &[&Source], without: &BTreeSet<String>) -> Vec<Family> {
    let mut joined: Vec<Vec<LockedClaim>> = Vec::new();
    for family in homes.iter().flat_map(|home| &home.lock.families) {
        let shares = |other: &Vec<LockedClaim>| {
            other.iter().any(|claim| family.claims.iter().any(|own| own.hash == claim.hash))
        };
        let mut whole: Vec<LockedClaim> = Vec::new();
        let (touched, apart): (Vec<_>, Vec<_>) = joined.into_iter().partition(shares);
        for claim in touched.into_iter().flatten().chain(family.claims.iter().cloned()) {
            if !whole.iter().any(|own| own.hash == claim.hash) {
                whole.push(claim);
            }
        }
        joined = apart;
        joined.push(whole);
    }
    let locks: BTreeMap<&Path, &Lock> =
        homes.iter().map(|home| (home.source.shown.as_path(), &home.lock)).collect();
    let known = |claims: &[LockedClaim]| {
        let mut known = BTreeMap::new();
        for source in sources {
            let seen: Vec<Option<&Family>> = claims
                .iter()
                .map(|claim| locks.get(source.shown.as_path())?.family(&claim.hash))
                .collect();
            let stays = |cook: &&str| !without.contains(team_of(source, cook));
            for (cook, content) in seen.iter().flatten().flat_map(|family| &family.known) {
                if stays(&cook.as_str()) {
                    known.insert(named(source, cook), content.clone());
                }
            }
            if seen.iter().any(Option::is_none) {
                let cooks = source.records.iter().map(|record| record.card.cook.as_str());
                for cook in cooks.filter(stays) {
                    known.entry(named(source, cook)).or_default();
                }
            }
        }
        known
    };
    // The cooks that a claim was judged on at home are not those of the merged season.
    let anew =
        |claim: LockedClaim| LockedClaim { judged: BTreeMap::new(), taken: Vec::new(), ..claim };
    let family = |claims: Vec<LockedClaim>| {
        let parts: Vec<&Family> = claims
            .iter()
            .flat_map(|claim| homes.iter().filter_map(|home| home.lock.family(&claim.hash)))
            .collect();
        let definitions: BTreeSet<&str> =
            parts.iter().filter_map(|part| part.definition.as_deref()).collect();
        Family {
            // The latest: what was cooked before some of its teams saw them confirms nothing.
            seen_at: parts.iter().max_by_key(|part| part.seen()).and_then(|p| p.seen_at.clone()),
            share: parts.iter().map(|part| part.share).fold(1.0, f64::min),
            // Of several none holds: joined, they equal no definition's hash.
            definition: (!definitions.is_empty())
                .then(|| definitions.into_iter().collect::<Vec<_>>().join("+")),
            known: known(&claims),
            claims: claims.into_iter().map(anew).collect(),
        }
    };
    joined.into_iter().map(family).collect()
}

/// A cook of a source under its name in the merged store; one that is there no longer by the team of
/// the others.
fn named(source: &Source, cook: &str) -> String {
    of_team(source, team_of(source, cook), cook)
}

fn team_of<'s>(source: &'s Source, cook: &str) -> &'s str {
    let place = source.records.iter().position(|record| record.card.cook == cook);
    source.teams.get(place.unwrap_or(0)).map_or("", String::as_str)
}

/// The keys of the settings that are not the default.
fn settings_text(season: &Season) -> Result<String, StageError> {
    let table = |season: &Season| toml::Table::try_from(season).map_err(unwritable);
    let default = table(&Season::default())?;
    let mut own = table(season)?;
    own.retain(|key, value| default.get(key) != Some(value));
    Ok(format!(
        "# The season that `cookstudy merge` made: store/ holds its cooks, `cookstudy run` begins at\n\
         # phases. Logs and sheets stay with the seasons it was made of; merge again to take them up.\n\n{}",
        toml::to_string_pretty(&own).map_err(unwritable)?
    ))
}

fn toml_text(claims: &Claims) -> Result<String, StageError> {
    toml::to_string_pretty(claims).map_err(unwritable)
}

fn unwritable(error: impl std::fmt::Display) -> StageError {
    StageError::Usage { message: format!("the merged season cannot be written: {error}") }
}
