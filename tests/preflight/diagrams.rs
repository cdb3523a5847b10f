//! The one-line diagram: legible for every shipped station and for invented ones, honest, the same
//! bytes every time. Left in `target/pictures` for eyes.

use longwatch::decide::preflight::{Severity, Subject, preflight};
use longwatch::scenario::Scenario;
use longwatch::show::Picture;
use longwatch::show::diagram::diagram;
use longwatch::show::png::png;
use longwatch::simulate::single;
use serde_json::{Value, json};

use super::common::{findings, one, sound, with};
use super::measure::{faults, texts};
use super::shipped::shipped;
use super::support::{plan_of, text};

fn drawn(value: &Value) -> Picture {
    let scenario: Scenario = serde_json::from_value(value.clone()).unwrap();
    diagram(&scenario, &plan_of(value), &findings(value))
}

fn keep(name: &str, picture: &Picture) {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join(format!("diagram-{name}.png")), png(picture).unwrap()).unwrap();
}

fn bad() -> Value {
    serde_json::from_str(&text("tests/preflight/bad.json")).unwrap()
}

/// Stations of every shape.
fn shapes() -> Vec<(&'static str, Value)> {
    let engine = json!({"rated_w": 900, "fuel_l": 10, "fuel_line": {"per_rated_kw_l_h": 0.3,
        "per_kwh_l": 0.35}, "rule": {"start_below_share": 0.4, "stop_above_share": 0.8}});
    let van = json!({"limit_a": 8, "set_points": {"absorption_v": 14.1}, "connected": "noon"});
    let noon = json!({"noon": {"from": "12:00", "to": "13:00"}});
    let group = |wire: Value| json!({"limit_a": 10, "wire": wire, "fuse": {"rated_a": 10}});
    let long = "a name that somebody wrote at length, with <tags> & more than fits anywhere";
    vec![
        ("sound", sound()),
        ("bad", bad()),
        (
            "bare",
            with(&json!({"supply": null, "disconnect": null, "main_feed": null, "arrays": null,
            "controllers": null})),
        ),
        (
            "everything",
            with(&json!({
                "generator": engine, "vehicle": van, "windows": noon,
                "arrays": {"b": {"rated_w": 50, "count": 1, "tilt_deg": 30, "azimuth_deg": 90,
                    "controller": "a"}, "c": {"rated_w": 50, "count": 1, "tilt_deg": 30,
                    "azimuth_deg": 270, "controller": "c", "datasheet": {"isc_a": 3, "voc_v": 22,
                    "imp_a": 2.8, "vmp_v": 18}}},
                "controllers": {"c": {"pwm": {"output_limit_a": 10, "set_points": {"absorption_v": 14.2}}}},
                "outlet_groups": {"tent": group(json!({"mm2": 4, "one_way_m": 3})),
                    "kitchen": group(json!({"awg": -1, "one_way_m": 12.5}))},
                "loads": {"kettle": {"group": "kitchen", "draw": {"power": {"power_w": 90, "idle_w": 5}}},
                    "a": {"group": "tent", "draw": {"current": {"receive_a": 0.3}}},
                    "b": {"group": "tent", "draw": {"current": {"receive_a": 0.3}}},
                    "c": {"group": "tent", "draw": {"current": {"receive_a": 0.3}}}}
            })),
        ),
        (
            "generator alone",
            with(&json!({"generator": engine, "grid": "none",
            "supply": {"joins": "charger_only"}})),
        ),
        ("on the bus", with(&json!({"supply": {"joins": "bus", "charger": null}}))),
        ("carries, no charger", with(&json!({"supply": {"charger": null}}))),
        ("carries nothing", with(&json!({"outlet_groups": {"bench": {"on_supply": false}}}))),
        ("long names", {
            let mut value = sound();
            value["title"] = json!(long);
            let text = value.to_string();
            let longer = |name: &str| format!("\"{name}, {long}\"");
            let text = text
                .replace("\"bench\"", &longer("bench"))
                .replace("\"lamp\"", &longer("lamp"))
                .replace("\"set\"", &longer("set"));
            serde_json::from_str(&text).unwrap()
        }),
        ("many groups", {
            let mut value = sound();
            for at in 0..9 {
                let (name, load) = (format!("group {at}"), format!("load {at}"));
                value["outlet_groups"][&name] = group(json!({"mm2": 2.5, "one_way_m": 4}));
                value["outlet_groups"][&name]["on_supply"] = json!(at % 2 == 0);
                value["loads"][&load] = json!({"group": name, "draw": {"power": {"power_w": 5}}});
            }
            value
        }),
    ]
}

