//! Cautions follow from what a file holds: each brings its line, and no other.

use longwatch::decide::cautions::{Caution, cautions, of_club_station};
use longwatch::scenario::Scenario;
use longwatch::show::cautions::{ALL, words};
use serde_json::{Value, json};

use super::support::{bench_with, merge, text};

fn scenario(value: &Value) -> Scenario {
    serde_json::from_value(value.clone()).unwrap_or_else(|it| panic!("{it}\n{value:#}"))
}

fn chosen(patch: &Value) -> Vec<Caution> {
    cautions(&scenario(&bench_with(patch)))
}

/// One pack of 10 kg of lithium cells: what every station needs, and its cells.
fn lithium(more: &Value) -> Value {
    let mut battery = json!({
        "cells_in_series": 4, "capacity_ah": 100, "pack_resistance_ohm": 0.01,
        "charge_limit_a": 50, "discharge_limit_a": 100
    });
    for (key, value) in more.as_object().unwrap() {
        battery[key] = value.clone();
    }
    json!({"battery": {"ideal": null, "lithium_iron_phosphate": battery}})
}

const LEAST: [Caution; 3] = [Caution::Poles, Caution::Lithium, Caution::Plan];

/// Panels of known, harmless volts.
fn known_volts() -> Value {
    sheet(22.0, 1)
}

/// What a patch brings beside the cautions that every lithium station needs.
fn brings(patch: Value) -> Vec<Caution> {
    let mut value = lithium(&json!({}));
    merge(&mut value, &known_volts());
    merge(&mut value, &patch);
    value["battery"]["ideal"] = Value::Null;
    let found = chosen(&value);
    assert!(LEAST.iter().all(|it| found.contains(it)), "{found:?}");
    found.into_iter().filter(|it| !LEAST.contains(it)).collect()
}

fn sheet(voc_v: f64, in_series: u32) -> Value {
    json!({"arrays": {"a": {"datasheet": {"isc_a": 6.0, "voc_v": voc_v, "imp_a": 5.5,
        "vmp_v": voc_v * 0.83, "in_series": in_series}}}})
}

#[test]
fn each_cause_brings_its_caution_and_no_other() {
    assert_eq!(brings(json!({})), []);
    let supply = json!({"supply": {"joins": "charger_only", "rated_v": 13.8, "limit_a": 20,
        "efficiency_share": 0.85,
        "charger": {"limit_a": 15, "set_points": {"absorption_v": 14.2}}}});
    assert_eq!(brings(supply), [Caution::Mains]);
    let snow = |clears: Value| json!({"snow": {"falls": [], "cleared_after_h": clears}});
    assert_eq!(brings(snow(json!(2))), [Caution::Snow]);
    assert_eq!(brings(snow(Value::Null)), []);
    // 1.25 x 48 V are 60 V, no more.
    assert_eq!(brings(sheet(24.0, 2)), []);
    assert_eq!(brings(sheet(24.1, 2)), [Caution::Shock]);
    assert_eq!(brings(json!({"arrays": {"a": {"datasheet": null}}})), [Caution::VoltsUnknown]);
    assert_eq!(brings(json!({"arrays": {"a": {"datasheet": null, "count": 0}}})), []);
    let vehicle = json!({"vehicle": {"limit_a": 8, "set_points": {"absorption_v": 14.1},
        "connected": "night"}, "windows": {"night": {"from": "20:00", "to": "06:00"}}});
    assert_eq!(brings(vehicle), [Caution::Exhaust]);
    let generator = json!({"generator": {"rated_w": 900, "fuel_l": 4, "tank_l": 2.1,
        "fuel_line": {"per_rated_kw_l_h": 0.3, "per_kwh_l": 0.35},
        "rule": {"start_below_share": 0.3, "stop_above_share": 0.8}}});
    assert_eq!(brings(generator), [Caution::Exhaust]);
    let acid = json!({"battery": {"ideal": null, "lead_acid": {"kind": "agm", "cells_in_series": 6,
        "capacities": [{"discharge_h": 20, "capacity_ah": 40}, {"discharge_h": 1, "capacity_ah": 24}],
        "resistance_ohm": 0.01, "rated_absorption_v": 14.4}}});
    let mut small = acid.clone();
    merge(&mut small, &known_volts());
    assert_eq!(chosen(&small), [Caution::Poles, Caution::LeadAcid, Caution::Plan]);
    // 12 V and 45 Ah may weigh 21.6 kg at 25 Wh/kg.
    small["battery"]["lead_acid"]["capacities"][0]["capacity_ah"] = json!(45);
    assert!(chosen(&small).contains(&Caution::PackMassUnknown));
    assert_eq!(brings(lithium(&json!({"capacity_ah": 125}))), []);
    assert_eq!(brings(lithium(&json!({"capacity_ah": 126}))), [Caution::PackMassUnknown]);
    assert_eq!(brings(lithium(&json!({"strings": 2}))), [Caution::SideBySide]);
    let packs = |masses: &[Value]| {
        let all: serde_json::Map<String, Value> = masses
            .iter()
            .enumerate()
            .map(|(at, kg)| (format!("p{at}"), json!({"rated_ah": 50, "mass_kg": kg})))
            .collect();
        lithium(&json!({"packs": all}))
    };
    assert_eq!(brings(packs(&[json!(12)])), []);
    assert_eq!(brings(packs(&[json!(20.1)])), [Caution::HeavyPack]);
    assert_eq!(brings(packs(&[Value::Null])), [Caution::PackMassUnknown]);
    assert_eq!(brings(packs(&[json!(25), Value::Null])), [Caution::SideBySide, Caution::HeavyPack]);
}

