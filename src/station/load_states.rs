//! What a set of loads draws in its joint states, and what volts that leaves at a device, for those who
//! examine a station without simulating it.
//!
//! Peaks follow the highest state: `I = sum of peaks + P / V`. Heat follows the root mean square:
//! `I_rms = sqrt(d I_tx^2 + (1 - d) I_rx^2)`. A device stands at `V = V_mean - R_b (I - I_mean) - R_m I -
//! R_g I_g`. Trust: checked against published values.

use super::load_set::{
    ActiveLoad, JointState, Rung, Surroundings, descend, opening_volts, peak_where, take,
};

/// Rounds after which volts behind resistance are as good as found.
const MOST_ROUNDS: usize = 200;
/// Below half of its source's volts a converter is beyond its upper root: P > V0^2 / 4 R.
const LEAST_V_SHARE: f64 = 0.5;

/// Highest current of a joint state with everything served at some volts, A: of one outlet group, or
/// of all.
#[must_use]
pub fn peak_a(loads: &[ActiveLoad], state: &JointState, group: Option<usize>, volts: f64) -> f64 {
    peak_where(loads, state, &vec![true; loads.len()], group, volts)
}

/// Mean (A) and mean square (A2) of the current over the joint states, everything served at some
/// volts: of one outlet group, or of all. The root of the second is what heats a wire:
/// `I_rms = sqrt(d I_tx^2 + (1 - d) I_rx^2)`.
#[must_use]
pub fn moments(
    loads: &[ActiveLoad],
    states: &[JointState],
    group: Option<usize>,
    volts: f64,
) -> (f64, f64) {
    let (mut mean_a, mut square_a2) = (0.0, 0.0);
    for state in states {
        let (mut current_a, mut var_a2) = (0.0, 0.0);
        for (load, keyed) in loads.iter().zip(&state.keyed) {
            if group.is_none_or(|group| load.group == group) {
                let takes = take(load, *keyed);
                current_a += takes.current_a + takes.power_w / volts;
                var_a2 += takes.current_var_a2;
            }
        }
        mean_a += state.share * current_a;
        square_a2 += state.share * (current_a * current_a + var_a2);
    }
    (mean_a, square_a2)
}

/// Volts at the terminals of a load at the peak of a joint state, V, when the battery has `mean_v` at
/// the set's mean current; `None` when converters ask for more than all the resistance lets through.
#[must_use]
pub fn device_v(
    loads: &[ActiveLoad],
    states: &[JointState],
    state: &JointState,
    load: &ActiveLoad,
    mean_v: f64,
    around: &Surroundings,
) -> Option<f64> {
    let (mean_a, _) = moments(loads, states, None, mean_v);
    let mut volts = mean_v;
    // From above to the upper root: each round is nearer while there is one.
    for _ in 0..MOST_ROUNDS {
        let total_a = peak_a(loads, state, None, volts);
        let group_a = peak_a(loads, state, Some(load.group), volts);
        let next = mean_v
            - around.battery_ohm * (total_a - mean_a)
            - around.main_ohm * total_a
            - around.group_ohm[load.group] * group_a;
        if next <= LEAST_V_SHARE * mean_v {
            return None;
        }
        if (next - volts).abs() < 1e-9 {
            return Some(next);
        }
        volts = next;
    }
    Some(volts)
}

/// Mean volts at the battery terminals at which the disconnect or the BMS opens while
/// everything is served, V; 0 when neither can.
#[must_use]
pub fn opening_v(
    loads: &[ActiveLoad],
    states: &[JointState],
    rung: &Rung,
    around: &Surroundings,
) -> f64 {
    let served = vec![vec![true; loads.len()]; states.len()];
    opening_volts(loads, states, &served, rung, around).0
}

/// How the loads come to be switched off as the volts fall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// Mean volts at the battery terminals at which it happens, V.
    pub mean_v: f64,
    /// Mean current just before, A.
    pub mean_a: f64,
    /// Whether the BMS does it, and not the disconnect.
    pub by_bms: bool,
    /// The load that draws most in the state that brings it about, by place in the scenario.
    pub place: usize,
    /// Whether that load transmits in that state.
    pub keyed: bool,
    /// What it draws in that state, A.
    pub load_a: f64,
    /// What all loads draw in that state, A.
    pub all_a: f64,
}

/// How the loads come to be switched off while sources are off; `None` when nothing opens or nothing
/// draws.
#[must_use]
pub fn opening(
    loads: &[ActiveLoad],
    states: &[JointState],
    around: &Surroundings,
) -> Option<Opening> {
    let (rungs, served) = descend(loads, states, around);
    let rung = rungs.last().filter(|it| it.next_below_v > 0.0)?;
    let by_bms = rung.next_by_bms;
    let volts = if by_bms { around.board_open_v } else { around.disconnect_open_v };
    // The disconnect waits for its delay, the BMS for nothing.
    let draws = |state: &JointState, at: usize| {
        let load = &loads[at];
        let keyed = state.keyed[at] && (by_bms || load.outlasts_delay);
        let takes = take(load, keyed);
        let current_a = if by_bms { takes.peak_a } else { takes.current_a };
        (current_a + takes.power_w / volts, keyed)
    };
    let mut worst: Option<Opening> = None;
    for (state, on) in states.iter().zip(&served) {
        let drawn = || (0..loads.len()).filter(|at| on[*at]).map(|at| (at, draws(state, at)));
        let all_a: f64 = drawn().map(|(_, (load_a, _))| load_a).sum();
        let most = drawn().max_by(|a, b| a.1.0.total_cmp(&b.1.0));
        let Some((at, (load_a, keyed))) = most else { continue };
        if worst.is_none_or(|it| it.all_a < all_a) {
            let mean_a = rung.current_a + rung.power_w / rung.next_below_v;
            let (mean_v, place) = (rung.next_below_v, loads[at].place);
            worst = Some(Opening { mean_v, mean_a, by_bms, place, keyed, load_a, all_a });
        }
    }
    worst
}
