//! How many lots it takes, from the team's own variation.

use crate::error::OutlookError;
use columns::{measures, names};
use rand_distr::{Distribution, Normal};
use stats::power::simulated_power;
use stats::sequential::{Look, Member, SequentialTest, Side, Unit, crossing, spending_boundary};
use stats::{Design, ErrorKind, LeastSquares, StatsError, describe};
use std::collections::BTreeMap;
use study::lock::{Spending, TrialKind};
use study::{Claim, MeasureTable, Verdict};

/// The chance to show a difference that matters: the usual power (Cohen 1988).
const POWER: f64 = 0.8;
/// Simulated trials for a number of pairs: a share of 0.8 is then known to 0.02.
const TRIALS: u32 = 500;
/// Pairs from which normal theory with a correction takes the place of simulation.
const MANY_PAIRS: usize = 16;
/// More pairs or blocks than this nobody cooks.
pub const LARGEST: usize = 120;
/// Fires of two meats below which their own scatter is not taken.
const FEWEST_FIRES: usize = 3;
/// Share of the variance that lies within a fire where the team has too few fires of two meats to tell.
/// An assumption; no source.
const ASSUMED_WITHIN: f64 = 0.5;
/// Parts of a trial at which it is looked at.
const LOOKS: [f64; 3] = [0.5, 0.75, 1.0];
/// Random ways to draw the lots in a simulated trial; one more is the one that happened.
const DRAWS: usize = 999;
/// Planned units that make a simulated trial draw ways at random.
const MANY: usize = 1_000;

/// The one-sided error of a trial with this share of its year's error.
pub fn alpha(share: f64) -> f64 {
    0.05 * share
}

/// How much outcomes scatter for this team, once what the claim adjusts for, the wrap and what is compared are
/// taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variation {
    /// Standard deviation between the meats of one fire.
    pub within_sd: f64,
    /// Standard deviation among single cooks.
    pub total_sd: f64,
    /// Cooks that it rests on.
    pub cooks: usize,
    /// Fires of two meats or more among them.
    pub fires_of_two: usize,
    /// Whether `within_sd` is assumed, since there are too few such fires.
    pub is_assumed: bool,
    /// Median minutes on the pit.
    pub minutes: Option<f64>,
    /// Median weight as it goes on, kg.
    pub kg: Option<f64>,
}

/// The scatter of the claim's outcome.
///
/// # Errors
/// An outcome that the table has not as numbers, or fewer than six cooks with it.
pub fn variation(table: &MeasureTable, claim: &Claim) -> Result<Variation, OutlookError> {
    let outcome = table.numbers(&claim.outcome)?;
    let bound = names::find(&claim.outcome).and_then(|column| column.bound);
    let bound = bound.filter(|bound| table.has(bound.by));
    let flags = match bound {
        Some(bound) => {
            table.flags(bound.by)?.into_iter().map(|f| f.map(|f| bound.is_bound(f))).collect()
        }
        None => vec![Some(false); outcome.len()],
    };
    let excluded = table.exclusions()?;
    let weights = table.numbers_or_missing(measures::TRIMMED_WEIGHT_KG.name)?;
    let wraps = table.texts_or_missing(measures::WRAP_METHOD.name)?;
    let compared = match claim.by.as_deref().filter(|by| table.has(by)) {
        Some(by) => table.texts(by)?,
        None => vec![None; outcome.len()],
    };
    let rows: Vec<usize> = (0..outcome.len())
        .filter(|&row| {
            outcome[row].is_some() && flags[row] == Some(false) && excluded[row].is_none()
        })
        .collect();
    if rows.len() < 6 {
        return Err(OutlookError::TooFewForATrial {
            outcome: claim.outcome.clone(),
            found: rows.len(),
        });
    }
    let y: Vec<f64> = rows.iter().filter_map(|&row| outcome[row]).collect();
    let middle = describe::median(&weights.iter().flatten().copied().collect::<Vec<_>>()).ok();
    let kg: Vec<f64> = rows.iter().map(|&row| weights[row].or(middle).unwrap_or(0.0)).collect();
    let group: Vec<String> = rows
        .iter()
        .map(|&row| {
            let word = |words: &[Option<String>]| words[row].clone().unwrap_or_default();
            format!("{}/{}", word(&wraps), word(&compared))
        })
        .collect();
    let residuals = residuals(&y, &kg, &group)?;
    let mut fires: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (&row, residual) in rows.iter().zip(&residuals) {
        fires.entry(table.fires()[row]).or_default().push(*residual);
    }
    let of_two = fires.values().filter(|fire| fire.len() > 1);
    let (mut squares, mut degrees) = (0.0, 0usize);
    for fire in of_two.clone() {
        let mean = fire.iter().sum::<f64>() / fire.len() as f64;
        squares += fire.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        degrees += fire.len() - 1;
    }
    let fires_of_two = of_two.count();
    let total_sd = describe::standard_deviation(&residuals)?;
    let is_assumed = fires_of_two < FEWEST_FIRES;
    let within_sd = if is_assumed {
        total_sd * ASSUMED_WITHIN.sqrt()
    } else {
        (squares / degrees as f64).sqrt()
    };
    if total_sd <= 0.0 || within_sd <= 0.0 {
        return Err(OutlookError::TooFewForATrial { outcome: claim.outcome.clone(), found: 0 });
    }
    let minutes = table.numbers_or_missing(measures::TOTAL_MIN.name)?;
    let minutes: Vec<f64> = minutes.into_iter().flatten().collect();
    Ok(Variation {
        within_sd,
        total_sd,
        cooks: rows.len(),
        fires_of_two,
        is_assumed,
        minutes: describe::median(&minutes).ok(),
        kg: middle,
    })
}

