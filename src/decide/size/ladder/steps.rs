//! The steps of each list of sizes, stated or laid around what a scenario has, and the battery of a step.

use super::{BatteryStep, ChargerStep, PanelStep, THERE};
use crate::plan::compile::battery_of;
use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::scenario::choices::{
    BatteryChoice, BatterySize, ChargerChoice, Choices, ControllerChoice, PanelChoice,
    PriceAndMass, StringChoice,
};
use crate::station::battery::register;

/// Steps of a list of sizes that nobody stated, about.
const STEPS: u32 = 20;
/// Sizes of an ideal battery that nobody stated, over the one that the scenario has.
const IDEAL_SHARES: [f64; 10] = [0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0];

/// Choices around what a scenario has: the panels of its largest array, the strings of its battery.
pub(super) fn derive(scenario: &Scenario) -> Choices {
    let power_w = |name: &&String| {
        scenario.arrays.get(*name).map_or(0.0, |array| array.rated_w * f64::from(array.count))
    };
    let largest = scenario.arrays.keys().fold(None, |best: Option<&String>, name| match best {
        Some(best) if power_w(&best) >= power_w(&name) => Some(best),
        _ => Some(name),
    });
    let panels =
        largest.and_then(|name| scenario.arrays.get(name).map(|array| (name, array.count)));
    Choices {
        panels: panels.map(|(array, count)| PanelChoice {
            array: array.clone(),
            counts: around(count, 0),
            each: PriceAndMass::default(),
            controllers: Vec::new(),
            tilt_deg: Vec::new(),
        }),
        battery: Some(match &register::as_strings(&scenario.battery) {
            Battery::LithiumIronPhosphate(cells) => strings(cells.strings),
            Battery::LeadAcid(acid) => strings(acid.strings),
            Battery::Ideal(ideal) => BatteryChoice::Sizes(
                IDEAL_SHARES
                    .iter()
                    .map(|share| BatterySize {
                        capacity_wh: Some(ideal.capacity_wh * share),
                        ..BatterySize::default()
                    })
                    .collect(),
            ),
        }),
        ..Choices::default()
    }
}

fn strings(count: u32) -> BatteryChoice {
    BatteryChoice::Strings(StringChoice {
        counts: around(count, 1),
        capacity_ah: None,
        each: PriceAndMass::default(),
    })
}

/// Counts from the least to three times what is there, eight at least, what is there among them.
fn around(count: u32, least: u32) -> Vec<u32> {
    let top = count.saturating_mul(3).max(8);
    let by = top.div_ceil(STEPS).max(1);
    let mut counts: Vec<u32> = (1..=top / by).map(|step| step * by).chain([least, count]).collect();
    counts.retain(|it| *it >= least);
    counts.sort_unstable();
    counts.dedup();
    counts
}

pub(super) fn panel_steps(scenario: &Scenario, choice: Option<&PanelChoice>) -> Vec<PanelStep> {
    let Some(choice) = choice else {
        let rated_w =
            scenario.arrays.values().map(|it| it.rated_w * f64::from(it.count)).sum::<f64>();
        let count = scenario.arrays.values().map(|it| it.count).sum();
        return vec![PanelStep { count, rated_w, controller_limit_a: None, costs: THERE }];
    };
    let panel_w = scenario.arrays.get(&choice.array).map_or(0.0, |array| array.rated_w);
    let steps = choice.counts.iter().map(|count| {
        let rated_w = panel_w * f64::from(*count);
        let controller = fitting(scenario, Some(&choice.array), rated_w, &choice.controllers);
        // Without panels there is no controller to pay for.
        let box_of = |of: fn(&ControllerChoice) -> Option<f64>| match controller {
            Some(it) if *count > 0 => of(&it),
            _ => Some(0.0),
        };
        let all = |each: Option<f64>, more: Option<f64>| {
            Some(
                each.filter(|_| *count > 0).or((*count == 0).then_some(0.0))? * f64::from(*count)
                    + more?,
            )
        };
        PanelStep {
            count: *count,
            rated_w,
            controller_limit_a: controller.map(|it| it.output_limit_a),
            costs: PriceAndMass {
                price: all(choice.each.price, box_of(|it| it.price)),
                mass_kg: all(choice.each.mass_kg, box_of(|it| it.mass_kg)),
            },
        }
    });
    steps.collect()
}

/// The first controller that passes the rated power of the panels, and of other arrays on it, at its
/// bulk volts; the last where none does.
pub(super) fn fitting(
    scenario: &Scenario,
    array: Option<&str>,
    rated_w: f64,
    controllers: &[ControllerChoice],
) -> Option<ControllerChoice> {
    let name = array?;
    let feeds = &scenario.arrays.get(name)?.controller;
    let absorption_v = scenario.controllers.get(feeds)?.set_points().absorption_v;
    let others_w: f64 = scenario
        .arrays
        .iter()
        .filter(|(other, it)| other.as_str() != name && it.controller == *feeds)
        .map(|(_, it)| it.rated_w * f64::from(it.count))
        .sum();
    let passes = |it: &&ControllerChoice| it.output_limit_a * absorption_v >= rated_w + others_w;
    controllers.iter().find(passes).or(controllers.last()).copied()
}

