//! The order of an answer's rows, taken out of the question: the engine leaves the order of
//! ties, and of questions without ORDER BY, to its threads.

use crate::error::QueryError;
use crate::question::plain_column;
use sqlparser::ast::{
    Expr, Fetch, Ident, LimitClause, OrderBy, OrderByExpr, OrderByKind, OrderByOptions, Query,
    SelectItem, SetExpr, Value, visit_expressions_mut,
};
use std::ops::ControlFlow;

/// What begins the name of a column that rows are ordered by and that is not shown.
const HIDDEN: &str = "\u{1}order ";

/// By which columns, and how.
#[derive(Debug, Clone, Default)]
pub(crate) struct Order {
    pub(crate) keys: Vec<Key>,
}

/// One column that rows are ordered by.
#[derive(Debug, Clone)]
pub(crate) struct Key {
    pub(crate) by: By,
    pub(crate) descending: bool,
    pub(crate) nulls_last: bool,
}

/// Which column.
#[derive(Debug, Clone)]
pub(crate) enum By {
    /// A column of the answer, by name.
    Name(String),
    /// A column of the answer, by place from 1.
    Place(usize),
    /// Every column of the answer.
    All,
}

/// Which of the ordered rows are shown.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Slice {
    pub(crate) offset: usize,
    pub(crate) limit: Option<usize>,
}

/// Whether a column serves the order alone.
pub(crate) fn is_hidden(column: &str) -> bool {
    column.starts_with(HIDDEN)
}

/// Takes order and bounds out of a question. What rows are ordered by and is not selected
/// becomes a hidden column.
pub(crate) fn take(query: &mut Query) -> Result<(Order, Slice), QueryError> {
    let slice = Slice::of(query.limit_clause.take(), query.fetch.take())?;
    let Some(OrderBy { kind, .. }) = query.order_by.take() else {
        return Ok((Order::default(), slice));
    };
    let keys = match kind {
        OrderByKind::All(options) => vec![Key::new(By::All, options)],
        OrderByKind::Expressions(exprs) => exprs
            .into_iter()
            .enumerate()
            .map(|(index, OrderByExpr { expr, options, .. })| {
                Ok(Key::new(by(query, index, expr)?, options))
            })
            .collect::<Result<_, QueryError>>()?,
    };
    Ok((Order { keys }, slice))
}

impl Key {
    fn new(by: By, options: OrderByOptions) -> Self {
        Self {
            by,
            descending: options.asc == Some(false),
            nulls_last: options.nulls_first != Some(true),
        }
    }
}

fn by(query: &mut Query, index: usize, expr: Expr) -> Result<By, QueryError> {
    if let Some(place) = number(&expr) {
        return Ok(By::Place(place));
    }
    if let Expr::Identifier(name) = &expr
        && (name.value.eq_ignore_ascii_case("all") && name.quote_style.is_none())
    {
        return Ok(By::All);
    }
    let select = match query.body.as_mut() {
        SetExpr::Select(select) if select.distinct.is_none() => select,
        // Rows of a union, and rows that stand for several, have no other columns.
        _ => {
            return plain_column(&expr).map(|name| By::Name(name.to_owned())).ok_or_else(|| {
                QueryError::Refused(format!(
                    "ORDER BY {expr}: beside DISTINCT, UNION and the like, rows are ordered by columns of the answer; name it with AS and order by that name"
                ))
            });
        }
    };
    let mut aliases = Vec::new();
    let mut is_all = false;
    for item in &select.projection {
        match item {
            SelectItem::ExprWithAlias { expr, alias } => {
                aliases.push((alias.value.clone(), expr.clone()));
            }
            SelectItem::UnnamedExpr(expr) => {
                let name = plain_column(expr).unwrap_or_default().to_owned();
                aliases.push((name, expr.clone()));
            }
            SelectItem::Wildcard(_) => is_all = true,
            _ => {}
        }
    }
    match &expr {
        Expr::Identifier(name) if is_all || aliases.iter().any(|(a, _)| *a == name.value) => {
            return Ok(By::Name(name.value.clone()));
        }
        _ => {}
    }
    if let Some((name, _)) = aliases.iter().find(|(_, aliased)| *aliased == expr) {
        return Ok(By::Name(name.clone()));
    }
    let mut expr = expr;
    let _ = visit_expressions_mut(&mut expr, |part| {
        if let Expr::Identifier(name) = part
            && let Some((_, aliased)) = aliases.iter().find(|(alias, _)| *alias == name.value)
            && aliased != part
        {
            *part = Expr::Nested(Box::new(aliased.clone()));
        }
        ControlFlow::<()>::Continue(())
    });
    let name = format!("{HIDDEN}{index}");
    let alias = Ident::with_quote('"', name.clone());
    select.projection.push(SelectItem::ExprWithAlias { expr, alias });
    Ok(By::Name(name))
}

fn number(expr: &Expr) -> Option<usize> {
    match expr {
        Expr::Value(value) => match &value.value {
            Value::Number(digits, _) => digits.parse().ok(),
            _ => None,
        },
        _ => None,
    }
}

impl Slice {
    fn of(clause: Option<LimitClause>, fetch: Option<Fetch>) -> Result<Self, QueryError> {
        let (offset, limit) = match clause {
            Some(LimitClause::LimitOffset { limit, offset, limit_by }) if limit_by.is_empty() => {
                (offset.map(|offset| offset.value), limit)
            }
            Some(LimitClause::OffsetCommaLimit { offset, limit }) => (Some(offset), Some(limit)),
            Some(_) => return Err(QueryError::Refused("LIMIT … BY is not known here".into())),
            None => (None, None),
        };
        let limit = match (limit, fetch) {
            (limit, None) => limit,
            (None, Some(Fetch { with_ties: false, percent: false, quantity })) => quantity,
            _ => return Err(QueryError::Refused("FETCH takes a number of rows alone".into())),
        };
        let rows = |expr: &Expr| {
            number(expr).ok_or_else(|| {
                QueryError::Refused(format!("LIMIT and OFFSET take a whole number, not `{expr}`"))
            })
        };
        Ok(Self {
            offset: offset.as_ref().map_or(Ok(0), rows)?,
            limit: limit.as_ref().map(rows).transpose()?,
        })
    }
}
