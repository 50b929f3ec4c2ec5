//! What one probe tells of times and temperatures that food rules speak of, and of the pit's air.

use serde::Serialize;

/// Times and temperatures of the core. `None` is not logged or not stated; a flag beside a figure
/// says that it is a lower bound. Figures only: none of them says that food may be eaten.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(clippy::struct_excessive_bools, reason = "each stands beside the figure that it qualifies")]
pub struct ProbePanel {
    /// Minutes from meat-on to the pull with the core at 4.4–60 °C (40–140 °F).
    pub core_4_to_60_c_min: Option<f64>,
    /// Whether that is a lower bound.
    pub core_4_to_60_c_at_least: bool,
    /// Come-up: minutes from the core's 10 °C (50 °F) to its 54.4 °C (130 °F).
    pub come_up_min: Option<f64>,
    /// Whether that is a lower bound.
    pub come_up_at_least: bool,
    /// Decimal reductions of Salmonella up to the pull, by the law fitted to the public table.
    pub lethality_log10: Option<f64>,
    /// Whether the log misses some of that time.
    pub lethality_at_least: bool,
    /// Minutes from meat-on to where the sum reaches 6.5.
    pub lethality_6_5_log10_min: Option<f64>,
    /// Lowest core from the pull to the slice, °C.
    pub hold_lowest_core_c: Option<f64>,
    /// Minutes held below 57.2 °C (135 °F).
    pub hold_below_57_c_min: Option<f64>,
    /// Minutes held below 60 °C (140 °F).
    pub hold_below_60_c_min: Option<f64>,
    /// Minutes of the hold that were logged with the probe in the meat.
    pub hold_observed_min: Option<f64>,
    /// Minutes from the pull to the slice, or to the log's end.
    pub hold_min: Option<f64>,
    /// Why the hold is not known, or not to its end, in words.
    pub hold_reason: Option<String>,
    /// Minutes from 57.2 °C (135 °F) after the pull to 21.1 °C (70 °F).
    pub cooling_to_21_c_min: Option<f64>,
    /// Whether the log ended first.
    pub cooling_to_21_c_at_least: bool,
    /// Minutes from 57.2 °C (135 °F) after the pull to 5 °C (41 °F).
    pub cooling_to_5_c_min: Option<f64>,
    /// Whether the log ended first.
    pub cooling_to_5_c_at_least: bool,
    /// Why the cooling is not known, in words.
    pub cooling_reason: Option<String>,
}

impl ProbePanel {
    /// Whether anything was measured at all.
    pub fn is_empty(&self) -> bool {
        self.core_4_to_60_c_min.is_none()
            && self.come_up_min.is_none()
            && self.lethality_log10.is_none()
            && self.hold_observed_min.is_none()
            && self.cooling_to_21_c_min.is_none()
    }
}

/// Which figure of a [`ProbePanel`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ProbeFigure {
    /// Minutes at 4.4–60 °C.
    CoreInRange,
    /// Come-up, 10 to 54.4 °C.
    ComeUp,
    /// Minutes to 6.5 decimal reductions.
    Reductions,
    /// Lowest core while held.
    HoldLowest,
    /// Minutes held below 60 °C.
    HoldBelow60,
    /// Minutes held below 57.2 °C.
    HoldBelow57,
    /// Cooling to 21.1 °C.
    CoolingTo21,
    /// Cooling to 5 °C.
    CoolingTo5,
}

/// The wet bulb of the pit's air: a line to hold the stall against, no prediction of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct WetBulb {
    /// The wet bulb, °C.
    pub temp_c: f64,
    /// The dew point that it rests on, °C.
    pub dew_point_c: f64,
    /// Whether nobody measured the dew point and the settings assume it.
    pub assumed: bool,
    /// The pit temperature that it is for, °C.
    pub pit_c: f64,
    /// The altitude whose standard pressure was taken, m; `None` is sea level for want of a
    /// stated one.
    pub altitude_m: Option<f64>,
}
