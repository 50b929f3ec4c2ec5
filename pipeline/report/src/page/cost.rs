//! What it costs: faster against worse, and when meat was felt to be tender.

use cook::Units;

use crate::document::{
    Block, Cell, Figure, FigureForm, Table, bold, emphasis, heading_at, inlines, list, numbers,
    paragraph, text,
};
use crate::figure::{tender as tender_figure, trade};
use crate::treatment::{Difference, Treatment};
use crate::units::{Quantity, count};
use crate::words::{
    ShownEffect, contrast_label, cost_difference, cost_finding, cost_standing, half_by, listed,
    plural, tender_difference, tender_label, tender_quantile, trade_sentence, with_ends,
};
use study::result::cost::{CostSide, Finding, Standing};
use study::result::tender::{TenderQuantile, TenderTemperature};

/// Fires that are named.
const MOST_NAMED: usize = 6;

/// Treatments with a figure of their own: those that were randomised or are wraps.
fn is_drawn(treatment: &Treatment<'_>) -> bool {
    treatment.standing() != Standing::Association && !treatment.contrasts.is_empty()
}

/// Whether anything was set against anything.
pub(super) fn is_told(cost: &CostSide) -> bool {
    Treatment::all(cost).iter().any(|treatment| !treatment.contrasts.is_empty())
        || (cost.tender.reason.is_none()
            && cost.tender.groups.iter().any(|group| group.by.is_none() && group.reason.is_none()))
}

pub(super) fn cost(cost: &CostSide, units: Units) -> Vec<Block> {
    let treatments = Treatment::all(cost);
    let nothing = treatments.iter().all(|treatment| treatment.contrasts.is_empty());
    let mut blocks = vec![if nothing {
        paragraph("Too few cooks with scores, weights or costs to weigh faster against worse.")
    } else {
        paragraph(inlines![
            "Sooner done is worth something only beside what it does to the plate. Each treatment is set against time, \
             scores, yield and cost in the same way. Only where lots were drawn is a difference said to be caused. ",
            emphasis("Perhaps"),
            " marks a difference whose own interval leaves zero out, but which does not stand once all questions of its \
             kind are allowed for; ",
            emphasis("cannot tell"),
            " says that the interval holds zero, and not that there is no difference."
        ])
    }];
    blocks.extend(treatments.iter().flat_map(|treatment| of_treatment(treatment, units)));
    blocks
}

/// The same in a sentence each, of what was drawn by lot or is a wrap; the numbers stand in the appendix.
pub(super) fn in_sentences(cost: &CostSide, units: Units) -> Vec<Block> {
    let treatments = Treatment::all(cost);
    let drawn = treatments.iter().filter(|own| is_drawn(own)).flat_map(|own| {
        let title = format!("By {}: {}", own.name(), cost_standing(own.standing()));
        let said = list(own.contrasts.iter().map(|contrast| trade_sentence(contrast, units)));
        std::iter::once(crate::document::heading(title)).chain(said)
    });
    drawn.chain(tender(&cost.tender, units)).collect()
}

fn of_treatment(treatment: &Treatment<'_>, units: Units) -> Vec<Block> {
    let standing = cost_standing(treatment.standing());
    let title = format!("Faster against worse by {}: {standing}", treatment.name());
    let mut blocks = vec![heading_at(format!("cost-{}", treatment.id()), title)];
    if treatment.contrasts.is_empty() {
        blocks.push(paragraph(format!("No answer: {}.", refusals(treatment))));
        return blocks;
    }
    let sentences = treatment.contrasts.iter().map(|contrast| trade_sentence(contrast, units));
    blocks.extend(list(sentences));
    if is_drawn(treatment) {
        let drawing = trade(&format!("fig-cost-{}", treatment.id()), treatment, units);
        blocks.push(Figure::block(
            FigureForm::Large,
            drawing,
            "What to see: whether what lies right of the line (better) outweighs what lies left of it (worse). Every outcome has \
             its own scale, on which its widest 95 % interval reaches the edge. Disc: better; square: worse; small: perhaps; ring: \
             the data cannot tell.",
        ));
    }
    blocks.push(differences(treatment, units));
    if treatment.refused().next().is_some() {
        blocks.push(paragraph(format!("Without an answer: {}.", refusals(treatment))));
    }
    if let Some(sentences) = list(what_would_change(treatment)) {
        blocks.extend([paragraph("What would change an answer:"), sentences]);
    }
    blocks
}

