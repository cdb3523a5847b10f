//! Cautions: where all this can hurt somebody.

use super::material::Material;
use super::section::{Point, Section};
use crate::scenario::battery::Battery;

/// What comes before anything that is said here.
const FIRST: &str = "This is a calculation, and a calculation never wired anything. Local codes, the \
    makers' instructions and people licensed for the work come before anything said here.";

/// Cautions that every station needs: words that stand out, and the rest.
pub const GENERAL: [(&str, &str); 8] = [
    (
        "A battery can feed thousands of amperes into a slipped spanner.",
        "Take off rings and watches. Put a fuse on every positive lead, at the battery, before anything \
         else; it must be able to break what the battery can feed, not only to carry the load, and it \
         protects the thinnest wire behind it. A larger fuse is no cure for one that blows.",
    ),
    (
        "Direct current does not go out by itself.",
        "Use fuses, breakers and switches marked for direct current at the volts they will see.",
    ),
    (
        "Fixed mains wiring is work for licensed people.",
        "That includes transfer switches and inlets. Never feed a house through one of its outlets: it \
         can kill somebody who mends the line.",
    ),
    (
        "Engines run outdoors only",
        ", well away from doors, windows and vents (6 m is a common rule), dry, exhaust pointing away. \
         Carbon monoxide has no smell; fit alarms where people sleep. Stop and let it cool before \
         refuelling.",
    ),
    (
        "Panels are live whenever they are lit.",
        "Long strings are a shock hazard, and a connector pulled under load can hold an arc. Cover the \
         panel or open its isolator first.",
    ),
    (
        "Bond the antenna mast and the feed-line arrester to the one earth of the building.",
        "Disconnect when thunder is about, and stay away.",
    ),
    (
        "More transmitting means more exposure.",
        "Check the distances that your power, antenna and mode ask for.",
    ),
    (
        "The model is no proof.",
        "Weather, outages and batteries will be worse than what you typed in. Keep a margin, a second \
         source and a meter, and run the whole chain on battery for the whole planned time before \
         anybody depends on it.",
    ),
];

/// For lithium cells.
pub const LITHIUM: (&str, &str) = (
    "Lithium cells below freezing must not be charged.",
    "It plates metal inside them: lost capacity, perhaps an internal short. Do not charge packs that are \
     damaged, swollen, wet or of unknown past, nor where people sleep.",
);

/// For lead-acid cells.
pub const LEAD_ACID: (&str, &str) = (
    "Lead-acid batteries give off hydrogen on charge.",
    "Ventilate high and low; no sparks, no sealed boxes.",
);

/// Tells the section.
#[must_use]
pub fn cautions(it: &Material) -> Section {
    let mut section = Section::new("cautions", "Cautions");
    section.prose(FIRST);
    let of_the_battery = match it.scenario.battery {
        Battery::LithiumIronPhosphate(_) => vec![LITHIUM],
        Battery::LeadAcid(_) => vec![LEAD_ACID],
        Battery::Ideal(_) => vec![LITHIUM, LEAD_ACID],
    };
    let all = GENERAL.iter().take(2).copied().chain(of_the_battery);
    let all = all.chain(GENERAL.iter().skip(2).copied());
    section.points(all.map(|(strong, text)| Point::new(strong, text)).collect());
    section
}
