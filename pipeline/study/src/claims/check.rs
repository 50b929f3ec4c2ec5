//! Looks for what is wrong with claims.

use super::{Claim, ClaimKind, ClaimProblem, Claims, Strategy};
use columns::measures;
use cook::WrapMethod;
use cook::season::LONGEST_HORIZON_MIN;
use std::collections::HashSet;

/// More than any column holds, in whatever unit; nobody means as much.
const MOST_OF_A_COLUMN: f64 = 1e9;
/// More cooks than any team makes.
const MOST_COOKS: f64 = 100_000.0;
/// A grace of more than a day is a slip of the pen, min.
const LONGEST_GRACE_MIN: f64 = 1_440.0;

/// All problems that show without the table.
pub(crate) fn problems(claims: &Claims) -> Vec<ClaimProblem> {
    let mut found = Vec::new();
    let mut seen = HashSet::new();
    for (position, claim) in claims.claims.iter().enumerate() {
        if claim.id.trim().is_empty() {
            found.push(ClaimProblem::NoId { position: position + 1 });
        } else if !seen.insert(claim.id.as_str()) {
            found.push(ClaimProblem::DuplicateId { id: claim.id.clone() });
        }
        keys(claim, &mut found);
        numbers(claim, &mut found);
        columns_once(claim, &mut found);
        if claim.kind == ClaimKind::Compare {
            levels(claim, &mut found);
        }
        if claim.kind == ClaimKind::WrapTiming {
            strategies(claim, &mut found);
        }
    }
    found
}

fn keys(claim: &Claim, found: &mut Vec<ClaimProblem>) {
    use ClaimKind::{Compare, Trend, WrapTiming};
    let kind = claim.kind.as_str();
    let log = claim.scale == super::Scale::Log;
    // (key, is it written, kinds that need it, kinds that may have it, what it says)
    let rules: [(_, bool, &[ClaimKind], &[ClaimKind], _); 7] = [
        ("by", claim.by.is_some(), &[Compare, Trend], &[Compare, Trend], "a column"),
        ("per", claim.per.is_some(), &[Trend], &[Trend], "a step of `by` worth talking about"),
        ("levels", !claim.levels.is_empty(), &[Compare], &[Compare], "the two levels of `by`"),
        (
            "strategies",
            !claim.strategies.is_empty(),
            &[WrapTiming],
            &[WrapTiming],
            "the two strategies, first against second",
        ),
        ("horizon_min", claim.horizon_min.is_some(), &[], &[Compare, Trend, WrapTiming], "minutes"),
        ("setpoint_unchanged", claim.setpoint_unchanged, &[], &[WrapTiming], "true"),
        ("scale = \"log\"", log, &[], &[Compare, Trend], "the scale of the outcome"),
    ];
    for (key, written, needing, allowing, what) in rules {
        let id = claim.id.clone();
        if !written && needing.contains(&claim.kind) {
            found.push(ClaimProblem::MissingKey { id, kind, key, what });
        } else if written && !allowing.contains(&claim.kind) {
            found.push(ClaimProblem::UnusedKey { id, kind, key });
        }
    }
}

fn numbers(claim: &Claim, found: &mut Vec<ClaimProblem>) {
    let values = [
        ("matters", Some(claim.matters), MOST_OF_A_COLUMN),
        ("per", claim.per, MOST_OF_A_COLUMN),
        ("horizon_min", claim.horizon_min, LONGEST_HORIZON_MIN),
        ("judge_after_cooks", Some(claim.judge_after_cooks as f64), MOST_COOKS),
    ];
    for (key, value, most) in values {
        let Some(value) = value else { continue };
        if !(value.is_finite() && value > 0.0) {
            found.push(ClaimProblem::NotAboveZero { id: claim.id.clone(), key, value });
        } else if value > most {
            found.push(ClaimProblem::TooLarge { id: claim.id.clone(), key, value, most });
        }
    }
    if claim.horizon_min.is_some() && claim.outcome != measures::CLOCK_TO_FINISH_MIN.name {
        found.push(ClaimProblem::BadValue {
            id: claim.id.clone(),
            key: "outcome",
            value: claim.outcome.clone(),
            message: "only the study clock, `clock_to_finish_min`, has a `horizon_min`".into(),
        });
    }
}