/// What is left of an outcome after weight and group, scaled up for the coefficients that were fitted. A group of one cook is
/// taken together with the others of its kind.
fn residuals(y: &[f64], kg: &[f64], group: &[String]) -> Result<Vec<f64>, StatsError> {
    let rare = |name: &String| group.iter().filter(|other| *other == name).count() < 3;
    let words: Vec<&str> =
        group.iter().map(|name| if rare(name) { "rare" } else { name.as_str() }).collect();
    let is_factor = words.iter().any(|word| *word != words[0]);
    let varies = kg.iter().any(|value| *value != kg[0]);
    let mut design = Design::new(y.len()).intercept()?;
    if varies {
        design = design.numeric("kg", kg)?;
    }
    if is_factor {
        design = design.factor("group", &words)?;
    }
    let fitted = LeastSquares::fit(&design, y, ErrorKind::Classical).map(|fit| fit.residuals);
    // Too few cooks for weight and group together: the mean alone.
    let (left, terms) = match fitted {
        Ok(left) if y.len() > design.terms().len() + 2 => (left, design.terms().len()),
        _ => {
            let mean = describe::mean(y)?;
            (y.iter().map(|value| value - mean).collect(), 1)
        }
    };
    let scale = ((y.len() - 1) as f64 / (y.len() - terms) as f64).sqrt();
    Ok(left.into_iter().map(|value| value * scale).collect())
}

/// The weight, kg, from which a cook counts as heavy: the median of the past.
///
/// # Errors
/// A column of weights that holds none.
pub fn heavy_from_kg(table: &MeasureTable) -> Result<Option<f64>, OutlookError> {
    let weights = table.numbers_or_missing(measures::TRIMMED_WEIGHT_KG.name)?;
    let weights: Vec<f64> = weights.into_iter().flatten().collect();
    // To a hundred grams: it is written into the lock and read by people.
    Ok(describe::median(&weights).ok().map(|kg| (kg * 10.0).round() / 10.0))
}

/// A trial that could be begun.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// How lots are drawn.
    pub kind: TrialKind,
    /// Pairs or blocks.
    pub planned: usize,
    /// Pairs or blocks at which it is looked at.
    pub looks: Vec<usize>,
    /// The chance to show a difference of what matters.
    pub power: f64,
    /// Standard deviation within a pair, or among single cooks.
    sd: f64,
    matters: f64,
    alpha: f64,
}

impl Offer {
    /// Cooks that it takes.
    pub fn cooks(&self) -> usize {
        self.planned * self.kind.lots()
    }

    /// Fires that it takes.
    pub fn fires(&self) -> usize {
        match self.kind {
            TrialKind::Pairs => self.planned,
            TrialKind::Blocks => self.cooks(),
        }
    }
}

