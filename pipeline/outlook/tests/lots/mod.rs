//! Trials of known truth, played from the first lot to the last look.

use outlook::trial::{Key, Looked, Offer, RULES, Variation, Wanted, draw, look, offer};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp1, StandardNormal};
use std::path::Path;
use study::lock::{LockedTrial, Spending, TrialDesign, TrialKind};
use study::result::trial::{TrialResult, TrialState};
use study::{Claims, MeasureTable, Verdict};

/// What matters, min.
pub(crate) const MATTERS: f64 = 30.0;
const AT: &str = "2026-05-01T08:00:00Z";
const OUTCOME: &str = "clock_to_finish_min";

/// What cooks scatter like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    Normal,
    /// A long tail of slow cooks (exponential).
    Skewed,
    /// One cook in six cut off before its finish.
    Censored,
}

/// The trial of so many pairs that is promised at least, and the scatter within a fire that it is promised for.
pub(crate) fn planned(pairs: usize) -> (Offer, f64) {
    let of = |sd: f64| {
        let variation = Variation {
            within_sd: sd,
            total_sd: 2.0 * sd,
            cooks: 40,
            fires_of_two: 20,
            is_assumed: false,
            minutes: None,
            kg: None,
        };
        offer(TrialKind::Pairs, &variation, MATTERS, 1.0).unwrap()
    };
    // The largest scatter at which these pairs will do.
    let (mut low, mut high) = (0.2 * MATTERS, 4.0 * MATTERS);
    while high - low > 0.25 {
        let between = 0.5 * (low + high);
        if of(between).is_some_and(|offer| offer.planned <= pairs) {
            low = between;
        } else {
            high = between;
        }
    }
    let mut offer = of(low).unwrap();
    assert!(offer.planned <= pairs);
    offer.planned = pairs;
    offer.looks = outlook::trial::looks(TrialKind::Pairs, pairs, 0.05);
    (offer, low)
}

/// Plays one trial in which the first side takes `truth` minutes longer.
pub(crate) fn play(offer: &Offer, sd: f64, shape: Shape, truth: f64, seed: u64) -> TrialResult {
    let claims = format!(
        "[[claim]]\nid = \"c\"\nsays = \"Oak is slower\"\nkind = \"compare\"\noutcome = \"{OUTCOME}\"\nbetter = \"higher\"\nby = \"wood\"\nlevels = [\"oak\", \"hickory\"]\nmatters = {MATTERS}\n"
    );
    let claim = Claims::parse(&claims, Path::new("claims.toml")).unwrap().claims.remove(0);
    let mut bytes = [0; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    let key = Key::new(bytes);
    let mut trial = LockedTrial {
        id: "c".into(),
        claim: claim.hash(),
        begun_at: AT.into(),
        key: key.hash(),
        definition: String::new(),
        design: TrialDesign {
            kind: TrialKind::Pairs,
            arms: ["oak".into(), "hickory".into()],
            outcome: OUTCOME.into(),
            matters: MATTERS,
            share: 1.0,
            planned: offer.planned,
            looks: offer.looks.clone(),
            spending: Spending::PLANNED,
            positions: Vec::new(),
            heavy_from_kg: None,
            rules: RULES,
        },
        lots: Vec::new(),
        looks: Vec::new(),
    };
    for pair in 0..offer.planned {
        let wanted = |side: &str| Wanted { cook: format!("{side}{pair}"), stratum: String::new() };
        draw(&mut trial, &key, &[wanted("a"), wanted("b")], AT).unwrap();
    }
    let mut random = ChaCha8Rng::seed_from_u64(seed ^ 0x5eed);
    let (mut minutes, mut reached, mut fire) = (Vec::new(), Vec::new(), 0.0);
    for lot in &trial.lots {
        if lot.number % 2 == 1 {
            let normal: f64 = StandardNormal.sample(&mut random);
            fire = 2.0 * sd * normal;
        }
        let noise: f64 = match shape {
            Shape::Skewed => {
                let tail: f64 = Exp1.sample(&mut random);
                tail - 1.0
            }
            _ => StandardNormal.sample(&mut random),
        };
        let value = 600.0 + fire + sd * noise + if lot.arm == "oak" { truth } else { 0.0 };
        let most = if shape == Shape::Censored { 600.0 + fire + sd } else { f64::INFINITY };
        minutes.push(Some(value.min(most)));
        reached.push(Some(value <= most));
    }
    let mut table = columns::Table::new();
    table.push("cook", trial.lots.iter().map(|lot| Some(lot.cook.clone())).collect());
    table.push(OUTCOME, minutes.into_iter().collect());
    table.push("finish_reached", reached.into_iter().collect());
    let table = MeasureTable::new(&table).unwrap();
    look(&mut trial, Looked { claim: &claim, table: &table, cards: &[], at: Some(AT) }).unwrap()
}

/// What became of many trials of one truth.
#[derive(Debug, Clone, Default)]
pub(crate) struct Played {
    pub(crate) trials: usize,
    pub(crate) yes: usize,
    pub(crate) too_small: usize,
    pub(crate) no: usize,
    pub(crate) reverse: usize,
    /// Trials with an interval of some look that lies above 0.
    pub(crate) shown: usize,
    pub(crate) covered: usize,
    pub(crate) stopped: usize,
    pub(crate) stopped_covered: usize,
    pub(crate) pairs: usize,
    /// Trials whose estimate lies above the truth.
    pub(crate) above: usize,
}

impl Played {
    pub(crate) fn add(&mut self, found: &TrialResult, truth: f64) {
        let effect = found.effect.as_ref().unwrap();
        let covers =
            effect.lo.is_none_or(|lo| lo <= truth) && effect.hi.is_none_or(|hi| truth <= hi);
        let stopped = found.state == TrialState::Stopped;
        self.trials += 1;
        self.yes += usize::from(found.verdict == Verdict::Yes);
        self.too_small += usize::from(found.verdict == Verdict::TooSmallToMatter);
        self.no += usize::from(found.verdict == Verdict::No);
        self.reverse += usize::from(found.verdict == Verdict::Reverse);
        self.shown +=
            usize::from(found.looks.iter().any(|look| look.lo.is_some_and(|lo| lo > 0.0)));
        self.covered += usize::from(covers);
        self.stopped += usize::from(stopped);
        self.stopped_covered += usize::from(stopped && covers);
        self.pairs += found.looks.last().map_or(0, |look| look.units);
        self.above += usize::from(effect.estimate > truth);
    }

    /// Verdicts that the truth makes wrong.
    pub(crate) fn wrong(&self, truth: f64) -> usize {
        let yes = if truth < MATTERS { self.yes } else { 0 };
        let reverse = if truth > -MATTERS { self.reverse } else { 0 };
        let none = if truth >= MATTERS { self.no + self.too_small } else { 0 };
        yes + reverse + none
    }
}
