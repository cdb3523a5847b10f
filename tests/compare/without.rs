//! Parts lost in turn, guesses moved.

use std::path::Path;

use longwatch::decide::contest::Play;
use longwatch::decide::without::guesses::inputs;
use longwatch::decide::without::parts::losses;
use longwatch::decide::without::{ByCharge, ToldBy, Without, stations, without};
use longwatch::scenario::Scenario;
use longwatch::show::without::{first_sentence, measure_sentence, without_table};
use longwatch::simulate::trials::Watch;
use serde_json::{Value, json};

use super::common::examined;
use super::support::bench_with;

/// A lamp that lives off its charger: no sun to speak of, and an outage of a day.
fn station() -> Value {
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": 24},
        "start": {"warmup_days": 5},
        "arrays": {"a": {"rated_w": 1.0}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4, "strings": 2,
            "capacity_ah": 25, "charge_limit_a": 20, "discharge_limit_a": 20,
            "basis": {"capacity_ah": "datasheet"}}},
        "controllers": {"a": {"mppt": {"output_limit_a": 20.0}}},
        "loads": {"lamp": {"basis": {"power_w": "guess"}}},
        "grid": {"outage": {"off": "2026-06-01T00:00", "hours": 24}},
        "supply": {"rated_v": 13.8, "limit_a": 10, "efficiency_share": 0.9,
            "joins": "charger_only", "charger": {"limit_a": 8, "set_points": {"absorption_v": 14.0}}},
        "strategies": {"none": {"supply": "always"}}
    }))
}

fn scenario(value: &Value) -> Scenario {
    examined(value).scenario.unwrap()
}

fn found(value: &Value) -> Without {
    let how = Play { seed: 1, trials: 40, ..Play::default() };
    without(&scenario(value), Path::new(""), &how, &Watch::default()).unwrap()
}

#[test]
fn every_part_that_is_used_is_lost_once() {
    let parts =
        |value: &Value| losses(&scenario(value)).into_iter().map(|it| it.part).collect::<Vec<_>>();
    assert_eq!(
        parts(&station()),
        [
            "array \"a\" or its controller",
            "one of 2 battery strings",
            "charger behind the supply",
            "operator who comes"
        ]
    );
    let mut solar = station();
    solar["strategies"]["none"]["supply"] = json!("never");
    assert!(!parts(&solar).contains(&"charger behind the supply".to_owned()));
    let mut two = station();
    two["arrays"]["b"] = two["arrays"]["a"].clone();
    two["attended"] = json!("never");
    assert_eq!(
        parts(&two),
        [
            "array \"a\"",
            "array \"b\"",
            "controller \"a\"",
            "one of 2 battery strings",
            "charger behind the supply"
        ]
    );
}

