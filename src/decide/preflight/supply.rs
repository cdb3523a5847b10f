//! The supply: what it carries while transmitting, and what it has left for charging.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use crate::plan::Carrier;
use crate::scenario::sources::{Joins, Supply};
use crate::station::load_states::peak_a;

const LIMIT: &str = "the limit that the scenario states for the supply; it follows the peak";
const LEFT: &str = "common practice, no source: a tenth of the charger's limit";
/// Less than this share of the charger's limit is next to nothing.
const NEXT_TO_NOTHING_SHARE: f64 = 0.1;

pub(super) fn supply(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let Some(supply) = &ground.scenario.supply else { return };
    let about = About::new("supply", "supply");
    let charger_a = supply.charger.as_ref().map_or(0.0, |it| it.limit_a);
    let carried_a = peak_carried_a(ground, supply);
    if supply.joins != Joins::ChargerOnly {
        let sentence = match supply.joins {
            Joins::Bus => format!(
                "With every operator transmitting {} A flow and the supply gives up to {} A; the battery covers \
                 what is more.",
                num(carried_a, 1),
                num(supply.limit_a, 1)
            ),
            _ => format!(
                "With every operator transmitting the groups on the supply take {} A of its {} A.",
                num(carried_a, 1),
                num(supply.limit_a, 1)
            ),
        };
        let finding =
            Finding::new(Subject::SupplyBudget, &about, "transmitting, on supply", sentence, LIMIT)
                .value(carried_a, "A")
                .at_most(supply.limit_a);
        let mend =
            "A larger supply, or fewer groups on it: those that do not fit stay on the battery.";
        let over = finding.misses();
        found.push(finding.when(over, Severity::Caution, mend));
    }
    if charger_a <= 0.0 {
        return;
    }
    let keyed_a = match supply.joins {
        Joins::ChargerOnly => supply.limit_a.min(charger_a),
        _ => (supply.limit_a - carried_a).clamp(0.0, charger_a),
    };
    let mean_a = mean_left_a(ground, supply, charger_a);
    let sentence = format!(
        "While every operator transmits {} A are left for charging; as scheduled {} A on average, of the \
         charger's {} A.",
        num(keyed_a, 1),
        num(mean_a, 1),
        num(charger_a, 1)
    );
    let finding = Finding::new(Subject::ChargingLeft, &about, "left for charging", sentence, LEFT)
        .value(mean_a, "A")
        .at_least(NEXT_TO_NOTHING_SHARE * charger_a);
    let over = finding.misses();
    let mend = "A larger supply, or less on it while the battery is to be charged.";
    found.push(finding.when(over, Severity::Caution, mend));
}

/// Highest current that the loads ask of the supply, A.
fn peak_carried_a(ground: &Ground<'_>, supply: &Supply) -> f64 {
    let groups = &ground.scenario.outlet_groups;
    let carried = |at: usize| {
        supply.joins == Joins::Bus || groups.get_index(at).is_some_and(|(_, it)| it.on_supply)
    };
    let mut highest_a = 0.0_f64;
    for case in &ground.cases {
        for state in &case.states {
            let of = |at: usize| peak_a(&case.loads, state, Some(at), supply.rated_v);
            highest_a = highest_a.max((0..groups.len()).filter(|at| carried(*at)).map(of).sum());
        }
    }
    highest_a
}

/// Least mean current that is left for charging in any tier, A.
fn mean_left_a(ground: &Ground<'_>, supply: &Supply, charger_a: f64) -> f64 {
    if supply.joins == Joins::ChargerOnly {
        return supply.limit_a.min(charger_a);
    }
    let left = |case: &super::ground::Case| {
        let at = ground.plan.profile_index(case.set, case.tier, Carrier::Grid);
        match supply.joins {
            Joins::Bus => {
                (supply.limit_a - case.rung.current_a - case.rung.power_w / ground.nominal_v)
                    .clamp(0.0, charger_a)
            }
            _ => ground.plan.profiles.get(at).map_or(charger_a, |it| it.charging_left_a),
        }
    };
    ground.cases.iter().map(left).fold(charger_a, f64::min)
}
