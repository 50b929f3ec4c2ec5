//! What faster costs: differences of time, scores, yield and cost beside each other, and the core
//! temperature at which meat was felt to be tender.

use super::account::Counted;
use crate::effect::Effect;
use crate::units::Covariate;

/// Faster against worse.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CostReport {
    /// The treatments, in the order to show.
    pub treatments: Vec<CostTreatment>,
    /// The core temperature at which meat was felt to be tender.
    pub tender: TenderReport,
}

/// What a difference may be said to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CostStanding {
    /// Lots were drawn.
    Randomised,
    /// It follows from how the cook went.
    Described,
    /// It goes along with the outcome.
    #[default]
    Association,
}

/// The plain answer of one difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CostFinding {
    /// Better, allowing for all questions of its kind.
    Better,
    /// Worse, likewise.
    Worse,
    /// Better by its own interval alone.
    PerhapsBetter,
    /// Worse by its own interval alone.
    PerhapsWorse,
    /// The interval holds zero.
    #[default]
    CannotTell,
}

/// One treatment against every outcome.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CostTreatment {
    /// A name for anchors, unique among the treatments.
    pub id: String,
    /// What it is called, in the middle of a sentence.
    pub name: String,
    /// What a difference may be said to be.
    pub standing: CostStanding,
    /// What the models are adjusted for.
    pub adjusted_for: Vec<String>,
    /// Cooks of each level, over all outcomes the most.
    pub levels: Vec<Counted>,
    /// The differences, one a level against the base, or one per step.
    pub contrasts: Vec<CostContrast>,
    /// Outcomes without an answer, each with the reason.
    pub refused: Vec<(String, String)>,
    /// How many differences of its standing were asked in all.
    pub asked: usize,
}

/// One level against the base, or a step of a number.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CostContrast {
    /// The level and its base; `None` for a number.
    pub levels: Option<(String, String)>,
    /// The step of a number.
    pub per: Option<Covariate>,
    /// Every outcome that has an answer, time first.
    pub outcomes: Vec<CostDifference>,
}

/// One difference of one outcome.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CostDifference {
    /// The outcome, capitalised.
    pub outcome_name: String,
    /// Whether it is the time to the finish.
    pub is_time: bool,
    /// Whether less of it is better.
    pub less_is_better: bool,
    /// The difference, raw sign.
    pub effect: Effect,
    /// The plain answer.
    pub finding: CostFinding,
    /// Odds ratio of a better score with its ends.
    pub odds_ratio: Option<[Option<f64>; 3]>,
    /// A good score, and the change of its probability with its ends, in percentage points.
    pub good_score: Option<(f64, [Option<f64>; 3])>,
    /// The p value, and the same allowing for all questions of its kind.
    pub p: [f64; 2],
    /// The same from the model with a random intercept of the fire, where there is one.
    pub mixed: Option<Effect>,
    /// Whether the odds may not be proportional (p < 0.05).
    pub odds_doubted: bool,
    /// The cooks of each fire without which the interval would come to hold zero, or to leave it
    /// out; `None` where fires were not left out.
    pub changing: Option<Vec<Vec<String>>>,
}

/// The core temperature at which meat was felt to be tender.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TenderReport {
    /// All cooks, then by wrap and by cut.
    pub rows: Vec<TenderRow>,
    /// The distribution over all cooks: above, at the latest at (both °C), share from 0 to 1.
    pub steps: Vec<(Option<f64>, Option<f64>, f64)>,
    /// Level against base in words, and the difference of the mean temperature.
    pub differences: Vec<(String, Effect)>,
    /// Cooks left out, by reason.
    pub left_out: Vec<Counted>,
    /// Why there is nothing; `None` otherwise.
    pub reason: Option<String>,
}

/// One group of cooks.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TenderRow {
    /// Which cooks, in words.
    pub label: String,
    /// Cooks.
    pub cooks: usize,
    /// Fires.
    pub fires: usize,
    /// Cooks whose first test found them tender.
    pub tender_at_first: usize,
    /// Cooks that no test found tender.
    pub never_tender: usize,
    /// Temperatures by which 10, 50 and 90 % were tender, each with its ends, °C, without assuming
    /// a shape; empty where refused.
    pub turnbull: Vec<[Option<f64>; 3]>,
    /// The same of a normal distribution.
    pub normal: Vec<[Option<f64>; 3]>,
    /// Why there are none.
    pub reason: Option<String>,
}
