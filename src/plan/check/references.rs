//! Names: each must be borne by a part, and each part should be named by something.

use super::Check;
use crate::scenario::Scenario;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, likely, list_of};
use crate::scenario::schedule::{Attended, Grid, SupplyRule};
use crate::scenario::watch::OffWatch;
use crate::warning::Kind;

/// What a name is the name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Array,
    Window,
    Controller,
    OutletGroup,
    Load,
    Tier,
    Strategy,
}

impl Part {
    /// The word for it in a sentence.
    fn word(self) -> &'static str {
        match self {
            Self::Array => "array",
            Self::Window => "window",
            Self::Controller => "controller",
            Self::OutletGroup => "outlet group",
            Self::Load => "load",
            Self::Tier => "tier",
            Self::Strategy => "strategy",
        }
    }

    /// The key of the file under which such parts stand.
    fn home(self) -> &'static str {
        match self {
            Self::Array => "arrays",
            Self::Window => "windows",
            Self::Controller => "controllers",
            Self::OutletGroup => "outlet_groups",
            Self::Load => "loads",
            Self::Tier => "tiers",
            Self::Strategy => "strategies",
        }
    }

    /// The names that there are.
    fn names(self, scenario: &Scenario) -> Vec<&str> {
        match self {
            Self::Array => scenario.arrays.keys().map(String::as_str).collect(),
            Self::Window => scenario.windows.keys().map(String::as_str).collect(),
            Self::Controller => scenario.controllers.keys().map(String::as_str).collect(),
            Self::OutletGroup => scenario.outlet_groups.keys().map(String::as_str).collect(),
            Self::Load => scenario.loads.keys().map(String::as_str).collect(),
            Self::Tier => scenario.tiers.iter().map(|tier| tier.name.as_str()).collect(),
            Self::Strategy => scenario.strategies.keys().map(String::as_str).collect(),
        }
    }
}

/// A place that names a part.
struct Reference<'a> {
    path: JsonPath,
    part: Part,
    name: &'a str,
    /// Whether the name is a key of the file rather than a value.
    is_key: bool,
}

/// Collects every place that names a part.
struct Book<'a>(Vec<Reference<'a>>);

impl<'a> Book<'a> {
    fn value(&mut self, path: JsonPath, part: Part, name: &'a str) {
        self.0.push(Reference { path, part, name, is_key: false });
    }

    fn maybe_window(&mut self, path: JsonPath, name: Option<&'a String>) {
        if let Some(name) = name {
            self.value(path, Part::Window, name);
        }
    }

    fn rule(&mut self, path: &JsonPath, rule: &'a SupplyRule) {
        match rule {
            SupplyRule::Windows { r#in: names } => {
                for (index, name) in names.iter().enumerate() {
                    self.value(path.key("windows").key("in").index(index), Part::Window, name);
                }
            }
            SupplyRule::Warned { otherwise, .. } => {
                self.rule(&path.key("warned").key("otherwise"), otherwise);
            }
            SupplyRule::Always | SupplyRule::Never | SupplyRule::TopUp { .. } => {}
        }
    }