pub(super) fn battery_steps(
    scenario: &Scenario,
    choice: Option<&BatteryChoice>,
) -> Vec<BatteryStep> {
    let step = |strings, size, costs| {
        let mut step = BatteryStep { strings, rated_ah: 0.0, capacity_ah: 0.0, costs, size };
        let battery = with_battery(&scenario.battery, &step);
        step.rated_ah = register::nameplate_ah(&battery);
        step.capacity_ah = battery_of(&battery).capacity_ah;
        step
    };
    match choice {
        None => vec![step(None, None, THERE)],
        Some(BatteryChoice::Strings(strings)) => {
            let counts = strings.counts.iter().map(|count| {
                let all = |each: Option<f64>| each.map(|each| each * f64::from(*count));
                let costs = PriceAndMass {
                    price: all(strings.each.price),
                    mass_kg: all(strings.each.mass_kg),
                };
                let size = strings.capacity_ah.map(BatterySize::of_string);
                step(Some(*count), size, costs)
            });
            counts.collect()
        }
        Some(BatteryChoice::Sizes(sizes)) => {
            let sizes = sizes.iter().map(|size| {
                let costs = PriceAndMass { price: size.price, mass_kg: size.mass_kg };
                step(None, Some(*size), costs)
            });
            sizes.collect()
        }
    }
}

pub(super) fn charger_steps(scenario: &Scenario, chargers: &[ChargerChoice]) -> Vec<ChargerStep> {
    if chargers.is_empty() {
        let charger = scenario.supply.as_ref().and_then(|supply| supply.charger.as_ref());
        let limit_a = charger.map(|charger| charger.limit_a);
        return vec![ChargerStep { limit_a, supply_limit_a: None, costs: THERE }];
    }
    let steps = chargers.iter().map(|it| ChargerStep {
        limit_a: Some(it.limit_a),
        supply_limit_a: it.supply_limit_a,
        costs: PriceAndMass { price: it.price, mass_kg: it.mass_kg },
    });
    steps.collect()
}

pub(super) fn with_battery(battery: &Battery, step: &BatteryStep) -> Battery {
    if step.strings.is_none() && step.size.is_none() {
        return battery.clone();
    }
    let mut other = register::as_strings(battery);
    if let Some(count) = step.strings {
        match &mut other {
            Battery::LithiumIronPhosphate(cells) => cells.strings = count,
            Battery::LeadAcid(acid) => acid.strings = count,
            Battery::Ideal(_) => {}
        }
    }
    if let Some(size) = step.size {
        let strings = f64::from(register::string_count(&other));
        let string_ah = register::nameplate_ah(&other) / strings;
        let share = match &other {
            Battery::Ideal(ideal) => size.capacity_wh.map(|it| it / ideal.capacity_wh),
            _ => size.capacity_ah.map(|it| it / string_ah),
        };
        other = scaled(&other, share.unwrap_or(1.0));
        match &mut other {
            Battery::LithiumIronPhosphate(cells) => {
                cells.charge_limit_a = size.charge_limit_a.unwrap_or(cells.charge_limit_a);
                cells.discharge_limit_a = size.discharge_limit_a.unwrap_or(cells.discharge_limit_a);
            }
            Battery::LeadAcid(acid) => {
                acid.charge_limit_a = size.charge_limit_a.or(acid.charge_limit_a)
            }
            Battery::Ideal(ideal) => {
                ideal.capacity_wh = size.capacity_wh.unwrap_or(ideal.capacity_wh);
                ideal.charge_limit_a = size.charge_limit_a.or(ideal.charge_limit_a);
            }
        }
    }
    other
}

/// The battery with another rated capacity: other strings where it comes to whole ones.
pub(super) fn at_capacity(battery: &Battery, wanted_ah: f64) -> Battery {
    let mut other = register::as_strings(battery);
    let strings = f64::from(register::string_count(&other).max(1));
    let count = wanted_ah / register::nameplate_ah(&other) * strings;
    let whole = (count - count.round()).abs() < 1e-9 && count >= 0.5;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    match &mut other {
        Battery::LithiumIronPhosphate(cells) if whole => cells.strings = count.round() as u32,
        Battery::LeadAcid(acid) if whole => acid.strings = count.round() as u32,
        _ => other = scaled(&other, count / strings),
    }
    other
}

/// The battery with strings of another capacity: limits in proportion, resistance of lead-acid with
/// one over it.
fn scaled(battery: &Battery, share: f64) -> Battery {
    let mut other = battery.clone();
    match &mut other {
        Battery::LithiumIronPhosphate(cells) => {
            cells.capacity_ah = cells.capacity_ah.map(|it| it * share);
            cells.charge_limit_a *= share;
            cells.discharge_limit_a *= share;
        }
        Battery::LeadAcid(acid) => {
            for capacity in &mut acid.capacities {
                capacity.capacity_ah *= share;
            }
            acid.resistance_ohm /= share;
            acid.charge_limit_a = acid.charge_limit_a.map(|it| it * share);
        }
        Battery::Ideal(ideal) => {
            ideal.capacity_wh *= share;
            ideal.charge_limit_a = ideal.charge_limit_a.map(|it| it * share);
        }
    }
    other
}
