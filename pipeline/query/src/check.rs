//! What a question reads, and whether it does nothing but read.

use crate::error::{QueryError, nearest};
use crate::question::plain_column;
use sqlparser::ast::{
    Distinct, Expr, Function, GroupByExpr, JoinConstraint, JoinOperator, ObjectName, Query, Select,
    SelectItem, TableAlias, TableFactor, TableWithJoins, Visit, Visitor, visit_expressions,
};
use std::collections::BTreeSet;
use std::ops::ControlFlow;

/// What a question reads.
#[derive(Debug, Default)]
pub(crate) struct Check<'a> {
    known: &'a [&'a str],
    /// Names that WITH gives.
    parts: BTreeSet<String>,
    depth: usize,
    pub(crate) tables: BTreeSet<String>,
    pub(crate) names: BTreeSet<String>,
    pub(crate) all_columns: bool,
    /// Names in double quotes: columns, or texts that were meant to be ones.
    pub(crate) quoted: BTreeSet<String>,
}

impl<'a> Check<'a> {
    /// Looks through a question.
    pub(crate) fn of(query: &Query, known: &'a [&'a str]) -> Result<Self, QueryError> {
        let mut check = Self { known, ..Self::default() };
        match query.visit(&mut check) {
            ControlFlow::Break(error) => Err(error),
            ControlFlow::Continue(()) => Ok(check),
        }
    }

    fn is_table(&self, name: &str) -> bool {
        self.known.contains(&name)
    }

    /// The engine takes a table for a part of the question that bears its name.
    fn part(&mut self, name: &str) -> ControlFlow<QueryError> {
        if self.is_table(name) {
            return refuse(format!(
                "`{name}` is the name of a table; give the part of the question another one"
            ));
        }
        self.parts.insert(name.to_owned());
        ControlFlow::Continue(())
    }

    /// Columns that tables are joined by without being expressions.
    fn joined_by(&mut self, tables: &TableWithJoins) {
        for join in &tables.joins {
            match constraint(&join.join_operator) {
                Some(JoinConstraint::Using(columns)) => {
                    self.names.extend(columns.iter().filter_map(plain).map(str::to_owned));
                }
                Some(JoinConstraint::Natural) => self.all_columns = true,
                _ => {}
            }
        }
    }

    fn alias(&mut self, alias: Option<&TableAlias>, of: Option<&str>) -> ControlFlow<QueryError> {
        match alias {
            Some(alias) if of != Some(&alias.name.value) => self.part(&alias.name.value),
            _ => ControlFlow::Continue(()),
        }
    }
}

fn refuse(message: String) -> ControlFlow<QueryError> {
    ControlFlow::Break(QueryError::Refused(message))
}

/// The name of a table that has no other name in front.
fn plain(name: &ObjectName) -> Option<&str> {
    match name.0.as_slice() {
        [part] => part.as_ident().map(|ident| ident.value.as_str()),
        _ => None,
    }
}

fn constraint(join: &JoinOperator) -> Option<&JoinConstraint> {
    match join {
        JoinOperator::Join(by)
        | JoinOperator::Inner(by)
        | JoinOperator::Left(by)
        | JoinOperator::LeftOuter(by)
        | JoinOperator::Right(by)
        | JoinOperator::RightOuter(by)
        | JoinOperator::FullOuter(by)
        | JoinOperator::CrossJoin(by)
        | JoinOperator::Semi(by)
        | JoinOperator::LeftSemi(by)
        | JoinOperator::RightSemi(by)
        | JoinOperator::Anti(by)
        | JoinOperator::LeftAnti(by)
        | JoinOperator::RightAnti(by) => Some(by),
        _ => None,
    }
}

/// Aggregates, which make one value of many rows.
const AGGREGATES: [&str; 20] = [
    "avg",
    "corr",
    "count",
    "covar",
    "covar_pop",
    "covar_samp",
    "first",
    "last",
    "max",
    "median",
    "min",
    "quantile_cont",
    "quantile_disc",
    "stddev",
    "stddev_samp",
    "string_agg",
    "sum",
    "var",
    "variance",
    "var_samp",
];

/// Whether an expression makes one value of all rows.
fn is_aggregate(expr: &Expr) -> bool {
    let found = visit_expressions(expr, |part| match part {
        Expr::Function(Function { name, over: None, .. })
            if AGGREGATES.contains(&name.to_string().to_lowercase().as_str()) =>
        {
            ControlFlow::Break(())
        }
        _ => ControlFlow::Continue(()),
    });
    found.is_break()
}

