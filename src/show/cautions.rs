//! The words of the cautions: one line each for card and sheets, and what the report adds.

use crate::decide::cautions::Caution;

/// A caution in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// What card and sheets say.
    pub line: &'static str,
    /// What the report prints strong.
    pub strong: &'static str,
    /// What it says after that.
    pub more: &'static str,
}

/// The words of a caution.
#[must_use]
pub fn words(caution: Caution) -> Words {
    match caution {
        Caution::Poles => Words {
            line: "A tool or ring across the poles burns: rings off, minus off first. Put a fuse at every pack.",
            strong: "A tool or a ring across the poles of a battery burns and welds.",
            more: "Take off rings and watches. Disconnect the minus pole first, and connect it last. Put a \
                   fuse in every plus lead, at the battery. It must break what the battery can feed. It \
                   protects the thinnest wire behind it. A larger fuse is no cure for one that blows.",
        },
        Caution::Lithium => Words {
            line: "Never charge lithium cells below 0 \u{b0}C.",
            strong: "Lithium cells below freezing must not be charged.",
            more: "It plates metal inside them: lost capacity, perhaps an internal short. Do not charge packs \
                   that are damaged, swollen, wet or of unknown past, nor where people sleep.",
        },
        Caution::LeadAcid => Words {
            line: "Charging lead-acid makes hydrogen: let air in low and out high, no flames. Deep discharge \
                   ruins it.",
            strong: "Lead-acid batteries give off hydrogen on charge.",
            more: "Let air in low and out high; no sparks, no flames, no sealed boxes. The acid burns: protect \
                   your eyes. Deep discharge ruins the cells: recharge them soon after.",
        },
        Caution::SideBySide => Words {
            line: "Connect packs side by side only at equal kind and equal volts.",
            strong: "Connect packs side by side only at equal kind and equal volts.",
            more: "A full pack on an empty one drives hundreds of amperes through the lead between them. Put \
                   a fuse in each.",
        },
        Caution::HeavyPack => Words {
            line: "Two people lift a pack of more than 20 kg.",
            strong: "Two people lift a pack of more than 20 kg.",
            more: "One of the packs of this station is heavier.",
        },
        Caution::PackMassUnknown => Words {
            line: "Weigh the packs: two people lift one of more than 20 kg.",
            strong: "Weigh the packs: two people lift one of more than 20 kg.",
            more: "The file does not state the mass of every pack or string.",
        },
        Caution::Mains => Words {
            line: "Mains wiring is work for a licensed person.",
            strong: "Fixed mains wiring is work for a licensed person.",
            more: "That includes transfer switches and inlets. Never feed a house through one of its outlets: it \
                   can kill somebody who repairs the line.",
        },
        Caution::Exhaust => Words {
            line: "Exhaust kills: generators and vehicles run outdoors only, away from doors and windows. \
                   Let them cool before you refuel.",
            strong: "Exhaust kills: generators and vehicles run outdoors only.",
            more: "Keep them well away from doors, windows and vents (6 m is a common rule), dry, the exhaust \
                   pointing away. Carbon monoxide has no smell; fit alarms where people sleep. Stop the \
                   generator and let it cool before you refuel.",
        },
        Caution::Shock => Words {
            line: "This station has more than 60 V of direct current: it can shock. Do not touch bare parts.",
            strong: "This station has more than 60 V of direct current: it can shock.",
            more: "Do not touch bare parts; a licensed person works on them. A connector that you pull under \
                   load can hold an arc.",
        },
        Caution::VoltsUnknown => Words {
            line: "The file states no volts of the panels: above 60 V they can shock.",
            strong: "The file states no volts of the panels: above 60 V they can shock.",
            more: "Add up the open-circuit volts of the panels in series; cold adds up to a quarter. Above \
                   60 V nobody touches bare parts, and a licensed person works on them.",
        },
        Caution::Snow => Words {
            line: "Nobody climbs for snow in a storm, in the dark or on ice.",
            strong: "Nobody climbs in a storm, in the dark or on ice.",
            more: "No watt-hour is worth a fall. `longwatch without` shows what it costs if nobody clears the \
                   panels.",
        },
        Caution::Plan => Words {
            line: "No medical device or alarm may depend on this plan alone. Local codes and licensed people come first.",
            strong: "No medical device and no alarm may depend on this plan alone.",
            more: "The model is no proof: real weather, outages and batteries can be worse. Keep a margin, a \
                   second source and a meter. Run the whole station on battery for the whole planned time, \
                   before anybody depends on it.",
        },
    }
}

/// All cautions, in the order in which they are printed.
pub const ALL: [Caution; 12] = [
    Caution::Poles,
    Caution::Lithium,
    Caution::LeadAcid,
    Caution::SideBySide,
    Caution::HeavyPack,
    Caution::PackMassUnknown,
    Caution::Mains,
    Caution::Exhaust,
    Caution::Shock,
    Caution::VoltsUnknown,
    Caution::Snow,
    Caution::Plan,
];

/// What the report adds for every station: it is about more than the battery.
pub const EVERY_STATION: [(&str, &str); 4] = [
    (
        "Direct current does not go out by itself.",
        "Use fuses, breakers and switches marked for direct current at the volts they will see.",
    ),
    ("Panels are live whenever they are lit.", "Cover the panel or open its isolator first."),
    (
        "Bond the antenna mast and the feed-line arrester to the one earth of the building.",
        "Disconnect the antenna when thunder is near, and stay away from it.",
    ),
    (
        "More transmitting means more exposure.",
        "Check the distances for your power, antenna and mode.",
    ),
];
