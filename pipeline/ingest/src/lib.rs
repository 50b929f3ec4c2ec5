//! Logger files and sheets into readings, rejected rows and a line account.
