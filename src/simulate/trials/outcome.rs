//! What one trial came to, and the form in which trials are gathered.

/// Why a trial failed, the first that applies in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The engine was wanted but out of fuel, or failed to start.
    Fuel,
    /// Cold forbade charging or locked charge in the day before the first dark hour.
    Cold,
    /// Dark only in keyed states, the battery not being low: a device window or the battery's board.
    Keying,
    /// Charge at the span's beginning below a stated share of the usual.
    LowAtStart,
    /// The rest: a run of dark days.
    DarkRun,
}

/// What one trial came to over the span; settling days are not counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Its number.
    pub trial: u64,
    /// Hours in which an essential load was not served.
    pub dark_h: f64,
    /// Days (24 h from the span's beginning) with any unserved energy.
    pub days_with_loss: u32,
    /// Demand not delivered, Wh.
    pub unserved_wh: f64,
    /// Demand of the tiers in force, Wh.
    pub load_wh: f64,
    /// Delivered at the devices, Wh.
    pub served_wh: f64,
    /// What the top tier would have drawn besides, Wh.
    pub shed_wh: f64,
    /// When it was dark first, hours since the span's beginning; `None`: on the air for all hours.
    pub first_dark_h: Option<f64>,
    /// Lowest charge.
    pub lowest_charge_share: f64,
    /// When it was reached, hours since the span's beginning.
    pub lowest_at_h: f64,
    /// Charge when the span begins.
    pub start_charge_share: f64,
    /// Charge when the span ends.
    pub end_charge_share: f64,
    /// Hours in each tier.
    pub tier_h: Vec<f64>,
    /// Served energy by origin, Wh: sun, mains, generator, vehicle, stored before.
    pub origin_wh: [f64; 5],
    /// Fuel burnt, litres.
    pub fuel_l: f64,
    /// Mains energy taken at the plug, Wh.
    pub mains_plug_wh: f64,
    /// Hours after the grid came back (or the span's end) until charged again; `None`: not within
    /// what was simulated.
    pub recharge_h: Option<f64>,
    /// `None` where it did not fail.
    pub cause: Option<Cause>,
    /// Charge at the end of each step of the span.
    pub charge_share: Vec<f64>,
}

/// Takes outcomes in; parts are joined in the order of trials. Joining must not depend on how trials
/// were split (integers only).
pub trait Gather: Send + Sized {
    /// Takes one trial in.
    fn trial(&mut self, outcome: &Outcome);
    /// Joins what was gathered of later trials.
    fn join(&mut self, later: Self);
}
