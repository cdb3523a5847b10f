//! Who is compared, and in what words.

use longwatch::decide::compare::{Kind, contenders};
use longwatch::show::compare::{compare_table, first_sentence, rules_note, told_pairs};
use serde_json::{Value, json};

use super::common::{compared, examined};
use super::support::bench_with;

fn station() -> Value {
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": 24},
        "start": {"warmup_days": 5},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 480.0}},
        "grid": {"outage": {"off": "2026-06-01T00:00", "hours": 24}},
        "supply": {"rated_v": 13.8, "limit_a": 40, "efficiency_share": 0.9,
            "joins": "charger_only", "charger": {"limit_a": 30, "set_points": {"absorption_v": 14.0}}},
        "strategy": "solar only",
        "strategies": {"none": null, "charger on": {"supply": "always"}, "solar only": {"supply": "never"}},
        "variants": {"bigger": {"battery": {"ideal": {"capacity_wh": 5000.0}}},
            "on": {"strategy": "charger on"}}
    }))
}

fn names(value: &Value, strategies: &[&str], variants: &[&str]) -> Vec<(String, Kind)> {
    let examined = examined(value);
    let owned = |all: &[&str]| all.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>();
    contenders(
        &examined.scenario.unwrap(),
        &examined.variants.scenarios,
        &owned(strategies),
        &owned(variants),
    )
    .into_iter()
    .map(|it| (it.name, it.kind))
    .collect()
}

#[test]
fn wishes_choose_who_is_compared() {
    let of = |strategies: &[&str], variants: &[&str]| {
        let all = names(&station(), strategies, variants);
        all.into_iter().map(|(name, _)| name).collect::<Vec<_>>().join(", ")
    };
    assert_eq!(of(&[], &[]), "solar only, charger on, bigger, on");
    assert_eq!(of(&["charger on", "solar only"], &[]), "charger on, solar only");
    assert_eq!(of(&[], &["bigger"]), "solar only, bigger");
    assert_eq!(of(&["charger on"], &["on"]), "charger on, on");
    assert_eq!(of(&["charger on", "charger on"], &[]), "charger on");
    let all = names(&station(), &[], &[]);
    assert_eq!(all[1].1, Kind::Strategy);
    assert_eq!(all[2].1, Kind::Variant);
}

#[test]
fn a_variant_is_the_scenario_with_its_patch() {
    let examined = examined(&station());
    let base = examined.scenario.unwrap();
    let on = &examined.variants.scenarios["on"];
    assert_eq!(on.strategy, "charger on");
    assert!(on.variants.is_empty());
    assert_eq!(on.battery, base.battery);
    assert_eq!(on.strategies, base.strategies);
    assert_ne!(examined.variants.scenarios["bigger"].battery, base.battery);
}

#[test]
fn the_first_sentence_counts_what_one_carries_and_the_other_loses() {
    // Two days of battery: full with the charger on; empty after two of five days without.
    let found = compared(&station(), 1, 3);
    let said = first_sentence(&found);
    assert!(
        said.starts_with(
            "Of 3 simulated outages, 3 are survived only with \"charger on\", none only with \"solar only\"; \"charger on\" takes "
        ),
        "{said}"
    );
    assert!(said.contains("kWh more from the mains in a month without an outage."), "{said}");
    // Three trials that all go one way: luck alone does as much in one of four.
    assert!(said.ends_with("These trials are too few to call it better."), "{said}");
    assert!(rules_note(&found).is_none());
    let more = first_sentence(&compared(&station(), 1, 40));
    assert!(!more.contains("too few"), "{more}");
    for word in ["p-value", "McNemar", "interval", "significan", "probab", "%"] {
        assert!(!more.contains(word), "{more}");
    }
}

#[test]
fn people_are_told_strategies_among_themselves_and_variants_against_the_first() {
    let found = compared(&station(), 1, 3);
    assert_eq!(found.pairs.len(), 6);
    let told: Vec<String> =
        told_pairs(&found).iter().map(|pair| format!("{} | {}", pair.a, pair.b)).collect();
    assert_eq!(told, ["solar only | charger on", "solar only | bigger", "solar only | on"]);
    assert_eq!(found.pair(1, 3), found.pair(3, 1));
    let last = found.pair(2, 3).unwrap();
    assert_eq!((last.a.as_str(), last.b.as_str()), ("bigger", "on"));
    let text = compare_table(&found, "longwatch run x.json");
    let short = |line: &str| line.chars().count() <= 80 || line.contains("longwatch run");
    assert!(text.lines().all(short), "{text}");
    let look = text.lines().find(|line| line.contains("longwatch run")).unwrap();
    assert!(look.ends_with("longwatch run x.json --trial 0 --strategy \"solar only\""), "{look}");
}

#[test]
fn long_names_are_cut_in_their_middle() {
    use longwatch::show::compare::table::cut;
    assert_eq!(cut("solar only", 10), "solar only");
    assert_eq!(cut("loads.\"data set\".transmit_share", 24), "loads.\"da...ansmit_share");
    assert!(cut("a name that is long", 12).chars().count() <= 12);
    assert_eq!(cut("海辺の小屋の無線局", 10).chars().filter(|c| *c == '.').count(), 3);
}
