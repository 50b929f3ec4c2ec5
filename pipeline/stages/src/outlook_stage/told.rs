//! What is told of one cook: its times as it is, what a change would make of them, and the latest moment
//! at which one still helps.

use super::REST_MIN;
use super::asked::Asked;
use super::rows::Row;
use super::words::{self, ToCome};
use cook::{Season, Units};
use jiff::tz::TimeZone;
use outlook::{Answer, Ask, Course, OutlookError, Past, Range, WhatIf, WrapClass};

/// What the raised set-point of `latest_raise_at` is raised by, °C: 25 °F.
const RAISE_C: f64 = 25.0 / 1.8;
/// Steps in which the latest moment of a change is looked for, min.
const LATEST_STEP_MIN: f64 = 10.0;
/// It is looked for so far ahead, min.
const LATEST_UNTIL_MIN: f64 = 600.0;
/// The rest, taken as exact.
const REST: Range = {
    let hours = REST_MIN / 60.0;
    Range { hours, lo: hours, hi: hours }
};

/// Everything that the rows of one run share.
pub(super) struct Context<'a> {
    pub(super) season: &'a Season,
    pub(super) zone: TimeZone,
    pub(super) level: f64,
    pub(super) wrap: Option<ToCome>,
    pub(super) what_ifs: Vec<(String, WhatIf)>,
    pub(super) turn_in: Option<&'a str>,
    pub(super) past: Past,
}

/// What is told of one cook.
pub(super) struct Told {
    /// As it is, and one row a change.
    pub(super) rows: Vec<Row>,
    pub(super) notes: Vec<String>,
    pub(super) answer: Option<Answer>,
}

impl Told {
    fn without_answer(row: Row) -> Self {
        Self { rows: vec![row], notes: Vec::new(), answer: None }
    }
}

