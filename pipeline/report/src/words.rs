//! Numbers and findings in words: one place, so that a figure, a caption and a table say the same
//! thing alike.

mod claim;
mod cleaning;
pub(crate) mod compared;
mod cost;
mod decision;
mod levers;
mod models;
mod plain;
mod questioned;
mod spoken;
mod teams;

pub(crate) use claim::{
    confirming, contrast, more_cooks, of_all_cooks, refusal, remarks, sealed, standing,
    verdict_meaning,
};
pub(crate) use cleaning::{
    channel_sentences, correction, part, signs_sentence, stretch_action, stretch_sentence,
    stretch_sign,
};
pub(crate) use compared::Compared;
pub(crate) use cost::{
    contrast_label, cost_difference, cost_finding, cost_standing, half_by, tender_difference,
    tender_label, tender_quantile, trade_sentence, with_ends,
};
pub(crate) use decision::{beside, contest_sentence, decisions, rests_on, settles, why_refused};
pub(crate) use levers::{hazard_ratio, lever_dose, lever_name, lever_sentence};
pub(crate) use models::{method, model_checks, outcome_of, term};
pub(crate) use plain::{finding as plain_finding, in_a_sentence, in_short};
pub(crate) use questioned::{
    chance, other_way, specifications_caption, specifications_headline, without_one_fire,
};
pub(crate) use spoken::spoken;
pub(crate) use teams::{in_unit, per_step, shown as shown_in_teams, teams_sentences};

use columns::Value;
use columns::measures::Measures;
use cook::{PhaseKind, Units};

use crate::data::{CookReport, Mark, MarkKind, PhaseSpan};
use crate::effect::Effect;
use crate::names::{name_within, quantity_of};
use crate::units::{Quantity, count, number, signed, with_unit};
use study::claims::Claim;

/// `1 cook`, `2 cooks`.
pub(crate) fn plural(n: usize, noun: &str) -> String {
    format!("{} {noun}{}", count(n), if n == 1 { "" } else { "s" })
}

/// `3 h 05 min`, `45 min`.
pub(crate) fn duration(minutes: f64) -> String {
    let whole = minutes.round().abs() as i64;
    let sign = if minutes.round() < 0.0 { "\u{2212}" } else { "" };
    match (whole / 60, whole % 60) {
        (0, minutes) => format!("{sign}{minutes}\u{a0}min"),
        (hours, minutes) => format!("{sign}{hours}\u{a0}h\u{a0}{minutes:02}\u{a0}min"),
    }
}

/// A mark's name.
pub(crate) fn mark(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::MeatOn => "meat-on",
        MarkKind::Wrap => "wrap",
        MarkKind::Unwrap => "unwrap",
        MarkKind::Pull => "pull",
        MarkKind::Slice => "slice",
    }
}

/// A mark with its time, source and detail.
pub(crate) fn mark_sentence(at: &Mark) -> String {
    let detail = at.detail.as_ref().map(|d| format!(" ({d})")).unwrap_or_default();
    let from = if at.from.is_empty() { String::new() } else { format!(", {}", at.from) };
    format!(
        "{}{detail} at {}, {} after meat-on{from}",
        mark(at.kind),
        at.at_local,
        duration(at.at_min)
    )
}

/// A phase with its start, length and core temperatures.
pub(crate) fn phase_sentence(span: &PhaseSpan, units: Units) -> String {
    let core = match (span.start_core_c, span.end_core_c) {
        (Some(from), Some(to)) => format!(
            ", core {} to {}",
            Quantity::Temperature.number(from, units),
            Quantity::Temperature.show(to, units)
        ),
        _ => String::new(),
    };
    let at_least = if span.complete { "" } else { "at least " };
    format!(
        "{} {at_least}{} from {}{core}",
        span.phase.as_str(),
        duration(span.end_min - span.start_min),
        span.start_local
    )
}

/// Core at which the study clock starts, °C.
pub(crate) const CLOCK_ZERO_C: f64 = 55.0;
/// Core at the finish, °C.
pub(crate) const FINISH_C: f64 = 88.0;

/// What stands for the core at a wrap of unknown time.
pub(crate) const NOBODY_WROTE_WHEN: &str = "wrapped, but nobody wrote when";

/// The wet bulb with what it rests on; none where the humidity is neither measured nor assumed.
pub(crate) fn wet_bulb(own: &Measures, units: Units) -> Option<String> {
    let degrees = |c: f64| Quantity::Temperature.show(c, units);
    Some(format!(
        "Wet bulb {}: air of {} with {} dew point of {}, at {}",
        degrees(own.pit_wet_bulb_c?),
        degrees(own.pit_stall_c?),
        if own.pit_dew_point_source.as_deref() == Some("card") {
            "a measured"
        } else {
            "an assumed"
        },
        degrees(own.pit_dew_point_c?),
        match own.altitude_m {
            Some(metres) => Quantity::Altitude.show(metres, units),
            None => "sea level, no altitude being stated".to_owned(),
        }
    ))
}

