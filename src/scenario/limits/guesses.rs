//! How far a guess may be off: a range for every number of the file, by what the number is.
//!
//! What has a row of its own in [`GUESSED`] follows that, the rest follows its unit
//! ([`GUESSED_BY_UNIT`]). The way to a number is that of the scenario's form; the names that people
//! give to parts never count. Where no source is named the range is judgement.

use super::super::json_path::{JsonPath, Step};
use super::{LIMITS, Limit};

/// How a guess is moved to the low and the high end of its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Range {
    /// Multiplied.
    Times(f64, f64),
    /// Added to, in the unit of the number.
    Plus(f64, f64),
    /// Not at all: it is counted, printed on the part, or a choice and no guess.
    Stays,
}

use Range::{Plus, Stays, Times};

/// A capacity on a label: a used battery holds 65 % of it at the low end, 5 % more at the high one.
pub const CAPACITY: Range = Times(0.65, 1.05);
const DOUBLE: Range = Times(0.5, 2.0);
const EFFICIENCY: Range = Plus(-0.05, 0.03);

/// Ranges of the numbers that do not follow their unit.
pub const GUESSED: &[(&str, Range)] = &[
    // A place is known to a degree from any map.
    ("site.latitude_deg", Plus(-1.0, 1.0)),
    ("site.longitude_deg", Plus(-1.0, 1.0)),
    ("site.elevation_m", Plus(-50.0, 50.0)),
    ("span.hours", Stays),
    ("span.step_min", Stays),
    ("start.warmup_days", Stays),
    ("sun.climate.persistence", Times(0.8, 1.2)),
    ("**.fixed", Times(0.8, 1.2)),
    ("**.uniform[]", Times(0.8, 1.2)),
    ("**.weibull.shape", Times(0.8, 1.2)),
    ("**.lognormal.log_sd", Times(0.8, 1.2)),
    ("**.geometric.end_chance", Times(0.5, 2.0)),
    ("storm.coupled.snow_chance", Plus(-0.2, 0.2)),
    ("warning.chance", Plus(-0.2, 0.2)),
    ("generator.fails_to_start_chance", Plus(-0.2, 0.2)),
    // Flash tests of makers allow some percent; what has stood in the sun for years gives less.
    ("arrays.*.rated_w", Times(0.9, 1.05)),
    ("arrays.*.loss_share.*", Times(0.5, 1.5)),
    ("arrays.*.datasheet.voc_v", Times(0.97, 1.03)),
    ("arrays.*.datasheet.vmp_v", Times(0.97, 1.03)),
    ("arrays.*.datasheet.isc_a", Times(0.95, 1.05)),
    ("arrays.*.datasheet.imp_a", Times(0.95, 1.05)),
    ("arrays.*.datasheet.series_fuse_a", Stays),
    ("controllers.*.mppt.efficiency_share", EFFICIENCY),
    ("supply.efficiency_share", EFFICIENCY),
    ("battery.lead_acid.charge_efficiency_share", EFFICIENCY),
    ("battery.lead_acid.full_efficiency_share", EFFICIENCY),
    ("battery.ideal.charge_efficiency_share", EFFICIENCY),
    ("battery.ideal.discharge_efficiency_share", EFFICIENCY),
    ("loads.*.draw.power.converter_efficiency_share", EFFICIENCY),
    ("battery.lithium_iron_phosphate.age_capacity_share", Plus(-0.10, 0.05)),
    ("battery.lead_acid.age_capacity_share", Plus(-0.10, 0.05)),
    // Volts of one cell: a quarter of those of a battery of four.
    ("battery.lithium_iron_phosphate.cell_cutoff_v", Plus(-0.05, 0.05)),
    ("battery.lithium_iron_phosphate.cell_reconnect_v", Plus(-0.05, 0.05)),
    ("battery.lithium_iron_phosphate.cell_overvoltage_v", Plus(-0.05, 0.05)),
    ("check_limits.bms_margin_cell_v", Plus(-0.05, 0.05)),
    ("battery.lead_acid.capacities[].discharge_h", Stays),
    ("battery.ideal.capacity_wh", CAPACITY),
    ("generator.fuel_l", Times(0.8, 1.2)),
    ("**.wire.one_way_m", Times(0.8, 1.2)),
    ("loads.*.transmit_share", Times(0.5, 1.5)),
    ("tiers[].loads.*.transmit_share", Times(0.5, 1.5)),
    ("loads.*.draw.envelope.power_share", Times(0.5, 1.5)),
    ("tiers[].worth_per_h", Stays),
];

