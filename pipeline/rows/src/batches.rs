//! Cooks that come as record batches, wherever those come from.
//!
//! A cook's rows follow from its readings, its card, the events of its fire and what others lend it, and from
//! nothing else: whoever parts cooks among machines as he likes, and gives each part all cards and events, gets
//! the rows that one machine would have made. A cook that borrows needs the references of all others first,
//! so such a cook is derived after them.
//!
//! A cook whose rows cannot be used, or on which this program itself fails, is a row that says why: others
//! do not pay for it.

use crate::cleaning_rows::{CookCleaning, channels_to_table, flags_to_table, warnings_to_table};
use crate::cook_input::{CookInput, Rules};
use crate::cooks::CookRecord;
use crate::derive::{Started, Want};
use crate::error::RowsError;
use crate::hash::Fingerprint;
use crate::measured::{Measured, MeasuredTables};
use crate::noted::NotedCooks;
use crate::phase_rows::{CookPhases, NOT_SEGMENTED, phases_to_table};
use crate::readings::BatchCook;
use crate::references::Lent;
use crate::unsegmented::unsegmented;
use columns::Table;
use cook::{Card, CookReadings};
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Which rows are asked for.
#[derive(Debug, Clone, Copy)]
pub enum Asked<'a> {
    /// Phases and what cleaning made of the readings.
    Phases,
    /// Measures and their like, beside these phases, by cook.
    Measures(&'a HashMap<String, CookPhases>),
    /// All.
    All,
}

/// What cooks are derived by.
#[derive(Debug, Clone, Copy)]
pub struct BatchRows<'a> {
    /// All cooks of the season, whether their readings come or not.
    pub cooks: &'a NotedCooks,
    /// Its settings.
    pub rules: &'a Rules,
    /// Which rows are asked for.
    pub asked: Asked<'a>,
}

/// The rows of one cook.
#[derive(Debug)]
pub struct CookRows {
    /// Its place among the cooks of the season; behind them all where it is none of them.
    place: usize,
    phases: Option<(CookPhases, CookCleaning)>,
    measured: Option<Measured>,
}

impl CookRows {
    /// Its phases, where they were asked for.
    pub fn phases(&self) -> Option<&CookPhases> {
        self.phases.as_ref().map(|(phases, _)| phases)
    }
}

impl<'a> BatchRows<'a> {
    /// The rows of a cook. `None` where it asks for a reference of others and `lent` is not known yet.
    pub fn of(&self, cook: &BatchCook, lent: Option<&Lent>) -> Option<CookRows> {
        let place = self.cooks.place_of(&cook.cook);
        let stranger = || CookRecord {
            card: Card { cook: cook.cook.clone(), ..Card::default() },
            ..CookRecord::default()
        };
        let (record, readings) = match (place, &cook.readings) {
            (Some(place), Ok(readings)) => (&self.cooks.records()[place], readings),
            (place, problem) => {
                let reason = match problem {
                    // The row is that of a stream, which others may part otherwise.
                    Err(RowsError::Column { column, message, .. }) => {
                        format!("its readings cannot be used: column `{column}`: {message}")
                    }
                    Ok(_) => "no card names it".to_owned(),
                };
                let known = place.map(|place| self.cooks.records()[place].clone());
                let record = known.unwrap_or_else(stranger);
                return Some(self.failed(place, &record, reason));
            }
        };
        let place = self.cooks.place_of(&record.card.cook);
        let derived =
            catch_unwind(AssertUnwindSafe(|| self.derived(place, record, readings, lent)));
        derived.unwrap_or_else(|panic| {
            let said = panic.downcast_ref::<String>().map(String::as_str);
            let said = said.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no word");
            Some(self.failed(
                place,
                record,
                format!("cookstudy failed on it, please report: {said}"),
            ))
        })
    }

    fn derived(
        &self,
        place: Option<usize>,
        record: &'a CookRecord,
        readings: &CookReadings,
        lent: Option<&Lent>,
    ) -> Option<CookRows> {
        let card = &record.card;
        let log_ms = readings.first_ms().zip(readings.last_ms());
        let log_ms = record.log_ms().filter(|_| log_ms.is_some()).or(log_ms);
        let on_fire = self.cooks.on_fire(card, log_ms);
        let own_hash;
        let read_from = if record.computed_from.is_empty() {
            own_hash = hash_of(readings);
            &own_hash
        } else {
            &record.computed_from
        };
        let events = self.cooks.events_of(&card.cook);
        let cook = CookInput { card, read_from, log_ms, events, on_fire: &on_fire };
        let of_cook =
            |phases, measured| CookRows { place: place.unwrap_or(usize::MAX), phases, measured };
        let without_readings = || {
            of_cook(
                None,
                self.wants_measures().then(|| Measured::without_readings(&cook, self.rules)),
            )
        };
        let (want, borrows) = match self.asked {
            Asked::Phases => (Want::Phases, true),
            Asked::All => (Want::All, true),
            Asked::Measures(phases) => match phases.get(&card.cook) {
                Some(phases) => (Want::Measures(phases), phases.k_ref_borrowed),
                None => return Some(without_readings()),
            },
        };
        if log_ms.is_none() {
            return Some(without_readings());
        }
        let readings = CookReadings { season: card.season.clone(), ..readings.clone() };
        let started = Started::new(cook, readings, self.rules);
        let borrowed = match lent {
            None if started.asks_for_reference() && borrows => return None,
            lent => lent.and_then(|lent| lent.to(card)).filter(|_| borrows),
        };
        let derived = started.derive(borrowed, want);
        Some(of_cook(derived.phases, derived.measured))
    }

