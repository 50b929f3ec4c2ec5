//! Packs `sample-data/` into the command, so that the folder is the only copy to keep.
//!
//! All files stand one after the other in one gzip stream; beside it, as Rust source, their names
//! and lengths.

use flate2::{Compression, write::GzEncoder};
use std::io::Write;
use std::path::Path;
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let sample = Path::new("sample-data");
    println!("cargo::rerun-if-changed={}", sample.display());
    let mut names = names(sample, "")?;
    // `run sample-data` leaves a store and a report there.
    names.retain(|name| !name.starts_with("store/") && !name.starts_with("out/"));
    names.sort();

    let out = env::var_os("OUT_DIR").ok_or(io::ErrorKind::NotFound)?;
    let archive = fs::File::create(Path::new(&out).join("sample.gz"))?;
    let mut archive = GzEncoder::new(archive, Compression::best());
    let mut index = String::from("&[\n");
    for name in names {
        let bytes = fs::read(sample.join(&name))?;
        archive.write_all(&bytes)?;
        index += &format!("    ({name:?}, {}),\n", bytes.len());
    }
    archive.finish()?;
    index.push_str("]\n");
    fs::write(Path::new(&out).join("sample.rs"), index)
}

/// Every file below a folder, with `/` between the parts of its name.
fn names(folder: &Path, prefix: &str) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            found.extend(names(&entry.path(), &format!("{name}/"))?);
        } else {
            found.push(name);
        }
    }
    Ok(found)
}
