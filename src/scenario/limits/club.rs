//! The range and the unit of every number of a club's file that is not a part of a scenario.

use super::{Limit, above_zero, share, within};

/// Every such number, in the order of the file.
pub const CLUB_LIMITS: &[Limit] = &[
    within("format", 2.0, 2.0, "1")
        .hint("A later number needs a later longwatch; this one reads format 2."),
    share("stations.*.swap.below_share"),
    share("stations.*.swap.spare_above_share"),
    above_zero("stations.*.swap.handover.off_min", 60.0, "min")
        .hint("Nothing goes off where the handover is \"bridged\"."),
    within("stations.*.swap.carry_min", 0.0, 600.0, "min"),
    within("stations.*.mass_kg", 0.0, 10_000.0, "kg"),
    within("stations.*.price", 0.0, 1e9, "money"),
    share("packs.each.*.charge_share"),
    within("packs.each.*.mass_kg", 0.0, 1000.0, "kg"),
    within("packs.each.*.price", 0.0, 1e9, "money"),
    within("packs.spare_price", 0.0, 1e9, "money"),
    within("packs.spare_mass_kg", 0.0, 1000.0, "kg"),
    share("charging_point.done_above_share"),
    within("charging_point.mass_kg", 0.0, 10_000.0, "kg"),
    within("charging_point.price", 0.0, 1e9, "money"),
    share("members.*.comes_chance"),
    within("gear.*.count", 0.0, 10_000.0, "1"),
    within("gear.*.mass_kg", 0.0, 10_000.0, "kg"),
    within("gear.*.price", 0.0, 1e9, "money"),
    within("counts_as_up.at_least", 1.0, 1000.0, "1"),
    share("target_chance"),
];
