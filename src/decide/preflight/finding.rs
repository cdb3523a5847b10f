//! What is found about one item, as data: terminal, JSON and report say the same.

use serde::Serialize;

use crate::numbers::digits::trimmed;

/// What is examined. The words are stable, for programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// Volts dropped over both conductors at the peak.
    VoltageDrop,
    /// Energy lost in leads, by the root mean square of the current.
    WireLoss,
    /// What a wire carries, alone, in its bundle and in its air.
    Ampacity,
    /// Whether a lead has a fuse, has none, or nobody has said.
    Fused,
    /// A fuse and a wire that would do, where what is there does not.
    FuseProposal,
    /// A fuse against the wire behind it.
    FuseWire,
    /// A fuse against the current that it must carry.
    FuseLoad,
    /// How far a fuse is from what feeds a fault.
    FusePlace,
    /// What a fuse breaks against the short-circuit current.
    FuseInterrupt,
    /// The volts that a fuse is made for.
    FuseVolts,
    /// Strings of panels side by side, and the fuse of each.
    StringFuse,
    /// What an outlet group draws against its limit.
    GroupBudget,
    /// What all loads draw against what the battery gives.
    MainBudget,
    /// What the supply carries against its limit.
    SupplyBudget,
    /// What the supply has left for charging.
    ChargingLeft,
    /// Lowest volts at a device against its window.
    WindowLow,
    /// Charge below which a device quits while transmitting.
    QuitsBelow,
    /// Charge that is left when disconnect or BMS switch the loads off.
    ChargeLeft,
    /// Highest volts at a device against its window.
    WindowHigh,
    /// Charging current against the battery.
    ChargeCurrent,
    /// Set points against the battery.
    SetPoints,
    /// Set points and disconnect against the volts at which the BMS trips.
    BoardTrips,
    /// Charging in the cold.
    ColdCharging,
    /// Fresh air for cells that gas.
    Ventilation,
    /// Open-circuit volts of the panels in the cold against the controller.
    ColdOpenCircuit,
    /// Volts that nobody should touch.
    TouchVolts,
    /// Converters, whose current rises as the volts fall.
    ConverterCurrent,
    /// What converters take besides, over a day.
    ConverterIdle,
    /// A transmitter at reduced power.
    ReducedPower,
    /// What is always on, by its energy a day.
    AlwaysOn,
    /// The fullest tier by day against that by night.
    SheddingRule,
}

/// How much it matters, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// It can hurt somebody, break a part, or take the station off the air as it is meant to be used.
    Serious,
    /// It departs from good practice or leaves little room.
    Caution,
    /// Worth knowing, or not stated and so not examined.
    Note,
    /// Examined, and as it should be.
    Fine,
}

/// One finding about one item.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// What was examined.
    pub subject: Subject,
    /// How much it matters.
    pub severity: Severity,
    /// The item in words: `main feed`, `group “desk”`.
    pub item: String,
    /// JSON path of the item, `outlet_groups.desk`; empty for the whole station.
    pub path: String,
    /// What was measured, in a few words.
    pub what: String,
    /// The finding for people.
    pub sentence: String,
    /// What was found, in `unit`; absent where nothing was examined.
    pub value: Option<f64>,
    /// What is allowed, in `unit`; absent where nothing bounds it.
    pub limit: Option<f64>,
    /// Room that is left, in `unit`; below zero where the limit is passed.
    pub margin: Option<f64>,
    /// Unit of the three; `share` is 0 to 1.
    pub unit: &'static str,
    /// Published basis of the limit, or that it is common practice.
    pub basis: &'static str,
    /// What would mend it; absent where nothing needs mending.
    pub mend: Option<String>,
    /// The fuse and wire that it proposes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub proposal: Option<Proposal>,
    /// How many points it stands for: one, or all the items that lack the same number.
    pub points: usize,
}

