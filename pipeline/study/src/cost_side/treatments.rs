//! What is weighed: the treatments.

use crate::claims::{Claim, ClaimKind, Claims};
use crate::drivers::step;
use crate::error::StudyError;
use crate::result::cost::Standing;
use crate::rows::Covariate;
use crate::table::{ColumnKind, MeasureTable};
use columns::{measures, names};

const ARM: &str = measures::ARM.name;
const UNWRAPPED: &str = "none";

/// A treatment and what a difference in it may be said to be.
#[derive(Debug, Clone)]
pub(super) struct Treatment {
    pub(super) by: Covariate,
    pub(super) standing: Standing,
    /// The level to set the others against, if the team has one in mind.
    base: Option<String>,
    /// The step of a number.
    pub(super) per: f64,
}

impl Treatment {
    /// The level that the others are set against: the one in mind where it is among them, else the
    /// first.
    pub(super) fn base(&self, levels: &[String]) -> Option<String> {
        let wanted = self.base.as_ref().filter(|base| levels.contains(base));
        wanted.or(levels.first()).cloned()
    }
}

/// The treatments in the order shown.
pub(super) fn treatments(
    table: &MeasureTable,
    claims: &Claims,
) -> Result<Vec<Treatment>, StudyError> {
    let asked = |column: &str| {
        let mut claims = claims.claims.iter();
        claims.find(|claim| claim.by.as_deref() == Some(column))
    };
    let mut found: Vec<Treatment> = Vec::new();
    let arms = table.texts_or_missing(ARM)?;
    if arms.iter().any(Option::is_some) {
        found.push(Treatment {
            by: Covariate::Factor(ARM.into(), arms),
            standing: Standing::Randomised,
            base: asked(ARM).and_then(second_level),
            per: 1.0,
        });
    }
    if table.has(measures::WRAP_METHOD.name) {
        found.push(Treatment {
            by: Covariate::Factor(
                measures::WRAP_METHOD.name.into(),
                table.texts(measures::WRAP_METHOD.name)?,
            ),
            standing: Standing::Described,
            base: Some(UNWRAPPED.into()),
            per: 1.0,
        });
    }
    let numbers = [
        (measures::WRAP_AT_CORE_C.name, Standing::Described),
        (measures::PIT_EARLY_C.name, Standing::Association),
    ];
    for (column, standing) in numbers.into_iter().filter(|(column, _)| table.has(column)) {
        found.push(Treatment {
            by: Covariate::Numeric(column.into(), table.numbers(column)?),
            standing,
            base: None,
            per: step(column).0,
        });
    }
    for claim in &claims.claims {
        let Some(column) = claim.by.as_deref().filter(|column| table.has(column)) else { continue };
        if found.iter().any(|known| known.by.name() == column) {
            continue;
        }
        let numeric = claim.kind == ClaimKind::Trend && table.kind(column)? == ColumnKind::Numeric;
        found.push(Treatment {
            by: if numeric {
                Covariate::Numeric(column.into(), table.numbers(column)?)
            } else {
                Covariate::Factor(column.into(), table.texts(column)?)
            },
            standing: if names::derived_from_wrap(column) {
                Standing::Described
            } else {
                Standing::Association
            },
            base: second_level(claim),
            per: claim.step(),
        });
    }
    Ok(found)
}

/// The level that a claim sets the first against.
fn second_level(claim: &Claim) -> Option<String> {
    claim.levels.get(1).cloned()
}
