//! The sheets of the sample seasons: cards, events, and the truth.

use crate::dialect::local;
use crate::season::draw::{OAK_OVER_HICKORY, SampleCook, SampleFire, zone};
use crate::season::programme::Quirk;
use crate::truth::CookTruth;
use cook::{EventKind, Kilograms, PhaseKind};

const CARD_COLUMNS: &str = "cook,season,date,logs,kind,contest,turn_in_at,planned_pull,place,pit,\
cooker,cut,grade,supplier,lot,cost,raw_weight_lb,trimmed_weight_lb,cooked_weight_lb,\
served_weight_lb,thickness_in,pit_setpoint_f,wood,fuel_lb,water_pan,altitude_ft,weather,\
wrap_method,hold_kind,meat_on,wrap_at,pull,slice,target_core_f,score_bark,score_tenderness,\
score_taste,arm,block,end_reason,exclude";
const TRUTH_COLUMNS: &str = "cook,log,pit_seed,meat_on,pull,start_c,half_thickness_mm,\
surface_moisture_kg_m2,wetness,probe_position,tender_hours,added_humidity,k_ref_per_h,stalls,\
stall_min,first_stall_start_s,last_stall_end_s,stall_delay_min,stall_delay_censored,\
evaporated_kg_m2,moisture_left_at_wrap,softness_at_pull,taste_from_oak";

/// Joins cells into a line; a cell with a comma or a quote is quoted (RFC 4180).
fn line(text: &mut String, cells: &[String]) {
    let quoted: Vec<String> = cells
        .iter()
        .map(|cell| {
            if cell.contains([',', '"', '\n']) {
                format!("\"{}\"", cell.replace('"', "\"\""))
            } else {
                cell.clone()
            }
        })
        .collect();
    text.push_str(&quoted.join(","));
    text.push('\n');
}

/// Local time to the minute, as somebody would write it down.
fn written(at_ms: i64, format: &str) -> String {
    local(at_ms, &zone())
        .expect("the programme's dates are in the calendar")
        .strftime(format)
        .to_string()
}

fn date_time(at_ms: i64) -> String {
    written(at_ms, "%Y-%m-%d %H:%M")
}

/// The season sheet.
pub(crate) fn cards(fires: &[SampleFire]) -> String {
    let mut text = format!("{CARD_COLUMNS}\n");
    for fire in fires {
        for (cook, truth) in fire.cooks.iter().zip(&fire.truth.cooks) {
            line(&mut text, &card(fire, cook, truth));
        }
    }
    text
}

fn card(fire: &SampleFire, cook: &SampleCook, truth: &CookTruth) -> Vec<String> {
    let contest = fire.plan.contest;
    let pounds = |kilograms: f64| format!("{:.1}", Kilograms(kilograms).pounds());
    let logs = if fire.cooks.len() == 1 {
        fire.log_name()
    } else {
        format!("{}#{}", fire.log_name(), cook.channel)
    };
    let at = |second: i64| fire.at_ms(second);
    let clock = |second: i64| written(at(second), "%H:%M");
    let wrap_s = truth.wraps.first().map(|wrap| wrap.0);
    let wrap_at = match wrap_s {
        Some(second) if cook.wrap_time_written => {
            if fire.season() == 2024 {
                clock(second)
            } else {
                date_time(at(second))
            }
        }
        _ => String::new(),
    };
    let end_written = |second: i64| {
        if fire.season() == 2024 { clock(second) } else { date_time(at(second)) }
    };
    let method = truth.wraps.first().map_or("none".to_owned(), |wrap| wrap.1.to_string());
    let planned = fire.turn_in_ms.map(|turn_in| turn_in - 120 * 60_000);
    let place = contest.map_or("home yard", |_| "fair ground");
    let block =
        if cook.arm.is_some() { fire.log_name().replace(".csv", "") } else { String::new() };
    // Where the logger stopped nobody stayed to write down a reason.
    let end_reason = if fire.quirk() == Quirk::LogEndsInStall { "" } else { cook.end_reason };
    let score = |index: usize| format!("{:.1}", cook.scores[index]);
    let weight = cook.plan.meat.weight.value();
    vec![
        cook.id.clone(),
        fire.season().to_string(),
        written(at(truth.meat_on_s), "%Y-%m-%d"),
        logs,
        contest.map_or("practice", |_| "contest").to_owned(),
        contest.unwrap_or("").to_owned(),
        fire.turn_in_ms.map_or(String::new(), date_time),
        planned.map_or(String::new(), date_time),
        place.to_owned(),
        fire.team_pit().name().to_owned(),
        fire.team_pit().cooker().to_owned(),
        cook.cut.to_owned(),
        cook.grade.to_owned(),
        cook.supplier.to_owned(),
        cook.lot.clone(),
        format!("{:.2}", cook.cost),
        format!("{:.1}", cook.raw_lb),
        pounds(weight),
        pounds(truth.cooked_kg),
        pounds(truth.cooked_kg * cook.served_share),
        format!("{:.1}", cook.thickness_in),
        format!("{:.0}", fire.pit.setpoint.fahrenheit()),
        fire.wood.to_owned(),
        format!("{:.1}", fire.fuel_lb),
        if fire.water_pan { "yes" } else { "no" }.to_owned(),
        format!("{:.0}", fire.pit.altitude.value() / 0.3048),
        fire.weather.to_owned(),
        method,
        cook.plan.rest.place.as_str().to_owned(),
        date_time(at(truth.meat_on_s)),
        wrap_at,
        end_written(truth.pull_s),
        end_written(truth.slice_s),
        "203".to_owned(),
        score(0),
        score(1),
        score(2),
        cook.arm.unwrap_or("").to_owned(),
        block,
        end_reason.to_owned(),
        cook.exclude.to_owned(),
    ]
}

