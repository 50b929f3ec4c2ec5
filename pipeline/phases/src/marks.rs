//! Meat-on, pull and slice: from the card, the events or the log, with the source.

use crate::definition::CookBounds;
use crate::error::PhasesError;
use crate::samples::Samples;
use cook::{Event, EventKind, Mark, MarkTimes};
use std::fmt;

mod in_log;
mod pull;
mod seen;
pub mod signs;
pub(crate) mod wrap_check;

pub(crate) use in_log::falls_to_raw;
pub use seen::{SeenMarks, seen_marks};

/// A card's pull at most this long after the last reading counts as the log's end: loggers
/// are switched off when the meat comes off, some minutes either way. Common practice, no
/// source. 10 min.
pub const SWITCHED_OFF_TOLERANCE_MS: i64 = 600_000;

/// Where a mark comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MarkSource {
    /// The season sheet.
    Card,
    /// The events sheet.
    Events,
    /// Found in the log's curves.
    Log,
    /// The log's first reading, for want of anything better.
    LogStart,
    /// The log's last reading, for want of anything better.
    LogEnd,
}

impl MarkSource {
    /// The source's word in files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Card => "card",
            Self::Events => "events",
            Self::Log => "log",
            Self::LogStart => "log-start",
            Self::LogEnd => "log-end",
        }
    }
}

/// A mark and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundMark {
    /// The instant, ms UTC.
    pub at_ms: i64,
    /// Where it comes from.
    pub source: MarkSource,
    /// Whether it is an assumption that nothing in card, events or curves speaks for.
    pub assumed: bool,
    /// What speaks for it, as a sentence for people.
    pub because: String,
}

/// Something odd about a mark; the cook is segmented all the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MarkProblem {
    /// The log begins after meat-on.
    LogBeginsLate {
        /// By how much, ms.
        by_ms: i64,
    },
    /// Nobody says when the meat went on, and the core is warm where the log begins: it had been on before.
    LogBeginsWarm {
        /// The core's first level, °C.
        core_c: f64,
    },
    /// The mark lies after the log's last reading.
    AfterLog {
        /// Which mark.
        mark: Mark,
        /// By how much, ms.
        by_ms: i64,
    },
    /// The log contradicts the mark; where the log shows the mark is used instead.
    Contradicted {
        /// The mark.
        mark: Mark,
        /// How much later the log shows it, ms; negative where earlier.
        by_ms: i64,
    },
    /// The mark lies before the one it should follow; it is not used.
    OutOfOrder {
        /// The mark that is not used.
        mark: Mark,
        /// The mark it should follow.
        follows: Mark,
        /// By how much it lies before that, ms.
        by_ms: i64,
    },
    /// A wrap at or after the pull; it is not used where the pull is stated.
    WrapAfterPull {
        /// By how much, ms.
        by_ms: i64,
        /// Whether a sheet states the pull; else the log shows it.
        pull_stated: bool,
    },
    /// The log shows nothing of a mark that it would show; the mark is used all the same.
    NoSign {
        /// Which mark.
        mark: Mark,
        /// How far to either side was looked, ms.
        within_ms: i64,
        /// How much later the log clearly shows one, ms; negative where earlier.
        clear_by_ms: Option<i64>,
    },
}

impl MarkProblem {
    /// A short stable word for files and listings.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::LogBeginsLate { .. } => "log-begins-late",
            Self::LogBeginsWarm { .. } => "log-begins-warm",
            Self::AfterLog { .. } => "mark-after-log",
            Self::Contradicted { .. } => "mark-contradicted",
            Self::OutOfOrder { .. } => "mark-out-of-order",
            Self::WrapAfterPull { .. } => "wrap-after-pull",
            Self::NoSign { .. } => "no-sign-of-mark",
        }
    }

    /// Which mark it is about.
    pub fn mark(&self) -> Mark {
        match *self {
            Self::LogBeginsLate { .. } | Self::LogBeginsWarm { .. } => Mark::MeatOn,
            Self::WrapAfterPull { .. } => Mark::Wrap,
            Self::AfterLog { mark, .. }
            | Self::Contradicted { mark, .. }
            | Self::OutOfOrder { mark, .. }
            | Self::NoSign { mark, .. } => mark,
        }
    }
}