/// A column of a table that is selected beside an aggregate without a group: the engine would
/// set the aggregate beside every row.
fn ungrouped(select: &Select) -> Option<&str> {
    let exprs = || {
        select.projection.iter().filter_map(|item| match item {
            SelectItem::UnnamedExpr(expr) | SelectItem::ExprWithAlias { expr, .. } => Some(expr),
            _ => None,
        })
    };
    let is_grouped = match &select.group_by {
        GroupByExpr::All(_) => true,
        GroupByExpr::Expressions(by, _) => !by.is_empty(),
    };
    if is_grouped || !exprs().any(is_aggregate) {
        return None;
    }
    let is_star = select.projection.iter().any(is_star);
    exprs().find_map(plain_column).or_else(|| is_star.then_some("*"))
}

fn is_star(item: &SelectItem) -> bool {
    matches!(item, SelectItem::Wildcard(_) | SelectItem::QualifiedWildcard(..))
}

impl Visitor for Check<'_> {
    type Break = QueryError;

    fn pre_visit_query(&mut self, query: &Query) -> ControlFlow<QueryError> {
        let is_bounded = query.limit_clause.is_some() || query.fetch.is_some();
        if self.depth > 0 && is_bounded && query.order_by.is_none() {
            return refuse(
                "LIMIT in a part of the question takes any rows; add ORDER BY there".into(),
            );
        }
        self.depth += 1;
        for part in query.with.iter().flat_map(|with| &with.cte_tables) {
            self.part(&part.alias.name.value)?;
        }
        ControlFlow::Continue(())
    }

    fn post_visit_query(&mut self, _: &Query) -> ControlFlow<QueryError> {
        self.depth -= 1;
        ControlFlow::Continue(())
    }

    fn pre_visit_select(&mut self, select: &Select) -> ControlFlow<QueryError> {
        if select.into.is_some() {
            return refuse(
                "SELECT … INTO writes a table; tables are read and never changed".into(),
            );
        }
        if let Some(Distinct::On(_)) = select.distinct {
            return refuse(
                "DISTINCT ON is not known here; number the rows in a part of the question, by ROW_NUMBER() OVER (…) AS n, and keep those WHERE n = 1".into(),
            );
        }
        if let Some(column) = ungrouped(select) {
            return refuse(format!(
                "`{column}` stands beside a value of all rows; add GROUP BY {column}, or write the value with OVER () to have it in every row"
            ));
        }
        self.all_columns |= select.projection.iter().any(is_star);
        select.from.iter().for_each(|tables| self.joined_by(tables));
        ControlFlow::Continue(())
    }

    fn pre_visit_table_factor(&mut self, factor: &TableFactor) -> ControlFlow<QueryError> {
        match factor {
            TableFactor::Table { name, args: None, alias, .. } => {
                let Some(table) = plain(name) else {
                    return refuse(format!("`{name}`: a table is named by one word"));
                };
                self.alias(alias.as_ref(), Some(table))?;
                if self.is_table(table) {
                    self.tables.insert(table.to_owned());
                } else if !self.parts.contains(table) {
                    return ControlFlow::Break(QueryError::Unknown {
                        what: "table",
                        name: table.to_owned(),
                        nearest: nearest(table, self.known.iter().copied()),
                    });
                }
                ControlFlow::Continue(())
            }
            TableFactor::Derived { alias, .. } => self.alias(alias.as_ref(), None),
            TableFactor::NestedJoin { alias, table_with_joins } => {
                self.joined_by(table_with_joins);
                self.alias(alias.as_ref(), None)
            }
            other => {
                let text = other.to_string();
                let name = text.split('(').next().unwrap_or_default();
                refuse(format!(
                    "`{name}(…)` is not read from: a question reads the tables of --store or --data, no files and no functions"
                ))
            }
        }
    }

    fn pre_visit_expr(&mut self, expr: &Expr) -> ControlFlow<QueryError> {
        match expr {
            Expr::Identifier(name) => {
                self.names.insert(name.value.clone());
                // The engine takes such a name for all columns that it matches.
                self.all_columns |= name.value.starts_with('^');
                if name.quote_style.is_some() {
                    self.quoted.insert(name.value.clone());
                }
            }
            Expr::CompoundIdentifier(parts) => {
                self.names.extend(parts.last().map(|name| name.value.clone()));
            }
            Expr::Function(function)
                if function.name.to_string().eq_ignore_ascii_case("columns") =>
            {
                self.all_columns = true;
            }
            _ => {}
        }
        ControlFlow::Continue(())
    }
}
