//! What faster costs, invented: lots drawn between foil and paper, a pit temperature that goes
//! along, and cooks felt to be tender.

use serde_json::{Value, json};
use study::result::cost::CostSide;

/// One treatment of each standing that is shown in its own way.
pub(super) fn cost() -> CostSide {
    let answers = json!([
        of_lots(
            "clock_to_finish_min",
            "time",
            "lower",
            &difference([-92.0, -120.0, -64.0], "better")
        ),
        bark(),
        of_lots("score_taste", "score", "higher", &difference([0.1, -0.3, 0.5], "cannot-tell")),
        of_lots("cost_per_served_kg", "cost", "lower", &cheaper()),
        yields_by_pit_temperature(),
        refused("pit_early_c", "score_bark", "the outcome is the same in all"),
        refused("wood", "score_taste", "too few cooks"),
    ]);
    serde_json::from_value(json!({ "answers": answers, "tender": tender() })).expect("a cost side")
}

fn difference([estimate, lo, hi]: [f64; 3], finding: &str) -> Value {
    json!({
        "term": "arm[foil-160]", "level": "foil-160", "per": null, "per_unit": null,
        "estimate": estimate, "lo": lo, "hi": hi, "unit": "", "odds_ratio": null,
        "good_score": null, "p": 0.02, "p_adjusted": 0.04, "finding": finding,
    })
}

fn answer(treatment: &str, standing: &str, outcome: &str, kind: &str, better: &str) -> Value {
    json!({
        "outcome": outcome, "kind": kind, "better": better, "treatment": treatment,
        "standing": standing, "base": null, "effects": [], "levels": [], "adjusted_for": [],
        "reason": null, "n": 40, "fires": 20, "censored": 0, "left_out": [],
        "proportional_odds_p": null, "without_one_fire": null, "notes": [], "models": [],
    })
}

/// An answer where lots were drawn between foil and paper.
fn of_lots(outcome: &str, kind: &str, better: &str, effect: &Value) -> Value {
    let level = |name: &str| json!({ "level": name, "cooks": 20, "fires": 10, "median": 1.0 });
    let mut answer = answer("arm", "randomised", outcome, kind, better);
    answer["base"] = json!("paper-160");
    answer["effects"] = json!([effect]);
    answer["levels"] = json!([level("foil-160"), level("paper-160")]);
    answer["adjusted_for"] = json!(["trimmed_weight_kg", "pit_early_c"]);
    answer["without_one_fire"] = json!({ "fires": 20, "not_fitted": 0, "changing": [] });
    answer
}

/// A score with everything that is told of one: odds, a good score, the mixed model, doubts.
fn bark() -> Value {
    let mut effect = difference([-0.85, -1.2, -0.5], "worse");
    effect["odds_ratio"] = json!({ "estimate": 0.18, "lo": 0.07, "hi": 0.44 });
    effect["good_score"] =
        json!({ "score": 7.0, "share": 55.0, "estimate": -34.0, "lo": -51.0, "hi": null });
    let mut answer = of_lots("score_bark", "score", "higher", &effect);
    answer["proportional_odds_p"] = json!(0.01);
    answer["without_one_fire"]["changing"] = json!([["meadow-1", "meadow-2"]]);
    answer["models"] = json!([{
        "name": "mixed", "method": "", "n": 40, "events": 40, "log_likelihood": null,
        "residual_variance": null, "random": [],
        "terms": [{
            "term": "arm[foil-160]", "estimate": -0.8, "std_error": 0.15, "lo": -1.1, "hi": -0.5,
            "df": 18.0, "statistic": -5.3, "p": 0.0001,
        }],
    }]);
    answer
}

fn cheaper() -> Value {
    let mut effect = difference([-1.2, -2.3, -0.1], "perhaps-better");
    effect["p"] = json!(0.0004);
    effect["p_adjusted"] = json!(0.11);
    effect
}

/// The change per 5 °C; fires were not left out in turn.
fn yields_by_pit_temperature() -> Value {
    let mut effect = difference([-0.005, -0.015, -0.001], "perhaps-worse");
    effect["term"] = json!("pit_early_c");
    effect["level"] = Value::Null;
    effect["per"] = json!(5.0);
    effect["per_unit"] = json!("°C");
    let mut answer = answer("pit_early_c", "association", "yield_fraction", "yield", "higher");
    answer["effects"] = json!([effect]);
    answer
}

fn refused(treatment: &str, outcome: &str, reason: &str) -> Value {
    let mut answer = answer(treatment, "association", outcome, "score", "higher");
    answer["reason"] = json!(reason);
    answer
}

fn tender() -> Value {
    let quantile = |share: f64, core: Option<f64>, lo: Option<f64>, hi: Option<f64>| json!({ "share": share, "core_c": core, "lo_c": lo, "hi_c": hi });
    let quantiles = |half: f64| -> Vec<Value> {
        let around = [(0.1, half - 3.0), (0.5, half), (0.9, half + 3.0)];
        around.map(|(share, c)| quantile(share, Some(c), Some(c - 0.8), Some(c + 0.9))).to_vec()
    };
    let mut open = quantiles(94.5);
    open[2] = quantile(0.9, None, Some(96.0), None);
    let step = |above: Option<f64>, by: Option<f64>, share: f64| json!({ "above_c": above, "by_c": by, "share": share });
    json!({
        "groups": [
            {
                "by": null, "level": null, "n": 38, "fires": 30, "tender_at_first": 4,
                "never_tender": 3,
                "turnbull": {
                    "steps": [
                        step(None, Some(90.0), 0.1),
                        step(Some(92.0), Some(92.6), 0.2),
                        step(Some(94.0), Some(94.4), 0.35),
                        step(Some(96.5), Some(97.2), 0.25),
                        step(Some(98.0), None, 0.1),
                    ],
                    "quantiles": open,
                    "log_likelihood": null,
                },
                "normal": quantiles(94.1), "reason": null, "model": null,
            },
            {
                "by": "wrap_method", "level": "boat", "n": 4, "fires": 3, "tender_at_first": 0,
                "never_tender": 0, "turnbull": null, "normal": [], "reason": "too few cooks",
                "model": null,
            },
        ],
        "differences": [{
            "by": "wrap_method", "level": "foil", "base": "none", "estimate": 1.1, "lo": -0.2,
            "hi": 2.4, "p": 0.1,
        }],
        "intervals": [],
        "reason": null,
        "left_out": [{ "reason": "no probe test", "cooks": 5 }],
        "model": {
            "name": "interval-censored-normal", "method": "", "n": 40, "events": 37,
            "log_likelihood": null, "residual_variance": null, "random": [], "terms": [],
        },
        "notes": [],
    })
}
