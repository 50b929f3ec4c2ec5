//! How far off a forecast was, beside simple rules.

use cook::{PhaseDefinition, PhaseKind};
use outlook::course::STEP_MIN;
use outlook::{Ask, Course, Past, Planned, PlannedWrap, Typed, forecast};

/// The phases that a forecast may name.
const PHASES: [PhaseKind; 4] =
    [PhaseKind::Ramp, PhaseKind::Stall, PhaseKind::Push, PhaseKind::Unknown];

/// One forecast beside the truth; minutes.
#[derive(Debug, Clone)]
pub struct Scored {
    /// Share of the cook that was over.
    pub over: f64,
    pub phase: PhaseKind,
    pub truth_min: f64,
    pub middle_min: f64,
    pub lo_min: f64,
    pub hi_min: f64,
    pub unlike: bool,
    /// Same core and wrap among past cooks: their median.
    pub same_core_min: Option<f64>,
    /// The last hour's slope carried on.
    pub slope_min: Option<f64>,
}

impl Scored {
    pub fn off(&self) -> f64 {
        (self.middle_min - self.truth_min).abs()
    }
    pub fn inside(&self) -> bool {
        (self.lo_min..=self.hi_min).contains(&self.truth_min)
    }
}

/// Forecasts of one cook every `every` minutes, from two hours after meat-on.
pub fn score(
    past: &Past,
    course: &Course,
    finish_min: f64,
    every: f64,
    with_plan: bool,
    own: &[Course],
) -> Vec<Scored> {
    let definition = PhaseDefinition::default();
    let mut scored = Vec::new();
    let mut minute = 120.0;
    while minute < finish_min - 5.0 {
        let step = (minute / STEP_MIN) as usize;
        if step > course.last_step() {
            break;
        }
        let cut = course.cut(step, &definition);
        let planned = with_plan
            .then(|| course.next_wrap(minute))
            .flatten()
            .map(|(at, class)| PlannedWrap::AtCore(class, course.core_c[(at / STEP_MIN) as usize]));
        let ask = Ask {
            course: &cut,
            planned,
            without_fire: past.fire_of(&course.about.fire),
            level: 0.8,
        };
        if let Ok(answer) = forecast(past, &ask) {
            let to_go = finish_min - minute;
            let slope = (step >= 12)
                .then(|| course.core_c[step] - course.core_c[step - 12])
                .filter(|rise| *rise > 0.2)
                .map(|rise| (88.0 - course.core_c[step]) / rise * 60.0);
            scored.push(Scored {
                over: minute / finish_min,
                phase: answer.phase,
                truth_min: to_go,
                middle_min: 60.0 * answer.to_go.hours,
                lo_min: 60.0 * answer.to_go.lo,
                hi_min: 60.0 * answer.to_go.hi,
                unlike: answer.unlike,
                same_core_min: same_core(own, course, step),
                slope_min: slope,
            });
        }
        minute += every;
    }
    scored
}

/// The same from what a hand would have typed: the set-point, the core now, half an hour and an hour ago,
/// and the wrap.
pub fn score_typed(past: &Past, course: &Course, finish_min: f64, every: f64) -> Vec<Scored> {
    let definition = PhaseDefinition::default();
    let mut scored = Vec::new();
    let mut minute = 180.0;
    while minute < finish_min - 5.0 {
        let step = (minute / STEP_MIN) as usize;
        if step > course.last_step() {
            break;
        }
        let read = |ago: usize| {
            (minute - ago as f64 * STEP_MIN, course.core_c[step.saturating_sub(ago)].round())
        };
        let typed = Typed {
            pit_c: None,
            setpoint_c: course.setpoint_at(minute),
            core: [12, 6, 0].map(read).to_vec(),
            wraps: course.wraps.iter().filter(|(at, _)| *at <= minute).cloned().collect(),
            about: course.about.clone(),
        };
        let Ok(typed) = typed.course(&definition) else { break };
        let ask = Ask { course: &typed, planned: None, without_fire: None, level: 0.8 };
        if let Ok(answer) = forecast(past, &ask) {
            scored.push(Scored {
                over: minute / finish_min,
                phase: answer.phase,
                truth_min: finish_min - minute,
                middle_min: 60.0 * answer.to_go.hours,
                lo_min: 60.0 * answer.to_go.lo,
                hi_min: 60.0 * answer.to_go.hi,
                unlike: answer.unlike,
                same_core_min: None,
                slope_min: None,
            });
        }
        minute += every;
    }
    scored
}

/// A plan at 90 % beside what came, hours: it took so long to the pull, and was planned for so long.
pub fn planned(past: &Past, course: &Course, finish_min: f64) -> Option<(f64, f64)> {
    let hours = past.hours(&Planned::of(course), 0.8, 0.9, None).ok()?;
    Some((course.pull_min?.max(finish_min) / 60.0, hours.pull_by))
}

