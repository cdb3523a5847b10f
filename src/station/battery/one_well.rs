//! A battery with one store of charge and a surface ahead of it.
//!
//! Volts at the terminals with a charging current J (A, negative when discharging):
//!
//! `V = V0(s + J tau / Q) + J R + sign(J) h / 2`,  `ds/dt = (eta J - I_sd) / Q`
//!
//! with s the charge (0 to 1), V0 a rising piecewise-straight open-circuit curve that goes on with
//! its end slopes for the surface, tau the lag of the surface, R the resistance, h the gap between
//! the charging and the discharging curve and I_sd the self-discharge. eta is 1 but for an ideal
//! battery, where it is the charge efficiency, or one over the discharge efficiency.
//! At J = 0 the terminals may stand anywhere in V0 +- h/2.

use super::curve::Curve;
use crate::numbers::elementary::exp_of_minus;
use crate::numbers::lane::{Lane, Width};

/// Constants of a one-well battery, the whole bank.
#[derive(Debug, Clone, PartialEq)]
pub struct OneWell {
    /// Rated, aged capacity, Ah.
    pub capacity_ah: f64,
    /// Resistance, ohm.
    pub resistance_ohm: f64,
    /// Lag of the surface while charging, h.
    pub lag_charge_h: f64,
    /// Lag of the surface while discharging, h.
    pub lag_discharge_h: f64,
    /// Half the gap between the charging and the discharging curve, V.
    pub half_gap_v: f64,
    /// Stored over charged.
    pub charge_efficiency_share: f64,
    /// Delivered over drawn.
    pub discharge_efficiency_share: f64,
    /// Charging current at which the BMS holds, A.
    pub charge_limit_a: f64,
    /// Discharge current above which the BMS opens, A.
    pub discharge_limit_a: f64,
    /// Self-discharge at 20 deg C, A.
    pub self_discharge_a: f64,
    /// Volts at which its BMS opens, V; 0 without a BMS.
    pub board_open_v: f64,
    /// Volts at which it closes again, V.
    pub board_close_v: f64,
    /// Whether loads run from what the sources give while the battery is empty; otherwise the
    /// loads are off until the battery has recovered.
    pub serves_when_empty: bool,
    /// Volts that stand for the battery in plans, V.
    pub nominal_v: f64,
    /// Cell temperature below which no charge is taken, and above which it is again, deg C.
    pub charge_inhibit_c: Option<(f64, f64)>,
    /// The bound well of a lead-acid battery; then the curve speaks of the well at hand.
    pub second: Option<SecondWell>,
    /// Points (cell temperature deg C, share of capacity that can be drawn).
    pub usable_at_c: Vec<(f64, f64)>,
    /// The open-circuit curve.
    pub curve: Curve,
}

/// What a lead-acid battery has besides (see [`super::acid`]).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondWell {
    /// Share of the well at hand.
    pub at_hand_share: f64,
    /// How fast the wells level out, per hour.
    pub rate_per_h: f64,
    /// Charging current accepted at the absorption volts, share of what is missing an hour.
    pub acceptance_per_h: f64,
    /// Absorption volts at 25 deg C, V.
    pub rated_absorption_v: f64,
    /// Change of these with temperature, V per kelvin.
    pub absorption_v_per_k: f64,
    /// Stored over charged when full.
    pub full_efficiency_share: f64,
}

/// What [`OneWell::new`] needs besides the curve.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Constants {
    /// See [`OneWell::capacity_ah`].
    pub capacity_ah: f64,
    /// See [`OneWell::resistance_ohm`].
    pub resistance_ohm: f64,
    /// See [`OneWell::lag_charge_h`].
    pub lag_charge_h: f64,
    /// See [`OneWell::lag_discharge_h`].
    pub lag_discharge_h: f64,
    /// See [`OneWell::half_gap_v`].
    pub half_gap_v: f64,
    /// Self-discharge at 20 deg C, share of capacity a month of 30 days.
    pub self_discharge_share_month: f64,
    /// See [`OneWell::nominal_v`].
    pub nominal_v: f64,
}

impl OneWell {
    /// A bank without limits, board, cold or efficiency losses; set those fields afterwards.
    #[must_use]
    pub fn new(curve: Curve, constants: &Constants) -> Self {
        Self {
            capacity_ah: constants.capacity_ah,
            resistance_ohm: constants.resistance_ohm.max(1e-9),
            lag_charge_h: constants.lag_charge_h,
            lag_discharge_h: constants.lag_discharge_h,
            half_gap_v: constants.half_gap_v,
            charge_efficiency_share: 1.0,
            discharge_efficiency_share: 1.0,
            charge_limit_a: f64::INFINITY,
            discharge_limit_a: f64::INFINITY,
            self_discharge_a: constants.capacity_ah * constants.self_discharge_share_month / 720.0,
            board_open_v: 0.0,
            board_close_v: 0.0,
            serves_when_empty: false,
            nominal_v: constants.nominal_v,
            charge_inhibit_c: None,
            second: None,
            usable_at_c: Vec::new(),
            curve,
        }
    }

