//! A set of loads transmitting by operators, as the battery feels it.
//!
//! Each operator keys one set at a time and keys independently of the others, so the set has joint
//! states, each with its share of the time. The bus is solved once at the mean current; in state j
//! the terminals stand at `V_j = V - R (I_j - mean I)`, and a device sees that less the drop in main
//! feed and group wire at the peak of the state. As V falls, a state of a device drops out of its
//! window, or the disconnect opens: the set is a drop sequence, each with the volts at which the
//! next is reached. A window missed only while transmitting loses the share of time transmitting alone.

use super::draw::Drawn;

/// A load that is on.
#[derive(Debug, Clone, PartialEq)]
pub struct ActiveLoad {
    /// Place among the loads of the scenario.
    pub place: usize,
    /// Outlet group, by index.
    pub group: usize,
    /// What it draws.
    pub drawn: Drawn,
    /// Who keys it, by index.
    pub operator: usize,
    /// Whether a transmission lasts longer than the delay of the disconnect.
    pub outlasts_delay: bool,
    /// Lowest volts at its terminals at which it works, V; 0 when it has no window.
    pub window_low_v: f64,
    /// Whether the station is dark without it.
    pub essential: bool,
}

/// What the set is wired to.
#[derive(Debug, Clone, PartialEq)]
pub struct Surroundings {
    /// Resistance of the battery, ohm.
    pub battery_ohm: f64,
    /// Resistance of the main feed, ohm.
    pub main_ohm: f64,
    /// Resistance of each group's wire, ohm.
    pub group_ohm: Vec<f64>,
    /// Volts at which unserved constant current is valued, V.
    pub nominal_v: f64,
    /// Volts at which the disconnect opens after its delay, V; 0 without one.
    pub disconnect_open_v: f64,
    /// Volts at which the BMS opens at once, V; 0 without one.
    pub board_open_v: f64,
}

/// A polynomial in 1/V: `cc + cp / V + pp / V^2`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct InverseVolts {
    /// From constant currents.
    pub cc: f64,
    /// From a constant current times a constant power.
    pub cp: f64,
    /// From constant powers.
    pub pp: f64,
}

/// The set with some states of some loads dropped out.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rung {
    /// Mean constant current, A.
    pub current_a: f64,
    /// Mean constant power, W.
    pub power_w: f64,
    /// Variance of the total current over the states, A2.
    pub variance: InverseVolts,
    /// Wiring loss, W.
    pub wiring_w: InverseVolts,
    /// Constant current of the highest state that outlasts the delay, A.
    pub lasting_current_a: f64,
    /// Constant power of that state, W.
    pub lasting_power_w: f64,
    /// Constant current of the highest state at its peak, A.
    pub peak_current_a: f64,
    /// Constant power of that state, W.
    pub peak_power_w: f64,
    /// Mean volts at the terminals at which the next drop stage is reached, V.
    pub next_below_v: f64,
    /// Whether the next drop stage is the open disconnect.
    pub next_opens: bool,
    /// Whether the BMS opens it, and not the disconnect.
    pub next_by_bms: bool,
    /// Essential loads that are unserved in some state of this drop stage, by place in the scenario.
    pub unserved_loads: Vec<usize>,
    /// Demand that is not delivered on this drop stage, at rated volts, W.
    pub unserved_w: f64,
    /// Share of the time in which an essential load is unserved on this drop stage.
    pub dark_share: f64,
    /// The same by outlet group.
    pub groups: Vec<GroupRung>,
}

/// Part of a drop stage that one outlet group takes.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct GroupRung {
    /// Mean constant current, A.
    pub current_a: f64,
    /// Mean constant power, W.
    pub power_w: f64,
    /// Covariance of its current with the total, A2.
    pub covariance: InverseVolts,
    /// Wiring loss with its part of the main feed's, W.
    pub wiring_w: InverseVolts,
    /// Demand that is not delivered, at rated volts, W.
    pub unserved_w: f64,
}

/// One joint state of the operators.
#[derive(Debug, Clone, PartialEq)]
pub struct JointState {
    /// Share of the time.
    pub share: f64,
    /// Whether each load is transmitting in it.
    pub keyed: Vec<bool>,
}

/// All joint states of the operators of `loads`, with shares that add up to one.
#[must_use]
pub fn joint_states(loads: &[ActiveLoad]) -> Vec<JointState> {
    let mut states = vec![JointState { share: 1.0, keyed: vec![false; loads.len()] }];
    let operators = loads.iter().map(|load| load.operator + 1).max().unwrap_or(0);
    for operator in 0..operators {
        let sets: Vec<usize> = (0..loads.len())
            .filter(|&at| loads[at].operator == operator && loads[at].drawn.transmit_share > 0.0)
            .collect();
        if sets.is_empty() {
            continue;
        }
        let silent = 1.0 - sets.iter().map(|&at| loads[at].drawn.transmit_share).sum::<f64>();
        let mut next = Vec::with_capacity(states.len() * (sets.len() + 1));
        for state in &states {
            next.push(JointState { share: state.share * silent, keyed: state.keyed.clone() });
            for &set in &sets {
                let mut keyed = state.keyed.clone();
                keyed[set] = true;
                next.push(JointState {
                    share: state.share * loads[set].drawn.transmit_share,
                    keyed,
                });
            }
        }
        states = next;
    }
    states.retain(|state| state.share > 0.0);
    states
}

