//! The models of what this team decides, from the history up to then.
//!
//! Every ten minutes a cook that is not wrapped may be wrapped; once it is, there is the question
//! in what; and as long as the set-point stands it may be raised. Each is a pooled logistic
//! regression on core (a curve), heating coefficient, pit, whether it stalls, weight, time on the
//! clock, hour of the start and the claim's adjusters. What the pit did goes in here, where it says
//! who is wrapped; it has no place among the outcomes.

use super::cooks::Cook;
use crate::result::Model;
use columns::history;
use cook::WrapMethod;
use stats::clone_censor_weight::Decision;
use stats::{CubicSpline, Design, StatsError, quantile_knots};
use std::f64::consts::TAU;

/// Length of a period of the models, min.
pub(super) const PERIOD_MIN: f64 = 10.0;

/// Lengths below this are rounding, min.
pub(super) const INSTANT: f64 = 1e-6;

/// Decisions made (or not made, whichever is rarer) that a column must have behind it. Five to nine
/// do little harm: Vittinghoff & `McCulloch` (2007), American Journal of Epidemiology 165, 710–718.
pub(in crate::analysis) const EVENTS_PER_COLUMN: usize = 5;

/// The decisions of the cooks: the first is whether to wrap.
#[derive(Debug)]
pub(super) struct Decisions {
    pub(super) models: Vec<Decision>,
    covariates: Vec<Covariates>,
    /// Methods that have a model, by the model's place; none where only one is used.
    methods: Vec<(WrapMethod, usize)>,
    bump: Option<usize>,
    /// The lowest core at which a cook was wrapped, °C: below it there was nothing to decide.
    least_core_c: f64,
    /// Columns that the data could not bear, for each model.
    pub(super) notes: Vec<String>,
}

/// How a moment of a cook becomes a row of one model.
#[derive(Debug)]
struct Covariates {
    spline: Option<CubicSpline>,
    /// Positions of the columns that are used, the intercept not among them.
    used: Vec<usize>,
    names: Vec<String>,
}

/// What else a row knows, beside the moment.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Wrapping {
    /// It was wrapped before the period.
    pub(super) before: bool,
    /// It is wrapped in the period.
    pub(super) now: bool,
}

/// A row of a model as it is fitted.
struct Row {
    subject: usize,
    minute: f64,
    wrapping: Wrapping,
    made: bool,
}

impl Covariates {
    /// Every column, in the order in which they are kept where there are too few decisions.
    fn all(&self, cook: &Cook<'_>, minute: f64, wrapping: Wrapping) -> Vec<f64> {
        let moment = cook.course.at(minute);
        let angle = TAU * cook.start_hour / 24.0;
        let mut values = vec![
            moment.core_c,
            f64::from(wrapping.now),
            f64::from(wrapping.before),
            cook.weight_kg,
            minute / 60.0,
            moment.k_per_h,
            f64::from(moment.in_stall),
            moment.pit_c,
        ];
        // The first column of a restricted spline is the number itself.
        let bend = self.spline.as_ref().and_then(|spline| spline.evaluate(moment.core_c).ok());
        values.extend(bend.iter().flatten().skip(1));
        values.extend([angle.sin(), angle.cos()]);
        values.extend(&cook.adjust);
        values
    }

    fn row(&self, cook: &Cook<'_>, minute: f64, wrapping: Wrapping) -> Vec<f64> {
        let all = self.all(cook, minute, wrapping);
        std::iter::once(1.0).chain(self.used.iter().map(|&place| all[place])).collect()
    }
}

fn names(spline: Option<&CubicSpline>, adjusters: &[String]) -> Vec<String> {
    let mut names: Vec<String> = [
        history::CORE_C.name,
        "wrapped_now",
        "wrapped_before",
        "weight_kg",
        "clock_h",
        history::K_PER_H.name,
        history::IN_STALL.name,
        history::PIT_C.name,
    ]
    .map(str::to_owned)
    .to_vec();
    names.extend((1..spline.map_or(1, CubicSpline::columns)).map(|bend| format!("core_c[{bend}]")));
    names.extend(["start_hour_sine".to_owned(), "start_hour_cosine".to_owned()]);
    names.extend(adjusters.iter().cloned());
    names
}

