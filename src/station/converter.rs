//! A converter that takes the same watts at any volts, behind a resistance.
//!
//! `V = (V_s + sqrt(V_s^2 - 4 P R)) / 2`, the upper root; beyond `P = V_s^2 / 4 R` there is none and the
//! converter pulls its own volts down. Trust: checked against published values.

/// Volts at the converter and its current, A; `None` beyond the most that the resistance lets through.
#[must_use]
pub fn behind(source_v: f64, ohm: f64, power_w: f64) -> Option<(f64, f64)> {
    let square = source_v * source_v - 4.0 * power_w * ohm;
    if square < 0.0 {
        return None;
    }
    let volts = (source_v + libm::sqrt(square)) / 2.0;
    Some((volts, power_w / volts))
}

/// The most power that comes through a resistance, W; without end when there is none.
#[must_use]
pub fn most_w(source_v: f64, ohm: f64) -> f64 {
    source_v * source_v / (4.0 * ohm)
}
