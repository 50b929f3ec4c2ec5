//! Labels of groups turned into positions, and checks that a random intercept can be told from the
//! rest of the model.

use super::Grouping;
use crate::error::{StatsError, require_length};

/// One grouping: which group each row is in.
#[derive(Debug, Clone)]
pub(super) struct Groups {
    pub(super) name: String,
    /// Labels in ascending order; the position of a group is its place here.
    pub(super) labels: Vec<usize>,
    /// Position of the group of each row.
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
        Ok(Self { name, labels, positions, sizes })
    }

    pub(super) fn count(&self) -> usize {
        self.labels.len()
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

/// Labels for groups within groups: one for every pair of labels that occurs, in order of the
/// pairs. For batches numbered anew in each place, `nest(&place, &batch)` tells the first batch of
/// one place from that of another; a model of both groupings then has nested random intercepts.
///
/// # Errors
/// [`StatsError::LengthMismatch`].
pub fn nest(outer: &[usize], inner: &[usize]) -> Result<Vec<usize>, StatsError> {
    require_length("the inner labels", outer.len(), inner.len())?;
    let pairs: Vec<(usize, usize)> = outer.iter().copied().zip(inner.iter().copied()).collect();
    let mut known = pairs.clone();
    known.sort_unstable();
    known.dedup();
    Ok(pairs.iter().map(|pair| known.partition_point(|other| other < pair)).collect())
}
