//! What became of a cook's readings: stretches, channels and warnings, a table each.
//!
//! The readings themselves stay as ingest wrote them; these tables say what cleaning and segmenting
//! made of them.

use crate::error::RowsError;
use columns::tables::channels::ChannelRow;
use columns::tables::flags::FlagRow;
use columns::tables::warnings::WarningRow;
use columns::{Row, Table};
use std::collections::HashMap;

/// What became of one cook's readings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CookCleaning {
    /// The cook.
    pub cook: String,
    /// Hash of all that this was computed from.
    pub computed_from: String,
    /// Stretches, by channel and time.
    pub flags: Vec<FlagRow>,
    /// Its channels, in the log's order.
    pub channels: Vec<ChannelRow>,
    /// What is odd.
    pub warnings: Vec<WarningRow>,
}

/// The table of stretches of readings of which there is something to know.
pub fn flags_to_table(cooks: &[CookCleaning]) -> Table {
    Row::table(cooks.iter().flat_map(|cook| &cook.flags))
}

/// The table of channels.
pub fn channels_to_table(cooks: &[CookCleaning]) -> Table {
    Row::table(cooks.iter().flat_map(|cook| &cook.channels))
}

/// The table of warnings.
pub fn warnings_to_table(cooks: &[CookCleaning]) -> Table {
    Row::table(cooks.iter().flat_map(|cook| &cook.warnings))
}

/// Cooks by name, in the order of first appearance.
#[derive(Default)]
struct Cooks {
    all: Vec<CookCleaning>,
    place: HashMap<String, usize>,
}

impl Cooks {
    fn of(&mut self, cook: &str, computed_from: &str) -> &mut CookCleaning {
        let place = *self.place.entry(cook.to_owned()).or_insert_with(|| {
            self.all.push(CookCleaning {
                cook: cook.to_owned(),
                computed_from: computed_from.to_owned(),
                ..CookCleaning::default()
            });
            self.all.len() - 1
        });
        &mut self.all[place]
    }
}

/// Reads what became of every cook's readings back. A cook without channels is not among them.
///
/// # Errors
/// A column that is missing, of another kind, or without a value that it must have.
pub fn cleaning_from_tables(
    of_flags: &Table,
    of_channels: &Table,
    of_warnings: &Table,
) -> Result<Vec<CookCleaning>, RowsError> {
    let mut cooks = Cooks::default();
    for row in all_of::<ChannelRow>(of_channels)? {
        cooks.of(&row.cook, &row.computed_from).channels.push(row);
    }
    for row in all_of::<FlagRow>(of_flags)? {
        cooks.of(&row.cook, &row.computed_from).flags.push(row);
    }
    for row in all_of::<WarningRow>(of_warnings)? {
        cooks.of(&row.cook, &row.computed_from).warnings.push(row);
    }
    Ok(cooks.all)
}

fn all_of<R: Row>(table: &Table) -> Result<Vec<R>, RowsError> {
    R::all_of(table).map_err(|(column, problem)| RowsError::column(column, problem))
}

#[cfg(test)]
mod tests {
    use super::*;
    use columns::Instant;
    use cook::{CalibrationSource, ChannelPart, FlagKind, Unlike};

    #[test]
    fn what_was_cleaned_comes_back_as_written() {
        let channel = |cook: &str, name: &str| ChannelRow {
            cook: cook.into(),
            computed_from: format!("hash of {cook}"),
            channel: name.into(),
            role: "meat".into(),
            part: ChannelPart::Lead,
            readings: 12,
            calibration: CalibrationSource::Ice,
            offset_c: -0.5,
            ..ChannelRow::default()
        };
        let other = ChannelRow {
            part: ChannelPart::OtherMeat,
            boils_c: Some(98.0),
            mean_difference_c: Some(-4.0),
            likeness: Some(0.9),
            unlike: Some(Unlike::SteadyDifference),
            unlike_by_c: Some(-4.1),
            ..channel("b", "Point")
        };
        let spike = FlagRow {
            cook: "b".into(),
            computed_from: "hash of b".into(),
            channel: "Flat".into(),
            used_as: "Grate".into(),
            flag: FlagKind::Spike,
            removed: true,
            start_at: Instant(5),
            end_at: Instant(9),
            readings: 2,
            size_c: Some(31.0),
        };
        let gap = FlagRow { flag: FlagKind::Gap, removed: false, size_c: None, ..spike.clone() };
        let warning = WarningRow {
            cook: "b".into(),
            computed_from: "hash of b".into(),
            code: "no-sign-of-mark".into(),
            about: "wrap".into(),
            sentence: "The log shows nothing of it.".into(),
        };
        let cooks = vec![
            CookCleaning {
                cook: "b".into(),
                computed_from: "hash of b".into(),
                flags: vec![spike, gap],
                channels: vec![channel("b", "Flat"), other],
                warnings: vec![warning],
            },
            CookCleaning {
                cook: "a".into(),
                computed_from: "hash of a".into(),
                channels: vec![channel("a", "Flat")],
                ..CookCleaning::default()
            },
        ];
        let read = cleaning_from_tables(
            &flags_to_table(&cooks),
            &channels_to_table(&cooks),
            &warnings_to_table(&cooks),
        );
        assert_eq!(read.unwrap(), cooks);
    }
}