/// Current and power of a state of a load.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Take {
    pub current_a: f64,
    pub current_var_a2: f64,
    pub peak_a: f64,
    pub power_w: f64,
}

pub(super) fn take(load: &ActiveLoad, keyed: bool) -> Take {
    let state = if keyed { &load.drawn.transmit } else { &load.drawn.receive };
    Take {
        current_a: state.current_a,
        current_var_a2: state.current_var_a2,
        peak_a: state.current_peak_a,
        power_w: state.power_w,
    }
}

/// The drop sequence of `loads`, the last drop stage being the open disconnect.
#[must_use]
pub fn ladder(loads: &[ActiveLoad], around: &Surroundings) -> Vec<Rung> {
    let states = joint_states(loads);
    let (mut rungs, _) = descend(loads, &states, around);
    let nothing = vec![vec![false; loads.len()]; states.len()];
    rungs.push(tally(loads, &states, &nothing, around));
    rungs
}

/// The drop stages down to the one at whose end the loads are switched off, and what that one serves in each
/// state.
pub(super) fn descend(
    loads: &[ActiveLoad],
    states: &[JointState],
    around: &Surroundings,
) -> (Vec<Rung>, Vec<Vec<bool>>) {
    let mut served = vec![vec![true; loads.len()]; states.len()];
    let mut rungs = Vec::new();
    loop {
        let mut rung = tally(loads, states, &served, around);
        let (opens_at, by_bms) = opening_volts(loads, states, &served, &rung, around);
        let next = next_to_drop(loads, states, &served, &rung, around);
        match next {
            Some((volts, state, load)) if volts > opens_at => {
                rung.next_below_v = volts;
                rungs.push(rung);
                served[state][load] = false;
            }
            _ => {
                rung.next_below_v = opens_at;
                rung.next_opens = true;
                rung.next_by_bms = by_bms;
                rungs.push(rung);
                return (rungs, served);
            }
        }
    }
}

/// Everything a drop stage says about its currents.
fn tally(
    loads: &[ActiveLoad],
    states: &[JointState],
    served: &[Vec<bool>],
    around: &Surroundings,
) -> Rung {
    let groups = around.group_ohm.len();
    let mut rung = Rung { groups: vec![GroupRung::default(); groups], ..Rung::default() };
    let mut square = InverseVolts::default();
    let mut product = vec![InverseVolts::default(); groups];
    let mut own_square = vec![InverseVolts::default(); groups];
    for (state, on) in states.iter().zip(served) {
        let mut current_a = vec![0.0; groups];
        let mut power_w = vec![0.0; groups];
        let mut var_a2 = vec![0.0; groups];
        let (mut lasting_a, mut peak_a, mut dark) = (0.0, 0.0, false);
        for (at, load) in loads.iter().enumerate() {
            let keyed = state.keyed[at];
            let takes = take(load, keyed);
            let group = load.group;
            if on[at] {
                current_a[group] += takes.current_a;
                power_w[group] += takes.power_w;
                var_a2[group] += takes.current_var_a2;
                peak_a += takes.peak_a;
                lasting_a +=
                    if keyed && !load.outlasts_delay { take(load, false) } else { takes }.current_a;
            } else {
                let nominal_w = takes.current_a * around.nominal_v + takes.power_w;
                rung.groups[group].unserved_w += state.share * nominal_w;
                dark |= load.essential;
                if load.essential && !rung.unserved_loads.contains(&load.place) {
                    rung.unserved_loads.push(load.place);
                }
            }
        }
        let total_a: f64 = current_a.iter().sum();
        let total_w: f64 = power_w.iter().sum();
        if lasting_a + total_w / around.nominal_v
            > rung.lasting_current_a + rung.lasting_power_w / around.nominal_v
        {
            (rung.lasting_current_a, rung.lasting_power_w) = (lasting_a, total_w);
        }
        if peak_a + total_w / around.nominal_v
            > rung.peak_current_a + rung.peak_power_w / around.nominal_v
        {
            (rung.peak_current_a, rung.peak_power_w) = (peak_a, total_w);
        }
        rung.dark_share += if dark { state.share } else { 0.0 };
        let total_var_a2: f64 = var_a2.iter().sum();
        add_product(&mut square, state.share, (total_a, total_w), (total_a, total_w), total_var_a2);
        for group in 0..groups {
            let own = (current_a[group], power_w[group]);
            rung.groups[group].current_a += state.share * own.0;
            rung.groups[group].power_w += state.share * own.1;
            add_product(&mut product[group], state.share, own, (total_a, total_w), var_a2[group]);
            add_product(&mut own_square[group], state.share, own, own, var_a2[group]);
        }
    }
    rung.current_a = rung.groups.iter().map(|group| group.current_a).sum();
    rung.power_w = rung.groups.iter().map(|group| group.power_w).sum();
    rung.unserved_w = rung.groups.iter().map(|group| group.unserved_w).sum();
    let mean = (rung.current_a, rung.power_w);
    rung.variance = less_product(square, mean, mean);
    for (at, group) in rung.groups.iter_mut().enumerate() {
        group.covariance = less_product(product[at], (group.current_a, group.power_w), mean);
        let (own_ohm, main_ohm) = (around.group_ohm[at], around.main_ohm);
        group.wiring_w = InverseVolts {
            cc: own_ohm * own_square[at].cc + main_ohm * product[at].cc,
            cp: own_ohm * own_square[at].cp + main_ohm * product[at].cp,
            pp: own_ohm * own_square[at].pp + main_ohm * product[at].pp,
        };
        rung.wiring_w.cc += group.wiring_w.cc;
        rung.wiring_w.cp += group.wiring_w.cp;
        rung.wiring_w.pp += group.wiring_w.pp;
    }
    rung
}

