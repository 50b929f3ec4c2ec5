//! Baseline hazard and survival curves of a proportional-hazards fit.

use super::{Cox, Fitted};
use crate::error::{StatsError, require_finite, require_length};
use crate::survival::curve::{SurvivalCurve, SurvivalPoint};
use crate::survival::followup::case_weights;
use nalgebra::{DMatrix, DVector};
use std::ops::Range;

/// Cumulative baseline hazard of one stratum: with every covariate at zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Baseline {
    /// Label of the stratum; 0 where there are none.
    pub stratum: usize,
    /// Event times.
    pub times: Vec<f64>,
    /// Cumulative hazard up to and with each of them: Σ events/Σ exp(x′β) over those at risk
    /// (Breslow 1974), tied events as in the fit.
    pub cumulative_hazard: Vec<f64>,
}

impl Cox {
    /// Cumulative baseline hazards, by stratum.
    ///
    /// # Errors
    /// [`StatsError::Overflow`] where the data are so far from zero that the hazard at zero is no
    /// double; [`survival`](Self::survival) then still works for rows like those of the data.
    pub fn baseline(&self) -> Result<Vec<Baseline>, StatsError> {
        let fitted = &self.rows_at_risk;
        let origin = vec![0.0; self.terms()];
        let strata = fitted.sets.strata.iter().enumerate();
        strata
            .map(|(position, slots)| {
                let risk = fitted.relative(&origin, position).1.exp();
                let mut cumulative = 0.0;
                let cumulative_hazard: Vec<f64> = fitted.pass.hazard[slots.clone()]
                    .iter()
                    .map(|hazard| {
                        cumulative += hazard;
                        cumulative * risk
                    })
                    .collect();
                if cumulative_hazard.iter().any(|h| !h.is_finite() || *h == 0.0) {
                    return Err(StatsError::Overflow {
                        what: "the baseline hazard at covariates of zero".to_owned(),
                    });
                }
                Ok(Baseline {
                    stratum: fitted.sets.labels[position],
                    times: fitted.sets.times[slots.clone()].to_vec(),
                    cumulative_hazard,
                })
            })
            .collect()
    }

    /// Survival curve S(t) = exp(−H(t)) of a subject with the covariates `row` (one value a term;
    /// [`crate::Design::encode`] makes them) all along, in the stratum of that label. The label may
    /// be left out where there is one stratum.
    ///
    /// The standard error is S·se(H), with se(H) by the delta method from the events and the
    /// coefficients: Tsiatis (1981), Annals of Statistics 9, 93–108; Link (1984), Biometrics 40,
    /// 601–610. The covariance of the coefficients is the one that was asked for.
    ///
    /// # Errors
    /// A row of the wrong length or not finite; an unknown stratum.
    pub fn survival(
        &self,
        row: &[f64],
        stratum: Option<usize>,
    ) -> Result<SurvivalCurve, StatsError> {
        self.standardised_survival(&[row], None, stratum)
    }

    /// Mean of the survival curves of many subjects (one a row, with case weights if wanted): what
    /// the population of `rows` would experience if all had the covariates given. Setting one
    /// covariate to each of two values in all rows and comparing the curves, or their
    /// [`restricted means`](SurvivalCurve::restricted_mean), standardises the comparison over the
    /// other covariates (g-computation): Makuch (1982), Journal of Chronic Diseases 35, 437–443;
    /// Hernán & Robins (2020), Causal Inference: What If, chapter 13.
    ///
    /// The standard error takes the rows as given and is by the delta method, as for one subject;
    /// two such curves share their coefficients and baseline, so take the interval of a difference
    /// from a bootstrap.
    ///
    /// # Errors
    /// No rows; a row of the wrong length or not finite; bad weights; an unknown stratum.
    pub fn standardised_survival<R: AsRef<[f64]>>(
        &self,
        rows: &[R],
        weights: Option<&[f64]>,
        stratum: Option<usize>,
    ) -> Result<SurvivalCurve, StatsError> {
        let fitted = &self.rows_at_risk;
        let k = self.terms();
        if rows.is_empty() {
            return Err(StatsError::Empty { what: "the rows to predict for".to_owned() });
        }
        let weights = case_weights(weights, rows.len())?;
        let whole: f64 = weights.iter().sum();
        let position = self.stratum_position(stratum)?;
        let mut subjects = Vec::with_capacity(rows.len());
        for (row, weight) in rows.iter().zip(&weights) {
            let row = row.as_ref();
            require_length("the covariates of a row", k, row.len())?;
            require_finite("the covariates of a row", row)?;
            let (place, eta) = fitted.relative(row, position);
            subjects.push((place, eta.exp(), weight / whole));
        }
        let r = &fitted.basis.r;
        let covariance = r * self.estimates.covariance() * r.transpose();
        let slots = fitted.sets.strata[position].clone();
        let points = fitted.curve(&subjects, &covariance, slots);
        let last = fitted.sets.last[position];
        Ok(SurvivalCurve::new(points, last))
    }

    fn stratum_position(&self, stratum: Option<usize>) -> Result<usize, StatsError> {
        let labels = &self.rows_at_risk.sets.labels;
        let found = match stratum {
            None => (labels.len() == 1).then_some(0),
            Some(label) => labels.binary_search(&label).ok(),
        };
        found.ok_or_else(|| StatsError::UnknownName {
            name: match stratum {
                None => "default stratum".to_owned(),
                Some(label) => format!("stratum {label}"),
            },
            known: labels.iter().map(ToString::to_string).collect(),
        })
    }
}

impl Fitted {
    /// Coordinates in Q of covariates less the centre of a stratum, and their linear predictor
    /// relative to the largest in the stratum.
    fn relative(&self, row: &[f64], stratum: usize) -> (DVector<f64>, f64) {
        let centre = &self.basis.centres[stratum];
        let offset = DVector::from_fn(row.len(), |j, _| row[j] - centre[j]);
        let place = self.basis.r_inverse.transpose() * offset;
        let eta = place.dot(&self.gamma) - self.pass.shift[stratum];
        (place, eta)
    }

    /// The mean curve of subjects (coordinates, relative risk, weight).
    fn curve(
        &self,
        subjects: &[(DVector<f64>, f64, f64)],
        covariance: &DMatrix<f64>,
        slots: Range<usize>,
    ) -> Vec<SurvivalPoint> {
        let k = self.basis.len();
        let mut hazard = 0.0;
        let mut variance = 0.0;
        let mut mean = DVector::zeros(k);
        slots
            .map(|slot| {
                hazard += self.pass.hazard[slot];
                variance += self.pass.hazard_variance[slot];
                let own = &self.pass.mean_hazard[slot * k..(slot + 1) * k];
                mean.iter_mut().zip(own).for_each(|(sum, m)| *sum += m);
                // The mean curve moves by −slope · d(hazard) and by −along · d(coefficients).
                let (mut survival, mut slope) = (0.0, 0.0);
                let mut along = DVector::zeros(k);
                for (place, risk, weight) in subjects {
                    let own = weight * (-hazard * risk).exp();
                    survival += own;
                    if own > 0.0 {
                        slope += own * risk;
                        along.axpy(own * risk * hazard, place, 1.0);
                    }
                }
                along.axpy(-slope, &mean, 1.0);
                let of_coefficients = along.dot(&(covariance * &along));
                let std_error = (slope * slope * variance + of_coefficients).sqrt();
                SurvivalPoint { time: self.sets.times[slot], survival, std_error }
            })
            .collect()
    }
}
