//! What a question reads, and whether it does nothing but read.

use crate::error::{QueryError, nearest};
use sqlparser::ast::{
    Distinct, Expr, ObjectName, Query, Select, SelectItem, TableAlias, TableFactor, Visit, Visitor,
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
        let is_star = |item: &SelectItem| {
            matches!(item, SelectItem::Wildcard(_) | SelectItem::QualifiedWildcard(..))
        };
        self.all_columns |= select.projection.iter().any(is_star);
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
            TableFactor::Derived { alias, .. } | TableFactor::NestedJoin { alias, .. } => {
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
                if name.quote_style.is_some() {
                    self.quoted.insert(name.value.clone());
                }
            }
            Expr::CompoundIdentifier(parts) => {
                self.names.extend(parts.last().map(|name| name.value.clone()));
            }
            _ => {}
        }
        ControlFlow::Continue(())
    }
}