impl fmt::Display for MarkProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minutes = |ms: i64| ms as f64 / 60_000.0;
        match *self {
            Self::LogBeginsLate { by_ms } => {
                write!(f, "The log begins {:.0} min after meat-on.", minutes(by_ms))
            }
            Self::LogBeginsWarm { core_c } => write!(
                f,
                "The core is at {core_c:.0} °C ({:.0} °F) where the log begins, and nobody says when the meat went on: what counts from meat-on is a lower bound. State `meat_on` in the sheet.",
                cook::Celsius(core_c).fahrenheit()
            ),
            Self::AfterLog { mark, by_ms } => write!(
                f,
                "`{}` lies {:.0} min after the log's last reading.",
                mark.as_str(),
                minutes(by_ms)
            ),
            Self::Contradicted { mark, by_ms } => write!(
                f,
                "The log shows `{}` {:.0} min {} than stated, and what is stated cannot be: the log's is used. Correct it in the sheet.",
                mark.as_str(),
                minutes(by_ms.abs()),
                if by_ms > 0 { "later" } else { "earlier" }
            ),
            Self::OutOfOrder { mark, follows, by_ms } => write!(
                f,
                "`{}` lies {:.0} min before `{}` and is not used: correct it in the sheet.",
                mark.as_str(),
                minutes(by_ms),
                follows.as_str()
            ),
            Self::WrapAfterPull { by_ms, pull_stated: true } => write!(
                f,
                "`wrap` lies {:.0} min after `pull` and is not used: correct it in the sheet, or say in `hold_kind` that it was wrapped to rest.",
                minutes(by_ms)
            ),
            Self::WrapAfterPull { by_ms, pull_stated: false } => write!(
                f,
                "`wrap` lies {:.0} min after the pull that the log shows: state the pull, or correct the wrap.",
                minutes(by_ms)
            ),
            Self::NoSign { mark, within_ms, clear_by_ms } => {
                let mark = mark.as_str();
                write!(
                    f,
                    "The log shows nothing of `{mark}` within {:.0} min of the stated time: neither an opened lid nor a dip of the core. It is used as stated.",
                    minutes(within_ms)
                )?;
                match clear_by_ms {
                    Some(by_ms) => write!(
                        f,
                        " {:.0} min {} the lid opens and the core dips: check the time.",
                        minutes(by_ms.abs()),
                        if by_ms > 0 { "later" } else { "earlier" }
                    ),
                    None => Ok(()),
                }
            }
        }
    }
}

/// The marks of one cook.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// Meat on.
    pub meat_on: FoundMark,
    /// Pull; where nothing tells it, the log's end.
    pub pull: FoundMark,
    /// Slice, where the sheets say it.
    pub slice: Option<FoundMark>,
    /// Every wrap that can be, ms UTC, in order.
    pub wraps_ms: Vec<i64>,
    /// What is odd about them.
    pub problems: Vec<MarkProblem>,
    /// The bounds to judge the cook in: the marks, cut at the log's last reading.
    pub bounds: CookBounds,
}

