//! How far each cook's stall moves when the constants of its definition are moved.

use crate::derive_stage::{Asked, derive};
use crate::error::StageError;
use crate::progress::Progress;
use cook::Season;
use phases::{MovedConstant, StallSeen};
use rows::{CookPhases, MovedStall, moved_stalls};
use std::collections::HashMap;
use std::path::Path;
use store::{Column, Store, StoreError, Table, TableName};

/// How the stalls of a store move.
#[derive(Debug, Clone)]
pub struct SensitivitySummary {
    /// For each cook a row under the season's own definition (`constant` is `definition`) and one
    /// for each moved constant.
    pub table: Table,
    /// What came of it, one line a constant and one over all.
    pub lines: Vec<String>,
}

/// One cook under every definition.
struct Moved {
    cook: String,
    meat_on_ms: i64,
    /// `None` where the cook cannot be segmented.
    seen: Option<(StallSeen, Vec<Sensitivity>)>,
}

/// What one moved constant does to one cook's stall.
struct Sensitivity {
    constant: MovedConstant,
    to: f64,
    /// The stall then.
    seen: StallSeen,
    /// How far the first stall's start moves, min; `None` where there is none in either.
    start_moves_min: Option<f64>,
    /// How far the last stall's end moves, min.
    end_moves_min: Option<f64>,
    /// How much longer the stalls are, min.
    length_moves_min: Option<f64>,
}

impl Sensitivity {
    fn of(moved: &MovedStall, base: &StallSeen) -> Self {
        let minutes = |a: Option<i64>, b: Option<i64>| Some((a? - b?) as f64 / 60_000.0);
        let seen = moved.seen;
        Self {
            constant: moved.constant,
            to: moved.to,
            seen,
            start_moves_min: minutes(seen.start_ms, base.start_ms),
            end_moves_min: minutes(seen.end_ms, base.end_ms),
            length_moves_min: seen.stall_min.zip(base.stall_min).map(|(a, b)| a - b),
        }
    }
}

impl Moved {
    /// A cook's phases beside its rows of moved constants, of which one that cannot be segmented has
    /// none.
    fn of(phases: &CookPhases, moved: &[MovedStall]) -> Self {
        let spans: Vec<_> = phases.phases.iter().map(|row| row.span).collect();
        let base = StallSeen::among(&spans, phases.not_judged.is_none());
        let others = moved.iter().map(|moved| Sensitivity::of(moved, &base)).collect();
        Self {
            cook: phases.cook.clone(),
            meat_on_ms: phases.meat_on_ms,
            seen: (!moved.is_empty()).then_some((base, others)),
        }
    }
}

/// The stall of every cook with one constant moved at a time to either end of its range
/// ([`MovedConstant::range`]). The rows of every cook are brought up to date first; they hold the
/// moved constants.
///
/// # Errors
/// As `phases`.
pub fn phases_sensitivity(
    store: &Path,
    season: &Season,
    progress: &dyn Progress,
) -> Result<SensitivitySummary, StageError> {
    let store = Store::open(store)?;
    let _lock = store.lock()?;
    let pass = derive(&store, season, Asked::All, progress)?;
    let table = match pass.measured {
        Some(tables) => tables.moved,
        None => store.read_table(TableName::Moved)?,
    };
    let stalls = moved_stalls(&table)
        .map_err(|error| StoreError::rows(&store.table_path(TableName::Moved), error))?;
    let mut by_cook: HashMap<&str, Vec<MovedStall>> = HashMap::new();
    for stall in &stalls {
        by_cook.entry(&stall.cook).or_default().push(stall.clone());
    }
    let moved: Vec<Moved> = pass
        .all_phases
        .iter()
        .map(|cook| Moved::of(cook, by_cook.get(cook.cook.as_str()).map_or(&[], Vec::as_slice)))
        .collect();
    Ok(SensitivitySummary { table: self::table(&moved), lines: lines(&moved) })
}

/// One row of the listing.
struct Row<'a> {
    cook: &'a Moved,
    constant: &'static str,
    to: Option<f64>,
    seen: Option<StallSeen>,
    moves: [Option<f64>; 3],
    change: Option<&'static str>,
    range: (Option<f64>, Option<f64>),
}

