//! The scenarios that come with the program.
#![allow(dead_code)]

use std::path::{Path, PathBuf};

use longwatch::plan::Plan;
use longwatch::plan::check::examine;
use longwatch::plan::compile::compile;
use longwatch::scenario::Scenario;
use longwatch::warning::Warning;

/// A shipped scenario.
#[derive(Debug, Clone)]
pub struct Shipped {
    /// File name without its ending.
    pub name: String,
    /// As read.
    pub scenario: Scenario,
    /// Text of its measured series.
    pub series: Option<String>,
    /// What the check warns of.
    pub warnings: Vec<Warning>,
}

impl Shipped {
    /// Compiles it with something changed.
    pub fn plan_with(&self, change: impl FnOnce(&mut Scenario)) -> Plan {
        let mut scenario = self.scenario.clone();
        change(&mut scenario);
        compile(&scenario, self.series.as_deref(), self.warnings.clone())
            .unwrap_or_else(|problems| panic!("{}: {problems:?}", self.name))
    }

    /// Compiles it with one of its strategies in force.
    pub fn plan(&self, strategy: &str) -> Plan {
        self.plan_with(|scenario| strategy.clone_into(&mut scenario.strategy))
    }

    /// Names of its strategies.
    pub fn strategies(&self) -> Vec<String> {
        self.scenario.strategies.keys().cloned().collect()
    }
}

/// Where they are.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios")
}

/// All of them, by name. Each must be without a problem.
pub fn shipped() -> Vec<Shipped> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|it| it == "json") && !is_club(path))
        .collect();
    paths.sort();
    assert!(paths.len() >= 3, "only {} shipped scenarios", paths.len());
    paths.iter().map(|path| read(path)).collect()
}

/// A file of a club holds several stations, and is no scenario itself.
pub fn is_club(path: &Path) -> bool {
    std::fs::read_to_string(path).unwrap().contains("\n  \"stations\": {")
}

/// One of them.
pub fn named(name: &str) -> Shipped {
    read(&folder().join(format!("{name}.json")))
}

fn read(path: &Path) -> Shipped {
    let text = std::fs::read_to_string(path).unwrap();
    let name = path.file_stem().unwrap().to_string_lossy().into_owned();
    let examined = examine(&text, &name, &folder());
    let problems = examined.problems.render(false);
    let scenario = examined.scenario.unwrap_or_else(|| panic!("{problems}"));
    Shipped { name, scenario, series: examined.series, warnings: examined.warnings }
}
