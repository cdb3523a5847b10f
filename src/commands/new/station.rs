//! The station that `new` writes.
//!
//! One array on a tracking controller, a lithium iron phosphate battery, a supply that takes over
//! the outlets while the mains is there, a voice set, a computer and lamps, three tiers. Volts go
//! with the number of cells and currents against it, so that every station does the same work;
//! a single cell feeds a pocket-sized one of a tenth of the power.
//!
//! Every value is common practice without a source, and marked as a guess. No fuse, wire or distance to
//! the battery is written: a guess of those could burn somebody's house down.

use chrono::NaiveDateTime;

use super::climate;
use crate::cli::NewArgs;
use crate::scenario::basis::{Basis, BasisOf};
use crate::scenario::battery::{
    Battery, ChargeInhibit, CutoffReset, LithiumIronPhosphate, Temperature,
};
use crate::scenario::loads::{Draw, Load, OutletGroup, Shedding, Tier, TierLoad};
use crate::scenario::preflight::Preflight;
use crate::scenario::schedule::{
    Attended, Disconnect, EngineUse, Grid, OneOutage, Reconnects, Strategy, SupplyRule, Switches,
    Window,
};
use crate::scenario::site::{ByMonth, Clock, Site, Span, Start};
use crate::scenario::sources::{Array, Charger, Controller, Joins, Mppt, SetPoints, Supply};
use crate::scenario::sun::Sun;
use crate::scenario::{Named, Scenario};

/// Rated volts of one cell.
const CELL_V: f64 = 3.2;

/// What the flags ask for, with the gaps filled.
pub(super) struct Wishes<'a> {
    pub args: &'a NewArgs,
    pub latitude_deg: f64,
    pub longitude_deg: f64,
    pub clock: Clock,
    pub start: NaiveDateTime,
}

/// Volts and currents of a station with a number of cells.
#[derive(Clone, Copy)]
struct Scale {
    cells: f64,
    /// Power of every load against that of the 12.8 V station.
    size: f64,
}

impl Scale {
    fn new(cells: u32) -> Self {
        Self { cells: f64::from(cells), size: if cells == 1 { 0.1 } else { 1.0 } }
    }

    /// A current that flows in the 12.8 V station, A or Ah.
    fn amps(self, at_four_cells: f64) -> f64 {
        round(at_four_cells * self.size * 4.0 / self.cells, 3)
    }

    /// A voltage of the 12.8 V station, V.
    fn volts(self, at_four_cells: f64) -> f64 {
        round(at_four_cells * self.cells / 4.0, 3)
    }

    /// A power of the 12.8 V station, W.
    fn watts(self, at_four_cells: f64) -> f64 {
        round(at_four_cells * self.size, 3)
    }
}