/// Adds `share (a.0 + a.1/V)(b.0 + b.1/V)` and a variance within the state.
fn add_product(to: &mut InverseVolts, share: f64, a: (f64, f64), b: (f64, f64), var_a2: f64) {
    to.cc += share * (a.0 * b.0 + var_a2);
    to.cp += share * (a.0 * b.1 + a.1 * b.0);
    to.pp += share * a.1 * b.1;
}

fn less_product(from: InverseVolts, a: (f64, f64), b: (f64, f64)) -> InverseVolts {
    InverseVolts {
        cc: from.cc - a.0 * b.0,
        cp: from.cp - (a.0 * b.1 + a.1 * b.0),
        pp: from.pp - a.1 * b.1,
    }
}

/// Mean volts at which the disconnect or the BMS opens, V, 0 when neither can; and whether it is the
/// BMS.
pub(super) fn opening_volts(
    loads: &[ActiveLoad],
    states: &[JointState],
    served: &[Vec<bool>],
    rung: &Rung,
    around: &Surroundings,
) -> (f64, bool) {
    let by_disconnect = around.disconnect_open_v;
    let by_board = around.board_open_v;
    let mean_at = |volts: f64| rung.current_a + rung.power_w / volts.max(1.0);
    let mut opens_at = 0.0_f64;
    if by_disconnect > 0.0 {
        let lasting_a = rung.lasting_current_a + rung.lasting_power_w / by_disconnect;
        opens_at = by_disconnect + around.battery_ohm * (lasting_a - mean_at(by_disconnect));
    }
    if by_board > 0.0 {
        let peak_a = states
            .iter()
            .zip(served)
            .map(|(state, on)| total_peak_a(loads, state, on, by_board))
            .fold(0.0, f64::max);
        let bms_at = by_board + around.battery_ohm * (peak_a - mean_at(by_board)).max(0.0);
        if bms_at > opens_at {
            return (bms_at, true);
        }
    }
    (opens_at, false)
}

fn total_peak_a(loads: &[ActiveLoad], state: &JointState, on: &[bool], volts: f64) -> f64 {
    peak_where(loads, state, on, None, volts)
}

/// Highest current of a joint state, A: of one outlet group, or of all.
pub(super) fn peak_where(
    loads: &[ActiveLoad],
    state: &JointState,
    on: &[bool],
    group: Option<usize>,
    volts: f64,
) -> f64 {
    (0..loads.len())
        .filter(|&at| on[at] && group.is_none_or(|group| loads[at].group == group))
        .map(|at| {
            let takes = take(&loads[at], state.keyed[at]);
            takes.peak_a + takes.power_w / volts
        })
        .sum()
}

/// The state of a load that drops out first as volts fall: mean volts, state, load.
fn next_to_drop(
    loads: &[ActiveLoad],
    states: &[JointState],
    served: &[Vec<bool>],
    rung: &Rung,
    around: &Surroundings,
) -> Option<(f64, usize, usize)> {
    let mut first: Option<(f64, usize, usize)> = None;
    for (state_at, (state, on)) in states.iter().zip(served).enumerate() {
        for (at, load) in loads.iter().enumerate() {
            if !on[at] || load.window_low_v <= 0.0 {
                continue;
            }
            let needs_v = window_volts(loads, state, on, load, rung, around);
            if first.is_none_or(|(volts, ..)| needs_v > volts) {
                first = Some((needs_v, state_at, at));
            }
        }
    }
    first
}

/// Mean volts at the battery terminals at which `load` just works at the peak of `state`.
fn window_volts(
    loads: &[ActiveLoad],
    state: &JointState,
    on: &[bool],
    load: &ActiveLoad,
    rung: &Rung,
    around: &Surroundings,
) -> f64 {
    let mut volts = load.window_low_v;
    // Converter currents depend on the volts looked for: three rounds settle it to microvolts.
    for _ in 0..3 {
        let total_a = total_peak_a(loads, state, on, volts);
        let group_a = peak_where(loads, state, on, Some(load.group), volts);
        let mean_a = rung.current_a + rung.power_w / volts;
        volts = load.window_low_v
            + around.main_ohm * total_a
            + around.group_ohm[load.group] * group_a
            + around.battery_ohm * (total_a - mean_a);
    }
    volts
}