/// The confidence level as written: `95 %`, `98.3 %`.
pub(crate) fn level(level: f64) -> String {
    let per_cent = level * 100.0;
    let decimals = usize::from((per_cent - per_cent.round()).abs() > 0.05);
    format!("{}\u{a0}%", number(per_cent, decimals))
}

/// A date range of two ISO dates.
pub(crate) fn dates(first: Option<&str>, last: Option<&str>) -> Option<String> {
    match (first, last) {
        (Some(first), Some(last)) if first != last => Some(format!("{first} to {last}")),
        (Some(day), _) | (None, Some(day)) => Some(day.to_owned()),
        (None, None) => None,
    }
}

/// A value in the reader's units; none where nothing is known. Instants are told by the clock of
/// the season, which is not known here.
pub(crate) fn value(value: &Value, quantity: Quantity, units: Units) -> Option<String> {
    Some(match value {
        Value::Null | Value::Instant(_) => return None,
        Value::Text(text) if text.is_empty() => return None,
        Value::Text(text) => text.clone(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Int(n) => quantity.show(*n as f64, units),
        Value::Float(number) => quantity.show(*number, units),
    })
}

/// The text with a capital letter in front.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The text with a small letter in front.
pub(crate) fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

/// An effect converted to the reader's units, with the label it then needs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ShownEffect {
    pub(crate) estimate: f64,
    pub(crate) lo: Option<f64>,
    pub(crate) hi: Option<f64>,
    pub(crate) decimals: usize,
    unit: String,
    per: Option<String>,
    level: f64,
    cooks: usize,
    fires: usize,
}

impl ShownEffect {
    /// Converts an effect. A slope per SI unit becomes a slope per the covariate's step in the
    /// reader's units.
    pub(crate) fn new(effect: &Effect, units: Units) -> Self {
        let step = effect.per.as_ref().map_or(1.0, |per| per.si_step(units));
        let shown = |si: f64| effect.outcome.difference(si * step, units);
        let end = |si: Option<f64>| si.map(shown).filter(|end| end.is_finite());
        let (estimate, lo, hi) = (shown(effect.estimate), end(effect.lo), end(effect.hi));
        // Small effects need more digits than the outcome itself, else an interval reads "0 to 0".
        let size = [Some(estimate), lo, hi].into_iter().flatten().map(f64::abs).fold(0.0, f64::max);
        let needed = match size {
            size if size >= 10.0 || size == 0.0 => 0,
            size if size >= 1.0 => 1,
            size if size >= 0.1 => 2,
            _ => 3,
        };
        let mut decimals = effect.outcome.decimals(units).max(needed);
        // An end that is not zero must not read as zero: it decides the direction.
        let reads_as_zero = |end: f64, decimals: usize| {
            end != 0.0 && end.abs() < 0.5 * 10f64.powi(-(decimals as i32))
        };
        while decimals < 4 && [lo, hi].into_iter().flatten().any(|e| reads_as_zero(e, decimals)) {
            decimals += 1;
        }
        Self {
            estimate,
            lo,
            hi,
            decimals,
            unit: effect.outcome.unit(units).to_owned(),
            per: effect.per.as_ref().map(|per| per.per(units)),
            level: effect.level,
            cooks: effect.cooks,
            fires: effect.fires,
        }
    }

    /// The effect of a claim; none where nothing was estimated.
    pub(crate) fn of_claim(claim: &study::result::ClaimResult, units: Units) -> Option<Self> {
        Some(Self::new(&Effect::of_claim(claim)?, units))
    }

    /// The smallest difference that matters: per the claim's own step, as its effect is told.
    pub(crate) fn matters(asked: &Claim, units: Units) -> f64 {
        quantity_of(&asked.outcome).difference(asked.matters, units)
    }

    /// The same where the step is told elsewhere.
    pub(crate) fn without_step(self) -> Self {
        Self { per: None, ..self }
    }

    /// `+12 min per kg`.
    pub(crate) fn headline(&self) -> String {
        let estimate = with_unit(&signed(self.estimate, self.decimals), &self.unit);
        match &self.per {
            Some(per) => format!("{estimate} {per}"),
            None => estimate,
        }
    }

