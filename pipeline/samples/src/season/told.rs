//! What the simulator was told, and what truly happened.

use crate::dialect::local;
use crate::season::draw::{OAK_OVER_HICKORY, SampleFire, zone};
use crate::sheet::Cell;
use cook::{PhaseDefinition, PhaseKind, WrapMethod};
use simulate::decision::CookPlan;
use simulate::fire::run_fire;
use simulate::truth::CookTruth;

const COLUMNS: [&str; 24] = [
    "cook",
    "logs",
    "what_went_wrong",
    "pit_seed",
    "meat_on",
    "pull",
    "start_c",
    "half_thickness_mm",
    "surface_moisture_kg_m2",
    "wetness",
    "probe_position",
    "tender_hours",
    "added_humidity",
    "k_ref_per_h",
    "stalls",
    "stall_min",
    "first_stall_start_s",
    "last_stall_end_s",
    "stall_delay_min",
    "stall_delay_censored",
    "evaporated_kg_m2",
    "moisture_left_at_wrap",
    "softness_at_pull",
    "taste_from_oak",
];

/// One row a cook, header first. Seconds count from meat-on; the truth is that of the whole
/// cook, also where the log ends early.
pub(crate) fn truth(fires: &[SampleFire], logs: &[Vec<String>]) -> Vec<Vec<Cell>> {
    let mut rows = vec![COLUMNS.map(Cell::from).to_vec()];
    for (fire, logs) in fires.iter().zip(logs) {
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
            let iso = |second: i64| {
                local(fire.at_ms(second), &zone())
                    .expect("the programme's dates are in the calendar")
                    .strftime("%Y-%m-%dT%H:%M:%S%:z")
                    .to_string()
            };
            let oak = if fire.wood == "oak" { OAK_OVER_HICKORY } else { 0.0 };
            let cells: [String; 24] = [
                cook.id.clone(),
                logs.join(";"),
                fire.quirk().in_words().to_owned(),
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
            rows.push(cells.map(Cell::from).to_vec());
        }
    }
    rows
}

/// Every randomised cook under both arms, header first: minutes from clock zero to the finish
/// wrapped in foil and in paper, everything else (the other cooks of the fire too) the same.
pub(crate) fn arms(fires: &[SampleFire]) -> Vec<Vec<Cell>> {
    let header = ["cook", "arm", "foil_clock_to_finish_min", "paper_clock_to_finish_min"];
    let mut rows = vec![header.map(Cell::from).to_vec()];
    for fire in fires {
        for (index, cook) in fire.cooks.iter().enumerate() {
            let Some(arm) = cook.arm else { continue };
            let under = |method: WrapMethod| {
                let mut plans: Vec<CookPlan> =
                    fire.cooks.iter().map(|cook| cook.plan.clone()).collect();
                for wrap in &mut plans[index].wraps {
                    wrap.method = method.clone();
                }
                let truth = run_fire(&fire.pit, &plans, fire.seed)
                    .expect("the programme's settings are in range");
                clock_to_finish_min(&truth.cooks[index])
                    .map_or(Cell::Empty, |minutes| Cell::text(format!("{minutes:.1}")))
            };
            rows.push(vec![
                Cell::text(&cook.id),
                arm.into(),
                under(WrapMethod::Foil),
                under(WrapMethod::Paper),
            ]);
        }
    }
    rows
}

/// Minutes from clock zero to the finish; `None` where it was pulled before.
pub(crate) fn clock_to_finish_min(truth: &CookTruth) -> Option<f64> {
    let definition = PhaseDefinition::default();
    let zero = truth.first_at(definition.stall_from_c)?;
    let finish = truth.first_at(definition.finish_c)?;
    Some((finish - zero) as f64 / 60.0)
}