/// The whole station.
pub(super) fn build(wishes: &Wishes) -> Scenario {
    let args = wishes.args;
    let scale = Scale::new(args.cells);
    let battery_ah = args.battery_ah.unwrap_or_else(|| scale.amps(200.0));
    let panels_w = args.panels_w.unwrap_or_else(|| scale.watts(400.0));
    let supplied = !args.no_mains;
    let has_panels = panels_w > 0.0;
    Scenario {
        check_limits: Preflight::default(),
        generator: None,
        vehicle: None,
        format: 2,
        title: args.title.clone(),
        notes: Some(notes(args)),
        site: site(wishes),
        span: Span { start: wishes.start, hours: args.hours, step_min: 60 },
        start: Start { warmup_days: Some(30), ..Start::default() },
        sun: Sun::Climate(climate::guess(wishes.latitude_deg)),
        snow: None,
        storm: None,
        uncertain: None,
        grid: if supplied {
            Grid::Outage(OneOutage { off: wishes.start, hours: f64::from(args.hours) })
        } else {
            Grid::None
        },
        warning: None,
        attended: Attended::Always,
        windows: named([
            ("watch", window("06:00", "23:00")),
            ("evening", window("17:00", "23:00")),
        ]),
        arrays: named(has_panels.then(|| ("roof", array(wishes, panels_w)))),
        controllers: named(
            has_panels.then(|| ("roof tracker", controller(scale, panels_w, battery_ah))),
        ),
        battery: Battery::LithiumIronPhosphate(battery(args, battery_ah)),
        supply: supplied.then(|| supply(scale, battery_ah)),
        disconnect: Some(disconnect(scale)),
        main_feed: None,
        outlet_groups: named([
            ("desk", outlet_group(scale.amps(25.0), supplied)),
            ("house", outlet_group(scale.amps(10.0), supplied)),
        ]),
        loads: loads(scale),
        tiers: tiers(),
        watch: None,
        shedding: Some(Shedding {
            decide_at: vec!["sunrise".into(), "sunset".into()],
            down_below_share: vec![0.5, 0.25],
            up_above_share: vec![0.6, 0.35],
            card: Vec::new(),
            tier_without_mains: None,
            notes: Some("The steps are a guess.".into()),
        }),
        strategy: if supplied { "charger on" } else { "solar only" }.into(),
        strategies: strategies(supplied),
        variants: Named::new(),
        prices: None,
        sizing: None,
        field_tests: Vec::new(),
    }
}

fn notes(args: &NewArgs) -> String {
    let mut notes = String::from(
        "Written by `longwatch new`. What `basis` calls a guess waits for the real number: read it off the label \
         or measure it, then say so in `basis`. No fuse, no wire and no distance to the battery is written \
         here, for nobody has named one: look at them, then write them down. Until then `longwatch check` \
         calls the station unsafe.",
    );
    if args.latitude.is_none() || args.longitude.is_none() {
        notes.push_str(" The place is invented.");
    }
    notes
}

fn site(wishes: &Wishes) -> Site {
    let args = wishes.args;
    let mut guesses = vec!["elevation_m", "ground_reflectance_share", "horizon"];
    guesses.extend(args.latitude.is_none().then_some("latitude_deg"));
    guesses.extend(args.longitude.is_none().then_some("longitude_deg"));
    guesses.extend(args.zone.is_none().then_some("clock"));
    Site {
        latitude_deg: wishes.latitude_deg,
        longitude_deg: wishes.longitude_deg,
        elevation_m: 10.0,
        clock: wishes.clock.clone(),
        ground_reflectance_share: ByMonth::Same(0.2),
        horizon: vec![],
        notes: None,
        basis: guessed(&guesses),
    }
}

fn window(from: &str, to: &str) -> Window {
    Window {
        from: Some(from.into()),
        to: Some(to.into()),
        notes: Some("A guess: put in the hours kept.".into()),
        ..Window::default()
    }
}

/// Panels of at most 200 W that face the noon sun, 15 degrees steeper than the latitude: for the
/// dark months, and so that snow slides.
fn array(wishes: &Wishes, panels_w: f64) -> Array {
    let count = (panels_w / 200.0).ceil().max(1.0);
    Array {
        lead: None,
        string_fuse: None,
        stowed: None,
        rows_up_slope: 1,
        datasheet: None,
        rated_w: round(panels_w / count, 3),
        count: count as u32,
        tilt_deg: (((wishes.latitude_deg.abs() + 15.0) / 5.0).round() * 5.0).min(80.0),
        azimuth_deg: if wishes.latitude_deg < 0.0 { 0.0 } else { 180.0 },
        controller: "roof tracker".into(),
        pmax_per_c: -0.004,
        noct_c: 45.0,
        loss_share: named([("soiling", 0.02), ("mismatch", 0.02), ("wiring", 0.02), ("age", 0.03)]),
        deployed: None,
        notes: None,
        // Where a flag gives the sum, into how many panels it goes is still a guess.
        basis: guessed(&[
            "rated_w",
            "count",
            "tilt_deg",
            "azimuth_deg",
            "pmax_per_c",
            "noct_c",
            "loss_share",
        ]),
    }
}

