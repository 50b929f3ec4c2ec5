//! A question as it was typed, made ready to be answered in one order.

use crate::check::Check;
use crate::error::QueryError;
use crate::order::{Order, Slice};
use sqlparser::ast::{
    CastKind, DataType, Expr, Function, FunctionArg, FunctionArgExpr, FunctionArguments, Ident,
    Query, Select, SelectItem, SetExpr, Statement, TableFactor, TimezoneInfo, TypedString, Value,
    ValueWithSpan, visit_expressions, visit_expressions_mut,
};
use sqlparser::dialect::GenericDialect;
use sqlparser::parser::{Parser, ParserOptions};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

/// Words that a question is made of, for what was mistyped.
const WORDS: [&str; 18] = [
    "SELECT", "FROM", "WHERE", "GROUP", "ORDER", "HAVING", "LIMIT", "WITH", "JOIN", "UNION",
    "DISTINCT", "BETWEEN", "CASE", "WHEN", "OFFSET", "LEFT", "INNER", "QUALIFY",
];

/// Aggregates whose result is a value of their column's kind: the unit stays, and so does the
/// zero of its scale.
const KEEPS_SCALE: [&str; 9] =
    ["MIN", "MAX", "AVG", "MEDIAN", "FIRST", "LAST", "QUANTILE", "QUANTILE_CONT", "QUANTILE_DISC"];

/// A question that reads tables and does nothing else.
#[derive(Debug, Clone)]
pub struct Question {
    /// The question without the order and the bounds of its answer.
    pub(crate) query: Query,
    pub(crate) order: Order,
    pub(crate) slice: Slice,
    tables: BTreeSet<String>,
    /// Names of columns in the question, aliases among them.
    names: BTreeSet<String>,
    pub(crate) quoted: BTreeSet<String>,
    /// Whether every column of a table is asked for.
    all_columns: bool,
    /// What the answer's columns hold, by their name.
    sources: Sources,
}

/// Which column of a table an answer's column holds values of.
#[derive(Debug, Clone, Default)]
struct Sources {
    written: BTreeMap<String, Option<String>>,
    /// Whether a column that is not written out is one of a table, by `*`.
    by_star: bool,
}

impl Question {
    /// Reads a question over tables of these names.
    ///
    /// # Errors
    /// Text that is no SQL; a statement that does more than read; a table that is not among
    /// `tables`; LIMIT in a part of the question without ORDER BY there.
    pub fn parse(sql: &str, tables: &[&str]) -> Result<Self, QueryError> {
        let mut query = one_query(sql)?;
        name_expressions(&mut query.body);
        let sources = Sources::of(&query, tables);
        let (order, slice) = crate::order::take(&mut query)?;
        let check = Check::of(&query, tables)?;
        Ok(Self {
            query,
            order,
            slice,
            tables: check.tables,
            names: check.names,
            quoted: check.quoted,
            all_columns: check.all_columns,
            sources,
        })
    }

    /// The tables that the question reads.
    pub fn tables(&self) -> &BTreeSet<String> {
        &self.tables
    }

    /// Whether a column of this name may be needed: it is named, or all columns are.
    pub fn may_read(&self, column: &str) -> bool {
        self.all_columns || self.names.contains(column)
    }

    /// The values that a column of a table can have in the answer, where the question says so by
    /// `column = 'value'` or `column IN ('value', …)` beside AND: no other row of the table
    /// matters. `None` where it does not say, or not of this table alone.
    pub fn only(&self, table: &str, column: &str) -> Option<BTreeSet<String>> {
        let SetExpr::Select(select) = self.query.body.as_ref() else { return None };
        let [from] = select.from.as_slice() else { return None };
        let is_it = matches!(&from.relation, TableFactor::Table { name, .. } if name.to_string().trim_matches('"') == table);
        if !is_it || !from.joins.is_empty() || self.query.with.is_some() {
            return None;
        }
        let mut values = None;
        let mut open = vec![select.selection.as_ref()?];
        while let Some(condition) = open.pop() {
            match condition {
                Expr::Nested(inner) => open.push(inner),
                Expr::BinaryOp { left, op, right } if op.to_string() == "AND" => {
                    open.extend([left.as_ref(), right.as_ref()]);
                }
                Expr::BinaryOp { left, op, right } if op.to_string() == "=" => {
                    let value = match (plain_column(left), plain_column(right)) {
                        (Some(name), _) if name == column => text(right),
                        (_, Some(name)) if name == column => text(left),
                        _ => None,
                    };
                    values = values.or(value.map(|value| BTreeSet::from([value])));
                }
                Expr::InList { expr, list, negated: false }
                    if plain_column(expr) == Some(column) =>
                {
                    let list: Option<BTreeSet<String>> = list.iter().map(text).collect();
                    values = values.or(list);
                }
                _ => {}
            }
        }
        // A table that is named twice is also read elsewhere, by other conditions.
        let mut times = 0;
        let _ = sqlparser::ast::visit_relations(&self.query, |name| {
            times += usize::from(name.to_string().trim_matches('"') == table);
            ControlFlow::<()>::Continue(())
        });
        values.filter(|_| times == 1)
    }

