//! What holds for every row of every book.
#![allow(dead_code)]

use longwatch::plan::Plan;
use longwatch::simulate::ledger::{Losses, Row};

/// Energy balance of a row by our own sum: put on the bus less served, own draws, losses and the
/// change of what is stored.
pub fn balance_wh(row: &Row, losses: &Losses) -> f64 {
    let used: f64 = row.sources.iter().map(|source| source.used_wh).sum();
    let served: f64 = row.groups.iter().map(|group| group.served_wh).sum();
    let own = row.standby_wh + row.heater_wh;
    used - served - own - losses.total_wh() - (row.stored_end_wh - row.stored_start_wh)
}

pub fn throughput_wh(row: &Row) -> f64 {
    let used: f64 = row.sources.iter().map(|source| source.used_wh).sum();
    let served: f64 = row.groups.iter().map(|group| group.served_wh).sum();
    used + served + (row.charged_ah + row.discharged_ah) * row.mean_v
}

pub fn check_row(plan: &Plan, row: &Row) -> Result<(), String> {
    let allowed = 1e-9 * (throughput_wh(row) + 1.0);
    let say = |what: &str, value: f64| Err(format!("{}: {what}: {value:e}", row.start));
    let balance = balance_wh(row, &row.losses);
    if balance.abs() > allowed || row.residual_wh.abs() > allowed {
        return say("balance", balance);
    }
    for (source, head) in row.sources.iter().zip(&plan.heads.sources) {
        if head.origin != longwatch::simulate::ledger::Origin::Sun {
            continue;
        }
        let parts = source.used_wh
            + source.conversion_loss_wh
            + source.operating_point_loss_wh
            + source.clipped_wh
            + source.curtailed_wh;
        if (parts - source.available_wh).abs() > allowed {
            return say("columns of a controller", parts - source.available_wh);
        }
        let least = source.clipped_wh.min(source.curtailed_wh).min(source.used_wh);
        if least < -1e-3 * (source.available_wh + 1e-6) {
            return say("a negative column", least);
        }
        let split = source.to_load_wh + source.to_battery_wh - source.used_wh;
        if split.abs() > allowed {
            return say("to load and to battery", split);
        }
    }
    for group in &row.groups {
        let off = group.load_wh - group.served_wh - group.unserved_wh;
        if off.abs() > allowed || group.unserved_wh < -allowed || group.served_wh < -allowed {
            return say("a group", off);
        }
    }
    let served: f64 = row.groups.iter().map(|group| group.served_wh).sum();
    let from = &row.served_origin;
    let origin = from.sun + from.mains + from.generator + from.vehicle + from.stored_before;
    if (served - origin).abs() > 1e-6 * (served + 1.0) {
        return say("origin of served energy", served - origin);
    }
    if !(-1e-9..=1.0 + 1e-9).contains(&row.charge_end_share) {
        return say("charge", row.charge_end_share);
    }
    if row.no_power_h > row.hours + 1e-9 || row.open_h > row.hours + 1e-9 {
        return say("dark or disconnected longer than the step", row.no_power_h);
    }
    // A phase of a lead-acid battery has its surface on one straight piece of the rest volts, that of
    // its middle, and what it stores on the bent curve: where the well at hand passes a node in those
    // five minutes, the lag holds the difference, (change of slope) (change of fill) / 8 at the most.
    // The sharpest node, at fill 0.1, bends by 5 V for six cells; small batteries at several times
    // their capacity pass it by 0.08: 0.05 V of 11 for one phase of a row. The worst of 9000 random
    // stations is 1.4e-3 of a row; mean over time against mean over charge is a twentieth of that.
    let slack = if plan.battery.second.is_some() { 3e-3 * throughput_wh(row) } else { 0.0 };
    if row.losses.self_discharge_wh < -1e-6 || row.losses.battery_lag_wh < -1e-6 - slack {
        return say("a negative loss", row.losses.battery_lag_wh);
    }
    Ok(())
}
