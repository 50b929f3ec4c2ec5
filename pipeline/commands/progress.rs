//! Progress bars on stderr; indicatif draws them only on a terminal.

use indicatif::{ProgressBar, ProgressStyle};
use stages::Progress;
use std::sync::Mutex;

/// One bar for the stage that is running.
#[derive(Default)]
pub(crate) struct Bars(Mutex<Option<ProgressBar>>);

impl Progress for Bars {
    fn begin(&self, stage: &str, steps: u64) {
        let bar = ProgressBar::new(steps);
        if let Ok(style) =
            ProgressStyle::with_template("{prefix:>10} {pos:>5}/{len} {wide_bar} {msg}")
        {
            bar.set_style(style);
        }
        bar.set_prefix(stage.to_owned());
        if let Ok(mut current) = self.0.lock() {
            *current = Some(bar);
        }
    }

    fn step(&self, name: &str) {
        if let Ok(current) = self.0.lock()
            && let Some(bar) = current.as_ref()
        {
            bar.set_message(name.to_owned());
            bar.inc(1);
        }
    }

    fn end(&self) {
        if let Ok(mut current) = self.0.lock()
            && let Some(bar) = current.take()
        {
            bar.finish_and_clear();
        }
    }
}