fn rows(moved: &[Moved]) -> Vec<Row<'_>> {
    let mut out = Vec::new();
    for cook in moved {
        let base = |seen: Option<StallSeen>, range| Row {
            cook,
            constant: "definition",
            to: None,
            seen,
            moves: [None; 3],
            change: None,
            range,
        };
        let Some((seen, others)) = &cook.seen else {
            out.push(base(None, (None, None)));
            continue;
        };
        let lengths = || {
            std::iter::once(seen)
                .chain(others.iter().map(|other| &other.seen))
                .filter_map(|seen| seen.stall_min)
        };
        let range = (lengths().reduce(f64::min), lengths().reduce(f64::max));
        out.push(base(Some(*seen), range));
        out.extend(others.iter().map(|other| Row {
            cook,
            constant: other.constant.as_str(),
            to: Some(other.to),
            seen: Some(other.seen),
            moves: [other.start_moves_min, other.end_moves_min, other.length_moves_min],
            change: Some(change(seen, &other.seen)),
            range,
        }));
    }
    out
}

/// What becomes of a cook's stalls.
fn change(from: &StallSeen, to: &StallSeen) -> &'static str {
    match (from.stalls, to.stalls) {
        (None, None) => "not-judged",
        (Some(_), None) => "no-longer-judged",
        (None, Some(_)) => "now-judged",
        (Some(0), Some(1..)) => "appears",
        (Some(1..), Some(0)) => "disappears",
        (Some(before), Some(after)) if after > before => "more-stalls",
        (Some(before), Some(after)) if after < before => "fewer-stalls",
        _ => "same",
    }
}