/// A row of the table of readings by hand and of cooks unlike the past.
pub fn apart_row(name: &str, own: usize, scored: &[Scored]) -> String {
    let mid = scored.iter().filter(|s| (0.4..0.6).contains(&s.over));
    format!(
        "| {name}, {own} | {} | {} | {} | {} |\n",
        scored.len(),
        minutes(median(mid.map(Scored::off))),
        minutes(median(scored.iter().map(Scored::off))),
        per_cent(share(scored.iter().map(Scored::inside))),
    )
}

/// A row of the table of plans; each by its team.
pub fn plan_row(own: usize, plans: &[(u64, f64, f64)]) -> String {
    let on_time = |team: Option<u64>| {
        let of = plans.iter().filter(|plan| team.is_none_or(|team| plan.0 == team));
        share(of.map(|(_, took, by)| took <= by))
    };
    let teams: std::collections::BTreeSet<u64> = plans.iter().map(|plan| plan.0).collect();
    let worst = teams.iter().map(|&team| on_time(Some(team))).fold(f64::NAN, f64::min);
    let waits = plans.iter().filter(|(_, took, by)| took <= by).map(|(_, took, by)| by - took);
    let wait = median(waits);
    let wait = if wait.is_nan() { "–".into() } else { format!("{wait:.1} h") };
    format!(
        "| {own} | {} | {} | {} | {wait} |\n",
        plans.len(),
        per_cent(on_time(None)),
        per_cent(worst)
    )
}

/// The rule of thumb: the median of what own past cooks had to go from the same core in the same wrap.
fn same_core(own: &[Course], course: &Course, step: usize) -> Option<f64> {
    let wrap = course.wrap_at(step as f64 * STEP_MIN).0;
    let left = own.iter().filter(|past| past.about.fire != course.about.fire).filter_map(|past| {
        let finish = past.finish_min?;
        let at = (0..=past.last_step()).find(|&at| {
            past.core_c[at] >= course.core_c[step] && past.wrap_at(at as f64 * STEP_MIN).0 == wrap
        })?;
        Some((finish - at as f64 * STEP_MIN).max(0.0))
    });
    let left: Vec<f64> = left.collect();
    (!left.is_empty()).then(|| median(left.into_iter()))
}

/// Median of values.
pub fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.filter(|v| v.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    if values.is_empty() { f64::NAN } else { values[values.len() / 2] }
}

/// Share of truths.
pub fn share(values: impl Iterator<Item = bool>) -> f64 {
    let (mut yes, mut all) = (0.0, 0.0);
    for value in values {
        yes += f64::from(u8::from(value));
        all += 1.0;
    }
    yes / all
}

fn minutes(value: f64) -> String {
    if value.is_nan() { "–".into() } else { format!("{value:.0}") }
}

fn per_cent(value: f64) -> String {
    if value.is_nan() { "–".into() } else { format!("{:.0} %", 100.0 * value) }
}

impl Scored {
    /// As one line of text.
    pub fn line(&self) -> String {
        let optional = |value: Option<f64>| value.map_or("-".into(), |value| format!("{value:.1}"));
        format!(
            "{:.3} {} {:.1} {:.1} {:.1} {:.1} {} {} {}",
            self.over,
            self.phase.as_str(),
            self.truth_min,
            self.middle_min,
            self.lo_min,
            self.hi_min,
            self.unlike,
            optional(self.same_core_min),
            optional(self.slope_min)
        )
    }

    /// Reads [`Scored::line`].
    pub fn parse(line: &str) -> Option<Self> {
        let cells: Vec<&str> = line.split(' ').collect();
        let [over, phase, truth, middle, lo, hi, unlike, same, slope] = cells[..] else {
            return None;
        };
        Some(Self {
            over: over.parse().ok()?,
            phase: PHASES.into_iter().find(|kind| kind.as_str() == phase)?,
            truth_min: truth.parse().ok()?,
            middle_min: middle.parse().ok()?,
            lo_min: lo.parse().ok()?,
            hi_min: hi.parse().ok()?,
            unlike: unlike.parse().ok()?,
            same_core_min: same.parse().ok(),
            slope_min: slope.parse().ok(),
        })
    }
}

