//! Lead-acid cells: two wells.
//!
//! Charge sits in a well that is at hand (share c) and one that is bound; they level out at the
//! rate k (Manwell & McGowan, "Lead acid battery storage model for hybrid energy systems", Solar
//! Energy 50 (1993) 399). With fills h1 and h2, delta = h1 - h2 and a steady stored current I:
//!
//! `delta(t) = delta0 e^(-k t) + (1 - e^(-k t)) I / (c k qm)`,  `h1 = s + (1 - c) delta`
//!
//! A steady discharge is over when h1 = 0: `1/C(t) = (a/c + b) / qm`, a = (1 - e^(-kt)) / (kt),
//! b = 1 - a. For a given k this is linear in 1/(qm c) and 1/qm, so the fit looks along k alone.
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
/// With two capacities, all charge over the capacity at the longer rate: the middle of what
/// datasheets fit.
const ALL_OVER_LONGEST: f64 = 1.08;

/// By how much wells may miss a stated capacity, share. Those fitted to two datasheets from 1 to 20 h
/// miss by 1.1 and 3.2 % at the most (tests/reference/battery), the second at a point that stands
/// out of its own sheet.
pub const MOST_MISSED_SHARE: f64 = 0.03;
/// All charge over the largest stated capacity, at the most: wells fitted to the same two datasheets
/// have 1.08 to 1.11; the rest is room for sheets that end at 10 h.
pub const MOST_OVER_LARGEST: f64 = 1.2;

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

    /// The stated capacity that these wells miss by most, and by what share of it.
    #[must_use]
    pub fn most_missed(&self, capacities: &[CapacityAtRate]) -> Option<(usize, f64)> {
        let missed = |it: &CapacityAtRate| self.capacity_ah(it.discharge_h) / it.capacity_ah - 1.0;
        let worst = |a: &(usize, f64), b: &(usize, f64)| a.1.abs().total_cmp(&b.1.abs());
        capacities.iter().map(missed).enumerate().max_by(worst)
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

    /// Fits the wells to capacities at rates: exactly for two; for three exactly where there are
    /// wells with these capacities, else, and for more, least squares of the relative error. `None`
    /// when not even those have a share at hand between 0 and 1.
    #[must_use]
    pub fn fit(capacities: &[CapacityAtRate]) -> Option<Self> {
        let longest = capacities.iter().max_by(|a, b| a.discharge_h.total_cmp(&b.discharge_h))?;
        let fixed = (capacities.len() < 3).then_some(ALL_OVER_LONGEST * longest.capacity_ah);
        // The best k on a logarithmic grid, then by golden section around it.
        let at = |log_k: f64| misfit(libm::exp(log_k), fixed, capacities);
        let grid = |step: i32| -7.0 + 0.05 * f64::from(step);
        let best = (0..240).min_by(|a, b| at(grid(*a)).0.total_cmp(&at(grid(*b)).0))?;
        let (mut low, mut high) = (grid(best - 1), grid(best + 1));
        let golden = 0.618_033_988_749_894_8;
        for _ in 0..90 {
            let (left, right) = (high - golden * (high - low), low + golden * (high - low));
            if at(left).0 < at(right).0 { high = right } else { low = left }
        }
        let log_k = (low + high) / 2.0;
        let wells = at(log_k).1?;
        let good = wells.at_hand_share > 0.0 && wells.at_hand_share < 1.0 && wells.all_ah > 0.0;
        good.then_some(wells)
    }
}

/// Sum of squared relative errors of the best wells with rate k, and these.
fn misfit(k: f64, fixed: Option<f64>, capacities: &[CapacityAtRate]) -> (f64, Option<Wells>) {
    // Rows of  u a C + w b C = 1  with u = 1 / (qm c), w = 1 / qm.
    let row = |it: &CapacityAtRate| {
        let a = mean_fading(k * it.discharge_h);
        (a * it.capacity_ah, (1.0 - a) * it.capacity_ah)
    };
    let (mut aa, mut ab, mut bb, mut a1, mut b1) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (a, b) in capacities.iter().map(row) {
        aa += a * a;
        ab += a * b;
        bb += b * b;
        a1 += a;
        b1 += b;
    }
    let (u, w) = match fixed {
        Some(all_ah) => ((a1 - ab / all_ah) / aa, 1.0 / all_ah),
        None => {
            let det = aa * bb - ab * ab;
            ((a1 * bb - b1 * ab) / det, (aa * b1 - ab * a1) / det)
        }
    };
    let error: f64 = capacities
        .iter()
        .map(row)
        .map(|(a, b)| {
            let off = u * a + w * b - 1.0;
            off * off
        })
        .sum();
    if !(u > w && w > 0.0 && error.is_finite()) {
        return (f64::INFINITY, None);
    }
    (error, Some(Wells { at_hand_share: w / u, rate_per_h: k, all_ah: 1.0 / w }))
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
