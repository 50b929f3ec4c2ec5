//! Random intercepts, or fixed effects, of the groups that cooks belong to.

use crate::error::StudyError;
use crate::regression::{self, Data, NotFitted, Regression};
use crate::result::{Model, RandomIntercept, finite};
use crate::rows::Rows;
use crate::table::MeasureTable;
use columns::measures;
use stats::{Grouping, LinearMixed, StatsError};
use std::collections::BTreeMap;

/// Groups of fewer levels than this enter as fixed effects too: a variance estimated from so few
/// is hardly one. Gelman & Hill (2007), Data Analysis Using Regression and Multilevel/Hierarchical
/// Models, section 12.9, says fewer than five.
const FEW_LEVELS: usize = 6;

/// One column that groups cooks: the number of each row's level, and the levels.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    pub(crate) column: String,
    pub(crate) labels: Vec<usize>,
    pub(crate) levels: Vec<String>,
}

impl Group {
    fn new<'a>(column: &str, values: impl Iterator<Item = &'a str> + Clone) -> Self {
        let mut levels: Vec<&str> = values.clone().collect();
        levels.sort_unstable();
        levels.dedup();
        let places: BTreeMap<&str, usize> =
            levels.iter().enumerate().map(|(place, level)| (*level, place)).collect();
        Self {
            column: column.to_owned(),
            labels: values.map(|level| places[level]).collect(),
            levels: levels.into_iter().map(str::to_owned).collect(),
        }
    }

    /// `pit (3 levels)`.
    fn counted(&self) -> String {
        format!("{} ({} levels)", self.column, self.levels.len())
    }
}

/// Data of the cooks that say their group, with the groups.
#[derive(Debug, Clone)]
pub(crate) struct Grouped {
    pub(crate) data: Data,
    pub(crate) groups: Vec<Group>,
    /// Cooks that do not say their group.
    pub(crate) without: usize,
}

impl Grouped {
    /// `data` are those of `rows`. A column that none of them has a value of groups nothing and is
    /// passed over; a cook without a value of another is left out.
    pub(crate) fn new(
        table: &MeasureTable,
        rows: &Rows,
        data: &Data,
        columns: &[String],
    ) -> Result<Self, StudyError> {
        let texts = columns
            .iter()
            .map(|column| {
                let values = if column == measures::FIRE.name {
                    table.fires().iter().map(|fire| Some(fire.to_string())).collect()
                } else {
                    table.texts_or_missing(column)?
                };
                let own = rows.used.iter().map(|&row| values[row].clone()).collect::<Vec<_>>();
                Ok(own.iter().any(Option::is_some).then_some((column, own)))
            })
            .filter_map(Result::transpose)
            .collect::<Result<Vec<(&String, Vec<Option<String>>)>, StudyError>>()?;
        let known: Vec<usize> = (0..data.y.len())
            .filter(|&row| texts.iter().all(|(_, values)| values[row].is_some()))
            .collect();
        let groups = texts
            .iter()
            .map(|(column, values)| {
                Group::new(column, known.iter().map(|&row| values[row].as_deref().unwrap_or("")))
            })
            .collect();
        Ok(Self { without: data.y.len() - known.len(), data: data.take(&known), groups })
    }

