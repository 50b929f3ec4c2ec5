//! The copies of the cooks under one strategy: how far each follows it, and what it required.

use super::cooks::{Cook, End};
use super::decisions::{Decisions, INSTANT, PERIOD_MIN, Wrapping};
use crate::claims::Strategy;
use crate::error::StudyError;
use cook::WrapMethod;
use stats::StatsError;
use stats::clone_censor_weight::{Arm, Kind, Period, Requirement};

/// A wrap so shortly before the core was seen to pass the strategy's counts as at it: marks are
/// written down to the minute or to five, and a core is smoothed. Common practice, no source.
const EARLY_MIN: f64 = 5.0;

/// Why a copy was censored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Left {
    /// It was wrapped before the strategy's core.
    Early,
    /// It was wrapped in the window in something else.
    Otherwise,
    /// The window closed on unwrapped meat.
    NotWrapped,
    /// It was wrapped where the strategy never wraps.
    AtAll,
    /// The set-point was raised where the strategy leaves it.
    Bumped,
}

impl Left {
    pub(super) fn in_words(self) -> &'static str {
        match self {
            Self::Early => "wrapped earlier",
            Self::Otherwise => "wrapped in something else",
            Self::NotWrapped => "not wrapped in time",
            Self::AtAll => "wrapped at all",
            Self::Bumped => "set-point raised",
        }
    }
}

/// A strategy as a rule on one cook's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Rule<'a> {
    Any,
    Never,
    /// In a method between two minutes; none where the core never gets there.
    Window(&'a WrapMethod, Option<(f64, f64)>),
}

/// The copies under one strategy.
#[derive(Debug)]
pub(super) struct Copies {
    pub(super) arm: Arm,
    /// Of every cook: why its copy was censored, if it was.
    pub(super) left: Vec<Option<Left>>,
}

/// What the copies are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Treatment {
    /// Whether copies are weighted.
    pub(super) weighted: bool,
    /// Whether the strategy leaves the set-point where it was.
    pub(super) setpoint_unchanged: bool,
}

/// Copies every cook into a strategy.
pub(super) fn copies(
    name: &str,
    cooks: &[Cook<'_>],
    strategy: &Strategy,
    treatment: Treatment,
    decisions: &mut Decisions,
) -> Result<Copies, StudyError> {
    let mut periods = Vec::new();
    let mut left = Vec::with_capacity(cooks.len());
    for (subject, cook) in cooks.iter().enumerate() {
        let rule = rule(strategy, cook);
        let copy = CookCopy { subject, cook, rule, wrap: wrap_under(cook, rule), treatment };
        left.push(copy.follow(&mut periods, decisions)?);
    }
    Ok(Copies { arm: Arm::new(name, periods), left })
}

/// The cooks for whom `keep` is true, each whole: the comparison as they turned out. `ends` gives each
/// cook's minute, from where its time is counted, and kind of end.
pub(in crate::analysis) fn as_they_turned_out(
    name: &str,
    ends: impl Iterator<Item = (f64, End)>,
    keep: &[bool],
) -> Arm {
    let kept = ends.enumerate().filter(|(subject, _)| keep[*subject]);
    let periods = kept.map(|(subject, (stop, end))| Period {
        subject,
        start: 0.0,
        stop,
        end: end.kind(),
        requirements: Vec::new(),
    });
    Arm::new(name, periods.collect())
}

fn rule<'a>(strategy: &'a Strategy, cook: &Cook<'_>) -> Rule<'a> {
    if strategy.never {
        return Rule::Never;
    }
    match (&strategy.method, strategy.core_c(), strategy.grace_min) {
        (Some(method), Some(core_c), Some(grace)) if !strategy.any => {
            let end = (cook.end == End::Finish).then_some((cook.end_min, super::FINISH_C));
            let opens = cook.course.first_at(core_c, end).filter(|minute| *minute < cook.end_min);
            Rule::Window(method, opens.map(|opens| (opens, opens + grace)))
        }
        _ => Rule::Any,
    }
}

/// The cook's wrap, put at the opening of the window where it came just before.
fn wrap_under<'a>(cook: &'a Cook<'_>, rule: Rule<'_>) -> Option<(f64, &'a WrapMethod)> {
    let (minute, method) = cook.wrap.as_ref()?;
    match rule {
        Rule::Window(_, Some((opens, _))) if (opens - EARLY_MIN..=opens).contains(minute) => {
            Some((opens + INSTANT, method))
        }
        _ => Some((*minute, method)),
    }
}

/// One cook's copy.
struct CookCopy<'a> {
    subject: usize,
    cook: &'a Cook<'a>,
    rule: Rule<'a>,
    wrap: Option<(f64, &'a WrapMethod)>,
    treatment: Treatment,
}