    /// Volts at the terminals at rest, V.
    #[inline(always)]
    pub fn rest_v<F: Lane>(&self, charge_share: F) -> F {
        self.curve.volts(charge_share)
    }

    /// Energy from empty to this charge at rest volts, Wh; `at_hand` is the fill of the well at hand
    /// of a lead-acid battery and the charge itself otherwise.
    #[must_use]
    pub fn stored_wh(&self, charge_share: f64, at_hand: f64) -> f64 {
        match self.second {
            None => self.capacity_ah * self.curve.area(charge_share),
            Some(second) => {
                let c = second.at_hand_share;
                let bound = bound_fill(&second, charge_share, at_hand);
                self.capacity_ah
                    * (c * self.curve.area(at_hand) + (1.0 - c) * self.curve.area(bound))
            }
        }
    }

    /// Volts at the terminals with a steady charging current (negative: discharging), V.
    #[must_use]
    pub fn terminal_v(&self, charge_share: f64, charge_a: f64) -> f64 {
        let (lag_h, side) = if charge_a > 0.0 {
            (self.lag_charge_h, 1.0)
        } else if charge_a < 0.0 {
            (self.lag_discharge_h, -1.0)
        } else {
            (0.0, 0.0)
        };
        self.curve.volts(charge_share + charge_a * lag_h / self.capacity_ah)
            + charge_a * self.resistance_ohm
            + side * self.half_gap_v
    }

    /// Charge at which a steady charging current `charge_a` (negative: discharging) just brings the
    /// terminals to `volts`: above it the battery takes less at these volts.
    #[inline(always)]
    pub fn charge_where<F: Lane>(&self, volts: F, charge_a: F) -> F {
        let w = charge_a.width();
        let charging = charge_a.ge(w.splat(0.0));
        let half_gap = w.splat(self.half_gap_v);
        let lag_h = F::select(charging, w.splat(self.lag_charge_h), w.splat(self.lag_discharge_h));
        let open_circuit = volts - charge_a * w.splat(self.resistance_ohm)
            + F::select(charging, -half_gap, half_gap);
        self.curve.share(open_circuit) - charge_a * lag_h * w.splat(1.0 / self.capacity_ah)
    }

    /// Self-discharge at a battery temperature, A: doubled per 10 K above 20 deg C, halved per 10 K
    /// below (common practice, no source). Held between -80 and 120 deg C.
    #[must_use]
    #[inline(always)]
    pub fn self_discharge_at_a<F: Lane>(&self, battery_c: F) -> F {
        let w = battery_c.width();
        if self.self_discharge_a == 0.0 {
            return w.splat(0.0);
        }
        // 2^((c - 20) / 10) = 2^10 exp(-(120 - c) ln 2 / 10): the exponential takes no negatives.
        let below = (w.splat(120.0) - battery_c).held_between(w.splat(0.0), w.splat(200.0));
        w.splat(1024.0 * self.self_discharge_a)
            * exp_of_minus(below * w.splat(std::f64::consts::LN_2 / 10.0))
    }

    /// Charge below which the cold locks what is left, share.
    #[must_use]
    #[inline(always)]
    pub fn empty_share<F: Lane>(&self, battery_c: F) -> F {
        let w = battery_c.width();
        let Some((first, rest)) = self.usable_at_c.split_first() else { return w.splat(0.0) };
        let mut usable = w.splat(first.1);
        let mut before = first;
        for point in rest {
            let per_k = (point.1 - before.1) / (point.0 - before.0);
            let along = w.splat(before.1) + w.splat(per_k) * (battery_c - w.splat(before.0));
            let beyond = battery_c.ge(w.splat(before.0));
            let along = F::select(battery_c.ge(w.splat(point.0)), w.splat(point.1), along);
            usable = F::select(beyond, along, usable);
            before = point;
        }
        w.splat(1.0) - usable
    }
}

/// Fill of the bound well.
#[must_use]
pub fn bound_fill(second: &SecondWell, charge_share: f64, at_hand: f64) -> f64 {
    (charge_share - second.at_hand_share * at_hand) / (1.0 - second.at_hand_share)
}
