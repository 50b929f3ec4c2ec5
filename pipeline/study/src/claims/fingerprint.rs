//! The hash of a claim.

use super::Claim;
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;

pub(super) fn hash(claim: &Claim) -> String {
    let mut text = String::from("cookstudy/claim/1\n");
    match serde_json::to_value(claim) {
        Ok(value) => canonical(&value, &mut text),
        // Only a map with keys that are no strings could fail, and a claim has none; the
        // debug form also shows every value.
        Err(_) => _ = write!(text, "{claim:?}"),
    }
    hex(&Sha256::digest(text.as_bytes()))
}

/// Bytes in hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut hex, byte| {
        _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// JSON without white space and with sorted keys, however the JSON library keeps its maps.
fn canonical(value: &Value, text: &mut String) {
    match value {
        Value::Object(map) => {
            let mut entries: Vec<_> = map.iter().collect();
            entries.sort_by(|a, b| a.0.cmp(b.0));
            text.push('{');
            for (position, (key, value)) in entries.into_iter().enumerate() {
                if position > 0 {
                    text.push(',');
                }
                _ = write!(text, "{}:", Value::String(key.clone()));
                canonical(value, text);
            }
            text.push('}');
        }
        Value::Array(values) => {
            text.push('[');
            for (position, value) in values.iter().enumerate() {
                if position > 0 {
                    text.push(',');
                }
                canonical(value, text);
            }
            text.push(']');
        }
        other => _ = write!(text, "{other}"),
    }
}

#[cfg(test)]
mod tests {
    use crate::claims::Claims;
    use crate::claims::samples::TREND as CLAIM;
    use std::path::Path;

    fn hash(text: &str) -> String {
        Claims::parse(text, Path::new("claims.toml")).unwrap().claims[0].hash()
    }

    #[test]
    fn layout_order_and_written_out_defaults_do_not_count() {
        let other = r#"
claim = [{ matters = 10.0, per = 5, adjust = ["trimmed_weight_kg"], by = "pit_early_c", # why
  better = "lower", outcome = "stall_delay_min", kind = "trend", scale = "identity",
  judge_after_cooks = 40, says = "A hotter pit shortens the stall", id = 'hotter-pit' }]
"#;
        assert_eq!(hash(CLAIM), hash(other));
        assert_eq!(hash(CLAIM).len(), 64);
    }

    #[test]
    fn every_value_counts() {
        let first = hash(CLAIM);
        for (from, to) in [
            ("\"hotter-pit\"", "\"hotter\""),
            ("shortens", "lengthens"),
            ("outcome = \"stall_delay_min\"", "outcome = \"stall_min\""),
            ("\"lower\"", "\"higher\""),
            ("\"pit_early_c\"", "\"pit_mean_c\""),
            ("5.0", "5.000001"),
            ("\"trimmed_weight_kg\"", "\"raw_weight_kg\""),
            ("adjust = [\"trimmed_weight_kg\"]", ""),
            ("matters = 10", "matters = 11"),
            ("matters = 10", "matters = 10\nscale = \"log\""),
            ("matters = 10", "matters = 10\njudge_after_cooks = 41"),
            ("matters = 10", "matters = 10\ngroup = [\"fire\"]"),
        ] {
            assert!(CLAIM.contains(from), "{from}");
            assert_ne!(hash(&CLAIM.replace(from, to)), first, "{from} -> {to}");
        }
    }

    #[test]
    fn the_hash_is_that_of_the_canonical_text() {
        // Worked by hand: the text below put through `sha256sum`.
        let text = concat!(
            "cookstudy/claim/1\n",
            r#"{"adjust":["trimmed_weight_kg"],"better":"lower","by":"pit_early_c","#,
            r#""id":"hotter-pit","judge_after_cooks":40,"kind":"trend","matters":10.0,"#,
            r#""outcome":"stall_delay_min","per":5.0,"#,
            r#""says":"A hotter pit shortens the stall","scale":"identity"}"#,
        );
        assert_eq!(text.len(), 255);
        assert_eq!(hash(CLAIM), "8ceb4bd696a080675ebcb295a4ba2df52f929bc5000c3f9bdc12a240c773fe9b");
    }
}
