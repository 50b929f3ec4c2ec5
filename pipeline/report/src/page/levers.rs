//! The levers beside the wrap: what they buy and what they cost.

use cook::Units;

use crate::document::{
    Block, Cell, Table, bold, inlines, list, note, numbers, paragraph, sources, text,
};
use crate::names::{name_of, quantity_of};
use crate::units::{Quantity, count, number, signed};
use crate::words::{self, hazard_ratio, lever_dose, lever_name, lever_sentence, plural};
use study::result::Ratio;
use study::result::lever::{Lever, Quartiles};

/// Whether any lever was used, or says what using it does.
pub(super) fn are_told(data: &[Lever]) -> bool {
    data.iter().any(|lever| lever.used.doses > 0.0 || lever.per_dose_min.is_some())
}

/// The section.
pub(super) fn levers(data: &[Lever], units: Units) -> Vec<Block> {
    let mut blocks = vec![paragraph(
        "Each of these is done because of how the cook goes: the core stands, the clock runs. A cook that takes long has \
         time for more of it. So cooks with it are not set against cooks without; at every ten minutes, cooks in \
         which it was done are set against cooks alike up to then in which it was not. An effect is told as far as the \
         logs show what the team went by: habits that no log shows, whose hands, how wet a spray, a lid opened and not \
         written down, may still stand behind it. On simulated seasons of 100 cooks what a spray costs came out too low by 4 to 9 min a \
         spray, what a raised set-point buys too high by a third, a minute of open lid right.",
    )];
    blocks.extend(in_a_sentence_each(data));
    blocks.extend([used(data, units), buys(data, units)]);
    blocks.extend(strategies(data));
    blocks.extend(costs(data, units));
    for lever in data {
        blocks.extend(
            lever.notes.iter().map(|said| note(format!("{}: {said}.", lever_name(lever.lever)))),
        );
    }
    let first = data.first().filter(|lever| !lever.left_out.is_empty());
    blocks.extend(first.map(|first| note(format!("Left out: {}.", left_out(first)))));
    blocks.push(sources(
        "Sources: g-estimation of a structural nested mean model, Robins (1994), Communications in Statistics – Theory and \
         Methods 23, 2379–2412, and Vansteelandt and Joffe (2014), Statistical Science 29, 707–731; Hernán and Robins (2020), \
         Causal Inference: What If, sections 14.5 and 21.4. Standard errors are clustered by fire.",
    ));
    blocks
}

/// What each lever does, in a sentence.
pub(super) fn in_a_sentence_each(data: &[Lever]) -> Option<Block> {
    list(data.iter().map(|lever| {
        inlines![bold(format!("{}.", lever_name(lever.lever))), " ", lever_sentence(lever)]
    }))
}

fn left_out(lever: &Lever) -> String {
    let reasons = lever.left_out.iter();
    let told = reasons.map(|left| format!("{} ({})", plural(left.cooks, "cook"), left.reason));
    words::listed(&told.collect::<Vec<_>>())
}

/// `median (lower to upper)`.
fn middle(values: Option<Quartiles>, show: &dyn Fn(f64) -> String) -> Cell {
    let told = values.map(|Quartiles { lower, median, upper, .. }| {
        format!("{} ({} to {})", show(median), show(lower), show(upper))
    });
    told.into()
}

fn used(data: &[Lever], units: Units) -> Block {
    let percent = |share: f64| number(100.0 * share, 0);
    let rows = data.iter().map(|lever| -> Vec<Cell> {
        let used = &lever.used;
        let in_stall = used.in_stall.zip(used.in_stall_at_all);
        let in_stall = in_stall.map(|(then, ever)| format!("{}; {}", percent(then), percent(ever)));
        vec![
            lever_name(lever.lever).into(),
            format!("{} of {}", count(used.cooks_with), count(lever.n)).into(),
            number(used.doses, 0).into(),
            middle(used.per_cook, &|v| number(v, 0)),
            middle(used.minute, &|v| number(v, 0)),
            middle(used.core_c, &|v| Quantity::Temperature.number(v, units)),
            in_stall.into(),
        ]
    });
    let columns = [
        text("What is done"),
        numbers("Cooks with it", ""),
        numbers("Times or minutes", ""),
        numbers("A cook", ""),
        numbers("On the study clock", "min"),
        numbers("At a core of", Quantity::Temperature.unit(units)),
        numbers("In stall; all time in stall", "%"),
    ];
    let remark = format!(
        "Medians, with the middle half in brackets, between a core of {} and the finish. The set-point counts as raised once it \
         stands more than {} above the first that is known.",
        Quantity::Temperature.show(55.0, units),
        Quantity::TemperatureDifference.show(8.0, units)
    );
    Table::new("How the levers are used: described", columns, rows.collect()).remark(remark).into()
}

