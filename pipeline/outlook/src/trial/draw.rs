//! Lots and their chain.
//!
//! Every lot follows from a secret number that came from the operating system when the trial was begun,
//! the trial's name and the pair or block: who draws again draws the same. The names of a pair are sorted before,
//! so that the order in which they are typed says nothing. Each lot carries a hash over the one before it: a
//! lot that was changed, taken out or put in between shows.
//!
//! This shows tampering to whoever looks; it cannot prevent it: who has the key can work the lots out beforehand.

use crate::error::OutlookError;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use study::lock::{LockedTrial, Lot, TrialKind};

/// Letters and digits that nobody mistakes for one another.
const SIGNS: &[u8] = b"ACDEFGHJKLMNPQRTUVWXY34679";
/// Signs of a blind code.
const CODE: usize = 4;

/// The secret number of a trial.
#[derive(Clone, PartialEq, Eq)]
pub struct Key([u8; 32]);

impl Key {
    /// A key of 32 bytes.
    pub fn new(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// Reads its 64 hexadecimal digits.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        if text.len() != 64 || !text.is_ascii() {
            return None;
        }
        let mut bytes = [0; 32];
        for (place, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * place..2 * place + 2], 16).ok()?;
        }
        Some(Self(bytes))
    }

    /// Its 64 hexadecimal digits.
    pub fn to_hex(&self) -> String {
        hex(&self.0)
    }

    /// What a lock keeps of it.
    pub fn hash(&self) -> String {
        sha(&["cookstudy/trial-key/1", &self.to_hex()])
    }

    fn generator(&self, trial: &str, of: &str) -> ChaCha8Rng {
        let text = ["cookstudy/trial-lot/1", &self.to_hex(), trial, of].join("\n");
        let digest = Sha256::digest(text.as_bytes());
        let mut seed = [0; 32];
        seed.copy_from_slice(&digest);
        ChaCha8Rng::from_seed(seed)
    }
}

/// Nobody prints a key by accident.
impl std::fmt::Debug for Key {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str("Key(…)")
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        _ = write!(text, "{byte:02x}");
        text
    })
}

fn sha(parts: &[&str]) -> String {
    hex(&Sha256::digest(parts.join("\n").as_bytes()))
}

/// A cook that a lot is wanted for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// The cook.
    pub cook: String,
    /// Pit and weight class, within which blocks are drawn; says nothing of pairs.
    pub stratum: String,
}

/// The end of the chain: the last lot's hash, or that of the design before the first.
pub fn head(trial: &LockedTrial) -> String {
    trial.lots.last().map_or_else(|| start(trial), |lot| lot.chain.clone())
}

fn start(trial: &LockedTrial) -> String {
    let design = &trial.design;
    let looks: Vec<String> = design.looks.iter().map(usize::to_string).collect();
    sha(&[
        "cookstudy/trial/1",
        &trial.id,
        &trial.claim,
        &trial.begun_at,
        &trial.key,
        design.kind.as_str(),
        &design.arms.join("\t"),
        &design.outcome,
        &format!("{} {} {}", design.matters, design.share, design.planned),
        &looks.join(" "),
        design.spending.as_str(),
        &design.positions.join("\t"),
        &format!("{:?} {}", design.heavy_from_kg, design.rules),
    ])
}

fn link(before: &str, lot: &Lot) -> String {
    let position = lot.position.as_deref().unwrap_or_default();
    let number = lot.number.to_string();
    sha(&[before, &number, &lot.block, &lot.cook, &lot.arm, position, &lot.code, &lot.at])
}

/// Draws the lots of cooks and puts them at the end of the chain: of a pair, the two of its fire; of a trial of single cooks, one.
///
/// # Errors
/// Another number of cooks, or one that has a lot already.
pub fn draw(
    trial: &mut LockedTrial,
    key: &Key,
    wanted: &[Wanted],
    at: &str,
) -> Result<(), OutlookError> {
    let needed = match trial.design.kind {
        TrialKind::Pairs => 2,
        TrialKind::Blocks => 1,
    };
    let names: BTreeSet<&str> = wanted.iter().map(|wanted| wanted.cook.as_str()).collect();
    if wanted.len() != needed || names.len() != needed {
        return Err(OutlookError::Trial(match trial.design.kind {
            TrialKind::Pairs => format!(
                "{} cook{} named, but this trial draws for the two of one fire: name both, such as `cookstudy trial next may-1 may-2`",
                names.len(),
                if names.len() == 1 { " was" } else { "s were" }
            ),
            TrialKind::Blocks => "this trial draws for one cook at a time: name one".into(),
        }));
    }
    if let Some(lot) = trial.lots.iter().find(|lot| names.contains(lot.cook.as_str())) {
        return Err(OutlookError::Trial(format!(
            "{} has its lot already ({}, number {}): a cook has one lot",
            lot.cook, lot.arm, lot.number
        )));
    }
    let mut sorted: Vec<&Wanted> = wanted.iter().collect();
    sorted.sort_by(|a, b| a.cook.cmp(&b.cook));
    let block = next_block(trial, &sorted[0].stratum);
    let drawn = fall(trial, key, &block);
    let place = trial.lots.iter().filter(|lot| lot.block == block).count();
    for (offset, wanted) in sorted.iter().enumerate() {
        let (arm, position) = drawn[place + offset].clone();
        let number = trial.lots.len() + 1;
        let mut lot = Lot {
            number,
            block: block.clone(),
            cook: wanted.cook.clone(),
            arm,
            position,
            code: code(trial, key, number),
            at: at.to_owned(),
            chain: String::new(),
        };
        lot.chain = link(&head(trial), &lot);
        trial.lots.push(lot);
    }
    Ok(())
}

