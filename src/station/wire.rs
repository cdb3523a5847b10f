//! Copper leads.
//!
//! Resistance of a stranded copper conductor: `rho20 (1 + alpha20 (T - 20)) lay / area`, with
//! the wire's area by the gauge formula d = 0.127 mm x 92^((36 - n)/39) (ASTM B258). Standard
//! annealed copper rho20 = 1.7241e-8 ohm m, alpha20 = 0.00393 per K (IACS); strands are 2 % longer
//! than the lead (NEC chapter 9 table 8 against the ideal: 1.018 to 1.025). Trust: checked against
//! published values.

use crate::scenario::loads::Wire;

const RHO_20_OHM_M: f64 = 1.7241e-8;
const ALPHA_20_PER_K: f64 = 0.003_93;
const LAY_FACTOR: f64 = 1.02;

/// Rated copper areas in which wires are sold, mm2: IEC 60228, from memory.
pub const METRIC_MM2: [f64; 14] =
    [0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0];

/// Diameter of a solid conductor of American wire gauge `gauge` (1/0 is 0, 4/0 is -3), mm.
#[must_use]
pub fn awg_diameter_mm(gauge: i32) -> f64 {
    0.127 * libm::pow(92.0, (36.0 - f64::from(gauge)) / 39.0)
}

/// Copper area of American wire gauge `gauge`, mm2.
#[must_use]
pub fn awg_area_mm2(gauge: i32) -> f64 {
    let diameter_mm = awg_diameter_mm(gauge);
    std::f64::consts::PI * diameter_mm * diameter_mm / 4.0
}

/// Resistance of one metre of solid copper, ohm.
#[must_use]
pub fn copper_ohm_per_m(area_mm2: f64, conductor_c: f64) -> f64 {
    RHO_20_OHM_M * (1.0 + ALPHA_20_PER_K * (conductor_c - 20.0)) / (area_mm2 * 1e-6)
}

/// Copper area of a wire, mm2; `None` when the scenario gives none.
#[must_use]
pub fn area_mm2(wire: &Wire) -> Option<f64> {
    wire.awg.map(awg_area_mm2).or(wire.mm2)
}

/// Resistance of the whole loop, there and back, with its connectors, ohm.
#[must_use]
pub fn loop_ohm(wire: &Wire) -> f64 {
    let Some(area_mm2) = area_mm2(wire) else { return 0.0 };
    2.0 * wire.one_way_m * copper_ohm_per_m(area_mm2, wire.conductor_c) * LAY_FACTOR
        + f64::from(wire.connectors) * wire.connector_ohm
}

/// The least resistance of the whole loop into a short circuit, ohm: solid copper as cold as it gets,
/// without a connector.
#[must_use]
pub fn least_ohm(wire: &Wire, coldest_c: f64) -> f64 {
    area_mm2(wire)
        .map_or(0.0, |area_mm2| 2.0 * wire.one_way_m * copper_ohm_per_m(area_mm2, coldest_c))
}
