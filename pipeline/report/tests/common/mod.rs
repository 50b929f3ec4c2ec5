//! A small invented season: one judged cook, one whose log ends in its stall, one that cannot be
//! judged.

mod cost;
mod levers;
mod whole;

use columns::measures::Measures;
use columns::tables::channels::ChannelRow;
use columns::tables::flags::FlagRow;
use cook::{
    CalibrationSource, Card, ChannelPart, CookKind, Event, EventKind, FlagKind, LeadReason,
    LineAccount, PhaseKind, RejectedRow,
};
use report::data::{
    Best, ChannelRole, Cleaning, ContestCook, CookReport, Counted, Curve, CurvePoint, CurveSeries,
    EventNote, Mark, MarkKind, PhaseSpan, RefusedLog, ReportData, SourceAccount, Stretch, Summary,
};
use std::collections::BTreeMap;

use report::units::Quantity;
use study::StudyResult;
use study::result::InputHash;
use study::result::forecast::{BacktestBand, ForecastBacktest, PlanCheck};
use study::result::summary::{Excluded, Spread};

/// A straight piece of curve, a reading every ten minutes.
fn series(name: &str, role: ChannelRole, places: &[(f64, f64)]) -> CurveSeries {
    let mut readings = Vec::new();
    for pair in places.windows(2) {
        let ((from, low), (to, high)) = (pair[0], pair[1]);
        let steps = ((to - from) / 10.0) as usize;
        readings.extend((0..steps).map(|i| {
            let part = i as f64 / steps as f64;
            CurvePoint { min: from + part * (to - from), temp_c: Some(low + part * (high - low)) }
        }));
    }
    CurveSeries::thinned(name, role, &readings)
}

fn span(phase: PhaseKind, start_min: f64, end_min: f64) -> PhaseSpan {
    let clock = |min: f64| format!("{:02}:{:02}", 6 + min as i64 / 60, min as i64 % 60);
    PhaseSpan {
        phase,
        start_min,
        end_min,
        start_local: clock(start_min),
        end_local: clock(end_min),
        ..PhaseSpan::default()
    }
}

fn cook(id: &str, day: &str, fire: &str) -> CookReport {
    CookReport {
        card: Card {
            cook: id.into(),
            season: "2026".into(),
            fire: fire.into(),
            kind: Some(CookKind::Practice),
            cut: Some("brisket flat".into()),
            pit: Some("drum".into()),
            ..Card::default()
        },
        day: day.into(),
        meat_on_local: format!("{day} 06:00"),
        readings: 140,
        ..CookReport::default()
    }
}

fn judged() -> CookReport {
    let mut on_card = cook("meadow-1", "2026-04-04", "a");
    on_card.card.wood = Some("oak".into());
    CookReport {
        heating: vec![(200.0, 0.22), (240.0, 0.08), (330.0, 0.06), (420.0, 0.1), (500.0, 0.2)],
        measures: Measures {
            trimmed_weight_kg: Some(5.0),
            pit_early_c: Some(120.0),
            wrap_method: Some("paper".into()),
            wrap_at_core_c: Some(71.0),
            wrap_time_known: true,
            ramp_min: Some(240.0),
            k_ref_per_h: Some(0.223),
            stalls: Some(1),
            stall_min: Some(180.0),
            stall_min_lo90: Some(170.0),
            stall_min_hi90: Some(195.0),
            stall_delay_min: Some(160.0),
            push_min: Some(120.0),
            total_min: Some(540.0),
            min_per_kg: Some(108.0),
            pull_core_c: Some(94.0),
            carryover_c: Some(2.0),
            rest_min: Some(90.0),
            yield_fraction: Some(0.61),
            core_4_to_60_c_min: Some(226.0),
            come_up_min: Some(371.0),
            lethality_log10: Some(412.0),
            lethality_6_5_log10_min: Some(231.0),
            hold_lowest_core_c: Some(56.0),
            hold_below_57_c_min: Some(12.0),
            hold_below_60_c_min: Some(31.0),
            hold_observed_min: Some(80.0),
            hold_reason: Some("probe-out-before-the-slice".into()),
            cooling_to_21_c_min: Some(130.0),
            cooling_to_5_c_min: Some(240.0),
            cooling_to_5_c_censored: Some(true),
            pit_wet_bulb_c: Some(51.0),
            pit_dew_point_c: Some(42.0),
            pit_dew_point_source: Some("assumed".into()),
            pit_stall_c: Some(120.0),
            ..Measures::default()
        },
        phases: vec![
            PhaseSpan {
                start_core_c: Some(4.0),
                end_core_c: Some(68.0),
                ..span(PhaseKind::Ramp, 0.0, 240.0)
            },
            span(PhaseKind::Stall, 240.0, 420.0),
            span(PhaseKind::Push, 420.0, 540.0),
            span(PhaseKind::Rest, 540.0, 630.0),
        ],
        marks: vec![
            Mark { at_local: "06:00".into(), from: "card".into(), ..Mark::default() },
            Mark {
                kind: MarkKind::Wrap,
                at_min: 300.0,
                at_local: "11:00".into(),
                core_c: Some(71.0),
                from: "events".into(),
                detail: Some("paper".into()),
            },
            Mark {
                kind: MarkKind::Pull,
                at_min: 540.0,
                at_local: "15:00".into(),
                core_c: Some(94.0),
                from: "found in the log".into(),
                detail: None,
            },
        ],
        events: vec![EventNote {
            at_min: 120.0,
            at_local: "08:00".into(),
            event: Event {
                cook: on_card.card.cook.clone(),
                at_ms: 0,
                kind: EventKind::Setpoint,
                value: Some("250F".into()),
                note: Some("wind got up".into()),
            },
        }],
        curve: Some(Curve {
            series: vec![
                series(
                    "Flat",
                    ChannelRole::Core,
                    &[(0.0, 4.0), (240.0, 68.0), (420.0, 74.0), (540.0, 94.0), (630.0, 85.0)],
                ),
                series("Grate", ChannelRole::Pit, &[(0.0, 110.0), (540.0, 122.0), (630.0, 60.0)]),
            ],
        }),
        flags: vec![Counted { label: "reordered".into(), count: 2 }],
        cleaning: cleaning(),
        rejected_rows: 1,
        ..on_card
    }
}

