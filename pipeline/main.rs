//! The `cookstudy` command: parse, call a stage, print.
//!
//! Data goes to stdout, prose and progress to stderr. Exit codes: 0 done (what was rejected
//! is printed); 1 a log was refused or needs an answer and the rest was done, or anything
//! was rejected under `--strict`; 2 nothing was done.

mod commands;

use commands::Outcome;
use std::process::ExitCode;

fn main() -> ExitCode {
    match commands::from_command_line() {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::DoneInPart) => ExitCode::from(1),
        Err(message) => {
            commands::say(&format!("cookstudy: {message}"));
            ExitCode::from(2)
        }
    }
}
