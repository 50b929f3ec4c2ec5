//! How the columns of a sheet state what they hold.

use crate::Quantity;
use crate::card::CardField;

/// What a cell of a sheet may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Text.
    Text,
    /// A number, with a decimal point or comma.
    Number,
    /// A date.
    Date,
    /// A mark: a date and time, a clock time, or the time since meat-on.
    Time,
    /// `yes` or `no`.
    YesNo,
    /// One of these words.
    Words(&'static [&'static str]),
}

/// A column of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetColumn {
    /// Its name; capitals, spaces and brackets make no difference.
    pub name: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// The unit of a number.
    pub unit: Option<&'static str>,
    /// What it means.
    pub meaning: &'static str,
    /// Something that may stand there.
    pub example: &'static str,
}

/// How the season sheet states a field of the card.
#[derive(Debug, Clone, Copy)]
pub enum Stated {
    /// Not at all: it comes from the events.
    Nowhere,
    /// As text, under the name of the stored column.
    Text {
        /// Something that may stand there.
        example: &'static str,
    },
    /// As a date, under the name of the stored column.
    Date {
        /// Something that may stand there.
        example: &'static str,
    },
    /// As a time, under a name of its own.
    Time {
        /// The sheet's name of the column.
        name: &'static str,
        /// Something that may stand there.
        example: &'static str,
    },
    /// As yes or no.
    YesNo {
        /// Something that may stand there.
        example: &'static str,
    },
    /// As one of these words.
    Words {
        /// The words.
        words: &'static [&'static str],
        /// Something that may stand there.
        example: &'static str,
    },
    /// As a number in one column.
    Number {
        /// Something that may stand there.
        example: &'static str,
        /// Its unit.
        unit: &'static str,
        /// Whether it can be.
        fits: fn(f64) -> bool,
    },
    /// As a number in the unit of the stored column, in the trade's American unit, or in both.
    Either {
        /// Something that may stand in the stored column's unit.
        example: &'static str,
        /// Name of the column in the American unit.
        american: &'static str,
        /// Something that may stand there.
        american_example: &'static str,
        /// Whether a number in the stored column's unit can be.
        fits: fn(f64) -> bool,
    },
}

impl Stated {
    pub(crate) const fn text(example: &'static str) -> Self {
        Self::Text { example }
    }

    pub(crate) const fn time(name: &'static str, example: &'static str) -> Self {
        Self::Time { name, example }
    }

    pub(crate) const fn either(
        example: &'static str,
        (american, american_example): (&'static str, &'static str),
        fits: fn(f64) -> bool,
    ) -> Self {
        Self::Either { example, american, american_example, fits }
    }
}

/// From a sheet's unit into the stored one.
pub type Conversion = fn(f64) -> f64;

/// The name of a quantity's American unit, its suffix, and the conversion into the stored unit.
/// `None` for a quantity that a sheet states in one unit alone.
pub fn american(quantity: Quantity) -> Option<(&'static str, &'static str, Conversion)> {
    use cook::{Celsius, CelsiusDifference, Kilograms, Metres, Millimetres};
    Some(match quantity {
        Quantity::Temperature => ("°F", "_f", |f| Celsius::from_fahrenheit(f).value()),
        Quantity::TemperatureDifference => {
            ("°F", "_f", |f| CelsiusDifference::from_fahrenheit(f).value())
        }
        Quantity::Mass => ("lb", "_lb", |lb| Kilograms::from_pounds(lb).value()),
        Quantity::Length => ("in", "_in", |inches| Millimetres::from_inches(inches).value()),
        Quantity::Altitude => ("ft", "_ft", |ft| Metres::from_feet(ft).value()),
        _ => return None,
    })
}

impl CardField {
    /// The sheet's name of its column, or of the one in the stored unit.
    pub const fn stated_as(&self) -> &'static str {
        if let Stated::Time { name, .. } = self.stated { name } else { self.column.name }
    }

    /// The columns of the season sheet that state this field.
    pub fn sheet_columns(&self) -> Vec<SheetColumn> {
        let column = |name, holds, unit, example| SheetColumn {
            name,
            holds,
            unit,
            meaning: self.column.meaning,
            example,
        };
        let own = self.column.name;
        match self.stated {
            Stated::Nowhere => Vec::new(),
            Stated::Text { example } => vec![column(own, Holds::Text, None, example)],
            Stated::Date { example } => vec![column(own, Holds::Date, None, example)],
            Stated::Time { name, example } => vec![column(name, Holds::Time, None, example)],
            Stated::YesNo { example } => vec![column(own, Holds::YesNo, None, example)],
            Stated::Words { words, example } => {
                vec![column(own, Holds::Words(words), None, example)]
            }
            Stated::Number { example, unit, .. } => {
                vec![column(own, Holds::Number, Some(unit), example)]
            }
            Stated::Either { example, american: other, american_example, .. } => {
                let unit = self.column.quantity.and_then(american).map(|(unit, ..)| unit);
                vec![
                    column(own, Holds::Number, Some(self.column.unit()), example),
                    column(other, Holds::Number, unit, american_example),
                ]
            }
        }
    }
}
