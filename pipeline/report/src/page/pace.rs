//! A comparison of wrapping strategies on the core's clock.

use cook::Units;
use study::Verdict;
use study::result::ClaimResult;
use study::result::g_formula::{
    GFormula, Held, NATURAL_FROM_C, NOTED_BARK_LEAN_MIN, UNNOTED_BARK_LEAN_MIN,
};

use crate::document::{Block, Cell, Figure, FigureForm, Table, note, numbers, paragraph, text};
use crate::figure::pace as pace_figure;
use crate::units::{Quantity, count, number, signed};

/// What is shown of it under the claim. `id` is unique in the page.
pub(super) fn pace(id: &str, claim: &ClaimResult, found: &GFormula, units: Units) -> Block {
    let mut blocks = match &found.reason {
        None => vec![paragraph(format!(
            "Your logs show, degree by degree, how fast each cook took heat before and after its wrap. We let every \
             cook run on, once by the one strategy and once by the other, at the pace your own cooks in that state \
             went on at, and took the difference. Where no cook of yours was ever in that state we give no number; \
             and if you wrap for something no log shows, such as the bark, the answer leans toward the wrap: by some {} \
             min for simulated teams that did, and by {} where they noted the bark.",
            number(UNNOTED_BARK_LEAN_MIN, 0),
            number(NOTED_BARK_LEAN_MIN, 0),
        ))],
        Some(reason) => vec![paragraph(format!(
            "Every cook would be run on from its own state, once by each strategy, at the pace of your own cooks. That \
             judges nothing here: {reason}. The weighted answer judges, where it can."
        ))],
    };
    blocks.extend(answer(found));
    blocks.extend(beside(found));
    blocks.extend(tipping(claim, found));
    if let Some(drawing) = pace_figure(&format!("{id}-pace"), &found.pace, units) {
        let caption = "How long the core takes for a degree: median over cooks, with quartiles. Cooks are slow \
                       where the line is high. Beside each other the lines show who went through that degree \
                       wrapped and who did not, not what a wrap does.";
        blocks.push(Figure::block(FigureForm::Plot, drawing, caption));
    }
    blocks.extend(natural(&found.natural_course, units));
    blocks.push(note(
        "It is one cook's wrap with the fire and the other cooks on it as they were: a lid opened for the wrap, and \
         a set-point raised later, are in the pit under both strategies. Beyond a log the pit is taken as in its last \
         two hours. Cooks wrapped in one material count as wrapped alike.",
    ));
    let summary = "The cooks run on at the pace of their degrees";
    Block::Details { summary: summary.into(), open: found.reason.is_none(), blocks }
}

fn answer(found: &GFormula) -> Option<Block> {
    let difference = found.difference?;
    let rests = found.rests_on.as_ref();
    let thin = rests.map_or_else(String::new, |rests| {
        format!(
            " {} % of the minutes run on lie in states in which fewer than three cooks of other fires were.",
            number(100.0 * rests.unsupported_share, 0)
        )
    });
    Some(paragraph(format!(
        "First strategy minus second: {} min, counted up to {} min. Its standard error is {} min: {} min come from \
         resamples of {} fires, and {} min are what such models were off by on simulated seasons, more where few cooks go \
         unwrapped ({} here). {} of {} cooks did as the first strategy says, {} as the second; the others were run on.{thin}",
        signed(difference.estimate, 0),
        number(found.horizon_min, 0),
        number(difference.std_error, 0),
        number(found.sampling_error_min, 0),
        count(found.fires),
        number(found.model_error_min, 0),
        found.fewest_unwrapped.map_or("–".into(), count),
        count(found.own_path[0]),
        count(found.n),
        count(found.own_path[1]),
    )))
}

fn beside(found: &GFormula) -> Option<Block> {
    let less = found.less_weighted?;
    let apart = less.estimate.abs() > 2.0 * less.std_error;
    Some(paragraph(format!(
        "It lies {} min from the weighted answer below, give or take {} min: {}.",
        signed(less.estimate, 0),
        number(2.0 * less.std_error, 0),
        if apart {
            "more than chance explains, so that one of the two leans"
        } else {
            "no more than chance explains"
        }
    )))
}

fn tipping(claim: &ClaimResult, found: &GFormula) -> Option<Block> {
    let minutes = found.tipping_min?;
    let held = if claim.verdict == Verdict::Yes { "The answer holds" } else { "It would be yes" };
    Some(paragraph(format!(
        "{held} as long as it leans by less than {} min: so much would a habit that no log shows have to make up.",
        number(minutes.max(0.0), 0)
    )))
}

fn natural(rows: &[Held], units: Units) -> Option<Block> {
    if rows.is_empty() {
        return None;
    }
    let cells = rows.iter().map(|row| -> Vec<Cell> {
        vec![
            (&row.group).into(),
            count(row.cooks).into(),
            number(row.observed_mean_min, 0).into(),
            number(row.simulated_mean_min, 0).into(),
            number(row.observed_sd_min, 0).into(),
            number(row.simulated_sd_min, 0).into(),
        ]
    });
    let columns = [
        text("Cooks"),
        numbers("Seen", ""),
        numbers("Mean seen", "min"),
        numbers("Mean run", "min"),
        numbers("Spread seen", "min"),
        numbers("Spread run", "min"),
    ];
    let from = Quantity::Temperature.show(NATURAL_FROM_C, units);
    let caption = format!(
        "The natural course: cooks of fires left out, run from {from} as this team does, beside what they did"
    );
    Some(
        Table::new(caption, columns, cells.collect())
            .remark(
                "This tells how well the pace is foretold under the team's own habit. It says nothing of how right the \
                 answer is to what would have come of another.",
            )
            .into(),
    )
}
