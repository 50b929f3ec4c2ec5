//! The one error type of the crate.

use thiserror::Error;

/// Why an estimate could not be made. Rows, columns and positions count from zero.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StatsError {
    /// There is nothing to estimate from.
    #[error("{what} is empty")]
    Empty {
        /// The input that is empty.
        what: String,
    },
    /// A value is NaN, infinite, or so large (beyond ±1e60) that sums of its squares could
    /// overflow.
    #[error("{what} has the value {value} at row {row}: drop the row or fill the gap first")]
    NonFinite {
        /// The column or input that holds the value.
        what: String,
        /// Row of the value.
        row: usize,
        /// The value itself.
        value: f64,
    },
    /// Two inputs that describe the same rows differ in length.
    #[error("{what} has {found} values where {expected} are needed")]
    LengthMismatch {
        /// The input of the wrong length.
        what: String,
        /// Values needed.
        expected: usize,
        /// Values given.
        found: usize,
    },
    /// Too few rows to estimate what was asked for.
    #[error("{found} rows are too few: {what} needs at least {needed}")]
    TooFewRows {
        /// The estimator or what it estimates.
        what: String,
        /// Rows needed.
        needed: usize,
        /// Rows given.
        found: usize,
    },
    /// A cluster-robust covariance needs at least two clusters.
    #[error("{found} cluster is too few: a cluster-robust covariance needs at least two")]
    TooFewClusters {
        /// Clusters given.
        found: usize,
    },
    /// A column never varies (or is all zero), so its coefficient cannot be told from the
    /// intercept.
    #[error("the column {term} is constant: leave it out")]
    ConstantColumn {
        /// The term.
        term: String,
    },
    /// A column is a linear combination of columns before it.
    #[error("the column {term} follows from {}: leave one of them out", with.join(", "))]
    CollinearColumn {
        /// The term that adds nothing.
        term: String,
        /// The terms that it follows from.
        with: Vec<String>,
    },
    /// Two terms of one design bear the same name.
    #[error("the term {term} is in the design twice")]
    DuplicateTerm {
        /// The name.
        term: String,
    },
    /// A variable or term that the design or fit does not have.
    #[error("there is no {name}: known are {}", known.join(", "))]
    UnknownName {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
    /// One row, or one cluster, alone determines a coefficient: nothing is left to see its error by.
    #[error(
        "rows {rows:?} alone determine a coefficient: without them it cannot be estimated, so its \
         error cannot; merge its factor level with another"
    )]
    FullLeverage {
        /// The row, or the rows of the cluster.
        rows: Vec<usize>,
    },
    /// All rows are censored, so the likelihood has no maximum.
    #[error("all {rows} rows are censored: nothing was observed to the end")]
    AllCensored {
        /// Rows given.
        rows: usize,
    },
    /// The likelihood has no finite maximum.
    #[error(
        "the likelihood has no finite maximum in {term}: too few uncensored rows bear on it; \
         leave the term out or merge factor levels"
    )]
    NoMaximum {
        /// The term that runs off.
        term: String,
    },
    /// The model meets every outcome exactly, so the variance of its errors is zero.
    #[error("the model fits the outcomes exactly: the variance of its errors cannot be estimated")]
    ExactFit,
    /// Times that must increase do not.
    #[error("{what} must increase: the value at position {row} is not after the one before it")]
    NotIncreasing {
        /// The input.
        what: String,
        /// Position of the first value that is not after the one before it.
        row: usize,
    },
    /// A random intercept needs at least two groups.
    #[error("{grouping} has {found} group: a random intercept needs at least two")]
    TooFewGroups {
        /// The grouping.
        grouping: String,
        /// Groups found.
        found: usize,
    },
    /// Every row is a group of its own, so differences between groups and between rows are one.
    #[error(
        "every row has a group of its own in {grouping}: the variance between groups cannot be \
         told from that between rows; leave the grouping out"
    )]
    GroupPerRow {
        /// The grouping.
        grouping: String,
    },
    /// Differences between groups follow from something else in the model.
    #[error(
        "the differences between groups of {grouping} follow from {from}: leave one of them out"
    )]
    GroupingFollows {
        /// The grouping.
        grouping: String,
        /// What they follow from.
        from: String,
    },
    /// Every row has the same outcome, so no finite log odds fit best.
    #[error("all {rows} rows have the same outcome: there is nothing to tell apart")]
    SameOutcome {
        /// Rows that count.
        rows: usize,
    },
    /// Some terms tell outcomes apart without error, so their coefficients grow without end.
    #[error(
        "{} tell {extent} rows' outcomes apart without error, so the coefficients grow without \
         end: leave a term out, merge factor levels, or (logistic regression) use Firth's penalty",
        terms.join(" and ")
    )]
    Separation {
        /// The terms that do.
        terms: Vec<String>,
        /// "all" (complete separation) or "some" (quasi-complete).
        extent: &'static str,
    },
    /// An iteration did not come to an end.
    #[error("{what} did not settle: the data may hardly bear on some term")]
    NoConvergence {
        /// The computation.
        what: String,
    },
    /// Coefficients cannot be tested together, because their covariance is singular.
    #[error(
        "{} cannot be tested together: their covariance is singular (fewer clusters than terms, or \
         an exact fit)",
        terms.join(", ")
    )]
    SingularCovariance {
        /// The terms.
        terms: Vec<String>,
    },
    /// A result is too large for a double, because inputs of extreme size meet.
    #[error("{what} overflows: rescale the columns to sizes nearer one")]
    Overflow {
        /// The result.
        what: String,
    },
    /// More combinations than can be gone through.
    #[error("{found} {what} are more than the {most} that can be gone through: {instead}")]
    TooMany {
        /// What there are too many of.
        what: String,
        /// Most that are accepted.
        most: f64,
        /// How many there are.
        found: f64,
        /// What to do instead.
        instead: &'static str,
    },
    /// A statistic that a caller computes came out as NaN, infinite or beyond ±1e60.
    #[error(
        "the statistic is {value} {}: make it a number of ordinary size on any rows",
        resample.map_or("on all rows, or all but one".to_owned(), |r| format!("in resample {r}"))
    )]
    UndefinedStatistic {
        /// The resample, from zero; none for the estimate itself and the jackknife.
        resample: Option<usize>,
        /// What came out.
        value: f64,
    },
    /// An argument outside its range.
    #[error("{name} is {value}: {expected}")]
    BadArgument {
        /// The argument.
        name: &'static str,
        /// Its value.
        value: f64,
        /// What it should be.
        expected: &'static str,
    },
    /// A row of start–stop data that does not end after it starts.
    #[error(
        "row {row} runs from {start} to {stop}: it must stop after it starts; drop it or mend the \
         times"
    )]
    EmptyInterval {
        /// The row.
        row: usize,
        /// Its start.
        start: f64,
        /// Its stop.
        stop: f64,
    },
    /// Bounds of a censored outcome that leave no room for it.
    #[error(
        "row {row} says that the outcome lies between {lower} and {upper}: the lower bound must \
         not exceed the upper, and one of them must be finite"
    )]
    CrossedBounds {
        /// The row.
        row: usize,
        /// Its lower bound.
        lower: f64,
        /// Its upper bound.
        upper: f64,
    },
    /// A time that must be positive because its logarithm is taken.
    #[error("{what} has the value {value} at row {row}: it must be positive")]
    NotPositive {
        /// The input.
        what: String,
        /// Row of the value.
        row: usize,
        /// The value itself.
        value: f64,
    },
    /// A coefficient of a proportional-hazards regression is infinite: the term (or a combination
    /// that it leads) puts the events in order without exception.
    #[error(
        "the coefficient of {term} is infinite, because the events separate along it: merge \
         factor levels or leave the term out"
    )]
    MonotoneLikelihood {
        /// The term that runs off furthest.
        term: String,
    },
    /// A time at which the curve is no longer known, because nobody is observed for so long.
    #[error("{time} is beyond the last observation at {last}: choose a time that is not later")]
    BeyondObservation {
        /// The time asked for.
        time: f64,
        /// The last time at which anything was observed.
        last: f64,
    },
}

/// Largest magnitude accepted: products of four such values are still doubles.
const LARGEST: f64 = 1e60;

/// Refuses an empty input and the first value that is NaN, infinite or beyond ±1e60.
pub(crate) fn require_finite(what: &str, values: &[f64]) -> Result<(), StatsError> {
    if values.is_empty() {
        return Err(StatsError::Empty { what: what.to_owned() });
    }
    match values.iter().position(|v| v.is_nan() || v.abs() > LARGEST) {
        None => Ok(()),
        Some(row) => Err(StatsError::NonFinite { what: what.to_owned(), row, value: values[row] }),
    }
}

/// Refuses an input whose length is not `expected`.
pub(crate) fn require_length(what: &str, expected: usize, found: usize) -> Result<(), StatsError> {
    if expected == found {
        Ok(())
    } else {
        Err(StatsError::LengthMismatch { what: what.to_owned(), expected, found })
    }
}

/// Refuses a level that does not lie strictly between 0 and 1.
pub(crate) fn require_level(level: f64) -> Result<(), StatsError> {
    if level > 0.0 && level < 1.0 {
        return Ok(());
    }
    Err(StatsError::BadArgument {
        name: "level",
        value: level,
        expected: "a level lies strictly between 0 and 1",
    })
}
