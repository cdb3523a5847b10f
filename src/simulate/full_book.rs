//! The book of the single run: rows of the ledger.
//!
//! Each loss is computed from its own formula; what does not add up stands in `residual_wh`.
//! Balance of a phase: put on the bus = served + wiring + standby draw + heater + battery losses + change of
//! the energy stored.

use super::causes::{cause_of, note};
use super::ledger::{GroupFlows, Losses, OriginWh, Row, SourceFlows};
use super::origin::{Mix, carried_by_engine};
use super::phase::{Book, Phase};
use super::state::{State, tier_in_force};
use crate::numbers::lane::Single;
use crate::plan::{MOST_SOURCES, Offered, Plan, SHAPE_V, Slice, SourceKind};
use crate::station::battery::one_well::bound_fill;
use crate::station::load_set::InverseVolts;

/// Charge moved below which the mean open-circuit volts are those at the beginning.
const STILL_SHARE: f64 = 1e-9;

/// The book of the single run.
#[derive(Debug, Clone)]
pub struct FullBook {
    /// Rows of the steps so far.
    pub rows: Vec<Row>,
    /// Slices that were given up: none, or the program has a fault.
    pub given_up: usize,
    offered: [Offered; MOST_SOURCES],
    mix: Mix<f64>,
    volt_hours: f64,
    /// Since the step began, h.
    elapsed_h: f64,
}

impl FullBook {
    /// An empty book.
    #[must_use]
    pub fn new() -> Self {
        Self {
            rows: Vec::new(),
            given_up: 0,
            offered: [Offered::default(); MOST_SOURCES],
            mix: Mix::stored_before(Single),
            volt_hours: 0.0,
            elapsed_h: 0.0,
        }
    }

    /// What is in the battery now counts as stored before.
    pub fn begin_span(&mut self) {
        self.rows.clear();
        self.mix = Mix::stored_before(Single);
    }

    /// A step begins.
    pub fn begin_step(&mut self, plan: &Plan, step: usize, state: &State<f64>) {
        let facts = &plan.steps[step];
        let charge = state.charge;
        let stored_wh = plan.battery.stored_wh(charge, state.at_hand);
        self.volt_hours = 0.0;
        self.elapsed_h = 0.0;
        self.rows.push(Row {
            start: facts.start,
            hours: facts.hours,
            daylight_share: facts.daylight_share,
            ghi_w_m2: facts.ghi_w_m2,
            air_c: facts.air_c,
            battery_c: state.battery_c,
            too_cold_to_charge: state.too_cold,
            locked_share: plan.battery.empty_share(state.battery_c),
            grid_share: 0.0,
            supply_share: 0.0,
            tier: 0,
            sources: vec![SourceFlows::default(); plan.sources.len()],
            groups: vec![GroupFlows::default(); plan.heads.groups.len()],
            shed_wh: 0.0,
            standby_wh: 0.0,
            heater_wh: 0.0,
            losses: Losses::default(),
            stored_start_wh: stored_wh,
            stored_end_wh: stored_wh,
            charge_start_share: charge,
            charge_end_share: charge,
            charge_lowest_share: charge,
            mean_v: 0.0,
            lowest_v: f64::INFINITY,
            highest_v: 0.0,
            charged_ah: 0.0,
            discharged_ah: 0.0,
            open_h: 0.0,
            no_power_h: 0.0,
            off_air: Vec::new(),
            first_dark_h: None,
            served_origin: OriginWh::default(),
            mains_plug_wh: 0.0,
            fuel_l: 0.0,
            generator_h: 0.0,
            residual_wh: 0.0,
        });
    }

    /// A slice begins: what its weather offers.
    pub fn begin_slice(&mut self, slice: &Slice, offered: [Offered; MOST_SOURCES]) {
        self.offered = offered;
        if let Some(row) = self.rows.last_mut() {
            row.grid_share += if slice.grid { slice.hours / row.hours } else { 0.0 };
        }
    }

    /// A slice is over: the tier that was in force in it.
    pub fn end_slice(&mut self, plan: &Plan, slice: &Slice, state: &State<f64>) {
        if let Some(row) = self.rows.last_mut() {
            row.tier = place(tier_in_force(plan, state, slice.grid));
            row.too_cold_to_charge = state.too_cold;
        }
    }

    /// The step is over.
    pub fn end_step(&mut self, plan: &Plan, state: &State<f64>) {
        if let Some(row) = self.rows.last_mut() {
            row.charge_end_share = state.charge;
            row.stored_end_wh = plan.battery.stored_wh(state.charge, state.at_hand);
            row.mean_v = self.volt_hours / row.hours;
        }
    }
}

impl Default for FullBook {
    fn default() -> Self {
        Self::new()
    }
}

