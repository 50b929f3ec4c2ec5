//! `inspect`: how each log would be read.

use super::stage::settings;
use super::{Failure, Format, InspectArgs, Outcome, output, say};
use stages::{Column, Table};

/// Rejections shown of one log.
const REJECTED_SHOWN: usize = 10;

/// Shows how each log would be read; writes nothing but a layout asked for.
pub(crate) fn inspect(args: &InspectArgs) -> Result<Outcome, Failure> {
    let mut season = settings(args.settings.as_deref())?;
    if let Some(zone) = &args.tz {
        season.time_zone.clone_from(zone);
    }
    if args.save_layout.is_some() && args.logs.len() != 1 {
        return Err("--save-layout goes with one log".into());
    }
    if let Some(path) = args.save_layout.as_ref().filter(|path| path.exists()) {
        return Err(format!("{}: is there already and is left alone", path.display()).into());
    }
    let mut refused = 0;
    let mut rows: Vec<[String; 5]> = Vec::new();
    for inspection in stages::inspect(&args.logs, &season, &args.layout)? {
        match inspection.outcome {
            Ok(log) => {
                for evidence in &log.record.evidence {
                    rows.push([
                        inspection.shown_as.clone(),
                        evidence.what.clone(),
                        evidence.taken_as.clone(),
                        evidence.because.clone(),
                        evidence.setting.clone(),
                    ]);
                }
                if args.format == Format::Table {
                    output::print(&described(&inspection.shown_as, &log))?;
                }
                if let Some(path) = &args.save_layout {
                    stages::write_atomically(path, log.suggested_layout().to_toml().as_bytes())?;
                    say(&format!(
                        "wrote {}; name it in season.toml under `layouts`",
                        path.display()
                    ));
                }
            }
            Err(error) => {
                refused += 1;
                say(&error.to_string());
            }
        }
    }
    if args.format != Format::Table {
        let names = ["log", "what", "taken_as", "because", "setting"];
        let mut table = Table::new();
        for (index, name) in names.into_iter().enumerate() {
            let cells = rows.iter().map(|row| Some(row[index].clone())).collect();
            table.push(name, Column::Text(cells));
        }
        output::print_table(&table, args.format)?;
    }
    match refused {
        0 => Ok(Outcome::Done),
        n if n == args.logs.len() => Err("no log could be read".into()),
        _ => Ok(Outcome::DoneInPart),
    }
}

/// A log in words: decisions, channels, line account, the first rejections.
fn described(name: &str, log: &stages::Log) -> String {
    let mut lines = vec![name.to_owned()];
    for evidence in &log.record.evidence {
        lines.push(format!("  {}: {}", evidence.what, evidence.taken_as));
        lines.push(format!("      because {}", evidence.because));
        lines.push(format!("      decided otherwise by: {}", evidence.setting));
    }
    for channel in &log.channels {
        let (low, high) = channel
            .temp_c
            .iter()
            .fold((f32::INFINITY, f32::NEG_INFINITY), |(lo, hi), t| (lo.min(*t), hi.max(*t)));
        let range =
            if channel.is_empty() { String::new() } else { format!(", {low:.1} to {high:.1} °C") };
        let (name, role, count) = (&channel.name, channel.role, channel.len());
        lines.push(format!("  channel {name} ({role}): {count} readings{range}"));
    }
    let account = &log.record.account;
    lines.push(format!("  lines: {account}"));
    lines.push(format!(
        "  cells: {} readings, {} missing, {} rejected",
        account.readings, account.missing, account.rejected_cells
    ));
    for rejected in log.rejected.iter().take(REJECTED_SHOWN) {
        lines.push(format!(
            "  rejected: line {} {} `{}`",
            rejected.line, rejected.code, rejected.text
        ));
    }
    if log.rejected.len() > REJECTED_SHOWN {
        lines.push(format!("  … and {} more rejected", log.rejected.len() - REJECTED_SHOWN));
    }
    lines.extend(log.warnings.iter().map(|warning| format!("  note: {warning}")));
    lines.join("\n") + "\n"
}