/// The pair that is next, or the block that is open in a stratum.
fn next_block(trial: &LockedTrial, stratum: &str) -> String {
    match trial.design.kind {
        TrialKind::Pairs => format!("pair-{}", trial.lots.len() / trial.design.kind.lots() + 1),
        TrialKind::Blocks => {
            let of_stratum = |lot: &&Lot| {
                lot.block.rsplit_once('-').is_some_and(|(before, _)| before == stratum)
            };
            let drawn = trial.lots.iter().filter(of_stratum).count();
            format!("{stratum}-{}", drawn / trial.design.kind.lots() + 1)
        }
    }
}

/// How the lots of a pair or block fall: arm and place, in the order in which they are handed out.
fn fall(trial: &LockedTrial, key: &Key, block: &str) -> Vec<(String, Option<String>)> {
    let design = &trial.design;
    let mut random = key.generator(&trial.id, block);
    let size = design.kind.lots();
    let mut arms: Vec<String> = (0..size).map(|place| design.arms[place % 2].clone()).collect();
    arms.shuffle(&mut random);
    let mut places: Vec<Option<String>> = match (design.kind, design.positions.len()) {
        (_, 0) => vec![None; size],
        (TrialKind::Pairs, 2..) => {
            let mut positions = design.positions.clone();
            positions.shuffle(&mut random);
            positions.into_iter().take(size).map(Some).collect()
        }
        (_, many) => (0..size)
            .map(|_| Some(design.positions[random.random_range(0..many)].clone()))
            .collect(),
    };
    arms.into_iter().zip(places.drain(..)).collect()
}

fn code(trial: &LockedTrial, key: &Key, number: usize) -> String {
    let mut random = key.generator(&trial.id, &format!("code {number}"));
    loop {
        let code: String =
            (0..CODE).map(|_| char::from(SIGNS[random.random_range(0..SIGNS.len())])).collect();
        if trial.lots.iter().all(|lot| lot.code != code) {
            return code;
        }
    }
}

/// A hash over the first looks of a trial, as they were kept.
pub fn seal(trial: &LockedTrial, looks: usize) -> String {
    let kept = trial.looks.iter().take(looks).map(|look| {
        let outcomes = look.outcomes.iter().map(|(cook, outcome)| format!("{cook}\t{outcome}"));
        let parts: Vec<String> = look.blocks.iter().cloned().chain(outcomes).collect();
        sha(&[&look.at, &parts.join("\n")])
    });
    let kept: Vec<String> = kept.collect();
    sha(&[&start(trial), &kept.join("\n")])
}

/// What the file of the key knows of a trial.
#[derive(Debug, Clone, Copy)]
pub struct Kept<'a> {
    /// The key.
    pub key: &'a Key,
    /// Lots drawn.
    pub lots: usize,
    /// The end of their chain.
    pub head: &'a str,
    /// Looks taken; a look is written into the lock first, so that there may be one more.
    pub looks: usize,
    /// Their [`seal`].
    pub seal: &'a str,
}

/// What is not as it was drawn or looked at, one sentence each: the chain by itself, and with the key whether the
/// lots are those that it gives, and whether all looks are there as they were taken.
pub fn check(trial: &LockedTrial, kept: Option<Kept<'_>>) -> Vec<String> {
    let mut found = Vec::new();
    let mut before = start(trial);
    for (place, lot) in trial.lots.iter().enumerate() {
        if lot.number != place + 1 || lot.chain != link(&before, lot) {
            found.push(format!(
                "claims.lock: the lots of the trial `{}` are not as they were drawn, from number {} on (cook {}); put the file back as it was",
                trial.id,
                place + 1,
                lot.cook
            ));
            break;
        }
        before.clone_from(&lot.chain);
    }
    let Some(Kept { key, lots, head: end, looks, seal: sealed }) = kept else { return found };
    if key.hash() != trial.key {
        found.push(format!(
            "trial.key is not the key that the trial `{}` was begun with; put the file back as it was",
            trial.id
        ));
        return found;
    }
    if lots != trial.lots.len() || end != head(trial) {
        found.push(format!(
            "claims.lock has {} lots of the trial `{}`, but {lots} were drawn: one of the files is older than the other, or lots were taken out",
            trial.lots.len(),
            trial.id
        ));
    }
    if looks > trial.looks.len() || (looks > 0 && seal(trial, looks) != sealed) {
        found.push(format!(
            "claims.lock: the looks of the trial `{}` are not those that were taken; put the file back as it was",
            trial.id
        ));
    }
    let mut handed: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    for lot in &trial.lots {
        let place = handed.entry(&lot.block).or_default();
        let drawn = fall(trial, key, &lot.block);
        let is_so =
            drawn.get(*place).is_some_and(|(arm, at)| *arm == lot.arm && *at == lot.position);
        *place += 1;
        if !is_so {
            found.push(format!(
                "claims.lock: lot {} of the trial `{}` (cook {}) is not the one that the key gives",
                lot.number, trial.id, lot.cook
            ));
        }
    }
    found
}
