//! How a stage tells its caller how far it is. A command draws bars; tests stay silent.

/// A listener to the progress of stages.
pub trait Progress: Sync {
    /// A stage begins, with so many steps before it.
    fn begin(&self, stage: &str, steps: u64);
    /// One step is done.
    fn step(&self, name: &str);
    /// A cook's curves are read, cleaned and smoothed: nearly all that a cook costs.
    fn segmented(&self, _cook: &str) {}
    /// The stage is over.
    fn end(&self);
}

/// Hears nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _stage: &str, _steps: u64) {}
    fn step(&self, _name: &str) {}
    fn end(&self) {}
}
