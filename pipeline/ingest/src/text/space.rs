//! Space around and between cells.

/// Stands for two spaces or more between cells, where single spaces belong to the cells;
/// the byte itself is a control character that no log parts its cells by.
pub(crate) const GAP: u8 = 0x1F;

/// Without outer space, the no-break space among it.
pub(crate) fn trim(mut cell: &[u8]) -> &[u8] {
    // Nearly all cells have none.
    if let ([first, ..], [.., last]) = (cell, cell)
        && first.is_ascii_graphic()
        && last.is_ascii_graphic()
    {
        return cell;
    }
    loop {
        cell = cell.trim_ascii();
        // The two bytes of a no-break space, in UTF-8.
        if let Some(rest) = cell.strip_prefix(b"\xC2\xA0") {
            cell = rest;
        } else if let Some(rest) = cell.strip_suffix(b"\xC2\xA0") {
            cell = rest;
        } else {
            return cell;
        }
    }
}