/// The smallest trial that shows a difference of what matters four times in five, at this share of the year's error; `None`
/// where [`LARGEST`] pairs or blocks would not do. By the same token it says `yes` four times in five where the
/// difference is twice what matters.
///
/// # Errors
/// A difference or a share that is not above 0.
pub fn offer(
    kind: TrialKind,
    variation: &Variation,
    matters: f64,
    share: f64,
) -> Result<Option<Offer>, OutlookError> {
    let sd = match kind {
        TrialKind::Pairs => variation.within_sd,
        TrialKind::Blocks => variation.total_sd,
    };
    let alpha = alpha(share);
    let at = |planned: usize| -> Result<Offer, StatsError> {
        let looks = looks(kind, planned, alpha);
        let mut offer = Offer { kind, planned, looks, power: 0.0, sd, matters, alpha };
        offer.power = if planned * kind.lots() > 2 * MANY_PAIRS {
            by_normal_theory(&offer)?
        } else {
            simulated_power(TRIALS, 1, |random| {
                let units = units(&offer, matters, random);
                shows(&offer, &units)
            })?
        };
        Ok(offer)
    };
    let fewest = fewest(kind, alpha);
    let (mut short, mut enough) = (fewest.saturating_sub(1), fewest);
    while at(enough)?.power < POWER {
        if enough >= LARGEST {
            return Ok(None);
        }
        short = enough;
        enough = (enough + enough.div_ceil(2)).min(LARGEST);
    }
    while enough - short > 1 {
        let middle = usize::midpoint(short, enough);
        if at(middle)?.power < POWER { short = middle } else { enough = middle }
    }
    Ok(Some(at(enough)?))
}

/// The fewest pairs or blocks that can decide anything at this error: with fewer, no way to draw the lots is rare
/// enough.
pub fn fewest(kind: TrialKind, alpha: f64) -> usize {
    (1..64).find(|&planned| ways(kind).powi(planned) * alpha >= 1.0).unwrap_or(64) as usize
}

fn ways(kind: TrialKind) -> f64 {
    match kind {
        TrialKind::Pairs => 2.0,
        TrialKind::Blocks => 6.0,
    }
}

/// The pairs or blocks at which a trial of so many is looked at: after half, three quarters and all, as far as
/// so few lots could reject something.
pub fn looks(kind: TrialKind, planned: usize, alpha: f64) -> Vec<usize> {
    let mut looks: Vec<usize> =
        LOOKS.iter().map(|part| (part * planned as f64).ceil() as usize).collect();
    looks.dedup();
    looks.retain(|&look| {
        let spent = Spending::PLANNED.function().spent(alpha, look as f64 / planned as f64);
        look == planned || ways(kind).powi(look as i32) * spent >= 1.0
    });
    looks
}

/// Outcomes of a trial in which the first arm adds `effect`.
fn units(offer: &Offer, effect: f64, random: &mut rand_chacha::ChaCha8Rng) -> Vec<Unit> {
    let scatter = Normal::new(0.0, offer.sd).ok();
    let mut value = || scatter.as_ref().map_or(0.0, |scatter| scatter.sample(random));
    (0..offer.planned)
        .filter_map(|_| {
            let members = (0..offer.kind.lots()).map(|place| {
                let first = place % 2 == 0;
                let added = if first { effect } else { 0.0 };
                Member { value: value() + added, censored: false, first }
            });
            Unit::new(members.collect())
        })
        .collect()
}

fn taken(offer: &Offer) -> Vec<Look> {
    let information = |units: usize| units as f64 / offer.planned as f64;
    offer.looks.iter().map(|&units| Look { units, information: information(units) }).collect()
}

fn shows(offer: &Offer, units: &[Unit]) -> Result<bool, StatsError> {
    let looks = taken(offer);
    let test = SequentialTest::new(
        units,
        &looks,
        offer.alpha,
        Spending::PLANNED.function(),
        (MANY, DRAWS, 1),
    )?;
    Ok((0..looks.len()).rev().any(|look| test.rejects(0.0, look, Side::Above)))
}

