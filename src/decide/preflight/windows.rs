//! The volts of devices: at the lowest charge while transmitting, the charge at which each quits, and in
//! absorption.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::{Case, Ground};
use super::missing::Missing;
use crate::plan::coldest::AS_WRITTEN_C;
use crate::scenario::sources::Joins;
use crate::station::load_set::JointState;
use crate::station::load_states::{device_v, opening_v};

const WINDOW: &str = "the window that the scenario states for the device";
const EARLY: &str = "common practice, no source: a fifth of the battery";
/// A device that quits above this charge leaves more than a fifth of the battery unused.
const EARLY_SHARE: f64 = 0.20;
/// Rounds of halving: a charge to a part in a million.
const ROUNDS: usize = 40;

/// A load while transmitting in one case.
struct Worst<'c> {
    case: &'c Case,
    at: usize,
    state: &'c JointState,
    mean_a: f64,
}

pub(super) fn windows(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    for (place, (name, load)) in ground.scenario.loads.iter().enumerate() {
        let about = About::new(format!("load “{name}”"), format!("loads.{name}.window_v"));
        let Some([low_v, high_v]) = load.window_v else {
            if ground.is_radio(place) {
                missing.note(Subject::WindowLow, "its window (`window_v`)", &about.item);
            }
            continue;
        };
        if let Some(worst) = worst_of(ground, place) {
            lowest(ground, &about, &worst, low_v, load.essential, found);
            quits(ground, &about, &worst, (low_v, load.essential), found);
        }
        let on_supply =
            ground.scenario.outlet_groups.get(&load.group).is_some_and(|it| it.on_supply);
        let supply_v = ground
            .scenario
            .supply
            .as_ref()
            .filter(|it| it.joins == Joins::Changeover && on_supply)
            .map_or(0.0, |it| it.rated_v);
        let held_v = ground.highest_v.max(supply_v);
        let colder = ground.coldest_c.filter(|it| *it < AS_WRITTEN_C);
        let cold = colder.map_or(String::new(), |battery_c| {
            format!(" with the battery at {} deg C, the coldest here", num(battery_c, 1))
        });
        let sentence = format!(
            "Up to {} V are held at the terminals{cold}; it works up to {} V.",
            num(held_v, 2),
            num(high_v, 2)
        );
        let finding = Finding::new(Subject::WindowHigh, &about, "highest volts", sentence, WINDOW)
            .value(held_v, "V")
            .at_most(high_v);
        let over = finding.misses();
        let mend = "Lower set points, less compensation, or a converter before the device.";
        found.push(finding.when(over, Severity::Serious, mend));
    }
}

