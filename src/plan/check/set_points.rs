//! Charging voltages: against the battery, against each other, against the devices on the bus.

use super::battery::BatteryVolts;
use super::{Check, num};
use crate::scenario::Scenario;
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::Load;
use crate::scenario::problem::{Problem, ProblemKind, list_of};
use crate::scenario::sources::{Controller, Joins, SetPoints};
use crate::warning::Kind;

/// A source below this charge at its highest set point is worth a word, share.
const WELL_FILLED_SHARE: f64 = 0.95;

/// Volts that a source holds.
#[derive(Debug, Clone)]
pub(super) struct SetPoint {
    pub path: JsonPath,
    pub volts: f64,
    /// Who holds it: `controller roof`, `charger`.
    pub whose: String,
    /// Whether something can be charged by it: panels are connected, or the mains.
    pub feeds: bool,
}

impl SetPoint {
    /// What it is, beside its mark.
    fn word(&self) -> &'static str {
        match self.path.last_key() {
            Some("absorption_v") => "its bulk set point",
            Some("float_v") => "its float set point",
            _ => "the volts it holds",
        }
    }
}

/// The charging voltages of a scenario, source by source.
pub(super) fn charges(scenario: &Scenario) -> Vec<(JsonPath, SetPoints, String, bool)> {
    let mut found = Vec::new();
    for (name, controller) in &scenario.controllers {
        let path = JsonPath::keys(&["controllers", name, controller.word(), "set_points"]);
        let feeds =
            scenario.arrays.values().any(|array| array.controller == *name && array.count > 0);
        found.push((path, *controller.set_points(), format!("controller `{name}`"), feeds));
    }
    if let Some(charger) = scenario.supply.as_ref().and_then(|supply| supply.charger.as_ref()) {
        let path = JsonPath::keys(&["supply", "charger", "set_points"]);
        found.push((path, charger.set_points, "the charger".to_owned(), true));
    }
    if let Some(vehicle) = &scenario.vehicle {
        let path = JsonPath::keys(&["vehicle", "set_points"]);
        found.push((path, vehicle.set_points, "the vehicle".to_owned(), true));
    }
    found
}

/// Every set point on the battery terminals.
pub(super) fn set_points(scenario: &Scenario) -> Vec<SetPoint> {
    let mut found = Vec::new();
    for (path, charge, whose, feeds) in charges(scenario) {
        let mut put = |key: &str, volts: Option<f64>| {
            if let Some(volts) = volts {
                found.push(SetPoint { path: path.key(key), volts, whose: whose.clone(), feeds });
            }
        };
        put("absorption_v", Some(charge.absorption_v));
        put("float_v", charge.float_v);
    }
    // A supply on the bus without a charger holds its own volts there.
    if let Some(supply) = scenario.supply.as_ref()
        && supply.joins == Joins::Bus
        && supply.charger.is_none()
    {
        found.push(SetPoint {
            path: JsonPath::keys(&["supply", "rated_v"]),
            volts: supply.rated_v,
            whose: "the supply".to_owned(),
            feeds: true,
        });
    }
    found
}

