//! A team that withdraws its cooks: the merged season is judged with them and without.

use super::{MergeRequest, MergeSummary, join, old_marker};
use crate::error::StageError;
use crate::progress::Progress;
use crate::run::run;
use crate::study_stage::{LockFile, parse_study};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use store::write_atomically;
use study::result::ClaimResult;

/// Merges without the teams, and tells which verdicts are others then.
pub(super) fn withdraw(
    request: &MergeRequest,
    progress: &dyn Progress,
) -> Result<MergeSummary, StageError> {
    let teams: Vec<&str> = request.without.iter().map(String::as_str).collect();
    let teams = teams.join(", ");
    if request.anonymise {
        let mut summary = join(request, progress)?;
        summary.verdicts.push(format!(
            "without {teams}: claims stay at home, so there is no verdict to change; merge without --anonymise to see what depends on them"
        ));
        return Ok(summary);
    }
    let before = with_all(request, progress)?;
    let mut summary = join(request, progress)?;
    forget_names(&request.out.join("claims.lock"), &request.without)?;
    run(&request.out, None, progress)?;
    let after = verdicts(&request.out)?;
    summary.verdicts = changes(&teams, &before, &after);
    Ok(summary)
}

/// Takes the names of the teams' cooks out of the lock. It keeps knowing them by what they hold, so that none of
/// them confirms a claim if it comes back.
fn forget_names(lock: &Path, without: &BTreeSet<String>) -> Result<(), StageError> {
    if !lock.is_file() {
        return Ok(());
    }
    let mut locked = LockFile::read(lock)?.lock;
    let forget = |known: &mut BTreeMap<String, String>| {
        let is_theirs = |cook: &str| {
            let of =
                |team: &String| cook.strip_prefix(team).is_some_and(|rest| rest.starts_with('.'));
            without.iter().any(of)
        };
        let named = |(cook, content): (String, String)| {
            let is_known_without = !content.is_empty() && is_theirs(&cook);
            let short: String = content.chars().take(12).collect();
            (if is_known_without { format!("withdrawn-{short}") } else { cook }, content)
        };
        *known = std::mem::take(known).into_iter().map(named).collect();
    };
    for family in &mut locked.families {
        forget(&mut family.known);
        family.claims.iter_mut().for_each(|claim| forget(&mut claim.judged));
    }
    write_atomically(lock, locked.to_toml()?.as_bytes())?;
    Ok(())
}

/// The claims as all teams together answer them. Where the merged season has the teams already, it is
/// brought up to date; else they are judged beside it, so that nothing of them comes there.
fn with_all(
    request: &MergeRequest,
    progress: &dyn Progress,
) -> Result<BTreeMap<String, ClaimResult>, StageError> {
    let all = MergeRequest { without: BTreeSet::new(), ..request.clone() };
    let marker = old_marker(request)?;
    let has_them = marker
        .is_some_and(|marker| request.without.iter().all(|team| marker.teams.contains_key(team)));
    if has_them {
        join(&all, progress)?;
        run(&all.out, None, progress)?;
        return verdicts(&all.out);
    }
    let absolute =
        std::path::absolute(&request.out).map_err(|e| StageError::io(&request.out, e))?;
    let parent = absolute.parent().unwrap_or(Path::new("/"));
    std::fs::create_dir_all(parent).map_err(|e| StageError::io(parent, e))?;
    let beside = tempfile::Builder::new()
        .prefix(".cookstudy-with-all-")
        .tempdir_in(parent)
        .map_err(|e| StageError::io(parent, e))?;
    let all = MergeRequest { out: beside.path().to_owned(), ..all };
    join(&all, progress)?;
    run(&all.out, None, progress)?;
    verdicts(&all.out)
}

/// The claims of a season that was run, by name.
fn verdicts(folder: &Path) -> Result<BTreeMap<String, ClaimResult>, StageError> {
    let path = folder.join("out/study.json");
    let text = std::fs::read_to_string(&path).map_err(|e| StageError::io(&path, e))?;
    Ok(parse_study(&path, &text)?
        .claims
        .into_iter()
        .map(|claim| (claim.id.clone(), claim))
        .collect())
}

/// A line a verdict that is another one, and one for the rest.
fn changes(
    teams: &str,
    before: &BTreeMap<String, ClaimResult>,
    after: &BTreeMap<String, ClaimResult>,
) -> Vec<String> {
    let mut said = Vec::new();
    let mut same = 0;
    for (id, old) in before {
        match after.get(id) {
            Some(new) if new.verdict == old.verdict => same += 1,
            Some(new) => said.push(format!(
                "without {teams}: `{id}` is {} on {} cooks; with them it was {} on {}",
                new.verdict.heading().to_lowercase(),
                new.n,
                old.verdict.heading().to_lowercase(),
                old.n
            )),
            None => said
                .push(format!("without {teams}: `{id}` is not asked any more: only they asked it")),
        }
    }
    for (id, new) in after.iter().filter(|(id, _)| !before.contains_key(*id)) {
        said.push(format!(
            "without {teams}: `{id}` is {} on {} cooks",
            new.verdict.heading().to_lowercase(),
            new.n
        ));
    }
    if before.is_empty() && after.is_empty() {
        said.push(format!("without {teams}: there is no claim, so no verdict changes"));
    } else if said.is_empty() {
        said.push(format!("without {teams}: no verdict changes ({same} claims)"));
    } else if same > 0 {
        said.push(format!("{same} other verdicts stay"));
    }
    said
}
