//! The register of packs: what a bank of different packs, or one of doubtful capacity, amounts to.
//!
//! Packs are next to each other and carry currents in proportion to their capacities, so a bank of n
//! packs is taken as n equal ones of their mean. A capacity that a test found counts as it is; a
//! rated capacity is multiplied by what age has left. Trust: exact for packs of one kind; packs of
//! unlike resistance share currents less evenly than that.

use serde::Serialize;

use super::ideal;
use crate::scenario::Named;
use crate::scenario::basis::{Basis, BasisOf};
use crate::scenario::battery::{Battery, CapacityAtRate, LeadAcid, Pack};

/// What club batteries of unknown age are planned with, share of the rated capacity: 0.65, common
/// practice, no source.
pub const DOUBTED_SHARE: f64 = 0.65;

/// One pack, and what it counts as.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Registered {
    /// What was typed.
    #[serde(flatten)]
    pub pack: Pack,
    /// What it counts as, Ah: measured where known, else the rated capacity less what age has taken.
    pub counts_ah: f64,
}

/// The packs of a battery, in the order of the scenario.
#[must_use]
pub fn packs_of(battery: &Battery) -> Named<Registered> {
    let (packs, age_share) = match battery {
        Battery::LithiumIronPhosphate(it) => (&it.packs, it.age_capacity_share),
        Battery::LeadAcid(it) => (&it.packs, it.age_capacity_share),
        Battery::Ideal(_) => return Named::new(),
    };
    let registered =
        |pack: &Pack| Registered { pack: pack.clone(), counts_ah: counted_ah(pack, age_share) };
    packs.iter().map(|(name, pack)| (name.clone(), registered(pack))).collect()
}

/// What a pack counts as, Ah: measured where known, else `nameplate_share` of the rated capacity.
fn counted_ah(pack: &Pack, nameplate_share: f64) -> f64 {
    pack.measured_ah.unwrap_or(pack.rated_ah * nameplate_share)
}

/// Sum of the capacities of packs, Ah: measured where known, else `nameplate_share` of the rated capacity.
#[must_use]
pub fn sum_ah(packs: &Named<Pack>, nameplate_share: f64) -> f64 {
    packs.values().map(|pack| counted_ah(pack, nameplate_share)).sum()
}

#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
fn mean_of(packs: &Named<Pack>, nameplate_share: f64) -> (f64, u32) {
    (sum_ah(packs, nameplate_share) / packs.len().max(1) as f64, packs.len() as u32)
}

/// The longest time of discharge and its capacity.
fn longest(capacities: &[CapacityAtRate]) -> Option<&CapacityAtRate> {
    capacities.iter().max_by(|a, b| a.discharge_h.total_cmp(&b.discharge_h))
}

/// Rated capacity of a whole lead-acid bank, Ah: at its longest rate, rated, whatever age and
/// tests say.
#[must_use]
pub fn rated_ah(battery: &LeadAcid) -> f64 {
    let string_ah = longest(&battery.capacities).map_or(0.0, |it| it.capacity_ah);
    if battery.packs.is_empty() {
        string_ah * f64::from(battery.strings)
    } else {
        battery.packs.values().map(|pack| pack.rated_ah).sum()
    }
}

/// What stands on the nameplates of a whole battery, Ah, whatever age and tests say.
#[must_use]
pub fn nameplate_ah(battery: &Battery) -> f64 {
    match battery {
        Battery::LithiumIronPhosphate(cells) if cells.packs.is_empty() => {
            cells.capacity_ah.unwrap_or(0.0) * f64::from(cells.strings)
        }
        Battery::LithiumIronPhosphate(cells) => {
            cells.packs.values().map(|pack| pack.rated_ah).sum()
        }
        Battery::LeadAcid(acid) => rated_ah(acid),
        Battery::Ideal(ideal) => ideal::bank(ideal).capacity_ah,
    }
}

/// What is told of a full battery beside the charge that the model counts to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Holds {
    /// What stands on its nameplates, Ah.
    pub rated_ah: f64,
    /// The same less what age and tests took, Ah.
    pub counts_ah: f64,
    /// Hours of discharge over which lead-acid gives that much, h; more when drawn more slowly.
    pub counts_h: Option<f64>,
}

/// What a battery holds by its nameplates, and by age and tests.
#[must_use]
pub fn holds(battery: &Battery) -> Holds {
    let rated_ah = nameplate_ah(battery);
    let (packs, age_share, counts_h) = match battery {
        Battery::LithiumIronPhosphate(it) => (&it.packs, it.age_capacity_share, None),
        Battery::LeadAcid(it) => {
            let longest = longest(&it.capacities).map(|it| it.discharge_h);
            (&it.packs, it.age_capacity_share, longest)
        }
        Battery::Ideal(_) => return Holds { rated_ah, counts_ah: rated_ah, counts_h: None },
    };
    let counts_ah = if packs.is_empty() { rated_ah * age_share } else { sum_ah(packs, age_share) };
    Holds { rated_ah, counts_ah, counts_h }
}

/// How many strings it has.
#[must_use]
pub fn string_count(battery: &Battery) -> u32 {
    match &as_strings(battery) {
        Battery::LithiumIronPhosphate(cells) => cells.strings,
        Battery::LeadAcid(acid) => acid.strings,
        Battery::Ideal(_) => 1,
    }
}

fn scale(capacities: &mut [CapacityAtRate], by: f64) {
    for capacity in capacities {
        capacity.capacity_ah *= by;
    }
}

