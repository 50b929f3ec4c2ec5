//! Which cooks of the inputs come into the merged store: those of a team that was withdrawn stay away, and
//! a cook that lies in two stores is counted once.

use super::inputs::Source;
use super::named::of_team;
use crate::error::StageError;
use cook::{CookReadings, Role};
use crosscheck::{Curve, may_be_same, same_cook};
use rayon::prelude::*;
use rows::Fingerprint;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, HashSet};

/// Readings tell by themselves that two cooks are one if there are so many of a meat …
const FEWEST_READINGS: usize = 5;
/// … over so much, °C.
const FEWEST_RISE_C: f32 = 15.0;

/// A cook: the place of its store among the inputs, and its own there.
type At = (usize, usize);

/// What stays away.
#[derive(Debug, Default)]
pub(super) struct Selection {
    cooks: BTreeSet<At>,
    /// By store, logs that none but those cooks were read from.
    logs: Vec<HashSet<String>>,
    /// The cook that counts for each that lies in another store too, by their names in the merged one.
    counts_as: BTreeMap<String, String>,
    /// Things to know.
    pub(super) notes: Vec<String>,
}

impl Selection {
    pub(super) fn has_cook(&self, source: usize, place: usize) -> bool {
        !self.cooks.contains(&(source, place))
    }

    pub(super) fn has_log(&self, source: usize, path: &str) -> bool {
        !self.logs.get(source).is_some_and(|logs| logs.contains(path))
    }

    /// A cook that counts as another is known where the other is, under the other's name.
    pub(super) fn rename_known(&self, known: &mut BTreeMap<String, String>) {
        for (leaves, stays) in &self.counts_as {
            if known.remove(leaves).is_some() {
                known.entry(stays.clone()).or_default();
            }
        }
    }

    /// Takes the withdrawn teams out of the stores, and counts each of the other cooks once unless `twice`.
    pub(super) fn of(
        sources: &[Source],
        without: &BTreeSet<String>,
        twice: bool,
    ) -> Result<Self, StageError> {
        check_teams(sources, without)?;
        let mut this = Self::default();
        for (at, source) in sources.iter().enumerate() {
            let teams = source.teams.iter().enumerate();
            let gone = teams.filter(|(_, team)| without.contains(*team));
            this.cooks.extend(gone.map(|(place, _)| (at, place)));
        }
        if sources.len() < 2 && without.is_empty() {
            return Ok(this);
        }
        let all: Vec<At> = (0..sources.len())
            .flat_map(|source| (0..sources[source].records.len()).map(move |at| (source, at)))
            .filter(|&(source, at)| sources[source].records[at].log_start_ms.is_some())
            .collect();
        let seen =
            all.par_iter().map(|at| Seen::of(sources, *at)).collect::<Result<Vec<_>, _>>()?;
        if !twice && sources.len() > 1 {
            this.count_once(sources, &seen)?;
        }
        this.logs = vec![HashSet::new(); sources.len()];
        for seen in seen.iter().filter(|seen| this.cooks.contains(&seen.at)) {
            this.logs[seen.at.0].extend(seen.logs.iter().cloned());
        }
        for seen in seen.iter().filter(|seen| !this.cooks.contains(&seen.at)) {
            for log in &seen.logs {
                this.logs[seen.at.0].remove(log);
            }
        }
        Ok(this)
    }

    /// The cook whose card says more stays; of equals the one with more readings, then the first by name.
    fn count_once(&mut self, sources: &[Source], seen: &[Seen]) -> Result<(), StageError> {
        let mut order: Vec<&Seen> =
            seen.iter().filter(|seen| !self.cooks.contains(&seen.at)).collect();
        order.sort_by_cached_key(|seen| {
            (Reverse(seen.stated), Reverse(seen.readings), name(sources, seen.at))
        });
        let mut stay: Vec<&Seen> = Vec::new();
        for seen in order {
            let others: Vec<&&Seen> = stay.iter().filter(|other| other.at.0 != seen.at.0).collect();
            let found = others.par_iter().find_map_first(|other| match how(sources, other, seen) {
                Ok(None) => None,
                found => Some((other.at, found)),
            });
            let Some((other, how)) = found else {
                stay.push(seen);
                continue;
            };
            let (stays, leaves) = (name(sources, other), name(sources, seen.at));
            self.notes.push(format!(
                "`{stays}` and `{leaves}` are one cook ({}): it is counted once, by the card that says more, `{stays}`; if they are two, merge with --twice",
                how?.unwrap_or_default()
            ));
            self.counts_as.insert(leaves, stays);
            self.cooks.insert(seen.at);
        }
        Ok(())
    }
}

