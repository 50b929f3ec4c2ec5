//! The card's fields: how each is stored, stated in the season sheet, shown, and what becomes of
//! it in a store that is given away.
//!
//! To add one, give [`cook::Card`] the field and [`FIELDS`] its entry. The store, the sheet's
//! reader and its JSON Schema, the measures, the cook's page and the merge take it from here.

use crate::Quantity::{self, Altitude, Length, Mass, Temperature, TemperatureDifference};
use crate::access::{Access, access};
use crate::sheet::{SheetColumn, Stated};
use crate::{Description, Kind, Shown, Value};
use Anonymised::{Coded, Kept, Moved, OfItsOwn, OnRequest, TradeWords};

/// One field of the card.
#[derive(Debug, Clone, Copy)]
pub struct CardField {
    /// Its column in the store.
    pub column: Description,
    /// How the season sheet states it.
    pub stated: Stated,
    /// What becomes of it in a store that is given away.
    pub anonymised: Anonymised,
    /// Whether the measures repeat it under the same name.
    pub measured: bool,
    pub(crate) access: Access,
}

/// What becomes of a field in a store that is given away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anonymised {
    /// It tells nothing of who cooked: it stays.
    Kept,
    /// An instant, moved by whole weeks as all of its team's.
    Moved,
    /// A name: a code in its place.
    Coded,
    /// The trade's own words stay, others are replaced by a code; all stay on request.
    TradeWords,
    /// Dropped unless asked for by name.
    OnRequest,
    /// By a rule of its own, in `merge`; dropped where there is none.
    OfItsOwn,
}

/// The words of `kind`.
const KINDS: &[&str] = &["practice", "contest"];
/// The words of `end_reason`.
const END_REASONS: &[&str] = &["finish", "tender", "out-of-time", "fire", "log-end", "unstated"];

/// A field without a number.
const fn field(
    name: &'static str,
    label: &'static str,
    meaning: &'static str,
    stated: Stated,
    anonymised: Anonymised,
    access: Access,
) -> CardField {
    let column = crate::describe::plain(label, meaning).of(name, access.kind());
    let measured = !matches!(access.kind(), Kind::Instant);
    CardField { column, stated, anonymised, measured, access }
}

/// A number with a unit, stated in either of two columns.
const fn quantity(
    quantity: Quantity,
    name: &'static str,
    label: &'static str,
    meaning: &'static str,
    stated: Stated,
    access: Access,
) -> CardField {
    let column = crate::describe::number(quantity, label, meaning).of(name, access.kind());
    CardField { column, stated, anonymised: Kept, measured: true, access }
}

/// A probe test or a correction of one.
const PROBE_TEST: fn(f64) -> bool = |c| (-60.0..=160.0).contains(&c);
const CORRECTION: fn(f64) -> bool = |c| c.abs() <= 30.0;
const ABOVE_ZERO: fn(f64) -> bool = |value| value > 0.0;
const RANK: fn(f64) -> bool = |rank| rank >= 1.0 && rank.fract() == 0.0;
const NOT_BELOW_ZERO: fn(f64) -> bool = |value| value >= 0.0;

impl CardField {
    /// On the card of a cook's page.
    const fn on_page(mut self) -> Self {
        self.column = self.column.shown(&[Shown::Card]);
        self
    }

    /// Not among the measures.
    const fn not_measured(mut self) -> Self {
        self.measured = false;
        self
    }

    const fn anonymised(mut self, anonymised: Anonymised) -> Self {
        self.anonymised = anonymised;
        self
    }
}

macro_rules! fields {
    ($( $constant:ident = $field:expr; )*) => {
        $(
            #[doc = concat!("Field `", stringify!($constant), "` in small letters.")]
            pub const $constant: CardField = $field;
            const _: () = assert!(
                crate::describe::is_in_capitals(stringify!($constant), $constant.column.name),
                "the constant is the column's name in capitals"
            );
        )*

        /// Every field, in the order of the stored columns.
        pub const FIELDS: &[CardField] = &[$($constant),*];
    };
}

