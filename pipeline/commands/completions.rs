//! Completion scripts.

use super::{Cli, Failure, Outcome, output};
use clap::CommandFactory;
use clap_complete::Shell;

/// Prints one shell's completion script.
pub(crate) fn completions(shell: Shell) -> Result<Outcome, Failure> {
    output::print(&script(shell)?)?;
    Ok(Outcome::Done)
}

/// The script's text.
pub(super) fn script(shell: Shell) -> Result<String, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "cookstudy", &mut script);
    Ok(String::from_utf8(script)?)
}
