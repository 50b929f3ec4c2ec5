//! A column that a layout asks for and the log does not have.

use crate::error::{IngestError, Place};

/// The error, with the nearest name that the log has.
pub(crate) fn column(wanted: &str, names: &[String], place: &Place) -> IngestError {
    IngestError::Contradiction {
        place: Place { column: Some(wanted.to_owned()), ..place.clone() }.into(),
        what: format!("the layout asks for the column `{wanted}`, which this log does not have"),
        try_this: match cook::settings::nearest(wanted, names.iter().map(String::as_str)) {
            Some(nearest) => format!("`{nearest}`, or correct the layout"),
            None => format!("one of {}", names.join(", ")),
        },
    }
}
