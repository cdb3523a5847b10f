//! Invented stations for the tests of what is shown: a rough walk that keeps the book closed, so
//! that pictures have something plausible to draw. No check of physics hangs on it.

use chrono::{DateTime, Datelike, FixedOffset, TimeDelta, Timelike};
use longwatch::scenario::Named;
use longwatch::simulate::ledger::{
    GroupFlows, Heads, Ledger, Losses, NarrowestWindow, Origin, OriginWh, Row, Source, SourceFlows,
    WeatherOf,
};
use longwatch::simulate::summary::Summary;
use longwatch::station::battery::register::Holds;

/// What a station is made of.
pub struct Station {
    pub title: &'static str,
    pub start: &'static str,
    pub hours: u32,
    pub step_min: u32,
    /// Names and rated watts.
    pub controllers: Vec<(&'static str, f64)>,
    /// Whether there is a mains supply, and elapsed hours without grid.
    pub mains: bool,
    /// The supply is switched on below this charge and off again 0.4 above it; above 1: always on.
    pub supply_below_share: f64,
    pub grid_down_h: Vec<(f64, f64)>,
    pub tiers: Vec<&'static str>,
    pub capacity_ah: f64,
    pub start_share: f64,
    /// Share of a clear sky, by day number from the start, repeated.
    pub sky: Vec<f64>,
    pub load_w: f64,
    pub window: Option<(f64, &'static str, f64, &'static str)>,
    pub summer_time: bool,
}

impl Station {
    /// A hall in a January outage of 72 hours: two controllers, mains gone at the start, a dark spell
    /// in the third night.
    pub fn january() -> Self {
        Self {
            title: "Gannet Ness community hall (invented)",
            start: "2027-01-18T18:00:00-03:00",
            hours: 72,
            step_min: 60,
            controllers: vec![("roof tracker", 400.0), ("lawn tracker", 120.0)],
            mains: true,
            supply_below_share: 2.0,
            grid_down_h: vec![(0.0, 67.5)],
            tiers: vec!["full traffic", "nets only", "listen", "silent, ready"],
            capacity_ah: 190.0,
            start_share: 0.62,
            sky: vec![0.1, 0.08, 0.35, 0.15],
            load_w: 92.0,
            window: Some((11.7, "voice set", 15.8, "voice set")),
            summer_time: false,
        }
    }

    /// The same station over a year with summer time and a few outages.
    pub fn year() -> Self {
        Self {
            title: "Gannet Ness community hall, a whole year (invented)",
            start: "2027-01-01T00:00:00-03:00",
            hours: 8760,
            grid_down_h: vec![(900.0, 1030.0), (7600.0, 7650.0), (8300.0, 8301.5)],
            start_share: 0.95,
            supply_below_share: 0.45,
            sky: vec![0.7, 0.2, 0.1, 0.9, 0.8, 0.05, 0.1, 0.15, 1.0, 0.5, 0.3],
            load_w: 46.0,
            summer_time: true,
            ..Self::january()
        }
    }

    /// One hour, from a battery alone.
    pub fn hour() -> Self {
        Self {
            title: "One hour",
            start: "2027-06-05T12:00:00+05:45",
            hours: 1,
            controllers: Vec::new(),
            mains: false,
            grid_down_h: Vec::new(),
            tiers: vec!["net"],
            start_share: 0.8,
            window: None,
            ..Self::january()
        }
    }

    /// Ten days in spring with six controllers, no mains, quarter-hour steps.
    pub fn ten_days() -> Self {
        let names =
            ["roof east", "roof west", "shed", "lawn", "wall, with a rather long name", "van"];
        Self {
            title: "Ten days on many small panels (invented)",
            start: "2027-03-11T09:00:00-03:00",
            hours: 240,
            step_min: 15,
            controllers: names
                .iter()
                .zip([150.0, 150.0, 80.0, 60.0, 50.0, 40.0])
                .map(|(n, w)| (*n, w))
                .collect(),
            mains: false,
            grid_down_h: Vec::new(),
            sky: vec![0.9, 0.7, 0.2, 0.1, 0.1, 0.4, 0.8, 1.0, 0.9, 0.6, 0.7],
            start_share: 0.85,
            load_w: 52.0,
            summer_time: true,
            ..Self::january()
        }
    }

    fn at(&self, elapsed_h: f64) -> DateTime<FixedOffset> {
        let start = DateTime::parse_from_rfc3339(self.start).unwrap();
        let at = start + TimeDelta::seconds((elapsed_h * 3600.0).round() as i64);
        let summer = self.summer_time && (73..311).contains(&at.ordinal());
        let offset = start.offset().local_minus_utc() + i32::from(summer) * 3600;
        at.with_timezone(&FixedOffset::east_opt(offset).unwrap())
    }

