//! Seasons as untidy people keep them: cards as well as logs, with the truth beside.
//!
//! A season has 25 cooks on the pits of a team that nobody told how to write things down. Its logger
//! exports and its sheet follow habits that are drawn once a season (people keep theirs), and in
//! some places somebody slips: a copy of a log, marks in the wrong row, a set-point in the other
//! unit. [`UntidySeason::answer`] answers what a reader asks as one who was there.
//!
//! | module | its one job |
//! |---|---|
//! | `fires` | what was cooked, and the instants of it |
//! | `logs` | loggers' habits, and their files |
//! | `sheet` | habits of writing cards, and the sheet |
//! | `words` | spellings and headings |
//! | `answer` | what one who knows answers |

mod answer;
mod fires;
mod logs;
mod sheet;
mod words;

use cook::Card;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// Cooks of a season.
pub const COOKS: usize = 25;

/// What somebody did that leaves a value open, or wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slip {
    /// Two cooks have each other's marks.
    MarksExchanged,
    /// The set-point is written in the other unit.
    SetpointInOtherUnit,
    /// The raw weight is in kilograms where the column is in pounds.
    WeightInOtherUnit,
    /// A log lies there twice.
    LogTwice,
    /// A fire's log is in two parts, and its meat probe has two names.
    TwoNamesOfAProbe,
    /// Another device's readings stand between the cook's own.
    TwoDevices,
    /// The logger was switched to the other unit in the middle.
    UnitSwitched,
    /// The logger writes tenths of a degree without a point.
    TenthsOfADegree,
}

impl Slip {
    /// Every slip.
    pub const ALL: [Self; 8] = [
        Self::MarksExchanged,
        Self::SetpointInOtherUnit,
        Self::WeightInOtherUnit,
        Self::LogTwice,
        Self::TwoNamesOfAProbe,
        Self::TwoDevices,
        Self::UnitSwitched,
        Self::TenthsOfADegree,
    ];

    /// What it is called in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::MarksExchanged => "marks in each other's row",
            Self::SetpointInOtherUnit => "a set-point in the other unit",
            Self::WeightInOtherUnit => "a weight in the other unit",
            Self::LogTwice => "a log that lies there twice",
            Self::TwoNamesOfAProbe => "one probe under two names",
            Self::TwoDevices => "two devices in one file",
            Self::UnitSwitched => "a unit switched in the middle",
            Self::TenthsOfADegree => "tenths of a degree",
        }
    }
}

/// One cook: what is true of it, and where it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct UntidyCook {
    /// What a card of it should hold; what the sheet does not state is empty.
    pub card: Card,
    /// Its line in the sheet.
    pub line: u64,
    /// Its logs, from the season folder.
    pub logs: Vec<String>,
    /// First and last instant of them, ms UTC.
    pub logged_ms: (i64, i64),
    /// The hottest that its core was logged, °C.
    pub core_max_c: f64,
    /// The median of its pit as logged, °C.
    pub pit_median_c: f64,
    /// Minutes in stalls by the phase definition, of the noise-free curve.
    pub stall_min: f64,
    /// What was done to it.
    pub slips: Vec<Slip>,
}

/// A season.
#[derive(Debug, Clone, PartialEq)]
pub struct UntidySeason {
    /// Files of the season folder: path and bytes.
    pub files: Vec<(String, Vec<u8>)>,
    /// The cooks, in the order of the sheet.
    pub cooks: Vec<UntidyCook>,
    /// The zone that its clocks show.
    pub zone: &'static str,
    /// What each heading of the sheet means, as a column of the season sheet.
    pub headings: BTreeMap<String, &'static str>,
    /// The habits that were drawn, for tables.
    pub habits: Vec<String>,
    /// How each log was written.
    pub(crate) log_styles: BTreeMap<String, logs::LogStyle>,
    /// How the sheet was written.
    pub(crate) sheet_style: sheet::SheetStyle,
    /// What each spelling of a pit, cut or wood means.
    pub(crate) meanings: BTreeMap<String, String>,
}

impl UntidySeason {
    /// Whether a log counts from its own zero and says nowhere when that was.
    pub fn counts_from_its_own_zero(&self, log: &str) -> bool {
        self.log_styles.get(log).is_some_and(|style| style.times == logs::Times::SecondsBare)
    }
}

/// An untidy season by its number.
pub fn untidy(seed: u64, index: u64) -> UntidySeason {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    random.set_stream(index);
    let zone = words::pick(&mut random, &words::ZONES);
    let fires = fires::fires(zone, &mut random);
    let mut season = UntidySeason {
        files: Vec::new(),
        cooks: Vec::new(),
        zone,
        headings: BTreeMap::new(),
        habits: Vec::new(),
        log_styles: BTreeMap::new(),
        sheet_style: sheet::SheetStyle::draw(&mut random),
        meanings: BTreeMap::new(),
    };
    logs::write(&fires, &mut season, &mut random);
    sheet::write(&fires, &mut season, &mut random);
    let mut settings = "team = \"Untidy\"\nunits = \"us\"\n".to_owned();
    if random.random_bool(0.6) {
        settings += &format!("time_zone = \"{zone}\"\n");
    } else {
        season.habits.push("no zone in season.toml".to_owned());
    }
    season.files.push(("season.toml".to_owned(), settings.into_bytes()));
    season.files.sort();
    season
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_season_is_the_same_every_time_and_whole() {
        let season = untidy(1, 0);
        assert_eq!(season, untidy(1, 0));
        assert_ne!(season.files, untidy(1, 1).files);
        assert_eq!(season.cooks.len(), COOKS);
        for cook in &season.cooks {
            assert!(cook.logs.iter().all(|log| season.files.iter().any(|(name, _)| name == log)));
            let on = cook.card.marks.meat_on_ms;
            let pull = cook.card.marks.pull_ms;
            assert!(on.zip(pull).is_none_or(|(on, pull)| on < pull), "{:?}", cook.card);
            assert!(cook.core_max_c > 60.0, "{}", cook.core_max_c);
        }
    }
}
