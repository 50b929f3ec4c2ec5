//! The copies that follow one strategy, period by period.

use super::decision::Decision;
use crate::error::StatsError;

/// A strategy's copies: the periods that they stay in.
#[derive(Debug, Clone, PartialEq)]
pub struct Arm {
    pub(super) name: String,
    pub(super) periods: Vec<Period>,
    /// Positions of the periods in the order of their starts.
    pub(super) by_start: Vec<usize>,
    /// Positions of the periods in the order of their stops.
    pub(super) by_stop: Vec<usize>,
}

/// A period `(start, stop]` that a subject's copy stays in.
#[derive(Debug, Clone, PartialEq)]
pub struct Period {
    /// The subject.
    pub subject: usize,
    /// Its start.
    pub start: f64,
    /// Its stop.
    pub stop: f64,
    /// The kind of end that came at the stop, if one did.
    pub end: Option<usize>,
    /// What the strategy required of the subject in it; all of them were met.
    pub requirements: Vec<Requirement>,
}

/// What must happen in a period for a copy to stay, and so the probability that it stays: of
/// decisions with probability p a period in the row that was [asked](Decision::ask) for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Requirement {
    /// The decision is not made: (1 − p)^exposure.
    NotMade {
        /// Which decision.
        decision: usize,
        /// Which of its asked rows.
        asked: usize,
        /// Length of the period, in lengths of the periods of the decision's model.
        exposure: f64,
    },
    /// The decision is not made in another kind, q being the probability of the kind given that it
    /// is made: (1 − p(1 − q))^exposure.
    NotMadeOtherwise {
        /// Which decision.
        decision: usize,
        /// Which of its asked rows.
        asked: usize,
        /// The kind that is allowed.
        kind: Kind,
        /// As above.
        exposure: f64,
    },
    /// The decision is made: 1 − (1 − p)^exposure, times q where it must be of a kind.
    Made {
        /// Which decision.
        decision: usize,
        /// Which of its asked rows.
        asked: usize,
        /// The kind that is wanted, if one is.
        kind: Option<Kind>,
        /// As above.
        exposure: f64,
    },
}

/// The kind of a decision: another decision, on how, that is open only when the first is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// Which decision.
    pub decision: usize,
    /// Which of its asked rows.
    pub asked: usize,
}

impl Kind {
    fn probability(self, probabilities: &[Vec<f64>]) -> f64 {
        probabilities[self.decision][self.asked]
    }
}

impl Requirement {
    /// The probability that it is met, from the probabilities of each decision's asked rows.
    pub(super) fn probability(&self, probabilities: &[Vec<f64>]) -> f64 {
        match *self {
            Self::NotMade { decision, asked, exposure } => {
                (1.0 - probabilities[decision][asked]).powf(exposure)
            }
            Self::NotMadeOtherwise { decision, asked, kind, exposure } => {
                let other = 1.0 - kind.probability(probabilities);
                (1.0 - probabilities[decision][asked] * other).powf(exposure)
            }
            Self::Made { decision, asked, kind, exposure } => {
                let made = 1.0 - (1.0 - probabilities[decision][asked]).powf(exposure);
                made * kind.map_or(1.0, |kind| kind.probability(probabilities))
            }
        }
    }

    fn parts(&self) -> (usize, usize, Option<Kind>, f64) {
        match *self {
            Self::NotMade { decision, asked, exposure } => (decision, asked, None, exposure),
            Self::NotMadeOtherwise { decision, asked, kind, exposure } => {
                (decision, asked, Some(kind), exposure)
            }
            Self::Made { decision, asked, kind, exposure } => (decision, asked, kind, exposure),
        }
    }
}

impl Arm {
    /// An arm; the periods of a subject stand together, in the order of time.
    pub fn new(name: &str, periods: Vec<Period>) -> Self {
        let mut by_start: Vec<usize> = (0..periods.len()).collect();
        let mut by_stop = by_start.clone();
        by_start.sort_by(|&a, &b| periods[a].start.total_cmp(&periods[b].start));
        by_stop.sort_by(|&a, &b| periods[a].stop.total_cmp(&periods[b].stop));
        Self { name: name.to_owned(), periods, by_start, by_stop }
    }

    pub(super) fn check(&self, subjects: usize, decisions: &[Decision]) -> Result<(), StatsError> {
        let mut seen = vec![false; subjects];
        for (row, period) in self.periods.iter().enumerate() {
            let Period { subject, start, stop, .. } = *period;
            if subject >= subjects {
                return Err(no_such("subject", subject));
            }
            if !(start.is_finite() && stop.is_finite() && start < stop) {
                return Err(StatsError::EmptyInterval { row, start, stop });
            }
            let follows = row.checked_sub(1).map(|before| &self.periods[before]);
            match follows.filter(|before| before.subject == subject) {
                Some(before) if before.stop > start || before.end.is_some() => {
                    let what = format!("the periods of subject {subject} in arm `{}`", self.name);
                    return Err(StatsError::NotIncreasing { what, row });
                }
                None if seen[subject] => {
                    let what = format!("the periods of subject {subject} in arm `{}`", self.name);
                    return Err(StatsError::NotIncreasing { what, row });
                }
                _ => seen[subject] = true,
            }
            for requirement in &period.requirements {
                let (decision, asked, kind, exposure) = requirement.parts();
                require_asked(decisions, decision, asked)?;
                if let Some(kind) = kind {
                    require_asked(decisions, kind.decision, kind.asked)?;
                }
                if !(exposure.is_finite() && exposure > 0.0) {
                    return Err(StatsError::BadArgument {
                        name: "the exposure of a requirement",
                        value: exposure,
                        expected: "it is a length above zero",
                    });
                }
            }
        }
        Ok(())
    }
}

fn require_asked(decisions: &[Decision], decision: usize, asked: usize) -> Result<(), StatsError> {
    match decisions.get(decision) {
        None => Err(no_such("decision", decision)),
        Some(known) if asked >= known.asked_rows() => Err(no_such("asked row", asked)),
        Some(_) => Ok(()),
    }
}

pub(super) fn no_such(name: &'static str, position: usize) -> StatsError {
    StatsError::BadArgument {
        name,
        value: position as f64,
        expected: "there is none with this number, they count from zero",
    }
}