/// The case and state in which a load has the least volts at the lowest charge of its tier.
fn worst_of<'g>(ground: &'g Ground<'_>, place: usize) -> Option<Worst<'g>> {
    let mut worst: Option<(f64, Worst<'g>)> = None;
    for case in &ground.cases {
        let Some(at) = case.places.iter().position(|it| *it == place) else { continue };
        for state in &case.states {
            // A state in which it could be transmitting and is not says nothing about transmitting.
            if case.loads[at].drawn.transmit_share > 0.0 && !state.keyed[at] {
                continue;
            }
            let mean_a = case.rung.current_a + case.rung.power_w / ground.nominal_v;
            let it = Worst { case, at, state, mean_a };
            let volts = volts_at(ground, &it, reached_share(ground, &it)).unwrap_or(0.0);
            if worst.as_ref().is_none_or(|(least_v, _)| volts < *least_v) {
                worst = Some((volts, it));
            }
        }
    }
    worst.map(|(_, it)| it)
}

/// Volts at the device at a charge, V; none when converters pull them down.
fn volts_at(ground: &Ground<'_>, worst: &Worst<'_>, charge_share: f64) -> Option<f64> {
    let mean_v = ground.terminal_v(charge_share, worst.mean_a);
    let case = worst.case;
    device_v(&case.loads, &case.states, worst.state, &case.loads[worst.at], mean_v, &ground.around)
}

/// Charge at which disconnect or board take the loads off, share; below zero when never.
fn opens_share(ground: &Ground<'_>, worst: &Worst<'_>) -> f64 {
    let opens_v =
        opening_v(&worst.case.loads, &worst.case.states, &worst.case.rung, &ground.around);
    if opens_v > 0.0 { ground.charge_where(opens_v, worst.mean_a) } else { f64::NEG_INFINITY }
}

/// Lowest charge at which the load is still on, share: that of the simulation, or where the loads are
/// taken off before.
fn reached_share(ground: &Ground<'_>, worst: &Worst<'_>) -> f64 {
    ground.lowest_share(worst.case.tier).max(opens_share(ground, worst)).clamp(0.0, 1.0)
}

fn lowest(
    ground: &Ground<'_>,
    about: &About,
    worst: &Worst<'_>,
    low_v: f64,
    essential: bool,
    found: &mut Vec<Finding>,
) {
    let reached = reached_share(ground, worst);
    let volts = volts_at(ground, worst, reached);
    let opens = opens_share(ground, worst) > ground.lowest_share(worst.case.tier);
    let when = if opens {
        "where the loads are switched off".to_owned()
    } else {
        "the lowest of the simulation".to_owned()
    };
    let tier = &ground.scenario.tiers[worst.case.tier].name;
    let how = if worst.case.loads[worst.at].drawn.transmit_share > 0.0 {
        "transmitting"
    } else {
        "all transmitting"
    };
    let got = volts.map_or("no volts that hold".to_owned(), |volts| format!("{} V", num(volts, 2)));
    let sentence = format!(
        "At {} charge, {when}, {how} in tier “{tier}”, it has {got} through all resistance; it needs {} V.",
        percent(reached),
        num(low_v, 2)
    );
    let finding = Finding::new(Subject::WindowLow, about, "lowest volts", sentence, WINDOW)
        .value(volts.unwrap_or(0.0), "V")
        .at_least(low_v);
    let over = finding.misses();
    let severity = if essential { Severity::Serious } else { Severity::Caution };
    let mend = "Thicker leads, a radio that works on fewer volts, a disconnect or tiers that step in \
                earlier.";
    found.push(finding.when(over, severity, mend));
}

/// The charge below which a device with a window quits: a set while transmitting, a receiver or anything else
/// while the others key.
fn quits(
    ground: &Ground<'_>,
    about: &About,
    worst: &Worst<'_>,
    (low_v, essential): (f64, bool),
    found: &mut Vec<Finding>,
) {
    let keyed = worst.case.loads[worst.at].drawn.transmit_share > 0.0;
    let (what, while_on) = if keyed {
        ("quits below, transmitting", "while transmitting")
    } else {
        ("quits below, all transmit", "while all others transmit")
    };
    let works = |share: f64| volts_at(ground, worst, share).is_some_and(|volts| volts >= low_v);
    let (mut below, mut above) = (0.0, 1.0);
    let share = if works(0.0) {
        0.0
    } else if !works(1.0) {
        1.0
    } else {
        for _ in 0..ROUNDS {
            let middle = (below + above) / 2.0;
            if works(middle) { above = middle } else { below = middle }
        }
        above
    };
    let opens = opens_share(ground, worst);
    let left_ah = share * ground.plan.battery.capacity_ah;
    let sentence = if share <= 0.0 {
        format!("It works down to an empty battery {while_on}.")
    } else if opens >= share {
        format!(
            "It would quit {while_on} below {} charge; the loads are switched off at {} before that.",
            percent(share),
            percent(opens.clamp(0.0, 1.0))
        )
    } else {
        format!(
            "It quits {while_on} below {} charge, with {} Ah left.",
            percent(share),
            num(left_ah, 0)
        )
    };
    let finding =
        Finding::new(Subject::QuitsBelow, about, what, sentence, EARLY).value(share, "share");
    // Where the loads are off before, what is left then is judged, and not what never happens.
    let finding = if opens < share { finding.at_most(EARLY_SHARE) } else { finding };
    let over = finding.misses();
    let mend = "Thicker or shorter leads, or a radio that works on fewer volts.";
    let severity = if essential { Severity::Caution } else { Severity::Note };
    found.push(finding.when(over, severity, mend));
}
