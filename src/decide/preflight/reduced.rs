//! A linear transmitter at reduced power draws more than its share: `I = I_q + (I_full - I_q)
//! sqrt(P / P_full)`.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::Ground;
use crate::scenario::loads::{Draw, TierLoad};
use crate::station::draw::drawn;

const LAW: &str =
    "I = Iq + (Imax - Iq) sqrt(P / Pmax), class AB; an amateur measurement of 2009 agrees";

pub(super) fn reduced_power(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    for (name, load) in &ground.scenario.loads {
        let Draw::Envelope { full_a, power_share, .. } = &load.draw else { continue };
        let about = About::new(format!("load “{name}”"), format!("loads.{name}.draw.envelope"));
        let mut told: Vec<f64> = Vec::new();
        let tiers = ground.scenario.tiers.iter().filter_map(|tier| {
            let share = tier.loads.get(name)?.power_share.unwrap_or(*power_share);
            Some((share, tier.name.as_str()))
        });
        for (share, tier) in tiers {
            if share >= 1.0 || told.contains(&share) {
                continue;
            }
            told.push(share);
            let in_tier = TierLoad { power_share: Some(share), ..TierLoad::default() };
            let peak_a = drawn(&load.draw, load.transmit_share, &in_tier).transmit.current_peak_a;
            let of_full = peak_a / full_a;
            let sentence = format!(
                "In tier “{tier}” it gives {} of its power and still draws {} A at the peak, {} of the \
                 {} A of full power.",
                percent(share),
                num(peak_a, 1),
                percent(of_full),
                num(*full_a, 1)
            );
            let finding =
                Finding::new(Subject::ReducedPower, &about, "current at less power", sentence, LAW)
                    .value(of_full, "share");
            found.push(finding.severity(Severity::Note));
        }
    }
}
