//! The function by which looks spend the error.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The function by which looks spend the error, fixed before the first of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Spending {
    /// Next to nothing early on: O'Brien & Fleming's form by Lan & `DeMets` (1983).
    #[serde(rename = "obrien-fleming")]
    OBrienFleming,
}

impl Spending {
    /// That of every look that is planned now.
    pub const PLANNED: Self = Self::OBrienFleming;

    /// Its word in a lock.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::OBrienFleming => "obrien-fleming",
        }
    }

    /// The function itself.
    pub const fn function(self) -> stats::sequential::Spending {
        match self {
            Self::OBrienFleming => stats::sequential::Spending::OBrienFleming,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn its_word_is_the_one_that_is_written() {
        let written = serde_json::to_value(Spending::PLANNED).unwrap();
        assert_eq!(written, Spending::PLANNED.as_str());
    }
}
