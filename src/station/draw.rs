//! What one load draws while receiving and while transmitting.
//!
//! A linear transmitter's current follows the envelope of its signal:
//! `I = I_q + (I_full - I_q) e`, with e the envelope over that of full power; at reduced peak power
//! e peaks at sqrt(P/P_full). Over a transmission e has the mean and the mean square below. RF duty
//! is the mean of e^2, NOT of the current: average over peak power from FCC OET 65 Supplement B,
//! table 2 (1997); current factor of speech 0.886 sqrt(duty), the class-B law. Trust: plausible.

use crate::scenario::loads::{Draw, Mode, TierLoad};

/// Current and power of one state of a load, at its own terminals.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct State {
    /// Constant current, mean over the state, A.
    pub current_a: f64,
    /// Variance of that current within the state, A2.
    pub current_var_a2: f64,
    /// Highest constant current within the state, A.
    pub current_peak_a: f64,
    /// Constant power, W.
    pub power_w: f64,
}

/// A load as drawn in a tier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// While receiving, or all the time.
    pub receive: State,
    /// While transmitting.
    pub transmit: State,
    /// Share of its time on in which it transmits.
    pub transmit_share: f64,
}

impl State {
    fn steady(current_a: f64) -> Self {
        Self { current_a, current_peak_a: current_a, ..Self::default() }
    }
}

/// Mean and mean square of the envelope over a transmission, of its peak.
#[must_use]
pub fn envelope_moments(mode: Mode) -> (f64, f64) {
    match mode {
        Mode::VoiceUnprocessed => (0.886 * libm::sqrt(0.20), 0.20),
        Mode::VoiceProcessed => (0.886 * libm::sqrt(0.50), 0.50),
        // Transmitting carrier: the envelope is 0 or 1, 22 of 50 units of the word PARIS.
        Mode::Morse => (0.44, 0.44),
        Mode::Carrier => (1.0, 1.0),
    }
}

/// What a load draws in a tier.
#[must_use]
pub fn drawn(draw: &Draw, transmit_share: f64, in_tier: &TierLoad) -> Drawn {
    let transmit_share = in_tier.transmit_share.unwrap_or(transmit_share);
    match draw {
        Draw::Current { receive_a, transmit_a } => Drawn {
            receive: State::steady(*receive_a),
            transmit: State::steady(transmit_a.unwrap_or(*receive_a)),
            transmit_share,
        },
        Draw::Envelope { receive_a, quiescent_a, full_a, power_share, mode } => {
            let peak = libm::sqrt(in_tier.power_share.unwrap_or(*power_share));
            let swing_a = (full_a - quiescent_a) * peak;
            let (mean, mean_square) = envelope_moments(*mode);
            Drawn {
                receive: State::steady(*receive_a),
                transmit: State {
                    current_a: quiescent_a + swing_a * mean,
                    current_var_a2: swing_a * swing_a * (mean_square - mean * mean),
                    current_peak_a: quiescent_a + swing_a,
                    power_w: 0.0,
                },
                transmit_share,
            }
        }
        Draw::Power { power_w, converter_efficiency_share, idle_w } => {
            let state = State {
                power_w: power_w / converter_efficiency_share + idle_w,
                ..State::default()
            };
            Drawn { receive: state, transmit: state, transmit_share: 0.0 }
        }
    }
}
