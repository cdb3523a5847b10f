//! Sizes to choose from, and the station that has them.
//!
//! A list of sizes rises from step to step. Panels and battery span the plane that is searched; chargers and
//! slopes make layers of it. Where the scenario states no choices a list of sizes is laid around what it has,
//! without prices and masses.

mod steps;

use serde::Serialize;

use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::scenario::choices::{
    BatteryChoice, BatterySize, PanelChoice, PriceAndMass, StringChoice,
};
use crate::scenario::sources::Controller;
use steps::{
    at_capacity, battery_steps, charger_steps, derive, fitting, panel_steps, with_battery,
};

/// Times the largest step that stand for no limit at all.
const NO_LIMIT: u32 = 1000;
/// The same for a current, A.
const NO_LIMIT_A: f64 = 1e6;

/// One station of those to choose from, by its step on each list of sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Place {
    /// Step of the panels.
    pub panels: usize,
    /// Step of the battery.
    pub battery: usize,
    /// Step of the charger.
    pub charger: usize,
    /// Slope.
    pub tilt: usize,
}

/// A step of the panels.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PanelStep {
    /// How many panels of the array.
    pub count: u32,
    /// Their rated power together, W.
    pub rated_w: f64,
    /// Limit of the controller that goes with them, where one is chosen, A.
    pub controller_limit_a: Option<f64>,
    /// Panels and controller.
    #[serde(flatten)]
    pub costs: PriceAndMass,
}

/// A step of the battery.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatteryStep {
    /// How many strings, where these are counted.
    pub strings: Option<u32>,
    /// Rated capacity of the whole bank, Ah.
    pub rated_ah: f64,
    /// What of it counts, with age, Ah.
    pub capacity_ah: f64,
    /// The bank.
    #[serde(flatten)]
    pub costs: PriceAndMass,
    #[serde(skip)]
    size: Option<BatterySize>,
}

/// A step of the charger.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ChargerStep {
    /// Limit of its charging current, A; null where the station has none to choose.
    pub limit_a: Option<f64>,
    /// Limit of the supply, where one is chosen, A.
    pub supply_limit_a: Option<f64>,
    /// The charger.
    #[serde(flatten)]
    pub costs: PriceAndMass,
}

/// All option lists.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ladders {
    /// The array whose panels are counted; null where the station has none.
    pub array: Option<String>,
    /// Steps of the panels.
    pub panels: Vec<PanelStep>,
    /// Steps of the battery.
    pub batteries: Vec<BatteryStep>,
    /// Steps of the charger.
    pub chargers: Vec<ChargerStep>,
    /// Slopes of the array, degrees; one that is null where none is chosen.
    pub tilts_deg: Vec<Option<f64>>,
    /// Whether they were laid around what the scenario has, since it states no choices.
    pub derived: bool,
    /// In which money prices are.
    pub currency: Option<String>,
}

/// What is there already costs nothing more.
const THERE: PriceAndMass = PriceAndMass { price: Some(0.0), mass_kg: Some(0.0) };

impl Ladders {
    /// The option lists of a checked scenario.
    #[must_use]
    pub fn of(scenario: &Scenario) -> Self {
        let stated = scenario.sizing.as_ref().filter(|choices| {
            choices.panels.is_some() || choices.battery.is_some() || !choices.chargers.is_empty()
        });
        let derived = stated.is_none();
        let around;
        let choices = match stated {
            Some(choices) => choices,
            None => {
                around = derive(scenario);
                &around
            }
        };
        let array = choices.panels.as_ref().map(|panels| panels.array.clone());
        let tilts: Vec<Option<f64>> = choices
            .panels
            .iter()
            .flat_map(|panels| panels.tilt_deg.iter().map(|tilt_deg| Some(*tilt_deg)))
            .collect();
        Self {
            panels: panel_steps(scenario, choices.panels.as_ref()),
            batteries: battery_steps(scenario, choices.battery.as_ref()),
            chargers: charger_steps(scenario, &choices.chargers),
            tilts_deg: if tilts.is_empty() { vec![None] } else { tilts },
            array,
            derived,
            currency: choices
                .currency
                .clone()
                .or_else(|| scenario.prices.as_ref().map(|prices| prices.currency.clone())),
        }
    }

    /// How many stations there are to choose from.
    #[must_use]
    pub fn count(&self) -> usize {
        self.panels.len() * self.batteries.len() * self.chargers.len() * self.tilts_deg.len()
    }

    /// What the steps of a place cost and weigh together; absent where one of them does not say.
    #[must_use]
    pub fn costs(&self, place: Place) -> PriceAndMass {
        let parts = [
            self.panels[place.panels].costs,
            self.batteries[place.battery].costs,
            self.chargers[place.charger].costs,
        ];
        PriceAndMass {
            price: parts.iter().map(|it| it.price).sum(),
            mass_kg: parts.iter().map(|it| it.mass_kg).sum(),
        }
    }

    /// The scenario with the station of a place.
    #[must_use]
    pub fn station(&self, scenario: &Scenario, place: Place) -> Scenario {
        let mut station = self.with_panels(scenario, &self.panels[place.panels]);
        if let (Some(array), Some(tilt_deg)) = (&self.array, self.tilts_deg[place.tilt])
            && let Some(array) = station.arrays.get_mut(array)
        {
            array.tilt_deg = tilt_deg;
        }
        station.battery = with_battery(&scenario.battery, &self.batteries[place.battery]);
        let charger = self.chargers[place.charger];
        if let Some(supply) = &mut station.supply {
            if let (Some(it), Some(limit_a)) = (&mut supply.charger, charger.limit_a) {
                it.limit_a = limit_a;
            }
            supply.limit_a = charger.supply_limit_a.unwrap_or(supply.limit_a);
        }
        station
    }

