//! What the page of cooks that are on shows, finished.

/// Cooks that are on, with what is forecast of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OutlookPage {
    /// The team's name.
    pub team: String,
    /// The cooks.
    pub cooks: Vec<OutlookCook>,
    /// What is to be said beside them.
    pub notes: Vec<String>,
    /// Version of the program.
    pub version: String,
}

/// One cook. Times of its curves are minutes of the local day of meat-on, so that 26:00 is two in the
/// night; temperatures are °C.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OutlookCook {
    /// The cook.
    pub name: String,
    /// What is forecast: labels and texts in the reader's units and clock.
    pub facts: Vec<(String, String)>,
    /// The core up to now.
    pub core: Vec<(f64, f64)>,
    /// When it will be at the finish; `None` where nothing is forecast.
    pub finish: Option<OutlookFan>,
    /// The core at the finish.
    pub finish_c: f64,
    /// The turn-in.
    pub turn_in: Option<f64>,
    /// Past cooks that stood alike, from that moment on, moved to now.
    pub alike: Vec<Vec<(f64, f64)>>,
}

/// The middle of a forecast and its ends.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OutlookFan {
    /// The earlier end.
    pub lo: f64,
    /// The middle.
    pub middle: f64,
    /// The later end.
    pub hi: f64,
    /// How often in 100 it should hold.
    pub level: u8,
}
