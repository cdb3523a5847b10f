//! A stretch of time in which nothing that the clock governs changes.

/// A stretch of time in which nothing that the clock governs changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Slice {
    /// The step it belongs to.
    pub step: usize,
    /// Length, h.
    pub hours: f64,
    /// Whether the mains is there.
    pub grid: bool,
    /// What the strategy says while nobody has warned.
    pub rule: Rule,
    /// Whether a strategy that waits for warnings has the supply on because of one.
    pub warned: bool,
    /// Whether rules that read the charge look now.
    pub looks: bool,
    /// Whether somebody decides on the tier now.
    pub decides: bool,
    /// The row of the operating card that such a decision follows.
    pub card_row: usize,
    /// Whether somebody is there.
    pub attended: bool,
    /// Whether the generator may run.
    pub engine_allowed: bool,
    /// Whether the vehicle is connected.
    pub vehicle: bool,
    /// Sources that are switched off, by bit.
    pub silent: u32,
    /// The load set that the clock has on.
    pub set: usize,
}

/// What a strategy says about the supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rule {
    /// Switched off.
    Off,
    /// Switched on.
    On,
    /// Switched on below one charge, off at another.
    TopUp {
        /// Charge below which it is switched on, when somebody looks.
        start_below_share: f64,
        /// Charge at which it is switched off.
        stop_above_share: f64,
    },
}

impl Slice {
    /// Whether source `source` is switched off.
    #[must_use]
    pub fn is_silent(&self, source: usize) -> bool {
        self.silent >> source & 1 == 1
    }
}