fn table(moved: &[Moved]) -> Table {
    let rows = rows(moved);
    let text =
        |of: &dyn Fn(&Row<'_>) -> Option<String>| Column::Text(rows.iter().map(of).collect());
    let float = |of: &dyn Fn(&Row<'_>) -> Option<f64>| Column::Float(rows.iter().map(of).collect());
    let instant = |of: fn(&StallSeen) -> Option<i64>| {
        Column::Instant(rows.iter().map(|row| of(row.seen.as_ref()?)).collect())
    };
    let since = |row: &Row<'_>, at: fn(&StallSeen) -> Option<i64>| {
        let at_ms = at(row.seen.as_ref()?)?;
        Some((at_ms - row.cook.meat_on_ms) as f64 / 60_000.0)
    };
    let stalls = rows.iter().map(|row| i64::try_from(row.seen?.stalls?).ok());
    Table::new()
        .with("cook", text(&|row| Some(row.cook.cook.clone())))
        .with("constant", text(&|row| Some(row.constant.to_owned())))
        .with("moved_to", float(&|row| row.to))
        .with("stalls", Column::Int(stalls.collect()))
        .with("stall_min", float(&|row| row.seen?.stall_min))
        .with("stall_start_at", instant(|seen| seen.start_ms))
        .with("stall_end_at", instant(|seen| seen.end_ms))
        .with("stall_start_min", float(&|row| since(row, |seen| seen.start_ms)))
        .with("stall_end_min", float(&|row| since(row, |seen| seen.end_ms)))
        .with("start_moves_min", float(&|row| row.moves[0]))
        .with("end_moves_min", float(&|row| row.moves[1]))
        .with("length_moves_min", float(&|row| row.moves[2]))
        .with("change", text(&|row| row.change.map(str::to_owned)))
        .with("stall_min_lowest", float(&|row| row.range.0))
        .with("stall_min_highest", float(&|row| row.range.1))
}

fn lines(moved: &[Moved]) -> Vec<String> {
    let judged: Vec<(&str, &StallSeen, &[Sensitivity])> = moved
        .iter()
        .filter_map(|cook| {
            let (base, others) = cook.seen.as_ref()?;
            base.stalls.map(|_| (cook.cook.as_str(), base, &others[..]))
        })
        .collect();
    let mut lines: Vec<String> = MovedConstant::ALL
        .into_iter()
        .map(|constant| {
            let [lo, hi] = constant.range();
            format!("{} {lo} to {hi}: {}", constant.as_str(), told(&judged, Some(constant)))
        })
        .collect();
    let not_judged = moved.len() - judged.len();
    lines.push(format!(
        "{} cooks judged{}, one constant moved at a time: {}",
        judged.len(),
        if not_judged > 0 { format!(" ({not_judged} not)") } else { String::new() },
        told(&judged, None)
    ));
    lines
}

/// Median and largest move of the stall length, and the cooks whose stalls appear or disappear;
/// under one constant or any.
fn told(judged: &[(&str, &StallSeen, &[Sensitivity])], constant: Option<MovedConstant>) -> String {
    let mut moves: Vec<(f64, &str)> = Vec::new();
    let (mut appear, mut disappear) = (0, 0);
    for (cook, base, others) in judged {
        let of_it = || others.iter().filter(|other| constant.is_none_or(|c| c == other.constant));
        let largest = of_it().filter_map(|o| o.length_moves_min).map(f64::abs).reduce(f64::max);
        moves.extend(largest.map(|largest| (largest, *cook)));
        appear += usize::from(of_it().any(|other| change(base, &other.seen) == "appears"));
        disappear += usize::from(of_it().any(|other| change(base, &other.seen) == "disappears"));
    }
    moves.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((largest, cook)) = moves.last() else { return "no cook to judge".into() };
    // The upper of the two in the middle, where there are two.
    let median = moves[moves.len() / 2].0;
    format!(
        "the stall length moves by up to {median:.0} min in the median cook and {largest:.0} min at most ({cook}); stalls appear in {appear} and disappear in {disappear} cooks"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(stalls: Option<usize>, from: i64, until: i64) -> StallSeen {
        let any = stalls.is_some_and(|n| n > 0);
        StallSeen {
            stalls,
            start_ms: any.then_some(from * 60_000),
            end_ms: any.then_some(until * 60_000),
            stall_min: stalls.map(|_| if any { (until - from) as f64 } else { 0.0 }),
        }
    }

    fn moved(cook: &str, base: StallSeen, others: &[StallSeen]) -> Moved {
        let settings = MovedConstant::ALL.into_iter().flat_map(|c| c.range().map(|to| (c, to)));
        let rows = settings.zip(others).map(|((constant, to), seen)| {
            let moved = MovedStall { cook: cook.into(), constant, to, seen: *seen };
            Sensitivity::of(&moved, &base)
        });
        Moved { cook: cook.into(), meat_on_ms: 60_000, seen: Some((base, rows.collect())) }
    }

    #[test]
    fn the_listing_has_a_row_a_definition_and_the_range_over_all() {
        let base = seen(Some(1), 200, 300);
        let mut others = [base; 6];
        others[0] = seen(Some(1), 210, 290);
        others[1] = seen(Some(2), 195, 330);
        others[4] = seen(Some(0), 0, 0);
        let none = seen(Some(0), 0, 0);
        let mut appearing = [none; 6];
        appearing[1] = seen(Some(1), 250, 275);
        let cooks = [
            moved("a", base, &others),
            moved("b", none, &appearing),
            Moved { cook: "c".into(), meat_on_ms: 0, seen: None },
        ];
        let table = table(&cooks);
        assert_eq!(table.rows(), 7 + 7 + 1);
        let text = |name: &str| match table.column(name) {
            Some(Column::Text(values)) => values.clone(),
            other => panic!("{name}: {other:?}"),
        };
        let float = |name: &str| match table.column(name) {
            Some(Column::Float(values)) => values.clone(),
            other => panic!("{name}: {other:?}"),
        };
        let change: Vec<String> = text("change")[..7].iter().flatten().cloned().collect();
        assert_eq!(change, ["same", "more-stalls", "same", "same", "disappears", "same"]);
        assert_eq!(text("change")[9].as_deref(), Some("appears"));
        assert_eq!(text("constant")[0].as_deref(), Some("definition"));
        assert_eq!(float("stall_start_min")[0], Some(199.0));
        assert_eq!(
            (float("stall_min_lowest")[3], float("stall_min_highest")[3]),
            (Some(0.0), Some(135.0))
        );
        assert_eq!(float("length_moves_min")[1..3], [Some(-20.0), Some(35.0)]);
        assert_eq!(float("stall_min")[14], None);

        let lines = lines(&cooks);
        assert_eq!(lines.len(), 4);
        assert!(lines[0].starts_with("stall_fraction 0.35 to 0.45: "), "{lines:?}");
        let all = &lines[3];
        assert!(all.starts_with("2 cooks judged (1 not)"), "{all}");
        assert!(all.contains("100 min at most (a)"), "{all}");
        assert!(all.ends_with("stalls appear in 1 and disappear in 1 cooks"), "{all}");
    }
}
