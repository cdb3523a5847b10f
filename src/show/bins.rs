//! Steps gathered into the spans that a picture has room for: hours, local days, weeks, months.
//!
//! A step belongs to the local day in which it begins.

use chrono::NaiveDate;

use super::span::{Span, first_of_month, first_of_year, monday};
use crate::simulate::ledger::{Origin, SourceFlows};

/// How long a bin is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grain {
    /// One step.
    Step,
    /// One elapsed hour.
    Hour,
    /// A local day.
    Day,
    /// A week from Monday.
    Week,
    /// A month.
    Month,
    /// A year.
    Year,
}

impl Grain {
    /// All of them, the finest first.
    pub const ALL: [Self; 6] =
        [Self::Step, Self::Hour, Self::Day, Self::Week, Self::Month, Self::Year];

    /// The word for one of them.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Step => "step",
            Self::Hour => "hour",
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
            Self::Year => "year",
        }
    }
}

/// What happened in one bin. Energies in Wh.
#[derive(Debug, Clone, PartialEq)]
pub struct Bin {
    /// Beginning, elapsed hours.
    pub from_h: f64,
    /// End, elapsed hours.
    pub to_h: f64,
    /// Local date of its first step.
    pub date: NaiveDate,
    /// Hours of the steps in it.
    pub hours: f64,
    /// Flows by source.
    pub sources: Vec<SourceFlows>,
    /// Load served.
    pub served_wh: f64,
    /// Load not served.
    pub unserved_wh: f64,
    /// What the top tier would have drawn besides.
    pub shed_wh: f64,
    /// What controllers drew themselves.
    pub standby_wh: f64,
    /// What the heater of the battery drew.
    pub heater_wh: f64,
    /// All losses.
    pub loss_wh: f64,
    /// Into the battery less out of it.
    pub stored_change_wh: f64,
    /// Into the battery in the steps in which its energy rose.
    pub stored_in_wh: f64,
    /// Out of the battery in the steps in which its energy fell.
    pub stored_out_wh: f64,
    /// Time without mains, h.
    pub grid_down_h: f64,
    /// Time with an essential load unserved, h.
    pub no_power_h: f64,
    /// Fuel burnt, litres.
    pub fuel_l: f64,
    /// Lowest charge.
    pub charge_low: f64,
    /// Highest charge.
    pub charge_high: f64,
    /// Most charge that the cold locks.
    pub locked_high: f64,
    /// Lowest volts in any load state.
    pub lowest_v: f64,
    /// Lowest mean volts of a step.
    pub mean_low_v: f64,
    /// Highest mean volts of a step.
    pub mean_high_v: f64,
}

impl Bin {
    fn empty(from_h: f64, date: NaiveDate, sources: usize) -> Self {
        Self {
            from_h,
            to_h: from_h,
            date,
            hours: 0.0,
            sources: vec![SourceFlows::default(); sources],
            served_wh: 0.0,
            unserved_wh: 0.0,
            shed_wh: 0.0,
            standby_wh: 0.0,
            heater_wh: 0.0,
            loss_wh: 0.0,
            stored_change_wh: 0.0,
            stored_in_wh: 0.0,
            stored_out_wh: 0.0,
            grid_down_h: 0.0,
            no_power_h: 0.0,
            fuel_l: 0.0,
            charge_low: f64::INFINITY,
            charge_high: f64::NEG_INFINITY,
            locked_high: 0.0,
            lowest_v: f64::INFINITY,
            mean_low_v: f64::INFINITY,
            mean_high_v: f64::NEG_INFINITY,
        }
    }

    /// Put on the bus by the sources of one origin, Wh.
    #[must_use]
    pub fn used_wh(&self, span: &Span, origin: Origin) -> f64 {
        let flows = self.sources.iter().zip(&span.ledger.heads.sources);
        flows.filter(|(_, source)| source.origin == origin).map(|(flow, _)| flow.used_wh).sum()
    }

    /// Sun that was there and was refused, by output limits or by the bus, Wh.
    #[must_use]
    pub fn refused_wh(&self) -> f64 {
        self.sources.iter().map(refused_wh).sum()
    }
}

/// What a source had and could not give, Wh.
#[must_use]
pub fn refused_wh(flow: &SourceFlows) -> f64 {
    flow.clipped_wh + flow.curtailed_wh
}

/// The steps of a span gathered by one grain.
#[must_use]
pub fn gather(span: &Span, grain: Grain) -> Vec<Bin> {
    let mut bins: Vec<Bin> = Vec::new();
    let mut key_now: Option<(NaiveDate, i64)> = None;
    for (place, step) in span.steps.iter().enumerate() {
        let row = step.row;
        let date = row.start.date_naive();
        let key = match grain {
            Grain::Step => (date, place as i64),
            Grain::Hour => (NaiveDate::MIN, (step.at_h + 1e-9).floor() as i64),
            Grain::Day => (date, 0),
            Grain::Week => (monday(date), 0),
            Grain::Month => (first_of_month(date), 0),
            Grain::Year => (first_of_year(date), 0),
        };
        if key_now != Some(key) {
            bins.push(Bin::empty(step.at_h, date, span.ledger.heads.sources.len()));
            key_now = Some(key);
        }
        let Some(bin) = bins.last_mut() else { continue };
        bin.to_h = step.end_h();
        bin.hours += row.hours;
        for (sum, flow) in bin.sources.iter_mut().zip(&row.sources) {
            sum.available_wh += flow.available_wh;
            sum.used_wh += flow.used_wh;
            sum.to_load_wh += flow.to_load_wh;
            sum.to_battery_wh += flow.to_battery_wh;
            sum.conversion_loss_wh += flow.conversion_loss_wh;
            sum.operating_point_loss_wh += flow.operating_point_loss_wh;
            sum.clipped_wh += flow.clipped_wh;
            sum.curtailed_wh += flow.curtailed_wh;
        }
        for group in &row.groups {
            bin.served_wh += group.served_wh;
            bin.unserved_wh += group.unserved_wh;
        }
        bin.shed_wh += row.shed_wh;
        bin.standby_wh += row.standby_wh;
        bin.heater_wh += row.heater_wh;
        bin.loss_wh += row.losses.total_wh();
        let change_wh = row.stored_end_wh - row.stored_start_wh;
        bin.stored_change_wh += change_wh;
        bin.stored_in_wh += change_wh.max(0.0);
        bin.stored_out_wh += (-change_wh).max(0.0);
        bin.grid_down_h += (1.0 - row.grid_share) * row.hours;
        bin.no_power_h += row.no_power_h;
        bin.fuel_l += row.fuel_l;
        for share in [row.charge_start_share, row.charge_lowest_share, row.charge_end_share] {
            bin.charge_low = bin.charge_low.min(share);
            bin.charge_high = bin.charge_high.max(share);
        }
        bin.locked_high = bin.locked_high.max(row.locked_share);
        bin.lowest_v = bin.lowest_v.min(row.lowest_v);
        bin.mean_low_v = bin.mean_low_v.min(row.mean_v);
        bin.mean_high_v = bin.mean_high_v.max(row.mean_v);
    }
    bins
}

/// The finest gathering, not finer than `least`, of at most `most` bins.
#[must_use]
pub fn finest(span: &Span, least: Grain, most: usize) -> (Grain, Vec<Bin>) {
    let mut found = (Grain::Year, Vec::new());
    for grain in Grain::ALL.into_iter().filter(|grain| *grain >= least) {
        found = (grain, gather(span, grain));
        if found.1.len() <= most.max(1) {
            break;
        }
    }
    found
}
