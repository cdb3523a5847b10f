//! Hours, energy and cycles of a comparison, worked by hand from stated rules.

use serde_json::{Value, json};

use super::common::compared;
use super::support::bench_with;

/// A lamp of 10 W that the supply carries while it is on, no sun; the mains fails with the span for a
/// day, in a storm of half a day.
fn shed_on_supply() -> Value {
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": 48},
        "start": {"warmup_days": 30},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 2400.0}},
        "grid": {"outage": {"off": "2026-06-01T00:00", "hours": 24}},
        "storm": {"coupled": {"lasts_days": 0.5, "clearness_multiplier": {"fixed": 0.5}}},
        "warning": {"chance": 1.0, "lead_time_h": 2},
        "windows": {"night": {"from": "00:00", "to": "06:00"}},
        "supply": {"rated_v": 13.8, "limit_a": 40, "efficiency_share": 0.5, "no_load_w": 2,
            "joins": "changeover", "charger": {"limit_a": 30, "set_points": {"absorption_v": 14.0}}},
        "outlet_groups": {"all": {"on_supply": true}},
        "strategy": "on",
        "strategies": {"none": null, "on": {"supply": "always"}, "off": {"supply": "never"},
            "nights": {"supply": {"windows": {"in": ["night"]}}},
            "warned": {"supply": {"warned": {"hold_h": 8, "otherwise": "never"}}},
            "charger": {"supply": "never", "switches": "charger"}},
        "prices": {"mains_per_kwh": 0.5, "currency": "EUR"}
    }))
}

fn near(found: f64, worked: f64) {
    assert!((found - worked).abs() < 1e-6 * worked.abs().max(1.0), "{found}, by hand {worked}");
}

#[test]
fn a_month_on_the_supply_is_its_load_over_its_efficiency() {
    let found = compared(&shed_on_supply(), 1, 4);
    let of = |name: &str| found.stations.iter().find(|it| it.name == name).unwrap();
    // 10 W over 0.5, and 2 W without load, for 720 h: 15.84 kWh, 7.92 EUR.
    let on = of("on").normal_month.unwrap();
    near(on.mains_kwh, 15.84);
    near(on.mains_cost.unwrap(), 7.92);
    near(on.cycles, 0.0);
    near(on.high_charge_h, 720.0);
    near(on.noise_h, 720.0);
    // Nothing feeds it: full on the first of its 60 days, empty after ten, so no cycle in the month.
    let off = of("off").normal_month.unwrap();
    near(off.mains_kwh, 0.0);
    near(off.cycles, 0.0);
    near(off.high_charge_h, 0.0);
    // 18 h of 10 W off the battery a day: 180 of 2400 Wh, 30 times.
    let nights = of("nights").normal_month.unwrap();
    near(nights.cycles, 30.0 * 180.0 / 2400.0);
    // Charged: 60 Wh into the loads at night, 180 Wh back into the battery, over 0.5; 6 h of 2 W.
    near(nights.mains_kwh, 30.0 * ((60.0 + 180.0) / 0.5 + 12.0) / 1000.0);
    near(nights.noise_h, 30.0 * 6.0);
    // The rule switches the charger alone: the supply carries its loads all month.
    near(of("charger").normal_month.unwrap().mains_kwh, 15.84);
}

#[test]
fn hours_of_the_span_are_those_of_its_rules() {
    let found = compared(&shed_on_supply(), 1, 4);
    let of = |name: &str| &found.stations.iter().find(|it| it.name == name).unwrap().in_span;
    // The storm lasts from 0 h to 12 h, the mains is away from 0 h to 24 h.
    near(of("on").plugged_in_storm_h, 12.0);
    near(of("off").plugged_in_storm_h, 0.0);
    near(of("nights").plugged_in_storm_h, 6.0);
    // Warned two hours before, held for eight.
    near(of("warned").plugged_in_storm_h, 6.0);
    near(of("charger").plugged_in_storm_h, 12.0);
    near(of("on").noise_h, 24.0);
    near(of("nights").noise_h, 6.0);
    near(of("warned").noise_h, 0.0);
    // Nothing waits for hands.
    near(of("on").attended_h, 0.0);
    let on = found.stations.iter().find(|it| it.name == "on").unwrap();
    near(on.start_charge_share.mean, 1.0);
    // A day of 10 W of 2400 Wh.
    near(on.lowest_charge_share.p50, 0.9);
    assert_eq!((on.lasted, on.failures), (4, 0));
    // Empty when the mains fails, and no way to be filled.
    let off = found.stations.iter().find(|it| it.name == "off").unwrap();
    near(off.start_charge_share.mean, 0.0);
    assert_eq!((off.lasted, off.failures), (0, 4));
    near(off.in_span.no_power_h, 48.0);
    near(off.in_span.off_air_h, 48.0);
}

