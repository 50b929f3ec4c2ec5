//! What people outside the team may see: no costs, no supplier, and no column of the team's own.

use super::ReportData;
use columns::card;
use study::claims::Claim;
use study::result::cost::CostOutcome;

/// Columns of the card that are nobody's business but the team's.
const PRIVATE: [&str; 4] =
    [card::COST.column.name, card::SUPPLIER.column.name, card::LOT.column.name, COST_PER_SERVED];
/// What the study calls the cost by the weight served.
const COST_PER_SERVED: &str = "cost_per_served_kg";

impl ReportData {
    /// The same without what a team would not hand out. A column of its own may be a recipe, so claims and
    /// treatments on one are left out whole.
    #[must_use]
    pub fn for_the_public(mut self) -> Self {
        self.study.claims.retain(|claim| is_open(&claim.asked));
        self.study.cost_side.answers.retain(|answer| {
            answer.kind != CostOutcome::Cost
                && is_open_column(&answer.treatment)
                && is_open_column(&answer.outcome)
        });
        let known = |id: &String| self.study.claims.iter().any(|claim| claim.id == *id);
        self.study.courses.retain(|own| own.claim.as_ref().is_none_or(known));
        for glance in &mut self.study.season.glance {
            glance.cost_per_served_kg = None;
        }
        self
    }
}

fn is_open(asked: &Claim) -> bool {
    let columns = asked.by.iter().chain(&asked.adjust).chain([&asked.outcome]);
    columns.into_iter().all(|column| is_open_column(column))
}

/// Whether it is a column that every team may have, and no private one.
fn is_open_column(column: &str) -> bool {
    !PRIVATE.contains(&column)
        && (columns::names::find(column).is_some() || columns::names::score(column).is_some())
}