    /// The model with a random intercept for each group. A group that can have none is left out;
    /// `notes` says why. `None` where none is left.
    pub(crate) fn mixed(
        &self,
        notes: &mut Vec<String>,
    ) -> Result<Option<(LinearMixed, Model, String)>, NotFitted> {
        let cooks: Vec<&str> = self.data.cooks.iter().map(String::as_str).collect();
        let mut used: Vec<&Group> = self.groups.iter().collect();
        let fit = loop {
            if used.is_empty() || cooks.is_empty() {
                notes.push("`mixed` is left out: no group can have a random intercept".into());
                return Ok(None);
            }
            let groupings: Vec<Grouping<'_>> = used
                .iter()
                .map(|group| Grouping { name: &group.column, labels: &group.labels })
                .collect();
            let design = self.data.design().map_err(|error| regression::explain(error, &cooks))?;
            let error = match LinearMixed::fit(&design, &self.data.y, &groupings) {
                Ok(fit) => break fit,
                Err(error) => error,
            };
            let Some(grouping) = grouping_of(&error) else {
                return match regression::explain(error, &cooks) {
                    NotFitted::Refused(reason) => {
                        notes.push(format!("`mixed` is left out: {reason}"));
                        Ok(None)
                    }
                    failed @ NotFitted::Failed(_) => Err(failed),
                };
            };
            used.retain(|group| group.column != grouping);
            let reason = match error {
                StatsError::GroupPerRow { .. } => "each of its levels has one cook".to_owned(),
                other => other.to_string(),
            };
            notes.push(format!("`{grouping}` has no random intercept: {reason}"));
        };
        for intercept in fit.random.iter().filter(|intercept| intercept.variance == 0.0) {
            notes.push(format!(
                "`mixed` finds no difference between the levels of `{}` beyond the scatter of cooks",
                intercept.name
            ));
        }
        let counted: Vec<String> = used.iter().map(|group| group.counted()).collect();
        let counted = counted.join(" and ");
        let terms = regression::model_terms(&fit.estimates)
            .map_err(|error| NotFitted::Failed(StudyError::Statistics(error)))?;
        let model = Model {
            name: "mixed".into(),
            method: format!(
                "linear mixed model by restricted maximum likelihood, random intercepts of \
                 {counted}; Satterthwaite's degrees of freedom"
            ),
            n: fit.n,
            events: fit.n,
            log_likelihood: finite(fit.estimates.log_likelihood()),
            residual_variance: finite(fit.residual_variance),
            random: fit
                .random
                .iter()
                .map(|intercept| RandomIntercept {
                    group: intercept.name.clone(),
                    variance: intercept.variance,
                })
                .collect(),
            terms,
        };
        Ok(Some((fit, model, counted)))
    }

    /// The model with the groups of few levels as fixed effects; `None` where there is none, or
    /// where it cannot be fitted and `notes` says why. `adjusted` are in the model already. `fire`
    /// is left out: with few levels it would leave nothing to cluster by.
    pub(crate) fn fixed(
        &self,
        adjusted: &[String],
        notes: &mut Vec<String>,
    ) -> Result<Option<(Data, Regression, String)>, NotFitted> {
        let few: Vec<&Group> = self
            .groups
            .iter()
            .filter(|group| {
                group.column != measures::FIRE.name && !adjusted.contains(&group.column)
            })
            .filter(|group| (2..FEW_LEVELS).contains(&group.levels.len()))
            .collect();
        if few.is_empty() {
            return Ok(None);
        }
        let mut data = self.data.clone();
        for group in &few {
            for (place, name) in group.levels.iter().enumerate().skip(1) {
                data.terms.push(format!("{}[{name}]", group.column));
                data.columns.push(
                    group.labels.iter().map(|&label| f64::from(u8::from(label == place))).collect(),
                );
            }
        }
        let columns: Vec<String> = few.iter().map(|group| format!("`{}`", group.column)).collect();
        let columns = columns.join(" and ");
        match data.fit() {
            Ok(mut fitted) => {
                fitted.model.name = "fixed-effects".into();
                fitted.model.method =
                    format!("{}; {columns} as fixed effects", fitted.model.method);
                Ok(Some((data, fitted, columns)))
            }
            Err(NotFitted::Refused(reason)) => {
                notes.push(format!("`fixed-effects` of {columns} is left out: {reason}"));
                Ok(None)
            }
            Err(failed) => Err(failed),
        }
    }
}

fn grouping_of(error: &StatsError) -> Option<String> {
    match error {
        StatsError::GroupPerRow { grouping }
        | StatsError::TooFewGroups { grouping, .. }
        | StatsError::GroupingFollows { grouping, .. } => Some(grouping.clone()),
        _ => None,
    }
}
