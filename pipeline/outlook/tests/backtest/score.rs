//! How far off a forecast was, beside simple rules.

use cook::{PhaseDefinition, PhaseKind};
use outlook::course::STEP_MIN;
use outlook::{Ask, Course, Past, PlannedWrap, forecast};

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

/// One line of figures.
pub fn line(name: &str, scored: &[Scored]) -> String {
    let mid = || scored.iter().filter(|s| (0.4..0.6).contains(&s.over));
    let of = |phase: PhaseKind| scored.iter().filter(move |s| s.phase == phase);
    let pc = |x: f64| format!("{:.0}%", 100.0 * x);
    format!(
        "{name:<26} n {:>5}  mid {:>4.0} (bias {:>4.0}, slope {:>4.0}, same core {:>4.0}, 80% {})  all {:>4.0} ({})  ramp {:>4.0} ({})  stall {:>4.0} ({})  push {:>4.0} ({})  width mid {:>4.0}",
        scored.len(),
        median(mid().map(Scored::off)),
        median(mid().map(|s| s.middle_min - s.truth_min)),
        median(mid().filter_map(|s| Some((s.slope_min? - s.truth_min).abs()))),
        median(mid().filter_map(|s| Some((s.same_core_min? - s.truth_min).abs()))),
        pc(share(mid().map(Scored::inside))),
        median(scored.iter().map(Scored::off)),
        pc(share(scored.iter().map(Scored::inside))),
        median(of(PhaseKind::Ramp).map(Scored::off)),
        pc(share(of(PhaseKind::Ramp).map(Scored::inside))),
        median(of(PhaseKind::Stall).map(Scored::off)),
        pc(share(of(PhaseKind::Stall).map(Scored::inside))),
        median(of(PhaseKind::Push).map(Scored::off)),
        pc(share(of(PhaseKind::Push).map(Scored::inside))),
        median(mid().map(|s| s.hi_min - s.lo_min)),
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

/// A line of figures of what-ifs.
pub fn change_line(name: &str, changes: &[Changed]) -> String {
    let told = || changes.iter().filter_map(|c| Some((c.claimed?, c.truth)));
    format!(
        "{name:<24} n {:>4}  finish off {:>4.0}  told {:>4.0}%  effect off {:>4.0} (truth {:>5.0}, claimed {:>5.0})  80% {:>3.0}%  over 20 min {:>3.0}%",
        changes.len(),
        median(changes.iter().map(|c| c.finish_off)),
        100.0 * share(changes.iter().map(|c| c.claimed.is_some())),
        median(told().map(|((e, ..), truth)| (e - truth).abs())),
        median(changes.iter().map(|c| c.truth)),
        median(told().map(|((e, ..), _)| e)),
        100.0 * share(told().map(|((_, lo, hi), truth)| (lo..=hi).contains(&truth))),
        100.0 * share(changes.iter().map(|c| c.claimed.is_some_and(|(e, ..)| e.abs() > 20.0))),
    )
}
