//! What became of a cook's readings: stretches, channels and warnings, a table each.
//!
//! The readings themselves stay as ingest wrote them; these tables say what cleaning and segmenting
//! made of them.

use crate::error::RowsError;
use crate::typed::{Typed, required};
use columns::tables::{channels, flags, warnings};
use columns::{Column, Table};
use std::collections::HashMap;

/// One stretch of a channel of which there is something to know.
#[derive(Debug, Clone, PartialEq)]
pub struct FlagRow {
    /// The channel that the readings stand in.
    pub channel: String,
    /// The channel that they were used for.
    pub used_as: String,
    /// What is to be known: `spike`, `lid-open`, `gap`, …
    pub flag: String,
    /// Whether the readings were left out.
    pub removed: bool,
    /// First reading, ms UTC; of a gap the last one before it.
    pub start_ms: i64,
    /// Last reading, ms UTC; of a gap the first one after it.
    pub end_ms: i64,
    /// Readings in it; none in a gap.
    pub readings: i64,
    /// How far they lie off their course, °C.
    pub size_c: Option<f64>,
}

/// One channel of a cook: its part, its correction, and how it compares with the lead.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChannelRow {
    /// Its name in the log.
    pub channel: String,
    /// Its role.
    pub role: String,
    /// `lead`, `pit`, `other-meat` or `not-used`.
    pub part: String,
    /// Why it is the lead, in a word.
    pub lead_reason: Option<String>,
    /// Its highest reading where that is why, °C.
    pub highest_c: Option<f64>,
    /// Readings in the store.
    pub readings: i64,
    /// What its correction rests on.
    pub calibration: String,
    /// Correction of a reading of 0 °C, °C.
    pub offset_c: f64,
    /// Change of the correction per °C of reading.
    pub slope: f64,
    /// What the probe read in melting ice, °C, where that was used.
    pub ice_c: Option<f64>,
    /// What it read in boiling water, °C, where that was used.
    pub boiling_c: Option<f64>,
    /// Where water boils at the card's altitude, °C.
    pub boils_c: Option<f64>,
    /// Mean of this channel less the lead, °C.
    pub mean_difference_c: Option<f64>,
    /// This channel less the lead where the lead reaches the finish, °C.
    pub difference_at_finish_c: Option<f64>,
    /// When it reaches the finish, min after the lead.
    pub finish_after_lead_min: Option<f64>,
    /// Correlation of its warming with the lead's over the ramp.
    pub likeness: Option<f64>,
    /// Word for how it reads unlike the lead.
    pub unlike: Option<String>,
    /// The difference that tells it, °C.
    pub unlike_by_c: Option<f64>,
}

/// Something odd that a person should look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WarningRow {
    /// Short stable word.
    pub code: String,
    /// The mark or the channels it is about.
    pub about: String,
    /// As a sentence.
    pub sentence: String,
}

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

/// Rows of one kind with the cook they belong to, turned into columns.
struct Rows<'a, T>(Vec<(&'a CookCleaning, &'a T)>);

impl<'a, T> Rows<'a, T> {
    fn of(cooks: &'a [CookCleaning], rows: impl Fn(&CookCleaning) -> &Vec<T>) -> Self {
        Self(cooks.iter().flat_map(|cook| rows(cook).iter().map(move |row| (cook, row))).collect())
    }

    fn begun(&self) -> Table {
        let cooks = self.0.iter().map(|(cook, _)| Some(cook.cook.clone()));
        Table::new().with(channels::COOK, Column::Text(cooks.collect()))
    }

    fn ended(&self, table: Table) -> Table {
        let hashes = self.0.iter().map(|(cook, _)| Some(cook.computed_from.clone()));
        table.with(channels::COMPUTED_FROM, Column::Text(hashes.collect()))
    }

    fn text(&self, of: impl Fn(&T) -> Option<String>) -> Column {
        Column::Text(self.0.iter().map(|(_, row)| of(row)).collect())
    }

    fn word(&self, of: impl Fn(&T) -> &String) -> Column {
        self.text(|row| Some(of(row).clone()))
    }

    fn float(&self, of: impl Fn(&T) -> Option<f64>) -> Column {
        Column::Float(self.0.iter().map(|(_, row)| of(row)).collect())
    }

    fn int(&self, of: impl Fn(&T) -> i64) -> Column {
        Column::Int(self.0.iter().map(|(_, row)| Some(of(row))).collect())
    }

    fn instant(&self, of: impl Fn(&T) -> i64) -> Column {
        Column::Instant(self.0.iter().map(|(_, row)| Some(of(row))).collect())
    }

    fn yes_no(&self, of: impl Fn(&T) -> bool) -> Column {
        Column::Bool(self.0.iter().map(|(_, row)| Some(of(row))).collect())
    }
}

