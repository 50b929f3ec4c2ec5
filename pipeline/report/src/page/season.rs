//! The season report.

use cook::Units;

use super::{
    Anchors, account, by_hand, cautions, claims, compare, cooks, cost, first_look, forecast,
    levers, methods, probe, quality, scores, study, summary, trials, whole,
};
use crate::data::{Counted, ReportData};
use crate::document::{Block, Contents, Document, Section, inlines, link, paragraph};
use crate::units::{Quantity, count, number};
use crate::words::{self, plural};
use summary::Behind;

/// The season report.
pub(crate) fn season_page(data: &ReportData, units: Units) -> Document {
    let anchors = Anchors::new(&data.cooks);
    let found = &data.study;
    let season = &found.season;
    let first: [(&str, &str, Vec<Block>); 10] = [
        (
            "first-look",
            "What the logs show",
            if first_look::is_of(data) { first_look::shown(data, &anchors, units) } else { vec![] },
        ),
        ("cost", "What it costs", cost::in_sentences(&found.cost_side, units)),
        ("stall", "What goes with the stall", study::scatters(&found.drivers, units)),
        ("wrap", "The stall by wrap: described, not caused", by_wrap(data, units)),
        (
            "steady",
            "How steady the season was",
            [
                whole::consistency(&season.charts, &data.days(), units),
                compare::comparisons(&season.comparisons, units),
            ]
            .concat(),
        ),
        ("what", "What was cooked", what(data, units)),
        (
            "contests",
            "Contests and bests",
            [whole::contests(data, &anchors, units), scores::scores(&found.scores, units)].concat(),
        ),
        ("cooks", "The cooks", vec![cooks::cook_table(&data.cooks, &anchors, units)]),
        (
            "probe",
            "What the probes tell of food rules’ times and temperatures",
            probe::of_season(data, &anchors, units),
        ),
        ("cautions", "Cautions", cautions::standing()),
    ];
    let appendix: [(&str, &str, Vec<Block>); 13] = [
        ("claims", "The claims in full", claims::claims(&found.claims, units)),
        ("phases", "The phases of every cook", cooks::all_bars(&data.cooks, units)),
        ("curves", "The curves", cooks::curves(&data.cooks, &anchors, units)),
        ("costs", "What it costs, in numbers", cost::cost(&found.cost_side, units)),
        ("levers", "Other levers", levers::levers(&found.levers, units)),
        ("effects", "Effects", study::effects(found, units)),
        (
            "forecasts",
            "How good forecasts would have been",
            forecast::forecasts(found.forecast_backtest.as_ref()),
        ),
        ("groups", "Medians by group", study::groups(&found.groups, units)),
        (
            "quality",
            "Data quality",
            [by_hand::told(data), quality::of_season(&data.cooks, &anchors)].concat(),
        ),
        ("flow", "From logs to the cooks of each claim", account::flow(&found.claims)),
        ("not-used", "What was not used", account::not_used(data)),
        (
            "methods",
            "Definitions and methods",
            [methods::definitions(&data.phase_definition, units), methods::estimates()].concat(),
        ),
        ("stamp", "Making this report again", account::stamp(&found.provenance, &data.data_files)),
    ];
    // Of logs alone there is little behind the first look, and nobody looks for it.
    let is_folded = !first_look::is_of(data);
    let first = first.into_iter().map(|own| (false, own));
    let appendix = appendix.into_iter().map(|own| (is_folded, own));
    let seasons = words::listed(&data.seasons);
    let of_seasons = |before: &str, none: &str, between: &str| {
        if seasons.is_empty() { none.to_owned() } else { format!("{before}{between}{seasons}") }
    };
    let summary = data
        .summary_page
        .as_ref()
        .map(|page| inlines!["The pages above to print: ", link(page, "summary"), "."]);
    Document {
        title: of_seasons(&data.team, &format!("{}: season report", data.team), ": "),
        kicker: of_seasons("Season report", "Season report", ", "),
        name: data.team.clone(),
        subtitle: subtitle(data),
        caution: Some(cautions::line(Some("#cautions"))),
        opening: {
            let lots = (!found.trials.is_empty()).then(|| trials::trials(&found.trials, units));
            summary::sheets(data, Behind::Here, units).into_iter().chain(lots).collect()
        },
        contents: Some(Contents { lead: summary }),
        sections: first
            .chain(appendix)
            .filter(|(_, (id, _, blocks))| !blocks.is_empty() && has_something_to_say(id, data))
            .map(|(is_folded, (id, heading, blocks))| Section {
                is_folded,
                ..Section::new(id, heading, blocks)
            })
            .collect(),
        version: data.study.provenance.version.clone(),
        ..Document::default()
    }
}

