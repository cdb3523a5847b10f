//! What each tier of each load set asks of battery and supply.

use std::collections::HashMap;

use super::CompileProblem;
use super::engine_direct_w;
use crate::plan::{Carrier, Profile};
use crate::scenario::Named;
use crate::scenario::Scenario;
use crate::scenario::loads::{Load, TierLoad};
use crate::scenario::sources::{Joins, Supply};
use crate::scenario::watch::OffWatch;
use crate::station::battery::OneWell;
use crate::station::draw::{State, drawn};
use crate::station::load_set::{ActiveLoad, JointState, Rung, Surroundings, joint_states, ladder};
use crate::station::wire::loop_ohm;
use crate::warning::{Kind, Warning};

/// Most joint states of the operators of one tier.
const MOST_JOINT_STATES: usize = 4096;

/// Collects load sets as the timeline meets them.
pub struct LoadBook<'a> {
    scenario: &'a Scenario,
    around: Surroundings,
    discharge_limit_a: f64,
    sets: HashMap<Vec<bool>, usize>,
    rungs: Vec<Rung>,
    profiles: Vec<Profile>,
    warnings: Vec<Warning>,
}

impl<'a> LoadBook<'a> {
    /// An empty book.
    ///
    /// # Errors
    /// When the operators of a tier have more joint states than can be told apart.
    pub fn new(
        scenario: &'a Scenario,
        battery: &OneWell,
        warnings: Vec<Warning>,
    ) -> Result<Self, Vec<CompileProblem>> {
        let around = surroundings_of(scenario, battery);
        Ok(Self {
            scenario,
            around,
            discharge_limit_a: battery.discharge_limit_a,
            sets: HashMap::new(),
            rungs: Vec::new(),
            profiles: Vec::new(),
            warnings,
        })
    }

    /// The drop stages, the profiles, which windows are open in each load set, and the warnings.
    #[must_use]
    pub fn finish(self) -> (Vec<Rung>, Vec<Profile>, Vec<Vec<bool>>, Vec<Warning>) {
        let mut sets: Vec<(Vec<bool>, usize)> = self.sets.into_iter().collect();
        sets.sort_by_key(|(_, set)| *set);
        let open = sets.into_iter().map(|(open, _)| open).collect();
        (self.rungs, self.profiles, open, self.warnings)
    }

    /// Number of the load set while the windows stand as `open`, in the order of the scenario.
    ///
    /// # Errors
    /// When the operators have more joint states than can be told apart.
    pub fn set_for(&mut self, open: Vec<bool>) -> Result<usize, Vec<CompileProblem>> {
        if let Some(set) = self.sets.get(&open) {
            return Ok(*set);
        }
        let set = self.sets.len();
        let mut top_w = 0.0_f64;
        for tier in 0..self.scenario.tiers.len() {
            let loads: Vec<ActiveLoad> =
                active_loads(self.scenario, tier, &open).into_iter().map(|(_, it)| it).collect();
            if joint_states(&loads).len() > MOST_JOINT_STATES {
                return Err(vec![CompileProblem::new(
                    format!("tiers[{tier}].loads"),
                    "more operators than can be told apart: give loads on which one person transmits the \
                     same `operator`",
                )]);
            }
            let nominal_w = self.nominal_w(&loads);
            if tier == 0 {
                top_w = nominal_w;
            }
            let shed_w = (top_w - nominal_w).max(0.0);
            for carrier in [Carrier::Battery, Carrier::Grid, Carrier::Engine] {
                let profile = self.profile(tier, &loads, carrier, shed_w);
                self.profiles.push(profile);
            }
        }
        self.sets.insert(open, set);
        Ok(set)
    }

    fn nominal_w(&self, loads: &[ActiveLoad]) -> f64 {
        let volts = self.around.nominal_v;
        loads
            .iter()
            .map(|load| {
                let keyed = load.drawn.transmit_share;
                let watts = |state: &State| state.current_a * volts + state.power_w;
                watts(&load.drawn.receive) * (1.0 - keyed) + watts(&load.drawn.transmit) * keyed
            })
            .sum()
    }

