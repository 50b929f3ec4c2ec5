//! What became of a cook's readings: stretches, channels and warnings, a table each.
//!
//! The readings themselves stay as ingest wrote them; these tables say what the phases stage made
//! of them.

use crate::Store;
use crate::error::StoreError;
use crate::table::TypedColumns;
use crate::tables::{TableName, required};
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
        Table::new().with("cook", Column::Text(cooks.collect()))
    }

    fn ended(&self, table: Table) -> Table {
        let hashes = self.0.iter().map(|(cook, _)| Some(cook.computed_from.clone()));
        table.with("computed_from", Column::Text(hashes.collect()))
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

pub(crate) fn flags_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.flags);
    let table = rows
        .begun()
        .with("channel", rows.word(|r| &r.channel))
        .with("used_as", rows.word(|r| &r.used_as))
        .with("flag", rows.word(|r| &r.flag))
        .with("removed", rows.yes_no(|r| r.removed))
        .with("start_at", rows.instant(|r| r.start_ms))
        .with("end_at", rows.instant(|r| r.end_ms))
        .with("readings", rows.int(|r| r.readings))
        .with("size_c", rows.float(|r| r.size_c));
    rows.ended(table)
}

pub(crate) fn channels_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.channels);
    let table = rows
        .begun()
        .with("channel", rows.word(|r| &r.channel))
        .with("role", rows.word(|r| &r.role))
        .with("part", rows.word(|r| &r.part))
        .with("lead_reason", rows.text(|r| r.lead_reason.clone()))
        .with("highest_c", rows.float(|r| r.highest_c))
        .with("readings", rows.int(|r| r.readings))
        .with("calibration", rows.word(|r| &r.calibration))
        .with("offset_c", rows.float(|r| Some(r.offset_c)))
        .with("slope", rows.float(|r| Some(r.slope)))
        .with("ice_c", rows.float(|r| r.ice_c))
        .with("boiling_c", rows.float(|r| r.boiling_c))
        .with("boils_c", rows.float(|r| r.boils_c))
        .with("mean_difference_c", rows.float(|r| r.mean_difference_c))
        .with("difference_at_finish_c", rows.float(|r| r.difference_at_finish_c))
        .with("finish_after_lead_min", rows.float(|r| r.finish_after_lead_min))
        .with("likeness", rows.float(|r| r.likeness))
        .with("unlike", rows.text(|r| r.unlike.clone()))
        .with("unlike_by_c", rows.float(|r| r.unlike_by_c));
    rows.ended(table)
}

