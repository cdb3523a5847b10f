//! Does the station make sense? Every fault at once, in words.
//!
//! Lives here: what only shows when parts are seen together (names that nothing bears, set points
//! that a battery or a device does not take, times that the clock skips, tables that do not cover
//! the span), one file a topic. Does not live here: the form of the file and the range of single
//! numbers (`scenario::read`), and computing anything that a run computes.

mod battery;
mod card;
mod choices;
mod climate;
mod cold;
mod devices;
mod disconnect;
mod engine;
mod hands;
mod lead_acid;
mod loads;
mod measured;
mod past_tests;
mod random;
mod references;
mod schedule;
mod set_points;
mod sun;
mod supply;
mod switching;
mod tiers;
mod variants;
mod windows;

pub(super) use windows::dates_never_met;

use std::path::Path;

use super::compile::{CompileProblem, sky_of};
use crate::scenario::Scenario;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Mark, Problem, ProblemKind, Problems};
use crate::scenario::read::attempt;
use crate::scenario::spans::Spans;
use crate::sky::Sky;
use crate::warning::{Kind, Warning};

pub use measured::series_text;
pub use variants::Variants;

/// A scenario with everything that there is to say about it.
#[derive(Debug, Clone)]
pub struct Examined {
    /// The scenario, when there is no problem.
    pub scenario: Option<Scenario>,
    /// Where everything stands, when the text could be followed to its end.
    pub spans: Option<Spans>,
    /// Text of the measured series, when the scenario names one and there is no problem.
    pub series: Option<String>,
    /// The sky of that series, which reading it has brought about.
    pub sky: Option<Sky>,
    /// All problems, in the order of the file.
    pub problems: Problems,
    /// What the reader should know, in the order of the file.
    pub warnings: Vec<Warning>,
    /// Its variants; their problems are among those above.
    pub variants: Variants,
}

impl Examined {
    /// Takes the sky over the scenario: what the check has brought about is not done again.
    ///
    /// # Errors
    /// What is wrong with the scenario's clock, start or sun.
    pub fn take_sky(&mut self, scenario: &Scenario) -> Result<Sky, Vec<CompileProblem>> {
        match self.sky.take() {
            Some(sky) => Ok(sky),
            None => sky_of(scenario, self.series.as_deref()),
        }
    }

    /// Takes one of the variants in the place of the scenario, with all that is said of it; none is
    /// left beside it. Whether there is one of this name.
    pub fn take_variant(&mut self, name: &str) -> bool {
        let Variants { mut scenarios, mut besides, .. } = std::mem::take(&mut self.variants);
        let (Some(mut scenario), Some(its)) =
            (scenarios.shift_remove(name), besides.shift_remove(name))
        else {
            return false;
        };
        scenario.title = format!("{} ({name})", scenario.title);
        self.scenario = Some(scenario);
        self.series = its.series;
        self.sky = its.sky;
        self.warnings = its.warnings;
        true
    }
}

/// Reads and checks a scenario. `base_dir` is where the files that it names are looked for.
///
/// Form and sense are judged in one go wherever the form allows it.
#[must_use]
pub fn examine(text: &str, file_name: &str, base_dir: &Path) -> Examined {
    let reading = attempt(text, file_name);
    let mut problems = reading.problems;
    let mut warnings = Vec::new();
    let mut series = None;
    let mut sky = None;
    if let (Some(scenario), Some(spans)) = (&reading.scenario, &reading.spans) {
        let mut check = Check::new(scenario, spans, base_dir, problems.is_empty());
        check.everything();
        // A number that is out of range anyway need not be told that it fits nothing.
        let told = |mark: &Mark| {
            problems.iter().any(|known| known.marks.iter().any(|it| it.span == mark.span))
        };
        let about =
            |path: &str| problems.iter().any(|known| !path.is_empty() && known.path == path);
        warnings = check.warnings;
        warnings.retain(|warning| !about(&warning.path));
        let fresh: Vec<Problem> =
            check.problems.into_iter().filter(|problem| !problem.marks.iter().any(told)).collect();
        problems.extend(fresh);
        series = check.series;
        sky = check.sky;
    }
    let variants = match (&reading.scenario, &reading.spans) {
        (Some(scenario), Some(spans)) if !scenario.variants.is_empty() => {
            let mut its = variants::variants(spans, base_dir, &problems, &warnings);
            problems.append(&mut its.problems);
            its
        }
        _ => Variants::default(),
    };
    let text = reading.spans.as_ref().map_or(text, Spans::text);
    let good = problems.is_empty();
    Examined {
        scenario: reading.scenario.filter(|_| good),
        problems: Problems::new(file_name, text, problems),
        spans: reading.spans,
        series: series.filter(|_| good),
        sky: sky.filter(|_| good),
        warnings,
        variants,
    }
}