    /// `3 to 21`, or the open end in words.
    pub(crate) fn interval(&self) -> String {
        let shown = |value: f64| number(value, self.decimals);
        match (self.lo, self.hi) {
            (Some(lo), Some(hi)) => format!("{} to {}", shown(lo), shown(hi)),
            (Some(lo), None) => format!("{} or more", shown(lo)),
            (None, Some(hi)) => format!("{} or less", shown(hi)),
            (None, None) => "open at both ends".to_owned(),
        }
    }

    /// `−31`, without unit and step.
    pub(crate) fn estimate_alone(&self) -> String {
        signed(self.estimate, self.decimals)
    }

    /// `3 to 21 min per kg`.
    pub(crate) fn interval_with_unit(&self) -> String {
        let interval = with_unit(&self.interval(), &self.unit);
        self.per.as_ref().map_or(interval.clone(), |per| format!("{interval} {per}"))
    }

    /// Whether the estimate is too small for the digits that it is shown in.
    pub(crate) fn reads_as_zero(&self) -> bool {
        self.estimate.abs() < 0.5 * 10f64.powi(-(self.decimals as i32))
    }

    /// `95 % interval`.
    pub(crate) fn interval_name(&self) -> String {
        format!("{} interval", level(self.level))
    }

    /// `+12 min per kg (95 % interval 3 to 21; 38 cooks on 30 fires)`.
    pub(crate) fn sentence(&self) -> String {
        format!("{} ({})", self.headline(), self.support())
    }

    /// `95 % interval 3 to 21; 38 cooks on 30 fires`.
    pub(crate) fn support(&self) -> String {
        format!(
            "{} {}; {}",
            self.interval_name(),
            self.interval(),
            cooks_on_fires(self.cooks, self.fires)
        )
    }

    /// A size in the outcome's own unit, without what it is per.
    pub(crate) fn magnitude(&self, size: f64) -> String {
        with_unit(&number(size, self.decimals), &self.unit)
    }

    /// A magnitude on this effect's scale, with its unit.
    pub(crate) fn with_unit(&self, value: f64) -> String {
        let shown = self.magnitude(value);
        match &self.per {
            Some(per) => format!("{shown} {per}"),
            None => shown,
        }
    }

    /// What the axis of the interval figure counts.
    pub(crate) fn axis_label(&self, asked: &Claim) -> String {
        let unit = match (&self.per, self.unit.as_str()) {
            (Some(per), "") => per.clone(),
            (Some(per), unit) => format!("{unit} {per}"),
            (None, unit) => unit.to_owned(),
        };
        let name = format!("difference in {}", name_within(&asked.outcome));
        if unit.is_empty() { name } else { format!("{name}, {unit}") }
    }
}

/// `38 cooks on 30 fires`; fires are left out where they are not counted.
pub(crate) fn cooks_on_fires(cooks: usize, fires: usize) -> String {
    if fires == 0 {
        plural(cooks, "cook")
    } else {
        format!("{} on {}", plural(cooks, "cook"), plural(fires, "fire"))
    }
}

/// A stall length: `205 min`, `≥ 210 min` for an open end, nothing where it was not judged.
pub(crate) fn stall_length(measures: &Measures) -> Option<String> {
    bounded(measures.stall_min?, measures.stall_min_censored == Some(true))
}

/// A stall delay, with `≥` for a lower bound.
pub(crate) fn stall_delay(measures: &Measures) -> Option<String> {
    bounded(measures.stall_delay_min?, measures.stall_delay_censored == Some(true))
}

fn bounded(minutes: f64, lower_bound: bool) -> Option<String> {
    minutes.is_finite().then(|| {
        let bound = if lower_bound { "≥\u{a0}" } else { "" };
        format!("{bound}{}", Quantity::Minutes.show(minutes, Units::Metric))
    })
}

/// The 90 % interval of the stall length, where there is one.
pub(crate) fn stall_interval(measures: &Measures) -> Option<String> {
    let lo = measures.stall_min_lo90?;
    Some(match measures.stall_min_hi90 {
        Some(hi) => format!("{} to {}", number(lo, 0), number(hi, 0)),
        None => format!("{} or more", number(lo, 0)),
    })
}

/// The level of what no card states.
pub(crate) const NOT_STATED: &str = "not stated";