impl Check<'_> {
    pub(super) fn set_points(&mut self) {
        let battery = BatteryVolts::of(&self.scenario.battery);
        if !self.another_battery(&battery) {
            let mut refused: Vec<String> = Vec::new();
            for point in set_points(self.scenario) {
                // Once a source's bulk is refused its float adds nothing.
                if !refused.contains(&point.whose) && self.against_battery(&point, &battery) {
                    refused.push(point.whose);
                }
            }
        }
        for (path, charge, whose, feeds) in charges(self.scenario) {
            self.among_themselves(&path, &charge);
            let share = battery.charge_at_set_point(charge.absorption_v);
            if feeds && charge.absorption_v > battery.empty_v && share < WELL_FILLED_SHARE {
                let text = format!(
                    "With {} V {whose} fills this battery to {:.0} % only.",
                    num(charge.absorption_v),
                    100.0 * share
                );
                self.warn(Kind::Note, &path.key("absorption_v"), text);
            }
        }
        self.against_devices(&battery);
        self.clipping();
    }

    /// One problem when all that is on the bus is made for another battery.
    fn another_battery(&mut self, battery: &BatteryVolts) -> bool {
        let points = set_points(self.scenario);
        let Some(first) = points.first() else { return false };
        let Some(cells) = battery.cells.meant_for(first.volts) else { return false };
        let (nominal_v, meant_v) = (battery.nominal_v(), cells * battery.cells.nominal_v);
        let takes = |volts: f64| {
            volts > battery.empty_v && battery.highest_v.is_none_or(|most_v| volts <= most_v)
        };
        if points
            .iter()
            .any(|point| battery.cells.meant_for(point.volts) != Some(cells) || takes(point.volts))
        {
            return false;
        }
        self.another_battery = true;
        let text = format!(
            "the battery has {} V, and all that charges it is made for {} V",
            num(nominal_v),
            num(meant_v)
        );
        let mut problem = Problem::new(ProblemKind::Impossible, &text).at(
            self.spans,
            &battery.path,
            &battery.label,
        );
        for point in points.iter().filter(|point| point.path.last_key() != Some("float_v")) {
            problem = problem.at(
                self.spans,
                &point.path,
                &format!("{} charges to {} V", point.whose, num(point.volts)),
            );
        }
        let problem = problem.hint(&format!(
            "{} V are {} cells in series: mend the cells or the set points.",
            num(meant_v),
            num(cells)
        ));
        self.found(problem);
        true
    }

    /// True if the battery refuses the set point.
    fn against_battery(&mut self, point: &SetPoint, battery: &BatteryVolts) -> bool {
        let volts = num(point.volts);
        let nominal_v = battery.nominal_v();
        let meant_v = battery.cells.meant_for(point.volts).map(|it| it * battery.cells.nominal_v);
        let hint = meant_v.filter(|meant_v| *meant_v != nominal_v).map(|meant_v| {
            format!(
                "{volts} V charges a battery of {} V; this one has {} V.",
                num(meant_v),
                num(nominal_v)
            )
        });
        if let Some(highest_v) = battery.highest_v.filter(|highest| point.volts > highest + 1e-9) {
            let text =
                format!("{} would charge with {volts} V, more than the battery takes", point.whose);
            let problem = Problem::new(ProblemKind::Impossible, &text)
                .at(self.spans, &point.path, point.word())
                .at(self.spans, &battery.path, &battery.label)
                .allowed(&format!(
                    "at most {} V: {} V a cell",
                    num(highest_v),
                    num(battery.highest_cell_v)
                ));
            self.found(problem.maybe_hint(hint));
            true
        } else if point.volts <= battery.empty_v {
            let text = format!("{} can never charge the battery with {volts} V", point.whose);
            let problem = Problem::new(ProblemKind::Impossible, &text)
                .at(self.spans, &point.path, point.word())
                .at(self.spans, &battery.path, &battery.label)
                .allowed(&format!(
                    "above {} V, the volts of this battery when empty",
                    num(battery.empty_v)
                ));
            self.found(problem.maybe_hint(hint));
            true
        } else {
            false
        }
    }

    fn among_themselves(&mut self, path: &JsonPath, charge: &SetPoints) {
        let SetPoints { absorption_v, float_v, tail_a, recharge_below_v, .. } = *charge;
        match float_v {
            Some(float_v) if float_v > absorption_v => self.clash(
                "the float voltage is above the bulk voltage",
                (&path.key("float_v"), &format!("float at {} V", num(float_v))),
                (&path.key("absorption_v"), &format!("bulk at {} V", num(absorption_v))),
                "Float holds a full battery and is the lower of the two.",
            ),
            Some(_) if tail_a.is_none() => self.warn(
                Kind::Note,
                &path.key("float_v"),
                "`float_v` does nothing without `tail_a`: bulk never ends.",
            ),
            _ => {}
        }
        if let Some(recharge_below_v) = recharge_below_v {
            let float_v = float_v.unwrap_or(absorption_v);
            if recharge_below_v >= float_v {
                self.clash(
                    "bulk would begin again at once, on float",
                    (
                        &path.key("recharge_below_v"),
                        &format!("bulk again below {} V", num(recharge_below_v)),
                    ),
                    (
                        &path.key(if charge.float_v.is_some() {
                            "float_v"
                        } else {
                            "absorption_v"
                        }),
                        &format!("but {} V are held", num(float_v)),
                    ),
                    "Set `recharge_below_v` below the volts that are held.",
                );
            }
        }
        if charge.float_v.is_none() {
            for (key, given) in
                [("tail_a", tail_a.is_some()), ("recharge_below_v", recharge_below_v.is_some())]
            {
                if given {
                    let text = format!("`{key}` does nothing without `float_v`.");
                    self.warn(Kind::Note, &path.key(key), text);
                }
            }
        }
    }

    /// A set point above what a device takes would shut it down, or worse. One problem a source.
    fn against_devices(&mut self, battery: &BatteryVolts) {
        let scenario = self.scenario;
        let mut highest: Vec<SetPoint> = Vec::new();
        for point in set_points(scenario) {
            match highest.iter_mut().find(|known| known.whose == point.whose) {
                Some(known) if known.volts >= point.volts => {}
                Some(known) => *known = point,
                None => highest.push(point),
            }
        }
        // What the battery does not take either is told already.
        highest.retain(|point| battery.highest_v.is_none_or(|most_v| point.volts <= most_v));
        for point in highest {
            self.too_much_for_some(&point, |_| true);
        }
        if let Some(supply) = scenario.supply.as_ref().filter(|it| it.joins == Joins::Changeover) {
            let point = SetPoint {
                path: JsonPath::keys(&["supply", "rated_v"]),
                volts: supply.rated_v,
                whose: "the supply".to_owned(),
                feeds: true,
            };
            let groups = &scenario.outlet_groups;
            self.too_much_for_some(&point, |load| {
                groups.get(&load.group).is_some_and(|group| group.on_supply)
            });
        }
    }

    fn too_much_for_some(&mut self, point: &SetPoint, meets: impl Fn(&Load) -> bool) {
        let harmed: Vec<(&str, f64)> = self
            .scenario
            .loads
            .iter()
            .filter(|(_, load)| meets(load))
            .filter_map(|(name, load)| {
                let [least_v, most_v] = load.window_v?;
                (least_v < most_v && point.volts > most_v).then_some((name.as_str(), most_v))
            })
            .collect();
        let Some(lowest_v) = harmed.iter().map(|(_, most_v)| *most_v).reduce(f64::min) else {
            return;
        };
        let names = list_of(harmed.iter().map(|(name, _)| *name));
        let text = format!("{} holds {} V, too much for {names}", point.whose, num(point.volts));
        let mut problem =
            Problem::new(ProblemKind::Impossible, &text).at(self.spans, &point.path, point.word());
        for (name, most_v) in &harmed {
            let window = JsonPath::keys(&["loads", name, "window_v"]).index(1);
            problem = problem.at(
                self.spans,
                &window,
                &format!("`{name}` works up to {} V", num(*most_v)),
            );
        }
        let problem = problem.allowed(&format!("at most {} V, with these devices", num(lowest_v))).hint(
            "Above its window a device shuts down or is harmed: lower the set point, or feed it \
             through a converter.",
        );
        self.found(problem);
    }

    /// A controller whose output limit cuts what its arrays can give.
    fn clipping(&mut self) {
        for (name, controller) in &self.scenario.controllers {
            let Controller::Mppt(tracking) = controller else { continue };
            let rated_w: f64 = self
                .scenario
                .arrays
                .values()
                .filter(|array| array.controller == *name)
                .map(|array| array.rated_w * f64::from(array.count))
                .sum();
            let charge = tracking.set_points;
            let lowest_v = charge
                .float_v
                .map_or(charge.absorption_v, |float_v| float_v.min(charge.absorption_v));
            let most_w = tracking.output_limit_a * lowest_v;
            if rated_w * tracking.efficiency_share > most_w {
                let text = format!(
                    "At {} A and {} V the controller gives {} W, less than its panels’ {} W: bright hours are cut.",
                    num(tracking.output_limit_a),
                    num(lowest_v),
                    num(most_w.round()),
                    num(rated_w.round())
                );
                let path = JsonPath::keys(&["controllers", name, "mppt", "output_limit_a"]);
                self.warn(Kind::Clipping, &path, text);
            }
        }
    }
}
