//! Formulas of heat, water and air that the pipeline needs.
