//! Which columns are channels: their names, units and roles.

use crate::error::{IngestError, Place};
use crate::layout::{Layout, alike};
use crate::log::facts::head::Facts;
use crate::log::facts::names;
use crate::log::finding::{Finding, Findings};
use crate::log::grid::cells::{HeadRow, Kind, majority};
use crate::log::options::ReadOptions;
use crate::log::reason::Reason;
use crate::log::shown::letter;
use crate::log::words;
use crate::number;
use cook::Role;
use cook::season::TemperatureUnit;

/// One temperature column, or one channel of a long log.
#[derive(Debug, Clone)]
pub(crate) struct ChannelPlan {
    /// Its column; 0 in a long log, whose values stand in one column.
    pub(crate) column: usize,
    pub(crate) header: String,
    pub(crate) name: String,
    /// The unit that its column, its name or the layout says.
    pub(crate) unit: Option<TemperatureUnit>,
    /// The column that says the unit of each of its cells.
    pub(crate) unit_column: Option<usize>,
    pub(crate) role: Role,
    pub(crate) said: Said,
}

/// Who says a channel's role.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Said {
    /// The settings or a layout.
    Settings,
    /// A word of its name.
    Name,
    /// A word that pit and meat may have.
    WeakWord,
    /// Nobody.
    Nobody,
}

/// The channels of a wide log.
///
/// # Errors
/// [`IngestError::Contradiction`] where a name and the units line differ,
/// [`IngestError::NoTable`] where no column holds temperatures.
pub(crate) fn of_wide(
    facts: &Facts<'_>,
    time: &[usize],
    options: &ReadOptions,
) -> Result<(Vec<ChannelPlan>, Findings), IngestError> {
    let mut channels = Vec::new();
    let mut findings = Findings::default();
    for column in (0..facts.names.len()).filter(|column| !time.contains(column)) {
        let header = facts.names[column].clone();
        let (name, unit) = words::name_and_unit(&header, &facts.names);
        let set = stated_role(&header, &name, &facts.layout, options);
        if let Some(because) = not_a_channel(facts, time, column, set.is_some()) {
            findings.note(Finding::NoTemperature { header, because });
            continue;
        }
        let below = facts.below(column).and_then(|cell| names::unit(cell));
        let stated = stated_unit(&header, &name, &facts.layout);
        if let (Some(named), Some(below), None) = (unit, below, stated)
            && named != below
        {
            return Err(units_differ(facts, column, named, below));
        }
        let decided = stated
            .map(|unit| (unit, Reason::Layout))
            .or(unit.map(|unit| (unit, Reason::Header)))
            .or(below.map(|unit| (unit, Reason::UnitsLine)));
        let unit = decided.as_ref().map(|(unit, _)| *unit);
        if let Some((unit, because)) = decided {
            let (name, header) = (name.clone(), header.clone());
            findings.note(Finding::Unit { name, header, unit, because });
        }
        let (role, said, because) = decide_role(&name, set);
        findings.note(Finding::Role { name: name.clone(), header: header.clone(), role, because });
        let unit_column = if stated.is_some() { None } else { unit_column(facts, column) };
        channels.push(ChannelPlan { column, header, name, unit, unit_column, role, said });
    }
    by_other_columns(&mut channels, &mut findings);
    make_unique(&mut channels);
    if channels.is_empty() {
        return Err(IngestError::NoTable {
            place: Place::file(facts.shown_as).into(),
            what: "no column holds temperatures".to_owned(),
            try_this: "a layout with `roles` naming the temperature columns".to_owned(),
        });
    }
    Ok((channels, findings))
}

/// The column that says the unit of a column's cells: the only one of the log with units, or the
/// nearest behind it.
fn unit_column(facts: &Facts<'_>, column: usize) -> Option<usize> {
    let says_units = |c: &usize| {
        let cells = || facts.rows.iter().filter_map(|row| row.cells.get(*c));
        let filled = || cells().filter(|cell| !cell.is_empty());
        words::is_unit(&facts.names[*c])
            && filled().next().is_some()
            && filled().all(|cell| names::unit(cell).is_some())
    };
    let all: Vec<usize> = (0..facts.names.len()).filter(says_units).collect();
    match all[..] {
        [only] => Some(only),
        _ => all.into_iter().find(|c| *c > column),
    }
}

/// A column without a unit is in that of all columns that have one, where nobody measured it (a target,
/// an alarm), or two say the same: one logger wrote them.
fn by_other_columns(channels: &mut [ChannelPlan], findings: &mut Findings) {
    let said = channels.iter().filter(|channel| channel.unit.is_some()).count();
    let mut units = channels.iter().filter_map(|channel| channel.unit);
    let Some(unit) = units.next().filter(|first| units.all(|unit| unit == *first)) else { return };
    for channel in channels.iter_mut() {
        let follows = channel.role == Role::Other || said >= 2;
        if channel.unit.is_none() && channel.unit_column.is_none() && follows {
            channel.unit = Some(unit);
            let (name, header) = (channel.name.clone(), channel.header.clone());
            findings.note(Finding::Unit { name, header, unit, because: Reason::OtherColumns });
        }
    }
}

/// A channel of a long log, by its name in the log; the caller makes the name unique.
pub(crate) fn of_long(
    header: &str,
    layout: &Layout,
    options: &ReadOptions,
) -> (ChannelPlan, Finding) {
    let (name, unit) = words::name_and_unit(header, &[]);
    let unit = stated_unit(header, &name, layout).or(unit);
    let set = stated_role(header, &name, layout, options);
    let (role, said, because) = decide_role(&name, set);
    let header = header.to_owned();
    let finding = Finding::Role { name: name.clone(), header: header.clone(), role, because };
    (ChannelPlan { column: 0, header, name, unit, unit_column: None, role, said }, finding)
}