/// The power by normal theory, with z²/2 pairs taken off for the scatter being estimated (Guenther 1981, "Sample
/// size formulas for normal theory t tests", The American Statistician 35, 243–244).
fn by_normal_theory(offer: &Offer) -> Result<f64, StatsError> {
    let t: Vec<f64> = offer.looks.iter().map(|&look| look as f64 / offer.planned as f64).collect();
    let upper = spending_boundary(Spending::PLANNED.function(), offer.alpha, &t, false)?;
    let z = upper.last().copied().unwrap_or(0.0);
    let pairs = (offer.planned * offer.kind.lots()) as f64 / 2.0 - 0.5 * z * z;
    let drift = offer.matters / offer.sd * (pairs.max(0.0) / 2.0).sqrt();
    Ok(crossing(&t, &upper, drift)?.iter().sum())
}

/// How a trial would come out, among a hundred.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Rehearsal {
    /// The true difference, in multiples of what matters.
    pub truth: f64,
    /// Trials that say `yes`.
    pub yes: f64,
    /// Trials that say `too-small-to-matter`.
    pub too_small: f64,
    /// Trials that say `no` or `reverse`.
    pub no: f64,
    /// Trials that stay open.
    pub open: f64,
    /// Pairs or blocks cooked, on average.
    pub units: f64,
}

/// Rehearses a trial on outcomes that scatter as the team's do, under true differences of none, of what
/// matters and of twice as much.
///
/// # Errors
/// As [`offer`].
pub fn rehearse(offer: &Offer) -> Result<Vec<Rehearsal>, OutlookError> {
    const REHEARSED: u32 = 200;
    let each = 100.0 / f64::from(REHEARSED);
    let mut all = Vec::new();
    for truth in [0.0, 1.0, 2.0] {
        let mut said = Rehearsal { truth, ..Rehearsal::default() };
        simulated_power(REHEARSED, 2, |random| {
            let units = units(offer, truth * offer.matters, random);
            let looks = taken(offer);
            let test = SequentialTest::new(
                &units,
                &looks,
                offer.alpha,
                Spending::PLANNED.function(),
                (MANY, DRAWS, 1),
            )?;
            let (last, verdict) = run(&test, &looks, offer.matters);
            said.units += looks[last].units as f64 / f64::from(REHEARSED);
            match verdict {
                Verdict::Yes => said.yes += each,
                Verdict::TooSmallToMatter => said.too_small += each,
                Verdict::No | Verdict::Reverse => said.no += each,
                Verdict::Open | Verdict::Refused => said.open += each,
            }
            Ok(true)
        })?;
        all.push(said);
    }
    Ok(all)
}

/// The look at which a trial ends, and what it says.
pub(super) fn run(test: &SequentialTest<'_>, looks: &[Look], matters: f64) -> (usize, Verdict) {
    let last = looks.len() - 1;
    let said = |look| verdict(test, look, matters, 1.0);
    let stopped = (0..last).find_map(|look| Some((look, said(look))).filter(|at| stops(at.1)));
    stopped.unwrap_or_else(|| (last, said(last)))
}

/// Whether a look before the last ends the trial.
pub(super) fn stops(verdict: Verdict) -> bool {
    matches!(verdict, Verdict::Yes | Verdict::Reverse | Verdict::TooSmallToMatter)
}

/// The verdict of a look by its repeated interval, which is not worked out: four tests say where it
/// lies. `sign` is that of the claim.
pub(super) fn verdict(test: &SequentialTest<'_>, look: usize, matters: f64, sign: f64) -> Verdict {
    let (up, down) =
        if sign > 0.0 { (Side::Above, Side::Below) } else { (Side::Below, Side::Above) };
    let above = |effect: f64| test.rejects(sign * effect, look, up);
    let below = |effect: f64| test.rejects(sign * effect, look, down);
    // Any interval that lies so against both edges has the same verdict.
    let lo = if above(matters) {
        matters
    } else if above(-matters) {
        0.0
    } else {
        -2.0 * matters
    };
    let hi = if below(-matters) {
        -matters
    } else if below(matters) {
        0.0
    } else {
        2.0 * matters
    };
    Verdict::judge(lo.min(hi), hi.max(lo), matters).unwrap_or(Verdict::Refused)
}
