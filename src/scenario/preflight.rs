//! What `check` measures the station by.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What `check` measures the station by; what is absent is usual.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Preflight {
    /// Most that leads to a radio may drop at its peak, share of the rated capacity volts.
    #[serde(default = "three_percent")]
    pub radio_drop_share: f64,
    /// Most that the main feed and the leads of chargers may drop, share of the rated capacity volts.
    #[serde(default = "three_percent")]
    pub main_drop_share: f64,
    /// Most that leads to anything else may drop, share of the rated capacity volts.
    #[serde(default = "ten_percent")]
    pub other_drop_share: f64,
    /// How far set points and disconnect stay from the volts at which the BMS trips, V a
    /// cell.
    #[serde(default = "fifty_millivolts")]
    pub bms_margin_cell_v: f64,
    /// Direct volts above which nobody should touch a bare part, V.
    #[serde(default = "sixty_volts")]
    pub touch_v: f64,
    /// Coldest that the air gets in many years, deg C, for the open-circuit volts of the panels; the
    /// coldest hour that the scenario's sky knows when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coldest_air_c: Option<f64>,
}

impl Default for Preflight {
    fn default() -> Self {
        Self {
            radio_drop_share: three_percent(),
            main_drop_share: three_percent(),
            other_drop_share: ten_percent(),
            bms_margin_cell_v: fifty_millivolts(),
            touch_v: sixty_volts(),
            coldest_air_c: None,
        }
    }
}

impl Preflight {
    /// Whether all of it is usual.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// 3 %: common practice, no source.
fn three_percent() -> f64 {
    0.03
}
/// 10 %: common practice, no source.
fn ten_percent() -> f64 {
    0.10
}
/// 0.05 V a cell, 0.2 V on four: common practice, no source.
fn fifty_millivolts() -> f64 {
    0.05
}
/// 60 V of direct current: IEC 61140 and IEC 62368-1, from memory.
fn sixty_volts() -> f64 {
    60.0
}