/// A controller whose output limit does not cut the panels, in steps of 5 A.
fn controller(scale: Scale, panels_w: f64, battery_ah: f64) -> Controller {
    let needed_a = panels_w / (CELL_V * scale.cells);
    Controller::Mppt(Mppt {
        input_limit_v: None,
        lead: None,
        efficiency_share: 0.96,
        output_limit_a: (needed_a / 5.0).ceil() * 5.0,
        standby_w: scale.watts(0.4),
        set_points: charge(scale, 14.3, battery_ah),
        off_in: None,
        notes: None,
        basis: guessed(&["efficiency_share", "output_limit_a", "standby_w", "set_points"]),
    })
}

/// Ends bulk at a fiftieth of the capacity an hour.
fn charge(scale: Scale, absorption_v: f64, battery_ah: f64) -> SetPoints {
    SetPoints {
        compensation_v_per_k: None,
        absorption_v: scale.volts(absorption_v),
        float_v: Some(scale.volts(13.6)),
        tail_a: Some(round(0.02 * battery_ah, 3)),
        recharge_below_v: None,
    }
}

/// A battery that takes half its capacity an hour and gives all of it.
fn battery(args: &NewArgs, battery_ah: f64) -> LithiumIronPhosphate {
    let guesses = [
        "age_capacity_share",
        "pack_resistance_ohm",
        "charge_limit_a",
        "discharge_limit_a",
        "cell_cutoff_v",
        "cell_reconnect_v",
        "self_discharge_share_month",
        "temperature",
        "charge_inhibit",
        // What was typed is at best what the label says: nobody has measured it.
        "capacity_ah",
    ];
    LithiumIronPhosphate {
        cell_overvoltage_v: None,
        short_circuit_a: None,
        pack_fuse: None,
        pack_lead: None,
        cells_in_series: args.cells,
        strings: 1,
        capacity_ah: Some(battery_ah),
        packs: Named::new(),
        age_capacity_share: 0.95,
        pack_resistance_ohm: 0.01,
        charge_limit_a: round(0.5 * battery_ah, 3),
        discharge_limit_a: battery_ah,
        cell_cutoff_v: 2.5,
        cell_reconnect_v: 3.0,
        self_discharge_share_month: 0.03,
        temperature: Temperature::FollowsAir { lag_h: 12.0, offset_c: 8.0 },
        charge_inhibit: ChargeInhibit { below_c: 0.0, resume_above_c: 3.0 },
        cutoff_reset: CutoffReset::ByCharging,
        heater: None,
        usable_share_at_c: vec![],
        notes: None,
        basis: guessed(&guesses),
    }
}

fn supply(scale: Scale, battery_ah: f64) -> Supply {
    Supply {
        lead: None,
        rated_v: scale.volts(13.8),
        limit_a: scale.amps(40.0),
        efficiency_share: 0.87,
        no_load_w: scale.watts(4.0),
        joins: Joins::Changeover,
        charger: Some(Charger {
            // Three tenths of the capacity an hour at most.
            limit_a: scale.amps(25.0).min(round(0.3 * battery_ah, 3)),
            set_points: charge(scale, 14.2, battery_ah),
            notes: None,
            basis: guessed(&["limit_a", "set_points"]),
        }),
        off_in: None,
        notes: None,
        basis: guessed(&["rated_v", "limit_a", "efficiency_share", "no_load_w", "joins"]),
    }
}

/// Opens before the voice set gives up at the end of its leads.
fn disconnect(scale: Scale) -> Disconnect {
    Disconnect {
        disconnect_v: scale.volts(12.2),
        reconnect_v: scale.volts(13.0),
        delay_s: 10.0,
        min_off_min: 30.0,
        reconnects: Reconnects::ByItself,
        notes: None,
        basis: guessed(&["disconnect_v", "reconnect_v", "delay_s", "min_off_min"]),
    }
}

