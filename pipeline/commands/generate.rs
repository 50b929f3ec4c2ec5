//! What is generated from the code: completions, man pages, schemas, sample data.

use super::{Cli, Failure, Outcome, output};
use clap::{Command, CommandFactory, ValueEnum};
use clap_complete::Shell;
use std::path::Path;

/// Prints one shell's completion script.
pub(crate) fn completions(shell: Shell) -> Result<Outcome, Failure> {
    output::print(&completion_script(shell)?)?;
    Ok(Outcome::Done)
}

fn completion_script(shell: Shell) -> Result<String, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "cookstudy", &mut script);
    Ok(String::from_utf8(script)?)
}

/// Writes all of it below a folder.
pub(crate) fn everything(out: &Path) -> Result<Outcome, Failure> {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for shell in [Shell::Bash, Shell::Fish, Shell::Zsh] {
        let name = shell.to_possible_value().map_or(String::new(), |v| v.get_name().to_owned());
        let path = format!("docs/completions/cookstudy.{name}");
        files.push((path, completion_script(shell)?.into_bytes()));
    }
    man_pages(&Cli::command(), "cookstudy", &mut files)?;
    files.extend(
        stages::generated_schemas()
            .into_iter()
            .map(|(name, text)| (format!("schemas/{name}"), text.into_bytes())),
    );
    files.extend(
        stages::sample_files()?
            .into_iter()
            .map(|(name, bytes)| (format!("sample-data/{name}"), bytes)),
    );
    for (name, bytes) in files {
        stages::write_atomically(&out.join(name), &bytes)?;
    }
    Ok(Outcome::Done)
}

fn man_pages(
    command: &Command,
    name: &str,
    files: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    let mut page = Vec::new();
    let titled = command.clone().name(name.to_owned()).bin_name(name.replace('-', " "));
    // Without a date: the page must not change with the day it was made.
    clap_mangen::Man::new(titled).date("").render(&mut page)?;
    files.push((format!("docs/man/{name}.1"), page));
    for verb in command.get_subcommands().filter(|verb| !verb.is_hide_set()) {
        man_pages(verb, &format!("{name}-{}", verb.get_name()), files)?;
    }
    Ok(())
}