impl Context<'_> {
    /// What the answers rest on, in a sentence.
    pub(super) fn on_what(&self) -> String {
        let own = self.past.own();
        match (own, self.past.is_empty()) {
            (_, true) => OutlookError::NoPast.to_string(),
            (0, _) => "These are not your cooks: none of yours is in a store here, so that simulated ones stand in. Ranges are wide.".into(),
            (1..15, _) => format!("{own} past cooks of yours, and simulated ones beside them until there are more."),
            _ => format!("{own} past cooks of yours."),
        }
    }

    /// The rows of one cook: as it is, and one a change.
    pub(super) fn told(&self, asked: &Asked, explain: bool) -> Told {
        let mut row = Row::new(&asked.name, asked.asked_at_ms, "as-is");
        let course = match &asked.course {
            Ok(course) => course,
            Err(reason) => {
                row.reason = Some(reason.clone());
                return Told::without_answer(row);
            }
        };
        let minute = (asked.asked_at_ms - course.meat_on_ms) as f64 / 60_000.0;
        let planned = self.wrap.map(|wrap| wrap.planned(minute));
        let ask = Ask { course, planned, without_fire: None, level: self.level };
        let answer = match outlook::forecast(&self.past, &ask) {
            Ok(answer) => answer,
            Err(error) => {
                row.reason = Some(self.why_not(&error, course, asked));
                if error == OutlookError::Done {
                    self.add_pull(&mut row, course);
                }
                return Told::without_answer(row);
            }
        };
        row.phase = Some(answer.phase.as_str());
        row.basis = Some(answer.basis.as_str());
        row.alike = Some(answer.alike);
        row.unlike = Some(answer.unlike);
        // Hours count from the last reading, which the moment asked about may be minutes after.
        let last_min = course.core_c.iter().rposition(|core| core.is_finite()).unwrap_or(0) as f64
            * outlook::course::STEP_MIN;
        let from_ms = course.meat_on_ms + (last_min * 60_000.0) as i64;
        self.add_times(&mut row, from_ms, answer.to_go, course, asked);
        let turn_in_ms = self.turn_in_ms(asked);
        if let Some(turn_in_ms) = turn_in_ms {
            self.add_latest(&mut row, &ask, from_ms, turn_in_ms);
        }
        let mut notes = Vec::new();
        if answer.unlike {
            notes.push(format!(
                "{}: unlike your past cooks; hardly one of them stood there. The range is a guess.",
                asked.name
            ));
        }
        if explain {
            notes.extend(self.explained(&asked.name, &answer));
        }
        let mut rows = vec![row];
        for (text, change) in &self.what_ifs {
            let mut row = Row::new(&asked.name, asked.asked_at_ms, text);
            row.phase = Some(answer.phase.as_str());
            row.basis = Some(answer.basis.as_str());
            let wraps_again =
                matches!(change, WhatIf::Wrap(_)) && course.wrap_at(minute).0 != WrapClass::Open;
            match outlook::what_if(&self.past, &ask, *change) {
                _ if wraps_again => row.reason = Some("It is wrapped already.".into()),
                Ok(effect) => {
                    self.add_times(&mut row, from_ms, effect.to_go, course, asked);
                    row.minus_as_is = effect.minus_as_is_min;
                    if row.minus_as_is.is_none() {
                        row.reason =
                            Some("Your past cooks cannot tell what it would change.".into());
                    }
                }
                Err(OutlookError::NoPast) => {
                    row.reason = Some("No past cook was wrapped so.".into());
                }
                Err(error) => row.reason = Some(error.to_string()),
            }
            rows.push(row);
        }
        Told { rows, notes, answer: Some(answer) }
    }

    /// Why there is no answer, in the season's units and clock.
    fn why_not(&self, error: &OutlookError, course: &Course, asked: &Asked) -> String {
        let units: Units = self.season.units;
        let finish = words::degrees(self.season.phases.finish_c, units);
        match error {
            OutlookError::PitTooCold { pit_c, .. } => format!(
                "The pit is at {}: it will not bring the core to {finish}.",
                words::degrees(*pit_c, units)
            ),
            OutlookError::Done => {
                let at = course.finish_min.unwrap_or_default();
                let at_ms = course.meat_on_ms + (at * 60_000.0) as i64;
                let (wrap, _) = course.wrap_at(at);
                let later = self.past.to_pull(wrap, not_yet(course, at), self.level).ok();
                let later = later.map_or(String::new(), |r| {
                    format!(
                        " Past cooks came off {} to {} after that.",
                        words::minutes(60.0 * r.lo),
                        words::minutes(60.0 * r.hi)
                    )
                });
                format!(
                    "It is done as far as a thermometer tells: the core was at {finish} at {}. Feel it with a probe.{later}",
                    words::clock(at_ms, asked.asked_at_ms, &self.zone)
                )
            }
            other => other.to_string(),
        }
    }

    /// Finish, target, pull and slice.
    fn add_times(&self, row: &mut Row, from_ms: i64, to_go: Range, course: &Course, asked: &Asked) {
        row.from_ms = from_ms;
        row.finish = Some(to_go);
        let minute = course.last_step() as f64 * outlook::course::STEP_MIN;
        let (wrap, _) = course.wrap_at(minute);
        let target = asked.card.target_core.map(cook::Celsius::value);
        let target = target.filter(|target| *target > self.season.phases.finish_c);
        let further = target.and_then(|target| self.past.to_target(wrap, target, self.level).ok());
        row.target = further.map(|further| to_go.then(further));
        if let Ok(wait) = self.past.to_pull(wrap, None, self.level) {
            let pull = to_go.then(wait);
            row.pull = Some(pull);
            row.slice = Some(pull.then(REST));
        }
    }

    /// Pull and slice of a cook that is at the finish, its failed probe tests known.
    fn add_pull(&self, row: &mut Row, course: &Course) {
        let Some(finish_min) = course.finish_min else { return };
        let (wrap, _) = course.wrap_at(finish_min);
        let Ok(wait) = self.past.to_pull(wrap, not_yet(course, finish_min), self.level) else {
            return;
        };
        row.from_ms = course.meat_on_ms + (finish_min * 60_000.0) as i64;
        row.pull = Some(wait);
        row.slice = Some(wait.then(REST));
    }

    fn turn_in_ms(&self, asked: &Asked) -> Option<i64> {
        match self.turn_in {
            Some(text) => words::instant(text, &self.zone, asked.asked_at_ms).ok(),
            None => asked.card.turn_in_ms.filter(|at_ms| *at_ms > asked.asked_at_ms),
        }
    }

    /// The latest moments at which a wrap in foil, or a set-point raised by 25 °F, still gets it sliced in
    /// time with the level's certainty.
    fn add_latest(&self, row: &mut Row, ask: &Ask<'_>, from_ms: i64, turn_in_ms: i64) {
        let hours_left = (turn_in_ms - from_ms) as f64 / 3_600_000.0;
        row.turn_in_ms = Some(turn_in_ms);
        if hours_left <= 0.0 {
            row.reason = Some("The turn-in is over.".into());
            return;
        }
        let (Some(finish), Some(slice)) = (row.finish, row.slice) else { return };
        // What lies between finish and slice goes on top of every finish.
        let makes_it = |range: Range, later_h: f64| {
            let after = Range {
                hours: slice.hours - finish.hours,
                lo: slice.hours - finish.hours,
                hi: slice.hours - finish.hours
                    + (slice.hi - slice.hours - (finish.hi - finish.hours)).max(0.0),
            };
            later_h + range.then(after).hi <= hours_left
        };
        if makes_it(finish, 0.0) {
            row.reason = Some("As it is, it will be in time.".into());
            return;
        }
        let latest = |change: WhatIf| {
            let mut found = None;
            let mut later = 0.0;
            while later <= LATEST_UNTIL_MIN {
                let Some(then) = outlook::later(ask.course, later, &self.season.phases) else {
                    break;
                };
                let ask = Ask { course: &then, ..*ask };
                match outlook::what_if(&self.past, &ask, change) {
                    Ok(effect) if makes_it(effect.to_go, later / 60.0) => {
                        found = Some(from_ms + (later * 60_000.0) as i64);
                    }
                    _ => break,
                }
                later += LATEST_STEP_MIN;
            }
            found
        };
        let minute = ask.course.last_step() as f64 * outlook::course::STEP_MIN;
        if ask.course.wrap_at(minute).0 == WrapClass::Open {
            row.latest_wrap_ms = latest(WhatIf::Wrap(WrapClass::Foil));
        }
        row.latest_raise_ms = latest(WhatIf::Raise(RAISE_C));
        if row.latest_wrap_ms.is_none() && row.latest_raise_ms.is_none() {
            let by = match self.season.units {
                Units::Us => "25 °F",
                Units::Metric => "14 °C",
            };
            row.reason = Some(format!(
                "Neither foil now nor a pit {by} hotter gets it sliced in time with {:.0} % certainty.",
                50.0 + 50.0 * self.level
            ));
        }
    }

    /// Which past cooks count how much, and what makes this one longer or shorter.
    #[allow(clippy::unused_self, reason = "it stands beside what it explains")]
    fn explained(&self, name: &str, answer: &Answer) -> Vec<String> {
        let total: f64 = answer.counted.iter().map(|counted| counted.weight).sum();
        let mut lines = vec![format!(
            "{name}: {} past moments stand alike enough to count; those that count most:",
            answer.counted.len()
        )];
        for counted in answer.counted.iter().take(8) {
            lines.push(format!(
                "  {:>3.0} %  {}{}, {} on: {} to go from there",
                100.0 * counted.weight / total,
                counted.cook,
                if counted.bundled { " (simulated)" } else { "" },
                words::minutes(counted.minute),
                words::minutes(60.0 * counted.hours)
            ));
        }
        let mut shares = answer.shares.clone();
        shares.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then_with(|| a.0.cmp(b.0)));
        for (what, share) in shares.iter().take(4).filter(|(_, share)| share.abs() >= 0.01) {
            let (factor, word) = (
                100.0 * (share.abs().exp() - 1.0),
                if *share > 0.0 { "longer" } else { "shorter" },
            );
            lines.push(format!("  {factor:.0} % {word} than theirs by its {what}"));
        }
        lines
    }
}

/// Hours after the finish at which it was last found not tender.
fn not_yet(course: &Course, finish_min: f64) -> Option<f64> {
    let not = course.probe_tests.iter().filter(|(_, tender)| !tender).map(|(at, _)| *at);
    not.filter(|at| *at > finish_min).map(|at| (at - finish_min) / 60.0).max_by(f64::total_cmp)
}