#[test]
fn shipped_stations_with_an_engine_or_acid_have_their_cautions() {
    let of = |name: &str| {
        cautions(&serde_json::from_str(&text(&format!("scenarios/{name}.json"))).unwrap())
    };
    let field = of("field-weekend");
    assert!(field.contains(&Caution::Exhaust) && field.contains(&Caution::LeadAcid), "{field:?}");
    assert!(!field.contains(&Caution::Lithium), "{field:?}");
    let hall = of("hall-72h");
    assert!(hall.contains(&Caution::Mains) && hall.contains(&Caution::Snow), "{hall:?}");
    assert!(!hall.contains(&Caution::Exhaust) && !hall.contains(&Caution::LeadAcid), "{hall:?}");
    // An ideal battery says nothing of what is in it.
    let ideal = chosen(&json!({}));
    assert!(ideal.contains(&Caution::Lithium) && ideal.contains(&Caution::LeadAcid), "{ideal:?}");
}

/// Packs of a club are carried one at a time: never side by side.
#[test]
fn packs_that_are_carried_are_weighed_but_not_joined() {
    let mut bench = bench_with(&lithium(&json!({})));
    merge(&mut bench, &known_volts());
    let station = scenario(&bench);
    let mut with_engine = station.clone();
    with_engine.generator =
        scenario(&serde_json::from_str(&text("scenarios/field-weekend.json")).unwrap()).generator;
    let of = |masses: &[Option<f64>]| of_club_station(&station, masses, None);
    assert_eq!(of(&[]), LEAST);
    // Whoever carries a pack to the charging point stands beside its generator.
    let carries = of_club_station(&station, &[Some(8.0)], Some(&with_engine));
    assert!(carries.contains(&Caution::Exhaust), "{carries:?}");
    assert!(of(&[Some(8.0), None]).contains(&Caution::PackMassUnknown));
    let heavy = of(&[Some(30.0), Some(8.0)]);
    assert!(heavy.contains(&Caution::HeavyPack) && !heavy.contains(&Caution::SideBySide));
}

/// Card, sheets and report print the lines of their station and no others.
#[test]
fn what_is_printed_has_the_lines_of_its_station_and_no_others() {
    let folder = tempfile::tempdir().unwrap();
    let made = |arguments: &[&str], files: &[&str]| -> String {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_longwatch"))
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(arguments)
            .args(["--trials", "100", "--out", folder.path().to_str().unwrap()])
            .output()
            .unwrap();
        assert!(matches!(output.status.code(), Some(0 | 3)), "{output:?}");
        let read = |name: &&str| std::fs::read_to_string(folder.path().join(name)).unwrap();
        let all: String = files.iter().map(read).collect();
        all.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let flat = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    let holds = |said: &str, wanted: &[Caution], what: &str| {
        for caution in ALL {
            let line = flat(words(caution).line);
            assert_eq!(said.contains(&line), wanted.contains(&caution), "{what}: {line}");
        }
    };
    let hall = cautions(&serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap());
    holds(&made(&["card", "scenarios/hall-72h.json"], &["card.txt"]), &hall, "card");
    let report = made(&["report", "scenarios/hall-72h.json"], &["report.html"]);
    for caution in ALL {
        let strong = words(caution).strong;
        assert_eq!(report.contains(strong), hall.contains(&caution), "report: {strong}");
    }
    // All stations of the club take packs, and the charging point has the generator.
    for station in ["camp", "lighthouse", "ferry-slip", "ridge"] {
        let file = format!("sheets/{station}.txt");
        let sheet = made(&["exercise", "scenarios/club-weekend.json"], &[&file]);
        for (caution, there) in [
            (Caution::Poles, true),
            (Caution::Lithium, true),
            (Caution::Exhaust, station != "ridge"),
            (Caution::LeadAcid, false),
            (Caution::SideBySide, false),
            (Caution::Plan, true),
        ] {
            assert_eq!(sheet.contains(&flat(words(caution).line)), there, "{station} {caution:?}");
        }
    }
}

/// What is lost if nobody clears the panels stands among the parts that can be missing.
#[test]
fn snow_that_nobody_clears_is_a_missing_part() {
    let mut value = bench_with(&lithium(&json!({})));
    merge(&mut value, &json!({"snow": {"falls": [], "cleared_after_h": 2}}));
    let parts = |value: &Value| {
        let all = longwatch::decide::without::parts::losses(&scenario(value));
        all.into_iter().filter(|it| it.path == "snow.cleared_after_h").collect::<Vec<_>>()
    };
    let [lost] = &parts(&value)[..] else { panic!("no row for snow that nobody clears") };
    assert_eq!(lost.part, "anybody who clears snow off the panels");
    assert_eq!(lost.scenario.snow.as_ref().unwrap().cleared_after_h, None);
    merge(&mut value, &json!({"snow": {"cleared_after_h": null}}));
    assert!(parts(&value).is_empty());
}

#[test]
fn every_caution_is_short() {
    for caution in ALL {
        let words = words(caution);
        for text in [words.line, words.strong, words.more] {
            for sentence in text.split(". ") {
                assert!(sentence.split_whitespace().count() <= 20, "{sentence}");
            }
        }
    }
}
