//! The layout that reads a log as it was read.

use super::plan::Plan;
use super::scan::Found;
use crate::layout::{Decimal, Layout, TimeLayout};

impl Plan {
    /// Writes every decision into the layout, so that it reads the log as it was read.
    pub(super) fn fill_layout(&mut self, found: &Found<'_>) {
        let name = self.layout.name.clone();
        let own = std::mem::take(&mut self.layout);
        let column = |c: usize| self.names[c].clone();
        self.layout = Layout {
            name: if name.is_empty() { "detected".to_owned() } else { name },
            header: if self.header.is_some() {
                found.names.iter().filter(|n| !n.is_empty()).cloned().collect()
            } else {
                Vec::new()
            },
            columns: if self.header.is_some() { Vec::new() } else { self.names.clone() },
            form: Some(self.form),
            delimiter: Some(found.delimiter),
            decimal: Some(if self.decimal == b',' { Decimal::Comma } else { Decimal::Point }),
            preamble_lines: own.preamble_lines,
            header_rows: (self.header_rows.len() > 1).then_some(2),
            units_row: Some(self.units_row.is_some()),
            comment: self.comment.clone(),
            unit: self.unit,
            channel_column: self.long.map(|l| column(l.channel)),
            value_column: self.long.map(|l| column(l.value)),
            unit_column: self.long.and_then(|l| l.unit).map(column),
            sentinels: self.sentinels.clone(),
            measured: self.measured.clone(),
            ignore: match self.long {
                Some(_) => own.ignore,
                None => (0..self.names.len())
                    .filter(|c| {
                        !self.time.contains(c) && self.channels.iter().all(|ch| ch.column != *c)
                    })
                    .map(column)
                    .collect(),
            },
            time: TimeLayout {
                columns: self.time.iter().map(|&c| column(c)).collect(),
                format: Some(self.format),
                utc_offset: own.time.utc_offset,
                start: own.time.start,
            },
            units: match self.long {
                Some(_) => own.units,
                None => self
                    .channels
                    .iter()
                    .filter_map(|channel| Some((channel.header.clone(), channel.unit?)))
                    .collect(),
            },
            roles: match self.long {
                Some(_) => own.roles,
                None => self.channels.iter().map(|ch| (ch.header.clone(), ch.role)).collect(),
            },
        };
    }
}
