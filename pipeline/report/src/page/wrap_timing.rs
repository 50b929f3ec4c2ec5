//! A comparison of wrapping strategies: answers beside each other, and what they rest on.

use study::result::wrap_timing::{WrapArm, WrapTiming};
use study::result::{Model, Ratio, Term};

use crate::document::{Block, Cell, Table, note, numbers, paragraph, text};
use crate::units::{count, number, signed};
use crate::words;

/// Answers in the order shown: model, term, and what they are in words.
const ANSWERS: [(&str, &str, &str); 6] = [
    ("g-formula", "difference", "Cooks run on from their own state"),
    ("kaplan-meier", "difference", "Naive: cooks as they turned out"),
    ("clone-censor-weight", "difference, copies not weighted", "Copies, not weighted"),
    ("clone-censor-weight", "difference", "Weighted: then the fire as this team does"),
    (
        "clone-censor-weight",
        "difference, tender pulls censored",
        "Weighted, tender pulls not counted as finishes",
    ),
    ("clone-censor-weight", "difference, set-point unchanged", "Weighted, set-point unchanged"),
];

/// Tables and words under the claim; folded where another answer judges.
pub(super) fn wrap_timing(found: &WrapTiming, models: &[Model], judges: bool) -> Block {
    let mut blocks = vec![
        paragraph(format!(
            "Cooks cannot be sorted by how they turned out: who is wrapped late has lasted until then, and is wrapped \
             because of how the stall was going. So each cook was copied into both strategies; a copy was taken out where its \
             cook did something else; and the copies left were weighted, so that they stand for those taken out. \
             Times run from a core of 55\u{a0}°C to 88\u{a0}°C, at most {} min.",
            number(found.horizon_min, 0)
        )),
        answers(models),
    ];
    blocks.extend(naive(found));
    blocks.extend(associations(models));
    blocks.extend([arms(&found.arms), at_risk(&found.arms), setpoint(found)]);
    let summary = if judges {
        "How the strategies were compared"
    } else {
        "The strategies compared by weights, beside it"
    };
    Block::Details { summary: summary.into(), open: judges, blocks }
}

fn minutes(value: f64) -> String {
    format!("{} min", signed(value, 0))
}

/// What the naive difference is made of.
fn naive(found: &WrapTiming) -> Option<Block> {
    let (immortal, confounding) = (found.immortal_time_min?, found.confounding_min?);
    Some(paragraph(format!(
        "The naive difference of {} is made of {} that come of sorting cooks by what happened to them later (immortal time), {} \
         of who is wrapped when, and {} that the strategies themselves make, as far as the log shows \
         what the team went by.",
        minutes(found.naive?.estimate),
        minutes(immortal),
        minutes(confounding),
        minutes(found.weighted.estimate)
    )))
}

/// How finishing goes with being wrapped, from the time-varying Cox model.
fn associations(models: &[Model]) -> impl Iterator<Item = Block> {
    let cox = models.iter().filter(|model| model.name.starts_with("cox"));
    cox.flat_map(|model| &model.terms).filter_map(|term| {
        let wrapped = match term.term.strip_prefix("wrapped")? {
            "" => "wrapped".to_owned(),
            method => format!("wrapped in {}", method.trim_matches(['[', ']'])),
        };
        Some(paragraph(match term.ratio()? {
            Ratio::Told(ratio) => {
                let [ratio, lo, hi] = ratio.map(|value| number(value, 2));
                format!(
                    "Association only: once {wrapped}, a cook finished {ratio} times as readily as one not wrapped at the same \
                     minute (95\u{a0}% interval {lo} to {hi}; time-varying Cox model)."
                )
            }
            Ratio::Weak(Some(way)) => format!(
                "Association only: once {wrapped}, a cook finished {} readily than one not wrapped at the same minute; how much \
                 {0} these cooks do not tell: they are few, or part almost without exception (time-varying Cox model).",
                if way.is_gt() { "more" } else { "less" }
            ),
            Ratio::Weak(None) => format!(
                "Association only: whether a cook finished more readily once {wrapped} these cooks do not tell (time-varying \
                 Cox model)."
            ),
        }))
    })
}

