//! Comparisons of scenarios given as JSON.

use std::path::Path;

use longwatch::decide::compare::{Comparison, Contender, compare, contenders};
use longwatch::decide::contest::Play;
use longwatch::plan::check::{Examined, examine};
use longwatch::simulate::trials::Watch;
use serde_json::Value;

/// Reads and checks a scenario with its variants, as the program does.
pub fn examined(value: &Value) -> Examined {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios"));
    let examined = examine(&format!("{value:#}"), "test.json", folder);
    assert!(examined.problems.list.is_empty(), "{}", examined.problems.render(false));
    examined
}

/// All contenders of a scenario.
pub fn all(value: &Value) -> Vec<Contender> {
    let examined = examined(value);
    contenders(&examined.scenario.unwrap(), &examined.variants.scenarios, &[], &[])
}

/// Compares all strategies and variants.
pub fn compared(value: &Value, seed: u64, trials: u64) -> Comparison {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios"));
    let examined = examined(value);
    let how = Play { seed, trials, ..Play::default() };
    compare(&examined.scenario.unwrap(), &all(value), folder, &how, &Watch::default())
        .unwrap_or_else(|it| panic!("{it:?}"))
}
