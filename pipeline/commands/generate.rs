//! What is generated from the code: completions, man pages, schemas, sample data.
//!
//! For developers only (`cargo run --features developer -- generate`): the command that people get
//! holds none of the writers, and neither its help nor its completions speak of this verb.

use super::completions::script;
use super::{Cli, Failure, Outcome};
use clap::{Command, CommandFactory, Parser, ValueEnum};
use clap_complete::Shell;
use std::path::{Path, PathBuf};

/// Writes what is generated from the code: man pages, completions, schemas, sample data, the bundled past.
#[derive(Debug, Parser)]
struct Generate {
    /// Folder to write to: `docs/man`, `docs/completions`, `schemas` and `sample-data` below it
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
}

/// The folder to write to, where the command line asks for it.
pub(super) fn asked() -> Option<PathBuf> {
    let words = || std::env::args_os().skip(1);
    (words().next()? == "generate").then(|| Generate::parse_from(words()).out)
}

/// Writes all of it below a folder.
pub(crate) fn everything(out: &Path) -> Result<Outcome, Failure> {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for shell in [Shell::Bash, Shell::Fish, Shell::Zsh] {
        let name = shell.to_possible_value().map_or(String::new(), |v| v.get_name().to_owned());
        let path = format!("docs/completions/cookstudy.{name}");
        files.push((path, script(shell)?.into_bytes()));
    }
    man_pages(&Cli::command(), "cookstudy", &mut files)?;
    files.extend(
        stages::generated_schemas()
            .into_iter()
            .map(|(name, text)| (format!("schemas/{name}"), text.into_bytes())),
    );
    files.extend(
        sample_data()?.into_iter().map(|(name, bytes)| (format!("sample-data/{name}"), bytes)),
    );
    files.push(("pipeline/outlook/src/prior/bundled.txt.gz".into(), stages::bundled_prior()?));
    for (name, bytes) in files {
        stages::write_atomically(&out.join(name), &bytes)?;
    }
    Ok(Outcome::Done)
}

/// The sample seasons, with the lock as it stood after the first of them.
fn sample_data() -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let mut files = samples::sample_season();
    let text = |name: &str| -> Result<&str, Failure> {
        let file = files.iter().find(|(path, _)| path == name);
        Ok(str::from_utf8(&file.ok_or(name)?.1)?)
    };
    let lock = stages::sample_lock(text("claims.toml")?, text("sheet-2024.csv")?)?;
    files.push(("claims.lock".into(), lock.into_bytes()));
    Ok(files)
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