    /// The column of a table that a column of the answer holds values of, in that column's unit;
    /// `None` where it is computed in another way.
    pub(crate) fn source(&self, column: &str) -> Option<String> {
        match self.sources.written.get(column) {
            Some(source) => source.clone(),
            // The engine names a second column of a name `name:table`.
            None if self.sources.by_star => column.split(':').next().map(str::to_owned),
            None => None,
        }
    }
}

/// The one query of a text.
fn one_query(sql: &str) -> Result<Query, QueryError> {
    let dialect = GenericDialect {};
    let options = ParserOptions { trailing_commas: true, ..ParserOptions::default() };
    let statements = Parser::new(&dialect)
        .with_options(options)
        .try_with_sql(sql)
        .and_then(|mut parser| parser.parse_statements())
        .map_err(|error| syntax(&error.to_string()))?;
    let mut statements = statements.into_iter();
    match (statements.next(), statements.next()) {
        (None, _) => {
            Err(QueryError::Refused("the question is empty; try SELECT * FROM measures".into()))
        }
        (Some(_), Some(_)) => Err(QueryError::Refused("one question at a time".into())),
        (Some(Statement::Query(query)), None) => Ok(*query),
        (Some(other), None) => {
            let text = other.to_string();
            let word = text.split_whitespace().next().unwrap_or_default().to_uppercase();
            let hint = if word == "SHOW" || word == "EXPLAIN" {
                "--tables lists the tables and their columns"
            } else {
                "tables are read and never changed"
            };
            Err(QueryError::Refused(format!(
                "`{word}` is not done here: a question begins with SELECT or WITH ({hint})"
            )))
        }
    }
}

fn syntax(error: &str) -> QueryError {
    let message = error.trim_start_matches("sql parser error: ").to_owned();
    let found = message.split("found: ").nth(1).and_then(|rest| rest.split(' ').next());
    let word = found.map(str::to_uppercase);
    let nearest = word.filter(|word| !WORDS.contains(&word.as_str()));
    let nearest = nearest.and_then(|word| crate::error::nearest(&word, WORDS));
    QueryError::Syntax { message, nearest }
}

/// Gives every computed column of the answer its own text as name. The engine would name
/// `MIN(stall_min)` and `MAX(stall_min)` both `stall_min`, and a standard deviation like a
/// temperature.
fn name_expressions(body: &mut SetExpr) {
    match body {
        SetExpr::Select(select) => {
            for item in &mut select.projection {
                if let SelectItem::UnnamedExpr(expr) = item
                    && plain_column(expr).is_none()
                {
                    let alias = Ident::with_quote('"', expr.to_string());
                    *item = SelectItem::ExprWithAlias { expr: expr.clone(), alias };
                }
            }
        }
        SetExpr::SetOperation { left, right, .. } => {
            name_expressions(left);
            name_expressions(right);
        }
        _ => {}
    }
}

/// Writes what the engine takes otherwise than SQL in forms that it takes alike: a text that is an
/// instant with its offset (`2026-05-02T06:10:00Z`) as an instant, so that it is compared in time;
/// DATE of an instant, which it knows of texts alone, as a cast; `IS NOT TRUE`, where it leaves out
/// NULL, as a comparison that knows NULL.
pub(crate) fn for_engine(query: &mut Query, is_instant: &dyn Fn(&str) -> bool) {
    let _ = visit_expressions_mut(query, |expr| {
        let written = match expr {
            Expr::Value(value) | Expr::TypedString(TypedString { value, .. }) => instant(value),
            Expr::Function(function) => date(function, is_instant),
            Expr::IsTrue(of) => Some(Expr::IsNotDistinctFrom(of.clone(), boolean(true))),
            Expr::IsNotTrue(of) => Some(Expr::IsDistinctFrom(of.clone(), boolean(true))),
            Expr::IsFalse(of) => Some(Expr::IsNotDistinctFrom(of.clone(), boolean(false))),
            Expr::IsNotFalse(of) => Some(Expr::IsDistinctFrom(of.clone(), boolean(false))),
            _ => None,
        };
        if let Some(written) = written {
            *expr = written;
        }
        ControlFlow::<()>::Continue(())
    });
}