/// Checks a scenario whose form is good. `base_dir` is where the files that it names are looked
/// for.
#[must_use]
pub fn check(scenario: &Scenario, spans: &Spans, base_dir: &Path) -> (Vec<Problem>, Vec<Warning>) {
    let mut check = Check::new(scenario, spans, base_dir, true);
    check.everything();
    (check.problems, check.warnings)
}

/// What cannot be compiled, each with its place.
#[must_use]
pub fn not_compiled(problems: &[CompileProblem], spans: &Spans) -> Problems {
    let placed = problems.iter().map(|problem| {
        let path = spans.path_of(&problem.path);
        let found = Problem::new(ProblemKind::Impossible, &problem.text);
        if path.steps().is_empty() { found } else { found.at(spans, &path, "here") }
    });
    Problems::new(spans.file(), spans.text(), placed.collect())
}

/// A check under way.
struct Check<'a> {
    scenario: &'a Scenario,
    spans: &'a Spans,
    base_dir: &'a Path,
    /// Whether every number is within its range: costly checks wait for that.
    in_range: bool,
    series: Option<String>,
    sky: Option<Sky>,
    /// Whether all that charges is made for another battery: then nothing else fits it either.
    another_battery: bool,
    problems: Vec<Problem>,
    warnings: Vec<Warning>,
}

impl<'a> Check<'a> {
    fn new(scenario: &'a Scenario, spans: &'a Spans, base_dir: &'a Path, in_range: bool) -> Self {
        let (problems, warnings) = (Vec::new(), Vec::new());
        Self {
            scenario,
            spans,
            base_dir,
            in_range,
            series: None,
            sky: None,
            another_battery: false,
            problems,
            warnings,
        }
    }

    fn everything(&mut self) {
        self.references();
        self.schedule();
        self.longitude();
        self.windows();
        self.dates();
        self.sun();
        self.battery();
        self.set_points();
        self.compensation();
        self.set_points_in_the_cold();
        self.switching();
        self.supply();
        self.generator();
        self.vehicle();
        self.disconnect();
        self.devices();
        self.wires_that_eat_all();
        self.loads();
        self.tiers();
        self.unused();
        self.guesses();
        self.nameplate();
        self.hands();
        self.snow();
        self.random();
        self.past_tests();
        self.choices();
        let place =
            |warning: &Warning| self.spans.underline(&self.spans.path_of(&warning.path)).start;
        self.warnings.sort_by_key(place);
    }

    fn found(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// Two values that cannot go together: the first is what is wrong.
    fn clash(&mut self, text: &str, one: (&JsonPath, &str), other: (&JsonPath, &str), hint: &str) {
        let problem = Problem::new(ProblemKind::Impossible, text)
            .at(self.spans, one.0, one.1)
            .at(self.spans, other.0, other.1);
        self.found(if hint.is_empty() { problem } else { problem.hint(hint) });
    }

    fn warn(&mut self, kind: Kind, path: &JsonPath, text: impl Into<String>) {
        self.warnings.push(Warning { kind, path: path.to_string(), text: text.into() });
    }

    /// One warning for all numbers that are guesses.
    fn guesses(&mut self) {
        let guesses = guesses_below(self.spans.root(), &JsonPath::top());
        if guesses.is_empty() {
            return;
        }
        let names: Vec<String> = guesses.iter().map(ToString::to_string).collect();
        let text = match names.as_slice() {
            [one] => format!("One input is a guess: {one}."),
            many => format!("{} inputs are guesses: {}.", many.len(), many.join(", ")),
        };
        self.warn(Kind::Guess, &JsonPath::top(), text);
    }
}

/// Paths of the inputs whose basis is a guess.
fn guesses_below(node: &crate::scenario::spans::Node, path: &JsonPath) -> Vec<JsonPath> {
    use crate::scenario::spans::NodeKind;
    let mut found = Vec::new();
    match &node.kind {
        NodeKind::Object(members) => {
            // What variants say is theirs.
            let whole = path.steps().is_empty();
            for member in members.iter().filter(|it| !whole || it.key != "variants") {
                match &member.value.kind {
                    NodeKind::Object(entries) if member.key == "basis" => {
                        let guess = NodeKind::Text("guess".to_owned());
                        let guesses = entries.iter().filter(|entry| entry.value.kind == guess);
                        found.extend(guesses.map(|entry| path.key(&entry.key)));
                    }
                    _ => found.extend(guesses_below(&member.value, &path.key(&member.key))),
                }
            }
        }
        NodeKind::List(items) => {
            for (index, item) in items.iter().enumerate() {
                found.extend(guesses_below(item, &path.index(index)));
            }
        }
        _ => {}
    }
    found
}

/// A number as people write it: three decimals at most, no trailing zeros.
fn num(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