#[test]
fn every_shape_of_station_is_drawn_legibly() {
    for (name, value) in shapes() {
        let picture = drawn(&value);
        keep(name, &picture);
        assert_eq!(faults(&picture), Vec::<String>::new(), "{name}");
        assert_eq!(picture, drawn(&value), "{name}");
    }
}

#[test]
fn every_shipped_station_is_drawn_legibly() {
    for shipped in shipped() {
        let plan = shipped.plan(&shipped.scenario.strategy);
        let found = preflight(&shipped.scenario, &plan, &single::run(&plan));
        let picture = diagram(&shipped.scenario, &plan, &found);
        keep(&shipped.name, &picture);
        assert_eq!(faults(&picture), Vec::<String>::new(), "{}", shipped.name);
        assert!(!picture.title.contains("..."), "{}: {}", shipped.name, picture.title);
    }
}

/// What the scenario states stands on the sheet, and what it does not state does not.
#[test]
fn what_is_stated_is_on_the_sheet() {
    let words = |value: &Value| -> Vec<String> {
        texts(&drawn(value)).into_iter().map(|(words, _)| words).collect()
    };
    let all = words(&sound());
    for stated in [
        "mains",
        "supply",
        "charger",
        "a",
        "battery",
        "main feed",
        "fuse 40 A",
        "16 mm², 1 m",
        "bench, 20 A",
        "fuse 25 A",
        "10 mm², 2 m",
        "set",
        "1 A, transmitting 11 A",
        "lamp",
        "12 W",
        "opens 12 V",
        "14.2 V, float 13.5 V",
        "mppt, 20 A",
        "100 Ah",
    ] {
        assert!(all.iter().any(|it| it == stated), "no `{stated}` in {all:?}");
    }
    let fused = words(&with(&json!({"arrays": {"a": {"count": 3,
        "string_fuse": {"rated_a": 10}}}})));
    assert!(fused.iter().any(|it| it == "string fuse 10 A"), "{fused:?}");
    let less = words(&with(&json!({"supply": null, "main_feed": null, "disconnect": null,
        "outlet_groups": {"bench": {"wire": null, "fuse": null}},
        "controllers": {"a": {"mppt": {"lead": null}}}, "arrays": {"a": {"lead": null}}})));
    for unstated in ["mains", "supply", "charger", "main feed", "fuse", "mm²", "opens"] {
        assert!(!less.iter().any(|it| it.contains(unstated)), "`{unstated}` in {less:?}");
    }
}

/// A mark at each item with a serious finding, that says what was found; none on a sound station.
#[test]
fn serious_findings_are_marked_and_the_peak_is_that_of_the_budget() {
    let marks =
        |value: &Value| texts(&drawn(value)).into_iter().filter(|(words, _)| words == "!").count();
    assert_eq!(marks(&sound()), 0);
    let found = findings(&bad());
    let picture = drawn(&bad());
    let mut items: Vec<&str> = found
        .iter()
        .filter(|it| it.severity == Severity::Serious)
        .map(|it| if it.item == "all loads" { "main feed" } else { it.item.as_str() })
        .collect();
    items.sort_unstable();
    items.dedup();
    assert!(items.len() >= 6, "{items:?}");
    assert_eq!(marks(&bad()), items.len(), "{items:?}");
    assert!(picture.svg.contains("fuse breaks: 3,45"), "{}", picture.svg);
    assert!(picture.description.contains("Serious findings: array “roof”, wire carries"));
    for value in [bad(), sound()] {
        let peak = one(&findings(&value), Subject::MainBudget, "all loads", "every").value.unwrap();
        let title = drawn(&value).title;
        let told: f64 = title.trim_end_matches(" A").rsplit(' ').next().unwrap().parse().unwrap();
        assert!((told - peak).abs() < 0.051, "{title}: {peak}");
    }
}