#[test]
fn what_waits_for_hands_is_named_with_the_hours_of_those_who_come() {
    let mut station = shed_on_supply();
    super::support::merge(
        &mut station,
        &json!({
            "windows": {"day": {"from": "08:00", "to": "18:00"}},
            "attended": {"in": "day"},
            "strategies": {"by hand": {"supply": {"top_up": {"start_below_share": 0.4, "stop_above_share": 0.9}}}}
        }),
    );
    let found = compared(&station, 1, 2);
    let of = |name: &str| &found.stations.iter().find(|it| it.name == name).unwrap().in_span;
    assert_eq!(of("by hand").hands, ["top-up"]);
    near(of("by hand").attended_h, 20.0);
    assert!(of("on").hands.is_empty());

    // In the month only what is switched by hand asks for somebody. The lamp lives off the battery while
    // the supply is off: 240 Wh a day of 2400 Wh. What it lost below 0.4 comes back with the supply on,
    // which is never the whole month and never nothing.
    let month = |name: &str| {
        let it = found.stations.iter().find(|it| it.name == name).unwrap();
        (it.normal_month_by_hand_h.unwrap(), it.normal_month.unwrap().noise_h)
    };
    let (by_hand_h, noise_h) = month("by hand");
    near(by_hand_h, noise_h);
    assert!(by_hand_h > 0.0 && by_hand_h < 100.0, "{by_hand_h}");
    for name in ["on", "nights", "off", "charger"] {
        near(month(name).0, 0.0);
    }
}

/// Those that carry as many are named together, and what the text leaves out is said.
#[test]
fn ties_and_pairs_left_out_are_told() {
    let mut station = shed_on_supply();
    let lamp = json!({"loads": {"lamp": {"draw": {"power": {"power_w": 5}}}}});
    super::support::merge(
        &mut station,
        &json!({"strategy": "off", "variants": {
            "half the lamp": lamp.clone(), "half again": lamp,
            "full": {"strategies": {"off": {"supply": "always"}}},
            "full too": {"strategies": {"off": {"supply": "always"}}}}}),
    );
    station["strategies"] = json!({"off": {"supply": "never"}});
    let found = compared(&station, 1, 4);
    let text = longwatch::show::compare::compare_table(&found, "longwatch run");
    let told = longwatch::show::compare::told_pairs(&found).len();
    let said = format!("{told} of {} pairs", found.pairs.len());
    assert!(told < found.pairs.len() && text.contains(&said), "{said}\n{text}");
    assert!(text.contains("difference, points"), "{text}");
    for line in text.lines().filter(|line| !line.contains("longwatch run")) {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let most = found.stations.iter().map(|it| it.lasted).max().unwrap();
    let best: Vec<&str> =
        found.stations.iter().filter(|it| it.lasted == most).map(|it| it.name.as_str()).collect();
    assert!(best.len() >= 2, "{best:?}");
    let sentence = longwatch::show::compare::first_sentence(&found);
    if let Some((_, said)) = sentence.split_once("Most are survived with ") {
        assert!(best.iter().all(|name| said.contains(name)), "{sentence}");
    }
    // Two pictures, two titles.
    let titles: Vec<String> =
        longwatch::show::compare::pictures(&found).into_iter().map(|it| it.title).collect();
    assert_ne!(titles[0], titles[1]);
}

#[test]
fn without_settling_days_there_is_no_normal_month_and_it_is_said() {
    let mut station = shed_on_supply();
    station["start"] = json!({});
    let found = compared(&station, 1, 2);
    assert!(found.stations.iter().all(|it| it.normal_month.is_none()));
    assert!(
        found.warnings.iter().any(|it| it.text.contains("same charge")),
        "{:?}",
        found.warnings
    );
}
