//! Rows to readings, channel by channel.

use crate::log::finding::{Finding, Findings, Warning};
use crate::log::finished::LogChannel;
use crate::log::plan::channels::ChannelPlan;
use crate::log::plan::decide::Plan;
use crate::log::range::range;
use crate::log::rows::ledger::Rows;
use crate::log::rows::series::Series;
use columns::Packed;
use cook::Flag;
use cook::season::TemperatureUnit;

/// Makes the channels, and notes what was put in order and what was moved in time.
pub(crate) fn settle(plan: &Plan<'_>, rows: &mut Rows<'_>) -> Findings {
    let mut retimed = 0;
    let in_cells = rows.units.with > 0 || plan.long.is_some_and(|long| long.unit.is_some());
    let unit = plan.unit.filter(|_| !in_cells);
    for index in 0..rows.series.len() {
        let mut series = std::mem::take(&mut rows.series[index]);
        retimed += series.retimed.len();
        let channels = match plan.long {
            Some(_) => &rows.channels[index..=index],
            None => &rows.channels[..],
        };
        let retimed = retimed_rows(&series);
        // A long log is large: what its readings are not made of goes first.
        (series.ms, series.local, series.start) = Default::default();
        let at_ms =
            series.order.iter().map(|row| series.at_ms.at(row as usize).unwrap_or_default());
        let at_ms: Packed<i64> = at_ms.collect();
        series.at_ms = Packed::new();
        for (channel, values) in channels.iter().zip(std::mem::take(&mut series.values)) {
            rows.readings.push(readings(channel, unit, &series, &at_ms, &values, &retimed));
        }
    }
    rows.account.readings = rows.readings.iter().map(|channel| channel.len() as u64).sum();
    let reordered =
        |channel: &LogChannel| channel.flag.iter().filter(|flag| *flag == Flag::Reordered).count();
    let mut findings = Findings::default();
    let lines = rows.readings.iter().map(reordered).max().unwrap_or(0);
    if lines > 0 {
        findings.note(Finding::OutOfOrder { lines });
    }
    if retimed > 0 {
        findings.warn(Warning::Retimed { lines: retimed });
    }
    findings
}

/// Whether the clock of each row was put right; nothing where none was.
fn retimed_rows(series: &Series) -> Vec<bool> {
    if series.retimed.is_empty() {
        return Vec::new();
    }
    let mut retimed = vec![false; series.ms.len()];
    series.retimed.iter().for_each(|row| retimed[row] = true);
    retimed
}

fn readings(
    plan: &ChannelPlan,
    unit: Option<TemperatureUnit>,
    series: &Series,
    at_ms: &Packed<i64>,
    values: &Packed<f32>,
    retimed: &[bool],
) -> LogChannel {
    let (coldest, hottest) = range(plan.role);
    let mut channel = LogChannel {
        name: plan.name.clone(),
        header: plan.header.clone(),
        role: plan.role,
        unit: plan.unit.or(unit).filter(|_| plan.unit_column.is_none()),
        at_ms: Packed::new(),
        temp_c: Packed::new(),
        line: Packed::new(),
        flag: Packed::new(),
    };
    channel.reserve(series.order.len());
    for (row, at_ms) in series.order.iter().zip(at_ms) {
        let row = row as usize;
        let value = values.at(row);
        if value.is_nan() {
            continue;
        }
        channel.at_ms.push(at_ms);
        channel.temp_c.push(value);
        channel.line.push(series.line.at(row));
        channel.flag.push(if !(coldest..=hottest).contains(&value) {
            Flag::OutOfRange
        } else if retimed.get(row).is_some_and(|retimed| *retimed) {
            Flag::Retimed
        } else if series.moved.at(row) {
            Flag::Reordered
        } else {
            Flag::Good
        });
    }
    channel
}
