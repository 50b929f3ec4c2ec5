//! Wide or long: whether a line holds all channels or one.

use super::missing;
use crate::error::{IngestError, Place};
use crate::layout::{Form, Layout, alike};
use crate::log::grid::cells::{HeadRow, Kind, majority};
use crate::log::words;
use cook::Role;

/// The columns of a long log.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LongColumns {
    pub(crate) channel: usize,
    pub(crate) value: usize,
    pub(crate) unit: Option<usize>,
}

/// The columns of a long log, where it is one.
pub(crate) fn long_columns(
    names: &[String],
    time: &[usize],
    rows: &[&HeadRow<'_>],
    layout: &Layout,
    place: &Place,
) -> Result<Option<LongColumns>, IngestError> {
    if layout.form == Some(Form::Wide) {
        return Ok(None);
    }
    let named =
        |wanted: &Option<String>, is: fn(&str) -> bool| -> Result<Option<usize>, IngestError> {
            if let Some(wanted) = wanted {
                return match names.iter().position(|name| alike(wanted, name)) {
                    Some(at) => Ok(Some(at)),
                    None => Err(missing::column(wanted, names, place)),
                };
            }
            Ok((0..names.len()).find(|c| !time.contains(c) && is(&names[*c])))
        };
    let value = named(&layout.value_column, words::is_value)?;
    let channel = named(&layout.channel_column, words::is_channel)?;
    let (Some(channel), Some(value)) = (channel, value) else {
        return if layout.form == Some(Form::Long) {
            Err(missing::column("channel_column and value_column", names, place))
        } else {
            Ok(None)
        };
    };
    if channel == value {
        return Ok(None);
    }
    let unit = named(&layout.unit_column, words::is_unit)?.filter(|&c| c != channel && c != value);
    if layout.form == Some(Form::Long) {
        return Ok(Some(LongColumns { channel, value, unit }));
    }
    // Without a layout: the channel column holds names (or few small whole numbers), and
    // no other column holds temperatures.
    let texts = rows.iter().filter(|row| row.kinds.get(channel) == Some(&Kind::Text)).count();
    let small = rows
        .iter()
        .filter(|row| {
            row.cells.get(channel).is_some_and(|c| c.parse::<u8>().is_ok_and(|n| n <= 16))
        })
        .count();
    let is_names = texts * 2 > rows.len() || small * 10 > rows.len() * 9;
    let others = (0..names.len()).any(|c| {
        c != channel
            && c != value
            && Some(c) != unit
            && !time.contains(&c)
            && words::role(&names[c]).is_some_and(|(role, _)| role != Role::Other)
            && majority(rows, c) == Some(Kind::Number)
    });
    Ok((is_names && !others).then_some(LongColumns { channel, value, unit }))
}
