//! What somebody says, written down before looking: `claims.toml`.

pub mod arguments;
mod check;
mod columns;
mod fingerprint;
mod problem;
#[cfg(test)]
mod samples;
mod units;

pub(crate) use check::problems;
pub use problem::ClaimProblem;
pub use units::stored_name;

use crate::error::StudyError;
use cook::WrapMethod;
use cook::season::Better;
pub(crate) use fingerprint::hex;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Confirming cooks after which a claim is judged on them alone, unless it says otherwise.
pub const JUDGE_AFTER_COOKS: usize = 40;

/// The claims file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Claims {
    /// The claims, in the order of the file.
    #[serde(default, rename = "claim")]
    pub claims: Vec<Claim>,
}

/// The kind of question a claim asks.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ClaimKind {
    /// Two levels of a column: first minus second.
    Compare,
    /// A numeric column: change of the outcome per step.
    Trend,
    /// Two ways of deciding when to wrap.
    WrapTiming,
}

impl ClaimKind {
    /// The word in `claims.toml`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Compare => "compare",
            Self::Trend => "trend",
            Self::WrapTiming => "wrap-timing",
        }
    }

    /// Number of the rules by which a claim of this kind is judged. It is raised when, and only when, the
    /// same data could get another verdict: a sealed one then stands, and the new one beside it.
    pub fn rules(self) -> u32 {
        match self {
            Self::Compare | Self::Trend | Self::WrapTiming => 1,
        }
    }
}

/// The scale on which an outcome is modelled.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Scale {
    /// As it is: effects add.
    #[default]
    Identity,
    /// Its natural logarithm: effects multiply. Values must be above 0. The effect is
    /// given in the outcome's unit all the same.
    Log,
}

/// A way of deciding when to wrap. Exactly one of: a method with its core temperature and
/// grace, `any = true`, `never = true`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Strategy {
    /// What to wrap in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub method: Option<WrapMethod>,
    /// Core temperature at which to wrap, °C.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_core_c: Option<f64>,
    /// Core temperature at which to wrap, °F.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_core_f: Option<f64>,
    /// Minutes that the wrap may come later than that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grace_min: Option<f64>,
    /// No restriction: what this team does.
    #[serde(skip_serializing_if = "is_false")]
    pub any: bool,
    /// Never wrapped.
    #[serde(skip_serializing_if = "is_false")]
    pub never: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
fn is_false(value: &bool) -> bool {
    !value
}

fn default_judge_after_cooks() -> usize {
    JUDGE_AFTER_COOKS
}

/// One claim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Claim {
    /// Its name; unique in the file.
    pub id: String,
    /// What is said, in words.
    pub says: String,
    /// The kind of question.
    pub kind: ClaimKind,
    /// The measure or sheet column that it is about.
    pub outcome: String,
    /// Which way of the outcome favours what is said.
    pub better: Better,
    /// Smallest difference that anyone would act on, in the outcome's unit; above 0. For a
    /// trend: per `per` of `by`.
    pub matters: f64,
    /// `compare`: the column whose levels are compared; `trend`: a numeric column.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// `trend`: a step of `by` worth talking about, in its unit; above 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub per: Option<f64>,
    /// `compare`: the two levels, first minus second.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<String>,
    /// `wrap-timing`: the two strategies, first against second.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub strategies: Vec<Strategy>,
    /// Of a claim about `clock_to_finish_min`: how far the study clock runs, min. With it the
    /// question is the time to the finish, counted up to there at most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub horizon_min: Option<f64>,
    /// `wrap-timing`: the strategies leave the set-point where it was as well; else the fire is
    /// tended as this team does.
    #[serde(default, skip_serializing_if = "is_false")]
    pub setpoint_unchanged: bool,
    /// Columns to adjust for; numbers enter as they are, texts as treatment contrasts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub adjust: Vec<String>,
    /// Columns with a random intercept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub group: Vec<String>,
    /// The scale on which the outcome is modelled.
    #[serde(default)]
    pub scale: Scale,
    /// Confirming cooks after which the claim is judged on them alone.
    #[serde(default = "default_judge_after_cooks")]
    pub judge_after_cooks: usize,
}

impl Claims {
    /// Reads and checks the text of `claims.toml`; `path` is only for messages.
    ///
    /// # Errors
    /// Text that is not TOML, an unknown key (with the nearest known one), a value of the
    /// wrong kind, and everything that [`ClaimProblem`] knows except unknown columns, which
    /// need the table: [`Claims::check_columns`].
    pub fn parse(text: &str, path: &Path) -> Result<Self, StudyError> {
        let mut claims: Self = cook::settings::parse(text, path)?;
        claims.claims.iter_mut().for_each(units::into_stored);
        let problems = problems(&claims);
        if problems.is_empty() {
            Ok(claims)
        } else {
            Err(StudyError::Claims { path: path.to_owned(), problems })
        }
    }

    /// The JSON Schema of `claims.toml`.
    pub fn schema() -> serde_json::Value {
        schemars::schema_for!(Self).to_value()
    }
}

impl Claim {
    /// The SHA-256 of the claim, 64 hexadecimal digits.
    ///
    /// It is taken over a canonical form, not over the TOML text: white space, comments,
    /// the order of keys, `30` or `30.0`, and writing out a default change nothing. Every
    /// value counts, `id` and `says` included, and so does the order within a list: a claim
    /// whose words change is a new claim. Temperatures in °F and °C are different texts.
    pub fn hash(&self) -> String {
        fingerprint::hash(self)
    }

    /// The step of a trend, or 1.
    pub fn step(&self) -> f64 {
        self.per.unwrap_or(1.0)
    }

    /// +1 where a larger outcome favours what is said, −1 where a smaller one does.
    pub fn sign(&self) -> f64 {
        match self.better {
            Better::Higher => 1.0,
            Better::Lower => -1.0,
        }
    }
}

impl Strategy {
    /// The core temperature at which to wrap, °C.
    pub fn core_c(&self) -> Option<f64> {
        self.at_core_c.or_else(|| {
            self.at_core_f.map(|fahrenheit| cook::Celsius::from_fahrenheit(fahrenheit).value())
        })
    }
}
