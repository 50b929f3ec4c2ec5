//! How good forecasts would have been on this past.

use crate::document::{Block, Cell, Inlines, Table, note, numbers, paragraph, text};
use crate::units::{count, number};
use crate::words::{duration, plural};
use study::result::forecast::{BacktestBand, ForecastBacktest};

/// The section; nothing where only a table was studied, or too few fires.
pub(super) fn forecasts(data: Option<&ForecastBacktest>) -> Vec<Block> {
    let Some(found) = data.filter(|found| found.reason.is_none()) else { return Vec::new() };
    let mut blocks = vec![paragraph(Inlines::with_code(&told(found)))];
    blocks.push(table(found));
    blocks.extend(plans(found).map(paragraph));
    blocks.push(note(
        "A core temperature is forecast, neither tenderness nor that the food is fit to eat. The next cooks are foretold \
         as well as these only as far as they are cooked alike.",
    ));
    blocks
}

/// What was tried, and how it came out.
pub(super) fn told(found: &ForecastBacktest) -> String {
    let chosen = if found.cooks < found.of_cooks {
        format!(" (of {}, drawn with seed {})", count(found.of_cooks), found.seed)
    } else {
        String::new()
    };
    let mut said = format!(
        "{} on {}{chosen} were foretold at every full hour from the second on, each from all other fires, later ones \
         too.",
        plural(found.cooks, "cook"),
        plural(found.fires, "fire")
    );
    if let Some(all) = found.bands.iter().find(|band| band.from_h.is_none()) {
        said += &format!(
            " The finish was off by {} at the median; {} % of the finishes lay inside their range, which promises {} %.",
            duration(all.off_min),
            number(100.0 * all.covered, 0),
            number(100.0 * found.level, 0)
        );
    }
    said
}

fn table(found: &ForecastBacktest) -> Block {
    let rows = found.bands.iter().map(|band| -> Vec<Cell> {
        let minutes = |value: Option<f64>| value.map(|value| number(value, 0));
        vec![
            to_go(band).into(),
            count(band.moments).into(),
            minutes(Some(band.off_min)).into(),
            number(100.0 * band.covered, 0).into(),
            minutes(band.same_core_off_min).into(),
            minutes(band.by_weight_off_min).into(),
        ]
    });
    let columns = [
        text("Still to go"),
        numbers("Forecasts", ""),
        numbers("Forecast off", "min"),
        numbers("Finishes inside the range", "%"),
        numbers("Rule of thumb off: same core and wrap", "min"),
        numbers("Rule of thumb off: hours by weight", "min"),
    ];
    let remark = "Off: the median of the absolute error of the finish. The first rule takes the median of what past cooks still took from \
                  the same core in the same wrap, the second the median of hours by weight, less what is over.";
    Table::new("Forecasts of past cooks beside two rules of thumb", columns, rows.collect())
        .remark(remark)
        .into()
}

fn to_go(band: &BacktestBand) -> String {
    let hours = |value: f64| number(value, 0);
    match (band.from_h, band.to_h) {
        (Some(from), Some(to)) => format!("{} to {} h", hours(from), hours(to)),
        (Some(from), None) => format!("over {} h", hours(from)),
        _ => "all".to_owned(),
    }
}

fn plans(found: &ForecastBacktest) -> Option<String> {
    let plans = found.plans?;
    Some(format!(
        "Plans at {} % certainty would have had {} of {} off the pit in time, waiting {} at the median.",
        number(100.0 * plans.certainty, 0),
        count(plans.on_time),
        plural(plans.cooks, "cook"),
        duration(plans.wait_min)
    ))
}