/// A row of the table of forecasts.
pub fn row(own: usize, plain: &[Scored], planned: &[Scored]) -> String {
    let mid = |scored: &[Scored]| -> Vec<Scored> {
        scored.iter().filter(|s| (0.4..0.6).contains(&s.over)).cloned().collect()
    };
    let of = |phase: PhaseKind| plain.iter().filter(move |s| s.phase == phase);
    let off = |scored: &[Scored]| minutes(median(scored.iter().map(Scored::off)));
    let by = |value: fn(&Scored) -> Option<f64>| {
        let off = mid(plain).iter().filter_map(|s| Some((value(s)? - s.truth_min).abs())).collect();
        let off: Vec<f64> = off;
        minutes(median(off.into_iter()))
    };
    let inside = |phase: PhaseKind| per_cent(share(of(phase).map(Scored::inside)));
    format!(
        "| {own} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |\n",
        plain.len(),
        off(&mid(plain)),
        off(&mid(planned)),
        off(plain),
        minutes(median(of(PhaseKind::Stall).map(Scored::off))),
        minutes(median(of(PhaseKind::Push).map(Scored::off))),
        by(|s| s.same_core_min),
        by(|s| s.slope_min),
        per_cent(share(plain.iter().map(Scored::inside))),
        inside(PhaseKind::Ramp),
        inside(PhaseKind::Stall),
        inside(PhaseKind::Push),
    )
}

/// One what-if beside the truth; minutes.
#[derive(Debug, Clone)]
pub struct Changed {
    /// How far off the finish under the change was.
    pub finish_off: f64,
    /// The true effect.
    pub truth: f64,
    /// The effect that was claimed, with its range; `None` where the data could not tell.
    pub claimed: Option<(f64, f64, f64)>,
}

/// What-ifs at the first moment at or over a core while unwrapped, for the first cook of a fire.
pub fn changes(
    past: &Past,
    team: &crate::backtest::profiles::Team,
    fire: u64,
    core_c: f64,
) -> [Option<Changed>; 3] {
    use crate::backtest::profiles::{Decision, Material};
    use outlook::{WhatIf, WrapClass, what_if};
    let definition = PhaseDefinition::default();
    let as_is = team.fire(fire, Decision::AsTheTeam).swap_remove(0);
    let course = as_is.recorded.course(&definition).expect("a course");
    let Some(step) = course.core_c.iter().position(|core| *core >= core_c) else {
        return [None, None, None];
    };
    let minute = step as f64 * STEP_MIN;
    if course.wrap_at(minute).1.is_some() {
        return [None, None, None];
    }
    let cut = course.cut(step, &definition);
    let ask = Ask {
        course: &cut,
        planned: None,
        without_fire: past.fire_of(&course.about.fire),
        level: 0.8,
    };
    let tried = [
        (WhatIf::Wrap(WrapClass::Foil), Decision::WrapAt(minute as usize, Material::Foil)),
        (WhatIf::Wrap(WrapClass::Paper), Decision::WrapAt(minute as usize, Material::Paper)),
        (WhatIf::Raise(14.0), Decision::RaiseAt(minute as usize, 14.0)),
    ];
    tried.map(|(change, decision)| {
        let effect = what_if(past, &ask, change).ok()?;
        let run = team.fire(fire, decision).swap_remove(0);
        let to_go = run.finish_min - minute;
        Some(Changed {
            finish_off: (60.0 * effect.to_go.hours - to_go).abs(),
            truth: run.finish_min - as_is.finish_min,
            claimed: effect.minus_as_is_min.map(|e| (e.hours, e.lo, e.hi)),
        })
    })
}

impl Changed {
    /// As one line of text.
    pub fn line(&self) -> String {
        let claimed = self
            .claimed
            .map_or(String::new(), |(effect, lo, hi)| format!(" {effect:.1} {lo:.1} {hi:.1}"));
        format!("{:.1} {:.1}{claimed}", self.finish_off, self.truth)
    }

    /// Reads [`Changed::line`].
    pub fn parse(line: &str) -> Option<Self> {
        let numbers: Vec<f64> = line.split(' ').map(str::parse).collect::<Result<_, _>>().ok()?;
        let (finish_off, truth) = (*numbers.first()?, *numbers.get(1)?);
        let claimed = (numbers.len() == 5).then(|| (numbers[2], numbers[3], numbers[4]));
        Some(Self { finish_off, truth, claimed })
    }
}

/// A row of the table of what-ifs.
pub fn change_row(name: &str, own: usize, changes: &[Changed]) -> String {
    let told = || changes.iter().filter_map(|c| Some((c.claimed?, c.truth)));
    format!(
        "| {name}, {own} | {} | {} | {} | {} | {} | {} |\n",
        changes.len(),
        minutes(median(changes.iter().map(|c| c.finish_off))),
        per_cent(share(changes.iter().map(|c| c.claimed.is_some()))),
        minutes(median(told().map(|((effect, ..), truth)| (effect - truth).abs()))),
        per_cent(share(told().map(|((_, lo, hi), truth)| (lo..=hi).contains(&truth)))),
        per_cent(share(changes.iter().map(|c| c.claimed.is_some_and(|(e, ..)| e.abs() > 20.0)))),
    )
}