fn setpoint(found: &WrapTiming) -> Block {
    let unchanged = &found.setpoint_unchanged;
    let reason = unchanged.reason.as_ref().map_or_else(String::new, |reason| {
        format!(" With the set-point unchanged nothing is said: {reason}.")
    });
    note(format!(
        "{} of {} wraps came with a raised set-point.{reason} The weights rest on models of what the team decided: {}.",
        count(unchanged.wraps_with_bump),
        count(unchanged.wraps),
        found.decisions
    ))
}

fn answers(models: &[Model]) -> Block {
    let term = |model: &str, name: &str| -> Option<&Term> {
        let model = models.iter().find(|known| known.name == model)?;
        model.terms.iter().find(|known| known.term == name)
    };
    let end = |value: Option<f64>| value.map_or("–".into(), |v| signed(v, 0));
    let rows = ANSWERS.iter().filter_map(|(model, name, said)| -> Option<Vec<Cell>> {
        let term = term(model, name)?;
        let estimate = signed(term.estimate?, 0);
        let interval = format!("{} to {}", end(term.lo), end(term.hi));
        Some(vec![(*said).into(), estimate.into(), interval.into()])
    });
    let columns = [text("Answer"), numbers("Difference", "min"), numbers("95 % interval", "min")];
    Table::new("Mean time to the finish, first strategy minus second", columns, rows.collect())
        .remark("Negative: the first finishes sooner. Intervals from a bootstrap over fires.")
        .into()
}

fn arms(arms: &[WrapArm]) -> Block {
    let percent = |share: f64| format!("{} %", number(100.0 * share, 0));
    let rows = arms.iter().map(|arm| -> Vec<Cell> {
        let left: Vec<String> =
            arm.left.iter().map(|l| format!("{} {}", l.reason, count(l.cooks))).collect();
        let weights = &arm.weights;
        let weights =
            [weights.median, weights.percentile_95, weights.percentile_99, weights.largest];
        let ends = [arm.incidence.finish, arm.incidence.tender, arm.incidence.out_of_time];
        vec![
            (&arm.strategy).into(),
            format!("{} of {}", count(arm.stayed), count(arm.copies)).into(),
            number(arm.effective, 1).into(),
            count(arm.finishes).into(),
            percent(arm.probability).into(),
            weights.map(|weight| number(weight, 1)).join(", ").into(),
            number(arm.restricted_mean_min, 0).into(),
            ends.map(percent).join(", ").into(),
            if left.is_empty() { "none".into() } else { words::listed(&left).into() },
        ]
    });
    let columns = [
        text("Strategy"),
        numbers("Copies that stayed", ""),
        numbers("Effective", ""),
        numbers("Finishes", ""),
        numbers("Would follow it", ""),
        numbers("Weights", ""),
        numbers("Mean time", "min"),
        numbers("Finished, tender, out of time", ""),
        text("Taken out because"),
    ];
    let remark = "Weights: median, 95th and 99th percentile, and the largest, which was cut to the 99th. Effective: how many \
                  equally weighted cooks the copies that stayed are worth. Tender pulls before 88 °C count as finishes in the \
                  mean time; the last shares are of all copies, weighted, by the end of the clock.";
    Table::new("What each strategy rests on", columns, rows.collect()).remark(remark).into()
}

fn at_risk(arms: &[WrapArm]) -> Block {
    let at = arms.first().map_or(&[][..], |arm| &arm.at_risk);
    let minutes = at.iter().map(|at| numbers(format!("{} min", number(at.minute, 0)), ""));
    let columns: Vec<_> = std::iter::once(text("Strategy")).chain(minutes).collect();
    let rows = arms.iter().map(|arm| -> Vec<Cell> {
        let cells = arm
            .at_risk
            .iter()
            .map(|at| format!("{} ({})", count(at.copies), number(at.effective, 1)).into());
        std::iter::once((&arm.strategy).into()).chain(cells).collect()
    });
    let caption =
        "Copies under observation, and their effective number, by minute of the study clock";
    Table::new(caption, columns, rows.collect()).into()
}
