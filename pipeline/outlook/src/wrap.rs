//! Wraps as far as they differ in how fast a cook goes on.

use cook::WrapMethod;
use std::fmt;

/// What the meat is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WrapClass {
    /// Nothing.
    Open,
    /// Foil, closed: hardly anything evaporates.
    Foil,
    /// Paper, a boat, and whatever else lets vapour through.
    Paper,
}

impl WrapClass {
    /// The class of a method.
    pub fn of(method: &WrapMethod) -> Self {
        match method {
            WrapMethod::None => Self::Open,
            WrapMethod::Foil => Self::Foil,
            WrapMethod::Paper | WrapMethod::Boat | WrapMethod::Other(_) => Self::Paper,
        }
    }

    /// A short stable word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Open => "none",
            Self::Foil => "foil",
            Self::Paper => "paper",
        }
    }
}

impl fmt::Display for WrapClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}
