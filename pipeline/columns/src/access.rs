//! How a field of the card is got and set.

use crate::card::CardField;
use crate::{Kind, Value};
use cook::Card;

/// How a field of the card is got and set.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Access {
    Text(fn(&Card) -> Option<String>, fn(&mut Card, String)),
    Float(fn(&Card) -> Option<f64>, fn(&mut Card, f64)),
    Bool(fn(&Card) -> Option<bool>, fn(&mut Card, bool)),
    Instant(fn(&Card) -> Option<i64>, fn(&mut Card, i64)),
}

impl Access {
    pub(crate) const fn kind(self) -> Kind {
        match self {
            Self::Text(..) => Kind::Text,
            Self::Float(..) => Kind::Float,
            Self::Bool(..) => Kind::Bool,
            Self::Instant(..) => Kind::Instant,
        }
    }
}

impl CardField {
    /// What a card states.
    pub fn get(&self, card: &Card) -> Value {
        fn or_null<T>(stated: Option<T>, value: impl Fn(T) -> Value) -> Value {
            stated.map_or(Value::Null, value)
        }
        match self.access {
            Access::Text(get, _) => or_null(get(card), Value::Text),
            Access::Float(get, _) => or_null(get(card), Value::Float),
            Access::Bool(get, _) => or_null(get(card), Value::Bool),
            Access::Instant(get, _) => or_null(get(card), Value::Instant),
        }
    }

    /// Puts a value into a card; a null, or a value of another kind, leaves the card as it is.
    pub fn set(&self, card: &mut Card, value: Value) {
        match (self.access, value) {
            (Access::Text(_, set), Value::Text(text)) => set(card, text),
            (Access::Float(_, set), Value::Float(number)) => set(card, number),
            (Access::Bool(_, set), Value::Bool(yes)) => set(card, yes),
            (Access::Instant(_, set), Value::Instant(ms)) => set(card, ms),
            _ => {}
        }
    }
}

/// The access to a field of [`Card`] by what it holds.
macro_rules! access {
    (required $field:ident) => {
        Access::Text(|card| Some(card.$field.clone()), |card, text| card.$field = text)
    };
    (text $field:ident) => {
        Access::Text(|card| card.$field.clone(), |card, text| card.$field = Some(text))
    };
    (yes_no $field:ident) => {
        Access::Bool(|card| card.$field, |card, yes| card.$field = Some(yes))
    };
    (number $field:ident) => {
        Access::Float(|card| card.$field, |card, number| card.$field = Some(number))
    };
    (instant $field:ident) => {
        Access::Instant(|card| card.$field, |card, ms| card.$field = Some(ms))
    };
    (mark $field:ident) => {
        Access::Instant(|card| card.marks.$field, |card, ms| card.marks.$field = Some(ms))
    };
    ($field:ident: $unit:ident) => {
        Access::Float(
            |card| card.$field.map(cook::$unit::value),
            |card, number| card.$field = Some(cook::$unit(number)),
        )
    };
    (logs) => {
        Access::Text(
            |card| Some(card.logs.join(";")),
            |card, text| {
                let names = text.split(';').filter(|name| !name.is_empty());
                card.logs = names.map(str::to_owned).collect();
            },
        )
    };
    (kind) => {
        Access::Text(
            |card| card.kind.map(|kind| kind.as_str().to_owned()),
            |card, word| card.kind = cook::CookKind::parse(&word),
        )
    };
    (wrap_method) => {
        Access::Text(
            |card| card.wrap_method.as_ref().map(|method| method.as_str().to_owned()),
            |card, word| card.wrap_method = cook::WrapMethod::parse(&word),
        )
    };
    (end_reason) => {
        Access::Text(
            |card| card.end_reason.map(|reason| reason.as_str().to_owned()),
            |card, word| card.end_reason = cook::EndReason::parse(&word),
        )
    };
}
pub(crate) use access;
