//! Who is compared: strategies of the station as it stands, and its variants.

use serde::Serialize;

use crate::scenario::{Named, Scenario};

/// What a contender is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The station as it stands, under one of its strategies.
    Strategy,
    /// The station as a variant changes it, under the strategy in force there.
    Variant,
}

/// One of those compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Contender {
    /// Name of the strategy or variant.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// The station, its strategy in force.
    pub scenario: Scenario,
}

/// Who is compared: without a wish the strategy in force, the other strategies and all variants;
/// strategies asked for alone in their order; variants asked for beside those strategies, or beside
/// the strategy in force. Names that there are not are left out.
#[must_use]
pub fn contenders(
    scenario: &Scenario,
    variants: &Named<Scenario>,
    strategies_asked: &[String],
    variants_asked: &[String],
) -> Vec<Contender> {
    let in_force = std::slice::from_ref(&scenario.strategy);
    let others = || scenario.strategies.keys().filter(|name| **name != scenario.strategy).cloned();
    let (strategies, chosen): (Vec<String>, Vec<String>) = match (strategies_asked, variants_asked)
    {
        ([], []) => {
            let all = in_force.iter().cloned().chain(others()).collect();
            (all, variants.keys().cloned().collect())
        }
        ([], chosen) => (in_force.to_vec(), chosen.to_vec()),
        (strategies, chosen) => (strategies.to_vec(), chosen.to_vec()),
    };
    let mut all: Vec<Contender> = Vec::new();
    for name in strategies.iter().filter(|name| scenario.strategies.contains_key(*name)) {
        let mut under = scenario.clone();
        under.strategy.clone_from(name);
        all.push(Contender { name: name.clone(), kind: Kind::Strategy, scenario: under });
    }
    for (name, its) in chosen.iter().filter_map(|name| variants.get_key_value(name)) {
        all.push(Contender { name: name.clone(), kind: Kind::Variant, scenario: its.clone() });
    }
    // Asked for twice is asked for once.
    let mut kept: Vec<Contender> = Vec::with_capacity(all.len());
    for contender in all {
        if !kept.iter().any(|it| it.kind == contender.kind && it.name == contender.name) {
            kept.push(contender);
        }
    }
    kept
}