/// One stretch of each kind, and two meats.
fn cleaning() -> Cleaning {
    let on = |channel: &str, flag: FlagKind, start_min: f64, end_min: f64| Stretch {
        row: FlagRow {
            channel: channel.into(),
            used_as: channel.into(),
            flag,
            removed: flag.removes(),
            readings: 2,
            ..FlagRow::default()
        },
        start_min,
        end_min,
        start_local: format!("{:02}:{:02}", 6 + start_min as i64 / 60, start_min as i64 % 60),
        points: Vec::new(),
    };
    let left_out = |flag, start_min: f64, end_min, temps: &[f64], size_c| {
        let mut stretch = on("Flat", flag, start_min, end_min);
        let points = temps.iter().enumerate();
        stretch.points = points
            .map(|(i, temp)| CurvePoint { min: start_min + 5.0 * i as f64, temp_c: Some(*temp) })
            .collect();
        stretch.row.readings = temps.len() as i64;
        stretch.row.size_c = size_c;
        stretch
    };
    let mut lid = on("Grate", FlagKind::LidOpen, 298.0, 312.0);
    lid.row.size_c = Some(-31.0);
    let mut exchanged = on("Grate", FlagKind::Exchanged, 150.0, 190.0);
    exchanged.row.used_as = "Flat".into();
    Cleaning {
        channels: vec![
            ChannelRow {
                channel: "Flat".into(),
                part: ChannelPart::Lead,
                lead_reason: Some(LeadReason::LastToArrive),
                readings: 63,
                calibration: CalibrationSource::Ice,
                offset_c: -0.5,
                ice_c: Some(0.5),
                ..ChannelRow::default()
            },
            ChannelRow {
                channel: "Point".into(),
                part: ChannelPart::OtherMeat,
                readings: 63,
                mean_difference_c: Some(4.2),
                difference_at_finish_c: Some(2.0),
                finish_after_lead_min: Some(-40.0),
                ..ChannelRow::default()
            },
            ChannelRow {
                channel: "Grate".into(),
                part: ChannelPart::Pit,
                readings: 63,
                calibration: CalibrationSource::Stated,
                offset_c: 1.0,
                ..ChannelRow::default()
            },
        ],
        stretches: vec![
            left_out(FlagKind::Impossible, 30.0, 30.0, &[400.0], None),
            left_out(FlagKind::Spike, 100.0, 100.0, &[56.0], Some(25.0)),
            left_out(FlagKind::WrapDip, 300.0, 310.0, &[61.0, 65.0, 68.0], Some(-9.0)),
            left_out(FlagKind::Stuck, 450.0, 465.0, &[76.0, 76.0, 76.0, 76.0], None),
            left_out(FlagKind::Unplugged, 500.0, 530.0, &[], None),
            lid,
            exchanged,
            on("Grate", FlagKind::Gap, 560.0, 600.0),
        ],
        to_check: vec!["The log shows nothing of `wrap` within 15 min of the stated time.".into()],
    }
}

fn censored() -> CookReport {
    CookReport {
        measures: Measures {
            trimmed_weight_kg: Some(6.5),
            pit_early_c: Some(112.0),
            wrap_method: Some("foil".into()),
            wrap_time_known: false,
            ramp_min: Some(280.0),
            stalls: Some(1),
            stall_min: Some(210.0),
            stall_min_censored: Some(true),
            stall_min_lo90: Some(198.0),
            stall_delay_min: Some(190.0),
            stall_delay_censored: Some(true),
            total_min: Some(490.0),
            total_min_censored: Some(true),
            ..Measures::default()
        },
        phases: vec![
            span(PhaseKind::Ramp, 0.0, 280.0),
            PhaseSpan { complete: false, ..span(PhaseKind::Stall, 280.0, 490.0) },
        ],
        curve: Some(Curve {
            series: vec![series(
                "Flat",
                ChannelRole::Core,
                &[(0.0, 5.0), (280.0, 67.0), (490.0, 72.0)],
            )],
        }),
        cautions: vec!["The log ends while the meat is still on.".into()],
        ..cook("meadow-2", "2026-04-04", "a")
    }
}

