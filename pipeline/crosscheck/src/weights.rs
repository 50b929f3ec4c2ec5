//! Weights of a cook against each other, against its cut, and against the team's others.

use crate::curve::median;
use crate::finding::{AS_WRITTEN, Change, Finding, LEAVE_OUT};
use crate::say;
use crate::{Cell, Cook, Season};
use columns::card;
use cook::units::KILOGRAMS_PER_POUND;
use cook::{Answer, Kilograms, Question, QuestionCode, trade};
use std::collections::BTreeMap;

/// The weights in the order in which meat loses them.
const FIELDS: [&str; 4] = [
    card::RAW_WEIGHT_KG.column.name,
    card::TRIMMED_WEIGHT_KG.column.name,
    card::COOKED_WEIGHT_KG.column.name,
    card::SERVED_WEIGHT_KG.column.name,
];
/// Least and most that each is of one before it, as a share. Trimming takes a half at the very most;
/// cooking takes 30 to 55 % of a brisket and less of most else; scales differ by a few per cent, and
/// what was weighed may have been weighed with its juice. Common practice, no source.
const SHARES: [(usize, usize, f64, f64); 6] = [
    (0, 1, 0.45, 1.03),
    (0, 2, 0.20, 1.03),
    (0, 3, 0.08, 1.03),
    (1, 2, 0.35, 1.05),
    (1, 3, 0.12, 1.05),
    (2, 3, 0.25, 1.10),
];
/// Least and most that a cut weighs before it is cooked, kg, from half a small one to two large ones
/// under one name. Common practice, no source.
const CUTS: [(&str, f64, f64); 6] = [
    ("brisket", 2.0, 15.0),
    ("brisket flat", 0.8, 9.0),
    ("brisket point", 0.5, 8.0),
    ("pork butt", 1.2, 11.0),
    ("pork shoulder", 1.5, 14.0),
    ("turkey", 2.0, 18.0),
];
/// Least and most that a cut weighs before it is cooked, kg; without a cut that is known, any of them.
pub fn cut_weighs_kg(cut: Option<&str>) -> (f64, f64) {
    let known = cut.map(trade::meaning);
    let of = |name: &str| known.as_deref().is_none_or(|known| known == name);
    let named = CUTS.iter().filter(|(name, ..)| of(name)).map(|(_, least, most)| (*least, *most));
    let wider = |one: (f64, f64), other: (f64, f64)| (one.0.min(other.0), one.1.max(other.1));
    named.reduce(wider).unwrap_or((0.0, f64::INFINITY))
}

/// So many others of a cut tell what this team's weigh …
const OTHERS: usize = 4;
/// … and one that weighs so many times more or less is none of them.
const TIMES: f64 = 3.0;
/// A weight taken in the other unit lies this near to what the others say, as a share of it.
const LIKE_OTHERS: (f64, f64) = (0.5, 2.0);

/// A whole row in the other unit is looked for where so many others of the cut are stated: a pound is
/// nearer to a half kilogram than [`TIMES`] can tell.
const OTHERS_OF_A_ROW: usize = 3;
/// The row weighs so many times more or less than the others' middle, or lies this many of their
/// standard deviations from it, whichever is more …
const ROW_TIMES: f64 = 1.5;
const ROW_SPREADS: f64 = 3.5;
/// … and in the other unit it lies within so many of it. Common practice, no source.
const ROW_LIKE: f64 = 1.35;
const ROW_LIKE_SPREADS: f64 = 2.0;
/// The standard deviation of normal values by the median of their distances from the middle.
const SD_BY_MAD: f64 = 1.4826;

