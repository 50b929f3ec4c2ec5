//! What goes with the stall: scatter plots, strip plots, the table of effects and the tables by
//! group.

use columns::measures;
use cook::Units;
use study::result::driver::{CookSet, Driver, DriverEffect, DriverLine};
use study::result::group::{GroupRow, GroupTable};
use study::result::summary::Spread;
use study::result::{LeftOut, Model, StudyResult};

use crate::data::CookReport;
use crate::document::{
    Block, Cell, Column, Figure, FigureForm, Inlines, Table, heading, heading_at, list, numbers,
    paragraph, text,
};
use crate::effect::Effect;
use crate::figure::{MAX_NAMED_POINTS, Strip, StripGroup, scatter, strip};
use crate::names::{name_of, name_within, quantity_of};
use crate::units::count;
use crate::words::{self, ShownEffect, plural};

/// Fewest values for a median to be told.
const FEWEST_FOR_A_MEDIAN: usize = 3;

/// Level of the bands of the lines.
const BAND_LEVEL: f64 = 0.95;

/// Every line of every driver, each drawn.
pub(super) fn scatters(drivers: &[Driver], units: Units) -> Vec<Block> {
    let grids = drivers.iter().filter(|driver| !driver.lines.is_empty()).flat_map(|driver| {
        let mut lines: Vec<&DriverLine> = driver.lines.iter().collect();
        lines.sort_by_key(|line| FIRST.iter().position(|by| *by == line.by).unwrap_or(FIRST.len()));
        let figures = lines.into_iter().map(|line| scatter_figure(driver, line, units)).collect();
        [heading(words::outcome_of(driver)), Block::Gallery(figures)]
    });
    let grids: Vec<Block> = grids.collect();
    if grids.is_empty() {
        return vec![paragraph("Too few cooks with a judged stall to plot.")];
    }
    let what = paragraph(format!(
        "A dot a cook; an open triangle is a cook of which only a lower bound is known. Line: what the model makes of them, with a \
         band of {}. It says how the outcome goes along with the quantity below it among these cooks, not what would happen if \
         that were changed.",
        words::level(BAND_LEVEL)
    ));
    std::iter::once(what).chain(grids).collect()
}

/// What a team can set comes first on the grid.
const FIRST: [&str; 2] = [measures::PIT_EARLY_C.name, measures::TRIMMED_WEIGHT_KG.name];

/// One scatter plot of the grid.
fn scatter_figure(driver: &Driver, line: &DriverLine, units: Units) -> Figure {
    let set = match driver.cooks {
        CookSet::All => "",
        CookSet::Stalled => "-stalled",
    };
    let id = format!("{}{set}-by-{}", driver.outcome, line.by).replace('_', "-");
    let slope = line.effect.as_ref().map(|effect| {
        let slope = Effect::of_driver(&driver.outcome, effect, &line.by, (line.n, line.fires));
        ShownEffect::new(&slope, units).sentence()
    });
    let slope =
        slope.unwrap_or_else(|| "too few cooks for a slope, so the points stand alone".to_owned());
    let mut caption = format!("Against {}: {slope}.", name_within(&line.by));
    if let (Some(own), Some(adjusted)) = (&line.effect, &line.adjusted) {
        let effect = |effect: &DriverEffect| {
            let counts = (line.n, line.fires);
            ShownEffect::new(&Effect::of_driver(&driver.outcome, effect, &line.by, counts), units)
        };
        let is = |column: &columns::Description| line.by == column.name;
        let held = if is(&measures::PIT_EARLY_C) {
            "weight"
        } else if is(&measures::TRIMMED_WEIGHT_KG) || is(&measures::RAW_WEIGHT_KG) {
            "the early pit temperature"
        } else {
            "weight and the early pit temperature"
        };
        let shown = effect(adjusted);
        let larger = own.estimate.abs() > adjusted.estimate.abs();
        caption += &format!(
            " With {held} the same: {}, {} {}{}.",
            shown.headline(),
            shown.interval_name(),
            shown.interval(),
            if larger { "; the line takes in what goes along with it" } else { "" }
        );
    }
    caption += &too_many(line.points.len());
    if let Some(reason) = &line.reason {
        caption += &format!(" {reason}");
    }
    Figure {
        form: FigureForm::Curve,
        id: Some(format!("plot-{id}")),
        drawing: Some(scatter(&format!("fig-{id}"), driver, line, units)),
        caption: caption.into(),
    }
}

