//! Which parts a station can lose, and what it is without each.

use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::scenario::json_path::JsonPath;
use crate::scenario::schedule::{Attended, EngineUse, SupplyRule};
use crate::scenario::sources::{Controller, Joins};
use crate::scenario::sun::Snow;

/// A station without one of its parts.
#[derive(Debug, Clone)]
pub struct Loss {
    /// The part, in words.
    pub part: String,
    /// Where it stands in the scenario file.
    pub path: String,
    /// The station without it.
    pub scenario: Scenario,
}

/// Every part that can be lost, in the order of the file. What the strategy in force never uses is
/// not among them, nor is the only string of a battery: without it there is no station.
#[must_use]
pub fn losses(scenario: &Scenario) -> Vec<Loss> {
    let mut all = Vec::new();
    panels(scenario, &mut all);
    strings(scenario, &mut all);
    sources(scenario, &mut all);
    people(scenario, &mut all);
    all
}

fn lose(all: &mut Vec<Loss>, whole: &Scenario, part: String, path: &[&str]) -> usize {
    let path = JsonPath::keys(path).to_string();
    all.push(Loss { part, path, scenario: whole.clone() });
    all.len() - 1
}

/// Arrays, and controllers with all their arrays. One array on its own controller is one loss.
fn panels(whole: &Scenario, all: &mut Vec<Loss>) {
    for (name, array) in whole.arrays.iter().filter(|(_, array)| array.count > 0) {
        let alone = fed_by(whole, &array.controller).len() == 1;
        let part = if alone {
            format!("array \"{name}\" or its controller")
        } else {
            format!("array \"{name}\"")
        };
        let at = lose(all, whole, part, &["arrays", name]);
        if let Some(array) = all[at].scenario.arrays.get_mut(name) {
            array.count = 0;
        }
    }
    for name in whole.controllers.keys() {
        let arrays = fed_by(whole, name);
        if arrays.len() < 2 {
            continue;
        }
        let at = lose(all, whole, format!("controller \"{name}\""), &["controllers", name]);
        let without = &mut all[at].scenario;
        for array in arrays {
            if let Some(array) = without.arrays.get_mut(array) {
                array.count = 0;
            }
        }
        match without.controllers.get_mut(name) {
            Some(Controller::Mppt(it)) => it.standby_w = 0.0,
            Some(Controller::Pwm(it)) => it.standby_w = 0.0,
            None => {}
        }
    }
}

/// Names of the arrays that feed a controller.
fn fed_by<'s>(whole: &'s Scenario, controller: &str) -> Vec<&'s String> {
    let feeds = whole.arrays.iter().filter(|(_, it)| it.controller == controller && it.count > 0);
    feeds.map(|(name, _)| name).collect()
}

/// One string of several, or each pack of several.
fn strings(whole: &Scenario, all: &mut Vec<Loss>) {
    let (chemistry, strings, packs) = match &whole.battery {
        Battery::LithiumIronPhosphate(it) => {
            ("lithium_iron_phosphate", it.strings, it.packs.keys().cloned().collect::<Vec<_>>())
        }
        Battery::LeadAcid(it) => ("lead_acid", it.strings, it.packs.keys().cloned().collect()),
        Battery::Ideal(_) => return,
    };
    if packs.is_empty() && strings > 1 {
        let part = format!("one of {strings} battery strings");
        let at = lose(all, whole, part, &["battery", chemistry, "strings"]);
        match &mut all[at].scenario.battery {
            Battery::LithiumIronPhosphate(it) => it.strings = strings - 1,
            Battery::LeadAcid(it) => it.strings = strings - 1,
            Battery::Ideal(_) => {}
        }
    }
    if packs.len() > 1 {
        for pack in packs {
            let path = ["battery", chemistry, "packs", pack.as_str()];
            let at = lose(all, whole, format!("pack \"{pack}\""), &path);
            match &mut all[at].scenario.battery {
                Battery::LithiumIronPhosphate(it) => it.packs.shift_remove(&pack),
                Battery::LeadAcid(it) => it.packs.shift_remove(&pack),
                Battery::Ideal(_) => None,
            };
        }
    }
}

/// Charger, supply, engine, vehicle: those that the strategy in force uses.
fn sources(whole: &Scenario, all: &mut Vec<Loss>) {
    let Some(strategy) = whole.strategies.get(&whole.strategy) else { return };
    let engine = whole.generator.is_some() && strategy.generator == EngineUse::Allowed;
    if let Some(supply) = &whole.supply {
        let uses = strategy.supply != SupplyRule::Never || engine;
        if uses && supply.charger.is_some() && supply.joins != Joins::Bus {
            let at = lose(all, whole, "charger behind the supply".into(), &["supply", "charger"]);
            if let Some(supply) = &mut all[at].scenario.supply {
                supply.charger = None;
            }
        }
        if uses && supply.joins != Joins::ChargerOnly {
            // Its switch is off for good, whatever fed it.
            let at = lose(all, whole, "mains supply".into(), &["supply"]);
            let without = &mut all[at].scenario;
            if let Some(strategy) = without.strategies.get_mut(&whole.strategy) {
                strategy.supply = SupplyRule::Never;
                strategy.switches = crate::scenario::schedule::Switches::Supply;
                strategy.generator = EngineUse::Never;
            }
        }
    }
    if engine {
        let at = lose(all, whole, "generator that does not start".into(), &["generator"]);
        if let Some(generator) = &mut all[at].scenario.generator {
            generator.fails_to_start_chance = 1.0;
        }
    }
    if whole.vehicle.is_some() {
        let at = lose(all, whole, "vehicle".into(), &["vehicle"]);
        all[at].scenario.vehicle = None;
    }
}

/// Who comes, and who warns.
fn people(whole: &Scenario, all: &mut Vec<Loss>) {
    if whole.attended != Attended::Never {
        let at = lose(all, whole, "operator who comes".into(), &["attended"]);
        all[at].scenario.attended = Attended::Never;
    }
    if let Some(snow) = whole.snow.as_ref().filter(|it| it.cleared_after_h.is_some()) {
        let part = "anybody who clears snow off the panels".to_owned();
        let at = lose(all, whole, part, &["snow", "cleared_after_h"]);
        all[at].scenario.snow = Some(Snow { cleared_after_h: None, ..snow.clone() });
    }
    let waits = |rule: &SupplyRule| matches!(rule, SupplyRule::Warned { .. });
    let strategy = whole.strategies.get(&whole.strategy);
    if whole.warning.is_some() && strategy.is_some_and(|it| waits(&it.supply)) {
        let at = lose(all, whole, "warning".into(), &["warning"]);
        if let Some(warning) = &mut all[at].scenario.warning {
            warning.chance = 0.0;
        }
    }
}
