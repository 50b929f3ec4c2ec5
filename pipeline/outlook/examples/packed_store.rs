//! A store of simulated cooks, as large as one likes: what `docs/scale.md` measures on.
//!
//! ```sh
//! cargo run --release -p outlook --example packed_store -- FOLDER COOKS [SEED]
//! ```
//!
//! Every cook is another one: its meat, weather, wander and noise have draws of their own.

use outlook::simulated::Recorded;
use rayon::prelude::*;
use rows::CookRecord;
use rows::hash::Fingerprint;
use std::path::PathBuf;
use store::{Ingested, Store};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let usage = "packed_store FOLDER COOKS [SEED]";
    let folder = PathBuf::from(arguments.next().ok_or(usage)?);
    let cooks: usize = arguments.next().ok_or(usage)?.parse()?;
    let seed: u64 = arguments.next().map_or(Ok(1), |seed| seed.parse())?;
    let team = simulate::TeamModel::middling();
    let store = Store::create(&folder)?;
    let _lock = store.lock()?;
    let batch = store.readings_batch()?;
    let (mut records, mut events, mut fire) = (Vec::new(), Vec::new(), 0);
    while records.len() < cooks {
        // Fires side by side, some dozen in memory at once.
        let some: Vec<Vec<Recorded>> = (fire..fire + 32)
            .into_par_iter()
            .map(|index| {
                let fire = team.fire(seed, index)?;
                let truth = fire.run()?;
                Ok(Recorded::of_fire(&fire, &truth, "team"))
            })
            .collect::<Result<_, simulate::SimulateError>>()?;
        fire += 32;
        for cook in some.into_iter().flatten().take(cooks - records.len()) {
            batch.write(&cook.readings)?;
            let mut hash = Fingerprint::new("simulated cook", 1);
            hash.json(&(seed, &cook.card));
            records.push(CookRecord {
                log_start_ms: cook.readings.first_ms(),
                log_end_ms: cook.readings.last_ms(),
                computed_from: hash.finish(),
                card: cook.card,
            });
            events.extend(cook.events);
        }
    }
    batch.finish()?;
    let ingested =
        Ingested { events: &events, scores: &[], rejected: &[], sources: &[], cooks: &records };
    store.encode_ingested(ingested)?.write()?;
    println!("{} cooks of {fire} fires in {}", records.len(), folder.display());
    Ok(())
}
