//! Which line names the columns, and where a table without such a line begins.

use super::cells::{HeadRow, Kind, used_width};
use super::score;
use crate::log::words;

/// Rows on which a log without a header is judged.
const JUDGED: usize = 60;

/// The time column whose date and clock are two cells, where most rows have one cell more
/// than there are names.
pub(crate) fn spread_column(names: &[String], rows: &[&HeadRow<'_>]) -> Option<usize> {
    let column = names.iter().position(|name| words::is_time(name))?;
    let two = rows
        .iter()
        .filter(|row| {
            row.cells.len() == names.len() + 1
                && row.kinds[column] == Kind::Date
                && row.kinds[column + 1] == Kind::Clock
        })
        .count();
    (two * 2 > rows.len()).then_some(column)
}

/// The row that names the columns, and the share of the rows after it that it fits.
///
/// It has text and no number or date. It fits a row where a time column of its own (or,
/// where no name is one of a time, any column) looks like a time, and another column
/// holds a number or a word for none. A row that names a time wins over one that does
/// not; then the one with the most fitting rows over others after it, then the earliest,
/// so that neither a corrupt row nor a repeated header wins over the first.
pub(crate) fn best_header(rows: &[HeadRow<'_>]) -> Option<usize> {
    let used: Vec<usize> = (0..rows.len()).filter(|&i| !rows[i].blank).collect();
    let mut best: Option<((bool, isize), usize)> = None;
    for (position, &at) in used.iter().enumerate() {
        let row = &rows[at];
        let texts = row.kinds.iter().filter(|kind| **kind == Kind::Text).count();
        let dated =
            row.kinds.iter().any(|k| matches!(k, Kind::DateTime | Kind::Date | Kind::Clock));
        if texts == 0 || dated {
            continue;
        }
        let times: Vec<usize> =
            (0..row.cells.len()).filter(|&c| words::is_time(&row.cells[c])).collect();
        let remark = row.cells[0].starts_with('#');
        let numbered = row.kinds.contains(&Kind::Number);
        let names = texts >= 2 || (texts == 1 && numbered && times == [0]);
        if !names || (times.is_empty() && (numbered || remark)) {
            continue;
        }
        let mut width = used_width(&row.cells);
        let judged = &used[position + 1..];
        let below: Vec<&HeadRow<'_>> = judged.iter().map(|&i| &rows[i]).collect();
        if spread_column(&row.cells, &below).is_some() {
            width += 1;
        }
        let good = judged.iter().filter(|&&i| fits(&rows[i], &times, width)).count();
        // Lines of a table before it: it is a remark among them, or its header comes again.
        let earlier = used[..position].iter().filter(|&&i| fits(&rows[i], &[], usize::MAX)).count();
        if earlier >= 2 && earlier * 20 > good {
            continue;
        }
        if good == 0 || good * 2 < judged.len() {
            continue;
        }
        let score = (!times.is_empty(), 2 * good as isize - judged.len() as isize);
        if best.is_none_or(|(other, _)| score > other) {
            best = Some((score, at));
        }
    }
    best.map(|(_, at)| at)
}

fn fits(row: &HeadRow<'_>, times: &[usize], width: usize) -> bool {
    let is_time =
        |kind: Kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock | Kind::Number);
    let time = if times.is_empty() {
        row.kinds.iter().position(|kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock))
    } else {
        times.iter().copied().find(|&c| row.kinds.get(c).is_some_and(|kind| is_time(*kind)))
    };
    let Some(time) = time else { return false };
    row.kinds.iter().take(width).enumerate().any(|(c, kind)| {
        c != time && !times.contains(&c) && matches!(kind, Kind::Number | Kind::Missing)
    }) && row.kinds.iter().skip(width).all(|kind| *kind == Kind::Empty)
}

/// The usual number of cells of a log whose lines hold a time and numbers and have no
/// header: a time that says so itself in one of the first three cells, or a number that
/// grows from line to line in the first.
pub(crate) fn headerless_width(rows: &[HeadRow<'_>]) -> Option<usize> {
    let used: Vec<&HeadRow<'_>> = rows.iter().filter(|row| !row.blank).take(JUDGED).collect();
    let timed = |row: &HeadRow<'_>| {
        let time = row
            .kinds
            .iter()
            .take(3)
            .position(|kind| matches!(kind, Kind::DateTime | Kind::Date | Kind::Clock));
        time.is_some_and(|at| row.kinds[at + 1..].contains(&Kind::Number))
    };
    let counted =
        |row: &HeadRow<'_>| row.kinds[0] == Kind::Number && row.kinds[1..].contains(&Kind::Number);
    // Numbers in the first cells are times where they go one way.
    let first: Vec<f64> = used.iter().filter_map(|row| score::number(&row.cells[0])).collect();
    let up = first.windows(2).filter(|pair| pair[1] >= pair[0]).count();
    let down = first.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    let moves = first.windows(2).any(|pair| pair[0] != pair[1]);
    let one_way = moves && up.max(down) * 10 >= first.len().saturating_sub(1) * 9;
    // The widest that a tenth of the lines have: two lines run into one are wider.
    let widths = |good: Vec<&&HeadRow<'_>>| {
        let of = |width: usize| good.iter().filter(|row| row.cells.len() == width).count();
        (good.len() * 2 >= used.len() && !good.is_empty()).then(|| {
            let usual = good.iter().map(|row| row.cells.len());
            usual.filter(|&width| of(width) * 10 >= good.len()).max().unwrap_or(0)
        })
    };
    widths(used.iter().filter(|row| timed(row)).collect()).or_else(|| {
        let good: Vec<&&HeadRow<'_>> = used.iter().filter(|row| counted(row)).collect();
        (one_way && good.len() >= 3 && good.len() * 5 >= used.len() * 4).then(|| widths(good))?
    })
}

/// Whether most lines of a table without a header have so many cells, empty ones at the
/// end left out, or fewer.
pub(crate) fn most_end_at(rows: &[HeadRow<'_>], width: usize) -> bool {
    let used = rows.iter().filter(|row| !row.blank);
    let widths: Vec<usize> = used.map(|row| used_width(&row.cells)).collect();
    let within = widths.iter().filter(|&&own| own <= width).count();
    within * 10 >= widths.len() * 9 && widths.iter().filter(|&&own| own == width).count() > 0
}

/// Where a table without a header begins: behind lines that have not its cells, or no
/// number. A line of its width with numbers is its own, whatever is wrong with it.
pub(crate) fn headless_first(rows: &[HeadRow<'_>], width: usize) -> usize {
    let own = |row: &HeadRow<'_>| {
        used_width(&row.cells) >= width.min(2)
            && row.cells.len() >= width
            && row.kinds[1..].contains(&Kind::Number)
    };
    rows.iter().position(|row| !row.blank && own(row)).unwrap_or(0)
}