    fn profile(
        &mut self,
        tier: usize,
        loads: &[ActiveLoad],
        carrier: Carrier,
        shed_w: f64,
    ) -> Profile {
        let groups = self.around.group_ohm.len();
        let supply = self.scenario.supply.as_ref().filter(|_| carrier != Carrier::Battery);
        let limit_a = supply.map_or(0.0, |supply| self.supply_limit_a(supply, carrier));
        let on_supply = match supply {
            Some(supply) if supply.joins == Joins::Changeover && limit_a > 0.0 => {
                self.carried_groups(tier, loads, supply, limit_a)
            }
            _ => vec![false; groups],
        };
        let (carried_loads, battery_loads): (Vec<_>, Vec<_>) =
            loads.iter().cloned().partition(|load| on_supply[load.group]);
        let first_rung = self.rungs.len();
        let rungs = ladder(&battery_loads, &self.around);
        self.warn_about(tier, &rungs);
        self.rungs.extend(rungs);
        let mut profile = Profile {
            first_rung,
            open_rung: self.rungs.len() - 1,
            demand_w: self.nominal_w(&battery_loads),
            receiving_a: battery_loads
                .iter()
                .map(|load| load.drawn.receive)
                .map(|it| it.current_a + it.power_w / self.around.nominal_v)
                .sum(),
            essential: battery_loads.iter().any(|load| load.essential),
            charging_left_a: 0.0,
            carried_bus_w: 0.0,
            carried_wiring_w: 0.0,
            carried_groups_w: vec![0.0; groups],
            shed_w,
        };
        if let Some(supply) = supply {
            self.carry(&mut profile, &carried_loads, supply, limit_a);
        }
        profile
    }

    /// Marked groups that the supply can carry with everything transmitting; the others stay on the
    /// battery, and a warning names them.
    fn carried_groups(
        &mut self,
        tier: usize,
        loads: &[ActiveLoad],
        supply: &Supply,
        limit_a: f64,
    ) -> Vec<bool> {
        let mut on_supply = vec![false; self.around.group_ohm.len()];
        for (group, (name, outlets)) in self.scenario.outlet_groups.iter().enumerate() {
            if !outlets.on_supply {
                continue;
            }
            on_supply[group] = true;
            let tried: Vec<_> =
                loads.iter().filter(|load| on_supply[load.group]).cloned().collect();
            let peak_a = joint_states(&tried)
                .iter()
                .map(|state| state_current_a(&tried, state, supply.rated_v, |it| it.current_peak_a))
                .fold(0.0, f64::max);
            if peak_a > limit_a {
                on_supply[group] = false;
                let warning = Warning {
                    kind: Kind::GroupStaysOnBattery,
                    path: format!("outlet_groups.{name}"),
                    text: format!(
                        "In tier “{}” group “{name}” stays on the battery while the supply is on: \
                         with everything transmitting the supply would have to give {peak_a:.1} A and \
                         its limit is {limit_a:.1} A.",
                        self.scenario.tiers[tier].name
                    ),
                };
                self.warn(warning);
            }
        }
        on_supply
    }

    /// What the supply can give at its volts, A: on an engine no more than that can feed.
    fn supply_limit_a(&self, supply: &Supply, carrier: Carrier) -> f64 {
        match (carrier, &self.scenario.generator) {
            (Carrier::Engine, Some(generator)) => {
                let direct_w = engine_direct_w(generator, supply, self.scenario.site.elevation_m);
                supply.limit_a.min(direct_w / supply.rated_v)
            }
            (Carrier::Engine, None) => 0.0,
            _ => supply.limit_a,
        }
    }

    fn carry(&self, profile: &mut Profile, loads: &[ActiveLoad], supply: &Supply, limit_a: f64) {
        let volts = supply.rated_v;
        let charger_a = supply.charger.as_ref().map_or(0.0, |charger| charger.limit_a);
        for state in joint_states(loads) {
            let total_a = state_current_a(loads, &state, volts, |it| it.current_a);
            profile.charging_left_a += state.share * (limit_a - total_a).clamp(0.0, charger_a);
            for (group, ohm) in self.around.group_ohm.iter().enumerate() {
                let mut current_a = 0.0;
                let mut variance_a2 = 0.0;
                for (at, load) in loads.iter().enumerate().filter(|it| it.1.group == group) {
                    let takes =
                        if state.keyed[at] { &load.drawn.transmit } else { &load.drawn.receive };
                    current_a += takes.current_a + takes.power_w / volts;
                    variance_a2 += takes.current_var_a2;
                }
                let lost_w = ohm * (current_a * current_a + variance_a2);
                profile.carried_bus_w += state.share * volts * current_a;
                profile.carried_wiring_w += state.share * lost_w;
                profile.carried_groups_w[group] += state.share * (volts * current_a - lost_w);
            }
        }
    }

