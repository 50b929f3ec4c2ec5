//! An effect with its interval.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An effect with its interval: first minus second, or the change per step of a trend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// The estimate, in `unit`, raw sign.
    pub estimate: f64,
    /// Lower end of the interval, raw sign; null is open.
    pub lo: Option<f64>,
    /// Upper end of the interval, raw sign; null is open.
    pub hi: Option<f64>,
    /// Confidence level of the interval.
    pub level: f64,
    /// Unit of the outcome; empty where its name promises none.
    pub unit: String,
    /// Its standard error, where it has one.
    #[serde(default)]
    pub std_error: Option<f64>,
    /// Degrees of freedom of that error.
    #[serde(default)]
    pub df: Option<f64>,
    /// The estimate signed so that positive favours what is said.
    pub d: f64,
}
