//! The whole run at two sizes: readings a second and peak memory.
//!
//! `cargo bench --bench end_to_end` (release), or with `--profile dev` for the build that
//! the README's commands make. Seasons are copies of the bundled one, each copy with cooks,
//! logs and pits of its own. Peak memory is read from `/proc` (Linux); elsewhere it is not
//! known.

mod seasons;

use seasons::{readings_of, run, write_season};

const COPIES: [usize; 2] = [1, 20];

fn main() {
    for copies in COPIES {
        let folder = tempfile::tempdir().unwrap();
        let (cooks, bytes) = write_season(folder.path(), copies);
        let run = run(folder.path(), &["run"]);
        let (seconds, readings) = (run.seconds, readings_of(&run));
        println!(
            "{cooks} cooks, {readings} readings, {:.1} MB of logs: {seconds:.2} s, {:.0} readings/s, {:.0} cooks/min, peak memory {}",
            bytes as f64 / 1e6,
            readings / seconds,
            cooks as f64 / seconds * 60.0,
            run.peak(),
        );
    }
}
