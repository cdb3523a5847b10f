//! The charge that is left when the loads are switched off, and the load that brings it about.
//!
//! Sources off, steady mean current: in each tier the charge at which its heaviest lasting state pulls
//! the volts down to those of the disconnect, or its peak to those of the BMS. A tier that the rule
//! leaves at a higher charge does not count, but for the last that draws anything. Beside it: what the simulated hours show.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::{Case, Ground};
use crate::scenario::battery::Battery;
use crate::simulate::causes::Cause;
use crate::station::load_states::{Opening, opening};

const FIFTH: &str = "common practice, no source: a fifth of the battery is kept";
const HALF: &str = "common practice, no source: half of a lead-acid battery is kept";
const FIFTH_SHARE: f64 = 0.20;
const HALF_SHARE: f64 = 0.50;

/// The highest charge at which the loads can be switched off.
struct Worst<'g> {
    share: f64,
    case: &'g Case,
    opening: Opening,
    mean_a: f64,
}

/// What the simulated hours show of it.
struct Shown {
    hours: f64,
    most_left_share: f64,
}

pub(super) fn charge_left(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let Some(worst) = worst_of(ground) else { return };
    let opening = &worst.opening;
    // Lead-acid cells have no BMS: what is left then is what they do not give.
    if opening.by_bms && matches!(ground.scenario.battery, Battery::LeadAcid(_)) {
        return;
    }
    let (about, opens_v) = if opening.by_bms {
        (About::new("BMS", "battery"), ground.around.board_open_v)
    } else {
        (About::new("disconnect", "disconnect.disconnect_v"), ground.around.disconnect_open_v)
    };
    let (limit, basis) = match ground.scenario.battery {
        Battery::LeadAcid(_) => (HALF_SHARE, HALF),
        Battery::LithiumIronPhosphate(_) | Battery::Ideal(_) => (FIFTH_SHARE, FIFTH),
    };
    let load = ground.plan.heads.loads.get(opening.place).map_or("", String::as_str);
    let does = if opening.keyed { "transmits" } else { "is on" };
    let mut sentence = format!(
        "It switches the loads off at {} V with {} ({} Ah) left, in tier “{}”, while “{load}” {does}: \
         {} A of {} A.",
        num(opens_v, 2),
        percent(worst.share),
        num(worst.share * ground.plan.battery.capacity_ah, 0),
        ground.scenario.tiers[worst.case.tier].name,
        num(opening.load_a, 1),
        num(opening.all_a, 1)
    );
    let shown = shown(ground, opening.by_bms);
    if shown.hours > 0.0 {
        sentence += &format!(
            " In the simulated hours it does, with up to {} left: no power for {} h.",
            percent(shown.most_left_share),
            num(shown.hours, 1)
        );
    }
    let share = worst.share.max(shown.most_left_share);
    let finding = Finding::new(Subject::ChargeLeft, &about, "charge left, off", sentence, basis)
        .value(share, "share")
        .at_most(limit);
    let mend = mend(ground, &worst, limit, opens_v);
    let over = finding.misses();
    found.push(finding.when(over && shown.hours > 0.0, Severity::Serious, &mend).when(
        over,
        Severity::Caution,
        &mend,
    ));
}

fn worst_of<'g>(ground: &'g Ground<'_>) -> Option<Worst<'g>> {
    let mut worst: Option<Worst<'g>> = None;
    let draws = |case: &&Case| !case.loads.is_empty();
    let last = ground.cases.iter().filter(draws).map(|case| case.tier).max();
    for case in &ground.cases {
        let Some(opening) = opening(&case.loads, &case.states, &ground.around) else { continue };
        let mean_a = opening.mean_a + ground.plan.standby_w / opening.mean_v;
        let share = ground.charge_where(opening.mean_v, mean_a).clamp(0.0, 1.0);
        let stays = Some(case.tier) == last || share >= left_below_share(ground, case.tier);
        if stays && worst.as_ref().is_none_or(|it| it.share < share) {
            worst = Some(Worst { share, case, opening, mean_a });
        }
    }
    worst
}

/// Charge below which the rule leaves a tier at its next decision.
fn left_below_share(ground: &Ground<'_>, tier: usize) -> f64 {
    let tiers = &ground.plan.tiers;
    if tiers.card.is_empty() {
        return tiers.down_below_share.get(tier).copied().unwrap_or(0.0);
    }
    let by_row = tiers.card.iter().map(|row| row.get(tier).copied().unwrap_or(0.0));
    by_row.reduce(f64::min).unwrap_or(0.0)
}

/// Hours without power in the simulation because the loads were switched off so.
fn shown(ground: &Ground<'_>, by_bms: bool) -> Shown {
    let cause = if by_bms { Cause::BmsVolts } else { Cause::Disconnect };
    let mut shown = Shown { hours: 0.0, most_left_share: 0.0 };
    let rows = ground.ledger.rows.iter();
    for it in rows.flat_map(|row| &row.off_air).filter(|it| it.cause == cause) {
        shown.hours += it.hours;
        shown.most_left_share = shown.most_left_share.max(it.charge_left_share);
    }
    shown
}

/// The disconnect that would leave as much as is usual, where it is below that of now.
fn mend(ground: &Ground<'_>, worst: &Worst<'_>, limit: f64, opens_v: f64) -> String {
    let opening = &worst.opening;
    let sag_v = ground.around.battery_ohm * (opening.all_a - opening.mean_a);
    let usual_v = ground.terminal_v(limit, worst.mean_a) - sag_v;
    let leads = "Shorter or thicker leads, less current while transmitting, or a larger battery";
    if opening.by_bms || usual_v >= opens_v {
        return format!("{leads}.");
    }
    format!(
        "At {} V it would leave {}: first look what volts the devices need and the battery’s datasheet \
         allows. {leads} help too.",
        num(usual_v, 2),
        percent(limit)
    )
}
