//! The coarser of two groupings, in blocks of levels that are linked through the finer.

use super::groups::Groups;
use nalgebra::DMatrix;

/// The second grouping, its levels renumbered so that those of a block stand together.
#[derive(Debug, Clone)]
pub(super) struct Second {
    /// Group of each row, in the new numbers.
    pub(super) positions: Vec<usize>,
    /// New number of each group.
    pub(super) renumbered: Vec<usize>,
    /// First level and number of levels of each block.
    pub(super) blocks: Vec<(usize, usize)>,
    /// For each first-level group its block, and how many of its rows are in each of the levels
    /// (counted from the start of the block).
    pub(super) shared: Vec<(usize, Vec<(usize, f64)>)>,
    /// The part of C that lies within the groups of the first, by blocks.
    pub(super) within: Vec<DMatrix<f64>>,
}

impl Second {
    pub(super) fn new(first: &Groups, second: &Groups) -> Self {
        // Levels in one group of the first belong to one block.
        let mut parent: Vec<usize> = (0..second.count()).collect();
        let mut representative = vec![usize::MAX; first.count()];
        for (&group, &level) in first.positions.iter().zip(&second.positions) {
            if representative[group] == usize::MAX {
                representative[group] = level;
            } else {
                let a = root(&mut parent, representative[group]);
                let b = root(&mut parent, level);
                parent[a.max(b)] = a.min(b);
            }
        }
        let roots: Vec<usize> = (0..second.count()).map(|l| root(&mut parent, l)).collect();
        let mut order: Vec<usize> = (0..second.count()).collect();
        order.sort_by_key(|&level| (roots[level], level));
        let mut renumbered = vec![0; second.count()];
        let mut blocks: Vec<(usize, usize)> = Vec::new();
        let mut block_of = vec![0; second.count()];
        for (new, &old) in order.iter().enumerate() {
            renumbered[old] = new;
            if new == 0 || roots[order[new - 1]] != roots[old] {
                blocks.push((new, 0));
            }
            let block = blocks.len() - 1;
            blocks[block].1 += 1;
            block_of[new] = block;
        }
        let positions: Vec<usize> = second.positions.iter().map(|&l| renumbered[l]).collect();

        let mut pairs: Vec<(usize, usize)> =
            first.positions.iter().copied().zip(positions.iter().copied()).collect();
        pairs.sort_unstable();
        let mut shared: Vec<(usize, Vec<(usize, f64)>)> = vec![(0, Vec::new()); first.count()];
        for (group, level) in pairs {
            let block = block_of[level];
            let local = level - blocks[block].0;
            let (its_block, counts) = &mut shared[group];
            *its_block = block;
            match counts.last_mut() {
                Some((last, count)) if *last == local => *count += 1.0,
                _ => counts.push((local, 1.0)),
            }
        }
        let mut within: Vec<DMatrix<f64>> =
            blocks.iter().map(|&(_, levels)| DMatrix::zeros(levels, levels)).collect();
        for ((block, counts), &size) in shared.iter().zip(&first.sizes) {
            let matrix = &mut within[*block];
            for &(a, x) in counts {
                matrix[(a, a)] += x;
                for &(b, y) in counts {
                    matrix[(a, b)] -= x * y / size;
                }
            }
        }
        Self { positions, renumbered, blocks, shared, within }
    }

    /// The part of C between the groups of the first, by blocks.
    pub(super) fn links<'a>(
        &'a self,
        first: &'a Groups,
        shrunk: &'a impl Fn(usize) -> f64,
    ) -> impl Iterator<Item = DMatrix<f64>> + 'a {
        let mut matrices: Vec<DMatrix<f64>> =
            self.blocks.iter().map(|&(_, levels)| DMatrix::zeros(levels, levels)).collect();
        for (group, (block, counts)) in self.shared.iter().enumerate() {
            let weight = shrunk(group) / first.sizes[group];
            let matrix = &mut matrices[*block];
            for (position, &(a, x)) in counts.iter().enumerate() {
                let mut column = matrix.column_mut(a);
                for &(b, y) in &counts[position..] {
                    column[b] += weight * x * y;
                }
            }
        }
        for matrix in &mut matrices {
            matrix.fill_upper_triangle_with_lower_triangle();
        }
        matrices.into_iter()
    }

    /// Z₂′M[X r].
    pub(super) fn crosses(
        &self,
        deviations: &DMatrix<f64>,
        means: &[f64],
        shrunk: &impl Fn(usize) -> f64,
        columns: usize,
    ) -> DMatrix<f64> {
        let mut crosses = deviations.clone();
        for (group, (block, counts)) in self.shared.iter().enumerate() {
            let start = self.blocks[*block].0;
            let shrunk = shrunk(group);
            for column in 0..columns {
                let mean = shrunk * means[group * columns + column];
                for &(level, count) in counts {
                    crosses[(start + level, column)] += count * mean;
                }
            }
        }
        crosses
    }
}

/// Representative of the set that a level belongs to, with paths halved on the way (Tarjan & van
/// Leeuwen 1984, Journal of the ACM 31, 245–281).
fn root(parent: &mut [usize], mut level: usize) -> usize {
    while parent[level] != level {
        parent[level] = parent[parent[level]];
        level = parent[level];
    }
    level
}