fn refusals(treatment: &Treatment<'_>) -> String {
    let refused = treatment.refused().map(|(name, reason)| format!("{name} ({reason})"));
    refused.collect::<Vec<_>>().join("; ")
}

fn differences(treatment: &Treatment<'_>, units: Units) -> Block {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for contrast in &treatment.contrasts {
        for difference in &contrast.differences {
            rows.push(row(&contrast_label(contrast, units), difference, units));
        }
    }
    let columns = [
        text("What"),
        text("Outcome"),
        numbers("Difference", ""),
        numbers("95 % interval", ""),
        numbers("Odds of a better score", "ratio"),
        numbers("Chance of a good score", "points of %"),
        numbers("p", ""),
        text("Answer"),
        numbers("With fires as random", ""),
        numbers("Cooks", ""),
        numbers("Fires", ""),
    ];
    let levels: Vec<String> = treatment
        .levels()
        .into_iter()
        .map(|(level, cooks)| format!("{} {level}", count(cooks)))
        .collect();
    let adjusted_for = treatment.adjusted_for();
    let adjusted = if adjusted_for.is_empty() {
        "Not adjusted.".to_owned()
    } else {
        format!("Adjusted for {}.", listed(&adjusted_for))
    };
    let remark = format!(
        "{adjusted} {}Intervals are clustered by fire. Scores: proportional-odds regression; the difference is that of the expected score, \
         averaged over the cooks. Yield: percentage points. Cost: in its logarithm, told in money. p: by itself, then allowing for the {} asked of this kind. \
         Random: the linear model with a random intercept of each fire, beside the answer.",
        if levels.is_empty() { String::new() } else { format!("Cooks: {}. ", listed(&levels)) },
        plural(treatment.asked, "question"),
    );
    let caption = format!(
        "Time, scores, yield and cost by {}: {}",
        treatment.name(),
        cost_standing(treatment.standing())
    );
    Table::new(caption, columns, rows).remark(remark).into()
}

fn row(label: &str, difference: &Difference<'_>, units: Units) -> Vec<Cell> {
    let shown = cost_difference(difference, units);
    let good = difference.effect.good_score.map(|good| {
        let change = [Some(good.estimate), good.lo, good.hi];
        let than = if difference.less_is_better() { "or less" } else { "or more" };
        format!("{}: {}", with_score(good.score, than), with_ends(change, 0))
    });
    let mixed = difference.mixed().map(|mixed| {
        let shown = ShownEffect::new(&mixed, units).without_step();
        format!("{} ({})", shown.headline(), shown.interval())
    });
    let answer = match (difference.is_time(), difference.effect.finding) {
        (true, Finding::Better) => "sooner",
        (true, Finding::Worse) => "later",
        (true, Finding::PerhapsBetter) => "perhaps sooner",
        (true, Finding::PerhapsWorse) => "perhaps later",
        (_, finding) => cost_finding(finding),
    };
    let odds = difference.effect.odds_ratio.map(|own| {
        let ratio = [Some(own.estimate), own.lo, own.hi];
        with_ends(ratio, ratio_decimals(ratio))
    });
    vec![
        label.into(),
        difference.outcome_name().into(),
        shown.headline().into(),
        shown.interval().into(),
        odds.into(),
        good.into(),
        [difference.effect.p, difference.effect.p_adjusted].map(p_value).join(", ").into(),
        answer.into(),
        mixed.into(),
        count(difference.answer.n).into(),
        count(difference.answer.fires).into(),
    ]
}

/// Decimals that show every end of a ratio that is not zero as more than zero.
fn ratio_decimals(ends: [Option<f64>; 3]) -> usize {
    let smallest = ends.into_iter().flatten().filter(|end| *end > 0.0).fold(1.0, f64::min);
    (1.0 - smallest.log10().floor()).clamp(2.0, 5.0) as usize
}

fn p_value(p: f64) -> String {
    if p < 0.001 { "< 0.001".to_owned() } else { crate::units::number(p, 3) }
}

fn with_score(score: f64, than: &str) -> String {
    format!("{}\u{a0}{than}", crate::units::number(score, 1))
}