    /// Walks the station and returns its book and what it comes to.
    pub fn walk(&self) -> (Ledger, Summary) {
        let step_h = f64::from(self.step_min) / 60.0;
        let steps = self.hours * 60 / self.step_min;
        let capacity_wh = self.capacity_ah * 13.2;
        let mut stored_wh = self.start_share * capacity_wh;
        let mut open = false;
        let mut tier = 0;
        let mut supply = false;
        let mut rows = Vec::new();
        for k in 0..steps {
            let elapsed_h = f64::from(k) * step_h;
            let start = self.at(elapsed_h);
            let season =
                (std::f64::consts::TAU * (f64::from(start.ordinal()) - 81.0) / 365.0).sin();
            let half_day = 6.0 + 2.5 * season;
            let clock = f64::from(start.hour()) + f64::from(start.minute()) / 60.0;
            let day = |c: f64| (12.0 + half_day).min(c + step_h) - (12.0 - half_day).max(c);
            let daylight_share = (day(clock) / step_h).clamp(0.0, 1.0);
            let height = (1.0 - ((clock + step_h / 2.0 - 12.0) / half_day).powi(2)).max(0.0);
            let cloud = self.sky[(elapsed_h / 24.0) as usize % self.sky.len()];
            let sun = height * cloud * (0.62 + 0.3 * season) * daylight_share;
            let grid = !self.grid_down_h.iter().any(|(a, b)| (*a..*b).contains(&elapsed_h));
            let share = stored_wh / capacity_wh;
            if self.tiers.len() > 1 && clock.fract() == 0.0 && matches!(clock as u32, 8 | 17) {
                tier = [0.45, 0.25, 0.01]
                    .iter()
                    .filter(|line| share < **line)
                    .count()
                    .min(self.tiers.len() - 1);
            }
            if open && share > 0.04 {
                open = false;
            }
            let awake = if (6.0..23.0).contains(&clock) { 1.0 } else { 0.55 };
            let full_wh = self.load_w * step_h * awake;
            let load_wh = full_wh * [1.0, 0.6, 0.3, 0.05][tier];
            supply |= share < self.supply_below_share;
            supply &= self.supply_below_share > 1.0 || share < self.supply_below_share + 0.4;
            let mains_on = self.mains && grid && supply;
            let mains_room = if mains_on { 330.0 * step_h } else { 0.0 };
            let to_load = load_wh.min(mains_room);
            let mut room_wh = (0.985 * capacity_wh - stored_wh).max(0.0);
            let mut sources = Vec::new();
            let mut charge_wh = 0.0;
            let mut asked_wh = load_wh - to_load;
            for (_, rated) in &self.controllers {
                let available = rated * sun * step_h;
                let could = (available * 0.96).min(rated * 0.8 * step_h);
                let used = could.min(room_wh + asked_wh);
                let given = used.min(asked_wh);
                asked_wh -= given;
                room_wh -= used - given;
                charge_wh += used;
                sources.push(SourceFlows {
                    available_wh: available,
                    used_wh: used,
                    to_load_wh: given,
                    to_battery_wh: used - given,
                    conversion_loss_wh: used / 0.96 * 0.04,
                    operating_point_loss_wh: 0.0,
                    clipped_wh: (available * 0.96 - could).max(0.0) / 0.96,
                    curtailed_wh: (could - used) / 0.96,
                });
            }
            if self.mains {
                let to_battery = (mains_room - to_load).min(room_wh).min(300.0 * step_h);
                charge_wh += to_battery;
                sources.push(SourceFlows {
                    used_wh: to_load + to_battery,
                    to_load_wh: to_load,
                    to_battery_wh: to_battery,
                    ..SourceFlows::default()
                });
            }
            let own_wh = 0.6 * step_h;
            let losses = Losses {
                wiring_wh: 0.02 * load_wh,
                battery_resistance_wh: 0.012 * charge_wh,
                battery_hysteresis_wh: 0.01 * charge_wh,
                battery_lag_wh: 0.004 * charge_wh,
                battery_conversion_wh: 0.0,
                battery_flow_wh: 0.0,
                self_discharge_wh: 0.02 * step_h,
            };
            // What the battery can still give above its empty line.
            let spare =
                (stored_wh - 0.012 * capacity_wh + charge_wh - own_wh - losses.total_wh()).max(0.0);
            let from_bus = load_wh - to_load;
            let served_bus = if open { 0.0 } else { from_bus.min(spare) };
            let unserved = from_bus - served_bus;
            let gone = if from_bus > 0.0 { unserved / from_bus } else { 0.0 };
            open = open || gone > 1e-6;
            let served = to_load + served_bus;
            let stored_end = stored_wh + charge_wh - served_bus - own_wh - losses.total_wh();
            let share_end = stored_end / capacity_wh;
            let amps = (charge_wh - served_bus) / step_h / 13.2;
            let mean_v =
                12.9 + 0.5 * share_end + 0.012 * amps - 1.1 * (0.08 - share_end).max(0.0) / 0.08;
            let group = |part: f64| GroupFlows {
                load_wh: load_wh * part,
                served_wh: served * part,
                unserved_wh: unserved * part,
            };
            let total = (served).max(1e-9);
            rows.push(Row {
                start,
                hours: step_h,
                daylight_share,
                ghi_w_m2: Some(1000.0 * sun),
                air_c: -4.0 + 12.0 * season,
                battery_c: 4.0 + 8.0 * season,
                too_cold_to_charge: false,
                locked_share: 0.0,
                grid_share: f64::from(u8::from(grid)),
                supply_share: f64::from(u8::from(mains_on)),
                tier,
                groups: vec![group(0.8), group(0.2)],
                shed_wh: full_wh - load_wh,
                standby_wh: own_wh,
                heater_wh: 0.0,
                losses,
                stored_start_wh: stored_wh,
                stored_end_wh: stored_end,
                charge_start_share: share,
                charge_end_share: share_end,
                charge_lowest_share: share.min(share_end),
                mean_v,
                lowest_v: mean_v - 0.35 - if share_end < 0.05 { 0.4 } else { 0.0 },
                highest_v: mean_v + 0.1,
                charged_ah: (stored_end - stored_wh).max(0.0) / 13.2,
                discharged_ah: (stored_wh - stored_end).max(0.0) / 13.2,
                open_h: gone * step_h,
                no_power_h: gone * step_h,
                off_air: Vec::new(),
                first_dark_h: (gone > 0.0).then_some((1.0 - gone) * step_h),
                served_origin: OriginWh {
                    sun: (served - to_load) * 0.55 * served / total,
                    mains: to_load,
                    generator: 0.0,
                    vehicle: 0.0,
                    stored_before: (served - to_load) * 0.45,
                },
                mains_plug_wh: sources
                    .last()
                    .map_or(0.0, |s| if self.mains { s.used_wh / 0.87 } else { 0.0 }),
                fuel_l: 0.0,
                generator_h: 0.0,
                residual_wh: 0.0,
                sources,
            });
            stored_wh = stored_end;
        }
        let mut sources: Vec<Source> = self
            .controllers
            .iter()
            .map(|(name, _)| Source { name: (*name).to_owned(), origin: Origin::Sun })
            .collect();
        if self.mains {
            sources.push(Source { name: "mains".to_owned(), origin: Origin::Mains });
        }
        let heads = Heads {
            title: self.title.to_owned(),
            strategy: "charger on".to_owned(),
            weather: WeatherOf::Mean,
            sources,
            has_grid: self.mains,
            groups: vec!["desk".to_owned(), "house".to_owned()],
            loads: Vec::new(),
            tiers: self.tiers.iter().map(|t| (*t).to_owned()).collect(),
            tiers_on_air: vec![true; self.tiers.len()],
            capacity_ah: self.capacity_ah,
            holds: Holds {
                rated_ah: self.capacity_ah,
                counts_ah: self.capacity_ah,
                counts_h: None,
            },
            window_v: self.window.map(|(low, low_load, high, high_load)| NarrowestWindow {
                lowest_v: low,
                lowest_load: low_load.to_owned(),
                highest_v: high,
                highest_load: high_load.to_owned(),
            }),
            disconnect_v: 11.8,
            set_point_follows: false,
            highest_set_point_v: (!self.controllers.is_empty()).then_some(14.3),
        };
        let ledger = Ledger { heads, rows };
        let summary = summary_of(&ledger);
        (ledger, summary)
    }
}

/// What a book comes to.
pub fn summary_of(ledger: &Ledger) -> Summary {
    let rows = &ledger.rows;
    let sum = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>();
    let sun = |of: fn(&SourceFlows) -> f64| {
        sum(&|row| {
            let pairs = row.sources.iter().zip(&ledger.heads.sources);
            pairs.filter(|(_, s)| s.origin == Origin::Sun).map(|(flow, _)| of(flow)).sum()
        })
    };
    let mains = |of: fn(&SourceFlows) -> f64| {
        sum(&|row| {
            let pairs = row.sources.iter().zip(&ledger.heads.sources);
            pairs.filter(|(_, s)| s.origin == Origin::Mains).map(|(flow, _)| of(flow)).sum()
        })
    };
    let lowest =
        rows.iter().min_by(|a, b| a.charge_lowest_share.total_cmp(&b.charge_lowest_share)).unwrap();
    let dark = rows.iter().find(|row| row.no_power_h > 0.0);
    let hours = sum(&|row| row.hours);
    let mut tier_h: Named<f64> = ledger.heads.tiers.iter().map(|t| (t.clone(), 0.0)).collect();
    for row in rows {
        tier_h[row.tier] += row.hours;
    }
    let group = |of: fn(&GroupFlows) -> f64| sum(&|row| row.groups.iter().map(of).sum());
    let first = rows.first().unwrap();
    let last = rows.last().unwrap();
    let in_minutes = |h: f64| TimeDelta::seconds((h * 3600.0).round() as i64);
    Summary {
        title: ledger.heads.title.clone(),
        version: "0".to_owned(),
        sentence: String::new(),
        start: first.start,
        hours,
        strategy: "charger on".to_owned(),
        load_wh: group(|g| g.load_wh),
        served_wh: group(|g| g.served_wh),
        shed_wh: sum(&|r| r.shed_wh),
        unserved_wh: group(|g| g.unserved_wh),
        no_power_h: sum(&|r| r.no_power_h),
        first_no_power: dark.map(|row| row.start + in_minutes(row.first_dark_h.unwrap_or(0.0))),
        off_air: Vec::new(),
        off_air_tier_h: 0.0,
        off_air_h: sum(&|r| r.no_power_h),
        first_off_air: dark.map(|row| row.start + in_minutes(row.first_dark_h.unwrap_or(0.0))),
        first_off_air_tier: None,
        disconnected_h: sum(&|r| r.open_h),
        tier_h,
        start_charge_share: first.charge_start_share,
        lowest_charge_share: lowest.charge_lowest_share,
        lowest_charge_ah: lowest.charge_lowest_share * ledger.heads.capacity_ah,
        lowest_charge_at: lowest.start
            + in_minutes(if lowest.charge_end_share < lowest.charge_start_share {
                lowest.hours
            } else {
                0.0
            }),
        end_charge_share: last.charge_end_share,
        hours_to_full_after: None,
        lowest_v: rows.iter().map(|r| r.lowest_v).fold(f64::INFINITY, f64::min),
        solar_available_wh: sun(|f| f.available_wh),
        solar_used_wh: sun(|f| f.used_wh),
        solar_conversion_loss_wh: sun(|f| f.conversion_loss_wh),
        operating_point_loss_wh: sun(|f| f.operating_point_loss_wh),
        clipped_wh: sun(|f| f.clipped_wh),
        curtailed_wh: sun(|f| f.curtailed_wh),
        mains_to_load_wh: mains(|f| f.to_load_wh),
        mains_to_battery_wh: mains(|f| f.to_battery_wh),
        mains_plug_wh: sum(&|r| r.mains_plug_wh),
        generator_to_load_wh: 0.0,
        generator_to_battery_wh: 0.0,
        generator_plug_wh: 0.0,
        vehicle_wh: 0.0,
        generator_h: sum(&|r| r.generator_h),
        fuel_l: sum(&|r| r.fuel_l),
        silence: None,
        at_65_percent: None,
        packs: longwatch::scenario::Named::new(),
        standby_wh: sum(&|r| r.standby_wh),
        heater_wh: sum(&|r| r.heater_wh),
        charged_ah: sum(&|r| r.charged_ah),
        discharged_ah: sum(&|r| r.discharged_ah),
        losses_wh: Losses {
            wiring_wh: sum(&|r| r.losses.wiring_wh),
            battery_resistance_wh: sum(&|r| r.losses.battery_resistance_wh),
            battery_hysteresis_wh: sum(&|r| r.losses.battery_hysteresis_wh),
            battery_lag_wh: sum(&|r| r.losses.battery_lag_wh),
            battery_conversion_wh: sum(&|r| r.losses.battery_conversion_wh),
            battery_flow_wh: sum(&|r| r.losses.battery_flow_wh),
            self_discharge_wh: sum(&|r| r.losses.self_discharge_wh),
        },
        origin_wh: OriginWh {
            sun: sum(&|r| r.served_origin.sun),
            mains: sum(&|r| r.served_origin.mains),
            generator: sum(&|r| r.served_origin.generator),
            vehicle: sum(&|r| r.served_origin.vehicle),
            stored_before: sum(&|r| r.served_origin.stored_before),
        },
        stored_change_wh: last.stored_end_wh - first.stored_start_wh,
        balance_residual_wh: 0.0,
        largest_step_residual_wh: 0.0,
        basis: Named::new(),
        warnings: Vec::new(),
    }
}
