//! The cooks that a wrap-timing question can use, each with its course, its wrap and its end.

use crate::error::StudyError;
use crate::history::{Course, History};
use crate::rows::{Covariate, Rows};
use crate::table::MeasureTable;
use columns::measures;
use cook::WrapMethod;

/// How a cook ended on the study clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::analysis) enum End {
    /// The core reached the finish.
    Finish,
    /// Pulled before that because it was tender.
    Tender,
    /// Pulled before that because time was up.
    OutOfTime,
    /// The log or the fire ended, or nobody says why it was pulled: nothing is known of later.
    Lost,
}

impl End {
    /// The kind of end in the engine.
    pub(in crate::analysis) fn kind(self) -> Option<usize> {
        match self {
            Self::Finish => Some(FINISH),
            Self::Tender => Some(TENDER),
            Self::OutOfTime => Some(OUT_OF_TIME),
            Self::Lost => None,
        }
    }
}

pub(in crate::analysis) const FINISH: usize = 0;
pub(in crate::analysis) const TENDER: usize = 1;
pub(in crate::analysis) const OUT_OF_TIME: usize = 2;

/// One cook.
#[derive(Debug, Clone)]
pub(in crate::analysis) struct Cook<'a> {
    pub(in crate::analysis) fire: usize,
    pub(in crate::analysis) course: &'a Course,
    pub(in crate::analysis) weight_kg: f64,
    /// Hour of the day at which the meat went on, UTC. Only its sine and cosine are used, and
    /// what they span is the same in every zone.
    pub(in crate::analysis) start_hour: f64,
    /// Minute and method of the first wrap, if it came before the end.
    pub(in crate::analysis) wrap: Option<(f64, WrapMethod)>,
    /// The first minute at which the set-point was seen raised.
    pub(in crate::analysis) bump_min: Option<f64>,
    pub(in crate::analysis) end_min: f64,
    pub(in crate::analysis) end: End,
    /// Values of the adjusters, in the order of [`Cooks::adjusters`].
    pub(in crate::analysis) adjust: Vec<f64>,
}

/// The cooks in use.
#[derive(Debug)]
pub(in crate::analysis) struct Cooks<'a> {
    pub(in crate::analysis) all: Vec<Cook<'a>>,
    /// Names of the adjusters' columns; `column[level]` for a level of a text.
    pub(in crate::analysis) adjusters: Vec<String>,
    pub(in crate::analysis) rows: Rows,
    /// Cooks in use of which no set-point is stated.
    pub(in crate::analysis) without_setpoint: usize,
}

/// Raising the set-point by more than this is a bump, K.
pub(in crate::analysis) const BUMP_C: f64 = 8.0;

/// Whether and when each cook was first wrapped.
enum Wrapped {
    Unknown,
    Never,
    At(f64, WrapMethod),
}

fn wraps(table: &MeasureTable) -> Result<Vec<Wrapped>, StudyError> {
    let methods = table.texts_or_missing(measures::WRAP_METHOD.name)?;
    let times = table.numbers_or_missing(measures::CLOCK_TO_WRAP_MIN.name)?;
    let known = if table.has(measures::WRAP_TIME_KNOWN.name) {
        table.flags(measures::WRAP_TIME_KNOWN.name)?
    } else {
        vec![None; table.len()]
    };
    Ok((0..table.len())
        .map(|row| {
            let method = methods[row].as_deref().and_then(WrapMethod::parse);
            match (times[row], method) {
                // A wrap on the clock is a wrap, even where nobody wrote down in what.
                (Some(minute), None | Some(WrapMethod::None)) => {
                    Wrapped::At(minute, WrapMethod::Other("unstated".into()))
                }
                (Some(minute), Some(method)) => Wrapped::At(minute, method),
                (None, Some(WrapMethod::None)) => Wrapped::Never,
                // Its time is known and it was not while it cooked.
                (None, Some(_)) if known[row] == Some(true) => Wrapped::Never,
                (None, _) => Wrapped::Unknown,
            }
        })
        .collect())
}