/// Finds the marks of one cook.
///
/// `card` holds the card's marks (where it has none, those of the events sheet may stand
/// there already); `events` are the cook's events; `core` and `pit` are usable readings of
/// the lead meat channel and the pit channel (empty if there is none).
///
/// A stated mark is used unless the log contradicts it beyond what a late hand explains: see
/// [`MarkProblem::Contradicted`].
///
/// Without a stated meat-on, the end of the core's sudden fall from air to meat is taken where
/// there is one, else the last opening of the lid over a core that is raw and has not begun to
/// rise, else the first reading, flagged as assumed; a core that is warm there had been on before. Without a stated pull, the lid is taken through
/// which the meat came off: that before the fall which ends the pit's curve, or before the core
/// cools under a hot pit; or the core's own sudden fall if that is earlier (a probe taken out).
/// Never the core's maximum, which carry-over puts about 16 min after the pull. With none of these,
/// the cook runs to the log's end and the pull is not known.
///
/// # Errors
/// [`PhasesError::TooFewReadings`] without any core reading; [`PhasesError::OutsideLog`]
/// where meat-on lies after the last reading or the pull before the first.
pub fn find_marks(
    card: &MarkTimes,
    events: &[Event],
    core: Samples,
    pit: Samples,
) -> Result<Marks, PhasesError> {
    let (Some(&core_start_ms), Some(&log_end_ms)) = (core.at_ms.first(), core.at_ms.last()) else {
        return Err(PhasesError::TooFewReadings { found: 0, needed: 1 });
    };
    let mut problems = Vec::new();

    let mut said_meat_on = stated(card.meat_on_ms, events, EventKind::MeatOn);
    if let Some(said) = &said_meat_on
        && let Some(seen) = in_log::contradicts_meat_on(core, pit, said.at_ms)
    {
        let by_ms = seen.at_ms - said.at_ms;
        problems.push(MarkProblem::Contradicted { mark: Mark::MeatOn, by_ms });
        said_meat_on = Some(seen);
    }
    let meat_on = said_meat_on.unwrap_or_else(|| {
        in_log::meat_on(core, pit).unwrap_or_else(|| FoundMark {
            at_ms: core_start_ms,
            source: MarkSource::LogStart,
            assumed: true,
            because: "No sheet says when the meat went on: the core's first reading is taken."
                .into(),
        })
    });
    let meat_on_ms = meat_on.at_ms;
    let warm = in_log::begins_warm(core).filter(|_| meat_on.assumed);
    problems.extend(warm.map(|core_c| MarkProblem::LogBeginsWarm { core_c }));

    let mut said_pull = stated(card.pull_ms, events, EventKind::Pull);
    if let Some(pull) = said_pull.as_ref().filter(|pull| pull.at_ms <= meat_on_ms) {
        problems.push(MarkProblem::OutOfOrder {
            mark: Mark::Pull,
            follows: Mark::MeatOn,
            by_ms: meat_on_ms - pull.at_ms,
        });
        said_pull = None;
    }
    let outside = |pull_ms| PhasesError::OutsideLog {
        meat_on_ms,
        pull_ms,
        log_start_ms: core_start_ms,
        log_end_ms,
    };
    if meat_on_ms >= log_end_ms {
        return Err(outside(said_pull.map_or(meat_on_ms, |pull| pull.at_ms)));
    }
    if let Some(pull) = said_pull.as_ref().filter(|pull| pull.at_ms <= core_start_ms) {
        return Err(outside(pull.at_ms));
    }
    if let Some(said) = &said_pull
        && let Some(seen) = pull::contradicts_pull(core, pit, meat_on_ms, said.at_ms)
    {
        let by_ms = seen.at_ms - said.at_ms;
        problems.push(MarkProblem::Contradicted { mark: Mark::Pull, by_ms });
        said_pull = Some(seen);
    }
    if core_start_ms - meat_on_ms > SWITCHED_OFF_TOLERANCE_MS {
        problems.push(MarkProblem::LogBeginsLate { by_ms: core_start_ms - meat_on_ms });
    }

    let pull = said_pull.or_else(|| pull::pull(core, pit, meat_on_ms));
    let pull_known =
        pull.as_ref().is_some_and(|pull| pull.at_ms <= log_end_ms + SWITCHED_OFF_TOLERANCE_MS);
    let pull = pull.unwrap_or_else(|| FoundMark {
        at_ms: log_end_ms,
        source: MarkSource::LogEnd,
        assumed: true,
        because: "Neither a sheet nor the pit's curve tells the pull: the cook is followed to the log's end."
            .into(),
    });
    if pull.at_ms > log_end_ms + SWITCHED_OFF_TOLERANCE_MS {
        problems.push(MarkProblem::AfterLog { mark: Mark::Pull, by_ms: pull.at_ms - log_end_ms });
    }

    let mut slice = stated(card.slice_ms, events, EventKind::Slice);
    if let Some(early) = slice.as_ref().filter(|slice| slice.at_ms < pull.at_ms) {
        problems.push(MarkProblem::OutOfOrder {
            mark: Mark::Slice,
            follows: Mark::Pull,
            by_ms: pull.at_ms - early.at_ms,
        });
        slice = None;
    }
    if let Some(late) = slice.as_ref().filter(|slice| slice.at_ms > log_end_ms) {
        problems.push(MarkProblem::AfterLog { mark: Mark::Slice, by_ms: late.at_ms - log_end_ms });
    }
    let bounds_pull_ms = if pull_known { pull.at_ms } else { log_end_ms };
    // The slice bounds the rest whether or not the logger still ran.
    let end_ms = match (&slice, pull_known) {
        (Some(slice), true) => slice.at_ms,
        (None, true) => in_log::rest_ends(core, pit, bounds_pull_ms).max(bounds_pull_ms),
        _ => log_end_ms.max(bounds_pull_ms),
    };
    let bounds = CookBounds {
        meat_on_known: warm.is_none(),
        meat_on_ms,
        pull_ms: bounds_pull_ms,
        end_ms,
        pull_known,
        slice_known: slice.is_some() && pull_known,
    };
    let stated = wraps(card, events);
    let wraps_ms = wrap_check::possible(stated, &meat_on, &pull, log_end_ms, &mut problems);
    Ok(Marks { meat_on, pull, slice, wraps_ms, problems, bounds })
}

/// A mark that the sheets state: the card's, else the first such event (for the pull and
/// the slice the last: an earlier one was taken back).
fn stated(card_ms: Option<i64>, events: &[Event], kind: EventKind) -> Option<FoundMark> {
    let mut of_kind = events.iter().filter(|event| event.kind == kind).map(|event| event.at_ms);
    let in_events = if kind == EventKind::MeatOn { of_kind.min() } else { of_kind.by_ref().max() };
    let (at_ms, source) = match (card_ms, in_events) {
        (Some(card), Some(event)) if card == event => (event, MarkSource::Events),
        (Some(card), _) => (card, MarkSource::Card),
        (None, Some(event)) => (event, MarkSource::Events),
        (None, None) => return None,
    };
    let because = match source {
        MarkSource::Card => "The season sheet says so.",
        _ => "The events sheet says so.",
    };
    Some(FoundMark { at_ms, source, assumed: false, because: because.into() })
}

/// Every wrap, in order, each once.
fn wraps(card: &MarkTimes, events: &[Event]) -> Vec<i64> {
    let mut wraps: Vec<i64> = events
        .iter()
        .filter(|event| event.kind == EventKind::Wrap)
        .map(|event| event.at_ms)
        .chain(card.wrap_ms)
        .collect();
    wraps.sort_unstable();
    wraps.dedup();
    wraps
}

#[cfg(test)]
mod tests;