/// The table of stretches of readings of which there is something to know.
pub fn flags_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.flags);
    let table = rows
        .begun()
        .with(flags::CHANNEL, rows.word(|r| &r.channel))
        .with(flags::USED_AS, rows.word(|r| &r.used_as))
        .with(flags::FLAG, rows.word(|r| &r.flag))
        .with(flags::REMOVED, rows.yes_no(|r| r.removed))
        .with(flags::START_AT, rows.instant(|r| r.start_ms))
        .with(flags::END_AT, rows.instant(|r| r.end_ms))
        .with(flags::READINGS, rows.int(|r| r.readings))
        .with(flags::SIZE_C, rows.float(|r| r.size_c));
    rows.ended(table)
}

/// The table of channels.
pub fn channels_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.channels);
    let table = rows
        .begun()
        .with(channels::CHANNEL, rows.word(|r| &r.channel))
        .with(channels::ROLE, rows.word(|r| &r.role))
        .with(channels::PART, rows.word(|r| &r.part))
        .with(channels::LEAD_REASON, rows.text(|r| r.lead_reason.clone()))
        .with(channels::HIGHEST_C, rows.float(|r| r.highest_c))
        .with(channels::READINGS, rows.int(|r| r.readings))
        .with(channels::CALIBRATION, rows.word(|r| &r.calibration))
        .with(channels::OFFSET_C, rows.float(|r| Some(r.offset_c)))
        .with(channels::SLOPE, rows.float(|r| Some(r.slope)))
        .with(channels::ICE_C, rows.float(|r| r.ice_c))
        .with(channels::BOILING_C, rows.float(|r| r.boiling_c))
        .with(channels::BOILS_C, rows.float(|r| r.boils_c))
        .with(channels::MEAN_DIFFERENCE_C, rows.float(|r| r.mean_difference_c))
        .with(channels::DIFFERENCE_AT_FINISH_C, rows.float(|r| r.difference_at_finish_c))
        .with(channels::FINISH_AFTER_LEAD_MIN, rows.float(|r| r.finish_after_lead_min))
        .with(channels::LIKENESS, rows.float(|r| r.likeness))
        .with(channels::UNLIKE, rows.text(|r| r.unlike.clone()))
        .with(channels::UNLIKE_BY_C, rows.float(|r| r.unlike_by_c));
    rows.ended(table)
}

/// The table of warnings.
pub fn warnings_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.warnings);
    let table = rows
        .begun()
        .with(warnings::CODE, rows.word(|r| &r.code))
        .with(warnings::ABOUT, rows.word(|r| &r.about))
        .with(warnings::SENTENCE, rows.word(|r| &r.sentence));
    rows.ended(table)
}

/// Cooks by name, in the order of first appearance.
#[derive(Default)]
struct Cooks {
    all: Vec<CookCleaning>,
    place: HashMap<String, usize>,
}

