//! The parts of a station, from the scenario to the plan: battery, sources, latch, tiers, names.

use crate::plan::{
    EnginePlan, HeaterPlan, LatchPlan, SourceKind, SourcePlan, TemperaturePlan, TierPlan,
};
use crate::scenario::Scenario;
use crate::scenario::battery::{Battery, CutoffReset, Temperature};
use crate::scenario::schedule::{Grid, Reconnects};
use crate::scenario::sources::{Controller, Generator, Joins, SetPoints, Supply};
use crate::scenario::sun::Sun;
use crate::sky::series::Sky;
use crate::station::battery::{OneWell, acid, ideal, lithium, register};
use crate::station::heads::{Heads, NarrowestWindow, Origin, Source, WeatherOf};

/// How long a battery's own BMS stays open at least, and a device that dropped out of its
/// window waits, h: ten minutes, common practice, no source.
const RETRY_H: f64 = 1.0 / 6.0;

/// The bank of a scenario's battery.
#[must_use]
pub fn battery_of(battery: &Battery) -> OneWell {
    match &register::as_strings(battery) {
        Battery::LithiumIronPhosphate(cells) => lithium::bank(cells),
        Battery::LeadAcid(battery) => acid::bank(battery).unwrap_or_else(|| {
            // The check refuses such capacities; an empty battery stands in for them until then.
            ideal::bank(&crate::scenario::battery::Ideal::empty())
        }),
        Battery::Ideal(battery) => ideal::bank(battery),
    }
}

fn source_of(
    limit_a: f64,
    efficiency_share: f64,
    charge: &SetPoints,
    kind: SourceKind,
) -> SourcePlan {
    SourcePlan {
        kind,
        compensation_v_per_k: charge.compensation_v_per_k.unwrap_or(0.0),
        limit_a,
        absorption_v: charge.absorption_v,
        float_v: charge.float_v.unwrap_or(charge.absorption_v),
        // Without a float there is nothing for a tail to lead to.
        tail_a: charge.tail_a.filter(|_| charge.float_v.is_some()).unwrap_or(-1.0),
        recharge_below_v: charge.recharge_below_v.unwrap_or(0.0),
        efficiency_share,
    }
}

pub(super) fn sources_of(scenario: &Scenario) -> Vec<SourcePlan> {
    let controllers = scenario.controllers.values().map(|controller| match controller {
        Controller::Mppt(tracking) => {
            let efficiency_share = tracking.efficiency_share;
            let kind = SourceKind::Mppt;
            source_of(tracking.output_limit_a, efficiency_share, &tracking.set_points, kind)
        }
        Controller::Pwm(it) => {
            let kind = SourceKind::Pwm { drop_v: it.drop_v };
            source_of(it.output_limit_a, 1.0, &it.set_points, kind)
        }
    });
    let supply = scenario.supply.as_ref();
    let mains = supply.map(|supply| mains_of(supply, SourceKind::Mains));
    let engine = supply
        .filter(|_| scenario.generator.is_some())
        .map(|supply| mains_of(supply, SourceKind::Engine));
    let vehicle = scenario.vehicle.as_ref().map(|vehicle| {
        let kind = SourceKind::Vehicle { idle_l_h: vehicle.idle_l_h };
        source_of(vehicle.limit_a, 1.0, &vehicle.set_points, kind)
    });
    controllers.chain(mains).chain(engine).chain(vehicle).collect()
}

/// Output behind the supply of an engine that stands `elevation_m` high, W.
#[must_use]
pub fn engine_direct_w(generator: &Generator, supply: &Supply, elevation_m: f64) -> f64 {
    let derate = generator.derate_share_per_300_m * elevation_m.max(0.0) / 300.0;
    let output_w = generator.rated_w * (1.0 - derate).max(0.0);
    (output_w - generator.other_w - supply.no_load_w).max(0.0) * supply.efficiency_share
}

pub(super) fn engine_of(scenario: &Scenario) -> Option<EnginePlan> {
    let (generator, supply) = scenario.generator.as_ref().zip(scenario.supply.as_ref())?;
    Some(EnginePlan {
        source: scenario.controllers.len() + 1,
        direct_w: engine_direct_w(generator, supply, scenario.site.elevation_m),
        other_w: generator.other_w,
        idle_l_h: generator.fuel_line.per_rated_kw_l_h * generator.rated_w / 1000.0,
        per_wh_l: generator.fuel_line.per_kwh_l / 1000.0,
        fuel_l: generator.fuel_l,
        tank_l: generator.tank_l.unwrap_or(generator.fuel_l).min(generator.fuel_l),
        pause_h: generator.refuel_pause_min / 60.0,
        start_below_share: generator.rule.start_below_share,
        stop_above_share: generator.rule.stop_above_share,
        starts: generator.fails_to_start_chance < 0.5,
    })
}

/// The supply as a source on the battery terminals.
fn mains_of(supply: &Supply, kind: SourceKind) -> SourcePlan {
    let on_bus = SetPoints {
        absorption_v: supply.rated_v,
        float_v: None,
        tail_a: None,
        recharge_below_v: None,
        compensation_v_per_k: None,
    };
    let (limit_a, charge) = match (&supply.charger, supply.joins) {
        (Some(charger), _) => (charger.limit_a.min(supply.limit_a), &charger.set_points),
        (None, Joins::Bus) => (supply.limit_a, &on_bus),
        (None, Joins::Changeover | Joins::ChargerOnly) => (0.0, &on_bus),
    };
    source_of(limit_a, 1.0, charge, kind)
}

