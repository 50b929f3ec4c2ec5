//! Seasons and teams against each other, as the report shows them.

use report::data::{ComparisonRow, Comparisons, Told};
use report::names::{name_of, name_within, quantity_of};
use study::result::compare::ComparedDifference;
use study::result::season::Season;

pub(super) fn comparisons(season: &Season) -> Vec<Comparisons> {
    let ends = |found: Option<ComparedDifference>| {
        found.map(|found| [Some(found.estimate), found.lo, found.hi])
    };
    season
        .comparisons
        .iter()
        .map(|found| Comparisons {
            by: found.by.clone(),
            level: found.level,
            family: found.family,
            rows: found
                .rows
                .iter()
                .map(|row| ComparisonRow {
                    outcome: name_of(&row.outcome),
                    quantity: quantity_of(&row.outcome),
                    first: row.first.clone(),
                    second: row.second.clone(),
                    cooks: [row.first_cooks, row.second_cooks],
                    censored: row.censored,
                    plain: ends(row.as_they_are),
                    adjusted: ends(row.adjusted),
                    adjusted_for: row.adjusted_for.iter().map(|name| name_within(name)).collect(),
                    p_adjusted: row.p_adjusted,
                    told: match row.told {
                        study::result::compare::Told::More => Told::More,
                        study::result::compare::Told::Less => Told::Less,
                        study::result::compare::Told::HintOnly => Told::HintOnly,
                        study::result::compare::Told::CannotBeTold => Told::CannotBeTold,
                    },
                    reason: row.reason.clone(),
                })
                .collect(),
        })
        .collect()
}
