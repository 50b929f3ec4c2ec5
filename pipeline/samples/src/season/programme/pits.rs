//! The team's pits.

/// One of the team's pits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TeamPit {
    /// A long offset.
    LongTom,
    /// A drum.
    Rumble,
    /// A cabinet.
    Pantry,
}

impl TeamPit {
    /// Its name in the sheet.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::LongTom => "Long Tom",
            Self::Rumble => "Rumble",
            Self::Pantry => "Pantry",
        }
    }

    /// Its kind in the sheet.
    pub(crate) fn cooker(self) -> &'static str {
        match self {
            Self::LongTom => "offset",
            Self::Rumble => "drum",
            Self::Pantry => "cabinet",
        }
    }

    /// Part of the names of its logs.
    pub(crate) fn slug(self) -> &'static str {
        match self {
            Self::LongTom => "long-tom",
            Self::Rumble => "rumble",
            Self::Pantry => "pantry",
        }
    }

    /// Ripple and wander, K, and convective coefficient, W/(m²·K): an offset is run by hand,
    /// a cabinet by itself.
    pub(crate) fn manners(self) -> (f64, f64, f64) {
        match self {
            Self::LongTom => (3.5, 4.0, 10.0),
            Self::Rumble => (1.5, 2.5, 9.2),
            Self::Pantry => (0.8, 1.0, 9.5),
        }
    }
}