/// A model on the rows, with as many columns as the decisions can bear; constant and collinear
/// ones are left out. Gives what else was left out.
fn model(
    name: &str,
    cooks: &[Cook<'_>],
    adjusters: &[String],
    rows: &[Row],
) -> Result<(Decision, Covariates, Vec<String>), StatsError> {
    let made = rows.iter().filter(|row| row.made).count();
    let core_then: Vec<f64> = rows
        .iter()
        .filter(|row| row.made)
        .map(|row| cooks[row.subject].course.at(row.minute).core_c)
        .collect();
    let spline = quantile_knots(&core_then, 3).ok().and_then(|k| CubicSpline::restricted(&k).ok());
    let names = names(spline.as_ref(), adjusters);
    let mut covariates = Covariates { spline, used: Vec::new(), names };
    let values: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| covariates.all(&cooks[row.subject], row.minute, row.wrapping))
        .collect();
    let most = made.min(rows.len() - made) / EVENTS_PER_COLUMN;
    let varies = |place: &usize| values.iter().any(|row| row[*place] != values[0][*place]);
    covariates.used = (0..covariates.names.len()).filter(varies).collect();
    let dropped = covariates.used.split_off(most.min(covariates.used.len()));
    let left_out = dropped.into_iter().map(|place| covariates.names[place].clone()).collect();
    let made: Vec<bool> = rows.iter().map(|row| row.made).collect();
    let subject: Vec<usize> = rows.iter().map(|row| row.subject).collect();
    loop {
        let mut design = Design::new(rows.len()).intercept()?;
        for &place in &covariates.used {
            let column: Vec<f64> = values.iter().map(|row| row[place]).collect();
            design = design.numeric(&covariates.names[place], &column)?;
        }
        match Decision::new(name, &design, &made, &subject) {
            Ok(decision) => return Ok((decision, covariates, left_out)),
            // Other columns say the same already.
            Err(StatsError::CollinearColumn { term, .. } | StatsError::ConstantColumn { term })
                if !covariates.used.is_empty() =>
            {
                let names = &covariates.names;
                covariates.used.retain(|&place| names[place] != term);
            }
            Err(error) => return Err(error),
        }
    }
}