/// A fuse and a wire that would do, for a competent person to check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// The fuse; absent where the lead needs none.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub fuse: Option<ProposedFuse>,
    /// Copper area of the wire to be laid first, mm2; absent where the wire that is there will do.
    pub mm2: Option<f64>,
}

/// A fuse that would do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposedFuse {
    /// Rated current of the fuse, A.
    pub rated_a: f64,
    /// The standard that has this size.
    pub series: &'static str,
    /// What it must break at least, A.
    pub interrupt_a: f64,
    /// The direct volts that it must be made for at least, V.
    pub rated_v: f64,
    /// How far from what feeds a fault it may stand at most, of bare lead, m.
    pub within_m: f64,
}

/// What a finding is about.
#[derive(Debug, Clone)]
pub(super) struct About {
    pub item: String,
    pub path: String,
}

impl About {
    pub fn new(item: impl Into<String>, path: impl Into<String>) -> Self {
        Self { item: item.into(), path: path.into() }
    }
}

impl Finding {
    /// A finding without numbers: fine until told otherwise.
    pub(super) fn new(
        subject: Subject,
        about: &About,
        what: &str,
        sentence: impl Into<String>,
        basis: &'static str,
    ) -> Self {
        Self {
            subject,
            severity: Severity::Fine,
            item: about.item.clone(),
            path: about.path.clone(),
            what: what.to_owned(),
            sentence: sentence.into(),
            value: None,
            limit: None,
            margin: None,
            unit: "",
            basis,
            mend: None,
            proposal: None,
            points: 1,
        }
    }

    /// Whether it says that something is not stated and so not examined.
    #[must_use]
    pub fn is_unstated(&self) -> bool {
        self.severity == Severity::Note && self.value.is_none()
    }

    /// A passed limit is never fine.
    pub(super) fn judged(self) -> Self {
        if self.severity == Severity::Fine && self.misses() {
            return self.severity(Severity::Caution);
        }
        self
    }

    pub(super) fn value(mut self, value: f64, unit: &'static str) -> Self {
        (self.value, self.unit) = (value.is_finite().then_some(value), unit);
        self
    }

    /// Bounded from above.
    pub(super) fn at_most(mut self, limit: f64) -> Self {
        self.limit = limit.is_finite().then_some(limit);
        self.margin = self.value.zip(self.limit).map(|(value, limit)| limit - value);
        self
    }

    /// Bounded from below.
    pub(super) fn at_least(mut self, limit: f64) -> Self {
        self.limit = limit.is_finite().then_some(limit);
        self.margin = self.value.zip(self.limit).map(|(value, limit)| value - limit);
        self
    }

    /// Whether its limit is passed, by more than rounding.
    pub(super) fn misses(&self) -> bool {
        self.margin.zip(self.limit).is_some_and(|(margin, limit)| margin < -1e-9 * limit.abs())
    }

    pub(super) fn severity(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// Of this severity, with what would mend it, where a condition holds.
    pub(super) fn when(mut self, holds: bool, severity: Severity, mend: &str) -> Self {
        if holds && severity < self.severity {
            self.severity = severity;
            self.mend = Some(mend.to_owned());
        }
        self
    }
}

/// A number as people write it: as many places as asked for at most, no trailing zeros, and more
/// where what is not nothing would be written as 0.
pub(super) fn num(value: f64, places: usize) -> String {
    let shown = |places: &usize| {
        value.abs() < LEAST_SHOWN
            || trimmed(value, *places).chars().any(|it| matches!(it, '1'..='9'))
    };
    trimmed(value, (places..=MOST_PLACES).find(shown).unwrap_or(places))
}

/// Places with which anything that counts shows a digit.
const MOST_PLACES: usize = 6;
/// What is smaller is nothing.
const LEAST_SHOWN: f64 = 1e-6;

/// A share as percent.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", num(100.0 * share, usize::from(share.abs() < 0.0995)))
}

/// Names in a row: `a, b and c`.
pub(super) fn in_a_row(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