pub(crate) fn find(season: &Season<'_>) -> Vec<Finding> {
    let by_cut = first_weights(season);
    let usual = usual_of_cuts(&by_cut);
    let mut findings = Vec::new();
    let mut units: BTreeMap<(&str, &str), Vec<Misfit<'_>>> = BTreeMap::new();
    let mut rows: BTreeMap<(&str, bool), Vec<Row<'_>>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let weights = weights_of(cook);
        let cut = cook.card.cut.as_deref().map(trade::meaning);
        let cut_usual = cut.as_ref().filter(|cut| !cut.is_empty()).and_then(|cut| usual.get(cut));
        match suspect(&weights, cut.as_deref(), cut_usual) {
            Suspect::None => {
                // A team that writes no cut down cooks what it always cooks.
                let others = by_cut.get(cut.as_deref().unwrap_or_default());
                let row = others.and_then(|others| row_in_other_unit(season, at, others));
                if let Some(row) = row {
                    rows.entry((row.cells[0].1.sheet, is_pounds(row.cells[0].1)))
                        .or_default()
                        .push(row);
                }
            }
            Suspect::One(which, why) => {
                let Some(cell) = cook.cell(FIELDS[which]) else { continue };
                let Some(said) = weights[which] else { continue };
                let because =
                    format!("cook `{}`: {}", cook.card.cook, why.told(&weights, which, season));
                match mended((which, cell), said, &weights, cut.as_deref(), cut_usual) {
                    Some(other) => units
                        .entry((cell.sheet, cell.column))
                        .or_default()
                        .push(Misfit { cook: at, which, cell, other, with: None, because }),
                    None => {
                        findings.push(doubted((at, &cook.card.cook), &[(which, cell)], &because));
                    }
                }
            }
            Suspect::Pair(one, other, why) => {
                let cells: Vec<(usize, &Cell<'_>)> = [one, other]
                    .into_iter()
                    .filter_map(|which| Some((which, cook.cell(FIELDS[which])?)))
                    .collect();
                if cells.is_empty() {
                    continue;
                }
                let because =
                    format!("cook `{}`: {}", cook.card.cook, why.told(&weights, other, season));
                if let Some(row) = both_in_other_unit(at, cook, &weights, &because)
                    && fits(&row, cut.as_deref(), cut_usual)
                {
                    let sheet = (row.cells[0].1.sheet, is_pounds(row.cells[0].1));
                    rows.entry(sheet).or_default().push(row);
                    continue;
                }
                // Of two that cannot both be, the one that its other unit would mend.
                let by_unit = |&(which, cell): &(usize, &'_ Cell<'_>)| {
                    let said = weights[which]?;
                    mended((which, cell), said, &weights, cut.as_deref(), cut_usual)
                };
                let misfits: Vec<_> =
                    cells.iter().filter_map(|own| Some((*own, by_unit(own)?))).collect();
                if let ([((which, cell), mended)], true) = (&misfits[..], cells.len() == 2) {
                    let with = cells.iter().copied().find(|(place, _)| place != which);
                    let (which, other) = (*which, *mended);
                    units.entry((cell.sheet, cell.column)).or_default().push(Misfit {
                        cook: at,
                        which,
                        cell,
                        other,
                        with,
                        because,
                    });
                    continue;
                }
                findings.push(doubted((at, &cook.card.cook), &cells, &because));
            }
        }
    }
    findings.extend(units.into_values().map(|misfits| unit_of(&misfits)));
    findings.extend(rows.into_values().map(|rows| unit_of_rows(&rows)));
    findings
}

/// A row of which every weight may be in the other unit.
struct Row<'a> {
    cook: usize,
    cells: Vec<(usize, &'a Cell<'a>)>,
    /// By field: what it would be in the other unit, kg.
    others: Vec<(usize, f64)>,
    /// Those of them that alone in the other unit would make it a cook of this team as well.
    alone: Vec<(usize, f64)>,
    because: String,
}

/// A weight alone of its row in the other unit: the answers, by field, in kg and in lb.
const ALONE: [[&str; 2]; 4] = [
    ["raw-in-kg", "raw-in-lb"],
    ["trimmed-in-kg", "trimmed-in-lb"],
    ["cooked-in-kg", "cooked-in-lb"],
    ["served-in-kg", "served-in-lb"],
];