    fn of(scenario: &'a Scenario) -> Self {
        let mut book = Self(Vec::new());
        if let Attended::In(name) = &scenario.attended {
            book.value(JsonPath::keys(&["attended", "in"]), Part::Window, name);
        }
        if let Grid::Pattern(pattern) = &scenario.grid {
            for (index, name) in pattern.off_in.iter().enumerate() {
                let path = JsonPath::keys(&["grid", "pattern", "off_in"]).index(index);
                book.value(path, Part::Window, name);
            }
        }
        for (name, array) in &scenario.arrays {
            let path = JsonPath::keys(&["arrays", name]);
            book.value(path.key("controller"), Part::Controller, &array.controller);
            book.maybe_window(path.key("deployed"), array.deployed.as_ref());
            book.maybe_window(path.key("stowed"), array.stowed.as_ref());
        }
        for (name, controller) in &scenario.controllers {
            let path = JsonPath::keys(&["controllers", name, controller.word(), "off_in"]);
            book.maybe_window(path, controller.off_in());
        }
        if let Some(supply) = &scenario.supply {
            book.maybe_window(JsonPath::keys(&["supply", "off_in"]), supply.off_in.as_ref());
        }
        if let Some(generator) = &scenario.generator {
            let path = JsonPath::keys(&["generator", "allowed"]);
            book.maybe_window(path, generator.allowed.as_ref());
        }
        if let Some(vehicle) = &scenario.vehicle {
            book.value(JsonPath::keys(&["vehicle", "connected"]), Part::Window, &vehicle.connected);
        }
        for (name, load) in &scenario.loads {
            let path = JsonPath::keys(&["loads", name]);
            book.value(path.key("group"), Part::OutletGroup, &load.group);
            book.maybe_window(path.key("when"), load.when.as_ref());
        }
        for (index, tier) in scenario.tiers.iter().enumerate() {
            for (name, load) in &tier.loads {
                let path = JsonPath::keys(&["tiers"]).index(index).key("loads").key(name);
                book.maybe_window(path.key("when"), load.when.as_ref());
                book.0.push(Reference { path, part: Part::Load, name, is_key: true });
            }
        }
        let shedding = scenario.shedding.as_ref();
        if let Some(name) = shedding.and_then(|shedding| shedding.tier_without_mains.as_ref()) {
            book.value(JsonPath::keys(&["shedding", "tier_without_mains"]), Part::Tier, name);
        }
        if let Some(watch) = &scenario.watch {
            for (index, name) in watch.r#in.iter().enumerate() {
                let path = JsonPath::keys(&["watch", "in"]).index(index);
                book.value(path, Part::Window, name);
            }
            if let OffWatch::Tier(name) = &watch.off_watch {
                book.value(JsonPath::keys(&["watch", "off_watch", "tier"]), Part::Tier, name);
            }
        }
        book.value(JsonPath::keys(&["strategy"]), Part::Strategy, &scenario.strategy);
        for (name, strategy) in &scenario.strategies {
            book.rule(&JsonPath::keys(&["strategies", name, "supply"]), &strategy.supply);
        }
        let choices = scenario.sizing.as_ref();
        if let Some(panels) = choices.and_then(|choices| choices.panels.as_ref()) {
            let path = JsonPath::keys(&["sizing", "panels", "array"]);
            book.value(path, Part::Array, &panels.array);
        }
        let target = choices.and_then(|choices| choices.target.as_ref());
        if let Some(name) = target.and_then(|target| target.lowest_tier.as_ref()) {
            book.value(JsonPath::keys(&["sizing", "target", "lowest_tier"]), Part::Tier, name);
        }
        book
    }
}

impl Check<'_> {
    /// Every name must be borne by a part.
    pub(super) fn references(&mut self) {
        for reference in Book::of(self.scenario).0 {
            let Reference { path, part, name, is_key } = reference;
            let names = part.names(self.scenario);
            if names.contains(&name) {
                continue;
            }
            let text = format!("there is no {} called `{name}`", part.word());
            let problem = Problem::new(ProblemKind::UnknownName, &text);
            let label = match likely(name, names.iter().copied()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("not under `{}`", part.home()),
            };
            let problem = if is_key {
                problem.at_key(self.spans, &path, &label)
            } else {
                problem.at(self.spans, &path, &label)
            };
            self.found(match list_of(names.iter().copied()) {
                list if list.is_empty() => {
                    problem.hint(&format!("The file has nothing under `{}` yet.", part.home()))
                }
                list => problem.allowed(&list),
            });
        }
    }

    /// Every part should be named by something.
    pub(super) fn unused(&mut self) {
        let book = Book::of(self.scenario);
        for part in [Part::Window, Part::Controller, Part::OutletGroup, Part::Load] {
            let names = part.names(self.scenario);
            if book.0.iter().any(|it| it.part == part && !names.contains(&it.name)) {
                continue; // a misspelt name is told already, and would use one of these
            }
            for name in names {
                let used = book.0.iter().any(|it| it.part == part && it.name == name);
                if !used {
                    let by = match part {
                        Part::Controller => "no array feeds it",
                        Part::OutletGroup => "no load is plugged into it",
                        Part::Load => "it is in no tier, so it is never on",
                        _ => "nothing names it",
                    };
                    let text = format!("The {} “{name}” does nothing: {by}.", part.word());
                    self.warn(Kind::Unused, &JsonPath::keys(&[part.home(), name]), text);
                }
            }
        }
    }
}
