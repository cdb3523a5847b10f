//! Outages, warnings and storms of one trial.
//!
//! Outages are drawn as durations from the beginning of the plan, or are those that the scenario
//! knows, or come with types of day. A drawn outage begins and ends to the second: the slice in
//! which the mains fails or comes back is cut there, for its trial alone. What somebody looks at on
//! the hour is looked at on the hour. A warning counts from the first edge of a slice at or after
//! it.
//!
//! Draws: outage n takes block n of its purposes, false alarm n block n of
//! [`Purpose::FalseAlarm`]. False alarms are a Poisson stream: gaps are exponential.

use crate::chance::draw::{Draw, Purpose};
use crate::chance::outages::{Renewal, Start};
use crate::chance::transforms::Law;
use crate::plan::compile::CompileProblem;
use crate::scenario::schedule::{Begins, DurationLaw, RandomGrid, WarningService};
use crate::scenario::sun::Coupling;

/// Hours in a mean month.
const MONTH_H: f64 = 730.5;
/// It snows where the air is at most this warm, deg C (judgement: below it snow stays).
pub const SNOWS_BELOW_C: f64 = 1.0;

/// What may happen to the mains in a trial.
#[derive(Debug, Clone, Default)]
pub struct Events {
    /// Outages that the scenario knows, h since the plan begins.
    pub known: Vec<(f64, f64)>,
    /// Outages that are drawn.
    pub renewal: Option<(Renewal, Start)>,
    /// Hours of the outage that begins with the span.
    pub forced_h: Option<f64>,
    /// What comes with an outage.
    pub storm: Option<Coupling>,
    /// Who warns, and for how long that counts, h.
    pub warning: Option<(WarningService, f64)>,
    /// Gaps between false alarms, h.
    pub false_alarms: Option<Law>,
}

/// A storm, h since the plan begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Storm {
    /// When it begins.
    pub from_h: f64,
    /// When it is over.
    pub to_h: f64,
    /// What clearness is multiplied by.
    pub clearness_multiplier: f64,
    /// Whether it brings snow where it is cold enough.
    pub snows: bool,
}

/// What happens in one trial, h since the plan begins.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Happenings {
    /// Outages.
    pub outages: Vec<(f64, f64)>,
    /// Stretches in which a strategy that waits for warnings has the supply on.
    pub warned: Vec<(f64, f64)>,
    /// Storms.
    pub storms: Vec<Storm>,
}

impl Events {
    /// Whether nothing of it is drawn.
    #[must_use]
    pub fn are_known(&self) -> bool {
        let happens = self.forced_h.is_some() || !self.known.is_empty();
        let none_drawn = self.renewal.is_none() && self.false_alarms.is_none();
        none_drawn && !(happens && (self.storm.is_some() || self.warning.is_some()))
    }

    /// What happens between `begin_h` and `end_h` in a trial whose span begins at `span_h`.
    pub fn draw(
        &self,
        seed: u64,
        trial: u64,
        (begin_h, span_h, end_h): (f64, f64, f64),
        into: &mut Happenings,
    ) {
        into.outages.clear();
        into.warned.clear();
        into.storms.clear();
        into.outages.extend(&self.known);
        if let Some(hours) = self.forced_h {
            into.outages.push((span_h, span_h + hours));
        }
        if let Some((renewal, start)) = &self.renewal {
            let draw = Draw::new(seed, trial, 0, Purpose::OutageStart);
            let drawn = renewal.outages_before(draw, *start, end_h - begin_h);
            into.outages.extend(drawn.map(|it| (begin_h + it.off_h, begin_h + it.on_h)));
        }
        if self.storm.is_none() && self.warning.is_none() {
            return;
        }
        for outage in 0..into.outages.len() {
            let off_h = into.outages[outage].0;
            #[allow(clippy::cast_possible_truncation)]
            let draw = Draw {
                block: outage as u16,
                ..Draw::new(seed, trial, (outage >> 16) as u32, Purpose::Storm)
            };
            self.come_with(off_h, draw, into);
        }
        if let (Some(gaps), Some((_, hold_h))) = (&self.false_alarms, &self.warning) {
            let mut at_h = begin_h;
            for alarm in 0..=u16::MAX {
                let draw = Draw::new(seed, trial, 0, Purpose::FalseAlarm).with_block(alarm);
                at_h += gaps.value(draw.uniform());
                if at_h >= end_h {
                    break;
                }
                into.warned.push((at_h, at_h + hold_h));
            }
        }
    }

