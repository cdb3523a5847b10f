//! Lead-acid cells: two wells.
//!
//! Charge sits in a well that is at hand (share c) and one that is bound; they level out at the
//! rate k (Manwell & McGowan, "Lead acid battery storage model for hybrid energy systems", Solar
//! Energy 50 (1993) 399). With fills h1 and h2, delta = h1 - h2 and a steady stored current I:
//!
//! `delta(t) = delta0 e^(-k t) + (1 - e^(-k t)) I / (c k qm)`,  `h1 = s + (1 - c) delta`
//!
//! A steady discharge is over when h1 = 0: `1/C(t) = (a/c + b) / qm`, a = (1 - e^(-kt)) / (kt),
//! b = 1 - a. The fit takes the capacities at the shortest and at the longest stated rate, and all
//! charge from `all_over_longest`; those between are checked, not fitted. Three free constants
//! through three capacities cannot be safe: two curves that meet at two points cross there, so a lower
//! capacity at one end raises the curve between the other two. Nor can any fit have all three: that
//! it reaches sheets of its own form, that it is nowhere above a point, that a lower point never raises
//! it (a sheet of its own form with one point lowered would have to keep its curve, which is then
//! above that point). This one meets its own form and is never raised by a lower point; `check`
//! refuses where it is above a point by more than [`MOST_ABOVE_SHARE`].
//! While charging at the datasheet's absorption volts the cells accept alpha (qm - q) (ampere-hour
//! law, common practice, no source): their charging resistance is
//! `max(R, (V_abs - V0(h1)) / (alpha qm (1 - s)))`. Trust: discharge checked against published
//! values, charging plausible; what the cold locks is plausible below the published tables.

use super::curve::Curve;
use super::one_well::{Constants, OneWell, SecondWell};
use crate::scenario::battery::{AcidKind, CapacityAtRate, LeadAcid};

/// Rest volts of a cell by the fill of the well at hand: table of a controller manual for flooded
/// 12 V batteries, a sixth of it.
pub const CELL_CURVE: [(f64, f64); 11] = [
    (0.0, 1.75),
    (0.1, 11.31 / 6.0),
    (0.2, 11.58 / 6.0),
    (0.3, 11.75 / 6.0),
    (0.4, 11.90 / 6.0),
    (0.5, 12.06 / 6.0),
    (0.6, 12.20 / 6.0),
    (0.7, 12.32 / 6.0),
    (0.8, 12.42 / 6.0),
    (0.9, 12.50 / 6.0),
    (1.0, 12.70 / 6.0),
];
/// How much higher a cell with starved or set acid rests, V: 0.15 V a 12 V battery, common
/// practice, no source.
const STARVED_HIGHER_V: f64 = 0.025;
/// End of discharge of a cell, V: below it nothing useful comes out (datasheets end at 1.75 V).
const CELL_END_V: f64 = 1.75;
/// Volts of a cell at which a flat battery carries loads again, V: common practice, no source.
const CELL_AGAIN_V: f64 = 2.08;
/// All charge over the longest stated capacity, less 1, times its hours. The wells level out within
/// hours, so what a discharge of t hours leaves behind falls as 1/t. Wells fitted to a 190 Ah sheet
/// (tests/reference/battery) have 1.33, 1.16 and 1.08 times its capacities at 5, 10 and 20 h; those
/// fitted to a 55 Ah sheet 1.35, 1.12 and 1.08.
const LEFT_BEHIND_H: f64 = 1.6;
/// The same share at most: sheets that end below 8 h say too little of what is left, and the
/// lower guess is taken.
const MOST_OVER_LONGEST: f64 = 1.2;
/// How fast wells level out, per hour: the two sheets have 0.8 and 1.3. Beyond these bounds the
/// curve has come to its last form, and what is stated beyond it is not believed.
const RATES_PER_H: (f64, f64) = (1e-3, 3.0);

/// By how much the wells may be above a stated capacity, share: two published sheets from 1 to 20 h
/// need 1.6 and 2.2 % (tests/reference/battery).
pub const MOST_ABOVE_SHARE: f64 = 0.03;
/// By how much they may be below one: beyond it is a slip and no battery. The same two sheets need
/// 1.0 and 3.4 %; the rest is room for rounded labels, and errs on the safe side.
pub const MOST_BELOW_SHARE: f64 = 0.06;
/// By how much they may be below one without a word.
pub const TOLD_BELOW_SHARE: f64 = 0.03;