/// The role that the settings, else the layout, give a channel.
fn stated_role(header: &str, name: &str, layout: &Layout, options: &ReadOptions) -> Option<Role> {
    options.role_of(header, name).or_else(|| {
        let mut roles = layout.roles.iter();
        roles.find(|(key, _)| alike(key, header) || alike(key, name)).map(|(_, &role)| role)
    })
}

/// The unit that the layout gives a channel.
fn stated_unit(header: &str, name: &str, layout: &Layout) -> Option<TemperatureUnit> {
    let mut units = layout.units.iter();
    units.find(|(key, _)| alike(key, header) || alike(key, name)).map(|(_, &unit)| unit)
}

/// A channel's role: as stated, else by the words of its name.
fn decide_role(name: &str, set: Option<Role>) -> (Role, Said, Reason) {
    match (set, words::role(name)) {
        (Some(role), _) => (role, Said::Settings, Reason::SettingsOrLayout),
        (None, Some((role, word))) => {
            let said = if words::is_weak(&word) { Said::WeakWord } else { Said::Name };
            (role, said, Reason::Word(word))
        }
        (None, None) => (Role::Other, Said::Nobody, Reason::NoWord),
    }
}

/// A column's name and the units line say different units.
fn units_differ(
    facts: &Facts<'_>,
    column: usize,
    named: TemperatureUnit,
    below: TemperatureUnit,
) -> IngestError {
    let header = &facts.names[column];
    let at = facts.units_row.unwrap_or(0);
    let row = &facts.grid.head[at];
    IngestError::Contradiction {
        place: Place::cell(
            facts.shown_as,
            row.record.line.into(),
            header,
            row.cells[column].as_bytes(),
        )
        .into(),
        what: format!("the column's name says {}, the units line {}", letter(named), letter(below)),
        try_this: format!("a layout with [units] \"{header}\" = \"{}\"", letter(named)),
    }
}

/// Two columns of one name become `name` and `name (2)`.
pub(crate) fn make_unique(channels: &mut [ChannelPlan]) {
    for i in 0..channels.len() {
        let wanted = channels[i].name.clone();
        let mut count = 1;
        while channels[..i].iter().any(|other| other.name.eq_ignore_ascii_case(&channels[i].name)) {
            count += 1;
            channels[i].name = format!("{wanted} ({count})");
        }
    }
}

/// Whether a column holds whole numbers that step by one from line to line, once lines that
/// are out of place are put in order.
fn counts_lines(rows: &[&HeadRow<'_>], column: usize) -> bool {
    let mut numbers: Vec<i64> =
        rows.iter().filter_map(|row| row.cells.get(column)?.parse().ok()).collect();
    numbers.sort_unstable();
    let ones = numbers.windows(2).filter(|pair| pair[1].checked_sub(pair[0]) == Some(1)).count();
    numbers.len() >= 4 && ones * 10 >= (numbers.len() - 1) * 9
}

/// Whether most of a column's numbers carry their unit; `None` where it has no number.
fn has_own_units(rows: &[&HeadRow<'_>], column: usize) -> Option<bool> {
    let (mut numbers, mut units) = (0, 0);
    for row in rows.iter().filter(|row| row.kinds.get(column) == Some(&Kind::Number)) {
        let cell = row.cells[column].as_bytes();
        let of = |decimal| number::parse_with_unit(cell, decimal);
        let Some((value, unit)) = of(b'.').or_else(|| of(b',')) else { continue };
        if number::code_of(value) == number::Code::None {
            numbers += 1;
            units += usize::from(unit.is_some());
        }
    }
    (numbers > 0).then_some(units * 2 > numbers)
}

/// Why a column is no temperature, if it is none.
fn not_a_channel(facts: &Facts<'_>, time: &[usize], column: usize, named: bool) -> Option<Reason> {
    let rows = &facts.rows[..];
    let header = &facts.names[column];
    if facts.layout.ignore.iter().any(|name| alike(name, header)) {
        return Some(Reason::Layout);
    }
    if named {
        return None;
    }
    if let Some(word) = words::not_temperature(header) {
        return Some(Reason::Word(word));
    }
    if words::is_time(header) {
        return Some(Reason::AnotherTime);
    }
    if words::role(header).is_none() {
        if counts_lines(rows, column) {
            return Some(Reason::CountsLines);
        }
        let with_unit = |c: usize| has_own_units(rows, c) == Some(true);
        if words::name_and_unit(header, &facts.names).1.is_none()
            && has_own_units(rows, column) == Some(false)
            && (0..facts.names.len()).any(|c| !time.contains(&c) && with_unit(c))
        {
            return Some(Reason::UnitsElsewhere);
        }
    }
    let empty = |row: &&HeadRow<'_>| row.kinds.get(column).is_none_or(|kind| *kind == Kind::Empty);
    if facts.grid.header.is_none() && rows.iter().all(empty) {
        return Some(Reason::NeitherNameNorValues);
    }
    let kind = majority(rows, column);
    let of = |kind: Kind| rows.iter().filter(|r| r.kinds.get(column) == Some(&kind)).count();
    if kind == Some(Kind::Text) && of(Kind::Text) < of(Kind::Missing) {
        return None;
    }
    if matches!(kind, Some(Kind::Text | Kind::DateTime | Kind::Date | Kind::Clock))
        && words::role(header).is_none()
    {
        return Some(Reason::NoNumbers);
    }
    None
}
