//! Why a station was off the air: a cause for every hour without power, and for every hour in a tier
//! that does not count as on the air.
//!
//! The step notes what switched the loads off and at which charge; the book of the single run notes
//! how long each cause lasted. An hour has one cause: what switched the loads off, until they are on
//! again. Hours in which cold forbade charging besides are counted beside it.
//! Trust: exact within the model.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::ledger::{Heads, Row};
use super::phase::Phase;
use super::summary::after;
use crate::plan::Plan;

/// Code of [`super::state::State::opened_by`]: the volts fell to those of the disconnect or the BMS.
pub const OPENED_BY_VOLTS: f64 = 1.0;
/// Code: more current than the BMS allows.
pub const OPENED_BY_LIMIT: f64 = 2.0;
/// Code: nothing left that the battery gives at its temperature.
pub const OPENED_EMPTY: f64 = 3.0;

/// Charge above which a battery that gives nothing more is locked by cold, and not empty.
const LOCKED_SHARE: f64 = 1e-6;

/// Why the station is off the air. The words are stable, for programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// The low-voltage disconnect has switched the loads off.
    Disconnect,
    /// The BMS has: the volts of the cells.
    BmsVolts,
    /// The BMS has: more current than it allows.
    BmsCurrent,
    /// The BMS waits for somebody to reset it.
    BmsWaits,
    /// The battery is empty.
    Empty,
    /// The charge that is left is locked by cold.
    Cold,
    /// The volts at a device are below its window.
    DeviceWindow,
    /// The plan is in a tier that does not count as on the air.
    Tier,
}

/// Hours off the air within a step, by one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffAir {
    /// Why.
    pub cause: Cause,
    /// The load whose window it is, by index; 0 otherwise.
    pub load: usize,
    /// How long, h.
    pub hours: f64,
    /// When it begins, h after the start of the step.
    pub after_h: f64,
    /// Charge that was left when the loads were switched off, or when a device first quit in the step.
    pub charge_left_share: f64,
    /// Of the hours, those in which a source had power and cold forbade charging, h.
    pub cold_h: f64,
}

/// Hours off the air in the whole run, by one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OffAirHours {
    /// Why: `disconnect`, `bms_volts`, `bms_current`, `bms_waits`, `empty`, `cold`, `device_window` or
    /// `tier`.
    pub cause: Cause,
    /// The load whose window it is, or the tier; empty otherwise.
    pub name: String,
    /// How long.
    pub hours: f64,
    /// When it began first.
    pub first: DateTime<FixedOffset>,
    /// Most charge that was left when it began; null for a tier.
    pub charge_left_share: Option<f64>,
    /// Of the hours, those in which a source had power and cold forbade charging.
    pub cold_h: f64,
}

/// Why essential loads have no power in a phase, with the charge that cold locks; its hours are left to
/// [`note`].
#[must_use]
pub fn cause_of(plan: &Plan, phase: &Phase<f64>, locked_share: f64) -> OffAir {
    let empty = if locked_share > LOCKED_SHARE { Cause::Cold } else { Cause::Empty };
    let mut load = 0;
    let cause = if !phase.open && phase.served_share < 1.0 {
        empty
    } else if !phase.open {
        load = rung(plan, phase.rung).and_then(|it| it.first().copied()).unwrap_or(0);
        Cause::DeviceWindow
    } else if phase.asleep {
        Cause::BmsWaits
    } else if is(phase.opened_by, OPENED_EMPTY) {
        empty
    } else if is(phase.opened_by, OPENED_BY_LIMIT) {
        Cause::BmsCurrent
    } else if opens_by_bms(plan, phase.profile) {
        // Lead-acid cells have no BMS: these are the volts at which they count as empty.
        if plan.battery.second.is_some() { empty } else { Cause::BmsVolts }
    } else {
        Cause::Disconnect
    };
    let charge_left_share = if phase.open { phase.opened_at_share } else { phase.from_share };
    let held_off = phase.too_cold && phase.offered_w.iter().any(|watts| *watts > 0.0);
    let cold_h = if held_off { phase.hours } else { 0.0 };
    OffAir { cause, load, hours: phase.hours, after_h: 0.0, charge_left_share, cold_h }
}

