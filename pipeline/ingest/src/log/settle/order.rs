//! Rows in order of time.

use columns::Packed;

/// Sorts rows by time, stably. The second value tells of each row of the file whether it
/// came out of order: it is not among the longest run of rows that are in order.
pub(crate) fn sorted(times: &Packed<Option<i64>>) -> (Packed<u32>, Packed<bool>) {
    let known = || times.iter().enumerate().filter(|(_, time)| time.is_some());
    if known().is_sorted_by_key(|(_, time)| time) {
        let order = known().map(|(row, _)| row as u32).collect();
        return (order, times.iter().map(|_| false).collect());
    }
    let (mut order, times) =
        (known().map(|(row, _)| row as u32).collect::<Vec<u32>>(), times.to_vec());
    let mut moved = vec![false; times.len()];
    // Longest non-decreasing subsequence by patience sorting (Fredman 1975).
    let mut tails: Vec<u32> = Vec::new();
    let mut before: Vec<Option<u32>> = vec![None; times.len()];
    for &i in &order {
        let at = tails.partition_point(|&tail| times[tail as usize] <= times[i as usize]);
        before[i as usize] = at.checked_sub(1).map(|previous| tails[previous]);
        if at == tails.len() {
            tails.push(i);
        } else {
            tails[at] = i;
        }
    }
    for &i in &order {
        moved[i as usize] = true;
    }
    let mut next = tails.last().copied();
    while let Some(i) = next {
        moved[i as usize] = false;
        next = before[i as usize];
    }
    order.sort_by_key(|&i| times[i as usize]);
    (order.into(), moved.into())
}

/// Rows (at most three together) more than 30 days from all others, where the others are
/// nine tenths of the log: a clock that was not set, or a corrupt date.
pub(crate) fn strays(times: &Packed<Option<i64>>) -> Vec<usize> {
    const FAR_MS: i64 = 30 * crate::time::DAY_MS;
    // No row is far from all others where none is far from the one that is logged before it.
    let mut known = times.iter().flatten();
    let mut last = known.next();
    if known.all(|time| last.replace(time).is_some_and(|last| (time - last).abs() <= FAR_MS)) {
        return Vec::new();
    }
    let times = times.to_vec();
    let mut order: Vec<usize> = (0..times.len()).filter(|&i| times[i].is_some()).collect();
    order.sort_by_key(|&i| times[i]);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut last: Option<i64> = None;
    for i in order.iter().copied() {
        let time = times[i].unwrap_or_default();
        match groups.last_mut() {
            Some(group) if last.is_some_and(|last| time - last <= FAR_MS) => group.push(i),
            _ => groups.push(vec![i]),
        }
        last = Some(time);
    }
    if !groups.iter().any(|group| group.len() * 10 >= order.len() * 9) {
        return Vec::new();
    }
    groups
        .into_iter()
        .filter(|group| group.len() <= 3 && group.len() * 10 < order.len() * 9)
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_displaced_row_is_marked() {
        let times = [1, 2, 9, 3, 4, 5].map(Some);
        let (order, moved) = sorted(&times.to_vec().into());
        assert_eq!(order, [0, 1, 3, 4, 5, 2]);
        assert_eq!(moved, [false, false, true, false, false, false]);
        assert_eq!(sorted(&vec![Some(1), None, Some(2)].into()).0, [0, 2]);
    }

    #[test]
    fn a_stray_date_is_seen() {
        let mut times: Vec<Option<i64>> = (0..40).map(|i| Some(i * 60_000)).collect();
        times[7] = Some(40 * crate::time::DAY_MS);
        assert_eq!(strays(&times.into()), [7]);
    }
}