impl Decisions {
    /// Models for the cooks; `methods` are those that a strategy names, `bump` says whether the
    /// raising of the set-point is modelled as well.
    pub(super) fn new(
        cooks: &[Cook<'_>],
        adjusters: &[String],
        methods: &[WrapMethod],
        bump: bool,
    ) -> Result<Self, StatsError> {
        let mut decisions = Self {
            models: Vec::new(),
            covariates: Vec::new(),
            methods: Vec::new(),
            bump: None,
            least_core_c: f64::INFINITY,
            notes: Vec::new(),
        };
        let core_at_wrap =
            |cook: &Cook<'_>| cook.wrap.as_ref().map(|(minute, _)| cook.course.at(*minute).core_c);
        decisions.least_core_c =
            cooks.iter().filter_map(core_at_wrap).fold(f64::INFINITY, f64::min);
        let rows = decisions.wrap_rows(cooks);
        decisions.add("whether to wrap", cooks, adjusters, &rows)?;
        let wrapped: Vec<&WrapMethod> =
            cooks.iter().filter_map(|cook| cook.wrap.as_ref().map(|(_, method)| method)).collect();
        for method in methods {
            let known = decisions.methods.iter().any(|(known, _)| known == method);
            if known || wrapped.iter().all(|used| *used == method) {
                continue;
            }
            let rows = decisions.kind_rows(cooks, method);
            let place = decisions.add(&format!("whether in {method}"), cooks, adjusters, &rows)?;
            decisions.methods.push((method.clone(), place));
        }
        if bump {
            let rows = bump_rows(cooks);
            decisions.bump =
                Some(decisions.add("whether to raise the set-point", cooks, adjusters, &rows)?);
        }
        Ok(decisions)
    }

    fn add(
        &mut self,
        name: &str,
        cooks: &[Cook<'_>],
        adjusters: &[String],
        rows: &[Row],
    ) -> Result<usize, StatsError> {
        let (decision, covariates, left_out) = model(name, cooks, adjusters, rows)?;
        if !left_out.is_empty() {
            self.notes.push(format!(
                "the model of {name} has too few decisions behind it for {}",
                left_out.join(", ")
            ));
        }
        self.models.push(decision);
        self.covariates.push(covariates);
        Ok(self.models.len() - 1)
    }

    /// The minute from which a cook may be wrapped: its core has got as far as this team's lowest
    /// at a wrap. Periods are counted from there, so that none is open for a part of it only.
    pub(super) fn opens(&self, cook: &Cook<'_>) -> Option<f64> {
        cook.course.first_at(self.least_core_c, None).map(|minute| (minute - INSTANT).max(0.0))
    }

    fn wrap_rows(&self, cooks: &[Cook<'_>]) -> Vec<Row> {
        let mut rows = Vec::new();
        for (subject, cook) in cooks.iter().enumerate() {
            let wrap = cook.wrap.as_ref().map(|(minute, _)| *minute);
            let Some(opens) = self.opens(cook) else { continue };
            for minute in starts(opens, cook.end_min)
                .take_while(|start| wrap.is_none_or(|wrap| wrap > *start))
            {
                let made = wrap.is_some_and(|wrap| wrap <= minute + PERIOD_MIN);
                rows.push(Row { subject, minute, wrapping: Wrapping::default(), made });
            }
        }
        rows
    }

    fn kind_rows(&self, cooks: &[Cook<'_>], method: &WrapMethod) -> Vec<Row> {
        let wrapped = cooks.iter().enumerate();
        wrapped
            .filter_map(|(subject, cook)| {
                let (wrap, used) = cook.wrap.as_ref()?;
                let opens = self.opens(cook)?;
                // The start of the period in which it was wrapped.
                let minute = starts(opens, *wrap).last().unwrap_or(opens);
                Some(Row { subject, minute, wrapping: Wrapping::default(), made: used == method })
            })
            .collect()
    }

    /// Asks for the probability that a cook is wrapped in the period from a minute on; gives model
    /// and asked row.
    pub(super) fn ask_wrap(
        &mut self,
        (subject, cook): (usize, &Cook<'_>),
        minute: f64,
    ) -> Result<(usize, usize), StatsError> {
        self.ask(0, (subject, cook), minute, Wrapping::default())
    }

    /// The same for the method of the wrap; `None` where this team uses no other.
    pub(super) fn ask_method(
        &mut self,
        of: (usize, &Cook<'_>),
        minute: f64,
        method: &WrapMethod,
    ) -> Result<Option<(usize, usize)>, StatsError> {
        let place = self.methods.iter().find(|(known, _)| known == method).map(|known| known.1);
        place.map(|place| self.ask(place, of, minute, Wrapping::default())).transpose()
    }

    /// The same for a bump; `None` where bumps are not modelled.
    pub(super) fn ask_bump(
        &mut self,
        of: (usize, &Cook<'_>),
        minute: f64,
        wrapping: Wrapping,
    ) -> Result<Option<(usize, usize)>, StatsError> {
        self.bump.map(|place| self.ask(place, of, minute, wrapping)).transpose()
    }

    fn ask(
        &mut self,
        place: usize,
        (subject, cook): (usize, &Cook<'_>),
        minute: f64,
        wrapping: Wrapping,
    ) -> Result<(usize, usize), StatsError> {
        let row = self.covariates[place].row(cook, minute, wrapping);
        Ok((place, self.models[place].ask(subject, &row)?))
    }

    /// What the models are, in words.
    pub(super) fn described(&self) -> String {
        let each = self.models.iter().zip(&self.covariates).map(|(model, covariates)| {
            let names: Vec<&str> =
                covariates.used.iter().map(|&place| covariates.names[place].as_str()).collect();
            format!("{} on {}", model.name(), names.join(", "))
        });
        each.collect::<Vec<_>>().join("; ")
    }

    /// The coefficients of every model, for `study.json`.
    pub(super) fn fitted(
        &self,
        engine: &stats::clone_censor_weight::CloneCensorWeight,
        cooks: usize,
    ) -> Vec<Model> {
        let of = |place: usize| {
            let coefficients = engine.coefficients(place)?;
            let used = self.covariates[place].used.iter();
            let names = used.map(|&column| self.covariates[place].names[column].clone());
            let names = std::iter::once(stats::INTERCEPT.to_owned()).chain(names);
            let terms = names.zip(coefficients).map(|(term, &estimate)| crate::result::Term {
                term,
                estimate: crate::result::finite(estimate),
                std_error: None,
                lo: None,
                hi: None,
                df: None,
                statistic: None,
                p: None,
            });
            Some(Model {
                name: "pooled-logistic".into(),
                method: format!("{}, log odds a ten minutes", self.models[place].name()),
                n: cooks,
                events: self.models[place].times_made(),
                log_likelihood: None,
                residual_variance: None,
                random: Vec::new(),
                terms: terms.collect(),
            })
        };
        (0..self.models.len()).filter_map(of).collect()
    }
}

/// Starts of the ten-minute periods from a minute until before another.
fn starts(from: f64, until: f64) -> impl Iterator<Item = f64> {
    (0..)
        .map(move |period| from + f64::from(period) * PERIOD_MIN)
        .take_while(move |start| *start < until)
}

fn bump_rows(cooks: &[Cook<'_>]) -> Vec<Row> {
    let mut rows = Vec::new();
    for (subject, cook) in cooks.iter().enumerate() {
        let bump = cook.bump_min;
        for minute in
            starts(0.0, cook.end_min).take_while(|start| bump.is_none_or(|bump| bump > *start))
        {
            let wrap = cook.wrap.as_ref().map(|(minute, _)| *minute);
            let wrapping = Wrapping {
                before: wrap.is_some_and(|wrap| wrap <= minute),
                now: wrap.is_some_and(|wrap| wrap > minute && wrap <= minute + PERIOD_MIN),
            };
            let made = bump.is_some_and(|bump| bump <= minute + PERIOD_MIN);
            rows.push(Row { subject, minute, wrapping, made });
        }
    }
    rows
}
