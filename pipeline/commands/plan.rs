//! `plan`: when to light the fire.

use super::{Failure, Format, Outcome, PlanArgs, Prior, output, say};
use cook::Season;
use stages::PlanRequest;
use std::time::{SystemTime, UNIX_EPOCH};

/// Plans cooks and says what cannot be kept.
pub(crate) fn plan(args: &PlanArgs) -> Result<Outcome, Failure> {
    let folder = &args.season;
    let is_season = folder.join("season.toml").is_file();
    let season = if is_season { stages::read_season(folder)? } else { Season::default() };
    let sheets = if args.sheet.is_empty() {
        let is_there = |name: &&String| {
            is_season && folder.join(name.split('#').next().unwrap_or(name)).is_file()
        };
        season.sheets.iter().filter(is_there).cloned().collect()
    } else {
        let absolute = |path| -> Result<String, Failure> {
            Ok(std::path::absolute(path)?.to_string_lossy().into_owned())
        };
        args.sheet.iter().map(absolute).collect::<Result<_, _>>()?
    };
    let typed = args.weight.is_some() || args.setpoint.is_some();
    let summary = stages::plan(&PlanRequest {
        folder: folder.clone(),
        season,
        sheets,
        cooks: args.cooks.clone(),
        turn_in: args.turn_in.clone(),
        certainty: args.certainty,
        weight: args.weight.clone(),
        pit: args.pit.clone(),
        setpoint: args.setpoint.clone(),
        wrap: args.wrap.clone(),
        bundled: args.prior == Prior::Bundled,
        now: args.now.clone(),
        clock_ms: SystemTime::now()
            .duration_since(UNIX_EPOCH)
            .map_or(0, |since| since.as_millis() as i64),
        check: args.check,
        // A cook that was typed is none of the season's.
        pit_page: is_season && !(args.cooks.is_empty() && typed),
    })?;
    let people = args.format == Format::Table;
    output::print_table(if people { &summary.people } else { &summary.table }, args.format)?;
    summary.notes.iter().for_each(|note| say(note));
    if let Some(path) = &summary.pit_page {
        say(&format!("wrote the milestones into {}", path.display()));
    }
    Ok(if summary.conflicts { Outcome::DoneInPart } else { Outcome::Done })
}