fn boolean(yes: bool) -> Box<Expr> {
    Box::new(Expr::Value(Value::Boolean(yes).into()))
}

/// DATE of something that speaks of an instant, as a cast.
fn date(function: &Function, is_instant: &dyn Fn(&str) -> bool) -> Option<Expr> {
    let Some([FunctionArg::Unnamed(FunctionArgExpr::Expr(of))]) = arguments(function) else {
        return None;
    };
    let found = visit_expressions(of, |part| match plain_column(part) {
        Some(name) if is_instant(name) => ControlFlow::Break(()),
        _ => ControlFlow::Continue(()),
    });
    let is_date = function.name.to_string().eq_ignore_ascii_case("date");
    (is_date && found.is_break()).then(|| Expr::Cast {
        kind: CastKind::Cast,
        expr: Box::new(of.clone()),
        data_type: DataType::Date,
        array: false,
        format: None,
    })
}

fn instant(value: &ValueWithSpan) -> Option<Expr> {
    let Value::SingleQuotedString(text) = &value.value else { return None };
    let at: jiff::Timestamp = text.parse().ok()?;
    let utc = at.strftime("%Y-%m-%d %H:%M:%S%.f").to_string();
    let value = ValueWithSpan { value: Value::SingleQuotedString(utc), span: value.span };
    let data_type = DataType::Timestamp(Some(3), TimezoneInfo::None);
    Some(Expr::TypedString(TypedString { data_type, value, uses_odbc_syntax: false }))
}

fn arguments(function: &Function) -> Option<&[FunctionArg]> {
    match &function.args {
        FunctionArguments::List(list) => Some(&list.args),
        _ => None,
    }
}

/// The name of a column that stands alone, with or without its table.
pub(crate) fn plain_column(expr: &Expr) -> Option<&str> {
    match expr {
        Expr::Identifier(name) => Some(&name.value),
        Expr::CompoundIdentifier(parts) => parts.last().map(|name| name.value.as_str()),
        _ => None,
    }
}

fn text(expr: &Expr) -> Option<String> {
    match expr {
        Expr::Value(value) => match &value.value {
            Value::SingleQuotedString(text) => Some(text.clone()),
            _ => None,
        },
        _ => None,
    }
}

impl Sources {
    fn of(query: &Query, tables: &[&str]) -> Self {
        match query.body.as_ref() {
            SetExpr::Select(select) if reads_tables_only(select, query, tables) => {
                let mut sources = Self::default();
                for item in &select.projection {
                    match item {
                        SelectItem::UnnamedExpr(expr) => {
                            let name = plain_column(expr).unwrap_or_default();
                            sources.written.insert(name.into(), source(expr));
                        }
                        SelectItem::ExprWithAlias { expr, alias } => {
                            sources.written.insert(alias.value.clone(), source(expr));
                        }
                        SelectItem::Wildcard(options)
                        | SelectItem::QualifiedWildcard(_, options) => {
                            let renamed =
                                options.opt_replace.is_some() || options.opt_rename.is_some();
                            sources.by_star |= !renamed;
                        }
                        SelectItem::ExprWithAliases { .. } => {}
                    }
                }
                sources
            }
            _ => Self::default(),
        }
    }
}

/// Whether what is selected from are tables as they are, no parts of the question.
fn reads_tables_only(select: &Select, query: &Query, tables: &[&str]) -> bool {
    let mut relations = select
        .from
        .iter()
        .flat_map(|from| from.joins.iter().map(|join| &join.relation).chain([&from.relation]));
    query.with.is_none()
        && relations.all(|relation| match relation {
            TableFactor::Table { name, alias, .. } => {
                tables.contains(&name.to_string().trim_matches('"'))
                    && alias.as_ref().is_none_or(|alias| alias.columns.is_empty())
            }
            _ => false,
        })
}

/// The column whose values an expression gives.
fn source(expr: &Expr) -> Option<String> {
    if let Some(name) = plain_column(expr) {
        return Some(name.to_owned());
    }
    let Expr::Function(function) = expr else { return None };
    if !KEEPS_SCALE.contains(&function.name.to_string().to_uppercase().as_str()) {
        return None;
    }
    match arguments(function)?.first()? {
        FunctionArg::Unnamed(FunctionArgExpr::Expr(of)) => plain_column(of).map(str::to_owned),
        _ => None,
    }
}
