//! The other levers, invented: one told, one refused.

use serde_json::{Value, json};
use study::result::lever::Lever;

fn effect(estimate: f64, lo: f64, hi: f64) -> Value {
    json!({
        "estimate": estimate, "std_error": 1.0, "lo": lo, "hi": hi, "level": 0.95, "cooks": 58,
        "fires": 41, "steps": 900, "given": 24,
    })
}

fn quartiles(lower: f64, median: f64, upper: f64, n: usize) -> Value {
    json!({ "lower": lower, "median": median, "upper": upper, "n": n })
}

/// A raised set-point that brings the finish nearer, and a spray of which too few are noted.
pub(super) fn levers() -> Vec<Lever> {
    serde_json::from_value(json!([raised(), sprayed()])).expect("two levers")
}

fn raised() -> Value {
    json!({
        "lever": "setpoint-raised",
        "n": 60,
        "fires": 42,
        "left_out": [{ "reason": "no weight", "cooks": 2 }],
        "used": {
            "cooks_with": 24, "cooks_without": 36, "doses": 24.0,
            "per_cook": quartiles(1.0, 1.0, 1.0, 24),
            "minute": quartiles(80.0, 120.0, 190.0, 24),
            "core_c": quartiles(66.0, 68.5, 72.0, 24),
            "in_stall": 0.7, "in_stall_at_all": 0.4,
        },
        "naive_min": 14.0,
        "per_dose_min": effect(-31.0, -52.0, -10.0),
        "per_dose_reason": null,
        "half_hour_c": effect(0.5, 0.1, 0.9),
        "strategies": {
            "strategies": ["raised within 60 min of 68 °C", "never raised"],
            "horizon_min": 310.0, "eligible": 58, "stayed": [21, 36], "effective": [15.0, 33.0],
            "mean_min": [300.0, 328.0], "difference_min": -28.0, "std_error": 16.0, "lo": -60.0,
            "hi": 4.0, "naive_min": 9.0, "unweighted_min": -20.0, "resamples": 200,
            "resamples_failed": 0,
        },
        "strategies_reason": null,
        "described": [{
            "measure": "pit_sd_c",
            "with": quartiles(6.0, 7.0, 8.0, 24),
            "without": quartiles(3.0, 4.0, 5.0, 36),
        }],
        "pit_fall_c": null,
        "pit_back_min": null,
        "notes": [],
        "models": [{
            "name": "cox", "method": "", "n": 60, "events": 55, "log_likelihood": null,
            "residual_variance": null, "random": [],
            "terms": [{
                "term": "doses_so_far", "estimate": 1.3_f64.ln(), "std_error": 0.25,
                "lo": 0.8_f64.ln(), "hi": 2.1_f64.ln(), "df": null, "statistic": 1.0, "p": 0.3,
            }],
        }],
    })
}

fn sprayed() -> Value {
    json!({
        "lever": "spritz",
        "n": 60,
        "fires": 42,
        "left_out": [{ "reason": "no weight", "cooks": 2 }],
        "used": {
            "cooks_with": 3, "cooks_without": 57, "doses": 7.0,
            "per_cook": quartiles(2.0, 2.0, 3.0, 3),
            "minute": quartiles(30.0, 60.0, 90.0, 7),
            "core_c": quartiles(58.0, 62.0, 66.0, 7),
            "in_stall": 0.6, "in_stall_at_all": 0.4,
        },
        "naive_min": 8.0,
        "per_dose_min": null,
        "per_dose_reason": "3 cooks with it seen to the end, 20 are needed: 17 more are missing",
        "half_hour_c": null,
        "strategies": null,
        "strategies_reason": null,
        "described": [],
        "pit_fall_c": quartiles(8.0, 12.0, 17.0, 9),
        "pit_back_min": quartiles(3.0, 4.0, 6.0, 9),
        "notes": [],
        "models": [],
    })
}
