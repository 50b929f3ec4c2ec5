//! The layout that reads a log as it was read.

use super::facts::head::Facts;
use super::plan::channels::ChannelPlan;
use super::plan::decide::Plan;
use crate::layout::{Decimal, Form, Layout, TimeLayout};
use cook::Role;
use std::collections::BTreeMap;

/// Writes every decision into a layout. `channels` are the log's as the plan or their first rows
/// made them; `guessed` are the roles that readings showed, by header.
pub(crate) fn layout(
    facts: &Facts<'_>,
    plan: &Plan<'_>,
    channels: &[ChannelPlan],
    guessed: &[(String, Role)],
) -> Layout {
    let own = &plan.layout;
    let column = |c: usize| plan.names[c].clone();
    let wide = plan.long.is_none();
    let mut units = if wide { BTreeMap::new() } else { own.units.clone() };
    units.extend(channels.iter().filter_map(|ch| Some((ch.header.clone(), ch.unit?))));
    let mut roles = if wide { BTreeMap::new() } else { own.roles.clone() };
    roles.extend(channels.iter().map(|channel| (channel.header.clone(), channel.role)));
    roles.extend(guessed.iter().cloned());
    let is_channel = |c: usize| channels.iter().any(|channel| channel.column == c);
    Layout {
        name: if own.name.is_empty() { "detected".to_owned() } else { own.name.clone() },
        header: if plan.header.is_some() {
            facts.grid.names.iter().filter(|n| !n.is_empty()).cloned().collect()
        } else {
            Vec::new()
        },
        columns: if plan.header.is_some() { Vec::new() } else { plan.names.clone() },
        form: Some(if wide { Form::Wide } else { Form::Long }),
        delimiter: Some(facts.grid.delimiter),
        decimal: Some(if plan.decimal.sign == b',' { Decimal::Comma } else { Decimal::Point }),
        preamble_lines: own.preamble_lines,
        header_rows: (plan.header_rows.len() > 1).then_some(2),
        units_row: Some(plan.units_row.is_some()),
        comment: Some(plan.comment.clone()),
        unit: plan.unit,
        channel_column: plan.long.map(|long| column(long.channel)),
        value_column: plan.long.map(|long| column(long.value)),
        unit_column: plan.long.and_then(|long| long.unit).map(column),
        sentinels: own.sentinels.clone(),
        measured: own.measured.clone(),
        ignore: if wide {
            let rest = (0..plan.names.len()).filter(|c| !plan.time.contains(c) && !is_channel(*c));
            rest.map(column).collect()
        } else {
            own.ignore.clone()
        },
        time: TimeLayout {
            columns: plan.time.iter().map(|&c| column(c)).collect(),
            format: Some(plan.format),
            utc_offset: own.time.utc_offset.clone(),
            start: own.time.start.clone(),
        },
        units,
        roles,
    }
}
