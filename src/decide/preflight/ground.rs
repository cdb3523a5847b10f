//! What every subject looks at: the load sets that the clock brings, each tier of them with its joint
//! states of the operators; the battery at the charges that the simulation reaches; the leads.

use crate::plan::Plan;
use crate::plan::coldest;
use crate::plan::compile::{active_loads, surroundings_of};
use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::simulate::ledger::Ledger;
use crate::station::battery::{FULL_AT_REST_SHARE, register};
use crate::station::draw::drawn;
use crate::station::fuse::{ACID_CELL_OHM, LITHIUM_CELL_OHM, short_circuit_a, usual_ohm};
use crate::station::load_set::{ActiveLoad, JointState, Rung, Surroundings, joint_states, ladder};
use crate::station::load_states::{moments, peak_a};
use crate::station::wire::least_ohm;

/// One tier of one load set.
pub(super) struct Case {
    pub tier: usize,
    pub set: usize,
    /// Places of the loads among those of the scenario.
    pub places: Vec<usize>,
    pub loads: Vec<ActiveLoad>,
    pub states: Vec<JointState>,
    pub rung: Rung,
}

/// The station as the check sees it.
pub(super) struct Ground<'a> {
    pub scenario: &'a Scenario,
    pub plan: &'a Plan,
    pub ledger: &'a Ledger,
    pub around: Surroundings,
    pub cases: Vec<Case>,
    /// Volts by which shares are reckoned, V.
    pub nominal_v: f64,
    /// The lowest volts at which loads are still on, V: converters draw most there.
    pub low_v: f64,
    /// Highest volts that any source holds at the terminals, V.
    pub highest_v: f64,
    /// Coldest that the battery gets by what the scenario says, deg C.
    pub coldest_c: Option<f64>,
}

/// Resistance of the battery into a short circuit.
#[derive(Debug, Clone, Copy)]
pub(super) struct ShortCircuit {
    /// By its datasheet, or of a strong battery of its kind, ohm.
    pub ohm: f64,
    /// The same, or of a weak battery of its kind, ohm.
    pub weak_ohm: f64,
    /// Whether its datasheet says so.
    pub stated: bool,
    /// What it rests on where its datasheet does not.
    pub basis: &'static str,
}

const LITHIUM: &str = "33 CFR 183.455, UL 248; the current by common practice, no source: 3 to 5 mohm for \
                       12.8 V and 100 Ah of lithium iron phosphate, less in proportion to capacity";
const ACID: &str = "33 CFR 183.455, UL 248; the current by common practice, no source: 4 to 7 mohm for \
                    12 V and 100 Ah of lead-acid, less in proportion to capacity";

/// Copper in a fault is taken as no warmer than this, deg C: the colder, the more flows.
const FAULT_COPPER_C: f64 = 20.0;

/// Which of the operators key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Keyed {
    Every,
    One,
}

impl<'a> Ground<'a> {
    pub fn new(scenario: &'a Scenario, plan: &'a Plan, ledger: &'a Ledger) -> Self {
        let around = surroundings_of(scenario, &plan.battery);
        let mut cases = Vec::new();
        for (set, open) in plan.open_windows.iter().enumerate() {
            for tier in 0..scenario.tiers.len() {
                let (places, loads): (Vec<_>, Vec<_>) =
                    active_loads(scenario, tier, open).into_iter().unzip();
                let states = joint_states(&loads);
                let rung = ladder(&loads, &around).swap_remove(0);
                cases.push(Case { tier, set, places, loads, states, rung });
            }
        }
        let nominal_v = plan.battery.nominal_v;
        let disconnect_v = around.disconnect_open_v.max(around.board_open_v);
        let coldest_c = coldest::battery_c(scenario, met_c(plan), |_| true);
        let held_v = plan.sources.iter().filter(|it| it.limit_a > 0.0).map(|source| {
            let set_v = source.absorption_v.max(source.float_v);
            coldest::held_v(set_v, source.compensation_v_per_k, coldest_c)
        });
        let full_v = plan.battery.rest_v(1.0);
        Self {
            low_v: if disconnect_v > 0.0 { disconnect_v.min(nominal_v) } else { nominal_v },
            highest_v: held_v.reduce(f64::max).unwrap_or(full_v),
            scenario,
            plan,
            ledger,
            around,
            cases,
            nominal_v,
            coldest_c,
        }
    }