pub(crate) fn warnings_to_table(cooks: &[CookCleaning]) -> Table {
    let rows = Rows::of(cooks, |cook| &cook.warnings);
    let table = rows
        .begun()
        .with("code", rows.word(|r| &r.code))
        .with("about", rows.word(|r| &r.about))
        .with("sentence", rows.word(|r| &r.sentence));
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

impl Store {
    /// Writes what became of every cook's readings; false where the store held exactly this.
    pub fn write_cleaning(&self, cooks: &[CookCleaning]) -> Result<bool, StoreError> {
        let mut changed = self.write_table(TableName::Flags, &flags_to_table(cooks))?;
        changed |= self.write_table(TableName::Channels, &channels_to_table(cooks))?;
        changed |= self.write_table(TableName::Warnings, &warnings_to_table(cooks))?;
        Ok(changed)
    }

    /// Reads what became of every cook's readings. A cook without channels is not among them.
    pub fn read_cleaning(&self) -> Result<Vec<CookCleaning>, StoreError> {
        let mut cooks = Cooks::default();
        self.read_channels(&mut cooks)?;
        self.read_flags(&mut cooks)?;
        self.read_warnings(&mut cooks)?;
        Ok(cooks.all)
    }

    fn read_channels(&self, cooks: &mut Cooks) -> Result<(), StoreError> {
        let path = &self.table_path(TableName::Channels);
        let table = self.read_table(TableName::Channels)?;
        let text = |name: &str| table.text(path, name);
        let float = |name: &str| table.floats(path, name);
        let (cook, hash) = (text("cook")?, text("computed_from")?);
        let (channel, role, part) = (text("channel")?, text("role")?, text("part")?);
        let (reason, highest) = (text("lead_reason")?, float("highest_c")?);
        let (readings, calibration) = (table.integers(path, "readings")?, text("calibration")?);
        let (offset, slope) = (float("offset_c")?, float("slope")?);
        let (ice, boiling, boils) = (float("ice_c")?, float("boiling_c")?, float("boils_c")?);
        let (mean, at_finish) = (float("mean_difference_c")?, float("difference_at_finish_c")?);
        let (after, likeness) = (float("finish_after_lead_min")?, float("likeness")?);
        let (unlike, unlike_by) = (text("unlike")?, float("unlike_by_c")?);
        for row in 0..table.rows() {
            let found = ChannelRow {
                channel: required(path, "channel", channel[row].clone())?,
                role: required(path, "role", role[row].clone())?,
                part: required(path, "part", part[row].clone())?,
                lead_reason: reason[row].clone(),
                highest_c: highest[row],
                readings: required(path, "readings", readings[row])?,
                calibration: required(path, "calibration", calibration[row].clone())?,
                offset_c: required(path, "offset_c", offset[row])?,
                slope: required(path, "slope", slope[row])?,
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
            let name = required(path, "cook", cook[row].clone())?;
            let from = required(path, "computed_from", hash[row].clone())?;
            cooks.of(name, from).channels.push(found);
        }
        Ok(())
    }

    fn read_flags(&self, cooks: &mut Cooks) -> Result<(), StoreError> {
        let path = &self.table_path(TableName::Flags);
        let table = self.read_table(TableName::Flags)?;
        let text = |name: &str| table.text(path, name);
        let (cook, hash) = (text("cook")?, text("computed_from")?);
        let (channel, used_as, flag) = (text("channel")?, text("used_as")?, text("flag")?);
        let removed = table.booleans(path, "removed")?;
        let (start, end) = (table.instants(path, "start_at")?, table.instants(path, "end_at")?);
        let (readings, size) = (table.integers(path, "readings")?, table.floats(path, "size_c")?);
        for row in 0..table.rows() {
            let found = FlagRow {
                channel: required(path, "channel", channel[row].clone())?,
                used_as: required(path, "used_as", used_as[row].clone())?,
                flag: required(path, "flag", flag[row].clone())?,
                removed: required(path, "removed", removed[row])?,
                start_ms: required(path, "start_at", start[row])?,
                end_ms: required(path, "end_at", end[row])?,
                readings: required(path, "readings", readings[row])?,
                size_c: size[row],
            };
            let name = required(path, "cook", cook[row].clone())?;
            let from = required(path, "computed_from", hash[row].clone())?;
            cooks.of(name, from).flags.push(found);
        }
        Ok(())
    }

    fn read_warnings(&self, cooks: &mut Cooks) -> Result<(), StoreError> {
        let path = &self.table_path(TableName::Warnings);
        let table = self.read_table(TableName::Warnings)?;
        let text = |name: &str| table.text(path, name);
        let (cook, hash) = (text("cook")?, text("computed_from")?);
        let (code, about, sentence) = (text("code")?, text("about")?, text("sentence")?);
        for row in 0..table.rows() {
            let found = WarningRow {
                code: required(path, "code", code[row].clone())?,
                about: required(path, "about", about[row].clone())?,
                sentence: required(path, "sentence", sentence[row].clone())?,
            };
            let name = required(path, "cook", cook[row].clone())?;
            let from = required(path, "computed_from", hash[row].clone())?;
            cooks.of(name, from).warnings.push(found);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_cleaned_comes_back_as_written() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
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
        assert!(store.write_cleaning(&cooks).unwrap());
        assert!(!store.write_cleaning(&cooks).unwrap(), "the same again is no change");
        assert_eq!(store.read_cleaning().unwrap(), cooks);
    }
}
