//! From a path to a plan: what every command that simulates begins with.

use std::path::Path;

use super::{check, files};
use crate::error::Error;
use crate::plan::Plan;
use crate::plan::check::from_compiling;
use crate::plan::compile::compile_under;
use crate::scenario::Scenario;
use crate::scenario::problem::{Problems, likely, list_of, render_warnings};
use crate::scenario::spans::Spans;
use crate::sky::Sky;
use crate::station::battery::register;

/// A plan and what is needed to speak of the text it came from.
pub struct Loaded {
    /// The scenario, with the strategy in force.
    pub scenario: Scenario,
    /// The plan.
    pub plan: Plan,
    /// The same with less capacity, when that of the plan rests on a nameplate.
    pub doubted: Option<Plan>,
    /// Places in the scenario file.
    pub spans: Spans,
}

/// Reads, checks and compiles a scenario, with another of its strategies in force if one is named.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or has no such strategy.
pub fn load(path: &Path, strategy: Option<&str>) -> Result<Loaded, Error> {
    let mut examined = check::read(path)?;
    let (Some(mut scenario), Some(spans), true) =
        (examined.scenario.take(), examined.spans.take(), examined.problems.list.is_empty())
    else {
        return Err(Error::Scenario { rendered: examined.problems.render(true) });
    };
    if let Some(name) = strategy {
        if !scenario.strategies.contains_key(name) {
            return Err(Error::CommandLine(no_strategy(name, scenario.strategies.keys())));
        }
        name.clone_into(&mut scenario.strategy);
    }
    let compiled = examined.take_sky(&scenario).and_then(|sky| {
        let plan = compile_under(&sky, &scenario, std::mem::take(&mut examined.warnings))?;
        Ok((plan, doubted(&sky, &scenario)))
    });
    match compiled {
        Ok((plan, doubted)) => Ok(Loaded { scenario, plan, doubted, spans }),
        Err(problems) => {
            let list = problems.iter().map(|problem| from_compiling(problem, &spans)).collect();
            let problems = Problems::new(spans.file(), spans.text(), list);
            Err(Error::Scenario { rendered: problems.render(true) })
        }
    }
}

/// The plan with a share of the nameplate capacity.
fn doubted(sky: &Sky, scenario: &Scenario) -> Option<Plan> {
    if !register::rests_on_nameplate(&scenario.battery) {
        return None;
    }
    let mut less = scenario.clone();
    less.battery = register::at_share_of_nameplate(&scenario.battery, register::DOUBTED_SHARE);
    compile_under(sky, &less, Vec::new()).ok()
}

fn no_strategy<'n>(name: &str, known: impl Iterator<Item = &'n String> + Clone) -> String {
    let hint = likely(name, known.clone().map(String::as_str))
        .map_or_else(|| ".".to_owned(), |near| format!("; did you mean `{near}`?"));
    format!(
        "the scenario has no strategy `{name}`{hint} It has {}",
        list_of(known.map(String::as_str))
    )
}

impl Loaded {
    /// Tells people the warnings, on standard error.
    pub fn tell_warnings(&self) {
        files::tell(&render_warnings(&self.plan.warnings, &self.spans, true));
    }
}