/// The events sheet.
pub(crate) fn events(fires: &[SampleFire]) -> String {
    let mut text = "cook,time,event,value,note\n".to_owned();
    for fire in fires {
        let mut rows: Vec<(i64, usize, [String; 4])> = Vec::new();
        let mut add = |second: i64, cook: usize, kind: EventKind, value: String, note: &str| {
            let at = date_time(fire.at_ms(second));
            rows.push((second, cook, [at, kind.to_string(), value, note.to_owned()]));
        };
        add(0, 0, EventKind::Lit, String::new(), "");
        for &(second, pounds) in &fire.fuel_at_s {
            add(second, 0, EventKind::Fuel, format!("{pounds} lb"), "");
        }
        for change in &fire.pit.changes {
            match *change {
                crate::pit::PitChange::Setpoint { at_s, to } => {
                    add(at_s, 0, EventKind::Setpoint, format!("{:.0}F", to.fahrenheit()), "");
                }
                crate::pit::PitChange::Lid { at_s, open_s } => {
                    add(at_s, 0, EventKind::Lid, open_s.to_string(), "left open");
                }
                crate::pit::PitChange::Sag { .. } | crate::pit::PitChange::Out { .. } => {}
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
            let mut row = vec![fire.cooks[index].id.clone()];
            row.extend(cells);
            line(&mut text, &row);
        }
    }
    text
}

/// What the simulator was told and the true phases, one row a cook. Seconds count from
/// meat-on; the truth is that of the whole cook, also where the log ends early.
pub(crate) fn truth(fires: &[SampleFire]) -> String {
    let mut text = format!("{TRUTH_COLUMNS}\n");
    for fire in fires {
        for (cook, truth) in fire.cooks.iter().zip(&fire.truth.cooks) {
            let meat = &cook.plan.meat;
            let judgement = &truth.judgement;
            let mut stalls = judgement.phases_of(PhaseKind::Stall);
            let first = stalls.next();
            let last = stalls.last().or(first);
            let since_on = |ms: i64| (ms / 1_000 - truth.meat_on_s).to_string();
            let number = |value: Option<f64>, places: usize| {
                value.map_or(String::new(), |value| format!("{value:.places$}"))
            };
            let iso = |second: i64| written(fire.at_ms(second), "%Y-%m-%dT%H:%M:%S%:z");
            let oak = if fire.wood == "oak" { OAK_OVER_HICKORY } else { 0.0 };
            let cells = vec![
                cook.id.clone(),
                fire.log_name(),
                fire.seed.to_string(),
                iso(truth.meat_on_s),
                iso(truth.pull_s),
                format!("{:.2}", meat.start.value()),
                format!("{:.1}", 1_000.0 * meat.half_thickness_m()),
                format!("{:.2}", meat.surface_moisture),
                format!("{:.4}", meat.wetness),
                format!("{:.3}", meat.probe_position),
                format!("{:.2}", meat.tender_hours),
                format!("{:.4}", fire.pit.added_humidity),
                number(judgement.reference.map(|reference| reference.k_per_h), 5),
                judgement.stalls.map_or(String::new(), |count| count.to_string()),
                number(judgement.stall_min, 1),
                first.map_or(String::new(), |span| since_on(span.start_ms)),
                last.map_or(String::new(), |span| since_on(span.end_ms)),
                number(truth.stall_delay.map(|delay| delay.minutes), 1),
                truth.stall_delay.map_or(String::new(), |delay| delay.censored.to_string()),
                format!("{:.2}", truth.ledger.water),
                format!("{:.3}", truth.moisture_left_at_wrap),
                format!("{:.2}", truth.softness),
                format!("{oak}"),
            ];
            line(&mut text, &cells);
        }
    }
    text
}
