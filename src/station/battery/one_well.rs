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

use crate::numbers::elementary::exp_of_minus;
use crate::numbers::lane::{Lane, Mask, Width};

/// Most nodes of an open-circuit curve.
pub const MOST_NODES: usize = 12;

/// Slope below which a piece of the curve is not allowed to fall, V: a level curve would have no
/// inverse.
const LEAST_SLOPE_V: f64 = 1e-9;

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
    /// Charging current at which the board holds, A.
    pub charge_limit_a: f64,
    /// Discharge current above which the board opens, A.
    pub discharge_limit_a: f64,
    /// Self-discharge at 20 deg C, A.
    pub self_discharge_a: f64,
    /// Volts at which the battery's own board opens, V; 0 without a board.
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
    pub absorption_v: f64,
    /// Change of these with temperature, V per kelvin.
    pub absorption_v_per_k: f64,
    /// Stored over charged when full.
    pub full_efficiency_share: f64,
}

/// A rising piecewise-straight curve: charge share to volts.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    pieces: usize,
    /// Left end of each piece, then the right end of the last.
    node: [f64; MOST_NODES],
    volt: [f64; MOST_NODES],
    slope: [f64; MOST_NODES],
    /// One over the slope.
    per_volt: [f64; MOST_NODES],
    /// V = offset + slope x on the piece.
    offset: [f64; MOST_NODES],
    /// Integral of the curve from 0 to the left end of the piece.
    area: [f64; MOST_NODES],
}

/// One straight piece by lane.
#[derive(Debug, Clone, Copy)]
pub struct Piece<F> {
    /// V = offset + slope x.
    pub offset: F,
    /// Volts per unit of charge.
    pub slope: F,
    /// Left end; minus infinity on the first piece.
    pub low: F,
    /// Right end; infinity on the last piece.
    pub high: F,
}

impl<F: Lane> Piece<F> {
    /// The first piece of a curve, as if it went on both ways.
    #[must_use]
    #[inline(always)]
    pub fn first(w: F::Width, curve: &Curve) -> Self {
        let forever = w.splat(f64::INFINITY);
        Self {
            offset: w.splat(curve.offset[0]),
            slope: w.splat(curve.slope[0]),
            low: -forever,
            high: forever,
        }
    }

    /// Goes on to piece `place`, which begins at `low`, where that is passed. Beginnings rise: the
    /// first that is not passed is the right end.
    #[inline(always)]
    fn pass(&mut self, curve: &Curve, place: usize, low: F, passed: F::Mask) {
        let w = low.width();
        self.offset = F::select(passed, w.splat(curve.offset[place]), self.offset);
        self.slope = F::select(passed, w.splat(curve.slope[place]), self.slope);
        self.low = F::select(passed, low, self.low);
        self.high = F::select(passed, self.high, self.high.least(low));
    }

    /// This piece where the mask holds, else the other.
    #[must_use]
    #[inline(always)]
    pub fn where_else(&self, mask: F::Mask, other: &Self) -> Self {
        Self {
            offset: F::select(mask, self.offset, other.offset),
            slope: F::select(mask, self.slope, other.slope),
            low: F::select(mask, self.low, other.low),
            high: F::select(mask, self.high, other.high),
        }
    }
}

impl Curve {
    /// A curve through points of rising charge share and volts; two points at the least.
    #[must_use]
    pub fn through(points: &[(f64, f64)]) -> Self {
        let count = points.len().clamp(2, MOST_NODES);
        let mut curve = Self {
            pieces: count - 1,
            node: [0.0; MOST_NODES],
            volt: [0.0; MOST_NODES],
            slope: [0.0; MOST_NODES],
            per_volt: [0.0; MOST_NODES],
            offset: [0.0; MOST_NODES],
            area: [0.0; MOST_NODES],
        };
        for (place, (share, volts)) in points.iter().take(count).enumerate() {
            curve.node[place] = *share;
            curve.volt[place] = *volts;
        }
        for place in 0..count - 1 {
            let run = curve.node[place + 1] - curve.node[place];
            let slope = (curve.volt[place + 1] - curve.volt[place]) / run;
            curve.slope[place] = if slope > LEAST_SLOPE_V { slope } else { LEAST_SLOPE_V };
            curve.per_volt[place] = 1.0 / curve.slope[place];
            curve.offset[place] = curve.volt[place] - curve.slope[place] * curve.node[place];
            curve.area[place + 1] =
                curve.area[place] + run * (curve.volt[place] + curve.volt[place + 1]) / 2.0;
        }
        curve
    }

    /// The first piece to look at and the one behind the last, when all lanes are on the same side of
    /// the middle node: `nodes` are charges or volts.
    #[inline(always)]
    fn where_to_look<F: Lane>(&self, x: F, nodes: &[f64; MOST_NODES]) -> (usize, usize) {
        let middle = self.pieces / 2;
        if F::Width::LANES == 1 || middle == 0 {
            return (0, self.pieces);
        }
        let beyond = x.ge(x.width().splat(nodes[middle]));
        if !beyond.any() {
            (0, middle)
        } else if !beyond.not().any() {
            (middle, self.pieces)
        } else {
            (0, self.pieces)
        }
    }

