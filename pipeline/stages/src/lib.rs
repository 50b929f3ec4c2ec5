//! Runs the stages over a season folder and keeps what is current.