impl CookCopy<'_> {
    /// Starts and stops of periods of ten minutes or less: one begins where the team may first wrap,
    /// the window opens and closes on one, and its last is between ten and twenty (a shorter window
    /// is one period).
    fn boundaries(&self, may_wrap_from: Option<f64>) -> Vec<f64> {
        let end = self.cook.end_min;
        let mut at = vec![0.0, end];
        let before = |minute: f64, at: &mut Vec<f64>| {
            let back = (0..).map(|step| minute - f64::from(step) * PERIOD_MIN);
            at.extend(back.take_while(|earlier| *earlier > 0.0));
        };
        let after = |minute: f64, until: f64, at: &mut Vec<f64>| {
            let on = (0..).map(|step| minute + f64::from(step) * PERIOD_MIN);
            at.extend(on.take_while(|later| *later < until - INSTANT));
        };
        let opens = match self.rule {
            Rule::Window(_, Some((opens, closes))) => {
                let inside = (1..).map(|step| opens + f64::from(step) * PERIOD_MIN);
                at.extend(inside.take_while(|minute| minute + PERIOD_MIN <= closes + INSTANT));
                after(closes, end, &mut at);
                Some(opens)
            }
            _ => None,
        };
        at.extend(opens);
        let habit = may_wrap_from.filter(|from| opens.is_none_or(|opens| *from < opens));
        match (habit, opens) {
            (Some(from), _) => {
                before(from, &mut at);
                after(from, opens.unwrap_or(end), &mut at);
            }
            (None, Some(opens)) => before(opens, &mut at),
            (None, None) => after(0.0, end, &mut at),
        }
        at.retain(|minute| *minute <= end);
        at.sort_unstable_by(f64::total_cmp);
        at.dedup_by(|later, earlier| *later - *earlier <= 2.0 * INSTANT);
        // Where the last step all but reaches the end, the end stands.
        if let Some(last) = at.last_mut() {
            *last = end;
        }
        at
    }

    /// Adds the periods that the copy stays in; gives why it left, if it did.
    fn follow(
        &self,
        periods: &mut Vec<Period>,
        decisions: &mut Decisions,
    ) -> Result<Option<Left>, StudyError> {
        let may_wrap_from = decisions.opens(self.cook);
        let boundaries = self.boundaries(may_wrap_from);
        for pair in boundaries.windows(2) {
            let (start, stop) = (pair[0], pair[1]);
            let mut requirements = Vec::new();
            if let Err(left) = self.wrapping(start, stop, decisions, &mut requirements)? {
                return Ok(Some(left));
            }
            if self.treatment.setpoint_unchanged {
                if self.cook.bump_min.is_some_and(|bump| bump <= stop) {
                    return Ok(Some(Left::Bumped));
                }
                let asked = decisions.ask_bump(self.of(), start, self.wrapped(start, stop))?;
                requirements.extend(asked.map(|(decision, asked)| {
                    let exposure = (stop - start) / PERIOD_MIN;
                    Requirement::NotMade { decision, asked, exposure }
                }));
            }
            if !self.treatment.weighted {
                requirements.clear();
            }
            let end = self.cook.end.kind().filter(|_| stop >= self.cook.end_min);
            periods.push(Period { subject: self.subject, start, stop, end, requirements });
        }
        Ok(None)
    }

    /// Requires that it is not wrapped in a period, unless this team never wraps then.
    fn not_wrapped(
        &self,
        start: f64,
        stop: f64,
        decisions: &mut Decisions,
        requirements: &mut Vec<Requirement>,
    ) -> Result<(), StatsError> {
        if decisions.opens(self.cook).is_some_and(|opens| start >= opens - INSTANT) {
            let (decision, asked) = decisions.ask_wrap(self.of(), start)?;
            let exposure = (stop - start) / PERIOD_MIN;
            requirements.push(Requirement::NotMade { decision, asked, exposure });
        }
        Ok(())
    }

    fn of(&self) -> (usize, &Cook<'_>) {
        (self.subject, self.cook)
    }

    fn wrapped(&self, start: f64, stop: f64) -> Wrapping {
        let wrap = self.wrap.map(|(minute, _)| minute);
        Wrapping {
            before: wrap.is_some_and(|wrap| wrap <= start),
            now: wrap.is_some_and(|wrap| wrap > start && wrap <= stop),
        }
    }

    /// What the strategy requires of the wrap in a period, or why the copy leaves in it.
    fn wrapping(
        &self,
        start: f64,
        stop: f64,
        decisions: &mut Decisions,
        requirements: &mut Vec<Requirement>,
    ) -> Result<Result<(), Left>, StatsError> {
        let Wrapping { before, now } = self.wrapped(start, stop);
        let exposure = (stop - start) / PERIOD_MIN;
        let (method, window) = match self.rule {
            Rule::Any => return Ok(Ok(())),
            Rule::Never if now => return Ok(Err(Left::AtAll)),
            Rule::Never => {
                self.not_wrapped(start, stop, decisions, requirements)?;
                return Ok(Ok(()));
            }
            Rule::Window(method, window) => (method, window),
        };
        if before {
            return Ok(Ok(()));
        }
        let Some((_, closes)) = window.filter(|(opens, _)| start >= opens - 3.0 * INSTANT) else {
            if now {
                return Ok(Err(Left::Early));
            }
            self.not_wrapped(start, stop, decisions, requirements)?;
            return Ok(Ok(()));
        };
        if now && self.wrap.is_some_and(|(_, used)| used != method) {
            return Ok(Err(Left::Otherwise));
        }
        let kind = decisions
            .ask_method(self.of(), start, method)?
            .map(|(decision, asked)| Kind { decision, asked });
        let is_last = stop >= closes - INSTANT;
        if is_last && !now {
            return Ok(Err(Left::NotWrapped));
        }
        let (decision, asked) = decisions.ask_wrap(self.of(), start)?;
        if is_last {
            requirements.push(Requirement::Made { decision, asked, kind, exposure });
        } else if let Some(kind) = kind {
            requirements.push(Requirement::NotMadeOtherwise { decision, asked, kind, exposure });
        }
        Ok(Ok(()))
    }
}
