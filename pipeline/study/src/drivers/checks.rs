//! Whether a model can be believed: its residuals, and the cooks that it hangs on.

use super::fit::step;
use crate::error::StudyError;
use crate::regression::{Data, NotFitted, Regression};
use crate::result::driver::{InfluentialCook, ResidualChecks, WaldTest};
use stats::{ChiSquareTest, ErrorKind, JointTest, LeastSquares};

/// Beyond this many cooks no single one is looked for: it could not weigh much.
const MOST_LEFT_OUT: usize = 300;

/// Influential cooks that are named.
const NAMED: usize = 5;

impl WaldTest {
    pub(super) fn of(test: &JointTest) -> Self {
        Self {
            f: test.f,
            df: test.df,
            residual_df: crate::result::finite(test.residual_df),
            p: test.p_value,
        }
    }
}

/// What the residuals look like; `None` where there are too few, or none at all.
pub(super) fn residuals(
    data: &Data,
    regression: &Regression,
) -> Result<Option<ResidualChecks>, StudyError> {
    let seen: Vec<usize> = (0..data.y.len()).filter(|&row| data.observed[row]).collect();
    let residuals: Vec<f64> = seen.iter().map(|&row| regression.residuals[row]).collect();
    let n = residuals.len() as f64;
    let mean = residuals.iter().sum::<f64>() / n;
    let moment = |power: i32| residuals.iter().map(|e| (e - mean).powi(power)).sum::<f64>() / n;
    let variance = moment(2);
    if residuals.len() < 3 || variance <= 0.0 {
        return Ok(None);
    }
    let skewness = moment(3) / variance.powf(1.5);
    let excess_kurtosis = moment(4) / variance.powi(2) - 3.0;
    let jarque_bera = n / 6.0 * (skewness.powi(2) + excess_kurtosis.powi(2) / 4.0);
    let squares = Data { y: residuals.iter().map(|e| e * e).collect(), ..data.take(&seen) };
    let design = squares.design()?;
    let auxiliary = LeastSquares::fit(&design, &squares.y, ErrorKind::Classical);
    let equal_scatter_p = auxiliary.ok().map(|fit| {
        ChiSquareTest { statistic: n * fit.r_squared, df: design.terms().len() - 1 }.p_value()
    });
    Ok(Some(ResidualChecks {
        n: residuals.len(),
        skewness,
        excess_kurtosis,
        normality_p: ChiSquareTest { statistic: jarque_bera, df: 2 }.p_value(),
        equal_scatter_p,
    }))
}

/// The cooks without which an effect moves most.
pub(super) fn influential(
    data: &Data,
    regression: &Regression,
) -> Result<Vec<InfluentialCook>, StudyError> {
    let n = data.y.len();
    if n > MOST_LEFT_OUT {
        return Ok(Vec::new());
    }
    let terms = regression.estimates.terms();
    let mut found = Vec::new();
    for left_out in 0..n {
        let kept: Vec<usize> = (0..n).filter(|&row| row != left_out).collect();
        let without = match data.take(&kept).fit() {
            Ok(without) => without.estimates.terms(),
            Err(NotFitted::Refused(_)) => continue,
            Err(NotFitted::Failed(error)) => return Err(error),
        };
        let moves = terms.iter().zip(&without).filter(|(term, _)| term.name != stats::INTERCEPT);
        let farthest = moves
            .map(|(with, without)| {
                let moved = with.coefficient.estimate - without.coefficient.estimate;
                (moved / without.coefficient.std_error, with, without)
            })
            .max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let Some((moved, with, without)) = farthest else { continue };
        if moved.is_finite() && moved.abs() > 2.0 / (n as f64).sqrt() {
            let per = (!with.name.ends_with(']')).then(|| step(&with.name).0);
            found.push(InfluentialCook {
                cook: data.cooks[left_out].clone(),
                term: with.name.clone(),
                per,
                effect_with: with.coefficient.estimate * per.unwrap_or(1.0),
                effect_without: without.coefficient.estimate * per.unwrap_or(1.0),
                moved,
            });
        }
    }
    found.sort_by(|a, b| b.moved.abs().total_cmp(&a.moved.abs()).then(a.cook.cmp(&b.cook)));
    found.truncate(NAMED);
    Ok(found)
}