/// Constants of the two wells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wells {
    /// Share of the well at hand.
    pub at_hand_share: f64,
    /// How fast the wells level out, per hour.
    pub rate_per_h: f64,
    /// All charge, Ah.
    pub all_ah: f64,
}

/// `(1 - e^(-x)) / x`.
fn mean_fading(x: f64) -> f64 {
    if x < 1e-9 { 1.0 } else { -libm::expm1(-x) / x }
}

impl Wells {
    /// Capacity of a steady discharge that lasts `hours`, Ah.
    #[must_use]
    pub fn capacity_ah(&self, hours: f64) -> f64 {
        let a = mean_fading(self.rate_per_h * hours);
        self.all_ah / (a / self.at_hand_share + 1.0 - a)
    }

    /// Charge in both wells after `hours` at a steady discharge current, Ah, without regard to
    /// their being empty or full. Starts from `(at hand, bound)`.
    #[must_use]
    pub fn after(&self, wells_ah: (f64, f64), discharge_a: f64, hours: f64) -> (f64, f64) {
        let c = self.at_hand_share;
        let fill = |(q1, q2): (f64, f64)| (q1 / (c * self.all_ah), q2 / ((1.0 - c) * self.all_ah));
        let (h1, h2) = fill(wells_ah);
        let x = self.rate_per_h * hours;
        let settled = -discharge_a / (c * self.rate_per_h * self.all_ah);
        let delta = (h1 - h2) * libm::exp(-x) - settled * libm::expm1(-x);
        let all = (wells_ah.0 + wells_ah.1 - discharge_a * hours) / self.all_ah;
        let h1 = all + (1.0 - c) * delta;
        let h2 = all - c * delta;
        (c * self.all_ah * h1, (1.0 - c) * self.all_ah * h2)
    }

    /// How far these wells are above each stated capacity, share of it; below where negative.
    #[must_use]
    pub fn above_shares(&self, capacities: &[CapacityAtRate]) -> Vec<f64> {
        let above = |it: &CapacityAtRate| self.capacity_ah(it.discharge_h) / it.capacity_ah - 1.0;
        capacities.iter().map(above).collect()
    }

    /// Hours that a steady discharge from full lasts.
    #[must_use]
    pub fn lifetime_h(&self, discharge_a: f64) -> f64 {
        let (mut low, mut high) = (0.0, self.all_ah / discharge_a);
        for _ in 0..200 {
            let middle = (low + high) / 2.0;
            if self.capacity_ah(middle) > discharge_a * middle {
                low = middle
            } else {
                high = middle
            }
        }
        (low + high) / 2.0
    }

    /// The wells with the capacities at the shortest and at the longest rate, exactly where there are
    /// such wells and else at most these. A lower capacity never gives more at any rate between the
    /// two. `None` without two capacities that grow with the hours.
    #[must_use]
    pub fn fit(capacities: &[CapacityAtRate]) -> Option<Self> {
        let hours =
            |a: &&CapacityAtRate, b: &&CapacityAtRate| a.discharge_h.total_cmp(&b.discharge_h);
        let (short, long) = (capacities.iter().min_by(hours)?, capacities.iter().max_by(hours)?);
        let grows = short.discharge_h < long.discharge_h && short.capacity_ah < long.capacity_ah;
        if !(grows && short.discharge_h > 0.0 && short.capacity_ah > 0.0) {
            return None;
        }
        let over = all_over_longest(long.discharge_h);
        // a at the shortest over a at the longest rate: grows with k alone, and is known from the
        // capacities. Beyond the rates that wells have, the greater capacity is lowered to theirs.
        let steep = |k: f64| mean_fading(k * short.discharge_h) / mean_fading(k * long.discharge_h);
        let (slowest, fastest) = RATES_PER_H;
        let longest_over_shortest = |k: f64| (1.0 + (over - 1.0) * steep(k)) / over;
        let long_ah = long.capacity_ah.min(short.capacity_ah * longest_over_shortest(fastest));
        let wanted = (over * long_ah / short.capacity_ah - 1.0) / (over - 1.0);
        let (mut low, mut high) = (libm::log(slowest), libm::log(fastest));
        for _ in 0..100 {
            let middle = (low + high) / 2.0;
            if steep(libm::exp(middle)) < wanted { low = middle } else { high = middle }
        }
        // The slowest of these wells: the lower of the two capacities is met from below.
        let rate_per_h = libm::exp(high);
        let long_ah = long_ah.min(short.capacity_ah * longest_over_shortest(rate_per_h));
        let bound = (over - 1.0) / mean_fading(rate_per_h * long.discharge_h);
        Some(Self { at_hand_share: 1.0 / (1.0 + bound), rate_per_h, all_ah: over * long_ah })
    }
}

