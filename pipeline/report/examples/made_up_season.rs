//! Writes the report of a made-up season, to look at.
//!
//! `cargo run -p report --example made_up_season -- OUT_DIR [COOKS] [us|metric]` writes
//! `OUT_DIR/report.html` and the page of the first cook, `OUT_DIR/cook.html`. Everything in it is
//! invented, curves and findings included; the numbers are drawn to be varied, not to be true.

use std::path::PathBuf;

use cook::{LineAccount, PhaseKind, Units};
use report::data::{
    CardEntry, CardValue, Caution, ChannelRole, ClaimReport, Cleaning, CookReport, Counted, Curve,
    CurvePoint, CurveSeries, DataFile, Direction, Effect, EffectRow, EventNote, ExcludedCook,
    FittedLine, GroupColumn, GroupRow, GroupTable, GroupValue, InputHash, LinePoint, Mark,
    MarkKind, Measures, PhaseSpan, ProbePanel, RefusedLog, RejectedRow, ReportData, Scatter,
    ScatterPoint, SourceAccount, Stamp, Standing, Strip, StripGroup, StripPoint, Summary,
    SummaryRow, Verdict, WetBulb,
};
use report::units::{Covariate, Quantity};

fn main() -> std::io::Result<()> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().unwrap_or_else(|| ".".to_owned()));
    let cooks = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(24);
    let units =
        if arguments.next().as_deref() == Some("metric") { Units::Metric } else { Units::Us };
    let data = season(cooks);
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("report.html"), report::render_season(&data, units))?;
    if let Some(page) = data.cooks.first().and_then(|c| report::render_cook(&data, &c.id, units)) {
        std::fs::write(folder.join("cook.html"), page)?;
    }
    Ok(())
}