/// A cook's outcome, and whether it is a lower bound.
type Outcome = fn(&CookReport) -> Option<(f64, bool)>;

/// Outcomes by wrap, one point a cook.
pub(super) fn strips(cooks: &[CookReport], study: &StudyResult, units: Units) -> Vec<Block> {
    let mut blocks = vec![paragraph(
        "Wraps were chosen during the cook. What follows describes the cooks that ended up in each group; it \
         compares nothing. For comparisons see the claims.",
    )];
    let outcomes: [(&str, Outcome); 2] = [
        (measures::STALL_MIN.name, |cook| {
            Some((cook.measures.stall_min?, cook.measures.stall_min_censored == Some(true)))
        }),
        (measures::STALL_DELAY_MIN.name, |cook| {
            Some((cook.measures.stall_delay_min?, cook.measures.stall_delay_censored == Some(true)))
        }),
    ];
    for (outcome, value) in outcomes {
        blocks.extend(strip_figure(&by_wrap(cooks, study, outcome, value), units));
    }
    blocks
}

/// The cooks by wrap, in the order of the wraps' names, each wrap's cooks in the order of theirs. Who
/// is left out is what the study counts: it knows the cooks without a log too.
fn by_wrap<'a>(
    cooks: &'a [CookReport],
    study: &StudyResult,
    outcome: &'static str,
    value: Outcome,
) -> Strip<'a> {
    let tables = study.groups.iter().filter(|table| table.by == measures::WRAP_METHOD.name);
    let levels: Vec<&GroupRow> = tables.flat_map(|table| &table.rows).collect();
    let of_outcome = |row: &GroupRow| {
        row.outcomes.iter().find(|own| own.outcome == outcome && !own.stalled_only).cloned()
    };
    let without_wrap = levels.iter().filter(|row| row.level.is_none()).map(|row| row.cooks).sum();
    let wrapped = levels.iter().filter(|row| row.level.is_some());
    let not_judged =
        wrapped.map(|row| row.cooks.saturating_sub(of_outcome(row).map_or(0, |own| own.n))).sum();
    let mut strip = Strip { outcome, groups: Vec::new(), without_wrap, not_judged };
    let mut sorted: Vec<&CookReport> = cooks.iter().collect();
    sorted
        .sort_by(|a, b| (&a.measures.wrap_method, a.id()).cmp(&(&b.measures.wrap_method, b.id())));
    for cook in sorted {
        let Some((wrap, (y, censored))) = cook.measures.wrap_method.as_deref().zip(value(cook))
        else {
            continue;
        };
        if strip.groups.last().is_none_or(|group| group.wrap != wrap) {
            let level = levels.iter().find(|row| row.level.as_deref() == Some(wrap));
            let own = level.and_then(|row| of_outcome(row));
            let median = own.filter(|own| own.n >= FEWEST_FOR_A_MEDIAN).and_then(|own| own.median);
            let median = median.map(|median| (median.value, median.at_least));
            strip.groups.push(StripGroup { wrap, points: Vec::new(), fires: Vec::new(), median });
        }
        if let Some(group) = strip.groups.last_mut() {
            group.points.push((cook.id(), y, censored));
            group.fires.push(&cook.card.fire);
        }
    }
    for group in &mut strip.groups {
        group.fires.sort_unstable();
        group.fires.dedup();
    }
    strip
}

/// One strip plot under its own heading.
fn strip_figure(data: &Strip<'_>, units: Units) -> [Block; 2] {
    let id = format!("{}-by-wrap", data.outcome).replace('_', "-");
    let outcome = name_of(data.outcome);
    let points = || data.groups.iter().flat_map(|group| &group.points);
    let open = points().filter(|(.., censored)| *censored).count();
    let open = if open > 0 {
        format!(", open triangles lower bounds ({})", plural(open, "cook"))
    } else {
        String::new()
    };
    let mut caption = format!(
        "The upright bar is the median of its group, the dots are single cooks{open}. Read it as what happened: the wrap \
         was chosen during the cook, often because of how the stall was going, so a difference between the groups is not \
         what the choice did."
    );
    caption += &too_many(points().count());
    let reasons = [("wrap not stated", data.without_wrap), ("not judged", data.not_judged)];
    let reasons = reasons.into_iter().filter(|(_, cooks)| *cooks > 0);
    let reasons: Vec<LeftOut> =
        reasons.map(|(reason, cooks)| LeftOut { reason: reason.into(), cooks }).collect();
    caption += &left_out(&reasons);
    caption += " Who wraps late has a long stall behind them already: these groups say what was, not what a wrap does.";
    let drawing = strip(&format!("fig-{id}"), data, units);
    [
        heading_at(format!("plot-{id}"), format!("{outcome} by wrap: described, not caused")),
        Figure::block(FigureForm::Plot, drawing, caption),
    ]
}

