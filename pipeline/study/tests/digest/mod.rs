//! A result as few lines that a person reads: an estimate and its interval in one, a model by its
//! name, numbers to six digits.

use serde_json::{Map, Value};

/// Left out, for tests beside their computation hold them: points of drawn lines (`drivers`), curves
/// of finishing (`season`), residuals and weighty cooks (`drivers::checks`), and the claim as asked,
/// which stands in this test.
const LEFT_OUT: [&str; 7] =
    ["asked", "at_risk", "checks", "influential", "line", "risk_at_min", "steps"];
/// A line no longer than this is not broken up.
const WIDE: usize = 150;

/// The lines of a result.
pub(crate) fn digest(value: &Value) -> String {
    let mut lines = Vec::new();
    put(value, "", 0, &mut lines);
    lines.join("\n")
}

fn put(value: &Value, name: &str, depth: usize, lines: &mut Vec<String>) {
    let indent = "  ".repeat(depth);
    let whole =
        format!("{indent}{name}{}{}", if name.is_empty() { "" } else { ": " }, short(value));
    match value {
        Value::Object(map) if whole.chars().count() > WIDE => {
            lines.push(format!("{indent}{}:", title(name, map)));
            for (name, value) in told(map) {
                put(value, name, depth + 1, lines);
            }
        }
        Value::Array(values) if whole.chars().count() > WIDE => {
            lines.push(format!("{indent}{name}:"));
            for value in values {
                put(value, "", depth + 1, lines);
            }
        }
        _ => lines.push(whole),
    }
}

/// An entry of a list goes by what it is about.
fn title(name: &str, map: &Map<String, Value>) -> String {
    let about = ["id", "by", "outcome", "level", "wrap", "season"];
    let own = about.iter().find_map(|key| map.get(*key)?.as_str());
    if name.is_empty() { own.unwrap_or("-").to_owned() } else { name.to_owned() }
}

fn told(map: &Map<String, Value>) -> impl Iterator<Item = (&String, &Value)> {
    map.iter().filter(|(name, value)| {
        let is_empty = match value {
            Value::Null => true,
            Value::Array(values) => values.is_empty(),
            Value::Object(map) => map.is_empty(),
            _ => false,
        };
        !is_empty && !LEFT_OUT.contains(&name.as_str())
    })
}

/// A term of a model: its estimate and what that is off by.
fn term(value: &Value) -> String {
    let of = |key: &str| value.get(key).map_or_else(String::new, short);
    format!("{} {} ({} to {})", of("term"), of("estimate"), of("lo"), of("hi"))
}

fn short(value: &Value) -> String {
    match value {
        Value::Object(map) => {
            if let (Some(name), Some(Value::Array(terms))) = (map.get("name"), map.get("terms")) {
                let terms: Vec<String> = terms.iter().map(term).collect();
                return format!("{}: {}", short(name), terms.join("; "));
            }
            let is_interval = ["estimate", "lo", "hi"].iter().all(|end| map.contains_key(*end));
            let mut parts = Vec::new();
            if is_interval {
                let [estimate, lo, hi] = ["estimate", "lo", "hi"].map(|end| short(&map[end]));
                parts.push(format!("{estimate} ({lo} to {hi})"));
            }
            let others = told(map).filter(|(name, _)| {
                !is_interval || !["estimate", "lo", "hi"].contains(&name.as_str())
            });
            parts.extend(others.map(|(name, value)| format!("{name} {}", short(value))));
            format!("[{}]", parts.join(", "))
        }
        Value::Array(values) => values.iter().map(short).collect::<Vec<_>>().join("; "),
        Value::Number(number) if number.is_f64() => {
            let text = format!("{:.5e}", number.as_f64().unwrap());
            text.parse::<f64>().unwrap().to_string()
        }
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