/// One sentence on what a cook's curve shows.
pub(crate) fn curve_sentence(report: &CookReport, units: Units) -> String {
    let stalls: Vec<&PhaseSpan> =
        report.phases.iter().filter(|span| span.phase == PhaseKind::Stall).collect();
    let unknown = report.phases.iter().find(|span| span.phase == PhaseKind::Unknown);
    let wrapped = report.marks.iter().find(|mark| mark.kind == MarkKind::Wrap).map(|mark| {
        let core =
            mark.core_c.map(|c| format!(" at a core of {}", Quantity::Temperature.show(c, units)));
        format!(" Wrapped {} after meat-on{}.", duration(mark.at_min), core.unwrap_or_default())
    });
    let stall = match (stalls.as_slice(), stall_length(&report.measures), unknown) {
        ([first, rest @ ..], Some(length), _) => {
            let times = match rest.len() {
                0 => ", beginning".to_owned(),
                more => format!(" in {} stalls, the first beginning", more + 1),
            };
            let open = if report.measures.stall_min_censored == Some(true) {
                ", still in stall where the log ends"
            } else {
                ""
            };
            format!(
                "The core stalls for {length}{times} {} after meat-on{open}.",
                duration(first.start_min)
            )
        }
        (_, None, Some(span)) => {
            let reason = span.reason.as_ref().or(report.measures.not_judged_reason.as_ref());
            let reason = reason.map_or_else(String::new, |r| format!(": {r}"));
            format!("No stall was judged{reason}.")
        }
        ([], Some(_), _) => "The core passes through without a stall.".to_owned(),
        _ => "No phase was judged.".to_owned(),
    };
    stall + &wrapped.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Covariate;

    fn slope() -> Effect {
        Effect {
            estimate: 12.0,
            lo: Some(3.0),
            hi: Some(21.0),
            level: 0.95,
            outcome: Quantity::Minutes,
            per: Some(Covariate {
                name: "trimmed weight".into(),
                quantity: Quantity::Mass,
                step: None,
            }),
            cooks: 38,
            fires: 30,
        }
    }

    #[test]
    fn an_effect_is_told_with_interval_and_counts() {
        assert_eq!(
            ShownEffect::new(&slope(), Units::Metric).sentence().replace('\u{a0}', " "),
            "+12 min per kg (95 % interval 3 to 21; 38 cooks on 30 fires)"
        );
        // 12 min/kg · 0.453 592 37 kg/lb = 5.443 min/lb.
        let us = ShownEffect::new(&slope(), Units::Us);
        assert!((us.estimate - 5.443_108_44).abs() < 1e-9);
        assert_eq!(us.headline(), "+5.4\u{a0}min per lb");
    }

    #[test]
    fn an_end_near_zero_never_reads_as_zero() {
        let effect =
            Effect { per: None, estimate: -20.0, lo: Some(-40.3), hi: Some(0.3), ..slope() };
        assert_eq!(ShownEffect::new(&effect, Units::Metric).interval(), "−40.3 to 0.3");
        let effect = Effect { hi: Some(0.0), ..effect };
        assert_eq!(ShownEffect::new(&effect, Units::Metric).interval(), "−40 to 0");
    }

    #[test]
    fn a_slope_of_temperature_per_temperature_keeps_its_number() {
        // One °C per °C is one °F per °F: ten per 10 °F.
        let effect = Effect {
            estimate: 1.0,
            outcome: Quantity::Temperature,
            per: Some(Covariate {
                name: "pit".into(),
                quantity: Quantity::Temperature,
                step: None,
            }),
            ..Effect::default()
        };
        assert!((ShownEffect::new(&effect, Units::Us).estimate - 10.0).abs() < 1e-12);
    }

    #[test]
    fn what_matters_is_on_the_scale_of_the_effect() {
        let per =
            Covariate { name: "pit".into(), quantity: Quantity::Temperature, step: Some(5.0) };
        let effect = Effect { estimate: -2.0, per: Some(per), ..slope() };
        let shown = ShownEffect::new(&effect, Units::Us);
        let matters = ShownEffect::matters(&crate::samples::trend().asked, Units::Us);
        assert_eq!((shown.estimate, matters), (-10.0, 10.0));
        assert_eq!(shown.headline().replace('\u{a0}', " "), "−10 min per 9 °F");
    }

    #[test]
    fn an_open_end_is_said_and_a_missing_stall_is_nothing() {
        let censored = Measures {
            stall_min: Some(210.0),
            stall_min_censored: Some(true),
            stall_min_lo90: Some(200.0),
            ..Measures::default()
        };
        assert_eq!(stall_length(&censored).as_deref(), Some("≥\u{a0}210\u{a0}min"));
        assert_eq!(stall_interval(&censored).as_deref(), Some("200 or more"));
        assert_eq!(stall_length(&Measures::default()), None);
    }

    #[test]
    fn levels_and_durations_read_well() {
        assert_eq!(level(0.95), "95\u{a0}%");
        assert_eq!(level(1.0 - 0.10 / 6.0), "98.3\u{a0}%");
        assert_eq!(duration(185.2), "3\u{a0}h\u{a0}05\u{a0}min");
        assert_eq!(duration(-20.0), "\u{2212}20\u{a0}min");
    }
}