fields! {
    COOK = field("cook", "Cook", "Unique name of the cook.",
        Stated::text("may-3-flat"), OfItsOwn, access!(required cook));
    SEASON = field("season", "Season", "Season; the year of `date` where it is empty.",
        Stated::text("2025"), OfItsOwn, access!(required season));
    FIRE = field("fire", "Fire",
        "One lighting of one pit; where it is empty, that of the cooks on the same pit at the time. Cooks of one fire are not independent.",
        Stated::text("may-3"), OfItsOwn, access!(required fire));
    LOGS = field("logs", "Logs",
        "Logs of the cook: file names, globs or archives, `;` between them; `file#Channel` picks the meat channel that is this cook's; double quotes around a name or channel with `;` or `#` in it.",
        Stated::text("may-3.csv#Flat"), OfItsOwn, access!(logs)).not_measured();
    DATE = field("date", "Date", "Local date of meat-on.",
        Stated::Date { example: "2025-05-03" }, OfItsOwn, access!(text date));
    KIND = field("kind", "Kind", "What the cook was for.",
        Stated::Words { words: KINDS, example: "contest" }, Kept, access!(kind));
    CONTEST = field("contest", "Contest", "Which contest.",
        Stated::text("County Fair"), Coded, access!(text contest)).on_page();
    TURN_IN_AT = field("turn_in_at", "Turn-in", "When the meat is due before the judges.",
        Stated::time("turn_in_at", "12:00"), Moved, access!(instant turn_in_ms)).on_page();
    PLANNED_PULL_AT = field("planned_pull_at", "Planned pull", "When it was meant to come off.",
        Stated::time("planned_pull", "09:30"), Moved, access!(instant planned_pull_ms)).on_page();
    PLACE = field("place", "Place", "Where it was cooked.",
        Stated::text("the yard"), Coded, access!(text place)).on_page();
    PIT = field("pit", "Pit", "Which pit; cooks on one pit at one time share a fire.",
        Stated::text("Old Iron"), Coded, access!(text pit));
    COOKER = field("cooker", "Cooker", "Type of cooker.",
        Stated::text("offset"), TradeWords, access!(text cooker));
    CUT = field("cut", "Cut", "Cut of meat.",
        Stated::text("brisket"), TradeWords, access!(text cut));
    GRADE = field("grade", "Grade", "Quality grade.",
        Stated::text("choice"), TradeWords, access!(text grade)).on_page();
    SUPPLIER = field("supplier", "Supplier", "Supplier.",
        Stated::text("the market"), Coded, access!(text supplier)).on_page();
    LOT = field("lot", "Lot", "Lot.", Stated::text("A17"), Coded, access!(text lot)).on_page();
    COST = quantity(Quantity::Plain { unit: "", decimals: 2 }, "cost", "Cost",
        "Cost of the meat, in the season's currency.",
        Stated::Number { example: "82.50", unit: "the season's currency", fits: NOT_BELOW_ZERO },
        access!(number cost)).anonymised(OnRequest).on_page();
    RAW_WEIGHT_KG = quantity(Mass, "raw_weight_kg", "Raw weight", "Weight as bought.",
        Stated::either("6.4", ("raw_weight_lb", "14.1"), ABOVE_ZERO),
        access!(raw_weight: Kilograms)).on_page();
    TRIMMED_WEIGHT_KG = quantity(Mass, "trimmed_weight_kg", "Trimmed weight",
        "Weight as it goes on.",
        Stated::either("5.6", ("trimmed_weight_lb", "12.35"), ABOVE_ZERO),
        access!(trimmed_weight: Kilograms)).on_page();
    COOKED_WEIGHT_KG = quantity(Mass, "cooked_weight_kg", "Cooked weight",
        "Weight as it comes off.",
        Stated::either("3.4", ("cooked_weight_lb", "7.5"), ABOVE_ZERO),
        access!(cooked_weight: Kilograms)).on_page();
    SERVED_WEIGHT_KG = quantity(Mass, "served_weight_kg", "Served weight", "Weight as served.",
        Stated::either("3.1", ("served_weight_lb", "6.83"), ABOVE_ZERO),
        access!(served_weight: Kilograms)).on_page();
    THICKNESS_MM = quantity(Length, "thickness_mm", "Thickness", "Thickness at the thickest part.",
        Stated::either("90", ("thickness_in", "3.543"), ABOVE_ZERO),
        access!(thickness: Millimetres)).on_page();
    LEAD_CHANNEL = field("lead_channel", "Channel of the core", "The meat channel that is the core.",
        Stated::text("Flat"), OfItsOwn, access!(text lead_channel));
    MEAT_OFFSET_C = quantity(TemperatureDifference, "meat_offset_c", "Meat probe, correction",
        "Added to every meat reading, from an ice or boiling test.",
        Stated::either("-0.5", ("meat_offset_f", "-0.9"), CORRECTION),
        access!(meat_offset: CelsiusDifference)).on_page();
    PIT_OFFSET_C = quantity(TemperatureDifference, "pit_offset_c", "Pit probe, correction",
        "Added to every pit reading.",
        Stated::either("1", ("pit_offset_f", "1.8"), CORRECTION),
        access!(pit_offset: CelsiusDifference)).on_page();
    MEAT_ICE_C = quantity(Temperature, "meat_ice_c", "Meat probe in ice",
        "What the meat probe read in melting ice.",
        Stated::either("0.4", ("meat_ice_f", "32.7"), PROBE_TEST),
        access!(meat_ice: Celsius)).on_page();
    MEAT_BOILING_C = quantity(Temperature, "meat_boiling_c", "Meat probe in boiling water",
        "What the meat probe read in boiling water at the card's altitude; a stated `meat_offset` goes before it.",
        Stated::either("98.6", ("meat_boiling_f", "209.5"), PROBE_TEST),
        access!(meat_boiling: Celsius)).on_page();
    PIT_ICE_C = quantity(Temperature, "pit_ice_c", "Pit probe in ice",
        "What the pit probe read in melting ice.",
        Stated::either("-0.5", ("pit_ice_f", "31.1"), PROBE_TEST),
        access!(pit_ice: Celsius)).on_page();
    PIT_BOILING_C = quantity(Temperature, "pit_boiling_c", "Pit probe in boiling water",
        "What the pit probe read in boiling water at the card's altitude; a stated `pit_offset` goes before it.",
        Stated::either("99.5", ("pit_boiling_f", "211.1"), PROBE_TEST),
        access!(pit_boiling: Celsius)).on_page();
    PIT_SETPOINT_C = quantity(Temperature, "pit_setpoint_c", "Set-point", "Set-point of the pit.",
        Stated::either("121", ("pit_setpoint_f", "250"), |c| (20.0..=400.0).contains(&c)),
        access!(pit_setpoint: Celsius)).on_page();
    PIT_DEW_POINT_C = quantity(Temperature, "pit_dew_point_c", "Dew point in the pit",
        "Dew point of the pit's air, measured.",
        Stated::either("45", ("pit_dew_point_f", "113"), |c| (5.0..=95.0).contains(&c)),
        access!(pit_dew_point: Celsius)).on_page().not_measured();
    WOOD = field("wood", "Wood", "Wood.",
        Stated::text("oak"), TradeWords, access!(text wood)).on_page();
    FUEL_KG = quantity(Mass, "fuel_kg", "Fuel", "Fuel burnt.",
        Stated::either("9", ("fuel_lb", "19.84"), NOT_BELOW_ZERO),
        access!(fuel: Kilograms)).on_page();
    WATER_PAN = field("water_pan", "Water pan", "Whether a water pan was in the pit.",
        Stated::YesNo { example: "yes" }, Kept, access!(yes_no water_pan)).on_page();
    ALTITUDE_M = quantity(Altitude, "altitude_m", "Altitude", "Altitude of the place.",
        Stated::either("300", ("altitude_ft", "984"), |m| (-450.0..6000.0).contains(&m)),
        access!(altitude: Metres)).anonymised(OfItsOwn).on_page();
    WEATHER = field("weather", "Weather", "Weather in words.",
        Stated::text("wind from the west"), OnRequest, access!(text weather)).on_page();
    WRAP_METHOD = field("wrap_method", "Wrap",
        "What it was wrapped in first: `none`, `foil`, `paper` or another.",
        Stated::text("paper"), OfItsOwn, access!(wrap_method)).on_page();
    HOLD_KIND = field("hold_kind", "Held in", "How it was held.",
        Stated::text("cooler"), TradeWords, access!(text hold_kind)).on_page();
    MEAT_ON_AT = field("meat_on_at", "Meat on", "Meat on; a clock time is that of `date`.",
        Stated::time("meat_on", "22:00"), Moved, access!(mark meat_on_ms));
    WRAP_AT = field("wrap_at", "First wrap", "First wrap.",
        Stated::time("wrap_at", "+6:30"), Moved, access!(mark wrap_ms));
    PULL_AT = field("pull_at", "Pull", "Meat off.",
        Stated::time("pull", "07:15"), Moved, access!(mark pull_ms));
    SLICE_AT = field("slice_at", "Slice", "Meat sliced.",
        Stated::time("slice", "9:00 am"), Moved, access!(mark slice_ms));
    TARGET_CORE_C = quantity(Temperature, "target_core_c", "Target core",
        "Core temperature at which it was to be pulled.",
        Stated::either("95", ("target_core_f", "203"), |c| (30.0..=120.0).contains(&c)),
        access!(target_core: Celsius)).on_page();
    CONTEST_RANK = quantity(Quantity::Plain { unit: "", decimals: 0 }, "contest_rank", "Contest rank",
        "Placing in the contest; 1 is first.",
        Stated::Number { example: "4", unit: "1 is first", fits: RANK },
        access!(number contest_rank)).anonymised(OnRequest).on_page();
    CONTEST_POINTS = quantity(Quantity::Score, "contest_points", "Contest points",
        "Points that the contest gave in all.",
        Stated::Number { example: "172.4", unit: "points of the contest", fits: f64::is_finite },
        access!(number contest_points)).anonymised(OnRequest).on_page();
    ARM = field("arm", "Trial arm", "Arm of a randomised trial.",
        Stated::text("foil-early"), TradeWords, access!(text arm)).on_page();
    BLOCK = field("block", "Trial block", "Block of a randomised trial.",
        Stated::text("b2"), TradeWords, access!(text block)).on_page();
    PIT_POSITION = field("pit_position", "Place on the pit", "Its place on the pit, as drawn or as it was.",
        Stated::text("left"), TradeWords, access!(text pit_position)).not_measured();
    END_REASON = field("end_reason", "Why it ended", "Why the cook ended.",
        Stated::Words { words: END_REASONS, example: "tender" }, Kept, access!(end_reason));
    EXCLUDE = field("exclude", "Left out because", "Why the cook is left out of the analysis.",
        Stated::text("the logger fell in"), OfItsOwn, access!(text exclude));
    LAST_PROBE_TEST_TENDER = field("last_probe_test_tender", "Last probe test tender",
        "Whether the last probe test found it tender.",
        Stated::Nowhere, Kept, access!(yes_no last_probe_test_tender));
}