pub(super) fn heads_of(scenario: &Scenario, battery: &OneWell) -> Heads {
    let mut sources: Vec<Source> = scenario
        .controllers
        .keys()
        .map(|name| Source { name: name.clone(), origin: Origin::Sun })
        .collect();
    if scenario.supply.is_some() {
        sources.push(Source { name: "mains".into(), origin: Origin::Mains });
        if scenario.generator.is_some() {
            sources.push(Source { name: "generator".into(), origin: Origin::Generator });
        }
    }
    if scenario.vehicle.is_some() {
        sources.push(Source { name: "vehicle".into(), origin: Origin::Vehicle });
    }
    let windows = || {
        scenario.loads.iter().filter_map(|(name, load)| load.window_v.map(|window| (name, window)))
    };
    let highest = sources_of(scenario)
        .into_iter()
        .filter(|source| source.limit_a > 0.0)
        .max_by(|a, b| a.absorption_v.max(a.float_v).total_cmp(&b.absorption_v.max(b.float_v)));
    let lowest = windows().max_by(|a, b| a.1[0].total_cmp(&b.1[0]));
    let least_high = windows().min_by(|a, b| a.1[1].total_cmp(&b.1[1]));
    Heads {
        title: scenario.title.clone(),
        strategy: scenario.strategy.clone(),
        weather: weather_of(&scenario.sun),
        sources,
        has_grid: scenario.supply.is_some() && scenario.grid != Grid::None,
        groups: scenario.outlet_groups.keys().cloned().collect(),
        loads: scenario.loads.keys().cloned().collect(),
        tiers: scenario.tiers.iter().map(|tier| tier.name.clone()).collect(),
        tiers_on_air: scenario.tiers.iter().map(|tier| tier.on_air).collect(),
        capacity_ah: battery.capacity_ah,
        holds: register::holds(&scenario.battery),
        window_v: lowest.zip(least_high).map(|(low, high)| NarrowestWindow {
            lowest_v: low.1[0],
            lowest_load: low.0.clone(),
            highest_v: high.1[1],
            highest_load: high.0.clone(),
        }),
        disconnect_v: scenario
            .disconnect
            .as_ref()
            .map_or(battery.board_open_v, |disconnect| disconnect.disconnect_v),
        highest_set_point_v: highest.as_ref().map(|source| source.absorption_v.max(source.float_v)),
        set_point_follows: highest.is_some_and(|source| source.compensation_v_per_k != 0.0),
    }
}

/// A climate plays the mean day of each date, types of day their mean.
fn weather_of(sun: &Sun) -> WeatherOf {
    match sun {
        Sun::Climate(_) => WeatherOf::Mean,
        Sun::Profile(profile) if profile.day_types.is_some() => WeatherOf::Mean,
        Sun::Profile(_) | Sun::Measured(_) => WeatherOf::Stated,
    }
}

pub(super) fn temperature_of(battery: &Battery, sky: &Sky) -> TemperaturePlan {
    let fixed = Temperature::default();
    let temperature = match battery {
        Battery::LithiumIronPhosphate(cells) => &cells.temperature,
        Battery::LeadAcid(cells) => &cells.temperature,
        Battery::Ideal(_) => &fixed,
    };
    match battery {
        Battery::LithiumIronPhosphate(_) | Battery::LeadAcid(_) => match *temperature {
            Temperature::FixedC(battery_c) => TemperaturePlan::Fixed(battery_c),
            Temperature::FollowsAir { lag_h, offset_c } => {
                let first_day = &sky.hours()[..sky.hours().len().min(24)];
                #[allow(clippy::cast_precision_loss)]
                let count = first_day.len().max(1) as f64;
                let mean_c = first_day.iter().map(|hour| hour.air_c).sum::<f64>() / count;
                TemperaturePlan::follows(lag_h, offset_c, mean_c + offset_c)
            }
        },
        Battery::Ideal(_) => TemperaturePlan::Fixed(20.0),
    }
}

pub(super) fn heater_of(battery: &Battery) -> Option<HeaterPlan> {
    let heater = match battery {
        Battery::LithiumIronPhosphate(cells) => cells.heater,
        Battery::LeadAcid(cells) => cells.heater,
        Battery::Ideal(_) => None,
    };
    heater.map(|it| HeaterPlan { draw_w: it.power_w, on_below_c: it.on_below_c, rise_c: it.rise_c })
}

pub(super) fn latch_of(scenario: &Scenario, battery: &OneWell) -> LatchPlan {
    let wakes_by_hand = matches!(&scenario.battery, Battery::LithiumIronPhosphate(cells)
        if cells.cutoff_reset == CutoffReset::ByHand);
    match &scenario.disconnect {
        Some(disconnect) => LatchPlan {
            reconnect_v: disconnect.reconnect_v,
            min_open_h: disconnect.min_off_min / 60.0,
            by_hand: disconnect.reconnects == Reconnects::ByHand,
            retry_h: RETRY_H,
            wakes_by_hand,
        },
        None => LatchPlan {
            reconnect_v: battery.board_close_v,
            min_open_h: RETRY_H,
            by_hand: false,
            retry_h: RETRY_H,
            wakes_by_hand,
        },
    }
}

pub(super) fn tiers_of(scenario: &Scenario) -> TierPlan {
    let shedding = scenario.shedding.as_ref();
    let without_mains = shedding
        .and_then(|shedding| shedding.tier_without_mains.as_ref())
        .and_then(|name| scenario.tiers.iter().position(|tier| tier.name == *name))
        .unwrap_or(0);
    TierPlan {
        count: scenario.tiers.len(),
        down_below_share: shedding.map(|it| it.down_below_share.clone()).unwrap_or_default(),
        up_above_share: shedding.map(|it| it.up_above_share.clone()).unwrap_or_default(),
        without_mains,
        first: 0,
        card: shedding
            .map(|it| it.card.iter().map(|row| row.at_least_share.clone()).collect())
            .unwrap_or_default(),
    }
}