/// A row whose weights agree with each other, and which the others of its cut speak against: in the
/// other unit it is one of them.
fn row_in_other_unit<'a>(
    season: &'a Season<'_>,
    at: usize,
    of_cut: &[(usize, f64)],
) -> Option<Row<'a>> {
    let cook = &season.cooks[at];
    let weights = weights_of(cook);
    let cells: Vec<(usize, &Cell<'_>)> = (0..FIELDS.len())
        .filter(|which| weights[*which].is_some())
        .filter_map(|which| Some((which, cook.cell(FIELDS[which])?)))
        .collect();
    let pounds = is_pounds(cells.first()?.1);
    if cells.iter().any(|(_, cell)| cell.names_its_unit() || is_pounds(cell) != pounds) {
        return None;
    }
    let own = weights[1].or(weights[0])?;
    let others: Vec<f64> =
        of_cut.iter().filter(|(cook, _)| *cook != at).map(|(_, weight)| weight.ln()).collect();
    let middle = median(others.clone()).filter(|_| others.len() >= OTHERS_OF_A_ROW)?;
    let spread = SD_BY_MAD * median(others.iter().map(|other| (other - middle).abs()).collect())?;
    let in_other = |kilograms: f64| {
        if pounds { kilograms / KILOGRAMS_PER_POUND } else { kilograms * KILOGRAMS_PER_POUND }
    };
    let is_none_of_them = (own.ln() - middle).abs() > ROW_TIMES.ln().max(ROW_SPREADS * spread);
    let would_be_one =
        (in_other(own).ln() - middle).abs() <= ROW_LIKE.ln().max(ROW_LIKE_SPREADS * spread);
    if !(is_none_of_them && would_be_one) {
        return None;
    }
    let because = format!(
        "cook `{}`: {} before it is cooked, and the team's others of the cut weigh about {}",
        cook.card.cook,
        say::mass(own, season.units),
        say::mass(middle.exp(), season.units)
    );
    let others =
        cells.iter().filter_map(|(which, _)| Some((*which, in_other(weights[*which]?)))).collect();
    let cut = cook.card.cut.as_deref().map(trade::meaning);
    let alone = alone(&cells, &weights, cut.as_deref(), Some(&middle.exp()));
    Some(Row { cook: at, cells, others, alone, because })
}

/// A row with all its weights taken in the other unit, where no cell names its own.
fn both_in_other_unit<'a>(
    at: usize,
    cook: &'a Cook<'_>,
    weights: &[Option<f64>; 4],
    because: &str,
) -> Option<Row<'a>> {
    let cells: Vec<(usize, &Cell<'_>)> = (0..FIELDS.len())
        .filter(|which| weights[*which].is_some())
        .filter_map(|which| Some((which, cook.cell(FIELDS[which])?)))
        .collect();
    let pounds = is_pounds(cells.first()?.1);
    let others: Option<Vec<(usize, f64)>> = cells
        .iter()
        .map(|(which, cell)| {
            let other = other_unit(cell, weights[*which]?).filter(|_| is_pounds(cell) == pounds)?;
            Some((*which, other))
        })
        .collect();
    Some(Row { cook: at, cells, others: others?, alone: Vec::new(), because: because.to_owned() })
}

