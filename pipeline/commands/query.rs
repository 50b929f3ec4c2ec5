//! `query`: the tables asked in SQL.

use super::stage::{settings, units};
use super::{Failure, Format, Outcome, UnitsChoice, output};
use clap::Args;
use stages::QuerySource;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "The question is read-only SQL: SELECT, joins, GROUP BY, HAVING, WITH, UNION, window functions.\nRows come in the order of ORDER BY, and by all columns where it leaves them equal or is not there;\nrows without a value come last. Text stands in 'single quotes', a name with a blank in it in\n\"double quotes\". Instants are compared with text: at > '2026-05-02T06:00Z', in UTC where nothing\nis said of the offset; a difference of instants is given in seconds.\n\ncsv and json are SI with instants in UTC; table speaks the units and clock of the season that the\ntables lie in (--settings names another), as far as a column comes from a table as it is.\n\nA store has the tables cooks, events, scores, phases, measures, history, degrees,\nmoved, moved_history, flags, channels, warnings, rejected, sources and readings; of readings a question can hold a million: name cooks\n(WHERE cook = 'may-1') or a season beside it.\n\nExamples:\n  cookstudy query --tables --store spring-2026/store\n  cookstudy query \"SELECT pit, COUNT(*) AS cooks, AVG(stall_min) FROM measures GROUP BY pit\" --store store\n  cookstudy query \"SELECT cook, at, value FROM events WHERE event = 'wrap' ORDER BY at\" --store store\n  cookstudy query \"SELECT m.cook, m.stall_min, COUNT(*) AS spritzes FROM measures m JOIN events e ON m.cook = e.cook WHERE e.event = 'spritz' GROUP BY m.cook, m.stall_min ORDER BY spritzes DESC\" --store store --format csv\n  cookstudy query \"SELECT MAX(temp_c) FROM readings WHERE cook = 'may-1' AND role = 'pit'\" --store store\n  cookstudy query \"SELECT claim, verdict, estimate FROM claims\" --data out/data"
)]
pub(crate) struct QueryArgs {
    /// The question
    #[arg(value_name = "SELECT …", required_unless_present = "tables")]
    sql: Option<String>,
    /// Ask the tables of this store, or of the store in this season folder
    #[arg(long, value_name = "DIR", required_unless_present = "data", conflicts_with = "data")]
    store: Option<PathBuf>,
    /// Ask the .parquet and .csv files of this folder, such as a season's out/data
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// List the tables with kind, unit and meaning of each column, in place of asking
    #[arg(long, conflicts_with = "sql")]
    tables: bool,
    /// Season settings, for units and clock of --format table
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Units of --format table, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// Answers a question, or lists what can be asked.
pub(crate) fn query(args: &QueryArgs) -> Result<Outcome, Failure> {
    let source = match (&args.store, &args.data) {
        (Some(store), _) => QuerySource::Store(store.clone()),
        (None, Some(data)) => QuerySource::Data(data.clone()),
        (None, None) => return Err("name a --store or --data".into()),
    };
    let Some(sql) = &args.sql else {
        output::print_table(&stages::query_tables(&source)?, args.format)?;
        return Ok(Outcome::Done);
    };
    let answer = stages::query(&source, sql)?;
    if args.format != Format::Table {
        output::print_table(answer.table(), args.format)?;
        return Ok(Outcome::Done);
    }
    let mut season = match &args.settings {
        None => stages::settings_beside(&source)?.unwrap_or_default(),
        path => settings(path.as_deref())?,
    };
    if let Some(choice) = args.units {
        season.units = units(choice);
    }
    output::print_aligned(&answer.for_people(&season))?;
    Ok(Outcome::Done)
}
