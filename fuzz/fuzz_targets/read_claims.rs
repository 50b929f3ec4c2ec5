//! Any text gives an error that names the file, or claims whose numbers are finite.

#![no_main]

use libfuzzer_sys::fuzz_target;
use std::path::Path;
use study::Claims;

fuzz_target!(|text: &str| {
    match Claims::parse(text, Path::new("claims.toml")) {
        Ok(claims) => assert!(claims.claims.iter().all(|claim| claim.matters.is_finite())),
        Err(error) => assert!(error.to_string().contains("claims.toml")),
    }
});
