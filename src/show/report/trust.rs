//! The models behind a page: what each is, how far it is to be trusted, whom it follows.
//!
//! A test (`tests/report.rs`) holds every row against the head of its module: it must state its trust
//! in the same first word and name the same source.

use crate::scenario::Scenario;
use crate::scenario::battery::Battery;
use crate::scenario::outlook::Outlook;
use crate::scenario::schedule::Grid;
use crate::scenario::sources::Controller;
use crate::scenario::sun::{Storm, Sun};

/// One model.
pub struct Model {
    /// File whose head states it.
    pub module: &'static str,
    /// What it says, for people.
    pub what: &'static str,
    /// How far to trust it: `exact`, `checked` or `plausible`, and what else is to be known.
    pub trust: &'static str,
    /// Whom it follows: author and year.
    pub source: &'static str,
    /// Whether a scenario uses it.
    pub used: fn(&Scenario) -> bool,
}

fn always(_: &Scenario) -> bool {
    true
}
fn panels(it: &Scenario) -> bool {
    !it.arrays.is_empty()
}
fn climate(it: &Scenario) -> bool {
    panels(it) && matches!(it.sun, Sun::Climate(_))
}
fn outlook(it: &Scenario) -> bool {
    matches!(&it.sun, Sun::Climate(climate) if climate.outlook.as_ref().is_some_and(Outlook::tells))
}
fn by_the_sky(it: &Scenario) -> bool {
    panels(it) && !matches!(it.sun, Sun::Profile(_))
}
fn switching(it: &Scenario) -> bool {
    it.controllers.values().any(|controller| matches!(controller, Controller::Pwm(_)))
}
fn tracking(it: &Scenario) -> bool {
    it.controllers.values().any(|controller| matches!(controller, Controller::Mppt(_)))
}
fn lithium(it: &Scenario) -> bool {
    matches!(it.battery, Battery::LithiumIronPhosphate(_))
}
fn acid(it: &Scenario) -> bool {
    matches!(it.battery, Battery::LeadAcid(_))
}
fn ideal(it: &Scenario) -> bool {
    matches!(it.battery, Battery::Ideal(_))
}
fn snow(it: &Scenario) -> bool {
    let storms = matches!(&it.storm, Some(Storm::Coupled(storm)) if storm.snow_chance > 0.0);
    let told = matches!(&it.sun, Sun::Climate(climate) if climate.outlook.iter().any(|it| it.snow_dates().next().is_some()));
    panels(it) && (it.snow.is_some() || storms || told)
}
fn random_grid(it: &Scenario) -> bool {
    matches!(it.grid, Grid::Random(_))
}

