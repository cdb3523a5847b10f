//! The leads of the station, each with its fuse and what flows in it.

use super::finding::About;
use super::ground::{Ground, Keyed};
use super::panels::disconnect_v;
use crate::scenario::loads::{Fuse, Fused, Lead, Wire};
use crate::scenario::sources::{Array, Joins};
use crate::station::wire::loop_ohm;

/// What is asked of a lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Main,
    Radio,
    Other,
    Charger,
    Panels,
}

/// A lead, its fuse, and what flows in it.
pub(super) struct LeadFacts<'a> {
    pub about: About,
    pub role: Role,
    pub wire: Option<&'a Wire>,
    pub fuse: Option<&'a Fuse>,
    /// What somebody has said of its fuse.
    pub said: Option<&'a Fused>,
    /// Whether it begins at the battery, which feeds any fault in it.
    pub from_battery: bool,
    /// Place among the outlet groups, for the lead of one.
    pub group: Option<usize>,
    /// Highest current, A.
    pub peak_a: f64,
    /// Highest root mean square over a tier, A.
    pub rms_a: f64,
    /// The least resistance between the battery and this lead, ohm: what flows into a fault depends on it.
    pub before_ohm: f64,
    /// Highest volts on it, V; infinite where nobody knows.
    pub highest_v: f64,
}

impl<'a> Ground<'a> {
    /// The leads of the station, from the panels to the outlets.
    pub fn leads(&self) -> Vec<LeadFacts<'a>> {
        let scenario = self.scenario;
        let mut found = Vec::new();
        for (name, array) in &scenario.arrays {
            let current_a = array.datasheet.map_or(0.0, |it| it.imp_a * parallel(array));
            let about = About::new(format!("array “{name}”"), format!("arrays.{name}.lead"));
            let highest_v = disconnect_v(self, array).unwrap_or(f64::INFINITY);
            let lead = array.lead.as_ref();
            found.push(LeadFacts::steady(about, Role::Panels, lead, current_a, highest_v));
        }
        for (name, it) in &scenario.controllers {
            let path = format!("controllers.{name}.{}.lead", it.word());
            let about = About::new(format!("controller “{name}”"), path);
            found.push(LeadFacts::steady(
                about,
                Role::Charger,
                it.lead(),
                it.output_limit_a(),
                self.highest_v,
            ));
        }
        let supply = scenario.supply.as_ref().map(|it| {
            let joined = it.charger.is_some() || it.joins == Joins::Bus;
            ("supply", it.lead.as_ref(), it.limit_a, joined)
        });
        let vehicle =
            scenario.vehicle.as_ref().map(|it| ("vehicle", it.lead.as_ref(), it.limit_a, true));
        for (name, lead, limit_a, joined) in supply.into_iter().chain(vehicle) {
            let about = About::new(name, format!("{name}.lead"));
            let facts = LeadFacts::steady(about, Role::Charger, lead, limit_a, self.highest_v);
            found.push(LeadFacts { from_battery: joined, ..facts });
        }
        let feed = scenario.main_feed.as_ref();
        found.push(LeadFacts {
            about: About::new("main feed", "main_feed"),
            role: Role::Main,
            wire: feed.and_then(|it| it.wire.as_ref()),
            fuse: feed.and_then(|it| it.fuse.as_ref()).and_then(Fused::fuse),
            said: feed.and_then(|it| it.fuse.as_ref()),
            from_battery: true,
            group: None,
            peak_a: self.peak_a(None, Keyed::Every).0,
            rms_a: self.rms_a(None),
            before_ohm: 0.0,
            highest_v: self.highest_v,
        });
        for (at, (name, group)) in scenario.outlet_groups.iter().enumerate() {
            found.push(LeadFacts {
                about: About::new(format!("group “{name}”"), format!("outlet_groups.{name}")),
                role: if self.has_radio(at) { Role::Radio } else { Role::Other },
                wire: group.wire.as_ref(),
                fuse: group.fuse.as_ref().and_then(Fused::fuse),
                said: group.fuse.as_ref(),
                from_battery: false,
                group: Some(at),
                peak_a: self.peak_a(Some(at), Keyed::Every).0,
                rms_a: self.rms_a(Some(at)),
                before_ohm: self.main_fault_ohm(),
                highest_v: self.highest_v,
            });
        }
        found
    }
}

impl<'a> LeadFacts<'a> {
    fn steady(
        about: About,
        role: Role,
        lead: Option<&'a Lead>,
        current_a: f64,
        highest_v: f64,
    ) -> Self {
        Self {
            about,
            role,
            wire: lead.and_then(|it| it.wire.as_ref()),
            fuse: lead.and_then(|it| it.fuse.as_ref()).and_then(Fused::fuse),
            said: lead.and_then(|it| it.fuse.as_ref()),
            from_battery: role == Role::Charger,
            group: None,
            peak_a: current_a,
            rms_a: current_a,
            before_ohm: 0.0,
            highest_v,
        }
    }

    /// The same, for a lead that differs from it.
    pub fn copied(&self) -> Self {
        Self { about: self.about.clone(), ..*self }
    }

    /// Resistance of the lead, there and back, ohm.
    pub fn ohm(&self) -> f64 {
        self.wire.map_or(0.0, loop_ohm)
    }
}

/// Strings of panels side by side.
pub(super) fn parallel(array: &Array) -> f64 {
    let in_series = array.datasheet.map_or(1, |it| it.in_series.max(1));
    f64::from(array.count) / f64::from(in_series)
}