fn columns_once(claim: &Claim, found: &mut Vec<ClaimProblem>) {
    let mut parts: Vec<(&'static str, &str)> = vec![("outcome", &claim.outcome)];
    parts.extend(claim.by.as_deref().map(|by| ("by", by)));
    parts.extend(claim.adjust.iter().map(|column| ("adjust", column.as_str())));
    for (position, (part, column)) in parts.iter().enumerate() {
        if let Some((other, _)) = parts[..position].iter().find(|(_, earlier)| earlier == column) {
            found.push(ClaimProblem::ColumnTwice {
                id: claim.id.clone(),
                column: (*column).to_owned(),
                parts: format!("in `{other}` and in `{part}`"),
            });
        }
    }
    for (position, column) in claim.group.iter().enumerate() {
        if claim.group[..position].contains(column) {
            found.push(ClaimProblem::ColumnTwice {
                id: claim.id.clone(),
                column: column.clone(),
                parts: "in `group`".into(),
            });
        }
    }
}

fn levels(claim: &Claim, found: &mut Vec<ClaimProblem>) {
    let two = matches!(claim.levels.as_slice(), [first, second] if first != second);
    if !claim.levels.is_empty() && !two {
        found.push(ClaimProblem::Levels { id: claim.id.clone(), found: claim.levels.clone() });
    }
}

fn strategies(claim: &Claim, found: &mut Vec<ClaimProblem>) {
    let problem = |message: String| ClaimProblem::Strategies { id: claim.id.clone(), message };
    if claim.outcome != measures::CLOCK_TO_FINISH_MIN.name {
        found.push(ClaimProblem::BadValue {
            id: claim.id.clone(),
            key: "outcome",
            value: claim.outcome.clone(),
            message: "a wrap-timing claim is about `clock_to_finish_min`".into(),
        });
    }
    match claim.strategies.as_slice() {
        [first, second] if first == second => {
            found.push(problem("the two `strategies` are the same".into()));
        }
        [] | [_, _] => {}
        other => found.push(problem(format!(
            "`strategies` must be two, first against second, not {}",
            other.len()
        ))),
    }
    for (position, strategy) in claim.strategies.iter().enumerate() {
        if let Some(message) = strategy_problem(strategy) {
            found.push(problem(format!("strategy {}: {message}", position + 1)));
        }
    }
}

fn strategy_problem(strategy: &Strategy) -> Option<String> {
    let timed = strategy.method.is_some()
        || strategy.at_core_c.is_some()
        || strategy.at_core_f.is_some()
        || strategy.grace_min.is_some();
    let ways = [timed, strategy.any, strategy.never].into_iter().filter(|&way| way).count();
    if ways != 1 {
        return Some(
            "write one of `{ method, at_core_c or at_core_f, grace_min }`, `{ any = true }` \
             and `{ never = true }`"
                .into(),
        );
    }
    if !timed {
        return None;
    }
    match &strategy.method {
        None => return Some("`method` is missing: what is it wrapped in?".into()),
        Some(WrapMethod::None) => {
            return Some("`method = \"none\"` is no wrap: write `{ never = true }`".into());
        }
        Some(_) => {}
    }
    if strategy.at_core_c.is_some() == strategy.at_core_f.is_some() {
        return Some("write one of `at_core_c` and `at_core_f`".into());
    }
    match strategy.core_c() {
        // The study clock starts at a core of 55 °C and finishes at 88 °C; a wrap outside
        // 0 to 100 °C is a slip of the pen, usually the wrong unit.
        Some(core) if (0.0..=100.0).contains(&core) => {}
        _ => {
            return Some(
                "the core temperature must lie between 0 and 100 °C (32 and 212 °F): check the unit"
                    .into(),
            );
        }
    }
    match strategy.grace_min {
        Some(grace) if grace > 0.0 && grace <= LONGEST_GRACE_MIN => None,
        _ => Some(format!("`grace_min` must be minutes above 0, and at most {LONGEST_GRACE_MIN}")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{COMPARE, TIMING, TREND};
    use super::*;
    use crate::error::StudyError;
    use std::path::Path;

    fn parse(text: &str) -> Result<Claims, StudyError> {
        Claims::parse(text, Path::new("claims.toml"))
    }

    fn message(text: &str) -> String {
        parse(text).unwrap_err().to_string()
    }

    #[test]
    fn the_three_kinds_are_read() {
        let claims = parse(&format!("{COMPARE}{TREND}{TIMING}")).unwrap().claims;
        assert_eq!(claims.len(), 3);
        assert_eq!(claims[0].judge_after_cooks, 40);
        assert_eq!(claims[1].step(), 5.0);
        assert_eq!((claims[0].sign(), claims[1].sign()), (1.0, -1.0));
        assert_eq!(claims[2].judge_after_cooks, 60);
        // 160 °F is 71.1 °C: (160 − 32) / 1.8.
        assert!((claims[2].strategies[0].core_c().unwrap() - 128.0 / 1.8).abs() < 1e-12);
        assert_eq!(parse("").unwrap().claims, []);
    }

    #[test]
    fn an_unknown_key_is_named_with_its_place() {
        let message = message(&COMPARE.replace("matters", "maters"));
        assert!(message.starts_with("claims.toml:10:1: unknown field `maters`"), "{message}");
        assert!(message.ends_with("did you mean `matters`?"), "{message}");
        let message = self::message(&TIMING.replace("grace_min", "grace"));
        assert!(message.contains("did you mean `grace_min`?"), "{message}");
    }

    #[test]
    fn each_slip_has_its_own_message() {
        for (text, from, to, expected) in [
            (COMPARE, "0.5", "0", "`matters` must be a number above 0, not 0"),
            (COMPARE, "0.5", "-0.5", "`matters` must be a number above 0, not -0.5"),
            (COMPARE, "0.5", "nan", "`matters` must be a number above 0, not NaN"),
            (COMPARE, "by = \"wood\"", "", "kind `compare` needs `by` (a column)"),
            (COMPARE, "levels = [\"oak\", \"hickory\"]", "", "needs `levels`"),
            (COMPARE, ", \"hickory\"", "", "two different levels, first against second, not `oak`"),
            (COMPARE, "hickory\"]", "oak\"]", "two different levels"),
            (COMPARE, "matters", "per = 5\nmatters", "kind `compare` does not use `per`"),
            (COMPARE, "oak-or-hickory", " ", "claim number 1 has an empty `id`"),
            (COMPARE, "matters", "adjust = [\"wood\"]\nmatters", "`wood` is named twice: in `by`"),
            (TREND, "per = 5.0", "", "kind `trend` needs `per`"),
            (TREND, "per = 5.0", "per = 0.0", "`per` must be a number above 0, not 0"),
            (TREND, "matters = 10", "matters = 10\njudge_after_cooks = 0", "`judge_after_cooks`"),
            (TREND, "pit_early_c", "stall_delay_min", "in `outcome` and in `by`"),
            (TIMING, ", { never = true }", "", "`strategies` must be two"),
            (TIMING, "{ never = true }", "{ method = \"foil\" }", "write one of `at_core_c`"),
            (TIMING, "{ never = true }", "{ }", "strategy 2: write one of `{ method"),
            (TIMING, "{ never = true }", "{ any = true, never = true }", "strategy 2: write one"),
            (TIMING, "at_core_f", "at_core_c", "between 0 and 100 °C"),
            (TIMING, "grace_min = 20", "grace_min = 0", "`grace_min` must be minutes above 0"),
            (TIMING, "grace_min = 20", "grace_min = 1e12", "above 0, and at most 1440"),
            (
                TIMING,
                "matters",
                "horizon_min = 1e6\nmatters",
                "`horizon_min` is 1000000, more than 10080",
            ),
            (TREND, "per = 5.0", "per = 1e30", "`per` is 1e30, more"),
            (
                TREND,
                "matters = 10",
                "matters = 10\njudge_after_cooks = 1000000",
                "more than 100000",
            ),
            (TREND, "per = 5.0", "per = 5.0\nhorizon_min = 300", "only the study clock"),
            (TIMING, "clock_to_finish_min", "total_min", "is about `clock_to_finish_min`"),
            (TIMING, "matters", "scale = \"log\"\nmatters", "does not use `scale = \"log\"`"),
            (TIMING, "\"foil\"", "\"none\"", "write `{ never = true }`"),
        ] {
            assert!(text.contains(from), "{from}");
            let message = message(&text.replacen(from, to, 1));
            assert!(message.contains(expected), "{from} -> {to}: {message}");
        }
        let message = message(&format!("{COMPARE}{COMPARE}"));
        assert!(message.contains("two claims have the id `oak-or-hickory`"), "{message}");
    }

    #[test]
    fn all_problems_come_at_once() {
        let text = COMPARE.replace("0.5", "0").replace("by = \"wood\"", "per = 1");
        match parse(&text).unwrap_err() {
            StudyError::Claims { problems, .. } => assert_eq!(problems.len(), 3, "{problems:?}"),
            other => panic!("{other}"),
        }
    }
}
