//! Which cautions a station needs, chosen by what its file holds.
//!
//! Card, sheets and report print the same list; their words are in `show::cautions`. Cautions are
//! common practice without a source, but where one is named there.

use serde::Serialize;

use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::scenario::schedule::Attended;
use crate::scenario::sources::Controller;

/// Volts of direct current above which a touch can shock, V: the limit of extra-low voltage without
/// protection in IEC 60364-4-41 is 60 V where it is dry (from memory).
const SHOCK_V: f64 = 60.0;
/// The most that cold adds to the open-circuit volts of silicon panels: NEC table 690.7(A), -36 to
/// -40 deg C (from memory).
const COLDEST_VOC: f64 = 1.25;
/// What one person lifts, kg (common practice, no source).
const ONE_PERSON_KG: f64 = 20.0;
/// The least energy in a kilogram of a finished pack, Wh/kg: heavier ones are rare. Judgement, no source.
const LITHIUM_WH_KG: f64 = 80.0;
/// The same of a lead-acid block.
const ACID_WH_KG: f64 = 25.0;
/// Rated volts of a cell of lithium iron phosphate, V.
const RATED_LITHIUM_V: f64 = 3.2;
/// Rated volts of a lead-acid cell, V.
const RATED_ACID_V: f64 = 2.0;

/// Something that can hurt somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// Tools and rings across the poles; a fuse at the battery. Every station.
    Poles,
    /// Lithium cells below freezing.
    Lithium,
    /// Hydrogen, acid and deep discharge.
    LeadAcid,
    /// Packs or strings side by side.
    SideBySide,
    /// A pack that two people lift.
    HeavyPack,
    /// Packs that may be heavy, and whose mass nobody stated.
    PackMassUnknown,
    /// Fixed mains wiring.
    Mains,
    /// Exhaust of a generator or a running vehicle.
    Exhaust,
    /// Direct current above 60 V.
    Shock,
    /// Panels whose volts nobody stated.
    VoltsUnknown,
    /// Somebody clears snow off the panels.
    Snow,
    /// What must not depend on the plan; local codes. Every station.
    Plan,
}

/// The cautions of a station, in the order in which they are printed.
#[must_use]
pub fn cautions(scenario: &Scenario) -> Vec<Caution> {
    let mut found = of_parts(scenario);
    let (strings, packs, heavy) = match &scenario.battery {
        Battery::LithiumIronPhosphate(it) => {
            let volts = RATED_LITHIUM_V * f64::from(it.cells_in_series);
            let string_wh = volts * it.capacity_ah.unwrap_or(0.0) / f64::from(it.strings.max(1));
            (it.strings, &it.packs, string_wh > ONE_PERSON_KG * LITHIUM_WH_KG)
        }
        Battery::LeadAcid(it) => {
            let largest_ah = it.capacities.iter().map(|it| it.capacity_ah).fold(0.0, f64::max);
            let string_wh = RATED_ACID_V * f64::from(it.cells_in_series) * largest_ah;
            (it.strings, &it.packs, string_wh > ONE_PERSON_KG * ACID_WH_KG)
        }
        Battery::Ideal(_) => return sorted(found),
    };
    if strings > 1 || packs.len() > 1 {
        found.push(Caution::SideBySide);
    }
    if packs.is_empty() {
        // The file has no place for the mass of what is not in the register of packs.
        found.extend(heavy.then_some(Caution::PackMassUnknown));
    } else {
        let masses_kg: Vec<Option<f64>> = packs.values().map(|pack| pack.mass_kg).collect();
        found.extend(lifting(&masses_kg));
    }
    sorted(found)
}

/// The cautions of a station of a club. Its packs, of these masses, are carried one at a time; none
/// where it has a battery of its own. `point` is where packs are charged: whoever carries one there
/// is next to its generator.
#[must_use]
pub fn of_club_station(
    scenario: &Scenario,
    masses_kg: &[Option<f64>],
    point: Option<&Scenario>,
) -> Vec<Caution> {
    let mut found = if masses_kg.is_empty() { cautions(scenario) } else { of_parts(scenario) };
    found.extend(lifting(masses_kg));
    let there = point.map(of_parts).unwrap_or_default();
    let of_place = [Caution::Mains, Caution::Exhaust, Caution::Shock, Caution::VoltsUnknown];
    found.extend(there.into_iter().filter(|it| of_place.contains(it)));
    sorted(found)
}

fn sorted(mut found: Vec<Caution>) -> Vec<Caution> {
    found.sort_unstable();
    found.dedup();
    if found.contains(&Caution::Shock) {
        found.retain(|it| *it != Caution::VoltsUnknown);
    }
    found
}

/// What follows from the parts themselves, whatever the packs.
fn of_parts(scenario: &Scenario) -> Vec<Caution> {
    let mut found = vec![Caution::Poles, Caution::Plan];
    match scenario.battery {
        Battery::LithiumIronPhosphate(_) => found.push(Caution::Lithium),
        Battery::LeadAcid(_) => found.push(Caution::LeadAcid),
        // Nobody says what is in it.
        Battery::Ideal(_) => found.extend([Caution::Lithium, Caution::LeadAcid]),
    }
    if scenario.supply.is_some() {
        found.push(Caution::Mains);
    }
    if scenario.generator.is_some() || scenario.vehicle.is_some() {
        found.push(Caution::Exhaust);
    }
    if highest_v(scenario) > SHOCK_V {
        found.push(Caution::Shock);
    } else if scenario.arrays.values().any(|it| it.count > 0 && it.datasheet.is_none()) {
        found.push(Caution::VoltsUnknown);
    }
    let cleared = scenario.snow.as_ref().is_some_and(|it| it.cleared_after_h.is_some());
    if cleared && scenario.attended != Attended::Never {
        found.push(Caution::Snow);
    }
    found
}

fn lifting(masses_kg: &[Option<f64>]) -> Option<Caution> {
    if masses_kg.iter().flatten().any(|kg| *kg > ONE_PERSON_KG) {
        return Some(Caution::HeavyPack);
    }
    masses_kg.iter().any(Option::is_none).then_some(Caution::PackMassUnknown)
}

/// The highest volts that the file knows: strings of panels in the cold, set points, the supply.
fn highest_v(scenario: &Scenario) -> f64 {
    let strings = scenario.arrays.values().filter_map(|array| array.datasheet.as_ref());
    let panels_v = strings.map(|it| COLDEST_VOC * it.voc_v * f64::from(it.in_series));
    let controllers_v = scenario.controllers.values().map(|it| match it {
        Controller::Mppt(it) => it.set_points.absorption_v,
        Controller::Pwm(it) => it.set_points.absorption_v,
    });
    let supply_v = scenario.supply.iter().flat_map(|it| {
        let charger_v = it.charger.as_ref().map_or(0.0, |it| it.set_points.absorption_v);
        [it.rated_v, charger_v]
    });
    panels_v.chain(controllers_v).chain(supply_v).fold(0.0, f64::max)
}