#[test]
fn the_part_whose_loss_hurts_most_comes_first() {
    // 640 Wh carry a lamp of 10 W through the day; the charger has filled them, one string of 320 Wh
    // still carries 240 Wh, and without the charger the battery is empty when the mains fails.
    let found = found(&station());
    assert_eq!(found.whole.lasted, 40);
    assert_eq!(found.lost[0].part, "charger behind the supply");
    assert_eq!((found.lost[0].carried.lasted, found.lost[0].pair.only_a), (0, 40));
    assert!(found.lost[0].pair.enough_trials);
    assert!(found.lost.iter().skip(1).all(|it| it.pair.only_b == 0));
    let said = first_sentence(&found);
    assert!(
        said.ends_with("a missing charger behind the supply hurts most: 40 of those fail."),
        "{said}"
    );
    let text = without_table(&found);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn guesses_nameplates_and_uncertain_inputs_are_moved() {
    let mut value = station();
    value["uncertain"] = json!({"load_multiplier": {"uniform": [0.5, 3.0]}});
    let scenario = scenario(&value);
    let (all, not_moved) = inputs(&scenario);
    assert!(not_moved.is_empty(), "{not_moved:?}");
    let told: Vec<String> =
        all.iter().map(|it| format!("{} {} {}", it.path, it.ends[0], it.ends[1])).collect();
    assert_eq!(
        told,
        [
            "loads.lamp.power_w 8 12",
            "battery capacity (rated) x 0.65 x 1.05",
            "uncertain.load_multiplier x 0.5 x 3"
        ]
    );
    assert_eq!(stations(&scenario), 1 + 4 + 6);
    let found = found(&value);
    // Three times the load is more than the battery holds; nothing else matters as much.
    assert_eq!(found.swings[0].path, "uncertain.load_multiplier");
    assert_eq!((found.swings[0].low.lasted, found.swings[0].high.lasted), (40, 0));
    let said = measure_sentence(&found);
    assert!(
        said.starts_with(
            "Measure first: uncertain.load_multiplier. At x 0.5 the station survives 40, at x 3 0 of "
        ),
        "{said}"
    );
}

#[test]
fn guesses_of_lists_and_objects_move_as_a_whole() {
    let mut value = station();
    super::support::merge(
        &mut value,
        &json!({
            "arrays": {"a": {"loss_share": {"soiling": 0.02, "age": 0.04}, "count": 3,
                "basis": {"loss_share": "guess", "count": "guess", "pmax_per_c": "guess"}}},
            "loads": {"lamp": {"basis": null}}
        }),
    );
    let (all, not_moved) = inputs(&scenario(&value));
    assert_eq!(all[0].path, "arrays.a.loss_share");
    assert_eq!(all[0].ends, ["x 0.5", "x 1.5"]);
    assert_eq!(all[0].low.arrays["a"].loss_share["age"], 0.02);
    assert_eq!(all[0].high.arrays["a"].loss_share["soiling"], 0.03);
    assert_eq!(all[1].path, "arrays.a.pmax_per_c");
    assert_eq!(not_moved.len(), 1, "{not_moved:?}");
    assert!(not_moved[0].starts_with("arrays.a.count: "), "{not_moved:?}");
}

/// Where the count stands still at all or at none another measure ranks the guesses; the picture shows
/// that measure.
#[test]
fn guesses_are_ranked_where_the_count_stands_still() {
    // The battery carries the lamp through the day at either end of every guess.
    let it = found(&station());
    assert_eq!(it.whole.lasted, 40);
    assert!(it.swings.iter().all(|swing| swing.swing == 0), "{:?}", it.swings);
    assert_eq!(it.swings[0].told_by(), ToldBy::LowestCharge);
    assert!(
        it.swings.is_sorted_by(|a, b| a.lowest_charge_apart_share >= b.lowest_charge_apart_share)
    );
    let said = measure_sentence(&it);
    assert!(said.contains("no guess changes the count: 40 of 40"), "{said}");
    assert!(said.contains("By the lowest charge of 1 in 20"), "{said}");
    assert!(!said.contains("none has to be measured"), "{said}");
    let picture = longwatch::show::without::swings::swings(&it);
    assert!(picture.svg.contains("lowest charge of 1 in 20"));
    // A lamp that the panel feeds alone: the battery stays full whatever the guesses are.
    let mut value = station();
    value["grid"] = json!("always");
    value["strategies"]["none"]["supply"] = json!("never");
    value["loads"]["lamp"]["draw"]["power"]["power_w"] = json!(0.5);
    let it = found(&value);
    assert!(it.swings.iter().all(|swing| swing.told_by() == ToldBy::Nothing), "{:?}", it.swings);
    assert!(measure_sentence(&it).ends_with("all tie."), "{}", measure_sentence(&it));
    // Twenty times the load: no trial lasts, and the hours off the air tell the guesses apart.
    let mut value = station();
    value["loads"]["lamp"]["draw"]["power"]["power_w"] = json!(200.0);
    let it = found(&value);
    assert_eq!(it.whole.lasted, 0);
    assert_eq!(it.swings[0].told_by(), ToldBy::OffAir);
    assert!(it.swings[0].off_air_apart_h > 0.05, "{:?}", it.swings);
    let said = measure_sentence(&it);
    assert!(said.contains("By the mean hours off the air"), "{said}");
    let said = first_sentence(&it);
    assert!(said.contains("By the mean hours off the air"), "{said}");
    let text = without_table(&it);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

/// Two guesses that do the same are a tie and told as one.
#[test]
fn ties_are_named_as_ties() {
    let mut value = station();
    value["uncertain"] = json!({"load_multiplier": {"uniform": [0.5, 3.0]}});
    let mut it = found(&value);
    let first = it.swings[0].clone();
    it.swings.insert(1, longwatch::decide::without::Swing { path: "the other".into(), ..first });
    let said = measure_sentence(&it);
    assert!(
        said.starts_with(
            "Measure first: uncertain.load_multiplier and the other; these tie. At x 0.5"
        ),
        "{said}"
    );
    let text = without_table(&it);
    assert!(text.contains("\n= the other "), "{text}");
    // As many trials lost, for other hours: a tie all the same.
    let mut lost = it.lost[0].clone();
    lost.carried.off_air_h -= 1.0;
    it.lost.insert(1, longwatch::decide::without::Lost { part: "twin".into(), ..lost });
    let said = first_sentence(&it);
    assert!(said.contains("all alike: charger behind the supply and twin: 37"), "{said}");
}

/// A guess that costs trials at both ends is not one that moves nothing.
#[test]
fn ends_that_differ_the_same_way_are_apart() {
    let both = |low: u64, high: u64, swing: u64| {
        let mut value = station();
        value["uncertain"] = json!({"load_multiplier": {"uniform": [0.5, 3.0]}});
        let mut it = found(&value);
        it.swings.truncate(1);
        (it.swings[0].low.lasted, it.swings[0].high.lasted) = (low, high);
        it.swings[0].swing = swing;
        measure_sentence(&it)
    };
    let said = both(30, 30, 10);
    assert!(
        said.starts_with("Measure first: uncertain.load_multiplier. At x 0.5 and at x 3"),
        "{said}"
    );
    assert!(said.contains("survives 30, as stated 37 of 40"), "{said}");
}

/// Where a station sheds nothing nothing is shed sooner.
#[test]
fn what_comes_sooner_is_what_the_station_has() {
    let said = without_table(&found(&station())).replace("\n  ", " ");
    assert!(said.contains("Survive: survived only without the part. "), "{said}");
    let mut it = found(&station());
    it.by_charge = vec![ByCharge::Generator];
    let said = without_table(&it).replace("\n  ", " ");
    assert!(said.contains("with less charge the generator starts sooner"), "{said}");
    assert!(!said.contains("shed"), "{said}");
    let hall = examined(
        &serde_json::from_str(include_str!("../../scenarios/field-weekend.json")).unwrap(),
    );
    let hall = hall.scenario.unwrap();
    let has_generator = hall.generator.is_some();
    let how = Play { seed: 1, trials: 2, ..Play::default() };
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let it = without(&hall, &folder, &how, &Watch::default()).unwrap();
    assert_eq!(
        it.by_charge.contains(&ByCharge::Shedding),
        hall.shedding.is_some() && hall.tiers.len() > 1
    );
    assert!(has_generator || !it.by_charge.contains(&ByCharge::Generator));
}

#[test]
fn where_nothing_is_a_guess_it_is_said() {
    let mut value = station();
    super::support::merge(
        &mut value,
        &json!({"loads": {"lamp": {"basis": null}},
            "battery": {"lithium_iron_phosphate": {"basis": null}}}),
    );
    assert!(measure_sentence(&found(&value)).starts_with("No input is marked as a guess"));
}
