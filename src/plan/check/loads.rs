//! Loads: what they draw, who keys them, what their group carries.

use std::collections::HashMap;

use chrono::Duration;

use super::battery::BatteryVolts;
use super::{Check, num};
use crate::clock::{LocalClock, TimesOfDay};
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::{Draw, Load, TierLoad};
use crate::scenario::problem::{Problem, ProblemKind};
use crate::station::draw::drawn;
use crate::warning::Kind;

/// Shares that add up to one and a rounding error are no fault.
const ROUNDING: f64 = 1e-9;
/// Longest stretch that is searched for a clash of windows, minutes: a year and a day.
const LONGEST_SEARCH_MIN: i64 = 366 * 24 * 60;

/// A load that an operator keys: name, share of the time, window.
type Keyed<'a> = (&'a str, f64, Option<&'a str>);

impl Check<'_> {
    pub(super) fn loads(&mut self) {
        for (name, load) in &self.scenario.loads {
            let path = JsonPath::keys(&["loads", name]);
            self.draw(&path.key("draw"), name, &load.draw);
            if load.transmit_share > 0.0 {
                self.must_transmit(&path.key("transmit_share"), name, load);
            }
        }
        self.group_peaks();
        for tier in 0..self.scenario.tiers.len() {
            self.operators(tier);
        }
    }

    fn draw(&mut self, path: &JsonPath, name: &str, draw: &Draw) {
        match draw {
            Draw::Current { receive_a, transmit_a: Some(transmit_a) } if transmit_a < receive_a => {
                let text = format!(
                    "“{name}” transmits with {} A, less than the {} A it receives with: are they swapped?",
                    num(*transmit_a),
                    num(*receive_a)
                );
                self.warn(Kind::Note, &path.key("current").key("transmit_a"), text);
            }
            Draw::Envelope { quiescent_a, full_a, .. } if full_a < quiescent_a => {
                let at = path.key("envelope");
                self.clash(
                    "full power takes less current than no power",
                    (&at.key("full_a"), &format!("{} A at full power", num(*full_a))),
                    (&at.key("quiescent_a"), &format!("{} A without drive", num(*quiescent_a))),
                    "`quiescent_a` is drawn while the key is down without speech, `full_a` at full power.",
                );
            }
            _ => {}
        }
    }

    /// A share of transmitting needs a current for transmitting.
    pub(super) fn must_transmit(&mut self, path: &JsonPath, name: &str, load: &Load) {
        let (lacks, hint) = match &load.draw {
            Draw::Current { transmit_a: None, .. } => {
                ("transmit_a", "Give its `draw` a `transmit_a`")
            }
            Draw::Power { .. } => {
                ("current", "Only a `current` or `envelope` draw can transmit: describe it so")
            }
            _ => return,
        };
        let text = format!("`{name}` transmits, but its draw does not say with what current");
        let draw = JsonPath::keys(&["loads", name, "draw"]);
        let label = if lacks == "transmit_a" {
            "no `transmit_a` in here"
        } else {
            "the same watts all the time"
        };
        let problem = Problem::new(ProblemKind::MissingKey, &text)
            .at(self.spans, path, "share of its time")
            .at_key(self.spans, &draw, label)
            .hint(&format!("{hint}, or leave `transmit_share` out."));
        self.found(problem);
    }

    /// A group that draws more than its limit with everything transmitting.
    fn group_peaks(&mut self) {
        let battery = BatteryVolts::of(&self.scenario.battery);
        // Watts take most current at the lowest volts.
        let low_v = self.scenario.disconnect.as_ref().map_or(battery.empty_v, |it| it.disconnect_v);
        for (name, group) in &self.scenario.outlet_groups {
            let peaks = self.scenario.tiers.iter().map(|tier| {
                let loads = tier.loads.iter().filter_map(|(load_name, in_tier)| {
                    let load = self.scenario.loads.get(load_name)?;
                    (load.group == *name).then_some((load_name.as_str(), load, in_tier))
                });
                (tier.name.as_str(), peak_a(loads, low_v))
            });
            let highest = peaks.max_by(|one, other| one.1.total_cmp(&other.1));
            if let Some((tier, peak_a)) = highest.filter(|(_, peak_a)| *peak_a > group.limit_a) {
                let text = format!(
                    "With everything transmitting in tier “{tier}”, at {} V, group “{name}” draws {} A; its limit \
                     is {} A.",
                    num(low_v),
                    num((peak_a * 10.0).round() / 10.0),
                    num(group.limit_a)
                );
                let path = JsonPath::keys(&["outlet_groups", name, "limit_a"]);
                self.warn(Kind::GroupOverLimit, &path, text);
            }
        }
    }

    /// An operator keys one set at a time: the shares of the sets that are on at once add up to
    /// one at most.
    fn operators(&mut self, tier: usize) {
        let scenario = self.scenario;
        let mut keyed: HashMap<&str, Vec<Keyed<'_>>> = HashMap::new();
        for (name, in_tier) in &scenario.tiers[tier].loads {
            let Some(load) = scenario.loads.get(name) else { continue };
            let Some(operator) = &load.operator else { continue };
            let share = in_tier.transmit_share.unwrap_or(load.transmit_share);
            if share > 0.0 {
                let when = in_tier.when.as_deref().or(load.when.as_deref());
                keyed.entry(operator).or_default().push((name, share, when));
            }
        }
        let mut keyed: Vec<_> = keyed.into_iter().collect();
        keyed.sort_by_key(|(operator, _)| *operator);
        for (operator, sets) in keyed {
            let sum: f64 = sets.iter().map(|(_, share, _)| share).sum();
            if sum <= 1.0 + ROUNDING || !self.at_once(&sets) {
                continue;
            }
            let text =
                format!("operator `{operator}` would have to transmit on two radios at once");
            let mut problem = Problem::new(ProblemKind::Impossible, &text);
            for (name, share, _) in sets.iter().rev() {
                let in_tier = JsonPath::keys(&["tiers"]).index(tier).key("loads").key(name);
                let in_tier = in_tier.key("transmit_share");
                let path = match self.spans.place(&in_tier) {
                    Some(_) => in_tier,
                    None => JsonPath::keys(&["loads", name, "transmit_share"]),
                };
                problem = problem.at(self.spans, &path, &format!("`{name}`: {}", num(*share)));
            }
            let problem = problem
                .allowed(&format!(
                    "shares of one operator that add up to at most 1; in tier `{}` they make {}",
                    scenario.tiers[tier].name,
                    num(sum)
                ))
                .hint("Lower a share, or give one set another `operator`.");
            // The same two shares in several tiers are one fault.
            if !self.problems.iter().any(|known| known.text == text && known.marks == problem.marks)
            {
                self.found(problem);
            }
        }
    }

    /// Whether sets whose shares add up to more than one are ever on at the same time.
    fn at_once(&self, sets: &[Keyed<'_>]) -> bool {
        let always: f64 = sets.iter().filter(|it| it.2.is_none()).map(|it| it.1).sum();
        let timed: Vec<(f64, TimesOfDay)> = sets
            .iter()
            .filter_map(|(_, share, when)| {
                let window = self.scenario.windows.get((*when)?)?;
                Some((*share, TimesOfDay::new(window).ok()?))
            })
            .collect();
        let Ok(clock) = LocalClock::new(&self.scenario.site.clock) else { return false };
        let Ok(start) = clock.instant(self.scenario.span.start) else { return false };
        let minutes = (60 * i64::from(self.scenario.span.hours)).min(LONGEST_SEARCH_MIN);
        (0..minutes).any(|minute| {
            let Some(at) = start.checked_add_signed(Duration::minutes(minute)) else {
                return false;
            };
            let open = timed.iter().filter(|(_, window)| window.open_at(&clock, at));
            always + open.map(|(share, _)| share).sum::<f64>() > 1.0 + ROUNDING
        })
    }
}

/// Highest current of loads, each operator transmitting what adds most, A.
pub(super) fn peak_a<'l>(
    loads: impl Iterator<Item = (&'l str, &'l Load, &'l TierLoad)>,
    volts: f64,
) -> f64 {
    let mut steady_a = 0.0;
    let mut keyed: HashMap<String, f64> = HashMap::new();
    for (name, load, in_tier) in loads {
        let drawn = drawn(&load.draw, load.transmit_share, in_tier);
        let amps =
            |state: &crate::station::draw::State| state.current_peak_a + state.power_w / volts;
        let receive_a = amps(&drawn.receive);
        steady_a += receive_a;
        if drawn.transmit_share > 0.0 {
            let operator = load.operator.clone().unwrap_or_else(|| format!("\u{0}{name}"));
            let most = keyed.entry(operator).or_default();
            *most = most.max(amps(&drawn.transmit) - receive_a);
        }
    }
    let mut added: Vec<f64> = keyed.into_values().collect();
    added.sort_by(f64::total_cmp);
    steady_a + added.iter().sum::<f64>()
}
