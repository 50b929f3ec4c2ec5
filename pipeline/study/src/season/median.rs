//! A median of some entries or cooks.

use crate::error::StudyError;
use crate::result::season::Median;
use stats::describe;

impl Median {
    /// The median of the values, with smallest and largest; `None` of none.
    ///
    /// # Errors
    /// A value that is not finite.
    pub(crate) fn of(values: &[f64]) -> Result<Option<Self>, StudyError> {
        if values.is_empty() {
            return Ok(None);
        }
        Ok(Some(Self {
            median: describe::median(values)?,
            min: values.iter().copied().fold(f64::INFINITY, f64::min),
            max: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            cooks: values.len(),
        }))
    }
}