/// All charge over the capacity of a steady discharge of so many hours: 1.08 at 20 h.
fn all_over_longest(discharge_h: f64) -> f64 {
    (1.0 + LEFT_BEHIND_H / discharge_h).min(MOST_OVER_LONGEST)
}

/// Coldest cells for which the table of [`usable_at_c`] has a source, deg C: the first row of IEEE
/// 485 table 1, the coldest point of the datasheet. What the table says below is carried on from
/// there, without a source.
#[must_use]
pub fn usable_published_from_c(kind: AcidKind) -> f64 {
    match kind {
        AcidKind::Flooded => -3.9,
        AcidKind::Agm | AcidKind::Gel => -10.0,
    }
}

/// Share of capacity that can be drawn at a temperature, by kind: flooded by the size factors of
/// IEEE 485 table 1 (a cubic through them, opened on a public page), others by a 190 Ah AGM
/// datasheet. The points at -20 deg C have no source: see [`usable_published_from_c`].
#[must_use]
pub fn usable_at_c(kind: AcidKind) -> &'static [(f64, f64)] {
    match kind {
        AcidKind::Flooded => &[
            (-20.0, 0.45),
            (-3.9, 0.6628),
            (1.7, 0.7332),
            (7.2, 0.8025),
            (12.8, 0.8707),
            (18.3, 0.9331),
            (25.0, 1.0),
        ],
        AcidKind::Agm | AcidKind::Gel => {
            &[(-20.0, 0.76), (-10.0, 0.82), (0.0, 0.88), (10.0, 0.94), (20.0, 1.0)]
        }
    }
}

/// The bank of the scenario; `None` when no wells have the capacities given.
#[must_use]
pub fn bank(battery: &LeadAcid) -> Option<OneWell> {
    let wells = Wells::fit(&battery.capacities)?;
    let in_series = f64::from(battery.cells_in_series);
    let strings = f64::from(battery.strings);
    let higher_v = match battery.kind {
        AcidKind::Flooded => 0.0,
        AcidKind::Agm | AcidKind::Gel => STARVED_HIGHER_V,
    };
    let curve: Vec<_> = CELL_CURVE
        .iter()
        .map(|(fill, volts)| {
            let higher_v = if *fill > 0.0 { higher_v } else { 0.0 };
            (*fill, (volts + higher_v) * in_series)
        })
        .collect();
    let usable = if battery.usable_share_at_c.is_empty() {
        usable_at_c(battery.kind).to_vec()
    } else {
        battery.usable_share_at_c.iter().map(|point| (point.cell_c, point.usable_share)).collect()
    };
    Some(OneWell {
        charge_limit_a: battery.charge_limit_a.map_or(f64::INFINITY, |limit_a| limit_a * strings),
        board_open_v: CELL_END_V * in_series,
        board_close_v: CELL_AGAIN_V * in_series,
        usable_at_c: usable,
        charge_efficiency_share: battery.charge_efficiency_share,
        second: Some(SecondWell {
            at_hand_share: wells.at_hand_share,
            rate_per_h: wells.rate_per_h,
            acceptance_per_h: battery.acceptance_share_per_h,
            rated_absorption_v: battery.rated_absorption_v,
            absorption_v_per_k: battery.rated_absorption_v_per_k_cell * in_series,
            full_efficiency_share: battery.full_efficiency_share,
        }),
        ..OneWell::new(
            Curve::through(&curve),
            &Constants {
                capacity_ah: wells.all_ah * battery.age_capacity_share * strings,
                resistance_ohm: battery.resistance_ohm / strings,
                self_discharge_share_month: battery.self_discharge_share_month,
                nominal_v: 2.0 * in_series,
                ..Constants::default()
            },
        )
    })
}
