//! Cleaning, heating coefficient and phases of one cook.