/// Every model, in the order of the way from the sky to the loads.
pub const MODELS: [Model; 24] = [
    Model {
        module: "src/sky/position.rs",
        what: "Where the sun stands",
        trust: "checked",
        source: "Reda and Andreas, NREL/TP-560-34302 (2003, revised 2008)",
        used: by_the_sky,
    },
    Model {
        module: "src/sky/clearness.rs",
        what: "How clear days are spread around a month's mean",
        trust: "checked",
        source: "Bendt, Collares-Pereira and Rabl (1981); Hollands and Huget (1983)",
        used: climate,
    },
    Model {
        module: "src/sky/random_days.rs",
        what: "How days follow each other, and the air of dark days",
        trust: "checked (clearness), plausible (air)",
        source: "Graham, Hollands and Unny (1988); Bristow and Campbell (1984)",
        used: climate,
    },
    Model {
        module: "src/sky/outlook.rs",
        what: "What an outlook means",
        trust: "plausible",
        source: "judgement",
        used: outlook,
    },
    Model {
        module: "src/sky/split.rs",
        what: "Sunlight into beam and diffuse",
        trust: "checked (diffuse share), plausible (clear-sky beam)",
        source: "Erbs, Klein and Duffie (1982); Meinel (1976), from memory",
        used: by_the_sky,
    },
    Model {
        module: "src/sky/tilt.rs",
        what: "Light on a sloping panel",
        trust: "checked",
        source: "Hay and Davies (1980); Souka and Safwat (1966)",
        used: by_the_sky,
    },
    Model {
        module: "src/station/panel.rs",
        what: "What a panel makes of the light",
        trust: "checked",
        source: "Ross (1976); Huld and others (2011)",
        used: tracking,
    },
    Model {
        module: "src/station/switching.rs",
        what: "Panels held at battery volts",
        trust: "checked (against a full single-diode model; no measurement)",
        source: "De Soto, Klein and Beckman (2006)",
        used: switching,
    },
    Model {
        module: "src/station/snow.rs",
        what: "Snow on panels",
        trust: "the rule was fitted to roofs and racks over whole winters; a single hour may be far off",
        source: "Marion, Schaefer, Caine and Sanchez (2013)",
        used: snow,
    },
    Model {
        module: "src/station/battery/lithium.rs",
        what: "Lithium iron phosphate cells",
        trust: "checked (charging of a 45 Ah pack); volts under hard discharge in the cold are not modelled",
        source: "Sunil and others (2025); PyBaMM 26.10, set Prada2013",
        used: lithium,
    },
    Model {
        module: "src/station/battery/acid.rs",
        what: "Lead-acid cells",
        trust: "discharge checked; charging, and what the cold locks below the published tables, plausible",
        source: "Manwell and McGowan (1993)",
        used: acid,
    },
    Model {
        module: "src/station/battery/ideal.rs",
        what: "A battery of watt-hours and stated efficiencies",
        trust: "exact",
        source: "definition",
        used: ideal,
    },
    Model {
        module: "src/station/battery/register.rs",
        what: "Packs side by side",
        trust: "exact for packs of one kind",
        source: "definition",
        used: always,
    },
    Model {
        module: "src/station/ventilation.rs",
        what: "Air that charging lead-acid cells need",
        trust: "checked",
        source: "IEC 62485-2",
        used: acid,
    },
    Model {
        module: "src/station/wire.rs",
        what: "Copper leads",
        trust: "checked",
        source: "ASTM B258; IACS",
        used: always,
    },
    Model {
        module: "src/station/ampacity.rs",
        what: "Current that a wire carries without harm",
        trust: "checked",
        source: "33 CFR 183.425; NEC 310.15, from memory",
        used: always,
    },
    Model {
        module: "src/station/fuse.rs",
        what: "What fuses carry and break, and where they belong",
        trust: "checked; plausible for what flows into a short circuit that no datasheet states",
        source: "33 CFR 183.455; NEC 210.20 and 215.3",
        used: always,
    },
    Model {
        module: "src/station/converter.rs",
        what: "Converters whose current rises as the volts fall",
        trust: "checked",
        source: "definition",
        used: always,
    },
    Model {
        module: "src/station/load_states.rs",
        what: "What all loads draw together, and the volts that leaves",
        trust: "checked",
        source: "definition",
        used: always,
    },
    Model {
        module: "src/station/receive.rs",
        what: "Volts that tell the charge, for the card",
        trust: "as the curve of the battery; plausible for lead-acid just charged or drawn hard",
        source: "derived in its module",
        used: acid,
    },
    Model {
        module: "src/station/draw.rs",
        what: "Current of a transmitter while transmitting",
        trust: "plausible",
        source: "FCC OET 65 Supplement B (1997) for the signals",
        used: always,
    },
    Model {
        module: "src/simulate/step/mod.rs",
        what: "Battery, sources and loads on one bus, hour by hour",
        trust: "the closed forms are exact for the equations of the battery, but for two stated conventions",
        source: "derived in its module",
        used: always,
    },
    Model {
        module: "src/chance/outages.rs",
        what: "Mains that fails and comes back",
        trust: "checked",
        source: "Barlow and Proschan (1965); Cox (1962)",
        used: random_grid,
    },
    Model {
        module: "src/decide/odds/result.rs",
        what: "Shares of trials and their ranges",
        trust: "exact for the counts; the intervals are checked",
        source: "Wilson 1927; Clopper and Pearson 1934",
        used: always,
    },
];