impl CardField {
    /// Why a value of the stored kind cannot stand in this field; `None` where it can. A missing value can
    /// stand anywhere.
    pub fn refuses(&self, value: &Value) -> Option<String> {
        let label = self.column.label_within();
        match (value, self.stated) {
            (Value::Float(number), Stated::Number { fits, .. } | Stated::Either { fits, .. }) => {
                let unit = self.column.unit();
                let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
                let can_be = number.is_finite() && fits(*number);
                (!can_be).then(|| format!("{number}{unit} is no {label}"))
            }
            (Value::Text(word), Stated::Words { words, .. }) => {
                let mut card = cook::Card::default();
                self.set(&mut card, value.clone());
                let known = word.trim().is_empty() || !self.get(&card).is_null();
                (!known).then(|| format!("`{word}` is none of {}", words.join(", ")))
            }
            (Value::Text(date), Stated::Date { example }) => {
                let is_date = date.trim().is_empty() || date.parse::<jiff::civil::Date>().is_ok();
                (!is_date).then(|| format!("`{date}` is no date: write it as {example}"))
            }
            _ => None,
        }
    }

    /// The sheet's columns that a store has under another name.
    pub fn named_otherwise(&self) -> impl Iterator<Item = SheetColumn> {
        let own = self.column.name;
        self.sheet_columns().into_iter().filter(move |column| column.name != own)
    }
}

/// The field of a column of the store.
pub fn field_of(column: &str) -> Option<&'static CardField> {
    FIELDS.iter().find(|field| field.column.name == column)
}