/// Ranges by unit, for all other numbers.
pub const GUESSED_BY_UNIT: &[(&str, Range)] = &[
    // A pocket meter on its 20 V or 200 V range errs by 0.1 to 0.2 V at 13 V (1 % and some digits).
    ("V", Plus(-0.2, 0.2)),
    ("A", Times(0.8, 1.2)),
    ("W", Times(0.8, 1.2)),
    ("Ah", CAPACITY),
    ("Wh", Times(0.8, 1.2)),
    // Contacts and cells: what is read off a sheet doubles with age and cold, or is half of it new.
    ("ohm", DOUBLE),
    ("share", Times(0.8, 1.2)),
    ("share/month", DOUBLE),
    ("share/h", DOUBLE),
    ("share/K", Times(0.8, 1.2)),
    ("V/K", Times(0.8, 1.2)),
    ("deg C", Plus(-3.0, 3.0)),
    ("K", Plus(-3.0, 3.0)),
    ("deg", Plus(-10.0, 10.0)),
    ("kWh/m2", Times(0.9, 1.1)),
    ("W/m2", Times(0.9, 1.1)),
    ("h", DOUBLE),
    ("day", DOUBLE),
    ("min", DOUBLE),
    ("s", DOUBLE),
    ("1/month", DOUBLE),
    ("m", Times(0.8, 1.2)),
    // The next sizes of IEC 60228 lie at 0.6 to 1.7 times a size.
    ("mm2", Times(0.6, 1.7)),
    ("cm2", Times(0.5, 2.0)),
    ("l", Times(0.8, 1.2)),
    ("l/h", Times(0.8, 1.2)),
    ("1", Stays),
    ("AWG", Stays),
    ("year", Stays),
    ("kg", Stays),
    ("money", Stays),
    ("1/kWh", Stays),
    ("1/h", Stays),
];

/// A step of the way to a number as tables write it.
enum Written<'a> {
    Key(&'a str),
    AnyName,
    Each,
}

fn written(path: &str) -> Vec<Written<'_>> {
    let mut steps = Vec::new();
    for part in path.split('.') {
        let name = part.trim_end_matches("[]");
        steps.push(if name == "*" { Written::AnyName } else { Written::Key(name) });
        steps.extend((0..(part.len() - name.len()) / 2).map(|_| Written::Each));
    }
    steps
}

/// Whether a place of a scenario is one that a table's path speaks of.
#[must_use]
pub fn speaks_of(path: &str, place: &JsonPath) -> bool {
    let (end, anywhere) = match path.strip_prefix("**.") {
        Some(end) => (end, true),
        None => (path, false),
    };
    let written = written(end);
    let Some(before) = place.steps().len().checked_sub(written.len()) else { return false };
    (anywhere || before == 0)
        && place.steps()[before..].iter().zip(&written).all(|(step, written)| {
            match (step, written) {
                (Step::Key(key), Written::Key(name)) => key == name,
                (Step::Key(_), Written::AnyName) | (Step::Index(_), Written::Each) => true,
                _ => false,
            }
        })
}

/// The limit of the number at a place of a scenario.
#[must_use]
pub fn limit_of(place: &JsonPath) -> Option<&'static Limit> {
    LIMITS.iter().find(|limit| speaks_of(limit.path, place))
}

/// How far the number of a limit may be off if it is a guess.
#[must_use]
pub fn range_of(limit: &Limit) -> Range {
    let own = GUESSED.iter().find(|(path, _)| *path == limit.path);
    let range = own.or_else(|| GUESSED_BY_UNIT.iter().find(|(unit, _)| *unit == limit.unit));
    range.map_or(Stays, |(_, range)| *range)
}

impl Range {
    /// A number moved to the low and the high end, within its limit. Where that would be an end that
    /// the limit excludes, half the way is gone.
    #[must_use]
    pub fn ends(self, value: f64, limit: &Limit) -> [f64; 2] {
        let moved = match self {
            Times(low, high) => [value * low, value * high],
            Plus(low, high) => [value + low, value + high],
            Stays => return [value; 2],
        };
        // A compass has no ends.
        if limit.unit == "deg" && limit.below_max && limit.min <= 0.0 && limit.max >= 360.0 {
            return moved.map(|end| libm::fmod(end + limit.max, limit.max));
        }
        moved.map(|end| {
            if end < limit.min || (limit.above_min && end <= limit.min) {
                if limit.above_min { (value + limit.min) / 2.0 } else { limit.min }
            } else if end > limit.max || (limit.below_max && end >= limit.max) {
                if limit.below_max { (value + limit.max) / 2.0 } else { limit.max }
            } else {
                end
            }
        })
    }

    /// Both ends in words: `x 0.5`, `-0.2`.
    #[must_use]
    pub fn words(self) -> [String; 2] {
        match self {
            Times(low, high) => [low, high].map(|by| format!("x {by}")),
            Plus(low, high) => [format!("{low}"), format!("+{high}")],
            Stays => [String::new(), String::new()],
        }
    }
}
