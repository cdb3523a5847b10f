//! What one trial comes to, and how the outcomes of many are gathered.

/// Why a trial failed: the first that applies, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// The generator was wanted, but out of fuel, or it had not started.
    Fuel,
    /// Cold forbade charging in the day before the first hour without power.
    Cold,
    /// Dark only while transmitting, the battery not low.
    Keying,
    /// The charge at the span's beginning was below a stated share.
    LowAtStart,
    /// The rest: a run of dark days.
    DarkRun,
}

/// What one trial came to over the span; warm-up days are not counted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outcome {
    /// Number of the trial.
    pub trial: u64,
    /// Hours in which an essential load was not served.
    pub no_power_h: f64,
    /// Days (24 h from the span's beginning) with any unserved energy.
    pub days_with_loss: u32,
    /// Demand not delivered, Wh.
    pub unserved_wh: f64,
    /// Demand, Wh.
    pub load_wh: f64,
    /// Demand delivered, Wh.
    pub served_wh: f64,
    /// What the top tier would have drawn besides, Wh.
    pub shed_wh: f64,
    /// When it was first off the air, h since the span's beginning: dark, or in a tier in which the
    /// station does not count as on the air; `None` when it never was.
    pub first_off_air_h: Option<f64>,
    /// Lowest charge.
    pub lowest_charge_share: f64,
    /// When it was reached: the end of its step, h since the span's beginning.
    pub lowest_at_h: f64,
    /// Charge at the span's beginning.
    pub start_charge_share: f64,
    /// Charge at its end.
    pub end_charge_share: f64,
    /// Hours in each tier.
    pub tier_h: Vec<f64>,
    /// Hours of `no_power_h` in each tier; a step's belong to the tier in force as it ends, as its
    /// hours do.
    pub no_power_tier_h: Vec<f64>,
    /// Served energy by origin, Wh: sun, mains, generator, vehicle, stored before.
    pub origin_wh: [f64; 5],
    /// Fuel burnt, litres.
    pub fuel_l: f64,
    /// Energy taken from the mains, Wh.
    pub mains_plug_wh: f64,
    /// Hours in which the supply, the generator or the vehicle was live: what makes noise besides the
    /// panels' controllers.
    pub noise_h: f64,
    /// Hours of storms in which the supply was switched on, with or without mains: its plug was in.
    pub plugged_in_storm_h: f64,
    /// Hours after the mains came back until charged again; `None` where it never went or that was
    /// not within what was simulated.
    pub recharge_h: Option<f64>,
    /// Why it failed; `None` when it did not.
    pub cause: Option<Cause>,
    /// Charge at the end of each step of the span.
    pub charge_share: Vec<f64>,
}

/// Takes outcomes in. Parts are joined in the order of trials; what comes out must not depend on
/// how the trials were split, so it holds counts and whole numbers only.
pub trait Gather: Send + Sized {
    /// One trial; trials come in their order.
    fn trial(&mut self, outcome: &Outcome);
    /// What was gathered of the trials that follow.
    fn join(&mut self, later: Self);
}