    /// Highest current of a group, or of all, A, and the name of the tier that draws it.
    pub fn peak_a(&self, group: Option<usize>, keyed: Keyed) -> (f64, &'a str) {
        let mut highest = (0.0, "");
        for case in &self.cases {
            for state in &case.states {
                let keys = state.keyed.iter().filter(|it| **it).count();
                if keyed == Keyed::One && keys > 1 {
                    continue;
                }
                let current_a = peak_a(&case.loads, state, group, self.low_v);
                if current_a > highest.0 {
                    highest = (current_a, self.scenario.tiers[case.tier].name.as_str());
                }
            }
        }
        highest
    }

    /// Share of the time, at most over tiers, in which a group or all draw more than a limit.
    pub fn share_above(&self, group: Option<usize>, limit_a: f64) -> f64 {
        let above = |case: &Case| -> f64 {
            let over = |state: &&JointState| {
                peak_a(&case.loads, state, group, self.low_v) > limit_a * (1.0 + 1e-9)
            };
            case.states.iter().filter(over).map(|state| state.share).sum()
        };
        self.cases.iter().map(above).fold(0.0, f64::max)
    }

    /// Highest mean current as scheduled, A.
    pub fn scheduled_a(&self, group: Option<usize>) -> f64 {
        let mean = |case: &Case| moments(&case.loads, &case.states, group, self.low_v).0;
        self.cases.iter().map(mean).fold(0.0, f64::max)
    }

    /// Highest root mean square of the current over a tier, A.
    pub fn rms_a(&self, group: Option<usize>) -> f64 {
        let square = |case: &Case| moments(&case.loads, &case.states, group, self.low_v).1;
        libm::sqrt(self.cases.iter().map(square).fold(0.0, f64::max))
    }

    /// Whether a load can transmit.
    pub fn is_radio(&self, place: usize) -> bool {
        let Some((_, load)) = self.scenario.loads.get_index(place) else { return false };
        load.draw.transmits()
    }

    /// Whether a radio depends on a group.
    pub fn has_radio(&self, group: usize) -> bool {
        let name = self.scenario.outlet_groups.get_index(group).map(|(name, _)| name);
        let mut loads = self.scenario.loads.values().enumerate();
        loads.any(|(place, load)| Some(&load.group) == name && self.is_radio(place))
    }

    /// What the battery has against a short circuit; `None` for an ideal one, of which nobody knows.
    pub fn short_circuit(&self) -> Option<ShortCircuit> {
        let plain = register::as_strings(&self.scenario.battery);
        let (string_a, strings, cells, (kind_ohm, basis)) = match &plain {
            Battery::LithiumIronPhosphate(it) => {
                let kind = (LITHIUM_CELL_OHM, LITHIUM);
                (it.short_circuit_a, it.strings, it.cells_in_series, kind)
            }
            Battery::LeadAcid(it) => {
                let kind = (ACID_CELL_OHM, ACID);
                (it.short_circuit_a, it.strings, it.cells_in_series, kind)
            }
            Battery::Ideal(_) => return None,
        };
        if let Some(string_a) = string_a {
            let ohm = self.full_v() / (string_a * f64::from(strings));
            return Some(ShortCircuit { ohm, weak_ohm: ohm, stated: true, basis });
        }
        // The model's resistance is made for hours of load, with leads and board: never below it.
        let model_ohm = self.plan.battery.resistance_ohm;
        let [ohm, weak_ohm] =
            kind_ohm.map(|cell_ohm| usual_ohm(cell_ohm, cells, self.rated_ah()).min(model_ohm));
        Some(ShortCircuit { ohm, weak_ohm, stated: false, basis })
    }

    /// The least resistance of the main feed into a short circuit, ohm: copper of 20 deg C or as cold as
    /// anything here gets, without its connectors.
    pub fn main_fault_ohm(&self) -> f64 {
        let stated_c = self.scenario.check_limits.coldest_air_c;
        let known_c = [stated_c, self.coldest_c, met_c(self.plan)];
        let coldest_c = known_c.into_iter().flatten().fold(FAULT_COPPER_C, f64::min);
        let feed = self.scenario.main_feed.as_ref().and_then(|it| it.wire.as_ref());
        feed.map_or(0.0, |wire| least_ohm(wire, coldest_c))
    }

    /// The most that flows into a short circuit behind some resistance, A: at the highest charging volts,
    /// for the battery may be on charge when it happens.
    pub fn fault_a(&self, battery_ohm: f64, before_ohm: f64) -> f64 {
        short_circuit_a(self.highest_v.max(self.full_v()), battery_ohm + before_ohm)
    }