/// What would change an answer: single fires, and odds that are not proportional.
fn what_would_change(treatment: &Treatment<'_>) -> Vec<String> {
    let mut sentences: Vec<String> = Vec::new();
    let mut told: Vec<&str> = Vec::new();
    for difference in treatment.contrasts.iter().flat_map(|contrast| &contrast.differences) {
        // Every contrast of an outcome is of one model, and tells the same.
        if told.contains(&difference.answer.outcome.as_str()) {
            continue;
        }
        told.push(&difference.answer.outcome);
        let changing = difference.changing();
        if !changing.is_empty() {
            let mut fires: Vec<String> =
                changing.iter().take(MOST_NAMED).map(|cooks| listed(cooks)).collect();
            if changing.len() > MOST_NAMED {
                fires.push("others that study.json names".to_owned());
            }
            sentences.push(format!(
                "{}: without {}, an interval would come to hold zero, or to leave it out: {}.",
                difference.outcome_name(),
                match changing.len() {
                    1 => "a single fire".to_owned(),
                    fires => format!("any one of {}", plural(fires, "fire")),
                },
                fires.join("; ")
            ));
        }
        if difference.odds_are_doubted() {
            sentences.push(format!(
                "{}: the odds may not be proportional (Brant’s test, which rejects too often with few cooks: p < 0.05), so one odds ratio may not do for low and high scores.",
                difference.outcome_name()
            ));
        }
    }
    sentences
}

fn tender(data: &TenderTemperature, units: Units) -> Vec<Block> {
    let mut blocks = vec![
        heading_at("cost-tender", "At what core temperature meat was felt to be tender"),
        paragraph(inlines![
            bold("Feel decides, not the number. "),
            "A probe test says tender or not, so each cook bounds its own temperature between two tests. One probe reads one place, and \
             the same cut can be tender in one and not in another. This describes what this team’s hands found; it says nothing on whether \
             food may be eaten, and is no target to pull at."
        ]),
    ];
    let all = data.groups.iter().find(|group| group.by.is_none());
    // Too few cooks in all leave nothing to draw.
    if let Some(reason) = data.reason.as_ref().or_else(|| all?.reason.as_ref()) {
        blocks.push(paragraph(format!("No estimate: {reason}.")));
        return blocks;
    }
    blocks.push(Figure::block(
        FigureForm::Plot,
        tender_figure("fig-tender", data, units),
        "What to see: how wide the spread is between the first and the last cooks felt tender. Line and band: Turnbull’s estimate, which \
         assumes no shape; where in a band the share rises, the tests cannot tell. Discs with lines: 10, 50 and 90 % of a normal \
         distribution, with 95 % intervals.",
    ));
    blocks.push(tender_table(data, units));
    let differences = data.differences.iter().map(|own| tender_difference(own, data, units));
    if let Some(differences) = list(differences) {
        let said = "Wraps and cuts beside each other in one model, described and not caused:";
        blocks.extend([paragraph(said), differences]);
    }
    blocks
}

fn tender_table(data: &TenderTemperature, units: Units) -> Block {
    let shown = |quantile: Option<&TenderQuantile>, reason: &Option<String>| {
        let text = quantile.map(|quantile| tender_quantile(quantile, units));
        Cell::or_missing(text, reason.as_deref())
    };
    let rows = data.groups.iter().map(|row| {
        let mut cells: Vec<Cell> = vec![
            tender_label(row).into(),
            format!("{} on {}", count(row.n), count(row.fires)).into(),
            count(row.tender_at_first).into(),
            count(row.never_tender).into(),
            shown(half_by(row), &row.reason),
        ];
        cells.extend((0..3).map(|place| shown(row.normal.get(place), &row.reason)));
        cells
    });
    let unit = Quantity::Temperature.unit(units);
    let columns = [
        text("Cooks"),
        numbers("Cooks on fires", ""),
        numbers("Tender at first test", ""),
        numbers("Never found tender", ""),
        numbers("Half by, no shape assumed", unit),
        numbers("10 % by", unit),
        numbers("Half by", unit),
        numbers("90 % by", unit),
    ];
    let left_out: Vec<String> = data
        .left_out
        .iter()
        .map(|left| format!("{} ({})", count(left.cooks), left.reason))
        .collect();
    let left_out = if left_out.is_empty() {
        String::new()
    } else {
        format!(" Cooks left out: {}.", left_out.join(", "))
    };
    let remark = format!(
        "95 % intervals; a temperature or an end that lies beyond the tests is open. The last three columns are of a normal distribution, \
         clustered by fire; no shape assumed: Turnbull (1976), Journal of the Royal Statistical Society B 38, 290–295, bootstrap over fires. \
         By wrap and by cut: described, not caused.{left_out}"
    );
    Table::new("Core temperatures by which meat was felt to be tender", columns, rows.collect())
        .remark(remark)
        .into()
}
