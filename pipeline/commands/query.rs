//! `query`: the tables asked in SQL.

use super::stage::{settings, units};
use super::{Failure, Format, Outcome, QueryArgs, output};
use stages::QuerySource;

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