/// Reads the cooks; whoever is left out is counted in `rows`.
pub(in crate::analysis) fn read<'a>(
    table: &MeasureTable,
    history: &'a History,
    adjust: &[String],
    mut rows: Rows,
) -> Result<Cooks<'a>, StudyError> {
    let minutes = table.numbers_or_missing(measures::CLOCK_TO_FINISH_MIN.name)?;
    let reached = if table.has(measures::FINISH_REACHED.name) {
        table.flags(measures::FINISH_REACHED.name)?
    } else {
        vec![None; table.len()]
    };
    let reasons = table.texts_or_missing(measures::END_REASON.name)?;
    let wraps = wraps(table)?;
    let trimmed = table.numbers_or_missing(measures::TRIMMED_WEIGHT_KG.name)?;
    let raw = table.numbers_or_missing(measures::RAW_WEIGHT_KG.name)?;
    let weights: Vec<Option<f64>> = trimmed.into_iter().zip(raw).map(|(t, r)| t.or(r)).collect();
    let meat_on = table.numbers_or_missing(measures::MEAT_ON_MS.name)?;
    let adjusters = adjust
        .iter()
        .map(|column| Covariate::read(table, column))
        .collect::<Result<Vec<_>, _>>()?;

    let course = |row: usize| history.course(&table.cooks()[row]);
    rows.keep_included(table)?;
    rows.keep("the log does not show the study clock", |row| {
        minutes[row].is_some_and(|m| m > 0.0) && reached[row].is_some() && course(row).is_some()
    });
    rows.keep("unknown whether or when it was wrapped", |row| {
        !matches!(wraps[row], Wrapped::Unknown)
    });
    rows.keep(
        "wrapped before the study clock starts",
        |row| !matches!(wraps[row], Wrapped::At(minute, _) if minute <= 0.0),
    );
    rows.keep("no stall was judged", |row| course(row).is_some_and(Course::is_judged));
    rows.keep("no pit temperature", |row| course(row).is_some_and(Course::has_pit));
    rows.keep("no weight", |row| weights[row].is_some());
    for adjuster in &adjusters {
        rows.keep(&format!("no `{}`", adjuster.name()), |row| adjuster.is_present(row));
    }

    let columns = adjuster_columns(&adjusters, &rows);
    let mut without_setpoint = 0;
    let mut cooks = Vec::with_capacity(rows.used.len());
    for &row in &rows.used {
        let (Some(course), Some(end_min), Some(weight_kg)) =
            (course(row), minutes[row], weights[row])
        else {
            continue;
        };
        without_setpoint += usize::from(!course.states_setpoint());
        let end = match (reached[row], reasons[row].as_deref()) {
            (Some(true), _) => End::Finish,
            (_, Some("tender")) => End::Tender,
            (_, Some("out-of-time")) => End::OutOfTime,
            _ => End::Lost,
        };
        cooks.push(Cook {
            fire: table.fires()[row],
            course,
            weight_kg,
            start_hour: meat_on[row].map_or(0.0, |ms| (ms / 3_600_000.0).rem_euclid(24.0)),
            wrap: match &wraps[row] {
                Wrapped::At(minute, method) if *minute <= end_min => {
                    Some((*minute, method.clone()))
                }
                _ => None,
            },
            bump_min: course.first_bump(BUMP_C).filter(|minute| *minute <= end_min),
            end_min,
            end,
            adjust: columns.iter().map(|(_, values)| values[row]).collect(),
        });
    }
    let adjusters = columns.into_iter().map(|(name, _)| name).collect();
    Ok(Cooks { all: cooks, adjusters, rows, without_setpoint })
}

/// The adjusters as numbers, one column each or one for every level of a text but the first.
fn adjuster_columns(adjusters: &[Covariate], rows: &Rows) -> Vec<(String, Vec<f64>)> {
    let mut columns = Vec::new();
    for adjuster in adjusters.iter().filter(|adjuster| !adjuster.is_constant(rows)) {
        match adjuster {
            Covariate::Numeric(name, values) => {
                let values = values.iter().map(|value| value.unwrap_or(f64::NAN)).collect();
                columns.push((name.clone(), values));
            }
            Covariate::Factor(name, values) => {
                let mut levels: Vec<&String> =
                    rows.used.iter().filter_map(|&row| values[row].as_ref()).collect();
                levels.sort();
                levels.dedup();
                for level in levels.into_iter().skip(1) {
                    let is = |value: &Option<String>| f64::from(value.as_ref() == Some(level));
                    columns.push((format!("{name}[{level}]"), values.iter().map(is).collect()));
                }
            }
        }
    }
    columns
}
