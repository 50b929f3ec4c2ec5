//! Writes the sample seasons under a folder: `sample-data/` at the project's root unless
//! another is named.
//!
//! `cargo run -p simulate --example write_sample_data [DIR]`

use std::path::PathBuf;

fn main() -> std::io::Result<()> {
    let default = concat!(env!("CARGO_MANIFEST_DIR"), "/../../sample-data");
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| default.to_owned()));
    let files = simulate::sample_season();
    let bytes: usize = files.iter().map(|(_, bytes)| bytes.len()).sum();
    for (path, bytes) in &files {
        let path = folder.join(path);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(path, bytes)?;
    }
    println!("{} files, {bytes} bytes in {}", files.len(), folder.display());
    Ok(())
}
