//! How a lever is used and what goes with it: described, not caused.

use super::steps::Step;
use crate::analysis::wrap_timing::cooks::{Cook, Cooks};
use crate::error::StudyError;
use crate::result::finite;
use crate::result::lever::{LeverKind, LeverUse, Quartiles, WithAndWithout};
use crate::table::MeasureTable;
use columns::{derived, history, measures};

/// The middle half of values; none where there is none.
fn quartiles(values: &[f64]) -> Option<Quartiles> {
    let found = stats::describe::quantiles(values, &[0.25, 0.5, 0.75]).ok()?;
    let [lower, median, upper] = found.as_slice() else { return None };
    Some(Quartiles { lower: *lower, median: *median, upper: *upper, n: values.len() })
}

/// Doses of each cook.
pub(super) fn doses(cooks: &[Cook<'_>], steps: &[Step]) -> Vec<f64> {
    let mut doses = vec![0.0; cooks.len()];
    for step in steps {
        doses[step.cook] += step.dose;
    }
    doses
}

/// How it is used.
pub(super) fn used(cooks: &[Cook<'_>], steps: &[Step]) -> LeverUse {
    let doses = doses(cooks, steps);
    let with: Vec<f64> = doses.iter().copied().filter(|dose| *dose > 0.0).collect();
    let given: Vec<&Step> = steps.iter().filter(|step| step.dose > 0.0).collect();
    let of =
        |value: &dyn Fn(&Step) -> f64| given.iter().map(|step| value(step)).collect::<Vec<_>>();
    let at = |step: &Step| cooks[step.cook].course.at(step.minute);
    let stalling = |steps: &mut dyn Iterator<Item = &Step>| {
        let (mut all, mut stalls) = (0.0, 0.0);
        for step in steps {
            all += 1.0;
            stalls += f64::from(at(step).in_stall);
        }
        finite(stalls / all)
    };
    LeverUse {
        cooks_with: with.len(),
        cooks_without: cooks.len() - with.len(),
        doses: with.iter().sum(),
        per_cook: quartiles(&with),
        minute: quartiles(&of(&|step| step.minute)),
        core_c: quartiles(&of(&|step| at(step).core_c)),
        in_stall: stalling(&mut given.iter().copied()),
        in_stall_at_all: stalling(&mut steps.iter()),
    }
}

/// Measures of the cooks with it beside those without.
pub(super) fn with_and_without(
    table: &MeasureTable,
    cooks: &Cooks<'_>,
    steps: &[Step],
) -> Result<Vec<WithAndWithout>, StudyError> {
    let doses = doses(&cooks.all, steps);
    let (fuel, hours) = (
        table.numbers_or_missing(measures::FUEL_KG.name)?,
        table.numbers_or_missing(measures::TOTAL_MIN.name)?,
    );
    let fuel_kg_per_h = fuel
        .into_iter()
        .zip(hours)
        .map(|(kg, minutes)| Some(kg? / (minutes.filter(|minutes| *minutes > 0.0)? / 60.0)))
        .collect();
    let mut noted: Vec<Option<f64>> = vec![None; table.len()];
    for step in steps {
        let minutes = cooks.all[step.cook].course.handled(step.minute).lid_noted_min;
        if let Some(minutes) = minutes.filter(|minutes| *minutes > 0.0) {
            *noted[cooks.rows.used[step.cook]].get_or_insert(0.0) += minutes;
        }
    }
    let columns: [(&str, Vec<Option<f64>>); 4] = [
        (measures::PIT_SD_C.name, table.numbers_or_missing(measures::PIT_SD_C.name)?),
        (measures::STALL_MIN.name, table.numbers_or_missing(measures::STALL_MIN.name)?),
        (derived::FUEL_KG_PER_H.name, fuel_kg_per_h),
        (history::LID_NOTED_MIN.name, noted),
    ];
    let of = |values: &[Option<f64>], with: bool| {
        let rows = cooks.rows.used.iter().zip(&doses).filter(|(_, dose)| (**dose > 0.0) == with);
        quartiles(&rows.filter_map(|(&row, _)| values[row]).collect::<Vec<f64>>())
    };
    Ok(columns
        .into_iter()
        .map(|(measure, values)| WithAndWithout {
            measure: measure.to_owned(),
            with: of(&values, true),
            without: of(&values, false),
        })
        .filter(|found| found.with.is_some())
        .collect())
}

/// How far the pit fell in steps with a dose and an opened lid in the readings, °C, and minutes until
/// half of it was made up. What a raised set-point does to the pit is no fall.
pub(super) fn falls(
    kind: LeverKind,
    cooks: &[Cook<'_>],
    steps: &[Step],
) -> (Option<Quartiles>, Option<Quartiles>) {
    if kind == LeverKind::SetpointRaised {
        return (None, None);
    }
    let given = steps.iter().filter(|step| step.dose > 0.0);
    let handled = given.map(|step| cooks[step.cook].course.handled(step.minute));
    let (fall, back): (Vec<f64>, Vec<f64>) =
        handled.filter_map(|handled| Some((handled.lid_fall_c?, handled.lid_back_min?))).unzip();
    (quartiles(&fall), quartiles(&back))
}