/// Says where points carry no names for want of room in the file.
fn too_many(points: usize) -> String {
    if points <= MAX_NAMED_POINTS {
        return String::new();
    }
    format!(
        " Over {} points carry no names here; the data files have every cook’s.",
        count(MAX_NAMED_POINTS)
    )
}

fn left_out(reasons: &[LeftOut]) -> String {
    if reasons.is_empty() {
        return String::new();
    }
    let reasons: Vec<String> =
        reasons.iter().map(|r| format!("{} ({})", plural(r.cooks, "cook"), r.reason)).collect();
    format!(" Left out: {}.", words::listed(&reasons))
}

/// Whether any effect was estimated.
pub(super) fn has_effects(drivers: &[Driver]) -> bool {
    let further = |driver: &Driver| driver.further.iter().any(|own| !own.effects.is_empty());
    drivers.iter().any(|driver| {
        !driver.joint.effects.is_empty() || !driver.wrap.effects.is_empty() || further(driver)
    })
}

/// The effects with their models, what other columns add, and whether the models can be believed.
pub(super) fn effects(study: &StudyResult, units: Units) -> Vec<Block> {
    let mut blocks = vec![joint_effects(&study.drivers, units)];
    blocks.extend(further(&study.drivers, units));
    if let Some(checks) = list(words::model_checks(study)) {
        blocks.extend([heading("Can these models be believed?"), checks]);
    }
    blocks
}

/// Effects with their model, its cooks and fires, and how they were estimated.
type Estimated<'a> = (&'a [DriverEffect], Option<&'a Model>, (usize, usize), &'a str);

/// The table of effects: the joint models, and wrap against its base.
fn joint_effects(drivers: &[Driver], units: Units) -> Block {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let mut remarks = false;
    for driver in drivers {
        let base = driver.wrap.base.as_deref();
        let (joint, wrap) = (&driver.joint, &driver.wrap);
        let parts: [Estimated<'_>; 2] = [
            (&joint.effects, joint.model.as_ref(), (joint.n, joint.fires), "joint"),
            (&wrap.effects, wrap.model.as_ref(), (wrap.n, wrap.fires), "alone"),
        ];
        for (effects, model, counts, how) in parts {
            for effect in effects {
                let own = Effect::of_driver(&driver.outcome, effect, &effect.term, counts);
                let shown = ShownEffect::new(&own, units);
                let described = effect.per.is_none();
                remarks |= described;
                rows.push(vec![
                    words::outcome_of(driver).into(),
                    words::term(effect, base).into(),
                    shown.headline().into(),
                    shown.interval().into(),
                    words::level(own.level).into(),
                    count(own.cooks).into(),
                    count(own.fires).into(),
                    format!("{how}, {}", words::method(model)).into(),
                    if described { "described, not caused" } else { "" }.into(),
                ]);
            }
        }
    }
    if rows.is_empty() {
        return paragraph("No effect was estimated: too few cooks were judged.");
    }
    let mut columns = vec![
        text("Outcome"),
        text("Term"),
        numbers("Effect", ""),
        numbers("Interval", ""),
        numbers("Level", ""),
        numbers("Cooks", ""),
        numbers("Fires", ""),
        text("Model"),
    ];
    if remarks {
        columns.push(text("Remark"));
    } else {
        for row in &mut rows {
            row.truncate(columns.len());
        }
    }
    Table::new(
        "Effects with their intervals. An interval that holds zero leaves the direction open.",
        columns,
        rows,
    )
    .into()
}

