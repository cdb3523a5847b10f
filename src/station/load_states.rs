//! What a set of loads draws in its joint states, and what volts that leaves at a device, for those who
//! examine a station without simulating it.
//!
//! Peaks follow the highest state: `I = sum of peaks + P / V`. Heat follows the root mean square:
//! `I_rms = sqrt(d I_tx^2 + (1 - d) I_rx^2)`. A device stands at `V = V_mean - R_b (I - I_mean) - R_m I -
//! R_g I_g`. Trust: checked against published values.

use super::load_set::{
    ActiveLoad, JointState, Rung, Surroundings, opening_volts, peak_where, take,
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

/// Mean volts at the battery terminals at which the disconnect or the battery's board opens while
/// everything is served, V; 0 when neither can.
#[must_use]
pub fn opening_v(
    loads: &[ActiveLoad],
    states: &[JointState],
    rung: &Rung,
    around: &Surroundings,
) -> f64 {
    let served = vec![vec![true; loads.len()]; states.len()];
    opening_volts(loads, states, &served, rung, around)
}
