//! The questions asked of the measure table: drivers, claims, verdicts.
