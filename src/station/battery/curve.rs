//! The open-circuit curve: charge share to volts, piece by straight piece.
//!
//! Trials side by side are mostly on one piece, and are then looked up once; the bits are those of a
//! look-up lane by lane.

use crate::numbers::lane::{Lane, Mask, Width};

/// Most nodes of an open-circuit curve.
pub const MOST_NODES: usize = 12;

/// Slope below which a piece of the curve is not allowed to fall, V: a level curve would have no
/// inverse.
const LEAST_SLOPE_V: f64 = 1e-9;

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
    /// Ends of the pieces as charges and as volts.
    by_charge: Ends,
    by_volts: Ends,
}

/// Ends of the pieces; the first and the last go on without end.
#[derive(Debug, Clone, PartialEq)]
struct Ends {
    low: [f64; MOST_NODES],
    high: [f64; MOST_NODES],
}

impl Ends {
    fn of(pieces: usize, nodes: &[f64; MOST_NODES]) -> Self {
        let mut ends = Self { low: *nodes, high: [f64::INFINITY; MOST_NODES] };
        ends.low[0] = f64::NEG_INFINITY;
        ends.high[..pieces - 1].copy_from_slice(&nodes[1..pieces]);
        ends
    }
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
    /// A curve through points of rising charge share and volts; two points at least.
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
            by_charge: Ends::of(1, &[0.0; MOST_NODES]),
            by_volts: Ends::of(1, &[0.0; MOST_NODES]),
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
        curve.by_charge = Ends::of(curve.pieces, &curve.node);
        curve.by_volts = Ends::of(curve.pieces, &curve.volt);
        curve
    }

    /// The piece that holds `x` in all lanes, if it is the same. Trials side by side are mostly on
    /// one, and mostly high up.
    #[inline(always)]
    fn common_piece<F: Lane>(&self, x: F, ends: &Ends) -> Option<usize> {
        if const { F::Width::LANES == 1 } {
            return None;
        }
        let w = x.width();
        let one = x.lane(0);
        let mut place = (self.pieces - 1).min(MOST_NODES - 1);
        while place > 0 && one < ends.low[place] {
            place -= 1;
        }
        let here = x.ge(w.splat(ends.low[place])).and(x.lt(w.splat(ends.high[place])));
        (!here.not().any()).then_some(place)
    }

    /// The piece that holds `x`; at a node the upper one.
    #[must_use]
    #[inline(always)]
    pub fn piece<F: Lane>(&self, x: F) -> Piece<F> {
        let w = x.width();
        if let Some(place) = self.common_piece(x, &self.by_charge) {
            return Piece {
                offset: w.splat(self.offset[place]),
                slope: w.splat(self.slope[place]),
                low: w.splat(self.by_charge.low[place]),
                high: w.splat(self.by_charge.high[place]),
            };
        }
        let mut piece = Piece::first(w, self);
        for place in 1..self.pieces {
            let node = w.splat(self.node[place]);
            piece.pass(self, place, node, x.ge(node));
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

    /// Offset and factor of the piece that holds `x`, a charge or volts.
    #[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
    #[inline(always)]
    fn at<F: Lane>(&self, x: F, ends: &Ends, factors: &[f64; MOST_NODES]) -> (F, F) {
        let w = x.width();
        if let Some(place) = self.common_piece(x, ends) {
            return (w.splat(self.offset[place]), w.splat(factors[place]));
        }
        let (mut offset, mut factor) = (w.splat(self.offset[0]), w.splat(factors[0]));
        for place in 1..self.pieces {
            let here = x.ge(w.splat(ends.low[place]));
            offset = F::select(here, w.splat(self.offset[place]), offset);
            factor = F::select(here, w.splat(factors[place]), factor);
        }
        (offset, factor)
    }

    /// Volts at charge share `x`.
    #[inline(always)]
    pub fn volts<F: Lane>(&self, x: F) -> F {
        let (offset, slope) = self.at(x, &self.by_charge, &self.slope);
        offset + slope * x
    }

    /// Charge share at which the curve has `volts`.
    #[inline(always)]
    pub fn share<F: Lane>(&self, volts: F) -> F {
        let (offset, per_volt) = self.at(volts, &self.by_volts, &self.per_volt);
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

#[cfg(test)]
mod tests {
    use super::Curve;
    use crate::numbers::lane::{Lane, Side, Width};

    /// On one piece, at its ends and on several, side by side and alone: the same bits.
    #[test]
    fn a_look_up_side_by_side_is_that_of_each() {
        let points = [(0.0, 2.0), (0.1, 3.0), (0.3, 3.2), (0.9, 3.4), (1.0, 3.6)];
        let curve = Curve::through(&points);
        let w = Side::<4>;
        let alone = [-0.2, 0.0, 0.1, 0.299_999, 0.3, 0.31, 0.9, 0.95, 1.0, 1.4];
        for first in alone {
            for other in alone {
                let x = w.by_lane(|lane| if lane == 2 { other } else { first });
                let (piece, volts) = (curve.piece(x), curve.volts(x));
                let share = curve.share(volts);
                for lane in 0..4 {
                    let one = x.lane(lane);
                    let of_one = curve.piece(one);
                    for (many, single) in [
                        (piece.offset, of_one.offset),
                        (piece.slope, of_one.slope),
                        (piece.low, of_one.low),
                        (piece.high, of_one.high),
                        (volts, curve.volts(one)),
                        (share, curve.share(curve.volts(one))),
                    ] {
                        assert_eq!(many.lane(lane).to_bits(), single.to_bits(), "{first} {other}");
                    }
                }
            }
        }
    }
}