/// Whether a section says anything of these cooks: of one cook, or of logs without a sheet, many
/// would only say that there is nothing.
fn has_something_to_say(id: &str, data: &ReportData) -> bool {
    let found = &data.study;
    match id {
        "what" => !first_look::is_of(data),
        // A table of cooks has no curves.
        "steady" | "phases" | "curves" | "cooks" | "probe" | "quality" | "not-used" => {
            !data.cooks.is_empty()
        }
        "claims" => !found.claims.is_empty(),
        "stall" => found.drivers.iter().any(|driver| !driver.lines.is_empty()),
        "wrap" => {
            found.season.finish_by_wrap.is_some()
                || data.summary.wraps.iter().any(|wrap| wrap.label != words::NOT_STATED)
        }
        "levers" => levers::are_told(&found.levers),
        "effects" => study::has_effects(&found.drivers),
        "cost" | "costs" => cost::is_told(&found.cost_side),
        "groups" => {
            found.groups.iter().any(|table| table.rows.iter().any(|row| row.level.is_some()))
        }
        // The best of one is no best.
        "contests" => {
            !data.contests.is_empty()
                || (data.cooks.len() > 1 && !data.bests.is_empty())
                || !found.scores.panels.is_empty()
                || !found.scores.entries.is_empty()
        }
        _ => true,
    }
}

fn subtitle(data: &ReportData) -> String {
    let s = &data.summary;
    let mut parts = vec![
        words::cooks_on_fires(s.cooks, s.fires),
        format!("{} hours of cooking", number(s.cooking_hours, 0)),
    ];
    parts.extend(words::dates(s.first_day.as_deref(), s.last_day.as_deref()));
    parts.join(" · ")
}

/// What was cooked: a paragraph, the glance, the measures.
fn what(data: &ReportData, units: Units) -> Vec<Block> {
    let s = &data.summary;
    let counted = |counts: &[Counted]| {
        let parts: Vec<String> =
            counts.iter().map(|c| format!("{} {}", count(c.count), c.label)).collect();
        words::listed(&parts)
    };
    let wraps = |counts: &[Counted]| {
        let parts: Vec<String> = counts
            .iter()
            .map(|c| match c.label.as_str() {
                "none" => format!("{} unwrapped", count(c.count)),
                words::NOT_STATED => format!("{} not stated", count(c.count)),
                label => format!("{} in {label}", count(c.count)),
            })
            .collect();
        words::listed(&parts)
    };
    let mut said = format!(
        "{} cooked {} of meat on {}{}. ",
        data.team,
        plural(s.cooks, "piece"),
        plural(s.fires, "fire"),
        words::dates(s.first_day.as_deref(), s.last_day.as_deref())
            .map_or_else(String::new, |dates| format!(", {dates}"))
    );
    if let Some(weight) = s.raw_weight_kg {
        let weight = Quantity::Mass.show(weight, units);
        said += &format!("They weighed {weight} raw, where stated. ");
    }
    for (name, told) in [
        ("Cuts", counted(&s.cuts)),
        ("Pits", counted(&s.pits)),
        ("Wraps", wraps(&s.wraps)),
        ("Kinds", counted(&s.kinds)),
    ] {
        if !told.is_empty() {
            said += &format!("{name}: {told}. ");
        }
    }
    said += &format!("The logs hold {} readings that could be used.", count(s.readings));
    said += &if data.time_zone.is_empty() {
        " Nobody said the time zone: times of day are in UTC.".to_owned()
    } else {
        format!(" Local times are in {}.", data.time_zone)
    };
    let tables = [whole::glance(&data.study.season.glance, units), study::summary(&s.rows, units)];
    std::iter::once(paragraph(said)).chain(tables.into_iter().flatten()).collect()
}

/// The stall and the time to the finish by wrap.
fn by_wrap(data: &ReportData, units: Units) -> Vec<Block> {
    let mut blocks = study::strips(&data.cooks, &data.study, units);
    blocks.extend(data.study.season.finish_by_wrap.iter().flat_map(whole::finish));
    blocks
}
