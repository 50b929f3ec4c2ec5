//! Estimators on plain slices and matrices; knows nothing of cooking.
