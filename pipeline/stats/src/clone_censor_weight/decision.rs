//! A decision that subjects make or do not make in a period, as a pooled logistic regression.

use crate::design::Design;
use crate::double_double::DoubleDouble;
use crate::error::{StatsError, require_finite, require_length};
use crate::likelihood_errors::logistic;
use crate::logistic::maximum::{Binomial, scaled_rows};
use crate::orthogonal::Orthogonal;
use nalgebra::DVector;

/// The model of a decision: in which periods it was open, whether it was made, and what was known
/// at the start of each. It can be asked for the probability in any other row.
#[derive(Debug, Clone)]
pub struct Decision {
    name: String,
    basis: Orthogonal,
    /// The columns of the basis, row by row.
    rows: Vec<f64>,
    terms: usize,
    made: Vec<bool>,
    subject: Vec<usize>,
    asked: Vec<f64>,
    asked_of: Vec<usize>,
}

/// A fitted decision.
#[derive(Debug, Clone)]
pub(super) enum Fit {
    /// Every row had the same outcome: it was always (1) or never (0) made.
    Always(f64),
    Model {
        /// In the columns of the basis.
        parameters: DVector<f64>,
        /// In the columns of the design.
        coefficients: Vec<f64>,
        /// Whether outcomes were separated, so that Firth's penalty had to keep it finite.
        penalised: bool,
    },
}

impl Fit {
    pub(super) fn coefficients(&self) -> Option<&[f64]> {
        match self {
            Self::Always(_) => None,
            Self::Model { coefficients, .. } => Some(coefficients),
        }
    }

    pub(super) fn is_penalised(&self) -> bool {
        matches!(self, Self::Model { penalised: true, .. })
    }
}

impl Decision {
    /// A decision that was open in the rows of `design` (which wants an intercept); `made[i]` says
    /// whether it was made in row i, which belongs to `subject[i]`.
    ///
    /// # Errors
    /// Wrong lengths, no rows, or a column that is constant or collinear.
    pub fn new(
        name: &str,
        design: &Design,
        made: &[bool],
        subject: &[usize],
    ) -> Result<Self, StatsError> {
        require_length("the outcomes of a decision", design.rows(), made.len())?;
        require_length("the subjects of a decision", design.rows(), subject.len())?;
        if made.is_empty() {
            return Err(StatsError::Empty { what: format!("the decision `{name}`") });
        }
        let basis = Orthogonal::new(design)?;
        Ok(Self {
            name: name.to_owned(),
            rows: scaled_rows(&basis),
            terms: basis.len(),
            basis,
            made: made.to_vec(),
            subject: subject.to_vec(),
            asked: Vec::new(),
            asked_of: Vec::new(),
        })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// In how many of its rows it was made.
    pub fn times_made(&self) -> usize {
        self.made.iter().filter(|made| **made).count()
    }

    /// Registers a row of a subject, one value a term of the design as [`Design::encode`] gives,
    /// whose probability requirements may refer to by the number returned.
    ///
    /// # Errors
    /// A row of another length, or a value that is not finite.
    pub fn ask(&mut self, subject: usize, row: &[f64]) -> Result<usize, StatsError> {
        require_length(&format!("a row for `{}`", self.name), self.terms, row.len())?;
        require_finite(&self.name, row)?;
        self.asked.extend_from_slice(row);
        self.asked_of.push(subject);
        Ok(self.asked_rows() - 1)
    }

    /// How many rows were registered.
    pub(super) fn asked_rows(&self) -> usize {
        self.asked.len() / self.terms
    }

    pub(super) fn check(&self, subjects: usize) -> Result<(), StatsError> {
        let mut named = self.subject.iter().chain(&self.asked_of);
        match named.find(|&&subject| subject >= subjects) {
            None => Ok(()),
            Some(&subject) => Err(super::arm::no_such("subject", subject)),
        }
    }

    /// Fits with each subject counted so many times; sought from `near` if given. Where outcomes
    /// are separated Firth's penalty keeps the coefficients finite. `near` must have counted every subject
    /// that is counted now: outcomes that are separated in all subjects are so in any part of them, and
    /// no maximum is then looked for without the penalty.
    pub(super) fn fit(&self, times: &[f64], near: Option<&Fit>) -> Result<Fit, StatsError> {
        let weights: Vec<f64> = self.subject.iter().map(|&subject| times[subject]).collect();
        let counted = |wanted: bool| {
            self.made.iter().zip(&weights).any(|(made, weight)| *made == wanted && *weight > 0.0)
        };
        match (counted(true), counted(false)) {
            (true, false) => return Ok(Fit::Always(1.0)),
            (false, _) => return Ok(Fit::Always(0.0)),
            (true, true) => {}
        }
        let binomial = Binomial::new(&self.rows, &self.made, &weights);
        let start = match near {
            Some(Fit::Model { parameters, .. }) => parameters.clone(),
            _ => DVector::zeros(self.terms),
        };
        let plain = if near.is_some_and(Fit::is_penalised) {
            None
        } else {
            binomial.maximum_from(&start, false).or_else(|_| binomial.maximum(false)).ok()
        };
        if let Some(maximum) = plain {
            return Ok(self.model(maximum.parameters, false));
        }
        let maximum = binomial
            .maximum_from(&start, true)
            .or_else(|_| binomial.maximum(true))
            .map_err(|_| StatsError::NoConvergence {
                what: format!("the model of the decision `{}`", self.name),
            })?;
        Ok(self.model(maximum.parameters, true))
    }

    fn model(&self, parameters: DVector<f64>, penalised: bool) -> Fit {
        let root = (self.made.len() as f64).sqrt();
        let coordinates: Vec<DoubleDouble> =
            parameters.iter().map(|&value| DoubleDouble::from(value * root)).collect();
        let coefficients =
            self.basis.coefficients(&coordinates).into_iter().map(DoubleDouble::value).collect();
        Fit::Model { parameters, coefficients, penalised }
    }

    /// From the fit on all, those without each fold of subjects, to a Newton step; `None` where a
    /// step does not lead there.
    pub(super) fn step_without(
        &self,
        times: &[f64],
        all: &Fit,
        fold: impl Fn(usize) -> usize,
        folds: usize,
    ) -> Option<Vec<Fit>> {
        let Fit::Model { parameters, penalised, .. } = all else {
            return Some(vec![all.clone(); folds]);
        };
        let weights: Vec<f64> = self.subject.iter().map(|&subject| times[subject]).collect();
        let binomial = Binomial::new(&self.rows, &self.made, &weights);
        let fold = |row: usize| fold(self.subject[row]);
        let without = binomial.step_without(parameters, fold, folds, *penalised)?;
        Some(without.into_iter().map(|parameters| self.model(parameters, *penalised)).collect())
    }

    /// The probability in every registered row, by the fit that `fit_of` gives for its subject.
    pub(super) fn asked<'a>(&self, fit_of: impl Fn(usize) -> &'a Fit) -> Vec<f64> {
        let rows = self.asked.chunks_exact(self.terms).zip(&self.asked_of);
        rows.map(|(row, &subject)| match fit_of(subject) {
            Fit::Always(probability) => *probability,
            Fit::Model { coefficients, .. } => {
                logistic(row.iter().zip(coefficients).map(|(x, b)| x * b).sum())
            }
        })
        .collect()
    }
}
