//! The design of a regression: named columns of numbers, one row an observation.

use crate::error::{StatsError, require_finite, require_length};
use crate::spline::CubicSpline;

/// Named columns of equal length; what a regression is fitted on.
///
/// ```
/// use stats::{Design, Value};
///
/// let weight = [5.1, 6.0, 4.4, 7.2];
/// let wood = ["oak", "hickory", "oak", "hickory"];
/// let design = Design::new(4)
///     .intercept()?
///     .numeric("weight", &weight)?
///     .factor("wood", &wood)?;
/// assert_eq!(design.terms(), ["(intercept)", "weight", "wood[oak]"]);
///
/// let row = design.encode(&[("wood", Value::Level("oak")), ("weight", Value::Number(6.5))])?;
/// assert_eq!(row, [1.0, 6.5, 1.0]);
/// # Ok::<(), stats::StatsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    rows: usize,
    terms: Vec<String>,
    columns: Vec<Vec<f64>>,
    variables: Vec<Variable>,
}

/// How the value of one variable becomes columns.
#[derive(Debug, Clone, PartialEq)]
enum Variable {
    Intercept,
    Numeric(String),
    /// Name and sorted levels; the first level is the base and has no column.
    Factor(String, Vec<String>),
    Spline(String, CubicSpline),
}

/// The value of one variable in a new row, for [`Design::encode`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value<'a> {
    /// Value of a numeric variable.
    Number(f64),
    /// Level of a factor.
    Level(&'a str),
}

/// Name of the column of ones.
pub const INTERCEPT: &str = "(intercept)";

impl Design {
    /// A design of `rows` observations and no terms yet.
    pub fn new(rows: usize) -> Self {
        Self { rows, terms: Vec::new(), columns: Vec::new(), variables: Vec::new() }
    }

    /// Adds a column of ones, the term [`INTERCEPT`].
    ///
    /// # Errors
    /// [`StatsError::DuplicateTerm`] if there is one already.
    pub fn intercept(mut self) -> Result<Self, StatsError> {
        self.push(INTERCEPT.to_owned(), vec![1.0; self.rows])?;
        self.variables.push(Variable::Intercept);
        Ok(self)
    }

    /// Adds a column of numbers, one a row.
    ///
    /// # Errors
    /// Wrong length, a value that is not finite, or a name that is taken.
    pub fn numeric(mut self, name: &str, values: &[f64]) -> Result<Self, StatsError> {
        require_length(name, self.rows, values.len())?;
        require_finite(name, values)?;
        self.push(name.to_owned(), values.to_vec())?;
        self.variables.push(Variable::Numeric(name.to_owned()));
        Ok(self)
    }

    /// Adds a factor by treatment contrasts: the first level in sorted order is the base, every
    /// other level has a column of zeros and ones named `name[level]`.
    ///
    /// Sorting is by code point, so it does not depend on the locale.
    ///
    /// # Errors
    /// Wrong length, fewer than two levels ([`StatsError::ConstantColumn`]), or a name that is
    /// taken.
    pub fn factor(mut self, name: &str, values: &[&str]) -> Result<Self, StatsError> {
        require_length(name, self.rows, values.len())?;
        let mut levels: Vec<String> = values.iter().map(|&level| level.to_owned()).collect();
        levels.sort_unstable();
        levels.dedup();
        if levels.len() < 2 {
            return Err(StatsError::ConstantColumn { term: name.to_owned() });
        }
        for level in &levels[1..] {
            let column = values.iter().map(|&value| f64::from(u8::from(value == level))).collect();
            self.push(format!("{name}[{level}]"), column)?;
        }
        self.variables.push(Variable::Factor(name.to_owned(), levels));
        Ok(self)
    }

    /// Adds a curve in a number: the columns of a spline, named `name[1]`, `name[2]` and so on. New
    /// rows give the number itself to [`encode`](Self::encode).
    ///
    /// # Errors
    /// As [`numeric`](Self::numeric).
    pub fn spline(
        mut self,
        name: &str,
        spline: &CubicSpline,
        values: &[f64],
    ) -> Result<Self, StatsError> {
        require_length(name, self.rows, values.len())?;
        require_finite(name, values)?;
        let rows =
            values.iter().map(|&x| spline.evaluate(x)).collect::<Result<Vec<_>, StatsError>>()?;
        for column in 0..spline.columns() {
            let values: Vec<f64> = rows.iter().map(|row| row[column]).collect();
            let term = format!("{name}[{}]", column + 1);
            require_finite(&term, &values)?;
            self.push(term, values)?;
        }
        self.variables.push(Variable::Spline(name.to_owned(), spline.clone()));
        Ok(self)
    }

    /// Checks that no column is constant (but the intercept) and none follows from those before it.
    ///
    /// # Errors
    /// [`StatsError::ConstantColumn`] or [`StatsError::CollinearColumn`], naming the term; no terms.
    pub fn require_independent(&self) -> Result<(), StatsError> {
        crate::orthogonal::Orthogonal::new(self).map(|_| ())
    }

    fn push(&mut self, term: String, column: Vec<f64>) -> Result<(), StatsError> {
        if self.terms.contains(&term) {
            return Err(StatsError::DuplicateTerm { term });
        }
        self.terms.push(term);
        self.columns.push(column);
        Ok(())
    }

    /// Number of observations.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Names of the columns, in order.
    pub fn terms(&self) -> &[String] {
        &self.terms
    }