    /// The piece that holds `x` in all lanes, if it is the same: `nodes` are charges or volts. Trials
    /// side by side are mostly on one, and mostly high up.
    #[inline(always)]
    fn common_piece<F: Lane>(&self, x: F, nodes: &[f64; MOST_NODES]) -> Option<usize> {
        if const { F::Width::LANES == 1 } {
            return None;
        }
        let w = x.width();
        let one = x.lane(0);
        let last = self.pieces - 1;
        let mut place = last;
        while place > 0 && one < nodes[place] {
            place -= 1;
        }
        let mut beside = w.all(false);
        if place > 0 {
            beside = x.ge(w.splat(nodes[place])).not();
        }
        if place < last {
            beside = beside.or(x.ge(w.splat(nodes[place + 1])));
        }
        (!beside.any()).then_some(place)
    }

    /// The piece that holds `x`; at a node the upper one.
    #[must_use]
    #[inline(always)]
    pub fn piece<F: Lane>(&self, x: F) -> Piece<F> {
        let w = x.width();
        if let Some(place) = self.common_piece(x, &self.node) {
            let (low, high) = (self.node[place], self.node[place + 1]);
            return Piece {
                offset: w.splat(self.offset[place]),
                slope: w.splat(self.slope[place]),
                low: w.splat(if place > 0 { low } else { f64::NEG_INFINITY }),
                high: w.splat(if place + 1 < self.pieces { high } else { f64::INFINITY }),
            };
        }
        let (first, end) = self.where_to_look(x, &self.node);
        let mut piece = Piece::first(w, self);
        if first > 0 {
            piece.offset = w.splat(self.offset[first]);
            piece.slope = w.splat(self.slope[first]);
            piece.low = w.splat(self.node[first]);
        }
        for place in first + 1..end {
            let node = w.splat(self.node[place]);
            piece.pass(self, place, node, x.ge(node));
        }
        if end < self.pieces {
            piece.high = piece.high.least(w.splat(self.node[end]));
        }
        piece
    }

    /// The piece in force while the volts are held, and its ends as charges. With a current that
    /// falls as the charge rises the surface stands on node i at `s = node_i - (held - volt_i)
    /// shift`. On such a charge the piece is the one that lies ahead.
    #[must_use]
    #[inline(always)]
    pub fn held_piece<F: Lane>(&self, s: F, held_v: F, shift: F, upwards: F::Mask) -> Piece<F> {
        let w = s.width();
        let mut piece = Piece::first(w, self);
        for place in 1..self.pieces {
            let share = w.splat(self.node[place]) - (held_v - w.splat(self.volt[place])) * shift;
            piece.pass(self, place, share, s.gt(share).or(upwards.and(s.ge(share))));
        }
        piece
    }

    /// Volts at charge share `x`.
    #[inline(always)]
    pub fn volts<F: Lane>(&self, x: F) -> F {
        let w = x.width();
        if let Some(place) = self.common_piece(x, &self.node) {
            return w.splat(self.offset[place]) + w.splat(self.slope[place]) * x;
        }
        let (first, end) = self.where_to_look(x, &self.node);
        let mut offset = w.splat(self.offset[first]);
        let mut slope = w.splat(self.slope[first]);
        for place in first + 1..end {
            let here = x.ge(w.splat(self.node[place]));
            offset = F::select(here, w.splat(self.offset[place]), offset);
            slope = F::select(here, w.splat(self.slope[place]), slope);
        }
        offset + slope * x
    }

    /// Charge share at which the curve has `volts`.
    #[inline(always)]
    pub fn share<F: Lane>(&self, volts: F) -> F {
        let w = volts.width();
        if let Some(place) = self.common_piece(volts, &self.volt) {
            return (volts - w.splat(self.offset[place])) * w.splat(self.per_volt[place]);
        }
        let (first, end) = self.where_to_look(volts, &self.volt);
        let mut offset = w.splat(self.offset[first]);
        let mut per_volt = w.splat(self.per_volt[first]);
        for place in first + 1..end {
            let here = volts.ge(w.splat(self.volt[place]));
            offset = F::select(here, w.splat(self.offset[place]), offset);
            per_volt = F::select(here, w.splat(self.per_volt[place]), per_volt);
        }
        (volts - offset) * per_volt
    }

    /// Integral of the curve from 0 to `x`.
    #[inline(always)]
    pub fn area<F: Lane>(&self, x: F) -> F {
        let w = x.width();
        let mut area = w.splat(self.area[0]);
        let mut slope = w.splat(self.slope[0]);
        let mut node = w.splat(self.node[0]);
        let mut volt = w.splat(self.volt[0]);
        for place in 1..self.pieces {
            let here = x.ge(w.splat(self.node[place]));
            area = F::select(here, w.splat(self.area[place]), area);
            slope = F::select(here, w.splat(self.slope[place]), slope);
            node = F::select(here, w.splat(self.node[place]), node);
            volt = F::select(here, w.splat(self.volt[place]), volt);
        }
        let beyond = x - node;
        area + beyond * (volt + slope * beyond * w.splat(0.5))
    }
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
