//! How many minutes of an hour may be transmitting so that the battery lasts until a stated time.
//!
//! In each tier that keys, the shares of time transmitting of its sets are scaled alike; the answer is told as
//! minutes of the set that is transmitting most. Copies of the tier, one for each whole minute, stand behind
//! the tiers of the scenario, so that one compiled plan holds them all. More transmitting never lasts
//! longer, so halving finds the greatest that does.

use serde::Serialize;

use super::lasts::Asked;
use crate::error::Error;
use crate::scenario::loads::{Draw, Tier};
use crate::scenario::{Named, Scenario};
use crate::simulate::trials::Prepared;

/// How much transmitting lasts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Keying {
    /// Minutes an hour of the set that is transmitting most, while it is on; absent where not even silence
    /// lasts.
    pub minutes: Option<u32>,
    /// The most that its operator can key.
    pub most_minutes: u32,
    /// Minutes an hour as the scenario has it.
    pub planned_minutes: f64,
    /// Minutes an hour of each set, scaled alike, never rounded up.
    pub by_set_minutes: Named<f64>,
}

/// Copies of a tier with more and more transmitting.
pub struct Ladder {
    /// Which tier.
    pub tier: usize,
    /// Place of the copy without transmitting among the tiers; those of 1, 2, ... minutes follow.
    silent: usize,
    most_minutes: u32,
    /// Share by set as planned.
    planned: Named<f64>,
}

/// Adds the copies to a scenario.
pub fn ladders(scenario: &mut Scenario) -> Vec<Ladder> {
    let mut found = Vec::new();
    for place in 0..scenario.tiers.len() {
        let planned = keyed(scenario, &scenario.tiers[place]);
        let greatest = planned.values().copied().fold(0.0, f64::max);
        if greatest <= 0.0 || !scenario.tiers[place].on_air {
            continue;
        }
        let most_minutes = most(scenario, &planned, greatest);
        let ladder = Ladder { tier: place, silent: scenario.tiers.len(), most_minutes, planned };
        for minutes in 0..=most_minutes {
            let mut copy = scenario.tiers[place].clone();
            copy.name = format!("{} {minutes}", copy.name);
            let scale = f64::from(minutes) / 60.0 / greatest;
            for (name, share) in &ladder.planned {
                if let Some(load) = copy.loads.get_mut(name) {
                    load.transmit_share = Some((share * scale).min(1.0));
                }
            }
            scenario.tiers.push(copy);
        }
        found.push(ladder);
    }
    found
}

/// Transmitting shares of the sets of a tier.
fn keyed(scenario: &Scenario, tier: &Tier) -> Named<f64> {
    let sets = tier.loads.iter().filter_map(|(name, in_tier)| {
        let load = scenario.loads.get(name)?;
        let share = in_tier.transmit_share.unwrap_or(load.transmit_share);
        let keys =
            matches!(load.draw, Draw::Envelope { .. } | Draw::Current { transmit_a: Some(_), .. });
        (keys && share > 0.0).then(|| (name.clone(), share))
    });
    sets.collect()
}

/// Minutes of the set that is transmitting most when its operator, or another, keys all the time.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn most(scenario: &Scenario, planned: &Named<f64>, greatest: f64) -> u32 {
    let mut busiest = greatest;
    for name in planned.keys() {
        let operator = |name: &String| scenario.loads.get(name).and_then(|it| it.operator.clone());
        let Some(who) = operator(name) else { continue };
        let same = planned.iter().filter(|(other, _)| operator(other).as_ref() == Some(&who));
        busiest = busiest.max(same.map(|(_, share)| share).sum());
    }
    (60.0 * greatest / busiest + 1e-9).floor() as u32
}

impl Ladder {
    /// The greatest transmitting with which enough trials last to the end of the span.
    ///
    /// # Errors
    /// When threads cannot be started.
    pub fn search(&self, prepared: &mut Prepared, asked: &Asked) -> Result<Keying, Error> {
        let mut last = |minutes: u32| {
            prepared.hold(self.silent + minutes as usize);
            asked.last(prepared)
        };
        let minutes = if last(0)? {
            let (mut low, mut high) = (0, self.most_minutes + 1);
            while high - low > 1 {
                let middle = low.midpoint(high);
                if last(middle)? { low = middle } else { high = middle }
            }
            Some(low)
        } else {
            None
        };
        let greatest = self.planned.values().copied().fold(0.0, f64::max);
        let scale = f64::from(minutes.unwrap_or(0)) / greatest;
        Ok(Keying {
            minutes,
            most_minutes: self.most_minutes,
            planned_minutes: greatest * 60.0,
            by_set_minutes: self
                .planned
                .iter()
                .map(|(name, share)| (name.clone(), (share * scale * 10.0 + 1e-9).floor() / 10.0))
                .collect(),
        })
    }
}
