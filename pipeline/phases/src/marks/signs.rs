//! What speaks against a stated mark, here and where a season is held against itself. Common practice,
//! no source.

/// A probe that goes from air into meat, or out of it, moves at least this far, °C.
pub const SUDDEN_C: f64 = 15.0;
/// A stated mark is not doubted within this of what the log shows, ms (45 min).
pub const FAR_OFF_MS: i64 = 2_700_000;
/// A core this much warmer than raw was on long before, °C.
pub const WARMED_C: f64 = 10.0;
/// A pull below this is doubted where the log goes on to show another, °C. Above it a team may have
/// pulled the meat and gone on cooking it.
pub const TOO_RAW_C: f64 = 62.0;
/// A core this far below its maximum came off long before, °C.
pub const COOLED_OFF_C: f64 = 8.0;
/// A pit colder than this has no fire, °C.
pub const LIT_ABOVE_C: f64 = 50.0;
/// A core rises by at most this after the pull, °C: a piece as hot outside as a hot pit makes it.
pub const CARRY_OVER_C: f64 = 9.0;
