//! Readings of many cooks, each synced while the next are being made.
//!
//! A sync waits for the disk, for milliseconds in which a processor could read the next log.
//! So files are filled where they are made, and synced and put in their place by threads that
//! do nothing but wait.

use crate::Store;
use crate::atomic::{Beside, sync_folder};
use crate::error::StoreError;
use cook::CookReadings;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;

/// Threads that wait for the disk; several, because file systems put syncs that come together
/// into one.
const WAITING: usize = 8;

/// Readings that are being written. Each file is replaced whole or not at all; that all of
/// them are, [`ReadingsBatch::finish`] says.
#[derive(Debug)]
pub struct ReadingsBatch<'s> {
    store: &'s Store,
    queue: Option<SyncSender<Beside>>,
    threads: Vec<JoinHandle<Result<(), StoreError>>>,
    folders: Mutex<BTreeSet<PathBuf>>,
}

impl Store {
    /// Begins to write the readings of many cooks.
    pub fn readings_batch(&self) -> ReadingsBatch<'_> {
        let (queue, files) = sync_channel(WAITING);
        let files = Arc::new(Mutex::new(files));
        let threads = (0..WAITING).map(|_| {
            let files = Arc::clone(&files);
            std::thread::spawn(move || put_in_place(&files))
        });
        let threads = threads.collect();
        ReadingsBatch { store: self, queue: Some(queue), threads, folders: Mutex::default() }
    }
}

/// Puts files in their place until there are no more; the first error is told.
fn put_in_place(files: &Mutex<Receiver<Beside>>) -> Result<(), StoreError> {
    let next = || files.lock().unwrap_or_else(PoisonError::into_inner).recv();
    let mut told = Ok(());
    while let Ok(file) = next() {
        let done = file.take_its_place();
        told = told.and(done);
    }
    told
}

impl ReadingsBatch<'_> {
    /// Writes one cook's readings.
    ///
    /// # Errors
    /// [`StoreError::Clash`] where another season of the store has a cook of this name;
    /// [`StoreError::Io`].
    pub fn write(&self, readings: &CookReadings) -> Result<(), StoreError> {
        let (path, bytes) = self.store.readings_file(readings)?;
        let Some(beside) = Beside::unless_equal(&path, &bytes)? else { return Ok(()) };
        if let (Some(folder), Ok(mut folders)) = (path.parent(), self.folders.lock())
            && !folders.contains(folder)
        {
            folders.insert(folder.to_owned());
        }
        let sent = match &self.queue {
            Some(queue) => queue.send(beside).map_err(|unsent| unsent.0),
            None => Err(beside),
        };
        // Without a thread to do it, it is done here.
        sent.or_else(Beside::take_its_place)
    }

    /// Waits until all that was written is in its place and will survive a power cut.
    ///
    /// # Errors
    /// The first [`StoreError::Io`] of any file; the old file is then still whole.
    pub fn finish(mut self) -> Result<(), StoreError> {
        let result = self.wait();
        let folders = self.folders.get_mut().unwrap_or_else(PoisonError::into_inner);
        for folder in folders.iter() {
            sync_folder(folder);
        }
        result
    }

    fn wait(&mut self) -> Result<(), StoreError> {
        self.queue = None;
        let mut result = Ok(());
        for thread in self.threads.drain(..) {
            result = result.and(thread.join().unwrap_or_else(|panic| {
                std::panic::resume_unwind(panic);
            }));
        }
        result
    }
}

/// Nothing is written any more once the batch is gone, also where its writer has failed.
impl Drop for ReadingsBatch<'_> {
    fn drop(&mut self) {
        self.queue = None;
        for thread in self.threads.drain(..) {
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cook::{ChannelReadings, Flag, Role};

    fn readings(cook: &str, temperature: f32) -> CookReadings {
        let mut channel = ChannelReadings::new("Pit", Role::Pit);
        channel.at_ms.push(1_700_000_000_000);
        channel.temp_c.push(temperature);
        channel.flag.push(Flag::Good);
        channel.source.push(0);
        channel.line.push(2);
        CookReadings {
            cook: cook.to_owned(),
            season: "2025".to_owned(),
            channels: vec![channel],
            sources: vec!["a.csv".to_owned()],
        }
    }

    #[test]
    fn all_that_was_written_is_there_once_it_is_finished() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        let batch = store.readings_batch();
        for i in 0..100_u8 {
            batch.write(&readings(&format!("cook-{i}"), f32::from(i))).unwrap();
        }
        batch.finish().unwrap();
        assert_eq!(store.cooks_with_readings().unwrap().len(), 100);
        assert_eq!(store.read_readings("2025", "cook-7").unwrap(), readings("cook-7", 7.0));
    }

    #[test]
    fn a_file_that_cannot_take_its_place_is_told_and_the_others_do() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::create(folder.path()).unwrap();
        // A folder stands where the file is to go.
        let taken = store.readings_path("2025", "b");
        std::fs::create_dir_all(taken.join("inside")).unwrap();
        let batch = store.readings_batch();
        for cook in ["a", "b", "c"] {
            batch.write(&readings(cook, 20.0)).unwrap();
        }
        let error = batch.finish().unwrap_err();
        assert!(matches!(&error, StoreError::Io { path, .. } if *path == taken), "{error}");
        assert_eq!(store.read_readings("2025", "c").unwrap(), readings("c", 20.0));
        let names = std::fs::read_dir(taken.parent().unwrap()).unwrap();
        assert_eq!(names.count(), 3, "something was left behind");
    }
}