    /// The station of a place with more panels than anybody has, and controllers that pass them all.
    #[must_use]
    pub fn with_any_panels(&self, scenario: &Scenario, place: Place) -> Scenario {
        let largest = self.panels.iter().map(|step| step.count).max().unwrap_or(0).max(1);
        let mut station = self.station(scenario, place);
        let Some(array) = self.array.as_ref().and_then(|name| station.arrays.get_mut(name)) else {
            return station;
        };
        array.count = largest.saturating_mul(NO_LIMIT);
        let controller = array.controller.clone();
        if let Some(controller) = station.controllers.get_mut(&controller) {
            set_limit(controller, NO_LIMIT_A);
        }
        station
    }

    /// The station of a place with a larger battery than anybody has.
    #[must_use]
    pub fn with_any_battery(&self, scenario: &Scenario, place: Place) -> Scenario {
        let mut station = self.station(scenario, place);
        match &mut station.battery {
            Battery::LithiumIronPhosphate(cells) => {
                cells.strings = cells.strings.saturating_mul(NO_LIMIT);
            }
            Battery::LeadAcid(acid) => acid.strings = acid.strings.saturating_mul(NO_LIMIT),
            Battery::Ideal(ideal) => ideal.capacity_wh *= f64::from(NO_LIMIT),
        }
        station
    }

    /// The scenario with other numbers of panels and strings than the option lists have.
    #[must_use]
    pub fn with_counts(&self, scenario: &Scenario, panels: u32, rated_ah: f64) -> Scenario {
        let rated_w = self.panel_w(scenario) * f64::from(panels);
        let stated = scenario.sizing.as_ref().and_then(|choices| choices.panels.as_ref());
        let controllers = stated.map_or(&[][..], |panels| &panels.controllers);
        let controller = fitting(scenario, self.array.as_deref(), rated_w, controllers);
        let step = PanelStep {
            count: panels,
            rated_w,
            controller_limit_a: controller.map(|it| it.output_limit_a),
            costs: THERE,
        };
        let mut station = self.with_panels(scenario, &step);
        station.battery = at_capacity(&scenario.battery, rated_ah);
        station
    }

    /// What other numbers of panels and ampere-hours than the option lists have cost and weigh by the same
    /// choices: whole strings, a size that there is, and the charger where there is one to choose.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn costs_with_counts(
        &self,
        scenario: &Scenario,
        panels: u32,
        rated_ah: f64,
    ) -> PriceAndMass {
        let choices = scenario.sizing.as_ref().filter(|_| !self.derived);
        let panel = choices.and_then(|it| it.panels.as_ref()).map(|choice| {
            let choice = PanelChoice { counts: vec![panels], ..choice.clone() };
            panel_steps(scenario, Some(&choice)).first().map(|step| step.costs)
        });
        let battery = choices.and_then(|it| it.battery.as_ref()).map(|choice| match choice {
            BatteryChoice::Strings(strings) => {
                let with = |count: u32| {
                    let strings = StringChoice { counts: vec![count], ..strings.clone() };
                    battery_steps(scenario, Some(&BatteryChoice::Strings(strings)))
                };
                let one_ah = with(1).first().map_or(0.0, |step| step.rated_ah);
                let count = if one_ah > 0.0 { (rated_ah / one_ah - 1e-9).ceil() } else { 0.0 };
                with(count as u32).first().map(|step| step.costs)
            }
            BatteryChoice::Sizes(_) => {
                let same = |step: &&BatteryStep| (step.rated_ah - rated_ah).abs() < 1e-6;
                self.batteries.iter().find(same).map(|step| step.costs)
            }
        });
        let charger = match self.chargers[..] {
            [only] => Some(only.costs),
            _ => None,
        };
        // What there is no choice of is there already.
        let parts = [panel.unwrap_or(Some(THERE)), battery.unwrap_or(Some(THERE)), charger];
        let of = |value: fn(PriceAndMass) -> Option<f64>| {
            parts.iter().map(|part| part.and_then(value)).sum()
        };
        PriceAndMass { price: of(|it| it.price), mass_kg: of(|it| it.mass_kg) }
    }

    /// Rated power of one panel, W.
    #[must_use]
    pub fn panel_w(&self, scenario: &Scenario) -> f64 {
        let array = self.array.as_ref().and_then(|name| scenario.arrays.get(name));
        array.map_or(0.0, |array| array.rated_w)
    }

    fn with_panels(&self, scenario: &Scenario, step: &PanelStep) -> Scenario {
        let mut station = scenario.clone();
        let Some(array) = self.array.as_ref().and_then(|name| station.arrays.get_mut(name)) else {
            return station;
        };
        array.count = step.count;
        let controller = array.controller.clone();
        if let (Some(limit_a), Some(controller)) =
            (step.controller_limit_a, station.controllers.get_mut(&controller))
        {
            set_limit(controller, limit_a);
        }
        station
    }
}

fn set_limit(controller: &mut Controller, limit_a: f64) {
    match controller {
        Controller::Mppt(it) => it.output_limit_a = limit_a,
        Controller::Pwm(it) => it.output_limit_a = limit_a,
    }
}