    /// The storm and the warning of an outage that begins at `off_h`. Of `draw` everything but the
    /// purpose counts.
    pub fn come_with(&self, off_h: f64, draw: Draw, into: &mut Happenings) {
        let pair = |purpose| draw.with_purpose(purpose).pair();
        if let Some(storm) = &self.storm {
            into.storms.push(Storm {
                from_h: off_h,
                to_h: off_h + storm.lasts_days * 24.0,
                clearness_multiplier: storm.clearness_multiplier.value(pair(Purpose::Storm)[0]),
                snows: storm.snow_chance > 0.0 && pair(Purpose::Snow)[0] < storm.snow_chance,
            });
        }
        if let Some((service, hold_h)) = &self.warning {
            let [comes, how_long] = pair(Purpose::Warning);
            if comes < service.chance {
                let least_h = service.shortest_lead_time_h.unwrap_or(service.lead_time_h);
                let from_h = off_h - (least_h + (service.lead_time_h - least_h) * how_long);
                into.warned.push((from_h, from_h + hold_h));
            }
        }
    }

    /// How long before an outage its warning may come, h.
    #[must_use]
    pub fn longest_lead_h(&self) -> f64 {
        self.warning.as_ref().map_or(0.0, |(service, _)| {
            service.lead_time_h.max(service.shortest_lead_time_h.unwrap_or(0.0))
        })
    }
}

impl Happenings {
    /// Takes over what happens elsewhere.
    pub fn begin_with(&mut self, other: &Self) {
        self.outages.clone_from(&other.outages);
        self.warned.clone_from(&other.warned);
        self.storms.clone_from(&other.storms);
    }
}

/// The renewal process of a random grid.
///
/// # Errors
/// When a law cannot be.
pub fn renewal(random: &RandomGrid) -> Result<(Renewal, Start), Vec<CompileProblem>> {
    let law = |key: &str, law: &DurationLaw| {
        let made = match *law {
            DurationLaw::Exponential { mean_h } => Law::exponential(mean_h),
            DurationLaw::Weibull { shape, mean_h } => Law::weibull_with_mean(shape, mean_h),
            DurationLaw::Lognormal { median_h, log_sd } => {
                Law::lognormal(libm::log(median_h), log_sd)
            }
            DurationLaw::Geometric { end_chance } => Law::geometric(end_chance),
        };
        made.map_err(|problem| CompileProblem {
            path: format!("grid.random.{key}"),
            text: problem.to_string(),
        })
    };
    let start = match random.begins {
        Begins::AnyMoment => Start::AnyMoment,
        Begins::JustBack => Start::JustBack,
        Begins::JustFailed => Start::JustFailed,
    };
    match (law("up", &random.up), law("down", &random.down)) {
        (Ok(up), Ok(down)) => Renewal::new(up, down).map(|it| (it, start)).map_err(|problem| {
            vec![CompileProblem { path: "grid.random".into(), text: problem.to_string() }]
        }),
        (up, down) => Err(up.err().into_iter().chain(down.err()).collect()),
    }
}

/// Gaps between false alarms.
#[must_use]
pub fn false_alarm_gaps(service: &WarningService) -> Option<Law> {
    if service.false_alarms_per_month <= 0.0 {
        return None;
    }
    Law::exponential(MONTH_H / service.false_alarms_per_month).ok()
}