fn unknown() -> CookReport {
    let reason = "the log starts with the core at 52 °C";
    CookReport {
        measures: Measures {
            not_judged_reason: Some(reason.into()),
            wrap_method: Some("none".into()),
            wrap_time_known: true,
            ..Measures::default()
        },
        phases: vec![PhaseSpan {
            reason: Some(reason.into()),
            ..span(PhaseKind::Unknown, 0.0, 400.0)
        }],
        ..cook("meadow-3", "2026-05-16", "b")
    }
}

fn spread(column: &str, [median, min, max]: [f64; 3], at_least: bool) -> Spread {
    let column = column.to_owned();
    let median = Some(median);
    Spread { column, cooks: 2, median, at_least, min, max, censored: usize::from(at_least) }
}

/// What the study found of them.
fn study() -> StudyResult {
    let mut study: StudyResult = serde_json::from_str(include_str!("study.json")).expect("a study");
    study.provenance.settings_hash = "00ff".repeat(16);
    study.provenance.inputs =
        vec![InputHash { path: "logs/april.csv".into(), sha256: "11ee".repeat(16) }];
    study.cost_side = cost::cost();
    study.levers = levers::levers();
    study.season.comparisons = vec![whole::comparisons()];
    study.forecast_backtest = Some(forecasts());
    study
}

/// Forecasts of past cooks, invented.
fn forecasts() -> ForecastBacktest {
    let band = |from_h, to_h, moments, off_min| BacktestBand {
        from_h,
        to_h,
        moments,
        off_min,
        covered: 0.81,
        same_core_off_min: Some(1.5 * off_min),
        by_weight_off_min: (moments > 20).then_some(3.0 * off_min),
    };
    ForecastBacktest {
        cooks: 400,
        fires: 210,
        of_cooks: 460,
        seed: 7,
        level: 0.8,
        bands: vec![
            band(Some(0.0), Some(1.0), 20, 6.0),
            band(Some(6.0), None, 1_200, 74.0),
            band(None, None, 2_900, 41.0),
        ],
        plans: Some(PlanCheck { certainty: 0.9, cooks: 380, on_time: 346, wait_min: 131.0 }),
        reason: None,
    }
}

/// The season.
pub(crate) fn season() -> ReportData {
    ReportData {
        team: "The Orchard Row Smokers".into(),
        seasons: vec!["2026".into()],
        time_zone: "Europe/Prague".into(),
        summary: Summary {
            by_hand: 0,
            pit_from_setpoint: 0,
            cooks: 3,
            fires: 2,
            cooking_hours: 23.8,
            readings: 420,
            first_day: Some("2026-04-04".into()),
            last_day: Some("2026-05-16".into()),
            raw_weight_kg: None,
            cuts: vec![Counted { label: "brisket flat".into(), count: 3 }],
            pits: vec![Counted { label: "drum".into(), count: 3 }],
            wraps: vec![
                Counted { label: "none".into(), count: 1 },
                Counted { label: "paper".into(), count: 1 },
            ],
            kinds: Vec::new(),
            rows: vec![spread("stall_min", [180.0, 180.0, 210.0], true)],
        },
        cooks: vec![judged(), censored(), unknown()],
        spread: BTreeMap::from(
            [
                spread("stall_min", [195.0, 180.0, 210.0], true),
                spread("core_4_to_60_c_min", [240.0, 226.0, 254.0], false),
            ]
            .map(|spread| (spread.column.clone(), spread)),
        ),
        study: study(),
        contests: vec![ContestCook {
            cook: "meadow-1".into(),
            contest: Some("Quarry Lane".into()),
            turn_in_margin_min: Some(95.0),
            late_min: Some(-20.0),
            scores: vec![("Taste score".into(), 7.5)],
        }],
        bests: vec![Best {
            what: "Yield".into(),
            cooks: vec!["meadow-1".into()],
            value: 0.61,
            quantity: Quantity::Fraction,
            of: 2,
        }],
        rejected: vec![RejectedRow {
            source: "logs/april.csv".into(),
            line: 17,
            byte: 512,
            column: Some("Flat".into()),
            code: "bad-number".into(),
            text: "6O.1".into(),
        }],
        rejected_total: 3,
        excluded: vec![Excluded { cook: "meadow-4".into(), reason: "the probe fell out".into() }],
        refused_logs: vec![RefusedLog {
            source: "logs/odd.csv".into(),
            reason: "no column looks like a time".into(),
            remedy: None,
        }],
        sources: vec![SourceAccount {
            source: "logs/april.csv".into(),
            layout: "wide".into(),
            account: LineAccount {
                lines: 143,
                header: 1,
                data: 141,
                rejected: 1,
                readings: 281,
                rejected_cells: 1,
                ..LineAccount::default()
            },
        }],
        ..ReportData::default()
    }
}
