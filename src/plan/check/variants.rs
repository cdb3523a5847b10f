//! Is every variant a good scenario? Each is merged, read and checked like a file of its own.
//!
//! What is wrong with the scenario itself is told once, there. A fault that a variant brings names
//! the variant, and the place in its patch, or the variant as a whole where the patch does not hold
//! what is wrong (it took away what another part needs).

use std::path::Path;

use serde_json::Value;

use super::{Examined, examine};
use crate::scenario::json_path::JsonPath;
use crate::scenario::patch::merged;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::spans::Spans;
use crate::scenario::{Named, Scenario};
use crate::sky::Sky;
use crate::warning::{Kind, Warning};

/// The key of variants.
const KEY: &str = "variants";

/// The variants of a scenario with everything that there is to say about them.
#[derive(Debug, Clone, Default)]
pub struct Variants {
    /// The good ones.
    pub scenarios: Named<Scenario>,
    /// What else there is of each of these.
    pub(super) besides: Named<Besides>,
    /// What is wrong with the others.
    pub problems: Vec<Problem>,
    /// What the reader should know of a variant besides what holds for the scenario itself.
    pub warnings: Vec<Warning>,
}

/// What a variant has besides its scenario.
#[derive(Debug, Clone)]
pub(super) struct Besides {
    /// Text of its measured series.
    pub(super) series: Option<String>,
    /// The sky of that.
    pub(super) sky: Option<Sky>,
    /// All that its reader should know.
    pub(super) warnings: Vec<Warning>,
}

/// Merges, reads and checks the variants of a text. `told` and `warned` are what is said about the
/// scenario without them.
pub(super) fn variants(
    spans: &Spans,
    base_dir: &Path,
    told: &[Problem],
    warned: &[Warning],
) -> Variants {
    let mut found = Variants::default();
    let Ok(Value::Object(mut base)) = serde_json::from_str(spans.text()) else { return found };
    let Some(Value::Object(patches)) = base.shift_remove(KEY) else { return found };
    let base = Value::Object(base);
    let strategies = base.get("strategies").and_then(Value::as_object);
    for (name, patch) in &patches {
        if strategies.is_some_and(|all| all.contains_key(name)) {
            let text = format!("`{name}` is the name of a strategy already");
            let problem = Problem::new(ProblemKind::DuplicateKey, &text)
                .at_key(spans, &JsonPath::keys(&[KEY, name]), "this variant")
                .at_key(spans, &JsonPath::keys(&["strategies", name]), "this strategy")
                .hint("Both are compared side by side: give one of them another name.");
            found.problems.push(problem);
        }
        let text = format!("{:#}", merged(&base, patch));
        let mut its = examine(&text, spans.file(), base_dir);
        let known =
            |it: &Problem| told.iter().any(|told| told.kind == it.kind && told.text == it.text);
        let fresh = std::mem::take(&mut its.problems.list).into_iter().filter(|it| !known(it));
        found.problems.extend(fresh.map(|it| placed(it, name, &its, spans)));
        let fresh = its.warnings.iter().filter(|it| {
            it.kind != Kind::Guess && !warned.iter().any(|known| known.text == it.text)
        });
        found.warnings.extend(fresh.map(|it| Warning {
            kind: it.kind,
            path: in_patch(name, &it.path, &its).to_string(),
            text: format!("Variant `{name}`: {}", it.text),
        }));
        let warnings = its.warnings.iter().map(|it| {
            let path = in_patch(name, &it.path, &its);
            let inside = !it.path.is_empty() && spans.place(&path).is_some();
            let path = if inside { path.to_string() } else { it.path.clone() };
            Warning { kind: it.kind, path, text: it.text.clone() }
        });
        let warnings = warnings.collect();
        if let Some(scenario) = its.scenario {
            found.scenarios.insert(name.clone(), scenario);
            let besides = Besides { series: its.series, sky: its.sky, warnings };
            found.besides.insert(name.clone(), besides);
        }
    }
    found
}

/// The place in the patch of a path in the merged scenario.
fn in_patch(name: &str, path: &str, its: &Examined) -> JsonPath {
    let top = JsonPath::keys(&[KEY, name]);
    let steps = its.spans.as_ref().map(|spans| spans.path_of(path));
    steps.iter().flat_map(|path| path.steps()).fold(top, |path, step| path.with(step.clone()))
}

/// A problem of the merged scenario, told at the patch that brings it.
fn placed(problem: Problem, name: &str, its: &Examined, spans: &Spans) -> Problem {
    let path = in_patch(name, &problem.path, its);
    let label = problem.marks.first().map_or("here", |mark| mark.label.as_str());
    let mut told = Problem::new(problem.kind, &format!("variant `{name}`: {}", problem.text));
    told = if spans.place(&path).is_some() {
        if problem.kind == ProblemKind::UnknownKey {
            told.at_key(spans, &path, label)
        } else {
            told.at(spans, &path, label)
        }
    } else {
        // What is wrong stands outside the patch, which makes it wrong.
        let variant = JsonPath::keys(&[KEY, name]);
        told.at_key(spans, &deepest(spans, &path, &variant), "this variant makes it so")
            .about(&path)
    };
    told.table = problem.table;
    told.meaning = problem.meaning;
    told.allowed = problem.allowed;
    told.hint = problem.hint;
    told
}

/// The longest beginning of a path that the file has, no shorter than `least`.
fn deepest(spans: &Spans, path: &JsonPath, least: &JsonPath) -> JsonPath {
    let mut found = least.clone();
    for step in &path.steps()[least.steps().len()..] {
        let next = found.with(step.clone());
        if spans.place(&next).is_none() {
            break;
        }
        found = next;
    }
    found
}