/// The withdrawn teams are there.
fn check_teams(sources: &[Source], without: &BTreeSet<String>) -> Result<(), StageError> {
    let known: BTreeSet<&str> =
        sources.iter().flat_map(|source| &source.teams).map(String::as_str).collect();
    let usage = |message: String| Err(StageError::Usage { message });
    if let Some(team) = without.iter().find(|team| !known.contains(team.as_str())) {
        let hint = cook::settings::nearest(team, known.iter().copied())
            .map_or(String::new(), |near| format!("; did you mean `{near}`?"));
        let teams: Vec<&str> = known.into_iter().collect();
        return usage(format!(
            "--without {team}: none of the stores has cooks of this team{hint} There are: {}",
            teams.join(", ")
        ));
    }
    if !known.is_empty() && known.iter().all(|team| without.contains(*team)) {
        return usage("--without: no team would be left".into());
    }
    Ok(())
}

/// A cook's name in the merged store.
fn name(sources: &[Source], (source, place): At) -> String {
    let source = &sources[source];
    of_team(source, &source.teams[place], &source.records[place].card.cook)
}

/// What tells one cook from another.
struct Seen {
    at: At,
    logs: Vec<String>,
    readings: usize,
    /// Fields that its card states.
    stated: usize,
    /// Hash of its meat's readings; none of too few to tell anything.
    content: Option<String>,
    curve: Option<Curve>,
}

impl Seen {
    fn of(sources: &[Source], at: At) -> Result<Self, StageError> {
        let readings = readings(sources, at)?;
        let card = &sources[at.0].records[at.1].card;
        let fields = columns::card::FIELDS.iter();
        let stated = fields.filter(|field| field.get(card) != columns::Value::Null).count();
        Ok(Self {
            at,
            readings: readings.len(),
            stated: stated + card.scores.len() + card.extra.len(),
            content: content(&readings),
            curve: Curve::of(&readings, card),
            logs: readings.sources,
        })
    }
}

fn readings(sources: &[Source], (source, place): At) -> Result<CookReadings, StageError> {
    let source = &sources[source];
    let card = &source.records[place].card;
    source.whole.expect(source.store.readings_files_of(&card.season, &card.cook))?;
    Ok(source.store.read_readings(&card.season, &card.cook)?)
}

/// Hash of a cook's readings but for names and for what its clock counts from.
fn content(readings: &CookReadings) -> Option<String> {
    let meats = || readings.channels.iter().filter(|channel| channel.role == Role::Meat);
    let tells = meats().any(|meat| {
        let temps = meat.temp_c.iter().copied();
        let highest = temps.clone().fold(f32::NEG_INFINITY, f32::max);
        meat.len() >= FEWEST_READINGS
            && highest - temps.fold(f32::INFINITY, f32::min) >= FEWEST_RISE_C
    });
    let first_ms = readings.first_ms().filter(|_| tells)?;
    let mut channels: Vec<String> = readings
        .channels
        .iter()
        .filter(|channel| matches!(channel.role, Role::Meat | Role::Pit))
        .map(|channel| {
            let mut hash = Fingerprint::new("readings of a channel", 1);
            hash.part(channel.role.as_str().as_bytes());
            for (at_ms, temp_c) in channel.at_ms.iter().zip(&channel.temp_c) {
                hash.part(&(at_ms - first_ms).to_le_bytes());
                hash.part(&temp_c.to_bits().to_le_bytes());
            }
            hash.finish()
        })
        .collect();
    channels.sort_unstable();
    Some(channels.concat())
}

/// In which way two cooks are one.
fn how(sources: &[Source], a: &Seen, b: &Seen) -> Result<Option<String>, StageError> {
    if a.content.is_some() && a.content == b.content {
        return Ok(Some("the same readings".to_owned()));
    }
    let (Some(a_curve), Some(b_curve)) = (&a.curve, &b.curve) else { return Ok(None) };
    if !may_be_same(a_curve, b_curve) {
        return Ok(None);
    }
    let card = |at: At| &sources[at.0].records[at.1].card;
    let (a_readings, b_readings) = (readings(sources, a.at)?, readings(sources, b.at)?);
    let Some(same) = same_cook((&a_readings, card(a.at)), (&b_readings, card(b.at))) else {
        return Ok(None);
    };
    let mut said = "the same curve".to_owned();
    if same.clock_ms != 0 {
        let minutes = (same.clock_ms.abs() + 30_000) / 60_000;
        // Rounded readings lie over each other within some minutes; zones differ by quarters of an hour.
        let minutes = if minutes < 60 { minutes } else { (minutes + 2) / 5 * 5 };
        let apart = match (minutes / (24 * 60), minutes / 60, minutes % 60) {
            (0, 0, 0) => format!("{} s", same.clock_ms.abs() / 1000),
            (0, 0, minutes) => format!("{minutes} min"),
            (0, hours, minutes) => format!("{hours} h {minutes:02}"),
            (1, ..) => "1 day".to_owned(),
            (days, ..) => format!("{days} days"),
        };
        said += &format!(", {apart} apart");
    }
    if same.core_c.abs() >= 0.5 {
        said += &format!(", {:.1} °C apart", same.core_c.abs());
    }
    Ok(Some(said))
}