/// A number between 0 and 1 that looks random and is always the same (a hash of its place).
fn drawn(cook: usize, what: usize) -> f64 {
    let mut bits = (cook as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (what as u64) << 32;
    for _ in 0..3 {
        bits ^= bits >> 31;
        bits = bits.wrapping_mul(0xD6E8_FEB8_6659_FD93);
    }
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

/// A local clock time, minutes after 21:30.
fn clock(min: f64) -> String {
    let minutes = (21.0 * 60.0 + 30.0 + min).round().rem_euclid(1440.0) as i64;
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

fn one_cook(i: usize) -> CookReport {
    let weight = 3.8 + 3.6 * drawn(i, 1);
    let pit = 104.0 + 26.0 * drawn(i, 2);
    let (judged, log_ends_early) = (i % 11 != 7, i % 8 == 5);
    let wrap = ["none", "paper", "foil"][i % 3];
    let ramp_min = 150.0 + 22.0 * weight - 0.8 * (pit - 104.0) + 30.0 * drawn(i, 3);
    let held = if wrap == "foil" { 0.55 } else { 1.0 };
    let stall_min = held * (70.0 + 24.0 * weight - 1.6 * (pit - 115.0) + 70.0 * drawn(i, 4));
    let push_min = 120.0 + 60.0 * drawn(i, 5);
    let (stall_end, pull) = (ramp_min + stall_min, ramp_min + stall_min + push_min);
    let rest = 60.0 + 90.0 * drawn(i, 6);
    let last = if log_ends_early { ramp_min + 0.8 * stall_min } else { pull + rest };
    let (low, high) = (66.0 + 4.0 * drawn(i, 7), 73.0 + 5.0 * drawn(i, 8));

    let core = |min: f64| {
        if min < ramp_min {
            4.0 + (low - 4.0) * (min / ramp_min).powf(0.8)
        } else if min < stall_end {
            low + (high - low) * (min - ramp_min) / stall_min
        } else if min < pull {
            high + (94.0 - high) * ((min - stall_end) / push_min).powf(0.9)
        } else {
            94.0 - 0.13 * (min - pull)
        }
    };
    let reading = |min: f64, temp_c: f64| CurvePoint { min, temp_c: Some(temp_c) };
    let steps = (last * 2.0) as usize;
    let mut core_readings = Vec::new();
    let mut pit_readings = Vec::new();
    for step in 0..steps {
        let min = step as f64 / 2.0;
        let noise = 0.5 * (drawn(i * 7919 + step, 9) - 0.5);
        core_readings.push(reading(min, core(min) + noise));
        let sag = -18.0 * (-((min - 0.6 * pull) / 22.0).powi(2)).exp();
        let warm = 1.0 - 0.25 * (-min / 12.0).exp();
        let swing = 3.0 * (min / 17.0).sin() + 6.0 * (drawn(i * 7919 + step, 10) - 0.5);
        let off = if min > pull { (pull - min) * 0.5 } else { 0.0 };
        pit_readings.push(reading(min, (pit * warm + sag + swing + off).max(24.0)));
    }
    if i % 9 == 4 {
        // A gap of an hour in the log.
        for readings in [&mut core_readings, &mut pit_readings] {
            for point in readings.iter_mut().filter(|p| (200.0..260.0).contains(&p.min)) {
                point.temp_c = None;
            }
        }
    }

    // A second probe, a little ahead.
    let point_readings: Vec<CurvePoint> = core_readings
        .iter()
        .map(|p| CurvePoint { temp_c: p.temp_c.map(|t| t + 7.0), ..*p })
        .collect();

    let span = |phase, start_min: f64, end_min: f64, complete| PhaseSpan {
        phase,
        start_min,
        end_min,
        start_local: clock(start_min),
        end_local: clock(end_min),
        start_core_c: Some(core(start_min)),
        end_core_c: Some(core(end_min)),
        complete,
        reason: None,
    };
    let phases = match (judged, log_ends_early) {
        (false, _) => vec![PhaseSpan {
            reason: Some("the log starts with the core at 52 °C and there is no other cook of this cut and pit to borrow from".into()),
            ..span(PhaseKind::Unknown, 0.0, last.min(pull), !log_ends_early)
        }],
        (true, true) => vec![
            span(PhaseKind::Ramp, 0.0, ramp_min, true),
            span(PhaseKind::Stall, ramp_min, last, false),
        ],
        (true, false) => vec![
            span(PhaseKind::Ramp, 0.0, ramp_min, true),
            span(PhaseKind::Stall, ramp_min, stall_end, true),
            span(PhaseKind::Push, stall_end, pull, true),
            span(PhaseKind::Rest, pull, last, true),
        ],
    };
    let wrap_min = ramp_min + 0.35 * stall_min;
    let wrap_known = i % 13 != 6;
    let mut marks = vec![Mark {
        kind: MarkKind::MeatOn,
        at_local: clock(0.0),
        core_c: Some(4.0),
        from: "card".into(),
        ..Mark::default()
    }];
    if wrap != "none" && wrap_known {
        marks.push(Mark {
            kind: MarkKind::Wrap,
            at_min: wrap_min,
            at_local: clock(wrap_min),
            core_c: Some(core(wrap_min)),
            from: "events".into(),
            detail: Some(wrap.into()),
        });
    }
    if !log_ends_early {
        marks.push(Mark {
            kind: MarkKind::Pull,
            at_min: pull,
            at_local: clock(pull),
            core_c: Some(94.0),
            from: "found in the log".into(),
            detail: None,
        });
    }
    let shown_stall = if log_ends_early { last - ramp_min } else { stall_min };
    let kept = judged.then_some(());
    let event =
        |at_min: f64, event: &str, value: Option<CardValue>, note: Option<&str>| EventNote {
            at_min,
            at_local: clock(at_min),
            event: event.into(),
            value,
            note: note.map(str::to_owned),
        };
    let celsius = |value| CardValue::Number { value, quantity: Quantity::Temperature };
    let day = format!("2026-{:02}-{:02}", 3 + (i / 4) % 8, 1 + (i * 7) % 28);
    CookReport {
        id: format!("{}-{:02}", ["flat", "packer", "shoulder"][i % 3], i + 1),
        season: "2026".into(),
        fire: format!("f{:02}", i / 2 + 1),
        kind: Some(if i % 6 == 5 { "contest" } else { "practice" }.into()),
        contest: (i % 6 == 5).then(|| "Quarry Lane Cook-Off".into()),
        place: Some("Lower Meadow".into()),
        cut: Some(["brisket flat", "whole brisket", "pork shoulder"][i % 3].into()),
        pit: Some(["drum", "offset"][i / 2 % 2].into()),
        cooker: Some(["drum", "offset"][i / 2 % 2].into()),
        meat_on_ms: 1_772_400_600_000 + i as i64 * 604_800_000,
        meat_on_local: format!("{day} 21:30"),
        day,
        card: vec![
            CardEntry { name: "Wood".into(), value: Some(CardValue::Text("oak".into())) },
            CardEntry {
                name: "Fuel".into(),
                value: Some(CardValue::Number { value: 7.2, quantity: Quantity::Mass }),
            },
            CardEntry { name: "Planned pull".into(), value: None },
        ],
        heating: (0..30)
            .map(|step| (ramp_min + 10.0 * f64::from(step), 0.05 + 0.004 * f64::from(step)))
            .collect(),
        probe: ProbePanel {
            core_4_to_60_c_min: kept.map(|()| ramp_min * 0.9),
            come_up_min: kept.map(|()| ramp_min * 0.75),
            lethality_log10: Some(400.0 * drawn(i, 13)),
            lethality_6_5_log10_min: kept.map(|()| ramp_min * 0.93),
            hold_lowest_core_c: Some(52.0 + 20.0 * drawn(i, 14)),
            hold_below_57_c_min: Some((40.0 * drawn(i, 15) - 30.0).max(0.0)),
            hold_below_60_c_min: Some((60.0 * drawn(i, 15) - 30.0).max(0.0)),
            hold_observed_min: Some(rest),
            hold_min: Some(rest),
            cooling_reason: Some("not logged".into()),
            ..ProbePanel::default()
        },
        wet_bulb: i.is_multiple_of(2).then(|| WetBulb {
            temp_c: 50.0 + 4.0 * drawn(i, 16),
            dew_point_c: 42.0,
            assumed: i.is_multiple_of(4),
            pit_c: pit,
            altitude_m: Some(225.0),
        }),
        measures: Measures {
            raw_weight_kg: Some(weight * 1.18),
            trimmed_weight_kg: (i % 10 != 3).then_some(weight),
            thickness_mm: Some(62.0 + 20.0 * drawn(i, 11)),
            pit_setpoint_c: Some(pit.round()),
            pit_early_c: Some(pit),
            pit_mean_c: Some(pit - 2.0),
            pit_sd_c: Some(4.4),
            wrap_method: Some(wrap.into()),
            wrap_at_core_c: (wrap != "none" && wrap_known).then(|| core(wrap_min)),
            wrap_time_known: Some(wrap == "none" || wrap_known),
            end_reason: Some(if log_ends_early { "log-end" } else { "finish" }.into()),
            finish_reached: Some(!log_ends_early),
            start_core_c: Some(4.0),
            ramp_min: kept.map(|()| ramp_min),
            k_ref_per_h: kept.map(|()| 0.21 + 0.05 * drawn(i, 12)),
            k_ref_borrowed: Some(i % 7 == 2),
            stalls: kept.map(|()| 1),
            stall_min: kept.map(|()| shown_stall),
            stall_min_censored: log_ends_early,
            stall_min_lo90: kept.map(|()| shown_stall - 9.0),
            stall_min_hi90: kept.filter(|()| !log_ends_early).map(|()| shown_stall + 12.0),
            stall_start_core_c: kept.map(|()| low),
            stall_end_core_c: kept.filter(|()| !log_ends_early).map(|()| high),
            stall_reason: (!judged).then(|| {
                "late log, warm start: no reference coefficient and none to borrow".into()
            }),
            stall_delay_min: kept.map(|()| shown_stall * 0.92 - 8.0),
            stall_delay_censored: log_ends_early,
            push_min: kept.filter(|()| !log_ends_early).map(|()| push_min),
            total_min: Some(last.min(pull)),
            total_min_censored: log_ends_early,
            min_per_kg: Some(last.min(pull) / weight),
            pull_core_c: (!log_ends_early).then_some(94.0),
            carryover_c: (!log_ends_early).then_some(1.4),
            rest_min: (!log_ends_early).then_some(rest),
            yield_fraction: (!i.is_multiple_of(5)).then_some(0.58 + 0.1 * drawn(i, 13)),
            other: vec![CardEntry {
                name: "Score, taste".into(),
                value: Some(CardValue::Number {
                    value: 6.0 + 3.0 * drawn(i, 14),
                    quantity: Quantity::Plain { unit: "of 9".into(), decimals: 1 },
                }),
            }],
            ..Measures::default()
        },
        phases,
        marks,
        events: vec![
            event(-45.0, "lit", None, None),
            event(ramp_min * 0.6, "spritz", None, Some("cider vinegar and water")),
            event(ramp_min * 0.9, "setpoint", Some(celsius(pit)), None),
        ],
        curve: Some(Curve {
            series: vec![
                CurveSeries::thinned("Flat", ChannelRole::Core, &core_readings),
                CurveSeries::thinned("Grate", ChannelRole::Pit, &pit_readings),
                CurveSeries::thinned("Point", ChannelRole::Meat, &point_readings),
            ],
        }),
        readings: core_readings.len() + pit_readings.len(),
        flags: vec![Counted { label: "out-of-range".into(), count: i % 4 }],
        cleaning: Cleaning::default(),
        rejected_rows: i % 3,
        cautions: if log_ends_early {
            vec!["The log ends while the meat is still on: what happened to the food after that is not known here.".into()]
        } else {
            Vec::new()
        },
        page: None,
    }
}

/// Intercept and slope through points by least squares, to have a line to draw.
fn straight(points: &[(f64, f64)]) -> (f64, f64) {
    let n = points.len() as f64;
    let mean = |pick: fn(&(f64, f64)) -> f64| points.iter().map(pick).sum::<f64>() / n;
    let (x_mean, y_mean) = (mean(|p| p.0), mean(|p| p.1));
    let (xx, xy) = points.iter().fold((0.0, 0.0), |(xx, xy), (x, y)| {
        (xx + (x - x_mean).powi(2), xy + (x - x_mean) * (y - y_mean))
    });
    (y_mean - xy / xx * x_mean, xy / xx)
}

type Pick = fn(&Measures) -> Option<f64>;

fn scatter(
    cooks: &[CookReport],
    id: &str,
    (x_name, x, x_of): (&str, Quantity, Pick),
    (y_name, y_of): (&str, Pick),
) -> Scatter {
    let points: Vec<ScatterPoint> = cooks
        .iter()
        .filter_map(|cook| {
            let m = &cook.measures;
            let (x, y) = (x_of(m)?, y_of(m)?);
            Some(ScatterPoint { cook: cook.id.clone(), x, y, censored: m.stall_min_censored })
        })
        .collect();
    let places: Vec<(f64, f64)> = points.iter().map(|p| (p.x, p.y)).collect();
    let (intercept, slope) = straight(&places);
    let lowest = places.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let highest = places.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
    let line = (0..=40)
        .map(|i| {
            let x = lowest + (highest - lowest) * f64::from(i) / 40.0;
            let y = intercept + slope * x;
            let half = 12.0 + 22.0 * ((f64::from(i) - 20.0) / 20.0).powi(2);
            LinePoint { x, y, lo: y - half, hi: y + half }
        })
        .collect();
    let half = slope.abs() * 0.7 + 0.5;
    Scatter {
        id: id.into(),
        x_name: x_name.into(),
        x: x.clone(),
        y_name: y_name.into(),
        y: Quantity::Minutes,
        line: Some(FittedLine { method: "least squares".into(), level: 0.95, points: line }),
        effect: Some(Effect {
            estimate: slope,
            lo: Some(slope - half),
            hi: Some(slope + half),
            level: 0.95,
            outcome: Quantity::Minutes,
            per: Some(Covariate { name: x_name.to_lowercase(), quantity: x, step: None }),
            cooks: points.len(),
            fires: points.len().div_ceil(2),
        }),
        left_out: vec![Counted {
            label: "no stall judged".into(),
            count: cooks.len() - points.len(),
        }],
        points,
        note: None,
    }
}

fn middle(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

fn strip(cooks: &[CookReport], id: &str, y_name: &str, y_of: Pick) -> Strip {
    let groups = ["none", "paper", "foil"].map(|wrap| {
        let of: Vec<&CookReport> =
            cooks.iter().filter(|c| c.measures.wrap_method.as_deref() == Some(wrap)).collect();
        let points: Vec<StripPoint> = of
            .iter()
            .filter_map(|c| {
                Some(StripPoint {
                    cook: c.id.clone(),
                    y: y_of(&c.measures)?,
                    censored: c.measures.stall_min_censored,
                })
            })
            .collect();
        StripGroup {
            label: if wrap == "none" { "not wrapped".into() } else { wrap.into() },
            median: middle(points.iter().map(|p| p.y).collect()),
            median_at_least: false,
            cooks: points.len(),
            fires: points.len(),
            points,
        }
    });
    Strip {
        id: id.into(),
        y_name: y_name.into(),
        y: Quantity::Minutes,
        by: "Wrap".into(),
        groups: groups.to_vec(),
        left_out: vec![Counted { label: "no stall judged".into(), count: 2 }],
        note: None,
    }
}

fn claims() -> Vec<ClaimReport> {
    let effect = |estimate: f64, half: f64| Effect {
        estimate,
        lo: Some(estimate - half),
        hi: Some(estimate + half),
        level: 0.975,
        outcome: Quantity::Minutes,
        per: None,
        cooks: 22,
        fires: 12,
    };
    let pit = Covariate {
        name: "early pit temperature".into(),
        quantity: Quantity::Temperature,
        step: Some(5.0),
    };
    let score = Quantity::Plain { unit: "points".into(), decimals: 1 };
    let claim = |id: &str, says: &str, kind: &str, verdict: Verdict| ClaimReport {
        id: id.into(),
        says: says.into(),
        kind: kind.into(),
        outcome_name: "stall delay".into(),
        verdict,
        cooks: 22,
        fires: 12,
        family_size: 4,
        standing: Standing::AfterTheFact { confirming: 9, needed: 40 },
        ..ClaimReport::default()
    };
    vec![
        ClaimReport {
            direction: Direction::For,
            effect: Some(Effect { per: Some(pit), ..effect(-4.6, 1.9) }),
            matters: 10.0,
            standing: Standing::Confirmed,
            adjusted_for: vec!["trimmed weight".into()],
            ..claim("hotter-pit", "A hotter pit shortens the stall", "trend", Verdict::Yes)
        },
        ClaimReport {
            contrast: Some(("foil at a core of 160 °F".into(), "paper at a core of 160 °F".into())),
            outcome_name: "time to finish".into(),
            effect: Some(effect(-24.0, 41.0)),
            matters: 30.0,
            cooks_still_needed: Some(35),
            adjusted_for: vec!["trimmed weight".into(), "early pit temperature".into()],
            ..claim(
                "foil-or-paper",
                "Wrapping in foil at 160 °F finishes sooner than paper at 160 °F",
                "wrap-timing",
                Verdict::Open,
            )
        },
        ClaimReport {
            contrast: Some(("oak".into(), "hickory".into())),
            outcome_name: "taste score".into(),
            effect: Some(Effect { outcome: score, ..effect(0.08, 0.29) }),
            matters: 0.5,
            positive_favours: true,
            ..claim("oak-or-hickory", "Oak tastes better than hickory", "compare", Verdict::TooSmallToMatter)
        },
        ClaimReport {
            reason: Some("Only 3 cooks were never wrapped, fewer than the 5 that a comparison needs in every arm.".into()),
            ..claim("wrap-or-not", "Never wrapping costs less than an hour", "wrap-timing", Verdict::Refused)
        },
    ]
}

fn group_table(by: &str, levels: &[&str], described_only: bool) -> GroupTable {
    let value = |median: f64, cooks, censored| GroupValue {
        median: Some(median),
        at_least: censored > 2,
        cooks,
        censored,
    };
    GroupTable {
        by: by.into(),
        described_only,
        columns: vec![
            GroupColumn { measure: "Trimmed weight".into(), quantity: Quantity::Mass },
            GroupColumn { measure: "Stall".into(), quantity: Quantity::Minutes },
            GroupColumn { measure: "Core at the wrap".into(), quantity: Quantity::Temperature },
        ],
        rows: levels
            .iter()
            .enumerate()
            .map(|(i, level)| GroupRow {
                level: (*level).to_owned(),
                cooks: 8,
                fires: 5 + i,
                values: vec![
                    value(5.1 + i as f64, 8, 0),
                    value(180.0 - 20.0 * i as f64, 7, 1 + i),
                    if i == 0 { GroupValue::default() } else { value(71.0, 6, 0) },
                ],
            })
            .collect(),
    }
}

fn season(n: usize) -> ReportData {
    let cooks: Vec<CookReport> = (0..n).map(one_cook).collect();
    let weight = ("Trimmed weight", Quantity::Mass, (|m| m.trimmed_weight_kg) as Pick);
    let pit = ("Early pit temperature", Quantity::Temperature, (|m| m.pit_early_c) as Pick);
    let length = ("Stall length", (|m| m.stall_min) as Pick);
    let delay = ("Stall delay", (|m| m.stall_delay_min) as Pick);
    let scatters = vec![
        scatter(&cooks, "delay-weight", weight.clone(), delay),
        scatter(&cooks, "delay-pit", pit.clone(), delay),
        scatter(&cooks, "length-weight", weight, length),
        scatter(&cooks, "length-pit", pit, length),
    ];
    let effects = scatters
        .iter()
        .filter_map(|s| {
            Some(EffectRow {
                outcome_name: s.y_name.clone(),
                term: s.x_name.to_lowercase(),
                effect: s.effect.clone()?,
                model: "censored Gaussian, clustered by fire".into(),
                note: None,
                p_adjusted: None,
            })
        })
        .collect();
    let counted = |label: &str, count| Counted { label: label.into(), count };
    let row = |measure: &str, quantity, median, min, max| SummaryRow {
        measure: measure.into(),
        quantity,
        cooks: n,
        median: Some(median),
        min: Some(min),
        max: Some(max),
        ..SummaryRow::default()
    };
    ReportData {
        team: "The Lantern Hill Irregulars".into(),
        seasons: vec!["2025".into(), "2026".into()],
        time_zone: "America/Chicago".into(),
        summary: Summary {
            cooks: n,
            fires: n.div_ceil(2),
            cooking_hours: cooks.iter().filter_map(|c| c.measures.total_min).sum::<f64>() / 60.0,
            readings: cooks.iter().map(|c| c.readings).sum(),
            first_day: cooks.first().map(|c| c.day.clone()),
            last_day: cooks.last().map(|c| c.day.clone()),
            raw_weight_kg: Some(6.1 * n as f64),
            cuts: vec![
                counted("brisket flat", n / 3),
                counted("whole brisket", n / 3),
                counted("pork shoulder", n / 3),
            ],
            pits: vec![counted("drum", n / 2), counted("offset", n / 2)],
            wraps: vec![counted("none", n / 3), counted("paper", n / 3), counted("foil", n / 3)],
            kinds: vec![counted("practice", n - n / 6), counted("contest", n / 6)],
            rows: vec![
                row("Trimmed weight", Quantity::Mass, 5.6, 3.8, 7.4),
                row("Early pit temperature", Quantity::Temperature, 117.0, 104.0, 130.0),
                SummaryRow {
                    censored: 3,
                    cooks: n - n / 11,
                    ..row("Stall length", Quantity::Minutes, 204.0, 96.0, 318.0)
                },
                row("Time on the pit", Quantity::Minutes, 655.0, 452.0, 884.0),
                SummaryRow {
                    cooks: n - n / 5,
                    ..row("Yield", Quantity::Fraction, 0.62, 0.58, 0.68)
                },
            ],
        },
        cautions: vec![Caution {
            cook: Some("packer-02".into()),
            text: "The log shows the core below 60 °C for 95 minutes during the rest. Judge such a hold by your local food code.".into(),
        }],
        claims: claims(),
        strips: vec![
            strip(&cooks, "length-wrap", "Stall length", |m| m.stall_min),
            strip(&cooks, "delay-wrap", "Stall delay", |m| m.stall_delay_min),
        ],
        scatters,
        effects,
        groups: vec![
            group_table("Cut", &["brisket flat", "pork shoulder", "whole brisket"], false),
            group_table("Wrap", &["not wrapped", "paper", "foil"], true),
        ],
        rejected: (0..6)
            .map(|i| RejectedRow {
                source: format!("logs/spring-{i}.csv"),
                line: Some(410 + 7 * i),
                column: (i % 2 == 0).then(|| "Probe 1".into()),
                code: "bad-number".into(),
                text: "14O.2".into(),
                explanation: Some("not a number".into()),
            })
            .collect(),
        rejected_total: 41,
        excluded: vec![ExcludedCook {
            cook: "flat-99".into(),
            reason: "probe fell out at the wrap (card)".into(),
        }],
        refused_logs: vec![RefusedLog {
            source: "logs/unnamed.csv".into(),
            reason: "no column looks like a time".into(),
            remedy: Some("name the time column in a layout".into()),
        }],
        sources: (0..n.min(12))
            .map(|i| SourceAccount {
                source: format!("logs/spring-{i}.csv"),
                layout: Some("wide, comma, °F".into()),
                account: LineAccount {
                    lines: 1421,
                    preamble: 2,
                    header: 1,
                    blank: 0,
                    data: 1416,
                    rejected: 1,
                    footer: 1,
                    readings: 2830,
                    missing: 1,
                    rejected_cells: 1,
                },
                note: None,
            })
            .collect(),
        data_files: vec![DataFile {
            path: "data/measures.csv".into(),
            holds: "one row a cook".into(),
        }],
        stamp: Stamp {
            version: "0.1.0".into(),
            settings_hash: "5f2c".repeat(16),
            seed: 20_260_314,
            inputs: (0..4)
                .map(|i| InputHash { path: format!("logs/spring-{i}.csv"), sha256: "9ab3".repeat(16) })
                .collect(),
        },
        cooks,
        ..ReportData::default()
    }
}