fn at_volts(terms: InverseVolts, volts: f64) -> f64 {
    terms.cc + terms.cp / volts + terms.pp / (volts * volts)
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn place(index: f64) -> usize {
    index as usize
}

/// Mean volts of the curve while the fill of a well goes from one value to another, V.
fn mean_rest_v(plan: &Plan, from: f64, to: f64) -> f64 {
    let moved = to - from;
    let curve = &plan.battery.curve;
    if moved.abs() < STILL_SHARE {
        curve.volts(from)
    } else {
        (curve.area(to) - curve.area(from)) / moved
    }
}

/// Battery losses of a phase, each from its own formula.
fn battery_losses(plan: &Plan, phase: &Phase<f64>, variance_a2: f64) -> Losses {
    let battery = &plan.battery;
    let at_hand_v = mean_rest_v(plan, phase.from_at_hand, phase.to_at_hand);
    let flow_wh = battery.second.map_or(0.0, |second| {
        let from = bound_fill(&second, phase.from_share, phase.from_at_hand);
        let to = bound_fill(&second, phase.to_share, phase.to_at_hand);
        phase.exchanged_ah * (at_hand_v - mean_rest_v(plan, from, to))
    });
    Losses {
        wiring_wh: 0.0,
        battery_resistance_wh: phase.resistance_ohm * phase.square_a2h
            + battery.resistance_ohm * phase.spread * variance_a2 * phase.hours,
        battery_hysteresis_wh: battery.half_gap_v * phase.charged_ah.abs(),
        battery_lag_wh: phase.surface_wh - at_hand_v * phase.charged_ah,
        battery_conversion_wh: at_hand_v * phase.charged_ah * (1.0 - phase.gain),
        battery_flow_wh: flow_wh,
        self_discharge_wh: at_hand_v * phase.leaked_ah,
    }
}

impl Book<f64> for FullBook {
    fn gave_up(&mut self, _plan: &Plan, _slice: &Slice) {
        self.given_up += 1;
    }

    fn phase(&mut self, plan: &Plan, _slice: &Slice, phase: &Phase<f64>) {
        let hours = phase.hours;
        if hours <= 0.0 {
            return;
        }
        let Some(row) = self.rows.last_mut() else { return };
        let volts = phase.mean_v;
        let rung = &plan.rungs[place(phase.rung)];
        let profile = &plan.profiles[place(phase.profile)];
        let felt = phase.spread * plan.battery.resistance_ohm;

        // Loads on the battery.
        let mut served_wh = 0.0;
        let mut bus_load_wh = 0.0;
        let mut wiring_wh = 0.0;
        for (group, flows) in rung.groups.iter().zip(&mut row.groups) {
            let bus_wh = (group.current_a * volts + group.power_w
                - felt * at_volts(group.covariance, volts))
                * hours;
            let lost_wh = at_volts(group.wiring_w, volts) * hours;
            let full_wh = bus_wh - lost_wh;
            let group_served_wh = full_wh * phase.served_share;
            let group_unserved_wh = group.unserved_w * hours + full_wh * (1.0 - phase.served_share);
            flows.served_wh += group_served_wh;
            flows.unserved_wh += group_unserved_wh;
            flows.load_wh += group_served_wh + group_unserved_wh;
            served_wh += group_served_wh;
            wiring_wh += lost_wh * phase.served_share;
            bus_load_wh += bus_wh * phase.served_share;
        }
        // One product, as in the book of the trials.
        let own_wh = (phase.standby_w + phase.heater_w) * hours;
        let (standby_wh, heater_wh) = (phase.standby_w * hours, phase.heater_w * hours);
        // Loads that the supply carries.
        let mut carried_served_wh = 0.0;
        for (watts, flows) in profile.carried_groups_w.iter().zip(&mut row.groups) {
            flows.served_wh += watts * hours;
            flows.load_wh += watts * hours;
            carried_served_wh += watts * hours;
        }
        let carried_wh = profile.carried_bus_w * hours;
        wiring_wh += profile.carried_wiring_w * hours;

        let mut losses = battery_losses(plan, phase, at_volts(rung.variance, volts));
        losses.wiring_wh = wiring_wh;
        let stored_wh = plan.battery.stored_wh(phase.to_share, phase.to_at_hand)
            - plan.battery.stored_wh(phase.from_share, phase.from_at_hand);

        // Sources.
        let bus_wh: f64 = phase.used_wh.iter().sum();
        let into_battery =
            if bus_wh > 0.0 { (volts * phase.charged_ah / bus_wh).clamp(0.0, 1.0) } else { 0.0 };
        let carrying = match plan.supply {
            Some(supply) if phase.grid_supply => Some(supply.source),
            Some(_) if phase.engine_supply => plan.engine.map(|engine| engine.source),
            _ => None,
        };
        for (at, flows) in row.sources.iter_mut().enumerate() {
            let used_wh = phase.used_wh[at];
            flows.to_battery_wh += used_wh * into_battery;
            flows.to_load_wh += used_wh * (1.0 - into_battery);
            flows.used_wh += used_wh;
            let source = &plan.sources[at];
            if carrying == Some(at) {
                flows.used_wh += carried_wh;
                flows.to_load_wh += carried_wh;
            }
            let offered = &self.offered[at];
            let within_wh = phase.within_limit_wh[at];
            let available_wh = offered.available_w * hours;
            let live = phase.offered_w[at] > 0.0;
            match source.kind {
                SourceKind::Mppt if live => {
                    let efficiency = source.efficiency_share;
                    flows.available_wh += available_wh;
                    flows.conversion_loss_wh += used_wh * (1.0 / efficiency - 1.0);
                    flows.clipped_wh += (phase.offered_w[at] * hours - within_wh) / efficiency;
                    flows.curtailed_wh += (within_wh - used_wh) / efficiency;
                }
                SourceKind::Pwm { drop_v } if live => {
                    let straight_v = volts - SHAPE_V * plan.battery.nominal_v;
                    let panels_a = (offered.shape_a + offered.shape_a_per_v * straight_v).max(0.0);
                    let panel_v = volts + drop_v;
                    let (within_ah, used_ah) = (within_wh / volts, used_wh / volts);
                    flows.available_wh += available_wh;
                    flows.operating_point_loss_wh += available_wh - panels_a * panel_v * hours;
                    flows.clipped_wh += (panels_a * hours - within_ah) * panel_v;
                    flows.curtailed_wh += (within_ah - used_ah) * panel_v;
                    flows.conversion_loss_wh += used_ah * drop_v;
                }
                SourceKind::Mppt | SourceKind::Pwm { .. } => {
                    flows.available_wh += available_wh;
                    flows.curtailed_wh += available_wh;
                }
                SourceKind::Vehicle { idle_l_h } => {
                    row.fuel_l += if live { idle_l_h * hours } else { 0.0 };
                }
                SourceKind::Mains | SourceKind::Engine => {}
            }
        }
        if let (Some(supply), Some(source)) = (plan.supply, carrying) {
            let given_wh = carried_wh + phase.used_wh[source];
            let plug_wh = given_wh / supply.efficiency_share + supply.no_load_w * hours;
            row.sources[source].conversion_loss_wh += plug_wh - given_wh;
            if phase.grid_supply {
                row.mains_plug_wh += plug_wh;
                row.supply_share += hours / row.hours;
            }
        }
        row.fuel_l += phase.fuel_l;
        row.generator_h += if phase.engine { hours } else { 0.0 };

        // Where served energy came from.
        let load_wh = bus_load_wh + own_wh;
        let parts_wh = self.mix.take(plan, phase, phase.mean_v, served_wh, load_wh);
        row.served_origin.sun += parts_wh[0];
        row.served_origin.mains += parts_wh[1];
        row.served_origin.generator += parts_wh[2];
        row.served_origin.vehicle += parts_wh[3];
        row.served_origin.stored_before += parts_wh[4];
        if carried_by_engine(phase) {
            row.served_origin.generator += carried_served_wh;
        } else {
            row.served_origin.mains += carried_served_wh;
        }

        // Time.
        let dark_share =
            if phase.served_share < 1.0 && profile.essential { 1.0 } else { rung.dark_share };
        if dark_share > 0.0 {
            if row.first_dark_h.is_none() {
                row.first_dark_h = Some(self.elapsed_h);
            }
            row.no_power_h += dark_share * hours;
            note(row, cause_of(plan, phase, row.locked_share), dark_share, self.elapsed_h);
        }
        row.open_h += if phase.open { hours } else { 0.0 };
        self.volt_hours += volts * hours;
        self.elapsed_h += hours;
        row.lowest_v = row.lowest_v.min(phase.lowest_v);
        row.highest_v = row.highest_v.max(phase.highest_v);
        row.charge_lowest_share = row.charge_lowest_share.min(phase.to_share);
        row.charged_ah += phase.charged_ah.max(0.0);
        row.discharged_ah += (-phase.charged_ah).max(0.0);
        row.shed_wh += profile.shed_w * hours;
        row.standby_wh += standby_wh;
        row.heater_wh += heater_wh;
        row.residual_wh += bus_wh + carried_wh
            - served_wh
            - carried_served_wh
            - standby_wh
            - heater_wh
            - losses.total_wh()
            - stored_wh;
        row.losses.add(&losses);
    }
}