    /// The columns, in the order of [`terms`](Self::terms).
    pub fn columns(&self) -> &[Vec<f64>] {
        &self.columns
    }

    /// Position of the column of ones, if there is one.
    pub fn intercept_position(&self) -> Option<usize> {
        self.terms.iter().position(|term| term == INTERCEPT)
    }

    /// One row of the design: a value for every term.
    ///
    /// # Errors
    /// [`StatsError::BadArgument`] if there is no such row.
    pub fn row(&self, row: usize) -> Result<Vec<f64>, StatsError> {
        if row >= self.rows {
            return Err(StatsError::BadArgument {
                name: "row",
                value: row as f64,
                expected: "a row of the design",
            });
        }
        Ok(self.columns.iter().map(|column| column[row]).collect())
    }

    /// Turns the values of the variables, in any order, into a row of columns for a prediction.
    ///
    /// # Errors
    /// A variable that is missing, given twice, unknown or of the other kind; a level that the
    /// design has not seen; a number that is not finite.
    pub fn encode(&self, values: &[(&str, Value<'_>)]) -> Result<Vec<f64>, StatsError> {
        let known = || self.variables.iter().filter_map(Variable::name);
        for (position, &(name, _)) in values.iter().enumerate() {
            if !known().any(|other| other == name) {
                return Err(StatsError::UnknownName {
                    name: format!("variable {name}"),
                    known: known().map(str::to_owned).collect(),
                });
            }
            if values[..position].iter().any(|&(other, _)| other == name) {
                return Err(StatsError::DuplicateTerm { term: name.to_owned() });
            }
        }
        let given = |name: &str| {
            values.iter().find_map(|&(other, value)| (other == name).then_some(value)).ok_or_else(
                || StatsError::UnknownName {
                    name: format!("value for {name}"),
                    known: values.iter().map(|&(other, _)| other.to_owned()).collect(),
                },
            )
        };
        let mut row = Vec::with_capacity(self.columns.len());
        for variable in &self.variables {
            match variable {
                Variable::Intercept => row.push(1.0),
                Variable::Numeric(name) => row.push(number(name, given(name)?)?),
                Variable::Spline(name, spline) => {
                    row.extend(spline.evaluate(number(name, given(name)?)?)?);
                }
                Variable::Factor(name, levels) => {
                    let level = match given(name)? {
                        Value::Level(level) => level.to_owned(),
                        Value::Number(value) => value.to_string(),
                    };
                    if !levels.contains(&level) {
                        return Err(StatsError::UnknownName {
                            name: format!("level {level} of {name}"),
                            known: levels.clone(),
                        });
                    }
                    row.extend(
                        levels[1..].iter().map(|other| f64::from(u8::from(*other == level))),
                    );
                }
            }
        }
        Ok(row)
    }
}

fn number(name: &str, value: Value<'_>) -> Result<f64, StatsError> {
    match value {
        Value::Number(value) => {
            require_finite(name, &[value])?;
            Ok(value)
        }
        Value::Level(level) => Err(StatsError::UnknownName {
            name: format!("level {level} of {name}"),
            known: vec![format!("{name} is numeric")],
        }),
    }
}

impl Variable {
    fn name(&self) -> Option<&str> {
        match self {
            Self::Intercept => None,
            Self::Numeric(name) | Self::Factor(name, _) | Self::Spline(name, _) => Some(name),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factor_base_is_the_first_level_in_sorted_order() {
        let design = Design::new(4).factor("wrap", &["paper", "foil", "none", "foil"]).unwrap();
        assert_eq!(design.terms(), ["wrap[none]", "wrap[paper]"]);
        assert_eq!(design.columns()[0], [0.0, 0.0, 1.0, 0.0]);
        assert_eq!(design.row(0).unwrap(), [0.0, 1.0]);
        assert!(design.row(4).is_err());
    }

    #[test]
    fn bad_columns_are_named() {
        assert_eq!(
            Design::new(2).numeric("mass", &[1.0, f64::NAN]).unwrap_err().to_string(),
            "mass has the value NaN at row 1: drop the row or fill the gap first"
        );
        assert_eq!(
            Design::new(3).numeric("mass", &[1.0]).unwrap_err(),
            StatsError::LengthMismatch { what: "mass".into(), expected: 3, found: 1 }
        );
        assert_eq!(
            Design::new(2).factor("pit", &["a", "a"]).unwrap_err(),
            StatsError::ConstantColumn { term: "pit".into() }
        );
        let twice = Design::new(1).intercept().unwrap().intercept();
        assert!(matches!(twice, Err(StatsError::DuplicateTerm { .. })));
    }

    #[test]
    fn encoding_refuses_what_it_does_not_know() {
        let design = Design::new(2)
            .intercept()
            .unwrap()
            .numeric("mass", &[1.0, 2.0])
            .unwrap()
            .factor("wood", &["ash", "elm"])
            .unwrap();
        let mass = ("mass", Value::Number(3.0));
        let wood = ("wood", Value::Level("elm"));
        assert_eq!(design.encode(&[mass, wood]).unwrap(), [1.0, 3.0, 1.0]);
        for bad in [
            vec![mass],
            vec![mass, wood, mass],
            vec![mass, wood, ("pit", Value::Number(0.0))],
            vec![mass, ("wood", Value::Level("fir"))],
            vec![("mass", Value::Level("heavy")), wood],
            vec![("mass", Value::Number(f64::INFINITY)), wood],
        ] {
            assert!(design.encode(&bad).is_err(), "{bad:?}");
        }
    }
}