/// The weights of a row that alone in the other unit make it a cook, kg.
fn alone(
    cells: &[(usize, &Cell<'_>)],
    weights: &[Option<f64>; 4],
    cut: Option<&str>,
    usual: Option<&f64>,
) -> Vec<(usize, f64)> {
    let mended = |own: &(usize, &Cell<'_>)| {
        Some((own.0, mended(*own, weights[own.0]?, weights, cut, usual)?))
    };
    if cells.len() > 1 { cells.iter().filter_map(mended).collect() } else { Vec::new() }
}

/// Whether a row is that of a cook in the other unit.
fn fits(row: &Row<'_>, cut: Option<&str>, usual: Option<&f64>) -> bool {
    let mut mended = [None; 4];
    for (which, kilograms) in &row.others {
        mended[*which] = Some(*kilograms);
    }
    matches!(suspect(&mended, cut, usual), Suspect::None)
        && row.others.iter().all(|(which, weight)| is_like_others(*which, *weight, &mended, usual))
}

fn unit_of_rows(rows: &[Row<'_>]) -> Finding {
    let first = &rows[0].cells[0].1;
    let (headed, other) = if is_pounds(first) { ("lb", "kg") } else { ("kg", "lb") };
    let texts = |row: &Row<'_>| {
        let texts: Vec<&str> = row.cells.iter().map(|(_, cell)| cell.text).collect();
        texts.join(", ")
    };
    let whose = match rows.len() {
        1 => format!("{}:{}", first.sheet, first.line),
        more => format!("{}: {more} rows", first.sheet),
    };
    let all: Vec<String> = rows.iter().map(texts).collect();
    let shown: Vec<&str> = all.iter().map(String::as_str).collect();
    let mut answers = vec![
        Answer::new(other, format!("{} {other}", all[0])),
        Answer::new(headed, format!("{} {headed}, as they were read", all[0])),
    ];
    let mut by_answer = Vec::new();
    if let [row] = rows {
        for (which, kilograms) in &row.alone {
            let take = ALONE[*which][usize::from(other == "lb")];
            let text =
                row.cells.iter().find(|(field, _)| field == which).map(|(_, cell)| cell.text);
            let then = format!("{} {other}, the others {headed}", text.unwrap_or_default());
            answers.push(Answer::new(take, then));
            let change = Change::Weight(FIELDS[*which], Some(Kilograms(*kilograms)));
            by_answer.push((take, vec![(row.cook, change)]));
        }
    }
    answers.push(Answer::new(LEAVE_OUT, "the cook has no weights"));
    let mut question = Question::new(
        QuestionCode::WeightInDoubt,
        &[first.sheet, headed, "rows", &all.join(";")],
        format!(
            "{whose}: are the weights ({}) in {headed}, as they were read, or in {other}?",
            say::some_of(&shown)
        ),
        format!("{}. Until this is answered, the weights are not used", rows[0].because),
        answers,
    );
    for (_, cell) in rows.iter().flat_map(|row| &row.cells) {
        question = question.at(cell.place());
    }
    let (mut mended, mut none) = (Vec::new(), Vec::new());
    for row in rows {
        for (which, kilograms) in &row.others {
            let change = |weight| (row.cook, Change::Weight(FIELDS[*which], weight));
            mended.push(change(Some(Kilograms(*kilograms))));
            none.push(change(None));
        }
    }
    let mut answered = vec![(other, mended), (LEAVE_OUT, none.clone())];
    answered.extend(by_answer);
    Finding { question, answered, open: none }
}

struct Misfit<'a> {
    cook: usize,
    which: usize,
    cell: &'a Cell<'a>,
    other: f64,
    /// The weight that it cannot be with, which waits as well: where the unit is right, that one is wrong.
    with: Option<(usize, &'a Cell<'a>)>,
    because: String,
}

/// What a weight is in the other unit, kg, where the cook then has weights that a cook has.
fn mended(
    (which, cell): (usize, &Cell<'_>),
    said: f64,
    weights: &[Option<f64>; 4],
    cut: Option<&str>,
    usual: Option<&f64>,
) -> Option<f64> {
    other_unit(cell, said).filter(|other| {
        let mut mended = *weights;
        mended[which] = Some(*other);
        let fits = matches!(suspect(&mended, cut, usual), Suspect::None);
        fits && is_like_others(which, *other, weights, usual)
    })
}

fn weights_of(cook: &Cook<'_>) -> [Option<f64>; 4] {
    let card = cook.card;
    [card.raw_weight, card.trimmed_weight, card.cooked_weight, card.served_weight]
        .map(|weight| weight.map(|weight| weight.0))
}

/// Of each cook the first weight that it states of those before it is cooked, kg, by cut; without one, under
/// no word.
fn first_weights(season: &Season<'_>) -> BTreeMap<String, Vec<(usize, f64)>> {
    let mut by_cut: BTreeMap<String, Vec<(usize, f64)>> = BTreeMap::new();
    for (at, cook) in season.cooks.iter().enumerate() {
        let [raw, trimmed, ..] = weights_of(cook);
        if let Some(weight) = trimmed.or(raw) {
            let cut = cook.card.cut.as_deref().map(trade::meaning).unwrap_or_default();
            by_cut.entry(cut).or_default().push((at, weight));
        }
    }
    by_cut
}

/// Their median, by cut, where there are enough of them.
fn usual_of_cuts(by_cut: &BTreeMap<String, Vec<(usize, f64)>>) -> BTreeMap<String, f64> {
    let usual = |(cut, weights): (&String, &Vec<(usize, f64)>)| {
        let weights: Vec<f64> = weights.iter().map(|(_, weight)| *weight).collect();
        Some((cut.clone(), median(weights)?))
    };
    by_cut.iter().filter(|(_, weights)| weights.len() > OTHERS).filter_map(usual).collect()
}

enum Suspect {
    None,
    One(usize, Why),
    Pair(usize, usize, Why),
}

enum Why {
    /// It is so much of the one before: the place of that one.
    Share(usize),
    /// The cut weighs from … to …, kg.
    Cut(String, f64, f64),
    /// The team's others of the cut weigh so much, kg.
    Others(String, f64),
}

impl Why {
    fn told(&self, weights: &[Option<f64>; 4], which: usize, season: &Season<'_>) -> String {
        let told = |kilograms: f64| say::mass(kilograms, season.units);
        let named = |which: usize| {
            let name = FIELDS[which].trim_end_matches("_weight_kg");
            format!("{} {name}", weights[which].map_or_else(String::new, told))
        };
        match self {
            Self::Share(before) => format!("{} from {} cannot be", named(which), named(*before)),
            Self::Cut(cut, least, most) => format!(
                "{}, and a {cut} weighs between {} and {}",
                named(which),
                told(*least),
                told(*most)
            ),
            Self::Others(cut, usual) => {
                format!(
                    "{}, and the team's others of `{cut}` weigh about {}",
                    named(which),
                    told(*usual)
                )
            }
        }
    }
}

/// The weight that the others and the cut speak against; a pair where they do not tell which.
fn suspect(weights: &[Option<f64>; 4], cut: Option<&str>, usual: Option<&f64>) -> Suspect {
    let mut against = [0_u32; 4];
    let mut first_pair = None;
    for (before, after, least, most) in SHARES {
        let (Some(one), Some(other)) = (weights[before], weights[after]) else { continue };
        if !(least..=most).contains(&(other / one)) {
            against[before] += 1;
            against[after] += 1;
            first_pair = first_pair.or(Some((before, after)));
        }
    }
    let range = cut.and_then(|cut| CUTS.iter().find(|(name, ..)| *name == cut));
    // Before it is cooked it weighs what the cut weighs; after, it is held against those before.
    let off = |which: usize| {
        let weight = weights[which]?;
        if let Some((name, least, most)) = range
            && !(*least..=*most).contains(&weight)
        {
            return Some(Why::Cut((*name).to_owned(), *least, *most));
        }
        let (cut, usual) = cut.zip(usual)?;
        let is_like = (1.0 / TIMES..=TIMES).contains(&(weight / usual));
        (!is_like).then(|| Why::Others(cut.to_owned(), *usual))
    };
    match (off(0), off(1)) {
        (Some(why), Some(_)) => return Suspect::Pair(0, 1, why),
        (Some(why), None) => return Suspect::One(0, why),
        (None, Some(why)) => return Suspect::One(1, why),
        (None, None) => {}
    }
    let Some((before, after)) = first_pair else { return Suspect::None };
    let most = against.iter().copied().max().unwrap_or(0);
    let mut suspects = (0..4).filter(|which| against[*which] == most);
    match (suspects.next(), suspects.next()) {
        (Some(one), None) => {
            let with = SHARES.iter().find_map(|(before, after, least, most)| {
                let share = weights[*after]? / weights[*before]?;
                let pair = (*before == one || *after == one) && !(*least..=*most).contains(&share);
                pair.then_some(if *before == one { *after } else { *before })
            });
            Suspect::One(one, Why::Share(with.unwrap_or(before)))
        }
        _ => Suspect::Pair(before, after, Why::Share(before)),
    }
}

/// Whether a weight before cooking is like the team's others; one after it is told by its shares.
fn is_like_others(
    which: usize,
    weight: f64,
    weights: &[Option<f64>; 4],
    usual: Option<&f64>,
) -> bool {
    let known =
        weights.iter().enumerate().any(|(other, weight)| other != which && weight.is_some());
    match usual {
        Some(usual) if which < 2 => (LIKE_OTHERS.0..=LIKE_OTHERS.1).contains(&(weight / usual)),
        _ => known,
    }
}

/// What the number would be in the unit that the heading does not name; `None` where the cell names
/// its unit.
fn other_unit(cell: &Cell<'_>, kilograms: f64) -> Option<f64> {
    (!cell.names_its_unit()).then(|| {
        if is_pounds(cell) {
            kilograms / KILOGRAMS_PER_POUND
        } else {
            kilograms * KILOGRAMS_PER_POUND
        }
    })
}

/// Whether a cell was read in pounds where it names no unit.
fn is_pounds(cell: &Cell<'_>) -> bool {
    cell.read_as.ends_with("_lb")
}

fn unit_of(misfits: &[Misfit<'_>]) -> Finding {
    let first = misfits[0].cell;
    let (headed, other) = if is_pounds(first) { ("lb", "kg") } else { ("kg", "lb") };
    let mut texts: Vec<&str> = misfits.iter().map(|misfit| misfit.cell.text).collect();
    texts.sort_unstable();
    texts.dedup();
    let has_pair = misfits.iter().any(|misfit| misfit.with.is_some());
    let waits = if has_pair { "neither is" } else { "the value is" };
    let without = match misfits.iter().find_map(|misfit| misfit.with) {
        Some((_, with)) => {
            format!("; {} in `{}` is then wrong, and not used", with.text, with.column)
        }
        None => String::new(),
    };
    let mut question = Question::new(
        QuestionCode::WeightInDoubt,
        &[first.sheet, first.column, "unit"],
        format!(
            "{}, column `{}`: is {} in {headed}, as it was read, or in {other}?",
            first.sheet,
            first.column,
            say::some_of(&texts)
        ),
        format!("{}. Until this is answered, {waits} not used", misfits[0].because),
        vec![
            Answer::new(other, format!("{} {other}", texts[0])),
            Answer::new(headed, format!("{} {headed}, as it was read{}", texts[0], without)),
            Answer::new(LEAVE_OUT, "the cook has no such weight"),
        ],
    );
    for misfit in misfits {
        question = question.at(misfit.cell.place());
        if let Some((_, with)) = misfit.with {
            question = question.at(with.place());
        }
    }
    let all = |of: &dyn Fn(&Misfit<'_>) -> Option<Kilograms>| {
        let change = |misfit: &Misfit<'_>| Change::Weight(FIELDS[misfit.which], of(misfit));
        misfits.iter().map(|misfit| (misfit.cook, change(misfit))).collect::<Vec<_>>()
    };
    let with: Vec<(usize, Change)> = misfits
        .iter()
        .filter_map(|misfit| Some((misfit.cook, Change::Weight(FIELDS[misfit.with?.0], None))))
        .collect();
    let mended = all(&|misfit| Some(Kilograms(misfit.other)));
    let mut none = all(&|_| None);
    let answered = vec![(other, mended), (headed, with.clone()), (LEAVE_OUT, none.clone())];
    none.extend(with);
    Finding { question, answered, open: none }
}

fn doubted((at, cook): (usize, &str), cells: &[(usize, &Cell<'_>)], because: &str) -> Finding {
    let texts: Vec<String> =
        cells.iter().map(|(_, cell)| format!("{} in `{}`", cell.text, cell.column)).collect();
    let (asks, values) = if let [one] = &texts[..] {
        (format!("{}: is {one} right?", cells[0].1.place()), "the value is")
    } else {
        (format!("{}: are {} right?", cells[0].1.place(), texts.join(" and ")), "the values are")
    };
    let mut question = Question::new(
        QuestionCode::WeightInDoubt,
        &[cells[0].1.sheet, cook, &texts.join(";")],
        asks,
        format!("{because}. Until this is answered, {values} not used"),
        vec![
            Answer::new(
                LEAVE_OUT,
                format!("{values} not used; write the right one into the sheet"),
            ),
            Answer::new(AS_WRITTEN, format!("{values} used as written")),
        ],
    );
    for (_, cell) in cells {
        question = question.at(cell.place());
    }
    let none: Vec<(usize, Change)> =
        cells.iter().map(|(which, _)| (at, Change::Weight(FIELDS[*which], None))).collect();
    Finding { question, answered: vec![(LEAVE_OUT, none.clone())], open: none }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(weights: [f64; 4], cut: &str, usual: Option<f64>) -> String {
        let weights = weights.map(|weight| (weight > 0.0).then_some(weight));
        match suspect(&weights, Some(cut), usual.as_ref()) {
            Suspect::None => "none".into(),
            Suspect::One(which, _) => FIELDS[which].trim_end_matches("_weight_kg").into(),
            Suspect::Pair(one, other, _) => format!("{one} and {other}"),
        }
    }

    #[test]
    fn weights_that_a_cook_has_are_not_doubted() {
        for weights in [
            [8.1, 5.6, 3.6, 3.1],
            [0.0, 5.6, 3.6, 0.0],
            [8.1, 0.0, 0.0, 2.0],
            // Hardly trimmed; hardly cooked; burnt.
            [6.0, 6.1, 5.8, 0.0],
            [6.0, 5.8, 2.2, 0.0],
        ] {
            assert_eq!(kind(weights, "brisket", Some(5.5)), "none", "{weights:?}");
        }
        assert_eq!(kind([0.0, 1.4, 0.0, 0.0], "spare ribs", None), "none");
        assert_eq!(kind([0.0, 60.0, 0.0, 0.0], "whole hog", Some(50.0)), "none");
    }

    #[test]
    fn the_one_that_the_others_speak_against_is_named() {
        // 76.9 lb where the others say 13; cooked from it, and served.
        assert_eq!(kind([0.0, 34.9, 3.6, 3.1], "brisket", Some(5.9)), "trimmed");
        assert_eq!(kind([8.1, 5.6, 36.0, 3.1], "brisket", None), "cooked");
        assert_eq!(kind([8.1, 5.6, 3.6, 31.0], "brisket", None), "served");
        // Both of a point that slipped: neither is used.
        assert_eq!(kind([64.2, 54.4, 3.6, 0.0], "brisket", Some(5.9)), "0 and 1");
        // A decimal point that slipped, of a cut with no usual weight.
        assert_eq!(kind([0.0, 0.56, 0.0, 0.0], "goat leg", Some(5.6)), "trimmed");
        // Trimmed in kg in a column of lb.
        assert_eq!(kind([8.1, 2.54, 3.6, 3.1], "brisket", None), "trimmed");
        // Two, and nothing tells which.
        assert_eq!(kind([0.0, 3.6, 5.6, 0.0], "brisket", None), "1 and 2");
    }
}
