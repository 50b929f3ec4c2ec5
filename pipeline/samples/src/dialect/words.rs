//! Words of headers, in some languages.

use super::style::Language;

/// A header's own words.
pub(super) struct Words {
    pub(super) time: &'static str,
    pub(super) date: &'static str,
    pub(super) elapsed: &'static str,
    pub(super) start: &'static str,
    pub(super) channel: &'static str,
    pub(super) temperature: &'static str,
    pub(super) unit: &'static str,
    pub(super) row: &'static str,
    pub(super) fan: &'static str,
    pub(super) battery: &'static str,
    pub(super) note: &'static str,
    pub(super) socket: &'static str,
    pub(super) average: &'static str,
    pub(super) maximum: &'static str,
}

const ENGLISH: Words = Words {
    time: "time",
    date: "date",
    elapsed: "elapsed",
    start: "start",
    channel: "channel",
    temperature: "temperature",
    unit: "unit",
    row: "row",
    fan: "fan (%)",
    battery: "battery (V)",
    note: "note",
    socket: "socket",
    average: "average",
    maximum: "maximum",
};

const GERMAN: Words = Words {
    time: "zeit",
    date: "datum",
    elapsed: "dauer",
    start: "start",
    channel: "kanal",
    temperature: "temperatur",
    unit: "einheit",
    row: "nr.",
    fan: "gebläse (%)",
    battery: "batterie (V)",
    note: "bemerkung",
    socket: "buchse",
    average: "mittelwert",
    maximum: "maximum",
};

const FRENCH: Words = Words {
    time: "heure",
    date: "date",
    elapsed: "durée",
    start: "début",
    channel: "voie",
    temperature: "température",
    unit: "unité",
    row: "no",
    fan: "ventilateur (%)",
    battery: "batterie (V)",
    note: "remarque",
    socket: "prise",
    average: "moyenne",
    maximum: "maximum",
};

const SPANISH: Words = Words {
    time: "hora",
    date: "fecha",
    elapsed: "duración",
    start: "inicio",
    channel: "canal",
    temperature: "temperatura",
    unit: "unidad",
    row: "n.º",
    fan: "ventilador (%)",
    battery: "batería (V)",
    note: "nota",
    socket: "toma",
    average: "promedio",
    maximum: "máximo",
};

const ITALIAN: Words = Words {
    time: "ora",
    date: "data",
    elapsed: "durata",
    start: "inizio",
    channel: "canale",
    temperature: "temperatura",
    unit: "unità",
    row: "n.",
    fan: "ventola (%)",
    battery: "batteria (V)",
    note: "nota",
    socket: "presa",
    average: "media",
    maximum: "massimo",
};

const DUTCH: Words = Words {
    time: "tijd",
    date: "datum",
    elapsed: "duur",
    start: "begin",
    channel: "kanaal",
    temperature: "temperatuur",
    unit: "eenheid",
    row: "nr",
    fan: "ventilator (%)",
    battery: "batterij (V)",
    note: "opmerking",
    socket: "ingang",
    average: "gemiddelde",
    maximum: "maximum",
};

impl Language {
    /// Every language.
    pub const ALL: [Self; 6] =
        [Self::English, Self::German, Self::French, Self::Spanish, Self::Italian, Self::Dutch];

    pub(super) fn words(self) -> &'static Words {
        match self {
            Self::English => &ENGLISH,
            Self::German => &GERMAN,
            Self::French => &FRENCH,
            Self::Spanish => &SPANISH,
            Self::Italian => &ITALIAN,
            Self::Dutch => &DUTCH,
        }
    }

    /// Names for a pit and four pieces of meat, as somebody who speaks it might write them.
    pub fn channel_names(self) -> [&'static str; 5] {
        match self {
            Self::English => ["Pit", "Flat", "Point", "Probe 3", "Probe 4"],
            Self::German => ["Garraum", "Fleisch 1", "Fleisch 2", "Fühler 3", "Fühler 4"],
            Self::French => ["Four", "Viande 1", "Viande 2", "Sonde 3", "Sonde 4"],
            Self::Spanish => ["Cámara", "Carne 1", "Carne 2", "Sonda 3", "Sonda 4"],
            Self::Italian => ["Camera", "Carne 1", "Carne 2", "Sonda 3", "Sonda 4"],
            Self::Dutch => ["Oven", "Vlees 1", "Vlees 2", "Sonde 3", "Sonde 4"],
        }
    }
}

/// With a capital letter in front.
pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
