//! What a cook's hands do: wraps and set-points by script, habit and strategy.

use crate::decision::CookPlan;
use crate::habit::{Draws, History, LOOK_EVERY_S, Spray};
use crate::strategy::{BumpWhen, SetpointRule, WrapRule};
use cook::{CelsiusDifference, WrapMethod};

/// The decisions of one cook under way.
#[derive(Debug)]
pub(super) struct Hands<'a> {
    plan: &'a CookPlan,
    draws: Draws,
    /// Which methods the habit went for at this moment's look, as bits.
    went_for: u32,
    bump_by_habit: bool,
    raises: Option<CelsiusDifference>,
    sprays: Option<Spray>,
    next_look_s: i64,
    next_wrap: usize,
    wrap_due_s: Option<i64>,
    window: Option<Window>,
    has_wrapped: bool,
    scripted_bumps_done: u64,
    has_bumped: bool,
}

/// A window in which a strategy wraps.
#[derive(Debug, Clone, Copy)]
struct Window {
    closes_s: i64,
    drawn_s: i64,
}

impl<'a> Hands<'a> {
    pub(super) fn new(plan: &'a CookPlan, seed: u64, cook: usize, meat_on_s: i64) -> Self {
        Self {
            plan,
            draws: Draws::new(seed, cook),
            went_for: 0,
            bump_by_habit: false,
            raises: None,
            sprays: None,
            next_look_s: meat_on_s + LOOK_EVERY_S,
            next_wrap: 0,
            wrap_due_s: None,
            window: None,
            has_wrapped: false,
            scripted_bumps_done: 0,
            has_bumped: false,
        }
    }

    /// The minute's draws. They are made whether or not anything can come of them.
    pub(super) fn look(&mut self, now_s: i64, history: &History) {
        self.went_for = 0;
        self.bump_by_habit = false;
        self.raises = None;
        self.sprays = None;
        if now_s < self.next_look_s {
            return;
        }
        self.next_look_s += LOOK_EVERY_S;
        let restlessness = &self.plan.restlessness;
        if let Some((rate, by)) = &restlessness.raise {
            self.raises = Some(*by).filter(|_| self.draws.raise(rate.rate_per_h(history)));
        }
        if let Some(spray) = &restlessness.spray {
            self.sprays = Some(*spray).filter(|s| self.draws.spray(s.rate.rate_per_h(history)));
        }
        let Some(habit) = &self.plan.habit else { return };
        if let Some(wrap) = &habit.wrap {
            self.went_for = self.draws.wrap(wrap, wrap.rate_per_h(history));
        }
        if let Some(bump) = &habit.bump {
            let rate = if bump.looks_late(history) { bump.late_rate_per_h } else { 0.0 };
            self.bump_by_habit = self.draws.bump(rate);
        }
    }

    /// The method that is wrapped in now; `WrapMethod::None` takes a wrap off.
    pub(super) fn wrap(&mut self, now_s: i64, history: &History) -> Option<WrapMethod> {
        let method = match &self.plan.strategy.wrap {
            WrapRule::Never => None,
            WrapRule::AsTheTeam if self.plan.wraps.is_empty() => self.by_habit(),
            WrapRule::AsTheTeam => self.by_script(now_s, history),
            WrapRule::Within { method, opens, grace_min } => {
                if self.window.is_none() && opens.is_met(history, false) {
                    let seconds = grace_min * 60.0;
                    // The grid sample that opened it may lie just before this decision.
                    let opened_s = now_s - (super::MEAT_STEP_S - crate::GRID_STEP_S);
                    self.window = Some(Window {
                        closes_s: opened_s + seconds as i64,
                        drawn_s: now_s + (seconds * self.draws.in_window) as i64,
                    });
                }
                self.in_window(now_s, method)
            }
        };
        self.has_wrapped |= method.is_some();
        method
    }

    fn by_script(&mut self, now_s: i64, history: &History) -> Option<WrapMethod> {
        let step = self.plan.wraps.get(self.next_wrap)?;
        if self.wrap_due_s.is_none() && step.when.iter().any(|when| when.is_met(history, false)) {
            self.wrap_due_s = Some(now_s + (step.delay_min * 60.0) as i64);
        }
        if self.wrap_due_s.is_none_or(|due| due > now_s) {
            return None;
        }
        self.next_wrap += 1;
        self.wrap_due_s = None;
        Some(step.method.clone())
    }

    fn by_habit(&self) -> Option<WrapMethod> {
        if self.has_wrapped || self.went_for == 0 {
            return None;
        }
        let methods = &self.plan.habit.as_ref()?.wrap.as_ref()?.methods;
        methods.get(self.went_for.trailing_zeros() as usize).map(|(method, _)| method.clone())
    }

    fn in_window(&self, now_s: i64, method: &WrapMethod) -> Option<WrapMethod> {
        let window = self.window.filter(|_| !self.has_wrapped)?;
        let habit = self.plan.habit.as_ref().and_then(|habit| habit.wrap.as_ref());
        let goes = match habit {
            None => now_s >= window.drawn_s,
            Some(habit) => habit
                .methods
                .iter()
                .position(|(other, _)| other == method)
                .is_some_and(|place| self.went_for & (1 << place) != 0),
        };
        // The window must not close on unwrapped meat, so its last decision is the one after
        // which the next would come too late.
        let last = now_s + super::MEAT_STEP_S > window.closes_s;
        (goes || last).then(|| method.clone())
    }

    /// How far above the first set-point this cook asks for now; `wraps` when it is wrapped
    /// for the first time at this moment.
    pub(super) fn bump(&mut self, history: &History, wraps: bool) -> Option<CelsiusDifference> {
        let met = |when: BumpWhen| match when {
            BumpWhen::At(trigger) => trigger.is_met(history, false),
            BumpWhen::WithWrap => wraps,
        };
        match &self.plan.strategy.setpoint {
            SetpointRule::Unchanged => None,
            SetpointRule::Raise(step) => {
                let asks = !self.has_bumped && met(step.when);
                self.has_bumped |= asks;
                asks.then_some(step.by)
            }
            SetpointRule::AsTheTeam => {
                let mut asked: Option<CelsiusDifference> = None;
                for (index, step) in self.plan.bumps.iter().enumerate().take(64) {
                    if self.scripted_bumps_done & (1 << index) == 0 && met(step.when) {
                        self.scripted_bumps_done |= 1 << index;
                        if asked.is_none_or(|by| by.value() < step.by.value()) {
                            asked = Some(step.by);
                        }
                    }
                }
                asked.or_else(|| self.bump_by_habit(history, wraps)).or_else(|| self.raise())
            }
        }
    }

    fn raise(&mut self) -> Option<CelsiusDifference> {
        let by = self.raises.filter(|_| !self.has_bumped)?;
        self.has_bumped = true;
        Some(by)
    }

    /// What the restless hand does at this moment's look.
    pub(super) fn sprays(&self) -> Option<Spray> {
        self.sprays
    }

    fn bump_by_habit(&mut self, history: &History, wraps: bool) -> Option<CelsiusDifference> {
        let habit = self.plan.habit.as_ref()?.bump.as_ref()?;
        if self.has_bumped {
            return None;
        }
        let with_wrap =
            if habit.looks_late(history) { habit.with_late_wrap } else { habit.with_wrap };
        let asks = self.bump_by_habit || (wraps && self.draws.bump_with_wrap < with_wrap);
        self.has_bumped |= asks;
        asks.then_some(habit.by)
    }
}
