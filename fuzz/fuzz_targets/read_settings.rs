//! Any text gives an error that names the file, or settings.

#![no_main]

use cook::Season;
use libfuzzer_sys::fuzz_target;
use std::path::Path;

fuzz_target!(|text: &str| {
    if let Err(error) = cook::settings::parse::<Season>(text, Path::new("season.toml")) {
        assert!(error.to_string().starts_with("season.toml"));
    }
});