/// The battery with equal strings in place of packs.
#[must_use]
pub fn as_strings(battery: &Battery) -> Battery {
    let mut plain = battery.clone();
    match &mut plain {
        Battery::LithiumIronPhosphate(cells) if !cells.packs.is_empty() => {
            let (mean_ah, count) = mean_of(&cells.packs, cells.age_capacity_share);
            cells.capacity_ah = Some(mean_ah);
            cells.strings = count;
            cells.age_capacity_share = 1.0;
            cells.packs.clear();
        }
        Battery::LeadAcid(acid) if !acid.packs.is_empty() => {
            let (mean_ah, count) = mean_of(&acid.packs, acid.age_capacity_share);
            if let Some(rated_ah) = longest(&acid.capacities).map(|it| it.capacity_ah) {
                scale(&mut acid.capacities, mean_ah / rated_ah);
            }
            acid.strings = count;
            acid.age_capacity_share = 1.0;
            acid.packs.clear();
        }
        _ => {}
    }
    plain
}

/// Whether what is said about the battery rests on a rated capacity: a pack that nobody has measured, or
/// a capacity that is a guess or stands on a datasheet.
#[must_use]
pub fn rests_on_nameplate(battery: &Battery) -> bool {
    let unmeasured = |packs: &Named<Pack>| packs.values().any(|pack| pack.measured_ah.is_none());
    let doubtful = |basis: &BasisOf, key: &str| {
        basis.get(key).is_some_and(|it| !matches!(it, Basis::Measured(_)))
    };
    match battery {
        Battery::LithiumIronPhosphate(it) if it.packs.is_empty() => {
            doubtful(&it.basis, "capacity_ah")
        }
        Battery::LithiumIronPhosphate(it) => unmeasured(&it.packs),
        Battery::LeadAcid(it) if it.packs.is_empty() => doubtful(&it.basis, "capacities"),
        Battery::LeadAcid(it) => unmeasured(&it.packs),
        Battery::Ideal(it) => doubtful(&it.basis, "capacity_wh"),
    }
}

/// The battery with a share of its rated capacity; what was measured stays.
#[must_use]
pub fn at_share_of_nameplate(battery: &Battery, share: f64) -> Battery {
    let mut less = battery.clone();
    let of_packs = |packs: &mut Named<Pack>| {
        for pack in packs.values_mut() {
            pack.rated_ah *= share;
        }
    };
    match &mut less {
        Battery::LithiumIronPhosphate(it) => {
            it.capacity_ah = it.capacity_ah.map(|capacity_ah| capacity_ah * share);
            of_packs(&mut it.packs);
        }
        Battery::LeadAcid(it) if it.packs.is_empty() => scale(&mut it.capacities, share),
        Battery::LeadAcid(it) => of_packs(&mut it.packs),
        Battery::Ideal(it) => it.capacity_wh *= share,
    }
    less
}

/// The battery with a share of its capacity, measured packs too.
#[must_use]
pub fn at_share_of_capacity(battery: &Battery, share: f64) -> Battery {
    let mut other = at_share_of_nameplate(battery, share);
    let packs = match &mut other {
        Battery::LithiumIronPhosphate(it) => Some(&mut it.packs),
        Battery::LeadAcid(it) => Some(&mut it.packs),
        Battery::Ideal(_) => None,
    };
    for pack in packs.into_iter().flat_map(|packs| packs.values_mut()) {
        pack.measured_ah = pack.measured_ah.map(|measured_ah| measured_ah * share);
    }
    other
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::battery::LithiumIronPhosphate;

    fn lithium(text: &str) -> Battery {
        let cells: LithiumIronPhosphate = serde_json::from_str(text).expect("a battery");
        Battery::LithiumIronPhosphate(cells)
    }

    #[test]
    fn measured_packs_count_as_they_are_and_nameplates_by_age() {
        let battery = lithium(
            r#"{"cells_in_series": 4, "age_capacity_share": 0.8, "charge_limit_a": 20,
                "discharge_limit_a": 40, "packs": {"A": {"rated_ah": 100, "measured_ah": 71},
                "B": {"rated_ah": 50}}}"#,
        );
        assert!(rests_on_nameplate(&battery));
        // 71 + 0.8 x 50 = 111 Ah, by hand.
        let Battery::LithiumIronPhosphate(plain) = as_strings(&battery) else { panic!() };
        assert_eq!((plain.strings, plain.age_capacity_share), (2, 1.0));
        assert!((plain.capacity_ah.expect("given") * 2.0 - 111.0).abs() < 1e-12);
        // 71 + 0.65 x 0.8 x 50 = 97 Ah.
        let Battery::LithiumIronPhosphate(less) =
            as_strings(&at_share_of_nameplate(&battery, DOUBTED_SHARE))
        else {
            panic!()
        };
        assert!((less.capacity_ah.expect("given") * 2.0 - 97.0).abs() < 1e-12);
    }

    #[test]
    fn a_basis_that_nobody_gave_is_no_doubt() {
        let plain = r#"{"cells_in_series": 4, "capacity_ah": 90, "charge_limit_a": 20,
            "discharge_limit_a": 40"#;
        for (more, doubted) in [
            ("}", false),
            (r#", "basis": {"capacity_ah": "guess"}}"#, true),
            (r#", "basis": {"capacity_ah": "datasheet"}}"#, true),
            (r#", "basis": {"capacity_ah": {"measured": "2026-05-01"}}}"#, false),
        ] {
            assert_eq!(rests_on_nameplate(&lithium(&format!("{plain}{more}"))), doubted, "{more}");
        }
    }
}