impl Cooks {
    fn of(&mut self, cook: String, computed_from: String) -> &mut CookCleaning {
        let place = *self.place.entry(cook.clone()).or_insert_with(|| {
            self.all.push(CookCleaning { cook, computed_from, ..CookCleaning::default() });
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
    cooks.read_channels(of_channels)?;
    cooks.read_flags(of_flags)?;
    cooks.read_warnings(of_warnings)?;
    Ok(cooks.all)
}

impl Cooks {
    fn read_channels(&mut self, table: &Table) -> Result<(), RowsError> {
        let text = |column| table.text(column);
        let float = |column| table.floats(column);
        let (cook, hash) = (text(channels::COOK)?, text(channels::COMPUTED_FROM)?);
        let (channel, role, part) =
            (text(channels::CHANNEL)?, text(channels::ROLE)?, text(channels::PART)?);
        let (reason, highest) = (text(channels::LEAD_REASON)?, float(channels::HIGHEST_C)?);
        let (readings, calibration) =
            (table.integers(channels::READINGS)?, text(channels::CALIBRATION)?);
        let (offset, slope) = (float(channels::OFFSET_C)?, float(channels::SLOPE)?);
        let (ice, boiling, boils) =
            (float(channels::ICE_C)?, float(channels::BOILING_C)?, float(channels::BOILS_C)?);
        let (mean, at_finish) =
            (float(channels::MEAN_DIFFERENCE_C)?, float(channels::DIFFERENCE_AT_FINISH_C)?);
        let (after, likeness) =
            (float(channels::FINISH_AFTER_LEAD_MIN)?, float(channels::LIKENESS)?);
        let (unlike, unlike_by) = (text(channels::UNLIKE)?, float(channels::UNLIKE_BY_C)?);
        for row in 0..table.rows() {
            let found = ChannelRow {
                channel: required(channels::CHANNEL, channel[row].clone())?,
                role: required(channels::ROLE, role[row].clone())?,
                part: required(channels::PART, part[row].clone())?,
                lead_reason: reason[row].clone(),
                highest_c: highest[row],
                readings: required(channels::READINGS, readings[row])?,
                calibration: required(channels::CALIBRATION, calibration[row].clone())?,
                offset_c: required(channels::OFFSET_C, offset[row])?,
                slope: required(channels::SLOPE, slope[row])?,
                ice_c: ice[row],
                boiling_c: boiling[row],
                boils_c: boils[row],
                mean_difference_c: mean[row],
                difference_at_finish_c: at_finish[row],
                finish_after_lead_min: after[row],
                likeness: likeness[row],
                unlike: unlike[row].clone(),
                unlike_by_c: unlike_by[row],
            };
            let name = required(channels::COOK, cook[row].clone())?;
            let from = required(channels::COMPUTED_FROM, hash[row].clone())?;
            self.of(name, from).channels.push(found);
        }
        Ok(())
    }

    fn read_flags(&mut self, table: &Table) -> Result<(), RowsError> {
        let text = |column| table.text(column);
        let (cook, hash) = (text(flags::COOK)?, text(flags::COMPUTED_FROM)?);
        let (channel, used_as, flag) =
            (text(flags::CHANNEL)?, text(flags::USED_AS)?, text(flags::FLAG)?);
        let removed = table.booleans(flags::REMOVED)?;
        let (start, end) = (table.instants(flags::START_AT)?, table.instants(flags::END_AT)?);
        let (readings, size) = (table.integers(flags::READINGS)?, table.floats(flags::SIZE_C)?);
        for row in 0..table.rows() {
            let found = FlagRow {
                channel: required(flags::CHANNEL, channel[row].clone())?,
                used_as: required(flags::USED_AS, used_as[row].clone())?,
                flag: required(flags::FLAG, flag[row].clone())?,
                removed: required(flags::REMOVED, removed[row])?,
                start_ms: required(flags::START_AT, start[row])?,
                end_ms: required(flags::END_AT, end[row])?,
                readings: required(flags::READINGS, readings[row])?,
                size_c: size[row],
            };
            let name = required(flags::COOK, cook[row].clone())?;
            let from = required(flags::COMPUTED_FROM, hash[row].clone())?;
            self.of(name, from).flags.push(found);
        }
        Ok(())
    }

    fn read_warnings(&mut self, table: &Table) -> Result<(), RowsError> {
        let text = |column| table.text(column);
        let (cook, hash) = (text(warnings::COOK)?, text(warnings::COMPUTED_FROM)?);
        let (code, about, sentence) =
            (text(warnings::CODE)?, text(warnings::ABOUT)?, text(warnings::SENTENCE)?);
        for row in 0..table.rows() {
            let found = WarningRow {
                code: required(warnings::CODE, code[row].clone())?,
                about: required(warnings::ABOUT, about[row].clone())?,
                sentence: required(warnings::SENTENCE, sentence[row].clone())?,
            };
            let name = required(warnings::COOK, cook[row].clone())?;
            let from = required(warnings::COMPUTED_FROM, hash[row].clone())?;
            self.of(name, from).warnings.push(found);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_cleaned_comes_back_as_written() {
        let channel = |name: &str, part: &str| ChannelRow {
            channel: name.into(),
            role: "meat".into(),
            part: part.into(),
            readings: 12,
            calibration: "ice".into(),
            offset_c: -0.5,
            ..ChannelRow::default()
        };
        let other = ChannelRow {
            lead_reason: Some("farthest".into()),
            highest_c: Some(81.5),
            boils_c: Some(98.0),
            mean_difference_c: Some(-4.0),
            likeness: Some(0.9),
            unlike: Some("steady-difference".into()),
            unlike_by_c: Some(-4.1),
            ..channel("Point", "other-meat")
        };
        let flag = |kind: &str, size_c| FlagRow {
            channel: "Flat".into(),
            used_as: "Grate".into(),
            flag: kind.into(),
            removed: kind == "spike",
            start_ms: 5,
            end_ms: 9,
            readings: 2,
            size_c,
        };
        let cooks = vec![
            CookCleaning {
                cook: "b".into(),
                computed_from: "h1".into(),
                flags: vec![flag("spike", Some(31.0)), flag("gap", None)],
                channels: vec![channel("Flat", "lead"), other],
                warnings: vec![WarningRow {
                    code: "no-sign-of-mark".into(),
                    about: "wrap".into(),
                    sentence: "The log shows nothing of it.".into(),
                }],
            },
            CookCleaning {
                cook: "a".into(),
                computed_from: "h2".into(),
                channels: vec![channel("Flat", "lead")],
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