    fn wants_measures(&self) -> bool {
        !matches!(self.asked, Asked::Phases)
    }

    /// Rows that say why there is nothing else to say of a cook.
    fn failed(&self, place: Option<usize>, record: &CookRecord, reason: String) -> CookRows {
        let cook = CookInput {
            card: &record.card,
            read_from: &record.computed_from,
            log_ms: record.log_ms(),
            events: self.cooks.events_of(&record.card.cook),
            on_fire: &[],
        };
        let mut hash = Fingerprint::new("a cook that failed", crate::PHASES);
        hash.part(cook.phases_from(self.rules, None).as_bytes());
        hash.part(reason.as_bytes());
        let computed_from = hash.finish();
        let measured_from = cook.measured_from(&computed_from, self.rules);
        let phases = (!matches!(self.asked, Asked::Measures(_))).then(|| {
            let cleaning = CookCleaning {
                cook: record.card.cook.clone(),
                computed_from: computed_from.clone(),
                ..CookCleaning::default()
            };
            (unsegmented(&cook, reason, computed_from), cleaning)
        });
        let measured = self.wants_measures().then(|| {
            Measured::without_segmentation(&cook, self.rules, NOT_SEGMENTED, measured_from)
        });
        CookRows { place: place.unwrap_or(usize::MAX), phases, measured }
    }

    /// The rows of the cooks of the season that have none among these: what their cards say. `without_log` keeps
    /// to those that have no log, as far as the season knows.
    pub fn rest(&self, done: &[CookRows], without_log: bool) -> Vec<CookRows> {
        let mut is_done = vec![false; self.cooks.records().len()];
        for rows in done {
            if let Some(is_done) = is_done.get_mut(rows.place) {
                *is_done = true;
            }
        }
        let rest = self.cooks.records().iter().enumerate().filter(|(place, record)| {
            let has_log_to_come = without_log && record.log_ms().is_some();
            !is_done[*place] && !has_log_to_come
        });
        rest.map(|(place, record)| {
            let cook = CookInput {
                card: &record.card,
                read_from: &record.computed_from,
                log_ms: None,
                events: self.cooks.events_of(&record.card.cook),
                on_fire: &[],
            };
            let measured = self.wants_measures();
            let measured = measured.then(|| Measured::without_readings(&cook, self.rules));
            CookRows { place, phases: None, measured }
        })
        .collect()
    }

    /// The rows as tables by the names that they have in a store, in the order of the season's cooks.
    pub fn tables(&self, mut rows: Vec<CookRows>) -> Vec<(&'static str, Table)> {
        rows.sort_by_key(|cook| cook.place);
        let (mut phases, mut cleaning, mut measured) = (Vec::new(), Vec::new(), Vec::new());
        for cook in rows {
            if let Some((of_cook, cleaned)) = cook.phases {
                phases.push(of_cook);
                cleaning.push(cleaned);
            }
            measured.extend(cook.measured);
        }
        let mut tables = Vec::new();
        if !matches!(self.asked, Asked::Measures(_)) {
            tables.push(("phases", phases_to_table(&phases)));
            tables.push(("flags", flags_to_table(&cleaning)));
            tables.push(("channels", channels_to_table(&cleaning)));
            tables.push(("warnings", warnings_to_table(&cleaning)));
        }
        if self.wants_measures() {
            let of = MeasuredTables::of_some(measured, self.cooks);
            tables.push(("measures", of.measures));
            tables.push(("history", of.history));
            tables.push(("degrees", of.degrees));
            tables.push(("moved", of.moved));
            tables.push(("moved_history", of.moved_history));
        }
        tables
    }
}

/// Hash of readings of which nobody said what they were read from.
fn hash_of(readings: &CookReadings) -> String {
    let mut hash = Fingerprint::new("readings of a cook", 1);
    for channel in &readings.channels {
        hash.part(channel.name.as_bytes());
        hash.part(channel.role.as_str().as_bytes());
        hash.json(&(&channel.at_ms, &channel.flag));
        let bytes: Vec<u8> = channel.temp_c.iter().flat_map(|value| value.to_le_bytes()).collect();
        hash.part(&bytes);
    }
    hash.finish()
}
