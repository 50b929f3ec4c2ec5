//! The events sheet of all seasons.

use crate::season::cards::to_the_minute;
use crate::season::draw::SampleFire;
use crate::season::programme::Quirk;
use crate::sheet::Cell;
use cook::EventKind;
use simulate::pit::PitChange;

/// The rows, header first.
pub(crate) fn events(fires: &[SampleFire]) -> Vec<Vec<Cell>> {
    let mut sheet = vec![["cook", "time", "event", "value", "note"].map(Cell::from).to_vec()];
    for fire in fires.iter().filter(|fire| fire.quirk() != Quirk::NoCard) {
        let mut rows: Vec<(i64, usize, [Cell; 4])> = Vec::new();
        let mut add = |second: i64, cook: usize, kind: EventKind, value: String, note: &str| {
            let at = Cell::DateTime(to_the_minute(fire.at_ms(second)));
            rows.push((second, cook, [at, kind.to_string().into(), value.into(), note.into()]));
        };
        add(0, 0, EventKind::Lit, String::new(), "");
        for &(second, pounds) in &fire.fuel_at_s {
            add(second, 0, EventKind::Fuel, format!("{pounds} lb"), "");
        }
        for change in &fire.pit.changes {
            match *change {
                PitChange::Setpoint { at_s, to } => {
                    add(at_s, 0, EventKind::Setpoint, format!("{:.0}F", to.fahrenheit()), "");
                }
                PitChange::Lid { at_s, open_s } => {
                    add(at_s, 0, EventKind::Lid, open_s.to_string(), "left open");
                }
                PitChange::Out { until_s, .. } => {
                    add(until_s, 0, EventKind::Lit, String::new(), "the fire was out");
                }
                PitChange::Sag { .. } => {}
            }
        }
        for (index, (cook, truth)) in fire.cooks.iter().zip(&fire.truth.cooks).enumerate() {
            for event in &truth.events {
                if event.kind == EventKind::Wrap && !cook.wrap_time_written {
                    continue;
                }
                add(event.at_s, index, event.kind, event.value.clone().unwrap_or_default(), "");
            }
        }
        rows.sort_by_key(|row| (row.0, row.1));
        for (_, index, cells) in rows {
            let mut row = vec![Cell::text(&fire.cooks[index].id)];
            row.extend(cells);
            sheet.push(row);
        }
    }
    sheet
}