fn buys(data: &[Lever], units: Units) -> Block {
    let rise = Quantity::TemperatureDifference;
    let ends =
        |lo: f64, hi: f64, show: &dyn Fn(f64) -> String| format!("{} to {}", show(lo), show(hi));
    let minutes = |value: f64| signed(value, 1);
    let degrees = |value: f64| signed(rise.difference(value, units), 2);
    let rows = data.iter().map(|lever| -> Vec<Cell> {
        let effect = lever.per_dose_min.as_ref();
        let half_hour = lever.half_hour_c.as_ref();
        let ratio = match hazard_ratio(lever) {
            Some(Ratio::Told(ratio_and_ends)) => {
                let [ratio, lo, hi] = ratio_and_ends.map(|value| number(value, 2));
                format!("{ratio} ({lo} to {hi})").into()
            }
            Some(Ratio::Weak(_)) => Cell::missing(Some(
                "the cooks are too few for a ratio, or part almost without exception",
            )),
            None => Cell::missing(None),
        };
        vec![
            words::capitalised(lever_dose(lever.lever)).into(),
            Cell::or_missing(effect.map(|e| minutes(e.estimate)), lever.per_dose_reason.as_deref()),
            effect.map(|e| ends(e.lo, e.hi, &minutes)).into(),
            effect.map(|e| format!("{} on {}", count(e.cooks), count(e.fires))).into(),
            lever.naive_min.map(minutes).into(),
            half_hour
                .map(|e| format!("{} ({})", degrees(e.estimate), ends(e.lo, e.hi, &degrees)))
                .into(),
            ratio,
        ]
    });
    let columns = [
        text("One dose"),
        numbers("Adds to the time to the finish", "min"),
        numbers("95 % interval", "min"),
        numbers("Cooks, fires", ""),
        numbers("Naive slope: wrong", "min"),
        numbers("Adds to the core’s rise over half an hour", rise.unit(units)),
        numbers("Hazard ratio of finishing: association", ""),
    ];
    let remark = "Negative minutes: the finish comes sooner. The naive slope sets cooks with many against cooks with few, and so \
                  takes long cooks for the work of what is done in them. The hazard ratio (time-varying Cox model, weight, \
                  heating coefficient and pit at the start of the clock as adjusters) does not know why it was done.";
    Table::new("What the levers buy", columns, rows.collect()).remark(remark).into()
}

fn strategies(data: &[Lever]) -> impl Iterator<Item = Block> {
    data.iter().filter_map(|lever| {
        let Some(found) = &lever.strategies else {
            let reason = words::capitalised(lever.strategies_reason.as_ref()?);
            return Some(paragraph(format!(
                "{}, as two strategies: refused. {reason}.",
                lever_name(lever.lever)
            )));
        };
        let naive = found.naive_min.map_or_else(String::new, |naive| {
            format!(" Naive: {}\u{a0}min, which is wrong.", signed(naive, 0))
        });
        let ([first, second], [first_effective, second_effective]) =
            (found.stayed, found.effective);
        Some(paragraph(format!(
            "{} against {}, as two strategies that begin at the \
             same core, every cook copied into both and weighted: {}\u{a0}min (95\u{a0}% interval {} to {}), followed for at most {}\u{a0}min; \
             {} and {} cooks stayed in them, {} and {} in effect.{naive}",
            words::capitalised(&found.strategies[0]),
            found.strategies[1],
            signed(found.difference_min, 0),
            signed(found.lo, 0),
            signed(found.hi, 0),
            number(found.horizon_min, 0),
            count(first),
            count(second),
            number(first_effective, 0),
            number(second_effective, 0),
        )))
    })
}

fn costs(data: &[Lever], units: Units) -> Vec<Block> {
    let median = |measure: &str, values: Option<Quartiles>| -> Cell {
        let shown = |own: Quartiles| quantity_of(measure).show(own.median, units);
        values.map(|own| format!("{} ({})", shown(own), count(own.n))).into()
    };
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for lever in data {
        for measure in &lever.described {
            rows.push(vec![
                lever_name(lever.lever).into(),
                name_of(&measure.measure).into(),
                median(&measure.measure, measure.with),
                median(&measure.measure, measure.without),
            ]);
        }
    }
    let columns = [
        text("What is done"),
        text("Measure"),
        numbers("Cooks with it", ""),
        numbers("Cooks without", ""),
    ];
    let remark = "Medians, with the number of cooks. Who sprays may cook on another pit, and a long stall invites all of them.";
    let table = Table::new("What goes with the levers: described, not caused", columns, rows);
    let falls = data.iter().filter_map(|lever| {
        let (depth, back) = (lever.pit_fall_c?.median, lever.pit_back_min?.median);
        Some(format!(
            "{}: the pit fell by {} at the median where the log shows the lid open, \
             and had made up half of that {}\u{a0}min after it began to fall.",
            lever_name(lever.lever),
            Quantity::TemperatureDifference.show(depth, units),
            number(back, 0)
        ))
    });
    let unknown = paragraph(
        "Not known from these logs: fuel that a raised set-point burns where no card states it, bark and taste, and what a \
         spray does that the core does not feel.",
    );
    let table = (!table.rows.is_empty()).then(|| table.remark(remark).into());
    table.into_iter().chain(list(falls)).chain([unknown]).collect()
}
