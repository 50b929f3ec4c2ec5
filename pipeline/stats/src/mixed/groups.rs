//! Labels of groups turned into positions, and checks that a random intercept can be told from the
//! rest of the model.

use super::Grouping;
use crate::error::{StatsError, require_length};

/// One grouping: which group each row is in.
#[derive(Debug, Clone)]
pub(super) struct Groups {
    pub(super) name: String,
    /// Position of the group of each row, in the order of the labels.
    pub(super) positions: Vec<usize>,
    /// Rows in each group.
    pub(super) sizes: Vec<f64>,
}

impl Groups {
    /// # Errors
    /// Wrong length, fewer than two groups, or as many groups as rows.
    pub(super) fn new(grouping: &Grouping<'_>, rows: usize) -> Result<Self, StatsError> {
        let name = grouping.name.to_owned();
        require_length(&format!("the labels of {name}"), rows, grouping.labels.len())?;
        let mut labels = grouping.labels.to_vec();
        labels.sort_unstable();
        labels.dedup();
        if labels.len() < 2 {
            return Err(StatsError::TooFewGroups { grouping: name, found: labels.len() });
        }
        if labels.len() == rows {
            return Err(StatsError::GroupPerRow { grouping: name });
        }
        let positions: Vec<usize> =
            grouping.labels.iter().map(|label| labels.partition_point(|l| l < label)).collect();
        let mut sizes = vec![0.0; labels.len()];
        for &position in &positions {
            sizes[position] += 1.0;
        }
        Ok(Self { name, positions, sizes })
    }

    pub(super) fn count(&self) -> usize {
        self.sizes.len()
    }

    /// Whether both divide the rows in the same way.
    pub(super) fn divides_like(&self, other: &Self) -> bool {
        if self.count() != other.count() {
            return false;
        }
        let mut partner = vec![usize::MAX; self.count()];
        self.positions.iter().zip(&other.positions).all(|(&own, &others)| {
            let known = &mut partner[own];
            if *known == usize::MAX {
                *known = others;
            }
            *known == others
        })
    }
}
