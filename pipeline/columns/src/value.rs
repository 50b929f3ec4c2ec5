//! One value of a column, and the types that hold one.

use crate::Column;

/// What the values of a column are, where they are not null.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// [`Value::Text`].
    Text,
    /// [`Value::Float`].
    Float,
    /// [`Value::Int`].
    Int,
    /// [`Value::Bool`].
    Bool,
    /// [`Value::Instant`].
    Instant,
}

impl Kind {
    /// The kind's word in schemas.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Float => "float64",
            Self::Int => "int64",
            Self::Bool => "bool",
            Self::Instant => "timestamp µs UTC",
        }
    }

    /// As a message names the values.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Float => "floating-point numbers",
            Self::Int => "whole numbers",
            Self::Bool => "yes or no",
            Self::Instant => "instants",
        }
    }

    /// A column of this kind; values of another kind are missing in it.
    pub fn column(self, values: impl Iterator<Item = Value>) -> Column {
        match self {
            Self::Text => Column::Text(values.map(Field::of).collect()),
            Self::Float => Column::Float(values.map(Field::of).collect()),
            Self::Int => Column::Int(values.map(Field::of).collect()),
            Self::Bool => Column::Bool(values.map(Field::of).collect()),
            Self::Instant => Column::Instant(
                values.map(|value| Option::<Instant>::of(value).map(|at| at.0)).collect(),
            ),
        }
    }
}

/// One value of a column.
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
    /// An instant, ms UTC.
    Instant(i64),
}

impl Value {
    /// Its kind; `None` of a null.
    pub fn kind(&self) -> Option<Kind> {
        match self {
            Self::Null => None,
            Self::Bool(_) => Some(Kind::Bool),
            Self::Int(_) => Some(Kind::Int),
            Self::Float(_) => Some(Kind::Float),
            Self::Text(_) => Some(Kind::Text),
            Self::Instant(_) => Some(Kind::Instant),
        }
    }

    /// Whether nothing is known.
    pub fn is_null(&self) -> bool {
        *self == Self::Null
    }
}

/// An instant, ms UTC.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Instant(pub i64);

/// A type that a row's field can have: it decides the kind of the column.
pub trait Field: Sized {
    /// The kind of the column.
    const KIND: Kind;

    /// As a value.
    fn value(&self) -> Value;

    /// From a value; a field that cannot be empty takes its type's zero for what is null or of
    /// another kind.
    fn of(value: Value) -> Self;
}

macro_rules! fields {
    ($($of:ty => $kind:ident, $value:expr, $into:expr;)*) => { $(
        impl Field for $of {
            const KIND: Kind = Kind::$kind;

            fn value(&self) -> Value {
                $value(self)
            }

            fn of(value: Value) -> Self {
                Option::of(value).unwrap_or_default()
            }
        }

        impl Field for Option<$of> {
            const KIND: Kind = Kind::$kind;

            fn value(&self) -> Value {
                self.as_ref().map_or(Value::Null, Field::value)
            }

            fn of(value: Value) -> Self {
                if let Value::$kind(x) = value { Some($into(x)) } else { None }
            }
        }
    )* };
}

/// A number that is not finite is no measurement.
fn finite(number: f64) -> Value {
    if number.is_finite() { Value::Float(number) } else { Value::Null }
}

fields! {
    String => Text, |text: &String| Value::Text(text.clone()), std::convert::identity;
    f64 => Float, |number: &f64| finite(*number), std::convert::identity;
    i64 => Int, |n: &i64| Value::Int(*n), std::convert::identity;
    bool => Bool, |yes: &bool| Value::Bool(*yes), std::convert::identity;
    Instant => Instant, |at: &Instant| Value::Instant(at.0), Instant;
}

/// Words of the vocabulary, stored as text. One that is not known is as good as missing.
macro_rules! words {
    (required: $($required:ty),*; optional: $($of:ty),* $(,)?) => {
        words! { optional: $($required,)* $($of),* }
        $(
            impl Field for $required {
                const KIND: Kind = Kind::Text;

                fn value(&self) -> Value {
                    Value::Text(self.as_str().to_owned())
                }

                fn of(value: Value) -> Self {
                    Option::of(value).unwrap_or_default()
                }
            }
        )*
    };
    (optional: $($of:ty),* $(,)?) => { $(
        impl Field for Option<$of> {
            const KIND: Kind = Kind::Text;

            fn value(&self) -> Value {
                self.map_or(Value::Null, |word| Value::Text(word.as_str().to_owned()))
            }

            fn of(value: Value) -> Self {
                if let Value::Text(text) = value { text.parse().ok() } else { None }
            }
        }
    )* };
}

words! {
    required: cook::FlagKind, cook::ChannelPart, cook::CalibrationSource;
    optional: cook::LeadReason, cook::Unlike,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_no_value() {
        assert_eq!(f64::NAN.value(), Value::Null);
        assert_eq!(Some(f64::INFINITY).value(), Value::Null);
        assert_eq!(None::<String>.value(), Value::Null);
        assert_eq!(Option::<f64>::of(Value::Text("7".into())), None);
        assert_eq!(String::of(Value::Null), "");
    }

    #[test]
    fn a_column_has_the_kind_it_is_asked_for() {
        let values = || [Value::Float(1.5), Value::Null, Value::Text("a".into())].into_iter();
        assert_eq!(Kind::Float.column(values()), Column::Float(vec![Some(1.5), None, None]));
        assert_eq!(Kind::Instant.column(values()), Column::Instant(vec![None; 3]));
    }
}