/// What every other column of the sheet adds to weight and pit.
fn further(drivers: &[Driver], units: Units) -> Option<Block> {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for driver in drivers {
        for further in &driver.further {
            for effect in &further.effects {
                let counts = (further.n, further.fires);
                let own = Effect::of_driver(&driver.outcome, effect, &effect.term, counts);
                let shown = ShownEffect::new(&own, units);
                let chance = further.p_adjusted.map(words::chance);
                rows.push(vec![
                    words::outcome_of(driver).into(),
                    words::term(effect, further.base.as_deref()).into(),
                    shown.headline().into(),
                    shown.interval().into(),
                    count(own.cooks).into(),
                    Inlines::from(chance).into(),
                ]);
            }
        }
    }
    let columns = [
        text("Outcome"),
        text("Beside weight and pit"),
        numbers("Effect", ""),
        numbers("Interval", ""),
        numbers("Cooks", ""),
        text("Could it be chance?"),
    ];
    let remark = "Intervals of 95 %, one column at a time. The last column allows for how many were asked: with enough of them, one will always seem to matter. Found by looking, so at best a claim to write down and confirm. What is chosen while cooking, or goes with the choice of pit or day, is described here, not caused.";
    let caption =
        "What each other column of the sheet goes with, weight and pit temperature held fixed";
    (!rows.is_empty()).then(|| Table::new(caption, columns, rows).remark(remark).into())
}

/// The tables by group.
pub(super) fn groups(tables: &[GroupTable], units: Units) -> Vec<Block> {
    if tables.is_empty() {
        return vec![paragraph("No groups to describe.")];
    }
    tables.iter().map(|table| group(table, units)).collect()
}

fn group(data: &GroupTable, units: Units) -> Block {
    let by = name_of(&data.by);
    let caption = format!("Medians by {}: described, not caused", by.to_lowercase());
    let mut columns: Vec<Column> = vec![text(by), numbers("Cooks", ""), numbers("Fires", "")];
    for own in data.rows.first().iter().flat_map(|row| &row.outcomes) {
        let stalled = if own.stalled_only { ", stalled cooks" } else { "" };
        let unit = quantity_of(&own.outcome).unit(units);
        columns.push(numbers(name_of(&own.outcome) + stalled, unit));
        columns.push(numbers("of cooks", ""));
    }
    let rows = data.rows.iter().map(|row| {
        let mut cells: Vec<Cell> = vec![
            row.level.as_deref().unwrap_or("not stated").into(),
            count(row.cooks).into(),
            count(row.fires).into(),
        ];
        for own in &row.outcomes {
            let median = own.median.map(|median| {
                let bound = if median.at_least { "≥\u{a0}" } else { "" };
                format!("{bound}{}", quantity_of(&own.outcome).number(median.value, units))
            });
            let open = match own.censored {
                0 => String::new(),
                open => format!(" ({} open)", count(open)),
            };
            cells.extend([median.into(), (count(own.n) + &open).into()]);
        }
        cells
    });
    let remark = "Described, not caused: who is wrapped, and how, was decided during the cook. “Open” counts cooks of which only a lower bound is known. – where there are too few cooks for a median.";
    Table::new(caption, columns, rows.collect()).remark(remark).into()
}

/// The small table of what was cooked.
pub(super) fn summary(spreads: &[Spread], units: Units) -> Option<Block> {
    let rows: Vec<Vec<Cell>> = spreads
        .iter()
        .map(|spread| {
            let quantity = quantity_of(&spread.column);
            let shown = |value: f64| quantity.number(value, units);
            let bound = if spread.at_least { "≥\u{a0}" } else { "" };
            vec![
                name_of(&spread.column).into(),
                quantity.unit(units).into(),
                spread.median.map(|median| format!("{bound}{}", shown(median))).into(),
                shown(spread.min).into(),
                shown(spread.max).into(),
                count(spread.cooks).into(),
                count(spread.censored).into(),
            ]
        })
        .collect();
    let columns = [
        text("Measure"),
        text("Unit"),
        numbers("Median", ""),
        numbers("Smallest", ""),
        numbers("Largest", ""),
        numbers("Cooks", ""),
        numbers("Open-ended", ""),
    ];
    let remark = "Open-ended cooks count with the lower bound that is known of them. – where nothing was stated or measured.";
    let table = Table::new("What was cooked, over all cooks with a value", columns, rows);
    (!table.rows.is_empty()).then(|| table.remark(remark).into())
}
