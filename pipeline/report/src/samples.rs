//! Results to test with, invented.

use study::result::lever::Lever;
use study::result::{ClaimResult, Model};

fn claim(asked: &serde_json::Value, effect: &serde_json::Value) -> ClaimResult {
    let claim = serde_json::json!({
        "id": asked["id"],
        "says": asked["says"],
        "kind": asked["kind"],
        "asked": asked,
        "verdict": "yes",
        "standing": "confirmed",
        "confirming_cooks": 40,
        "judge_after_cooks": 40,
        "family_size": 2,
        "direction": "for",
        "reason": null,
        "effect": effect,
        "n": 40,
        "fires": 20,
        "left_out": [],
        "other_ways": [],
        "leave_one_fire_out": null,
        "specifications": null,
        "cooks_still_needed": null,
        "notes": [],
        "models": [],
        "wrap_timing": null,
    });
    serde_json::from_value(claim).expect("a claim")
}

/// Foil against paper: 100 min less.
pub(crate) fn comparison() -> ClaimResult {
    let asked = serde_json::json!({
        "id": "foil-or-paper",
        "says": "Foil finishes sooner than paper",
        "kind": "compare",
        "outcome": "clock_to_finish_min",
        "better": "lower",
        "by": "arm",
        "levels": ["foil", "paper"],
        "matters": 30.0,
    });
    let effect = serde_json::json!({
        "estimate": -100.0, "lo": -138.0, "hi": -62.0, "level": 0.95, "unit": "min", "d": 100.0,
    });
    claim(&asked, &effect)
}

/// A hotter pit: 20 min less per 5 °C.
pub(crate) fn trend() -> ClaimResult {
    let asked = serde_json::json!({
        "id": "hotter-pit",
        "says": "A hotter pit shortens the stall",
        "kind": "trend",
        "outcome": "stall_delay_min",
        "better": "lower",
        "by": "pit_early_c",
        "per": 5.0,
        "matters": 10.0,
    });
    let effect = serde_json::json!({
        "estimate": -20.0, "lo": -30.0, "hi": null, "level": 0.95, "unit": "min", "d": 20.0,
    });
    claim(&asked, &effect)
}

/// A model without terms.
pub(crate) fn model(name: &str) -> Model {
    Model {
        name: name.into(),
        method: String::new(),
        n: 0,
        events: 0,
        log_likelihood: None,
        residual_variance: None,
        random: Vec::new(),
        terms: Vec::new(),
    }
}

/// Sprays: what one adds to the time to the finish with its interval, or why that is not told.
pub(crate) fn spray(per_dose_min: Option<[f64; 3]>, reason: Option<&str>) -> Lever {
    let effect = per_dose_min.map(|[estimate, lo, hi]| {
        serde_json::json!({
            "estimate": estimate, "std_error": 1.0, "lo": lo, "hi": hi, "level": 0.95,
            "cooks": 60, "fires": 40, "steps": 900, "given": 120,
        })
    });
    let lever = serde_json::json!({
        "lever": "spritz",
        "n": 60,
        "fires": 40,
        "left_out": [],
        "used": {
            "cooks_with": 30, "cooks_without": 30, "doses": 120.0, "per_cook": null,
            "minute": null, "core_c": null, "in_stall": null, "in_stall_at_all": null,
        },
        "naive_min": null,
        "per_dose_min": effect,
        "per_dose_reason": reason,
        "half_hour_c": null,
        "strategies": null,
        "strategies_reason": null,
        "described": [],
        "pit_fall_c": null,
        "pit_back_min": null,
        "notes": [],
        "models": [],
    });
    serde_json::from_value(lever).expect("a lever")
}