fn outlet_group(limit_a: f64, on_supply: bool) -> OutletGroup {
    OutletGroup {
        fuse: None,
        limit_a,
        on_supply,
        wire: None,
        notes: None,
        basis: guessed(&["limit_a"]),
    }
}

fn loads(scale: Scale) -> Named<Load> {
    let load = |group: &str, draw, essential| Load {
        group: group.into(),
        draw,
        transmit_share: 0.0,
        operator: None,
        transmission_s: 60.0,
        window_v: None,
        when: None,
        max_fuse_a: None,
        essential,
        notes: None,
        basis: guessed(&["draw"]),
    };
    let current = Draw::Current { receive_a: scale.amps(0.8), transmit_a: Some(scale.amps(10.5)) };
    let power = |w, converter_efficiency_share, idle_w| Draw::Power {
        power_w: scale.watts(w),
        converter_efficiency_share,
        idle_w: scale.watts(idle_w),
    };
    named([
        (
            "voice set",
            Load {
                transmit_share: 0.15,
                transmission_s: 30.0,
                // 13.8 V and 15 % to either side.
                window_v: Some([scale.volts(11.7), scale.volts(15.8)]),
                basis: guessed(&["draw", "transmit_share", "transmission_s", "window_v"]),
                ..load("desk", current, true)
            },
        ),
        (
            "computer",
            Load {
                window_v: Some([scale.volts(10.5), scale.volts(16.0)]),
                when: Some("watch".into()),
                basis: guessed(&["draw", "window_v"]),
                ..load("desk", power(16.0, 0.9, 0.6), false)
            },
        ),
        (
            "lamps",
            Load { when: Some("evening".into()), ..load("house", power(9.0, 1.0, 0.0), false) },
        ),
    ])
}

fn tiers() -> Vec<Tier> {
    let tier = |name: &str, notes: Option<&str>, loads: Named<TierLoad>| Tier {
        name: name.into(),
        on_air: true,
        worth_per_h: None,
        loads,
        notes: notes.map(Into::into),
    };
    let as_it_is = TierLoad::default;
    let keyed = |when: Option<&str>, share| TierLoad {
        when: when.map(Into::into),
        transmit_share: Some(share),
        power_share: None,
    };
    let guess = Some("The share of time transmitting is a guess.");
    vec![
        tier(
            "full traffic",
            None,
            named([("voice set", as_it_is()), ("computer", as_it_is()), ("lamps", as_it_is())]),
        ),
        tier(
            "watch hours",
            guess,
            named([("voice set", keyed(Some("watch"), 0.1)), ("lamps", as_it_is())]),
        ),
        tier("listen", guess, named([("voice set", keyed(None, 0.01))])),
    ]
}

fn strategies(supplied: bool) -> Named<Strategy> {
    let strategy = |supply, notes: &str| Strategy {
        supply,
        switches: Switches::Supply,
        generator: EngineUse::Allowed,
        notes: Some(notes.into()),
    };
    let on = strategy(
        SupplyRule::Always,
        "The supply feeds the outlets and charges while the mains is there.",
    );
    let off = strategy(SupplyRule::Never, "The supply stays off: nothing charges from the mains.");
    named(supplied.then_some(("charger on", on)).into_iter().chain([("solar only", off)]))
}

fn named<T>(parts: impl IntoIterator<Item = (&'static str, T)>) -> Named<T> {
    parts.into_iter().map(|(name, part)| (name.to_owned(), part)).collect()
}

/// Marks fields as guesses.
pub(super) fn guessed(fields: &[&str]) -> BasisOf {
    fields.iter().map(|&field| (field.to_owned(), Basis::Guess)).collect()
}

/// Rounded to a number of decimals, so that files read well.
pub(super) fn round(value: f64, decimals: u32) -> f64 {
    let unit = f64::from(10_u32.pow(decimals));
    (value * unit).round() / unit
}
