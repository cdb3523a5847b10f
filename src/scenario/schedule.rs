//! Times of day, the mains, warnings, the disconnect and the strategies.

use chrono::NaiveDateTime;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::{BasisOf, chrono_date::Date};

/// Times of day on the local wall clock, half-open. Whatever is absent does not restrict.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Days of the week on which it begins: any of `mon` ... `sun`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<Vec<Weekday>>,
    /// Dates on which it begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dates: Option<Vec<Date>>,
    /// `HH:MM` at which it begins; midnight when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// `HH:MM` at which it ends, `24:00` allowed; before or at `from` it ends the day after.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// Only these minutes of each hour: `[first, end]`, `[0, 5]` being the first five.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<[u32; 2]>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Weekday {
    Mon,
    Tue,
    Wed,
    Thu,
    Fri,
    Sat,
    Sun,
}

/// When somebody is there to do what needs somebody.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Attended {
    /// At any hour.
    #[default]
    Always,
    /// Nobody comes: every rule that needs somebody is switched off.
    Never,
    /// In the named window.
    In(String),
}

/// When the mains is there.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Grid {
    /// It never fails.
    #[default]
    Always,
    /// There is none.
    None,
    /// The outages are known.
    Outages(Vec<Outage>),
    /// Off in the named windows, such as a published rota.
    Pattern(Pattern),
    /// One outage is forced.
    Outage(OneOutage),
    /// One outage is forced, in each trial at another hour of a season; `run` has it at `span.start`.
    OutageAtRandom(OutageAtRandom),
    /// It fails and comes back at random, in trials; `run` has it all the time.
    Random(RandomGrid),
}

/// One outage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outage {
    /// Local time at which the mains fails.
    #[serde(with = "super::site::local_minute")]
    #[schemars(with = "String", extend("format" = "local-minute"))]
    pub off: NaiveDateTime,
    /// Local time at which it is back.
    #[serde(with = "super::site::local_minute")]
    #[schemars(with = "String", extend("format" = "local-minute"))]
    pub on: NaiveDateTime,
}

/// Outages that come by the clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pattern {
    /// Windows in which the mains is off.
    pub off_in: Vec<String>,
}

/// One outage that is forced.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OneOutage {
    /// Local time at which the mains fails.
    #[serde(with = "super::site::local_minute")]
    #[schemars(with = "String", extend("format" = "local-minute"))]
    pub off: NaiveDateTime,
    /// Hours until it is back.
    pub hours: f64,
}

/// One outage at a random hour of a season. The span of a trial begins with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutageAtRandom {
    /// First date of the season.
    pub from: Date,
    /// The date after its last.
    pub to: Date,
    /// Hours until the mains is back.
    pub hours: f64,
}

/// Times with and without mains that follow each other, all independent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RandomGrid {
    /// How long it stays.
    pub up: DurationLaw,
    /// How long it is away.
    pub down: DurationLaw,
    /// How a trial finds it, before any warm-up days.
    #[serde(default, skip_serializing_if = "is_any_moment")]
    pub begins: Begins,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// How a trial finds the mains.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Begins {
    /// There or away, as at any moment.
    #[default]
    AnyMoment,
    /// It has just come back.
    JustBack,
    /// It has just failed.
    JustFailed,
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_any_moment(begins: &Begins) -> bool {
    *begins == Begins::AnyMoment
}

/// How a duration is spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DurationLaw {
    /// No memory.
    Exponential {
        /// Mean, h.
        mean_h: f64,
    },
    /// Many short ones and some very long ones where the shape is below 1.
    Weibull {
        /// Shape; 1 is exponential.
        shape: f64,
        /// Mean, h.
        mean_h: f64,
    },
    /// Its logarithm is normal.
    Lognormal {
        /// Half are shorter, h.
        median_h: f64,
        /// Standard deviation of the natural logarithm.
        log_sd: f64,
    },
    /// Whole hours, each of which may be the last.
    Geometric {
        /// Chance that an hour is the last.
        end_chance: f64,
    },
}

/// A service that warns before an outage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WarningService {
    /// Chance that it warns of an outage. `run` lets the warning come if this is 0.5 or more.
    pub chance: f64,
    /// Hours between the warning and the outage.
    pub lead_time_h: f64,
    /// In trials the hours are drawn evenly between this and `lead_time_h`; always `lead_time_h` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shortest_lead_time_h: Option<f64>,
    /// In trials: warnings without an outage, a month of 730.5 h.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub false_alarms_per_month: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// The low-voltage disconnect of the loads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Disconnect {
    /// Battery volts at which it opens, V.
    pub disconnect_v: f64,
    /// Battery volts, charging included, at which it closes, V.
    pub reconnect_v: f64,
    /// How long the volts must stay low, s: shorter transmissions do not open it.
    #[serde(default = "ten")]
    pub delay_s: f64,
    /// How long it stays open at least, min.
    #[serde(default = "half_an_hour")]
    pub min_off_min: f64,
    /// How it closes.
    #[serde(default)]
    pub reconnects: Reconnects,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

fn ten() -> f64 {
    10.0
}
fn half_an_hour() -> f64 {
    30.0
}

/// How an open disconnect closes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Reconnects {
    /// By itself at `reconnect_v`.
    #[default]
    ByItself,
    /// By hand, in attended hours, looked at on the hour, once the volts allow it.
    ByHand,
}

/// A way to switch the supply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Strategy {
    /// When the supply is switched on.
    pub supply: SupplyRule,
    /// What the rule switches.
    #[serde(default)]
    pub switches: Switches,
    /// Whether the generator may run; `allowed` when absent.
    #[serde(default, skip_serializing_if = "EngineUse::is_allowed")]
    pub generator: EngineUse,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What a rule switches.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Switches {
    /// The supply: without it loads run from the battery.
    #[default]
    Supply,
    /// Charging alone: the supply goes on carrying its loads.
    Charger,
}

/// Whether the generator may run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EngineUse {
    /// By its own rule, in its allowed hours.
    #[default]
    Allowed,
    /// Not at all.
    Never,
}

impl EngineUse {
    fn is_allowed(&self) -> bool {
        *self == Self::Allowed
    }
}

/// When the supply is switched on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum SupplyRule {
    /// Whenever the mains is there.
    Always,
    /// Never: the mains may be there, loads run from the battery.
    Never,
    /// In the named windows.
    Windows {
        /// Names of windows.
        r#in: Vec<String>,
    },
    /// On when the charge is low, off when it is high, by hand in attended hours.
    TopUp {
        /// Charge, looked at on the hour, below which it is switched on.
        start_below_share: f64,
        /// Charge at which it is switched off.
        stop_above_share: f64,
    },
    /// On from a warning on.
    Warned {
        /// How long after the warning, h.
        hold_h: f64,
        /// The rule at other times.
        otherwise: Box<SupplyRule>,
    },
}

/// All strategies by name.
pub type Strategies = Named<Strategy>;
