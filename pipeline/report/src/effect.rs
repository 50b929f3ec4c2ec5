//! An effect of the study with what its numbers are, which the reader's units need.

use study::claims::Claim;
use study::result::ClaimResult;
use study::result::driver::DriverEffect;

use crate::names::{covariate, quantity_of};
use crate::units::{Covariate, Quantity};

/// An effect with its interval, in SI, before any conversion.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Effect {
    /// Difference of outcomes, or slope per ONE SI unit of the covariate; in the SI unit of
    /// `outcome`.
    pub estimate: f64,
    /// Lower end of the interval; `None` is open.
    pub lo: Option<f64>,
    /// Upper end of the interval; `None` is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval, for instance 0.95.
    pub level: f64,
    /// What the outcome's numbers are; effects convert as differences (no zero point).
    pub outcome: Quantity,
    /// For a slope: what it is per.
    pub per: Option<Covariate>,
    /// Cooks used.
    pub cooks: usize,
    /// Fires used.
    pub fires: usize,
}

impl Effect {
    /// The effect of a claim; none where nothing was estimated.
    pub(crate) fn of_claim(claim: &ClaimResult) -> Option<Self> {
        let effect = claim.effect.as_ref()?;
        let ends = (effect.estimate, effect.lo, effect.hi);
        Some(Self { level: effect.level, ..Self::on_the_scale_of(claim, ends, claim.n) })
    }

    /// Another estimate of what a claim asks, at the level of its own effect. The study tells a trend
    /// per its own step, this is per one unit.
    pub(crate) fn on_the_scale_of(
        claim: &ClaimResult,
        ends: (f64, Option<f64>, Option<f64>),
        cooks: usize,
    ) -> Self {
        let level = claim.effect.as_ref().map_or(0.9, |effect| effect.level);
        Self { level, cooks, fires: claim.fires, ..Self::asked(&claim.asked, ends) }
    }

    /// Numbers on the scale of what a claim asks, per its own step.
    pub(crate) fn asked(
        asked: &Claim,
        (estimate, lo, hi): (f64, Option<f64>, Option<f64>),
    ) -> Self {
        let by = asked.per.and(asked.by.as_ref());
        Self {
            estimate: estimate / asked.step(),
            lo: lo.map(|end| end / asked.step()),
            hi: hi.map(|end| end / asked.step()),
            outcome: quantity_of(&asked.outcome),
            per: by.map(|column| covariate(column, asked.per)),
            ..Self::default()
        }
    }

    /// The effect of a driver on an outcome: a slope per one SI unit, or a difference of levels.
    pub(crate) fn of_driver(
        outcome: &str,
        effect: &DriverEffect,
        by: &str,
        (cooks, fires): (usize, usize),
    ) -> Self {
        let step = effect.per.unwrap_or(1.0);
        Self {
            estimate: effect.estimate / step,
            lo: effect.lo.map(|end| end / step),
            hi: effect.hi.map(|end| end / step),
            level: effect.level,
            outcome: quantity_of(outcome),
            per: effect.per.is_some().then(|| covariate(by, None)),
            cooks,
            fires,
        }
    }
}
