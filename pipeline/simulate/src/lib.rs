//! Cooks with known truth, measured logs and the sample season.