/// Adds to a row `share` of the hours of a phase that began so long after the step did.
pub fn note(row: &mut Row, found: OffAir, share: f64, after_h: f64) {
    let (hours, cold_h) = (share * found.hours, share * found.cold_h);
    let same = |it: &&mut OffAir| it.cause == found.cause && it.load == found.load;
    if let Some(known) = row.off_air.iter_mut().find(same) {
        known.hours += hours;
        known.cold_h += cold_h;
        known.charge_left_share = known.charge_left_share.max(found.charge_left_share);
    } else {
        row.off_air.push(OffAir { hours, cold_h, after_h, ..found });
    }
}

/// Hours off the air by cause, in the order in which the causes came. The rest of a step in a tier that
/// does not count as on the air has the tier as its cause.
#[must_use]
pub fn by_cause(heads: &Heads, rows: &[Row]) -> Vec<OffAirHours> {
    let mut found: Vec<OffAirHours> = Vec::new();
    let mut add = |it: OffAirHours| {
        let same = |known: &&mut OffAirHours| known.cause == it.cause && known.name == it.name;
        if let Some(known) = found.iter_mut().find(same) {
            known.hours += it.hours;
            known.cold_h += it.cold_h;
            // Comparing options ranks none below any charge.
            if known.charge_left_share < it.charge_left_share {
                known.charge_left_share = it.charge_left_share;
            }
        } else {
            found.push(it);
        }
    };
    for row in rows {
        for it in &row.off_air {
            let name = heads.loads.get(it.load).filter(|_| it.cause == Cause::DeviceWindow);
            add(OffAirHours {
                cause: it.cause,
                name: name.cloned().unwrap_or_default(),
                hours: it.hours,
                first: after(row.start, it.after_h),
                charge_left_share: Some(it.charge_left_share),
                cold_h: it.cold_h,
            });
        }
        let rest_h = row.hours - row.no_power_h;
        if heads.tiers_on_air.get(row.tier).is_some_and(|on_air| !on_air) && rest_h > 0.0 {
            add(OffAirHours {
                cause: Cause::Tier,
                name: heads.tiers.get(row.tier).cloned().unwrap_or_default(),
                hours: rest_h,
                first: row.start,
                charge_left_share: None,
                cold_h: 0.0,
            });
        }
    }
    found
}

/// The cause with most hours in a row, in its stable word; empty on the air.
#[must_use]
pub fn main_cause(heads: &Heads, row: &Row) -> String {
    let by_cause = by_cause(heads, std::slice::from_ref(row));
    let most = by_cause.iter().max_by(|a, b| a.hours.total_cmp(&b.hours));
    most.map_or(String::new(), |it| it.cause.word().to_owned())
}

impl Cause {
    /// Its stable word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Disconnect => "disconnect",
            Self::BmsVolts => "bms_volts",
            Self::BmsCurrent => "bms_current",
            Self::BmsWaits => "bms_waits",
            Self::Empty => "empty",
            Self::Cold => "cold",
            Self::DeviceWindow => "device_window",
            Self::Tier => "tier",
        }
    }
}

fn is(value: f64, code: f64) -> bool {
    (value - code).abs() < 0.5
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn rung(plan: &Plan, rung: f64) -> Option<&[usize]> {
    plan.rungs.get(rung as usize).map(|it| it.unserved_loads.as_slice())
}

/// Whether the loads of a profile are switched off by the BMS before the disconnect.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn opens_by_bms(plan: &Plan, profile: f64) -> bool {
    let last = plan.profiles.get(profile as usize).and_then(|it| it.open_rung.checked_sub(1));
    last.and_then(|last| plan.rungs.get(last)).is_some_and(|rung| rung.next_by_bms)
}
