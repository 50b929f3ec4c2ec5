//! Some cells of `docs/honesty.md`, shortly.

mod honesty;

use honesty::{Asked, By, Cell, FIRES, Outcome, wrong};

const TABLES: u64 = 150;

/// Standard errors by which a count may lie above what the level allows: with some forty counts here one of
/// an honest rule lies beyond this in one run of a hundred.
const FAR: f64 = 3.5;

fn most(of: usize, share: f64) -> f64 {
    let n = of as f64;
    n * share + FAR * (n * share * (1.0 - share)).sqrt()
}

fn check(cell: Cell, claims: &[By]) {
    let asked = Asked::of(cell).unwrap();
    let all: Vec<_> = (0..TABLES).flat_map(|number| asked.judged(number).unwrap()).collect();
    for &by in claims {
        for family in [1, 8] {
            let own: Vec<_> = all.iter().filter(|j| j.by == by && j.family == family).collect();
            let name = format!("{}, {}, family of {family}", cell.name(), by.name());
            let answered = own.iter().filter(|j| j.interval.is_some()).count();
            assert!(answered * 2 > own.len(), "{name}: {answered} of {} answered", own.len());
            let missed = own
                .iter()
                .filter_map(|j| Some((j.truth?, j.interval?)))
                .filter(|(truth, (lo, hi))| truth < lo || hi < truth)
                .count();
            let level = own[0].level;
            assert!((missed as f64) <= most(answered, 1.0 - level), "{name}: {missed} missed");
            for side in [-1, 0, 1] {
                let of: Vec<_> = own.iter().filter(|j| j.side == side).collect();
                let count = of.iter().filter(|j| wrong(j.verdict, side)).count();
                let tails = if side == 0 { 1.0 } else { 0.5 };
                let allowed = most(of.len(), tails * (1.0 - level));
                assert!((count as f64) <= allowed, "{name}, side {side}: {count} wrong");
            }
        }
    }
}

fn cell(fires: usize, outcome: Outcome, cut: f64, unequal: bool) -> Cell {
    Cell { fires: FIRES[fires], outcome, cut, unequal }
}

#[test]
fn few_fires_are_not_taken_for_many() {
    check(cell(0, Outcome::Minutes, 0.0, false), &By::ALL);
    check(cell(1, Outcome::Score, 0.0, false), &[By::Wood, By::Cooker]);
}

#[test]
fn lower_bounds_do_not_lean_where_scatter_is_unequal() {
    check(cell(2, Outcome::Minutes, 0.25, true), &By::ALL);
    check(cell(3, Outcome::Minutes, 0.6, true), &[By::Wood, By::Cooker]);
}

#[test]
fn a_part_of_the_clock_is_not_taken_for_the_whole() {
    check(cell(3, Outcome::Finish, 0.25, false), &By::ALL);
    check(cell(2, Outcome::Finish, 0.6, true), &By::ALL);
}