    fn warn_about(&mut self, tier: usize, rungs: &[Rung]) {
        let name = &self.scenario.tiers[tier].name;
        let volts = self.around.nominal_v;
        let Some(first) = rungs.first() else { return };
        let peak_a = first.peak_current_a + first.peak_power_w / volts;
        if peak_a > self.discharge_limit_a {
            let warning = Warning {
                kind: Kind::BoardOpensWhenKeyed,
                path: "battery".into(),
                text: format!(
                    "In tier “{name}” everything transmitting takes {peak_a:.0} A from the battery, whose \
                     BMS opens above {:.0} A.",
                    self.discharge_limit_a
                ),
            };
            self.warn(warning);
        }
        if !first.next_opens && first.next_below_v > 0.0 && rungs.len() > 2 {
            let opens_v = rungs[rungs.len() - 2].next_below_v;
            let warning = Warning {
                kind: Kind::DeviceQuitsFirst,
                path: format!("tiers[{tier}]"),
                text: format!(
                    "In tier “{name}” a radio switches itself off while transmitting once the battery’s mean volts are \
                     below {:.2} V, before the loads are disconnected at mean volts of {opens_v:.2} V.",
                    first.next_below_v
                ),
            };
            self.warn(warning);
        }
    }

    fn warn(&mut self, warning: Warning) {
        let known = |it: &Warning| it.kind == warning.kind && it.path == warning.path;
        if !self.warnings.iter().any(known) {
            self.warnings.push(warning);
        }
    }
}

/// What a scenario's loads are wired to.
#[must_use]
pub fn surroundings_of(scenario: &Scenario, battery: &OneWell) -> Surroundings {
    Surroundings {
        battery_ohm: battery.resistance_ohm,
        main_ohm: scenario
            .main_feed
            .as_ref()
            .and_then(|feed| feed.wire.as_ref())
            .map_or(0.0, loop_ohm),
        group_ohm: scenario
            .outlet_groups
            .values()
            .map(|group| group.wire.as_ref().map_or(0.0, loop_ohm))
            .collect(),
        nominal_v: battery.nominal_v,
        disconnect_open_v: scenario.disconnect.as_ref().map_or(0.0, |it| it.disconnect_v),
        board_open_v: battery.board_open_v,
    }
}

/// The loads of a tier that are on while the windows stand as `open`, each with its place among the
/// loads of the scenario.
#[must_use]
pub fn active_loads(scenario: &Scenario, tier: usize, open: &[bool]) -> Vec<(usize, ActiveLoad)> {
    let delay_s = scenario.disconnect.as_ref().map_or(0.0, |it| it.delay_s);
    let is_open = |name: &String| {
        let at = scenario.windows.get_index_of(name);
        at.and_then(|at| open.get(at)).copied().unwrap_or(false)
    };
    loads_of(scenario, tier, &is_open)
        .into_iter()
        .flatten()
        .filter_map(|(name, in_tier)| {
            let (place, _, load) = scenario.loads.get_full(name)?;
            let group = scenario.outlet_groups.get_index_of(&load.group)?;
            let is_on = in_tier.when.as_ref().or(load.when.as_ref()).is_none_or(&is_open);
            is_on.then(|| {
                let load = ActiveLoad {
                    place,
                    group,
                    drawn: drawn(&load.draw, load.transmit_share, in_tier),
                    operator: operator(scenario, place, load),
                    outlasts_delay: load.transmission_s > delay_s,
                    window_low_v: load.window_v.map_or(0.0, |window| window[0]),
                    essential: load.essential,
                };
                (place, load)
            })
        })
        .collect()
}

/// Whose loads are on in a tier: off watch those of a lower one, or none.
fn loads_of<'a>(
    scenario: &'a Scenario,
    tier: usize,
    is_open: &impl Fn(&String) -> bool,
) -> Option<&'a Named<TierLoad>> {
    let tiers = &scenario.tiers;
    match &scenario.watch {
        Some(watch) if !watch.r#in.iter().any(is_open) => match &watch.off_watch {
            OffWatch::Off => None,
            OffWatch::Tier(name) => {
                let off = tiers.iter().position(|it| it.name == *name);
                tiers.get(off.map_or(tier, |off| off.max(tier))).map(|it| &it.loads)
            }
        },
        _ => tiers.get(tier).map(|it| &it.loads),
    }
}

/// Number of the operator of a load: that of the first load with the same one.
fn operator(scenario: &Scenario, place: usize, load: &Load) -> usize {
    let mut names = scenario.loads.values().map(|it| it.operator.as_deref());
    load.operator.as_deref().and_then(|name| names.position(|it| it == Some(name))).unwrap_or(place)
}

/// Current of all loads in one joint state at some volts, A.
fn state_current_a(
    loads: &[ActiveLoad],
    state: &JointState,
    volts: f64,
    current_a: impl Fn(&State) -> f64,
) -> f64 {
    loads
        .iter()
        .zip(&state.keyed)
        .map(|(load, keyed)| {
            let takes = if *keyed { &load.drawn.transmit } else { &load.drawn.receive };
            current_a(takes) + takes.power_w / volts
        })
        .sum()
}
