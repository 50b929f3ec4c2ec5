//! Columns: values, kinds and docs.

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Not stated, not measured or not judged.
    Null,
    /// Yes or no.
    Bool(bool),
    /// A whole number.
    Int(i64),
    /// A number.
    Float(f64),
    /// Text.
    Text(String),
}

/// What a column's cells are, where they are not null.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// [`Value::Bool`].
    Bool,
    /// [`Value::Int`].
    Int,
    /// [`Value::Float`].
    Float,
    /// [`Value::Text`].
    Text,
}

impl ColumnKind {
    /// The kind's word in schemas.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Bool => "bool",
            Self::Int => "int",
            Self::Float => "float",
            Self::Text => "text",
        }
    }
}

/// What one column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColumnDoc {
    /// Its name.
    pub name: &'static str,
    /// What its cells are.
    pub kind: ColumnKind,
    /// Their unit; empty where there is none.
    pub unit: &'static str,
    /// What it means, in a sentence.
    pub meaning: &'static str,
}

/// A type that a column's field can have.
pub(crate) trait Cell {
    const KIND: ColumnKind;
    fn value(&self) -> Value;
}

impl Cell for bool {
    const KIND: ColumnKind = ColumnKind::Bool;
    fn value(&self) -> Value {
        Value::Bool(*self)
    }
}

impl Cell for i64 {
    const KIND: ColumnKind = ColumnKind::Int;
    fn value(&self) -> Value {
        Value::Int(*self)
    }
}

impl Cell for f64 {
    const KIND: ColumnKind = ColumnKind::Float;
    /// A number that is not finite is no measurement.
    fn value(&self) -> Value {
        if self.is_finite() { Value::Float(*self) } else { Value::Null }
    }
}

impl Cell for String {
    const KIND: ColumnKind = ColumnKind::Text;
    fn value(&self) -> Value {
        Value::Text(self.clone())
    }
}

impl<T: Cell> Cell for Option<T> {
    const KIND: ColumnKind = T::KIND;
    fn value(&self) -> Value {
        self.as_ref().map_or(Value::Null, Cell::value)
    }
}

/// Makes a row struct, its docs and its view from one list of columns. The doc comment of a
/// column is its meaning.
macro_rules! columns {
    (
        $(#[doc = $row_doc:literal])* struct $row:ident, docs $docs:ident;
        $( #[doc = $meaning:literal] $name:ident: $type:ty, $unit:literal; )*
    ) => {
        $(#[doc = $row_doc])*
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct $row {
            $( #[doc = $meaning] pub $name: $type, )*
        }

        #[doc = concat!("What each column of [`", stringify!($row), "`] is, in order.")]
        pub const $docs: &[$crate::ColumnDoc] = &[
            $( $crate::ColumnDoc {
                name: stringify!($name),
                kind: <$type as $crate::column::Cell>::KIND,
                unit: $unit,
                meaning: $meaning.trim_ascii(),
            }, )*
        ];

        impl $row {
            /// The columns in a stable order, by name.
            pub fn cells(&self) -> Vec<(&'static str, $crate::Value)> {
                vec![ $( (stringify!($name), $crate::column::Cell::value(&self.$name)), )* ]
            }
        }
    };
}
pub(crate) use columns;