    /// Volts of the full battery at rest, V.
    pub fn full_v(&self) -> f64 {
        self.plan.battery.rest_v(FULL_AT_REST_SHARE)
    }

    /// Charge in the well at hand while it is drained steadily: a lead-acid battery has less there
    /// than on the whole, by what flows between its wells.
    fn lag_share(&self, mean_a: f64) -> f64 {
        self.plan.battery.second.map_or(0.0, |wells| {
            let apart =
                mean_a / (self.plan.battery.capacity_ah * wells.at_hand_share * wells.rate_per_h);
            (1.0 - wells.at_hand_share) * apart
        })
    }

    /// Volts at the battery terminals at a charge under a steady mean current, sources off, V.
    pub fn terminal_v(&self, charge_share: f64, mean_a: f64) -> f64 {
        self.plan.battery.terminal_v(charge_share - self.lag_share(mean_a), -mean_a)
    }

    /// Charge at which the terminals come down to some volts under a steady mean current.
    pub fn charge_where(&self, volts: f64, mean_a: f64) -> f64 {
        self.plan.battery.charge_where(volts, -mean_a) + self.lag_share(mean_a)
    }

    /// Lowest charge that the simulation reaches in a tier; of all tiers when it never is in that one.
    pub fn lowest_share(&self, tier: usize) -> f64 {
        let lowest = |wanted: Option<usize>| {
            let rows = self.ledger.rows.iter();
            rows.filter(|row| wanted.is_none_or(|tier| row.tier == tier))
                .map(|row| row.charge_lowest_share)
                .reduce(f64::min)
        };
        lowest(Some(tier)).or_else(|| lowest(None)).unwrap_or(1.0)
    }

    /// Hours a day in which a load is on in the fullest tier, over all that is simulated, h.
    pub fn hours_a_day(&self, name: &str) -> f64 {
        let Some(place) = self.scenario.loads.get_index_of(name) else { return 0.0 };
        let on = |set: usize| {
            let mut cases = self.cases.iter();
            cases.any(|it| it.set == set && it.tier == 0 && it.places.contains(&place))
        };
        let by_set: Vec<bool> = (0..self.plan.open_windows.len()).map(on).collect();
        let (mut on_h, mut all_h) = (0.0, 0.0);
        for slice in &self.plan.slices {
            all_h += slice.hours;
            on_h += if by_set[slice.set] { slice.hours } else { 0.0 };
        }
        if all_h > 0.0 { 24.0 * on_h / all_h } else { 0.0 }
    }

    /// Mean power of a load while it is on in the fullest tier, at rated volts, W.
    pub fn mean_w(&self, name: &str) -> f64 {
        let Some((place, _, load)) = self.scenario.loads.get_full(name) else { return 0.0 };
        let Some(in_tier) = self.scenario.tiers.first().and_then(|tier| tier.loads.get(name))
        else {
            return 0.0;
        };
        let alone = ActiveLoad {
            place,
            group: 0,
            drawn: drawn(&load.draw, load.transmit_share, in_tier),
            operator: place,
            outlasts_delay: true,
            window_low_v: 0.0,
            essential: load.essential,
        };
        let loads = [alone];
        self.nominal_v * moments(&loads, &joint_states(&loads), None, self.nominal_v).0
    }

    /// Rated capacity of the battery, Ah, whatever age and tests say: rates of datasheets are those of
    /// it.
    pub fn rated_ah(&self) -> f64 {
        match &self.scenario.battery {
            Battery::LithiumIronPhosphate(it) if it.packs.is_empty() => {
                it.capacity_ah.unwrap_or(0.0) * f64::from(it.strings)
            }
            Battery::LithiumIronPhosphate(it) => it.packs.values().map(|it| it.rated_ah).sum(),
            Battery::LeadAcid(it) => register::rated_ah(it),
            Battery::Ideal(_) => self.plan.battery.capacity_ah,
        }
    }

    /// Energy in the full battery, Wh.
    pub fn stored_wh(&self) -> f64 {
        self.plan.battery.stored_wh(1.0, 1.0)
    }
}

/// Coldest air of the steps of a plan, deg C.
pub(super) fn met_c(plan: &Plan) -> Option<f64> {
    plan.steps.iter().map(|step| step.air_c).reduce(f64::min)
}
